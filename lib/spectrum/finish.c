// SPDX-License-Identifier: GPL-3.0-or-later
/* From a draft to a spectrum: units, order, scale, artefacts of exports, facts. */
#include "spectrum/draft.h"

#include "spectrum/number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WAVENUMBER_LEAST    100.0 /* an unlabelled grid that ends below is not in cm-1 */
#define QUANTILE            0.9
#define FRACTION_MOST       2.0 /* no pellet lets twice the light of its reference through */
#define ARTEFACT_NEIGHBOURS 8
#define ARTEFACT_FACTOR     10.0

/* ---------------------------------------------------------------- abscissa */

static pellet_status convert_abscissa(struct pellet_draft *draft, struct pellet_error *error)
{
    double factor = 0; /* wavenumber = factor / wavelength */
    switch (draft->abscissa) {
    case PELLET_ABSCISSA_OTHER:
        return pellet_fail(error, PELLET_E_UNIT,
                           "the abscissa is '%.60s', no infrared wavenumber or wavelength; export in cm-1",
                           draft->fact[PELLET_FACT_XUNITS] ? draft->fact[PELLET_FACT_XUNITS] : "?");
    case PELLET_ABSCISSA_WAVELENGTH:
        return pellet_fail(
            error, PELLET_E_UNIT,
            "the abscissa is a wavelength without a unit; label it in um or nm, or export in cm-1");
    case PELLET_ABSCISSA_MICROMETRE:
        factor = 1e4;
        break;
    case PELLET_ABSCISSA_NANOMETRE:
        factor = 1e7;
        break;
    case PELLET_ABSCISSA_UNKNOWN:
    case PELLET_ABSCISSA_WAVENUMBER:
        break;
    }
    for (size_t i = 0; i < draft->n; i++) {
        if (!(draft->x[i] > 0))
            return pellet_fail(error, PELLET_E_RANGE,
                               "abscissa %g of point %zu is not above 0; export in cm-1", draft->x[i], i + 1);
        if (factor > 0)
            draft->x[i] = factor / draft->x[i];
    }
    return PELLET_OK;
}

static void reverse(double *values, size_t n)
{
    for (size_t i = 0; i < n / 2; i++) {
        const double swapped = values[i];
        values[i] = values[n - 1 - i];
        values[n - 1 - i] = swapped;
    }
}

static pellet_status order_rising(struct pellet_draft *draft, struct pellet_error *error)
{
    if (draft->x[0] > draft->x[draft->n - 1]) {
        reverse(draft->x, draft->n);
        reverse(draft->y, draft->n);
    }
    for (size_t i = 1; i < draft->n; i++)
        if (!(draft->x[i] > draft->x[i - 1]) || !isfinite(draft->x[i]))
            return pellet_fail(
                error, PELLET_E_FORMAT,
                "the abscissa is repeated or turns back near %g cm-1; export the spectrum again",
                draft->x[i]);
    if (draft->abscissa == PELLET_ABSCISSA_UNKNOWN && draft->x[draft->n - 1] < WAVENUMBER_LEAST)
        return pellet_fail(error, PELLET_E_UNIT,
                           "the abscissa ends at %g and has no unit: not cm-1; name the unit in its heading",
                           draft->x[draft->n - 1]);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- ordinate */

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The quantile of the known ordinates; NaN where none is known. */
static pellet_status quantile(const double *y, size_t n, double fraction, double *value)
{
    double *sorted = malloc(n * sizeof *sorted);
    size_t known = 0;
    if (!sorted)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i]))
            sorted[known++] = y[i];
    qsort(sorted, known, sizeof *sorted, compare);
    *value = known > 0 ? sorted[(size_t)(fraction * (double)(known - 1))] : NAN;
    free(sorted);
    return PELLET_OK;
}

static pellet_status settle_scale(struct pellet_draft *draft, const struct pellet_read_options *options,
                                  struct pellet_error *error)
{
    if (draft->scale == PELLET_SCALE_UNKNOWN && options->ordinate == PELLET_ORDINATE_TRANSMITTANCE &&
        options->ordinate_percent)
        draft->scale = PELLET_SCALE_PERCENT;
    if (draft->scale != PELLET_SCALE_PERCENT) {
        double high;
        if (quantile(draft->y, draft->n, QUANTILE, &high) != PELLET_OK)
            return pellet_fail(error, PELLET_E_MEMORY, "no memory to sort %zu ordinates", draft->n);
        if (high > FRACTION_MOST) {
            draft->scale = PELLET_SCALE_PERCENT;
            pellet_draft_warn(
                draft,
                "called transmittance, but the numbers are percent (a tenth of them above %.3g): "
                "divided by 100",
                high);
        }
    }
    if (draft->scale == PELLET_SCALE_PERCENT)
        for (size_t i = 0; i < draft->n; i++)
            draft->y[i] /= 100;
    return PELLET_OK;
}

/* Whether y[at] is an exact 0 that stands alone at one end; `step` leads inward. */
static bool is_artefact(const double *y, size_t n, size_t at, ptrdiff_t step)
{
    if (y[at] != 0 || n < ARTEFACT_NEIGHBOURS + 2)
        return false;
    const double *next = y + (ptrdiff_t)at + step;
    double widest = 0;
    for (int i = 0; i < ARTEFACT_NEIGHBOURS; i++, next += step) {
        const double gap = fabs(next[step] - next[0]);
        if (isnan(gap))
            return false;
        widest = fmax(widest, gap);
    }
    return fabs(y[(ptrdiff_t)at + step]) > ARTEFACT_FACTOR * widest;
}

static void drop_artefacts(struct pellet_draft *draft)
{
    const struct {
        size_t at;
        ptrdiff_t step;
    } ends[] = {{0, 1}, {draft->n - 1, -1}};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        if (!is_artefact(draft->y, draft->n, ends[i].at, ends[i].step))
            continue;
        draft->y[ends[i].at] = NAN;
        pellet_draft_warn(
            draft, "the ordinate at %.6g cm-1 is exactly 0 beside values that are not: taken as unknown",
            draft->x[ends[i].at]);
    }
}

static pellet_status settle_ordinate(struct pellet_draft *draft, const struct pellet_read_options *options,
                                     struct pellet_error *error)
{
    if (draft->ordinate == PELLET_ORDINATE_UNKNOWN)
        draft->ordinate = options->ordinate;
    if (draft->ordinate == PELLET_ORDINATE_TRANSMITTANCE)
        return settle_scale(draft, options, error);
    if (draft->ordinate == PELLET_ORDINATE_ABSORBANCE || draft->ordinate == PELLET_ORDINATE_SINGLE_BEAM)
        drop_artefacts(draft);
    return PELLET_OK;
}

static pellet_status count_known(const struct pellet_draft *draft, struct pellet_error *error)
{
    size_t known = 0;
    for (size_t i = 0; i < draft->n; i++)
        known += isnan(draft->y[i]) ? 0 : 1;
    if (known >= PELLET_POINTS_MIN)
        return PELLET_OK;
    return pellet_fail_at(error, PELLET_E_SHORT, draft->table_line, 0,
                          "only %zu points, at least %d are needed; export the whole spectrum", known,
                          PELLET_POINTS_MIN);
}

/* ---------------------------------------------------------------- facts */

/* The resolution in cm-1: a number alone or with that unit. */
static double read_resolution(const char *text)
{
    double value = NAN;
    if (!text)
        return NAN;
    const char decimal = strchr(text, ',') ? ',' : '.';
    const size_t n = pellet_number_scan(text, strlen(text), decimal, PELLET_EXPONENT_ANY, &value);
    if (n == 0 || !(value > 0))
        return NAN;
    const char *unit = text + n;
    while (*unit == ' ')
        unit++;
    const bool wavenumber =
        *unit == 0 || pellet_abscissa_word(unit, strlen(unit)) == PELLET_ABSCISSA_WAVENUMBER;
    return wavenumber ? value : NAN;
}

static pellet_ns read_measured(struct pellet_draft *draft, const char *zone_name)
{
    struct pellet_civil civil;
    pellet_ns measured;
    const char *date = draft->fact[PELLET_FACT_LONGDATE];
    if (!date)
        date = draft->fact[PELLET_FACT_DATE];
    if (!date)
        return PELLET_NO_TIME;
    switch (pellet_date_read(date, draft->fact[PELLET_FACT_TIME], draft->date_order, &civil)) {
    case PELLET_DATE_AMBIGUOUS:
        pellet_draft_warn(draft, "the date can be read in two ways, so the file's own time is not used");
        return PELLET_NO_TIME;
    case PELLET_DATE_NONE:
        return PELLET_NO_TIME;
    case PELLET_DATE_FOUND:
        break;
    }
    if (pellet_time_from_civil(&civil, zone_name ? zone_name : "UTC", &measured) == PELLET_OK)
        return measured;
    pellet_draft_warn(draft, "the date and time of the file do not exist, so they are not used");
    return PELLET_NO_TIME;
}

static char *take(char **from)
{
    char *taken = *from;
    *from = NULL;
    return taken;
}

pellet_status pellet_draft_finish(struct pellet_draft *draft, const struct pellet_read_options *options,
                                  struct pellet_spectrum *spectrum, struct pellet_error *error)
{
    pellet_status status = count_known(draft, error);
    if (status == PELLET_OK)
        status = convert_abscissa(draft, error);
    if (status == PELLET_OK)
        status = order_rising(draft, error);
    if (status == PELLET_OK)
        status = settle_ordinate(draft, options, error);
    if (status == PELLET_OK)
        status = count_known(draft, error); /* again: an artefact may have become unknown */
    if (status != PELLET_OK)
        return status;

    struct pellet_spectrum out = {.n = draft->n, .ordinate = draft->ordinate};
    out.resolution = read_resolution(draft->fact[PELLET_FACT_RESOLUTION]);
    out.measured = read_measured(draft, options->timezone);
    if (pellet_text_status(&draft->warning) != PELLET_OK)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the warnings");
    out.wavenumber = draft->x;
    out.y = draft->y;
    draft->x = draft->y = NULL;
    draft->n = draft->capacity = 0;
    out.title = take(&draft->fact[PELLET_FACT_TITLE]);
    for (size_t i = 0; i < PELLET_SETTING_COUNT; i++)
        out.setting[i] = take(&draft->fact[i]);
    if (draft->warning.length > 0)
        out.warnings = take(&draft->warning.data);
    *spectrum = out;
    return PELLET_OK;
}
