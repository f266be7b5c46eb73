// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/findings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What is further beyond its limit than so many times the noise is no work of that. */
#define NOISE_REACH 10.0

static bool refuses(const struct pellet_finding *f)
{
    return f->outcome == PELLET_WAIT || f->outcome == PELLET_RESCAN || f->outcome == PELLET_REMAKE;
}

bool finding_is_of(const struct pellet_finding *finding, const char *check)
{
    return finding->check != NULL && strcmp(finding->check->id, check) == 0;
}

const struct pellet_finding *finding_of(const struct pellet_finding *list, size_t count, const char *check)
{
    for (size_t i = 0; i < count; i++) {
        if (finding_is_of(&list[i], check))
            return &list[i];
    }
    return NULL;
}

/* ---------------------------------------------------------------- running the checks */

/* A sample without a ratio shows nothing of its pellet: only the check that says why may speak. */
static bool can_run(const struct pellet_check *check, const struct pellet_measurement *m)
{
    return m->role != PELLET_SAMPLE || m->transmittance != NULL || strcmp(check->id, "blank") == 0;
}

static void run_check(const struct pellet_check *check, const struct pellet_measurement *m,
                      struct pellet_finding *f)
{
    const struct pellet_rule *rule = &m->inputs->rules->rule[pellet_check_index(check)];

    pellet_finding_init(check, f);
    if (!rule->on)
        pellet_finding_not_checked(f, PELLET_SAYS_OFF);
    else if (!can_run(check, m))
        pellet_finding_not_checked(f, PELLET_SAYS_NEEDS_RATIO);
    else
        check->run(m, rule, f);
}

pellet_status findings_make(const struct pellet_measurement *m, struct findings *out)
{
    out->item = calloc(pellet_check_count(), sizeof *out->item);
    if (out->item == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        if (check->roles & PELLET_FOR(m->role))
            run_check(check, m, &out->item[out->n++]);
    }
    /* A verdict must not depend on what this machine was short of just now. */
    for (size_t i = 0; i < out->n; i++) {
        if (out->item[i].outcome == PELLET_NOT_CHECKED && out->item[i].phrase == PELLET_SAYS_NO_MEMORY)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

/* ---------------------------------------------------------------- trust first */

static bool distrusts(const struct pellet_finding *trust, const struct pellet_finding *f)
{
    for (size_t i = 0; i < trust->distrust_count; i++) {
        if (f->rests_low <= trust->distrust[i].high && f->rests_high >= trust->distrust[i].low)
            return true;
    }
    return false;
}

/*
 * Heights and means: noise changes them by no more than some times itself. By how much they are beyond their
 * limits, in A, on the side that refuses.
 */
static double beyond_limit(const struct pellet_finding *f)
{
    if (finding_is_of(f, "saturation") || finding_is_of(f, "tilt"))
        return f->value - f->limit;
    if (finding_is_of(f, "weak"))
        return f->limit - f->value;
    return finding_is_of(f, "opacity") ? log10(f->limit / f->value) : 0.0;
}

bool findings_noise_is_darkness(const struct pellet_finding *noise, const struct pellet_finding *opacity)
{
    return opacity != NULL && opacity->outcome == PELLET_REMAKE &&
           noise->value * opacity->value <= noise->limit * opacity->limit;
}

/* What noise cannot have made. */
static bool is_sure(const struct pellet_finding *noise, const struct pellet_finding *f)
{
    return f->outcome == PELLET_REMAKE && beyond_limit(f) > NOISE_REACH * noise->value;
}

/* A pellet that is noisy for being dark is not scanned for an hour first, to be made anew all the same. */
static bool is_surely_dark(const struct findings *findings, const struct pellet_finding *trust)
{
    const struct pellet_finding *opacity = finding_of(findings->item, findings->n, "opacity");

    return finding_is_of(trust, "noise") && findings_noise_is_darkness(trust, opacity) &&
           is_sure(trust, opacity);
}

/* A remake needs a trustworthy measurement: checks of the pellet that rest on a refused range fall silent. */
static void put_trust_first(struct findings *findings)
{
    for (size_t t = 0; t < findings->n; t++) {
        const struct pellet_finding *trust = &findings->item[t];
        if (trust->check->stage != PELLET_STAGE_TRUST || !refuses(trust))
            continue;
        const bool dark = is_surely_dark(findings, trust);
        for (size_t i = 0; i < findings->n; i++) {
            struct pellet_finding *f = &findings->item[i];
            if (f->check->stage == PELLET_STAGE_PELLET && f->outcome != PELLET_NOT_CHECKED &&
                distrusts(trust, f) && !(dark && is_sure(trust, f)))
                pellet_finding_not_checked(f, PELLET_SAYS_MEASURE_AGAIN);
        }
    }
}

/* A later blank is judged as a difference from the provisional one; being drier than that is no fault. */
static bool forgive_better_blank(const struct pellet_measurement *m, struct findings *findings)
{
    bool better = false;

    if (m->role != PELLET_BLANK || m->basis != PELLET_AGAINST_FIRST_BLANK)
        return false;
    for (size_t i = 0; i < findings->n; i++) {
        struct pellet_finding *f = &findings->item[i];
        if (finding_is_of(f, "moisture") && refuses(f) && f->value < 0.0) {
            f->outcome = PELLET_PASS;
            better = true;
        }
    }
    return better;
}

static void apply_required(const struct pellet_rules *rules, struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        struct pellet_finding *f = &findings->item[i];
        if (f->outcome == PELLET_NOT_CHECKED && f->phrase != PELLET_SAYS_MEASURE_AGAIN &&
            rules->rule[pellet_check_index(f->check)].required)
            f->outcome = PELLET_WAIT;
    }
}

static bool cured_by_blank(const struct pellet_finding *f)
{
    static const char *const ids[] = {"blank", "overcompensation", "inverted", "moisture"};

    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        if (finding_is_of(f, ids[i]))
            return f->outcome == PELLET_WAIT;
    }
    return false;
}

/* Nothing more can come: a wait for a blank becomes a rescan and keeps its reason. */
static void end_waits(struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        if (cured_by_blank(&findings->item[i]))
            findings->item[i].outcome = PELLET_RESCAN;
    }
}

bool findings_settle(const struct pellet_measurement *m, struct findings *findings)
{
    put_trust_first(findings);
    const bool better = forgive_better_blank(m, findings);
    apply_required(m->inputs->rules, findings);
    if (m->inputs->wait_over)
        end_waits(findings);
    return better;
}

enum pellet_outcome findings_worst(const struct findings *findings)
{
    enum pellet_outcome worst = PELLET_PASS;

    for (size_t i = 0; i < findings->n; i++) {
        if (refuses(&findings->item[i]) && findings->item[i].outcome > worst)
            worst = findings->item[i].outcome;
    }
    return worst;
}

bool pellet_verdict_waits_for_blank(const struct pellet_verdict *verdict)
{
    bool waits = false;

    if (verdict->outcome != PELLET_WAIT)
        return false;
    for (size_t i = 0; i < verdict->reason_count; i++)
        waits |= cured_by_blank(&verdict->reason[i]);
    return waits;
}
