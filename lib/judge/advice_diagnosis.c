// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What light can tell apart. Grains of the sample skew the bands where they are not small against the
 * wavelength, and scatter the more the higher the wavenumber as long as they are no larger than it; water
 * shows by its own bands. Large grains and places that did not fuse scatter all light alike: between those
 * two light does not tell.
 */
#include "judge/advice_diagnosis.h"

#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <string.h>

const struct pellet_finding *pellet_reason_of(const struct pellet_verdict *v, const char *check)
{
    for (size_t i = 0; i < v->reason_count; i++) {
        if (v->reason[i].check != NULL && strcmp(v->reason[i].check->id, check) == 0)
            return &v->reason[i];
    }
    return NULL;
}

/* As a reason to make the pellet again. */
static bool remakes(const struct pellet_verdict *v, const char *check)
{
    const struct pellet_finding *reason = pellet_reason_of(v, check);
    return reason != NULL && reason->outcome == PELLET_REMAKE;
}

const struct pellet_finding *pellet_finding_of(const struct pellet_verdict *v, const char *check)
{
    for (size_t i = 0; i < v->check_count; i++) {
        if (v->check[i].check != NULL && strcmp(v->check[i].check->id, check) == 0)
            return &v->check[i];
    }
    return NULL;
}

/* So many bands must agree before their skew is the grains': hydrogen bonds and shoulders skew one or two. */
#define AGREE_LEAST 3.0
#define SMALL_SHARE 0.25 /* of the limit: too little to need a witness */

/*
 * The skew of the bands over its limit, whatever became of it; NaN where it was not checked or too few bands
 * say so. Grains whose index is below that of KBr skew the other way.
 */
static double skew_share(const struct pellet_verdict *v)
{
    const struct pellet_finding *skew = pellet_finding_of(v, "asymmetry");

    if (skew == NULL || skew->outcome == PELLET_NOT_CHECKED)
        return NAN;
    const double share = fabs(skew->value) / skew->limit;
    const bool refused = skew->outcome == PELLET_REMAKE;
    return share < SMALL_SHARE || refused || skew->number[1] >= AGREE_LEAST ? share : NAN;
}

/*
 * Too faint may mean too coarse. Scatter goes with the dose: where as much more sample as is wanted would
 * make the baseline rise beyond its limit, the grains must be finer first.
 */
static bool would_slope(const struct pellet_verdict *v, double target)
{
    const struct pellet_finding *tilt = pellet_finding_of(v, "tilt"), *weak = pellet_finding_of(v, "weak");

    return tilt != NULL && weak != NULL && tilt->value * target / weak->value > tilt->limit;
}

/* The same for the light that is left: what the pellet scatters beyond a clear plate grows with the dose. */
static bool would_darken(const struct pellet_verdict *v, double target)
{
    const struct pellet_finding *clear = pellet_finding_of(v, "opacity"),
                                *weak = pellet_finding_of(v, "weak");

    if (clear == NULL || weak == NULL || clear->basis == NULL)
        return false;
    const bool against_blank = strcmp(clear->basis, pellet_basis_id(PELLET_AGAINST_BLANK)) == 0;
    const double plate = against_blank ? 1.0 : pellet_kbr_plate_transmittance(2000.0);
    const double scatters = log10(100.0 * plate / clear->value), may = log10(100.0 * plate / clear->limit);
    return scatters * target / weak->value > may;
}

static pellet_status thickness_of(const struct pellet_measurement *m, double *thickness_mm)
{
    pellet_status status = PELLET_OK;

    *thickness_mm = NAN;
    if (m->transmittance != NULL)
        status = checks_own_fringe_thickness(m, thickness_mm);
    if (!isfinite(*thickness_mm))
        *thickness_mm = checks_worksheet_thickness(m);
    return status;
}

pellet_status pellet_diagnose(const struct pellet_measurement *m, const struct pellet_rules *rules,
                              const struct pellet_verdict *v, struct pellet_diagnosis *d)
{
    const struct pellet_finding *weak = pellet_reason_of(v, "weak");
    const double skew = skew_share(v);
    double thickness_mm = NAN;

    if (m != NULL && thickness_of(m, &thickness_mm) != PELLET_OK)
        return PELLET_E_MEMORY;
    *d = (struct pellet_diagnosis){
        .strong = remakes(v, "saturation"),
        .faint = remakes(v, "weak"),
        .no_sample = weak != NULL && weak->phrase == PELLET_SAYS_NO_SAMPLE,
        .damp = remakes(v, "moisture"),
        .coarse = remakes(v, "tilt") || remakes(v, "asymmetry"),
        .skew_share = skew,
        .cloudy = remakes(v, "opacity"),
        .dirty = remakes(v, "residue"),
        .impure = remakes(v, "purity"),
        .thickness_mm = thickness_mm,
    };
    d->coarse |=
        d->faint && !d->no_sample &&
        (skew > 1.0 || would_slope(v, rules->target_absorbance) || would_darken(v, rules->target_absorbance));
    d->thick = d->cloudy && d->thickness_mm > rules->target_thickness_mm.high;
    return PELLET_OK;
}
