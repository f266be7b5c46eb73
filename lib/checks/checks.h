// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What the checks share among themselves: their rows, and the few lines that many of them need. Each check's
 * file begins with its method, the limits of its validity and its source, and ends with its row.
 */
#ifndef PELLET_CHECKS_PRIVATE_H
#define PELLET_CHECKS_PRIVATE_H

#include "pellet/checks.h"

extern const struct pellet_check pellet_check_blank;
extern const struct pellet_check pellet_check_span;
extern const struct pellet_check pellet_check_noise;
extern const struct pellet_check pellet_check_leak;
extern const struct pellet_check pellet_check_overcompensation;
extern const struct pellet_check pellet_check_inverted;
extern const struct pellet_check pellet_check_vapour;
extern const struct pellet_check pellet_check_carbon_dioxide;
extern const struct pellet_check pellet_check_saturation;
extern const struct pellet_check pellet_check_weak;
extern const struct pellet_check pellet_check_opacity;
extern const struct pellet_check pellet_check_moisture;
extern const struct pellet_check pellet_check_tilt;
extern const struct pellet_check pellet_check_asymmetry;
extern const struct pellet_check pellet_check_fringes;
extern const struct pellet_check pellet_check_thickness;
extern const struct pellet_check pellet_check_residue;
extern const struct pellet_check pellet_check_purity;
extern const struct pellet_check pellet_check_windows;
extern const struct pellet_check pellet_check_wavenumber;

/* Parameters of a row: a quantity with its standard, a range with its standard ends; then what is allowed. */
#define PELLET_QUANTITY(key, unit, standard, lowest, highest, meaning)                                       \
    {                                                                                                        \
        key, PELLET_UNIT_##unit, PELLET_PARAMETER_QUANTITY, {standard, standard}, lowest, highest, meaning   \
    }
#define PELLET_RANGE(key, unit, low, high, lowest, highest, meaning)                                         \
    {                                                                                                        \
        key, PELLET_UNIT_##unit, PELLET_PARAMETER_RANGE, {low, high}, lowest, highest, meaning               \
    }

/* What a run function is. */
typedef void pellet_check_run(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                              struct pellet_finding *finding);

/* The grid of a measurement, as the functions of lib/signal take it. */
struct pellet_grid pellet_measurement_grid(const struct pellet_measurement *measurement);

/* A single quantity of a rule, by its place in the row's list of parameters. */
static inline double pellet_rule_quantity(const struct pellet_rule *rule, size_t parameter)
{
    return rule->parameter[parameter].high;
}

/* The highest outcome of a limit on the size of a signed value; value and limit compare by size. */
void pellet_finding_either_sign(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                                double limit, enum pellet_phrase phrase);
/* The range (cm-1) that a finding rests on; also written into from and to, for the verdict. */
void pellet_finding_range(struct pellet_finding *finding, double low, double high);
/* The place of a finding and the range it rests on, `half` to each side. */
void pellet_finding_place(struct pellet_finding *finding, double at, double half);
/* One more range (cm-1) that a refusing trust check makes untrustworthy; nothing where there is no room. */
void pellet_finding_distrust(struct pellet_finding *finding, double low, double high);
/* Whether the finding refuses: an outcome that leads to a verdict other than pass. */
bool pellet_finding_refuses(const struct pellet_finding *finding);
/* Not checked because a function of lib/signal could not use low..high. */
void pellet_finding_unusable(struct pellet_finding *finding, pellet_status status, double low, double high);
/* {word}, cut at a whole character; bytes of a file's name must be made visible by the caller. */
void pellet_finding_word(struct pellet_finding *finding, const char *word);

/*
 * A copy of a curve of the measurement in which the points that bear one of `marks` are NaN.
 * Returned: malloc'ed, n points, the caller frees it; NULL when memory ran out.
 */
double *pellet_measurement_without(const struct pellet_measurement *measurement, const double *curve,
                                   unsigned marks);

#endif
