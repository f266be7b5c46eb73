// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * closed_loop: does the next pellet pass if the advice is followed? Prints the share by fault and the stories
 * that ended worst; its exit status says only whether it ran.
 *
 *     closed_loop [--seed N] [--count N] [--from N] [--only CHECK] [--severity LOW..HIGH] [--rules NAME]
 *                 [--stories N] [--flanks]
 *
 * --flanks prints instead how well the absorbance behind saturated tops is found (take --only saturation).
 */
#include "loop.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct run {
    struct bench_options options;
    const char *rules;
    size_t from, stories;
    bool flanks;
};

/* How one case ended. */
struct story {
    struct pellet_text text;
    const char *fault[2];
    bool blank; /* the subject was a blank */
    bool faultless, sent_back, passed, worse;
    int remakes, others; /* before it passed, or in all */
};

/* ---------------------------------------------------------------- one case */

static void tell(struct story *story, const struct loop_bench *bench, const struct loop_then *then)
{
    const struct pellet_synth_pellet *p = &bench->now.subject;

    pellet_text_addf(
        &story->text,
        "    pellet %d scan %d: %.3f mg/cm2, %.2f mm, grains %.2f um, haze %.3f of %.2f um, water "
        "%.0f (blank %.0f)\n      %s: %s\n      %s\n",
        bench->pellet, bench->scan, p->dose_mg_cm2, p->thickness_mm, p->grain_um, p->haze, p->haze_um,
        p->water_ug_cm2, bench->now.blank.water_ug_cm2, pellet_outcome_id(then->verdict.outcome),
        then->verdict.summary, then->verdict.instruction);
}

static void forget(struct loop_then *then)
{
    pellet_spectrum_clear(&then->spectrum);
    pellet_spectrum_clear(&then->blank);
    pellet_verdict_clear(&then->verdict);
}

/* A file that waits is judged again itself; a remake or a rescan leaves an attempt behind. */
static void remember(struct loop_past *past, struct loop_then *then)
{
    if (then->verdict.outcome == PELLET_WAIT) {
        forget(then);
        return;
    }
    if (past->n == LOOP_ATTEMPTS_MAX)
        forget(&past->then[--past->n]);
    memmove(past->then + 1, past->then, past->n * sizeof past->then[0]);
    past->then[0] = *then;
    past->n++;
}

static bool has_clear_fault(const struct bench_truth *truth)
{
    for (size_t i = 0; i < truth->n; i++) {
        if (truth->quantity[i].state == BENCH_OVER && strcmp(truth->quantity[i].id, "fringes") != 0)
            return true;
    }
    return false;
}

static bool all_inside(const struct bench_truth *truth)
{
    for (size_t i = 0; i < truth->n; i++) {
        if (truth->quantity[i].state != BENCH_UNDER && strcmp(truth->quantity[i].id, "fringes") != 0)
            return false;
    }
    return true;
}

static pellet_status play(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_options *options, size_t index, struct story *story,
                          struct pellet_error *error)
{
    struct loop_bench bench = {0};
    struct loop_past past = {0};
    struct bench_truth truth;
    pellet_status status;

    bench_case_make(model, options, index, &bench.now);
    bench.rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(bench.rng, bench.now.seed ^ 0x5bd1e995UL);
    loop_begin(&bench);
    memcpy(story->fault, bench.now.fault, sizeof story->fault);
    story->blank = bench.now.role == PELLET_BLANK;
    pellet_text_addf(&story->text, "  case %zu, %s %s, %s worksheet, put in:", index,
                     pellet_role_id(bench.now.role), story->blank ? "KBr" : bench.now.compound.kind,
                     bench.has_sheet ? "with" : "no");
    for (size_t i = 0; i < 2 && bench.now.fault[i]; i++)
        pellet_text_addf(&story->text, " %s x%.2f", bench.now.fault[i], bench.now.severity[i]);
    pellet_text_addc(&story->text, '\n');
    status = bench_truth_find(model, rules, &bench.now, &truth);
    story->faultless = status == PELLET_OK && all_inside(&truth);
    for (size_t step = 0; status == PELLET_OK && step < LOOP_STEPS_MAX && !story->passed; step++) {
        struct loop_then then = {0};
        status = loop_judge(model, rules, &bench, step, &past, &then, error);
        if (status != PELLET_OK)
            break;
        tell(story, &bench, &then);
        const enum pellet_outcome outcome = then.verdict.outcome;
        story->passed = outcome == PELLET_PASS;
        story->sent_back |= !story->passed;
        const bool remade = !story->passed && loop_asks_for_pellet(&then.verdict);
        story->remakes += remade;
        story->others += !story->passed && !remade;
        if (remade)
            loop_remake(&bench, &then.verdict);
        else if (!story->passed)
            loop_measure_again(&bench, &then.verdict);
        if (story->passed)
            forget(&then);
        else
            remember(&past, &then);
    }
    if (status == PELLET_OK && story->sent_back)
        status = bench_truth_find(model, rules, &bench.now, &truth);
    story->worse = story->faultless && story->sent_back && (!story->passed || has_clear_fault(&truth));
    while (past.n > 0)
        forget(&past.then[--past.n]);
    gsl_rng_free(bench.rng);
    return status;
}

/* ---------------------------------------------------------------- counting */

#define ROWS_MAX 32

struct row {
    const char *name;
    size_t sent_back, at_once, first, second, later, never;
    size_t remade; /* really: a new pellet was pressed */
};

struct table {
    size_t n;
    struct row row[ROWS_MAX];
    size_t faultless, faultless_back, worse;
    size_t bad; /* of the kept stories */
    struct story *kept;
};

static void count_in(struct table *table, const char *name, const struct story *story)
{
    size_t i = 0;

    while (i < table->n && strcmp(table->row[i].name, name) != 0)
        i++;
    if (i == ROWS_MAX)
        return;
    if (i == table->n)
        table->row[table->n++] = (struct row){.name = name};
    struct row *row = &table->row[i];
    row->sent_back++;
    row->at_once += story->passed && story->remakes == 0;
    row->first += story->passed && story->remakes == 1;
    row->second += story->passed && story->remakes == 2;
    row->later += story->passed && story->remakes > 2;
    row->never += !story->passed;
    row->remade += story->remakes > 0;
}

static void count(struct table *table, const struct story *story)
{
    table->faultless += story->faultless;
    table->faultless_back += story->faultless && story->sent_back;
    table->worse += story->worse;
    if (!story->sent_back)
        return;
    count_in(table, "all", story);
    count_in(table, story->blank ? "blanks" : "samples", story);
    if (story->fault[1])
        count_in(table, "pairs of faults", story);
    else if (!story->fault[0])
        count_in(table, "no fault put in", story);
    for (size_t i = 0; i < 2 && story->fault[i]; i++)
        count_in(table, story->fault[i], story);
}

static double badness(const struct story *story)
{
    return 100.0 * !story->passed + 50.0 * story->worse + 10.0 * story->remakes + story->others;
}

/* Keep the worst `stories`; the text of the others goes. */
static void keep(struct table *table, struct story *story, size_t stories)
{
    size_t place = table->bad;

    while (place > 0 && badness(&table->kept[place - 1]) < badness(story))
        place--;
    if (place == stories || !story->sent_back) {
        pellet_text_free(&story->text);
        return;
    }
    if (table->bad == stories)
        pellet_text_free(&table->kept[--table->bad].text);
    memmove(table->kept + place + 1, table->kept + place, (table->bad - place) * sizeof *table->kept);
    table->kept[place] = *story;
    table->bad++;
}

static double percent(size_t part, size_t whole)
{
    return whole > 0 ? 100.0 * (double)part / (double)whole : (double)NAN;
}

/* Of all that were sent back, and in the strict reading of those alone for which a new pellet was pressed. */
static void print_row(const struct row *row)
{
    printf("%-18s %9zu %9zu %6zu %6zu %6zu %6zu %8.1f%% %8.1f%% %8zu %8.1f%% %8.1f%%\n", row->name,
           row->sent_back, row->at_once, row->first, row->second, row->later, row->never,
           percent(row->at_once + row->first, row->sent_back),
           percent(row->at_once + row->first + row->second, row->sent_back), row->remade,
           percent(row->first, row->remade), percent(row->first + row->second, row->remade));
}

static void print(const struct table *table)
{
    printf("%-18s %9s %9s %6s %6s %6s %6s %9s %9s %8s %9s %9s\n", "fault", "sent back", "no remake", "first",
           "second", "later", "never", "by first", "by second", "remade", "by first", "by second");
    for (size_t i = 0; i < table->n; i++)
        print_row(&table->row[i]);
    printf("\nfault-free: %zu, of which sent back: %zu, of which made worse: %zu\n", table->faultless,
           table->faultless_back, table->worse);
    printf("\nthe stories that ended worst:\n");
    for (size_t i = 0; i < table->bad; i++)
        printf("%s\n", pellet_text_string(&table->kept[i].text));
}

static pellet_status play_all(struct pellet_synth *model, const struct pellet_rules *rules,
                              const struct run *run, struct pellet_error *error)
{
    struct table table = {.kept = calloc(run->stories + 1, sizeof *table.kept)};
    pellet_status status = table.kept ? PELLET_OK : PELLET_E_MEMORY;

    for (size_t i = 0; status == PELLET_OK && i < run->options.count; i++) {
        struct story story = {0};
        struct bench_case made;
        bench_case_make(model, &run->options, run->from + i, &made);
        if (made.role == PELLET_FILM) /* a film is no pellet */
            continue;
        status = play(model, rules, &run->options, run->from + i, &story, error);
        if (status != PELLET_OK)
            break;
        count(&table, &story);
        keep(&table, &story, run->stories);
    }
    if (status == PELLET_OK)
        print(&table);
    for (size_t i = 0; i < table.bad; i++)
        pellet_text_free(&table.kept[i].text);
    free(table.kept);
    return status;
}

/* ---------------------------------------------------------------- the command line */

static const char *next(int argc, char **argv, int *i)
{
    if (*i + 1 >= argc) {
        fprintf(stderr, "closed_loop: %s: a value is missing\n", argv[*i]);
        exit(2);
    }
    return argv[++*i];
}

static struct run read_options(int argc, char **argv)
{
    struct run run = {{.seed = 1, .count = 400, .least = 0.4, .most = 4.0}, "routine", 0, 10, false};

    for (int i = 1; i < argc; i++) {
        bool good = true;
        if (strcmp(argv[i], "--seed") == 0)
            run.options.seed = strtoul(next(argc, argv, &i), NULL, 10);
        else if (strcmp(argv[i], "--count") == 0)
            run.options.count = strtoul(next(argc, argv, &i), NULL, 10);
        else if (strcmp(argv[i], "--from") == 0)
            run.from = strtoul(next(argc, argv, &i), NULL, 10);
        else if (strcmp(argv[i], "--stories") == 0)
            run.stories = strtoul(next(argc, argv, &i), NULL, 10);
        else if (strcmp(argv[i], "--only") == 0)
            run.options.only = next(argc, argv, &i);
        else if (strcmp(argv[i], "--severity") == 0)
            good = sscanf(next(argc, argv, &i), "%lf..%lf", &run.options.least, &run.options.most) == 2;
        else if (strcmp(argv[i], "--rules") == 0)
            run.rules = next(argc, argv, &i);
        else if (strcmp(argv[i], "--flanks") == 0)
            run.flanks = true;
        else
            good = false;
        if (!good) {
            fprintf(stderr, "closed_loop: %s: not an option, or not a value of it\n", argv[i]);
            exit(2);
        }
    }
    return run;
}

static void check_only(const char *only)
{
    bool known = only == NULL;

    for (size_t i = 0; !known && bench_fault_name(i); i++)
        known = strcmp(only, bench_fault_name(i)) == 0;
    if (!known) {
        fprintf(stderr, "closed_loop: --only %s: there is no such fault\n", only);
        exit(2);
    }
}

int main(int argc, char **argv)
{
    const struct run run = read_options(argc, argv);
    struct pellet_error error = {0};
    struct pellet_synth *model = NULL;
    struct pellet_rules rules = {0};
    pellet_status status;

    check_only(run.options.only);
    gsl_set_error_handler_off();
    status = pellet_synth_new(&model, &error);
    if (status == PELLET_OK)
        status = pellet_rules_shipped(run.rules, &rules, &error);
    printf("seed %lu, cases %zu from %zu, severities %g..%g of the limit, rules %s\n\n", run.options.seed,
           run.options.count, run.from, run.options.least, run.options.most, run.rules);
    if (status == PELLET_OK)
        status = run.flanks ? loop_flanks(model, &rules, &run.options, stdout)
                            : play_all(model, &rules, &run, &error);
    if (status != PELLET_OK)
        fprintf(stderr, "closed_loop: %s: %s\n", pellet_status_text(status), error.message);
    pellet_rules_clear(&rules);
    pellet_synth_free(model);
    return status == PELLET_OK ? 0 : 3;
}
