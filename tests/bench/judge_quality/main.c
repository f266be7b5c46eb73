// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * judge_quality: how well the judge judges pellets whose truth is known. Prints the seed, the counts and the
 * tables; its exit status says nothing about quality, only whether it ran.
 *
 *     judge_quality [--seed N] [--count N] [--from N] [--only CHECK|none] [--severity LOW..HIGH] [--rules
 * NAME]
 *                   [--worst N DIR] [--quiet]
 *
 * --only puts in one fault alone, so that few cases show how often a clear one is found; none leaves all
 * pellets good. --worst writes the N worst misjudged cases as marked spectra into DIR, and lists them with
 * the reason.
 */
#include "bench.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

struct run {
    struct bench_options options;
    const char *rules;
    size_t from;
    size_t worst;
    const char *folder;
    bool quiet;
};

static const char *next(int argc, char **argv, int *i)
{
    if (*i + 1 >= argc) {
        fprintf(stderr, "judge_quality: %s: a value is missing\n", argv[*i]);
        exit(2);
    }
    return argv[++*i];
}

static void check_fault(const char *id)
{
    if (strcmp(id, "none") == 0)
        return;
    for (size_t i = 0; bench_fault_name(i); i++) {
        if (strcmp(bench_fault_name(i), id) == 0)
            return;
    }
    fprintf(stderr, "judge_quality: --only %s: there is none and", id);
    for (size_t i = 0; bench_fault_name(i); i++)
        fprintf(stderr, " %s", bench_fault_name(i));
    fprintf(stderr, "\n");
    exit(2);
}

static struct run read_options(int argc, char **argv)
{
    struct run run = {{.seed = 1, .count = 1000, .least = 0.4, .most = 4.0}, "routine", 0, 0, NULL, false};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--seed") == 0) {
            run.options.seed = strtoul(next(argc, argv, &i), NULL, 10);
        } else if (strcmp(argv[i], "--count") == 0) {
            run.options.count = strtoul(next(argc, argv, &i), NULL, 10);
        } else if (strcmp(argv[i], "--from") == 0) {
            run.from = strtoul(next(argc, argv, &i), NULL, 10);
        } else if (strcmp(argv[i], "--only") == 0) {
            run.options.only = next(argc, argv, &i);
            check_fault(run.options.only);
        } else if (strcmp(argv[i], "--severity") == 0) {
            const char *range = next(argc, argv, &i);
            if (sscanf(range, "%lf..%lf", &run.options.least, &run.options.most) != 2 ||
                !(run.options.least > 0.0 && run.options.most >= run.options.least)) {
                fprintf(stderr, "judge_quality: --severity %s: LOW..HIGH, both above 0\n", range);
                exit(2);
            }
        } else if (strcmp(argv[i], "--rules") == 0) {
            run.rules = next(argc, argv, &i);
        } else if (strcmp(argv[i], "--worst") == 0) {
            run.worst = strtoul(next(argc, argv, &i), NULL, 10);
            run.folder = next(argc, argv, &i);
        } else if (strcmp(argv[i], "--quiet") == 0) {
            run.quiet = true;
        } else {
            fprintf(stderr, "judge_quality: %s: not an option\n", argv[i]);
            exit(2);
        }
    }
    return run;
}

struct counts {
    struct bench_score *score;
    struct bench_worst *worst;
};

static pellet_status run_case(struct pellet_synth *model, const struct pellet_rules *rules,
                              const struct run *run, size_t index, struct counts *counts,
                              struct pellet_error *error)
{
    struct bench_case made;
    struct bench_truth truth;
    struct bench_misjudged misjudged;
    struct pellet_verdict verdict = {0};
    struct pellet_spectrum ratio = {0};
    bench_case_make(model, &run->options, index, &made);
    pellet_status status = bench_truth_find(model, rules, &made, &truth);
    if (status == PELLET_OK)
        status = bench_judge(model, rules, &made, &verdict, &ratio, error);
    if (status != PELLET_OK)
        return status;
    bench_score_add(counts->score, &made, &truth, &verdict, &misjudged);
    if (misjudged.wrong && !run->quiet)
        bench_describe(stdout, index, &made, &truth, &verdict);
    status = bench_worst_add(counts->worst, index, &misjudged, &made, &truth, &verdict, &ratio);
    pellet_verdict_clear(&verdict);
    pellet_spectrum_clear(&ratio);
    return status;
}

static void print_all(const struct run *run, const struct counts *counts)
{
    printf("seed %lu, cases %zu from %zu, severities %g..%g of the limit, rules %s%s%s\n\n",
           run->options.seed, run->options.count, run->from, run->options.least, run->options.most,
           run->rules, run->options.only ? ", only " : "", run->options.only ? run->options.only : "");
    bench_score_print(counts->score, stdout);
    printf("\n");
    if (run->folder)
        (void)bench_worst_write(counts->worst, run->folder, stdout);
}

int main(int argc, char **argv)
{
    const struct run run = read_options(argc, argv);
    struct pellet_error error = {0};
    struct pellet_synth *model = NULL;
    struct pellet_rules rules = {0};
    struct counts counts = {bench_score_new(), bench_worst_new(run.worst)};
    gsl_set_error_handler_off();
    pellet_status status = counts.score && counts.worst ? pellet_synth_new(&model, &error) : PELLET_E_MEMORY;
    if (status == PELLET_OK)
        status = pellet_rules_shipped(run.rules, &rules, &error);
    for (size_t i = 0; status == PELLET_OK && i < run.options.count; i++)
        status = run_case(model, &rules, &run, run.from + i, &counts, &error);
    if (status == PELLET_OK)
        print_all(&run, &counts);
    else
        fprintf(stderr, "judge_quality: %s: %s\n", pellet_status_text(status), error.message);
    bench_worst_free(counts.worst);
    bench_score_free(counts.score);
    pellet_rules_clear(&rules);
    pellet_synth_free(model);
    return status == PELLET_OK ? 0 : 3;
}
