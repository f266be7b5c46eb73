// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra from JCAMP-DX. */
#include "pellet/spectrum.h"

pellet_status pellet_jcamp_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                                struct pellet_spectra *spectra, struct pellet_error *error)
{
    (void)bytes;
    (void)n;
    (void)options;
    (void)spectra;
    return pellet_fail(error, PELLET_E_FORMAT, "JCAMP-DX is not read yet");
}
