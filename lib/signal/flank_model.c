// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The model and one fit of it. Band, neighbours and a straight line are absorbances; the line shape and a
 * false zero act on transmittance.
 */
#include "signal/flank.h"

#include "signal/least.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

/* The unknowns of the band itself; three more follow for each neighbour. */
enum { HEIGHT, PLACE, WIDTH, MIX, SKEW, LEVEL, SLOPE, ZERO, OF_BAND };
enum { N_HEIGHT, N_PLACE, N_WIDTH, OF_NEIGHBOUR };
#define UNKNOWNS_MAX (OF_BAND + OF_NEIGHBOUR * FLANK_OTHERS_MAX)

/* Height, place, width, mix and skew: those that make the shape of a band. */
#define SHAPE_TERMS (SKEW + 1)

static const size_t TURNS_MAX = 40;
/* A top that is flat above zero light speaks for a false zero as large as this (T, 1 sigma). */
static const double FLAT_ZERO = 0.02;

/* What is known beforehand of each unknown: middle and standard deviation. The mix is a logistic one. */
struct prior {
    double middle, sigma;
};

/* A problem with what one variant supposes of it. */
struct supposed {
    const struct flank_problem *of;
    size_t unknowns, others;
    struct prior prior[UNKNOWNS_MAX];
    double beam[FLANK_FINE_MAX];            /* scratch: the model's transmittance, */
    double by[SHAPE_TERMS][FLANK_FINE_MAX]; /* and its absorbance by the unknowns of one band */
};

/* ---------------------------------------------------------------- the model */

static double share_of(double logit)
{
    return 1.0 / (1.0 + exp(-logit));
}

/* A Gauss curve below this share of its top (exp(-40)) is nothing beside the noise. */
#define GAUSS_REACH 40.0

static double gauss_at(double x)
{
    const double power = M_LN2 * x * x;
    return power < GAUSS_REACH ? exp(-power) : 0.0;
}

/* The bands of one set of unknowns, worked out once for all points. */
struct curves {
    double height, gauss, skew, place, half;
    size_t others;
    double other_height[FLANK_OTHERS_MAX], other_place[FLANK_OTHERS_MAX], other_half[FLANK_OTHERS_MAX];
};

static struct curves curves_of(const struct supposed *s, const double *p)
{
    const struct pellet_band *band = s->of->band;
    struct curves curves = {.height = exp(p[HEIGHT]),
                            .gauss = share_of(p[MIX]),
                            .skew = p[SKEW],
                            .place = band->at_cm1 + p[PLACE] * band->width_cm1,
                            .half = 0.5 * band->width_cm1 * exp(p[WIDTH]),
                            .others = s->others};

    for (size_t k = 0; k < s->others; k++) {
        const struct pellet_band *other = s->of->other[k];
        const double *q = p + OF_BAND + OF_NEIGHBOUR * k;
        curves.other_height[k] = other->height * exp(q[N_HEIGHT]);
        curves.other_place[k] = other->at_cm1 + q[N_PLACE] * other->width_cm1;
        curves.other_half[k] = 0.5 * other->width_cm1 * exp(q[N_WIDTH]);
    }
    return curves;
}

/* Absorbance of the band and its neighbours, without level and slope. */
static double bands_at(const struct curves *curves, double nu)
{
    const double x = (nu - curves->place) / curves->half, lorentz = 1.0 / (1.0 + x * x);
    double a = curves->height *
               (curves->gauss * gauss_at(x) + (1.0 - curves->gauss) * lorentz + curves->skew * x * lorentz);

    for (size_t k = 0; k < curves->others; k++) {
        const double y = (nu - curves->other_place[k]) / curves->other_half[k];
        a += curves->other_height[k] * (0.3 * gauss_at(y) + 0.7 / (1.0 + y * y));
    }
    return a;
}

static double fine_at(const struct flank_problem *of, size_t i)
{
    return of->fine_low + of->fine_step * (double)i;
}

/* Where the straight line stands at a place: it is nothing at the band. */
static double slant_at(const struct flank_problem *of, double nu)
{
    return (nu - of->band->at_cm1) / (of->fine_step * (double)(of->fine_n - 1));
}

/* The model's transmittance before the line shape acts. */
static void set_beam(struct supposed *s, const double *p)
{
    const struct flank_problem *of = s->of;
    const struct curves curves = curves_of(s, p);

    for (size_t i = 0; i < of->fine_n; i++) {
        const double nu = fine_at(of, i);
        const double a = of->base[i] + p[LEVEL] + p[SLOPE] * slant_at(of, nu) + bands_at(&curves, nu);
        s->beam[i] = exp(-M_LN10 * fmin(fmax(a, -1.0), 20.0));
    }
}

static int residuals(const gsl_vector *vector, void *context, gsl_vector *f)
{
    struct supposed *s = context;
    const struct flank_problem *of = s->of;
    const double *p = vector->data; /* GSL's own vectors have a stride of 1 */

    set_beam(s, p);
    for (size_t i = 0; i < of->n; i++) {
        const double *row = of->weight + i * of->taps, *beam = s->beam + of->first[i];
        double t = p[ZERO];

        for (size_t k = 0; k < of->taps; k++)
            t += row[k] * beam[k];
        gsl_vector_set(f, i, (t - of->t[i]) / of->sigma[i]);
    }
    for (size_t k = 0; k < s->unknowns; k++)
        gsl_vector_set(f, of->n + k, (p[k] - s->prior[k].middle) / s->prior[k].sigma);
    return GSL_SUCCESS;
}

/* ---------------------------------------------------------------- its derivatives */

/* A Gauss and a Lorentz curve of height 1 and half width 1, and their slopes. */
struct bell {
    double gauss, gauss_slope, lorentz, lorentz_slope;
};

static struct bell bell_at(double x)
{
    const double gauss = gauss_at(x), lorentz = 1.0 / (1.0 + x * x);
    return (struct bell){gauss, -2.0 * M_LN2 * x * gauss, lorentz, -2.0 * x * lorentz * lorentz};
}

/* The band's absorbance by its own unknowns, at all points. */
static void set_by_band(struct supposed *s, const struct curves *curves)
{
    const double gauss = curves->gauss, width = s->of->band->width_cm1;

    for (size_t i = 0; i < s->of->fine_n; i++) {
        const double x = (fine_at(s->of, i) - curves->place) / curves->half;
        const struct bell bell = bell_at(x);
        const double by_x = curves->height * (gauss * bell.gauss_slope + (1.0 - gauss) * bell.lorentz_slope +
                                              curves->skew * (bell.lorentz + x * bell.lorentz_slope));
        s->by[HEIGHT][i] = curves->height * (gauss * bell.gauss + (1.0 - gauss) * bell.lorentz +
                                             curves->skew * x * bell.lorentz);
        s->by[PLACE][i] = -by_x * width / curves->half;
        s->by[WIDTH][i] = -by_x * x;
        s->by[MIX][i] = curves->height * (bell.gauss - bell.lorentz) * gauss * (1.0 - gauss);
        s->by[SKEW][i] = curves->height * x * bell.lorentz;
    }
}

/* The same of another band. */
static void set_by_other(struct supposed *s, const struct curves *curves, size_t k)
{
    const double height = curves->other_height[k], half = curves->other_half[k];
    const double width = s->of->other[k]->width_cm1;

    for (size_t i = 0; i < s->of->fine_n; i++) {
        const double y = (fine_at(s->of, i) - curves->other_place[k]) / half;
        const struct bell bell = bell_at(y);
        const double by_y = height * (0.3 * bell.gauss_slope + 0.7 * bell.lorentz_slope);
        s->by[N_HEIGHT][i] = height * (0.3 * bell.gauss + 0.7 * bell.lorentz);
        s->by[N_PLACE][i] = -by_y * width / half;
        s->by[N_WIDTH][i] = -by_y * y;
    }
}

/* What is told of an absorbance becomes transmittance, takes the line shape and fills `terms` columns. */
static void set_columns(const struct supposed *s, size_t from, size_t terms, gsl_matrix *jacobian)
{
    const struct flank_problem *of = s->of;

    for (size_t i = 0; i < of->n; i++) {
        const double *row = of->weight + i * of->taps, *beam = s->beam + of->first[i];

        for (size_t term = 0; term < terms; term++) {
            const double *by = s->by[term] + of->first[i];
            double sum = 0.0;

            for (size_t k = 0; k < of->taps; k++)
                sum += row[k] * beam[k] * by[k];
            gsl_matrix_set(jacobian, i, from + term, -M_LN10 * sum / of->sigma[i]);
        }
    }
}

static int derivatives(const gsl_vector *vector, void *context, gsl_matrix *jacobian)
{
    struct supposed *s = context;
    const struct flank_problem *of = s->of;
    const struct curves curves = curves_of(s, vector->data);

    set_beam(s, vector->data);
    gsl_matrix_set_zero(jacobian);
    set_by_band(s, &curves);
    set_columns(s, HEIGHT, SHAPE_TERMS, jacobian);
    for (size_t i = 0; i < of->fine_n; i++) {
        s->by[0][i] = 1.0;
        s->by[1][i] = slant_at(of, fine_at(of, i));
    }
    set_columns(s, LEVEL, 2, jacobian); /* and the slope */
    for (size_t k = 0; k < s->others; k++) {
        set_by_other(s, &curves, k);
        set_columns(s, OF_BAND + OF_NEIGHBOUR * k, OF_NEIGHBOUR, jacobian);
    }
    for (size_t i = 0; i < of->n; i++)
        gsl_matrix_set(jacobian, i, ZERO, 1.0 / of->sigma[i]);
    for (size_t k = 0; k < s->unknowns; k++)
        gsl_matrix_set(jacobian, of->n + k, k, 1.0 / s->prior[k].sigma);
    return GSL_SUCCESS;
}

/* The highest point of the bands near the middle of this one: what stands above the baseline. */
static double top_of(const struct supposed *s, const double *p)
{
    const struct curves curves = curves_of(s, p);
    double best = 0.0;

    for (int i = -20; i <= 20; i++)
        best = fmax(best, bands_at(&curves, curves.place + s->of->band->width_cm1 * (double)i / 40.0));
    return best;
}

/* ---------------------------------------------------------------- one fit */

static void set_priors(struct supposed *s, const struct flank_variant *variant)
{
    const struct flank_problem *of = s->of;
    const struct prior of_band[OF_BAND] = {
        [HEIGHT] = {0.0, 10.0}, [PLACE] = {0.0, 0.2},  [WIDTH] = {0.0, 1.0},  [MIX] = {0.0, 1.0},
        [SKEW] = {0.0, 0.1},    [LEVEL] = {0.0, 0.05}, [SLOPE] = {0.0, 0.05}, [ZERO] = {0.0, variant->zero},
    };
    static const struct prior of_neighbour[OF_NEIGHBOUR] = {
        [N_HEIGHT] = {0.0, 0.7}, [N_PLACE] = {0.0, 0.3}, [N_WIDTH] = {0.0, 0.4}};

    static const struct prior of_shoulder[OF_NEIGHBOUR] = {
        [N_HEIGHT] = {0.0, 1.5}, [N_PLACE] = {0.0, 0.4}, [N_WIDTH] = {0.0, 0.4}};

    s->others = of->neighbours + (variant->shoulders ? FLANK_SHOULDERS : 0);
    s->unknowns = OF_BAND + OF_NEIGHBOUR * s->others;
    memcpy(s->prior, of_band, sizeof of_band);
    s->prior[MIX] = (struct prior){variant->logit, variant->sure};
    if (of->band->flat_top)
        s->prior[ZERO].sigma = FLAT_ZERO;
    for (size_t k = 0; k < s->others; k++)
        memcpy(s->prior + OF_BAND + OF_NEIGHBOUR * k, k < of->neighbours ? of_neighbour : of_shoulder,
               sizeof of_neighbour);
}

/* A Lorentz band of this height is as wide as what is seen where that is half as high as it seems. */
static double start_width(double start)
{
    return -0.5 * log(fmax(2.0 * start - 1.0, 0.2));
}

static void read_answer(const struct supposed *s, gsl_multifit_nlinear_workspace *work,
                        gsl_matrix *covariance, struct flank_answer *answer)
{
    const double *p = gsl_multifit_nlinear_position(work)->data;
    double shifted[UNKNOWNS_MAX], slope[UNKNOWNS_MAX], squares = 0.0;
    const double top = log(top_of(s, p));

    gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work), &squares);
    if (!signal_covariance(gsl_multifit_nlinear_jac(work), covariance))
        return;
    for (size_t k = 0; k < s->unknowns; k++) {
        memcpy(shifted, p, s->unknowns * sizeof *shifted);
        shifted[k] += 1e-4;
        slope[k] = (log(top_of(s, shifted)) - top) / 1e-4;
    }
    answer->variance = 0.0;
    for (size_t i = 0; i < s->unknowns; i++) {
        for (size_t k = 0; k < s->unknowns; k++)
            answer->variance += slope[i] * gsl_matrix_get(covariance, i, k) * slope[k];
    }
    answer->log_top = top;
    answer->squares = squares;
    answer->zero = p[ZERO];
    answer->width_cm1 = s->of->band->width_cm1 * exp(p[WIDTH]);
    answer->ok = isfinite(top) && isfinite(answer->variance) && isfinite(squares);
}

pellet_status flank_fit_once(const struct flank_problem *problem, const struct flank_variant *variant,
                             struct flank_answer *answer)
{
    struct supposed s = {.of = problem};
    set_priors(&s, variant);
    const size_t rows = problem->n + s.unknowns, p = s.unknowns;
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf system = {.f = residuals, .df = derivatives, .n = rows, .p = p, .params = &s};
    double start[UNKNOWNS_MAX] = {[HEIGHT] = log(variant->start * problem->band->height),
                                  [WIDTH] = start_width(variant->start),
                                  [MIX] = variant->logit};
    gsl_vector_view begin = gsl_vector_view_array(start, p);
    double square[UNKNOWNS_MAX * UNKNOWNS_MAX];
    gsl_matrix_view covariance = gsl_matrix_view_array(square, p, p);
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, rows, p);
    pellet_status status = work != NULL ? PELLET_OK : PELLET_E_MEMORY;
    int info;

    *answer = (struct flank_answer){.ok = false};
    /* Not to have come to rest is no failure: the covariance says how well what was reached is known. */
    if (status == PELLET_OK && gsl_multifit_nlinear_init(&begin.vector, &system, work) == GSL_SUCCESS) {
        (void)gsl_multifit_nlinear_driver(TURNS_MAX, 1e-5, 1e-5, 1e-6, NULL, NULL, &info, work);
        read_answer(&s, work, &covariance.matrix, answer);
    }
    if (work != NULL)
        gsl_multifit_nlinear_free(work);
    return status;
}
