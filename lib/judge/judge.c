// SPDX-License-Identifier: GPL-3.0-or-later
/* The two ways to a verdict: from a file that cannot be read, and from a measurement. */
#include "pellet/judge.h"

#include "judge/advice.h"
#include "judge/caution.h"
#include "judge/findings.h"
#include "judge/identity.h"
#include "judge/measure.h"
#include "judge/verdict_fill.h"
#include "judge/wording.h"

#include <gsl/gsl_errno.h>

#include <stdlib.h>

/* A file that cannot be read, or does not say what its ordinate is, has this one finding. It is not in the
 * table of checks because no rule set can change it. */
static const struct pellet_check read_check = {
    .id = "read",
    .bench_word = PELLET_BENCH_READ,
    .quantity = "file",
    .outcome = PELLET_RESCAN,
    .stage = PELLET_STAGE_TRUST,
    .meaning = "the file can be read as one infrared spectrum",
    .source = "the project's own",
};

/* Why the subject is no spectrum that can be judged; NOTHING where it is one. */
static enum pellet_phrase unreadable(const struct pellet_inputs *in)
{
    if (in->subject.spectrum == NULL)
        return PELLET_SAYS_READ_FAILED;
    if (in->subject.spectrum->ordinate == PELLET_ORDINATE_UNKNOWN)
        return PELLET_SAYS_ORDINATE_UNKNOWN;
    if (in->subject.spectrum->ordinate == PELLET_ORDINATE_OTHER)
        return PELLET_SAYS_ORDINATE_OTHER;
    return PELLET_SAYS_NOTHING;
}

static pellet_status judge_unreadable(const struct pellet_inputs *in, enum pellet_phrase why,
                                      struct pellet_verdict *v)
{
    struct pellet_finding f;
    struct findings one = {1, &f};
    struct pellet_text cause = {0};
    pellet_status status;

    pellet_finding_init(&read_check, &f);
    f.outcome = PELLET_RESCAN;
    f.phrase = why;
    v->outcome = PELLET_RESCAN;
    verdict_fill_state(v);
    if (why == PELLET_SAYS_READ_FAILED) {
        if (in->read_error->line > 0)
            pellet_text_addf(&cause, "line %zu: ", in->read_error->line);
        pellet_text_adds(&cause, in->read_error->message);
        f.says = cause.failed ? NULL : pellet_arena_string(&v->arena, pellet_text_string(&cause));
        pellet_text_free(&cause);
    } else {
        f.says = pellet_words_phrase(&v->arena, why, NULL);
    }
    if (f.says == NULL)
        return PELLET_E_MEMORY;
    status = verdict_fill_findings(&one, v);
    v->check_count = 0; /* no check of the rule set was made */
    if (status == PELLET_OK)
        status = verdict_fill_summary(NULL, v);
    return status == PELLET_OK ? pellet_advise(in, NULL, v) : status;
}

static pellet_status render(struct pellet_arena *arena, struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        findings->item[i].says = pellet_words_finding(arena, &findings->item[i]);
        if (findings->item[i].says == NULL)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

static pellet_status judge_measured(const struct pellet_inputs *in, const struct pellet_measurement *m,
                                    struct pellet_verdict *v)
{
    struct findings findings = {0};
    pellet_status status = findings_make(m, &findings);

    if (status != PELLET_OK)
        goto done;
    v->basis = m->basis;
    v->becomes_reference = findings_settle(m, &findings);
    v->outcome = findings_worst(&findings);
    verdict_fill_state(v);
    status = render(&v->arena, &findings);
    if (status == PELLET_OK)
        status = verdict_fill_findings(&findings, v);
    if (status == PELLET_OK)
        status = verdict_fill_measured(m, v);
    if (status == PELLET_OK)
        status = pellet_caution(in, v);
    if (status == PELLET_OK)
        status = verdict_fill_summary(m, v);
    if (status == PELLET_OK)
        status = pellet_advise(in, m, v);
done:
    free(findings.item);
    return status;
}

pellet_status pellet_judge(const struct pellet_inputs *inputs, struct pellet_verdict *verdict,
                           struct pellet_spectrum *ratio, struct pellet_error *error)
{
    const enum pellet_phrase why = unreadable(inputs);
    struct pellet_verdict v = {0};
    struct pellet_measurement m = {0};
    struct pellet_spectrum ratioed = {0};
    pellet_status status;

    /* GSL would end the process on an error; every status of it is checked instead. */
    gsl_set_error_handler_off();
    verdict_fill_nothing(&v);
    status = pellet_verdict_identify(inputs, &v);
    if (status != PELLET_OK)
        goto fail;
    if (why != PELLET_SAYS_NOTHING) {
        status = judge_unreadable(inputs, why, &v);
    } else {
        status = pellet_measure(inputs, &m, error);
        if (status == PELLET_OK)
            status = judge_measured(inputs, &m, &v);
        if (status == PELLET_OK && ratio != NULL && m.transmittance != NULL)
            status = pellet_measurement_ratio(&m, &ratioed, error);
    }
    if (status != PELLET_OK)
        goto fail;
    pellet_measurement_clear(&m);
    *verdict = v;
    if (ratio != NULL)
        *ratio = ratioed;
    return PELLET_OK;
fail:
    pellet_measurement_clear(&m);
    pellet_verdict_clear(&v);
    return pellet_fail(error, status, "the verdict could not be worked out: %s", pellet_status_text(status));
}
