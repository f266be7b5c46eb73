// SPDX-License-Identifier: GPL-3.0-or-later
/* Small dense least squares shared by the fits of this room, and the one place that quiets GSL. */
#ifndef PELLET_SIGNAL_LEAST_H
#define PELLET_SIGNAL_LEAST_H

#include <stdbool.h>

#include <gsl/gsl_matrix.h>

#include "pellet/core.h"

#define SIGNAL_BASIS_MAX 16

/*
 * The inverse of J^T J into `covariance` [columns x columns of J]; false where it has none. GSL's own
 * gsl_multifit_nlinear_covar() does not look whether its work space could be had, and crashes where it
 * could not; this needs none.
 */
bool signal_covariance(const gsl_matrix *jacobian, gsl_matrix *covariance);

/* GSL aborts the process on an error unless told not to. Cheap, safe from any thread, done once. */
void signal_quiet_gsl(void);

/* Sums of a weighted linear least-squares problem with p unknowns; rows are added one at a time. */
struct signal_least {
    size_t p;
    size_t rows;                                     /* with a weight above 0 */
    double ata[SIGNAL_BASIS_MAX * SIGNAL_BASIS_MAX]; /* p x p, row major, lower triangle */
    double atb[SIGNAL_BASIS_MAX];
    double btb; /* weighted sum of squares of the right-hand side */
};

void signal_least_start(struct signal_least *sums, size_t p);
void signal_least_add(struct signal_least *sums, const double *row, double y, double weight);
/* n rows, each `stride` after the last, at once; weight NULL: all 1. Rows, y and weights are finite. */
void signal_least_add_all(struct signal_least *sums, const double *row, size_t stride, const double *y,
                          const double *weight, size_t n);
/*
 * Solve the normal equations by Cholesky after scaling the diagonal to 1; the basis should be centred and
 * scaled by the caller.
 *
 * Returned:  x[p]  the coefficients
 *            inverse[p * p]  the unscaled covariance (times the variance of unit weight); may be NULL
 *            ssr   weighted sum of squares of what is left, never below 0; may be NULL
 * Errors:    E_SHORT with fewer rows than unknowns, E_FIT where the basis is dependent; outputs untouched
 */
pellet_status signal_least_solve(const struct signal_least *sums, double *x, double *inverse, double *ssr);

/* The median of v[n], n >= 1; v is reordered. */
double signal_median(double *v, size_t n);

#endif
