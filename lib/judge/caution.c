// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/caution.h"

#include "judge/identity.h"
#include "judge/wording.h"

static pellet_status warn(struct pellet_verdict *v, const char *text)
{
    return text != NULL ? pellet_verdict_warn(v, text) : PELLET_E_MEMORY;
}

static pellet_status warn_of_blank(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    if (in->subject.role != PELLET_SAMPLE || in->blank == NULL)
        return PELLET_OK;
    const char *file = in->blank->file;
    if (in->blank->state == PELLET_BLANK_PROVISIONAL)
        return warn(v, pellet_words_phrase(&v->arena, PELLET_SAYS_BLANK_PROVISIONAL, file));
    if (in->blank->state == PELLET_BLANK_REFUSED)
        return warn(v, pellet_words_phrase(&v->arena, PELLET_SAYS_BLANK_UNACCEPTED, file));
    return PELLET_OK;
}

/* No reason for a verdict: light does not show the load, and this die may be rated for it. */
static pellet_status warn_of_load(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    const double most = in->rules->pressure_max_mpa;

    if (!(v->found.pressure_mpa > most))
        return PELLET_OK;
    const struct pellet_finding load = {.phrase = PELLET_SAYS_LOAD_HIGH,
                                        .value = v->found.pressure_mpa,
                                        .limit = most,
                                        .unit = PELLET_UNIT_MPA,
                                        .number = {in->row->load_t, in->row->die_mm},
                                        .number_unit = {PELLET_UNIT_TONNE, PELLET_UNIT_MM}};
    return warn(v, pellet_words_finding(&v->arena, &load));
}

pellet_status pellet_caution(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    pellet_status status = warn_of_blank(in, v);

    if (status == PELLET_OK && v->becomes_reference)
        status = warn(v, pellet_words_phrase(&v->arena, PELLET_SAYS_BETTER_BLANK, NULL));
    return status == PELLET_OK ? warn_of_load(in, v) : status;
}
