// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts against truths, counted by check; errors of measured quantities, as percentiles. */
#include "bench.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A growing list of errors. */
struct errors {
    double *item;
    size_t n, capacity;
};

static void push(struct errors *errors, double value)
{
    if (isnan(value))
        return;
    if (errors->n == errors->capacity) {
        const size_t capacity = errors->capacity ? 2 * errors->capacity : 256;
        double *grown = realloc(errors->item, capacity * sizeof *grown);
        if (!grown)
            return;
        errors->item = grown;
        errors->capacity = capacity;
    }
    errors->item[errors->n++] = value;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double percentile(struct errors *errors, double share)
{
    if (errors->n == 0)
        return (double)NAN;
    qsort(errors->item, errors->n, sizeof errors->item[0], by_value);
    return errors->item[(size_t)(share * (double)(errors->n - 1) + 0.5)];
}

/* What is counted for one check. */
struct tally {
    char id[24];
    size_t over, found;    /* clear faults; named with the right outcome (or rightly silenced) */
    size_t silenced;       /* of those, behind a trust check that refuses with cause */
    size_t under, alarmed; /* well inside; refused all the same */
    struct errors near; /* |measured - true| over max(10 % of the truth, 0.005) for truths of 0.5..2 limits */
};

#define TALLIES 20
#define OTHER   TALLIES

struct bench_score {
    size_t n;
    struct tally tally[TALLIES];
    size_t matrix[TALLIES + 1][TALLIES + 2]; /* clear fault x first reason; last column: pass */
    size_t cases, right;
    size_t good, sent_back;
    size_t single, single_right, pair, pair_right;
    struct errors water, thickness, transmittance, position;
};

void bench_score_free(struct bench_score *score)
{
    if (!score)
        return;
    for (size_t i = 0; i < score->n; i++)
        free(score->tally[i].near.item);
    free(score->water.item);
    free(score->thickness.item);
    free(score->transmittance.item);
    free(score->position.item);
    free(score);
}

static size_t tally_of(struct bench_score *score, const char *id)
{
    for (size_t i = 0; i < score->n; i++) {
        if (strcmp(score->tally[i].id, id) == 0)
            return i;
    }
    if (score->n == TALLIES)
        return OTHER;
    snprintf(score->tally[score->n].id, sizeof score->tally[0].id, "%s", id);
    return score->n++;
}

/* One row for each fault there is, in the order of the table of faults. */
struct bench_score *bench_score_new(void)
{
    struct bench_score *score = calloc(1, sizeof *score);
    for (size_t i = 0; score && bench_fault_name(i); i++)
        tally_of(score, bench_fault_name(i));
    return score;
}

static const struct pellet_finding *finding_of(const struct pellet_verdict *verdict, const char *id)
{
    for (size_t i = 0; i < verdict->check_count; i++) {
        if (strcmp(verdict->check[i].check->id, id) == 0)
            return &verdict->check[i];
    }
    return NULL;
}

static bool refuses(const struct pellet_finding *finding)
{
    return finding && (finding->outcome == PELLET_WAIT || finding->outcome == PELLET_RESCAN ||
                       finding->outcome == PELLET_REMAKE);
}

/* What the design has a check answer beyond its limit: the row's outcome, with the exceptions it names. */
static bool answers(const struct bench_case *of, const struct bench_truth *truth,
                    const struct pellet_finding *finding)
{
    const char *id = finding->check->id;
    const enum pellet_outcome said = finding->outcome;
    const bool sample = of->role == PELLET_SAMPLE;
    if (strcmp(id, "moisture") == 0)
        return said == (truth->water_ug_cm2 < 0.0 ? PELLET_WAIT : PELLET_REMAKE) || said == PELLET_NOTE;
    if (strcmp(id, "residue") == 0)
        return said == PELLET_REMAKE || (sample && said == PELLET_NOTE);
    if (strcmp(id, "asymmetry") == 0)
        return said == PELLET_REMAKE || said == PELLET_NOTE;
    if (strcmp(id, "vapour") == 0)
        return said == PELLET_RESCAN || said == PELLET_WAIT;
    return said == finding->check->outcome;
}

static const struct bench_quantity *quantity_of(const struct bench_truth *truth, const char *id)
{
    for (size_t i = 0; i < truth->n; i++) {
        if (strcmp(truth->quantity[i].id, id) == 0)
            return &truth->quantity[i];
    }
    return NULL;
}

/* A pellet's check may be silent behind a trust check that refuses and is not wrong to do so. */
static bool rightly_silent(const struct bench_truth *truth, const struct pellet_verdict *verdict,
                           const struct pellet_finding *finding)
{
    if (finding->outcome != PELLET_NOT_CHECKED || finding->check->stage == PELLET_STAGE_TRUST)
        return false;
    for (size_t i = 0; i < verdict->check_count; i++) {
        const struct pellet_finding *trust = &verdict->check[i];
        const struct bench_quantity *quantity = quantity_of(truth, trust->check->id);
        if (trust->check->stage == PELLET_STAGE_TRUST && refuses(trust) && quantity &&
            quantity->state != BENCH_UNDER)
            return true;
    }
    return false;
}

static void add_error(struct tally *tally, const struct bench_quantity *quantity,
                      const struct pellet_finding *finding)
{
    const double ratio = quantity->value / quantity->limit;
    if (!finding || isnan(finding->value) || finding->at_least || !(ratio > 0.5 && ratio < 2.0) ||
        strcmp(quantity->id, "span") == 0 || strcmp(quantity->id, "wavenumber") == 0)
        return;
    double measured = fabs(finding->value);
    if (strcmp(quantity->id, "opacity") == 0)
        measured /= 100.0;
    if (strcmp(quantity->id, "overcompensation") == 0)
        measured -= 1.0;
    push(&tally->near, fabs(measured - quantity->value) / fmax(0.1 * quantity->value, 0.005));
}

/* One check of one case; returns whether it did what it should. */
static bool add_check(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                      const struct bench_quantity *quantity, const struct pellet_verdict *verdict)
{
    const size_t which = tally_of(score, quantity->id);
    if (which == OTHER)
        return true;
    struct tally *tally = &score->tally[which];
    const struct pellet_finding *finding = finding_of(verdict, quantity->id);
    add_error(tally, quantity, finding);
    if (quantity->state == BENCH_OVER) {
        const bool silent = finding && rightly_silent(truth, verdict, finding);
        const bool found = finding && (silent || answers(of, truth, finding));
        tally->over++;
        tally->found += found;
        tally->silenced += silent;
        return found;
    }
    if (quantity->state == BENCH_UNDER) {
        tally->under++;
        tally->alarmed += refuses(finding);
        return !refuses(finding);
    }
    return true;
}

static void add_matrix(struct bench_score *score, const struct bench_truth *truth,
                       const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < truth->n; i++) {
        if (truth->quantity[i].state != BENCH_OVER)
            continue;
        const size_t row = tally_of(score, truth->quantity[i].id);
        const size_t column = verdict->reason_count == 0 ? TALLIES + 1
                              : verdict->reason[0].check ? tally_of(score, verdict->reason[0].check->id)
                                                         : OTHER;
        score->matrix[row][column]++;
    }
}

static void add_found(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                      const struct pellet_verdict *verdict)
{
    if (fabs(truth->water_ug_cm2) > 10.0 && !isnan(verdict->found.water_excess_ug_cm2))
        push(&score->water, fabs(verdict->found.water_excess_ug_cm2 / truth->water_ug_cm2 - 1.0));
    if (!isnan(truth->thickness_mm) && !isnan(verdict->found.thickness_mm))
        push(&score->thickness, fabs(verdict->found.thickness_mm / truth->thickness_mm - 1.0));
    const struct pellet_finding *opacity = finding_of(verdict, "opacity");
    if (opacity && !isnan(opacity->value))
        push(&score->transmittance, fabs(opacity->value - 100.0 * truth->transmittance_2000));
    double nearest = (double)INFINITY;
    for (size_t i = 0; i < verdict->band_count; i++)
        nearest = fmin(nearest, fabs(verdict->band[i].at_cm1 - truth->strongest_cm1));
    if (nearest < 15.0 && of->subject.grain_um < 0.8)
        push(&score->position, nearest / of->beam.spacing_cm1);
}

bool bench_score_add(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                     const struct pellet_verdict *verdict)
{
    bool right = true, good = true, sent_back = false;
    for (size_t i = 0; i < truth->n; i++) {
        right &= add_check(score, of, truth, &truth->quantity[i], verdict);
        good &= truth->quantity[i].state == BENCH_UNDER || strcmp(truth->quantity[i].id, "fringes") == 0;
    }
    for (size_t i = 0; i < verdict->check_count; i++)
        sent_back |= refuses(&verdict->check[i]);
    add_matrix(score, truth, verdict);
    add_found(score, of, truth, verdict);
    score->cases++;
    score->right += right;
    score->good += good;
    score->sent_back += good && sent_back;
    if (of->fault[1]) {
        score->pair++;
        score->pair_right += right;
    } else if (of->fault[0]) {
        score->single++;
        score->single_right += right;
    }
    return right && !(good && sent_back);
}

/* ---------------------------------------------------------------- tables */

static void print_share(FILE *out, size_t part, size_t whole)
{
    if (whole == 0)
        fprintf(out, "      - ");
    else
        fprintf(out, " %6.2f%%", 100.0 * (double)part / (double)whole);
}

static void print_checks(const struct bench_score *score, FILE *out)
{
    fprintf(out, "%-18s %6s %6s %8s %9s %7s %7s %8s   %s\n", "check", "clear", "found", "", "silenced",
            "inside", "alarms", "", "near the limit: error in tolerances, median and 95th percentile (n)");
    for (size_t i = 0; i < score->n; i++) {
        struct tally tally = score->tally[i];
        fprintf(out, "%-18s %6zu %6zu", tally.id, tally.over, tally.found);
        print_share(out, tally.found, tally.over);
        fprintf(out, " %9zu %7zu %7zu", tally.silenced, tally.under, tally.alarmed);
        print_share(out, tally.alarmed, tally.under);
        fprintf(out, "   %6.2f %6.2f (%zu)\n", percentile(&tally.near, 0.5), percentile(&tally.near, 0.95),
                tally.near.n);
    }
}

static void print_matrix(const struct bench_score *score, FILE *out)
{
    fprintf(out, "\nclear fault (row) and what the verdict gave as its first reason (counts)\n%-18s", "");
    for (size_t k = 0; k < score->n; k++)
        fprintf(out, " %5.5s", score->tally[k].id);
    fprintf(out, " %5s %5s\n", "other", "none");
    for (size_t i = 0; i < score->n; i++) {
        fprintf(out, "%-18s", score->tally[i].id);
        for (size_t k = 0; k < score->n; k++)
            fprintf(out, " %5zu", score->matrix[i][k]);
        fprintf(out, " %5zu %5zu\n", score->matrix[i][OTHER], score->matrix[i][TALLIES + 1]);
    }
}

static void print_found(const char *name, const struct errors *errors, double factor, FILE *out)
{
    struct errors sorted = *errors;
    fprintf(out, "%-44s median %7.3f   95th percentile %7.3f   (%zu)\n", name,
            factor * percentile(&sorted, 0.5), factor * percentile(&sorted, 0.95), errors->n);
}

void bench_score_print(const struct bench_score *score, FILE *out)
{
    print_checks(score, out);
    print_matrix(score, out);
    fprintf(out, "\n");
    print_found("water, relative error of more than 10 ug/cm2, %", &score->water, 100.0, out);
    print_found("thickness from fringes, relative error, %", &score->thickness, 100.0, out);
    print_found("transmittance at 2000, error, %T", &score->transmittance, 1.0, out);
    print_found("strongest band's place, in point spacings", &score->position, 1.0, out);
    fprintf(out, "\ncases %zu; all checks as they should be:", score->cases);
    print_share(out, score->right, score->cases);
    fprintf(out, "; one fault put in (%zu):", score->single);
    print_share(out, score->single_right, score->single);
    fprintf(out, "; two (%zu):", score->pair);
    print_share(out, score->pair_right, score->pair);
    fprintf(out, "\ngood pellets (all quantities well inside): %zu, sent back: %zu (allowed: 1 in 200)\n",
            score->good, score->sent_back);
}
