// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * judge_quality: how well the judge judges pellets whose truth is known. Prints the seed, the counts and the
 * tables; its exit status says nothing about quality, only whether it ran.
 *
 *     judge_quality [--seed N] [--count N] [--from N] [--only CHECK] [--severity LOW..HIGH] [--rules NAME]
 *                   [--misjudged DIR] [--quiet]
 *
 * --misjudged writes the ratio of each misjudged case as two columns, with the truth and the verdict as
 * comments.
 */
#include "bench.h"

#include <errno.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct run {
    struct bench_options options;
    const char *rules;
    size_t from;
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
    for (size_t i = 0; bench_fault_name(i); i++) {
        if (strcmp(bench_fault_name(i), id) == 0)
            return;
    }
    fprintf(stderr, "judge_quality: --only %s: there is", id);
    for (size_t i = 0; bench_fault_name(i); i++)
        fprintf(stderr, " %s", bench_fault_name(i));
    fprintf(stderr, "\n");
    exit(2);
}

static struct run read_options(int argc, char **argv)
{
    struct run run = {{.seed = 1, .count = 1000, .least = 0.4, .most = 4.0}, "routine", 0, false};
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
        } else if (strcmp(argv[i], "--misjudged") == 0) {
            run.options.pictures = next(argc, argv, &i);
        } else if (strcmp(argv[i], "--quiet") == 0) {
            run.quiet = true;
        } else {
            fprintf(stderr, "judge_quality: %s: not an option\n", argv[i]);
            exit(2);
        }
    }
    return run;
}

static void print_case(FILE *out, const char *mark, size_t index, const struct bench_case *of,
                       const struct bench_truth *truth, const struct pellet_verdict *verdict)
{
    fprintf(out, "%s%zu %s %s, put in:", mark, index, pellet_role_id(of->role),
            of->role == PELLET_BLANK ? "KBr" : of->compound.kind);
    for (size_t i = 0; i < 2 && of->fault[i]; i++)
        fprintf(out, " %s x%.2f", of->fault[i], of->severity[i]);
    fprintf(out, "; %.2f cm-1 spacing, x%u, %.0f cm-1, noise %.2g\n%s  true:", of->beam.spacing_cm1,
            of->beam.zero_fill, of->beam.resolution_cm1, of->beam.noise, mark);
    for (size_t i = 0; i < truth->n; i++) {
        const struct bench_quantity *q = &truth->quantity[i];
        if (q->state != BENCH_UNDER)
            fprintf(out, " %s %.4g%s", q->id, q->value, q->state == BENCH_OVER ? "!" : "?");
    }
    fprintf(out, "\n%s  said: %s, %s;", mark, pellet_outcome_id(verdict->outcome), verdict->summary);
    for (size_t i = 0; i < verdict->check_count; i++) {
        const struct pellet_finding *f = &verdict->check[i];
        if (f->outcome != PELLET_PASS)
            fprintf(out, " %s=%s %.4g", f->check->id, pellet_outcome_id(f->outcome), f->value);
    }
    fprintf(out, "\n");
}

static void write_case(const char *folder, size_t index, const struct bench_case *of,
                       const struct bench_truth *truth, const struct pellet_verdict *verdict,
                       const struct pellet_spectrum *ratio)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%zu.csv", folder, index);
    FILE *file = fopen(path, "w");
    if (!file) {
        fprintf(stderr, "judge_quality: %s: %s\n", path, strerror(errno));
        return;
    }
    print_case(file, "# ", index, of, truth, verdict);
    for (size_t i = 0; i < ratio->n; i++)
        fprintf(file, "%.3f,%.6f\n", ratio->wavenumber[i], ratio->y[i]);
    fclose(file);
}

static pellet_status run_case(struct pellet_synth *model, const struct pellet_rules *rules,
                              const struct run *run, size_t index, struct bench_score *score,
                              struct pellet_error *error)
{
    struct bench_case made;
    struct bench_truth truth;
    struct pellet_verdict verdict = {0};
    struct pellet_spectrum ratio = {0};
    bench_case_make(model, &run->options, index, &made);
    pellet_status status = bench_truth_find(model, &made, &truth);
    if (status == PELLET_OK)
        status = bench_judge(model, rules, &made, &verdict, &ratio, error);
    if (status != PELLET_OK)
        return status;
    if (!bench_score_add(score, &made, &truth, &verdict)) {
        if (!run->quiet)
            print_case(stdout, "", index, &made, &truth, &verdict);
        if (run->options.pictures)
            write_case(run->options.pictures, index, &made, &truth, &verdict, &ratio);
    }
    pellet_verdict_clear(&verdict);
    pellet_spectrum_clear(&ratio);
    return PELLET_OK;
}

int main(int argc, char **argv)
{
    const struct run run = read_options(argc, argv);
    struct pellet_error error = {0};
    struct pellet_synth *model = NULL;
    struct pellet_rules rules = {0};
    struct bench_score *score = bench_score_new();
    gsl_set_error_handler_off();
    pellet_status status = score ? pellet_synth_new(&model, &error) : PELLET_E_MEMORY;
    if (status == PELLET_OK)
        status = pellet_rules_shipped(run.rules, &rules, &error);
    for (size_t i = 0; status == PELLET_OK && i < run.options.count; i++)
        status = run_case(model, &rules, &run, run.from + i, score, &error);
    if (status == PELLET_OK) {
        printf("seed %lu, cases %zu from %zu, severities %g..%g of the limit, rules %s\n\n", run.options.seed,
               run.options.count, run.from, run.options.least, run.options.most, run.rules);
        bench_score_print(score, stdout);
    } else {
        fprintf(stderr, "judge_quality: %s: %s\n", pellet_status_text(status), error.message);
    }
    bench_score_free(score);
    pellet_rules_clear(&rules);
    pellet_synth_free(model);
    return status == PELLET_OK ? 0 : 3;
}
