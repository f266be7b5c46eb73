// SPDX-License-Identifier: GPL-3.0-or-later
/* The spectrum as a value: names, clearing, copying. */
#include "pellet/spectrum.h"

#include <stdlib.h>
#include <string.h>

const char *pellet_ordinate_id(enum pellet_ordinate ordinate)
{
    static const char *const id[PELLET_ORDINATE_COUNT] = {
        [PELLET_ORDINATE_UNKNOWN] = "unknown",
        [PELLET_ORDINATE_SINGLE_BEAM] = "single_beam",
        [PELLET_ORDINATE_TRANSMITTANCE] = "transmittance",
        [PELLET_ORDINATE_ABSORBANCE] = "absorbance",
        [PELLET_ORDINATE_OTHER] = "other",
    };
    return (unsigned)ordinate < PELLET_ORDINATE_COUNT ? id[ordinate] : "unknown";
}

const char *pellet_setting_id(enum pellet_setting setting)
{
    static const char *const id[PELLET_SETTING_COUNT] = {
        [PELLET_SETTING_RESOLUTION] = "resolution",
        [PELLET_SETTING_SCANS] = "scans",
        [PELLET_SETTING_GAIN] = "gain",
        [PELLET_SETTING_APERTURE] = "aperture",
        [PELLET_SETTING_APODISATION] = "apodisation",
        [PELLET_SETTING_DETECTOR] = "detector",
        [PELLET_SETTING_INSTRUMENT] = "instrument",
    };
    return (unsigned)setting < PELLET_SETTING_COUNT ? id[setting] : "unknown";
}

void pellet_spectrum_clear(struct pellet_spectrum *spectrum)
{
    if (!spectrum)
        return;
    free(spectrum->wavenumber);
    free(spectrum->y);
    free(spectrum->title);
    free(spectrum->warnings);
    for (size_t i = 0; i < PELLET_SETTING_COUNT; i++)
        free(spectrum->setting[i]);
    *spectrum = (struct pellet_spectrum){0};
}

static bool copy_values(const double *from, size_t n, double **to)
{
    if (!from)
        return true;
    *to = malloc((n ? n : 1) * sizeof **to);
    if (*to)
        memcpy(*to, from, n * sizeof **to);
    return *to != NULL;
}

static bool copy_string(const char *from, char **to)
{
    if (!from)
        return true;
    *to = strdup(from);
    return *to != NULL;
}

pellet_status pellet_spectrum_copy(const struct pellet_spectrum *from, struct pellet_spectrum *to)
{
    struct pellet_spectrum out = {
        .n = from->n, .ordinate = from->ordinate, .resolution = from->resolution, .measured = from->measured};
    bool copied = copy_values(from->wavenumber, from->n, &out.wavenumber) &&
                  copy_values(from->y, from->n, &out.y) && copy_string(from->title, &out.title) &&
                  copy_string(from->warnings, &out.warnings);
    for (size_t i = 0; copied && i < PELLET_SETTING_COUNT; i++)
        copied = copy_string(from->setting[i], &out.setting[i]);
    if (!copied) {
        pellet_spectrum_clear(&out);
        return PELLET_E_MEMORY;
    }
    *to = out;
    return PELLET_OK;
}

void pellet_spectra_clear(struct pellet_spectra *spectra)
{
    if (!spectra)
        return;
    for (size_t i = 0; i < spectra->n; i++)
        pellet_spectrum_clear(&spectra->item[i]);
    free(spectra->item);
    *spectra = (struct pellet_spectra){0};
}
