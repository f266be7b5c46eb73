// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/least.h"

#include <math.h>
#include <string.h>
#include <threads.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_statistics_double.h>

/* Below this reciprocal condition (after scaling) the basis is taken as dependent. */
static const double CONDITION_MIN = 1e-13;

static void handler_off(void)
{
    gsl_set_error_handler_off();
}

void signal_quiet_gsl(void)
{
    static once_flag once = ONCE_FLAG_INIT;

    call_once(&once, handler_off);
}

void signal_least_start(struct signal_least *sums, size_t p)
{
    sums->p = p;
    sums->rows = 0;
    sums->btb = 0;
    memset(sums->ata, 0, p * p * sizeof sums->ata[0]);
    memset(sums->atb, 0, p * sizeof sums->atb[0]);
}

void signal_least_add(struct signal_least *sums, const double *row, double y, double weight)
{
    if (!(weight > 0))
        return;
    for (size_t i = 0; i < sums->p; i++) {
        const double scaled = weight * row[i];

        for (size_t j = 0; j <= i; j++)
            sums->ata[i * sums->p + j] += scaled * row[j];
        sums->atb[i] += scaled * y;
    }
    sums->btb += weight * y * y;
    sums->rows++;
}

/* The rows that are summed before an element of the matrix is written again. */
enum { ABREAST = 4 };

/* ABREAST weighted rows at once. */
static void add_abreast(struct signal_least *sums, const double *row[ABREAST], const double *y,
                        const double weight[ABREAST])
{
    double *out = sums->ata;

    for (size_t i = 0; i < sums->p; i++, out += sums->p) {
        const double a = weight[0] * row[0][i], b = weight[1] * row[1][i], c = weight[2] * row[2][i],
                     d = weight[3] * row[3][i];

        for (size_t j = 0; j <= i; j++)
            out[j] += a * row[0][j] + b * row[1][j] + c * row[2][j] + d * row[3][j];
        sums->atb[i] += a * y[0] + b * y[1] + c * y[2] + d * y[3];
    }
    for (size_t k = 0; k < ABREAST; k++) {
        sums->btb += weight[k] * y[k] * y[k];
        sums->rows += weight[k] > 0;
    }
}

void signal_least_add_all(struct signal_least *sums, const double *row, size_t stride, const double *y,
                          const double *weight, size_t n)
{
    static const double one[ABREAST] = {1, 1, 1, 1};
    size_t i = 0;

    for (; i + ABREAST <= n; i += ABREAST, row += ABREAST * stride) {
        const double *abreast[ABREAST] = {row, row + stride, row + 2 * stride, row + 3 * stride};
        add_abreast(sums, abreast, y + i, weight != NULL ? weight + i : one);
    }
    for (; i < n; i++, row += stride)
        signal_least_add(sums, row, y[i], weight != NULL ? weight[i] : 1);
}

/* Factor the matrix with its diagonal scaled to 1: scale[i] = 1 / sqrt(ata[i][i]). */
static bool factor(const struct signal_least *sums, double *scale, double *matrix)
{
    const size_t p = sums->p;
    gsl_matrix_view view = gsl_matrix_view_array(matrix, p, p);

    for (size_t i = 0; i < p; i++) {
        if (!(sums->ata[i * p + i] > 0))
            return false;
        scale[i] = 1 / sqrt(sums->ata[i * p + i]);
    }
    for (size_t i = 0; i < p; i++) {
        for (size_t j = 0; j <= i; j++)
            matrix[i * p + j] = matrix[j * p + i] = sums->ata[i * p + j] * scale[i] * scale[j];
    }
    if (gsl_linalg_cholesky_decomp1(&view.matrix) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < p; i++) {
        if (!(matrix[i * p + i] * matrix[i * p + i] > CONDITION_MIN))
            return false;
    }
    return true;
}

static void invert(size_t p, const double *scale, double *matrix, double *inverse)
{
    gsl_matrix_view view = gsl_matrix_view_array(matrix, p, p);

    gsl_linalg_cholesky_invert(&view.matrix);
    for (size_t i = 0; i < p; i++) {
        for (size_t j = 0; j < p; j++)
            inverse[i * p + j] = matrix[i * p + j] * scale[i] * scale[j];
    }
}

pellet_status signal_least_solve(const struct signal_least *sums, double *x, double *inverse, double *ssr)
{
    const size_t p = sums->p;
    double scale[SIGNAL_BASIS_MAX], scaled[SIGNAL_BASIS_MAX];
    double matrix[SIGNAL_BASIS_MAX * SIGNAL_BASIS_MAX];
    gsl_matrix_view view = gsl_matrix_view_array(matrix, p, p);
    gsl_vector_view right = gsl_vector_view_array(scaled, p);
    double left = sums->btb;

    signal_quiet_gsl();
    if (sums->rows < p)
        return PELLET_E_SHORT;
    if (!factor(sums, scale, matrix))
        return PELLET_E_FIT;
    for (size_t i = 0; i < p; i++)
        scaled[i] = sums->atb[i] * scale[i];
    if (gsl_linalg_cholesky_svx(&view.matrix, &right.vector) != GSL_SUCCESS)
        return PELLET_E_FIT;
    for (size_t i = 0; i < p; i++) {
        x[i] = scaled[i] * scale[i];
        left -= x[i] * sums->atb[i];
    }
    if (inverse != NULL)
        invert(p, scale, matrix, inverse);
    if (ssr != NULL)
        *ssr = fmax(left, 0);
    return PELLET_OK;
}

bool signal_covariance(const gsl_matrix *jacobian, gsl_matrix *covariance)
{
    signal_quiet_gsl();
    return gsl_blas_dsyrk(CblasLower, CblasTrans, 1, jacobian, 0, covariance) == GSL_SUCCESS &&
           gsl_linalg_cholesky_decomp1(covariance) == GSL_SUCCESS &&
           gsl_linalg_cholesky_invert(covariance) == GSL_SUCCESS;
}

double signal_median(double *v, size_t n)
{
    return gsl_stats_median(v, 1, n);
}
