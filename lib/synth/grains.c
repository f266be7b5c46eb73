// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Small grains in a pellet: absorption that saturates inside a grain, scatter, and their interplay across a
 * band.
 *
 * Method: anomalous diffraction of soft spheres, H. C. van de Hulst, Light Scattering by Small Particles
 * (1957), chapter 11 (from memory), with K(w) = 1/2 + exp(-w)/w + (exp(-w) - 1)/w^2: Q_ext = 4 Re K(w),  w =
 * 4 pi a nu (k + i (n - n0));   Q_abs = 2 K(2 Re w). One formula holds Beer-Lambert (grains far below the
 * wavelength), the weakening of bands by coarse grains, the scatter that rises toward high wavenumbers, and
 * the Christiansen distortion, because n swings around n0 within a band. Limits: |n - n0| well below 1,
 * grains not far below the wavelength in scatter (there Rayleigh's nu^4 holds), single scattering.
 */
#include "synth/model.h"

#include <complex.h>
#include <math.h>

/* The series avoids the cancellation of terms that grow as 1/w^2. */
static double complex van_de_hulst(double complex w)
{
    if (cabs(w) < 0.02)
        return w * (1.0 / 3.0 - w * (1.0 / 8.0 - w * (1.0 / 30.0 - w / 144.0)));
    const double complex fading = cexp(-w);
    return 0.5 + fading / w + (fading - 1.0) / (w * w);
}

double pellet_synth_grains(double volume_cm, double radius_cm, double difference, double k, double wavenumber,
                           double forward)
{
    const double size = 4.0 * M_PI * radius_cm * wavenumber;
    const double extinction = 4.0 * creal(van_de_hulst(size * (k + I * difference)));
    const double absorption = 2.0 * creal(van_de_hulst(2.0 * size * k));
    const double scatter = extinction - absorption;
    const double shadow_per_volume = 3.0 / (4.0 * radius_cm);
    return M_LOG10E * volume_cm * shadow_per_volume * (absorption + (1.0 - forward) * scatter);
}

double pellet_synth_scatter_efficiency(double rho)
{
    return 4.0 * creal(van_de_hulst(I * rho));
}
