// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts against truths, counted. */
#include "score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- the score itself */

static size_t tally_of(const struct bench_score *score, const char *id)
{
    size_t i = 0;
    while (i < score->n && strcmp(score->tally[i].id, id) != 0)
        i++;
    return i;
}

struct bench_score *bench_score_new(void)
{
    struct bench_score *score = calloc(1, sizeof *score);
    if (!score)
        return NULL;
    for (; bench_fault_name(score->n) && score->n < BENCH_TALLIES; score->n++)
        score->tally[score->n].id = bench_fault_name(score->n);
    for (size_t i = 0; i < BENCH_CONDITIONS; i++)
        score->condition[i] = bench_conditions[i];
    return score;
}

void bench_score_free(struct bench_score *score)
{
    if (!score)
        return;
    for (size_t i = 0; i < score->n; i++) {
        bench_errors_clear(&score->tally[i].near);
        bench_errors_clear(&score->tally[i].ratio);
    }
    for (size_t i = 0; i < BENCH_CONDITIONS; i++) {
        bench_errors_clear(&score->condition[i].water);
        bench_errors_clear(&score->condition[i].thickness);
        bench_errors_clear(&score->condition[i].transmittance);
        bench_errors_clear(&score->condition[i].position);
    }
    free(score);
}

/* ---------------------------------------------------------------- one check */

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

/* Whether a check raises its voice: a note is one for the checks that never do more. */
static bool speaks(const struct pellet_finding *finding)
{
    return refuses(finding) ||
           (finding && finding->check->outcome == PELLET_NOTE && finding->outcome == PELLET_NOTE);
}

/* What the design has a check answer beyond its limit: the row's outcome, with the exceptions it names. */
static bool answers(const struct bench_case *of, const struct bench_truth *truth,
                    const struct pellet_finding *finding)
{
    const char *id = finding->check->id;
    const enum pellet_outcome said = finding->outcome;
    if (strcmp(id, "moisture") == 0)
        return said == (truth->water_ug_cm2 < 0.0 ? PELLET_WAIT : PELLET_REMAKE);
    if (strcmp(id, "residue") == 0)
        return said == PELLET_REMAKE || (of->role == PELLET_SAMPLE && said == PELLET_NOTE);
    if (strcmp(id, "vapour") == 0)
        return said == PELLET_RESCAN || said == PELLET_WAIT;
    if (strcmp(id, "blank") == 0)
        return said == (of->pairing == BENCH_CONFLICT ? PELLET_RESCAN : PELLET_WAIT);
    return said == finding->check->outcome;
}

/* A pellet's check may be silent behind a trust check that refuses and is not wrong to do so. */
static bool rightly_silent(const struct bench_truth *truth, const struct pellet_verdict *verdict,
                           const struct pellet_finding *finding)
{
    if (finding->outcome != PELLET_NOT_CHECKED || finding->check->stage == PELLET_STAGE_TRUST)
        return false;
    for (size_t i = 0; i < verdict->check_count; i++) {
        const struct pellet_finding *trust = &verdict->check[i];
        const struct bench_quantity *quantity = bench_quantity_of(truth, trust->check->id);
        if (trust->check->stage == PELLET_STAGE_TRUST && refuses(trust) && quantity &&
            quantity->state != BENCH_UNDER)
            return true;
    }
    return false;
}

double bench_tolerance(const struct bench_quantity *quantity, const struct pellet_finding *finding)
{
    const double relative = 0.1 * quantity->value;
    return finding->unit == PELLET_UNIT_ABSORBANCE ? fmax(relative, 0.005) : relative;
}

static void add_error(struct bench_tally *tally, const struct bench_quantity *quantity,
                      const struct pellet_finding *finding)
{
    const double strain = bench_strain(quantity);
    if (!finding || isnan(finding->value) || finding->at_least || finding->at_most ||
        !(strain > 0.5 && strain < 2.0) || strcmp(quantity->id, "span") == 0 ||
        strcmp(quantity->id, "wavenumber") == 0)
        return;
    double measured = fabs(finding->value);
    if (finding->unit == PELLET_UNIT_PERCENT)
        measured /= 100.0;
    if (strcmp(quantity->id, "overcompensation") == 0)
        measured -= 1.0;
    bench_errors_push(&tally->near, fabs(measured - quantity->value) / bench_tolerance(quantity, finding));
    bench_errors_push(&tally->ratio, measured / quantity->value);
}

static void blame(struct bench_misjudged *misjudged, const struct bench_quantity *quantity,
                  const struct pellet_finding *finding)
{
    const double badness = fmin(4.0, fabs(log(fmax(bench_strain(quantity), 1e-3))));
    if (misjudged->wrong && badness <= misjudged->badness)
        return;
    misjudged->wrong = true;
    misjudged->badness = badness;
    misjudged->id = quantity->id;
    snprintf(misjudged->why, sizeof misjudged->why, "%s: truth %.4g, limit %.4g, %s; said %s, value %.4g",
             quantity->id, quantity->value, quantity->limit,
             quantity->state == BENCH_OVER ? "a clear fault" : "well inside",
             finding ? pellet_outcome_id(finding->outcome) : "nothing",
             finding ? finding->value : (double)NAN);
}

static void add_check(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                      const struct bench_quantity *quantity, const struct pellet_verdict *verdict,
                      struct bench_misjudged *misjudged)
{
    const size_t which = tally_of(score, quantity->id);
    if (which == score->n)
        return;
    struct bench_tally *tally = &score->tally[which];
    const struct pellet_finding *finding = finding_of(verdict, quantity->id);
    add_error(tally, quantity, finding);
    if (quantity->state == BENCH_OVER) {
        const bool silent = finding && rightly_silent(truth, verdict, finding);
        const bool found = finding && (silent || answers(of, truth, finding));
        tally->over++;
        tally->found += found;
        tally->silenced += silent;
        if (!found)
            blame(misjudged, quantity, finding);
    } else if (quantity->state == BENCH_UNDER) {
        tally->under++;
        tally->alarmed += speaks(finding);
        if (speaks(finding))
            blame(misjudged, quantity, finding);
    } else if (quantity->state == BENCH_UNDECIDABLE) {
        tally->undecidable++;
        tally->passed += finding && finding->outcome == PELLET_PASS;
    }
}

/* ---------------------------------------------------------------- one case */

static void add_matrix(struct bench_score *score, const struct bench_case *of,
                       const struct bench_truth *truth, const struct pellet_verdict *verdict)
{
    if (!of->fault[0] || of->fault[1])
        return;
    const struct bench_quantity *put = bench_quantity_of(truth, of->fault[0]);
    if (!put || put->state != BENCH_OVER)
        return;
    const size_t row = tally_of(score, of->fault[0]);
    bool any = false;
    score->put_in[row]++;
    for (size_t i = 0; i < verdict->check_count; i++) {
        const struct pellet_finding *finding = &verdict->check[i];
        const struct bench_quantity *quantity = bench_quantity_of(truth, finding->check->id);
        const size_t column = tally_of(score, finding->check->id);
        if (column == score->n || (!speaks(finding) && !(column == row && answers(of, truth, finding))) ||
            (column != row && quantity && quantity->state == BENCH_OVER))
            continue;
        any = true;
        score->matrix[row][column]++;
    }
    score->matrix[row][BENCH_TALLIES] += !any;
}

/* What a blank should be: refused for a clear fault, else accepted or, without an open beam, provisional. */
static void add_blank(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                      const struct pellet_verdict *verdict)
{
    size_t should = of->has_open_beam ? BENCH_SAID_ACCEPTED : BENCH_SAID_PROVISIONAL, said;
    if (of->role != PELLET_BLANK)
        return;
    for (size_t i = 0; i < truth->n; i++) {
        const struct bench_quantity *quantity = &truth->quantity[i];
        const struct pellet_check *check = pellet_check_find(quantity->id);
        if (check->outcome == PELLET_NOTE)
            continue;
        if (quantity->state == BENCH_OVER)
            should = BENCH_SAID_REFUSED;
        if (quantity->state == BENCH_GREY && should != BENCH_SAID_REFUSED)
            return;
    }
    said = verdict->state == PELLET_BLANK_ACCEPTED      ? BENCH_SAID_ACCEPTED
           : verdict->state == PELLET_BLANK_PROVISIONAL ? BENCH_SAID_PROVISIONAL
                                                        : BENCH_SAID_REFUSED;
    score->blank[should][said]++;
}

static void add_found(struct bench_condition *condition, const struct bench_case *of,
                      const struct bench_truth *truth, const struct pellet_verdict *verdict)
{
    const struct pellet_finding *opacity = finding_of(verdict, "opacity");
    double nearest = (double)INFINITY;
    if (fabs(truth->water_ug_cm2) > 10.0)
        bench_errors_push(&condition->water,
                          fabs(verdict->found.water_excess_ug_cm2 / truth->water_ug_cm2 - 1.0));
    bench_errors_push(&condition->thickness, fabs(verdict->found.thickness_mm / truth->thickness_mm - 1.0));
    if (opacity)
        bench_errors_push(&condition->transmittance, fabs(opacity->value - 100.0 * truth->transmittance));
    for (size_t i = 0; i < verdict->band_count; i++)
        nearest = fmin(nearest, fabs(verdict->band[i].at_cm1 - truth->strongest_cm1));
    if (nearest < 15.0 && of->subject.grain_um < 0.8)
        bench_errors_push(&condition->position, nearest / of->beam.spacing_cm1);
}

/* Whether nothing at all is wrong with the pellet and its measurement; what only makes a note may be. */
static bool is_good(const struct bench_truth *truth)
{
    for (size_t i = 0; i < truth->n; i++) {
        const struct pellet_check *check = pellet_check_find(truth->quantity[i].id);
        if (truth->quantity[i].state != BENCH_UNDER && check->outcome != PELLET_NOTE)
            return false;
    }
    return true;
}

void bench_score_add(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                     const struct pellet_verdict *verdict, struct bench_misjudged *misjudged)
{
    const bool good = is_good(truth), sent_back = good && verdict->outcome != PELLET_PASS;
    *misjudged = (struct bench_misjudged){0};
    for (size_t i = 0; i < truth->n; i++)
        add_check(score, of, truth, &truth->quantity[i], verdict, misjudged);
    const bool right = !misjudged->wrong;
    add_matrix(score, of, truth, verdict);
    add_blank(score, of, truth, verdict);
    for (size_t i = 0; i < BENCH_CONDITIONS; i++) {
        struct bench_condition *condition = &score->condition[i];
        if (!condition->holds(of))
            continue;
        add_found(condition, of, truth, verdict);
        condition->cases++;
        condition->right += right;
        condition->good += good;
        condition->sent_back += sent_back;
    }
    if (of->fault[1]) {
        score->pair++;
        score->pair_right += right;
    } else if (of->fault[0]) {
        score->single++;
        score->single_right += right;
    }
}
