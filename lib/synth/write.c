// SPDX-License-Identifier: GPL-3.0-or-later
/* A single beam as the file that a spectrometer would export. */
#include "synth/model.h"

#include <string.h>

static void add_time(pellet_ns measured, struct pellet_text *out)
{
    char iso[32];
    pellet_time_format(measured, iso);
    char *split = strchr(iso, 'T'), *zone = strchr(iso, 'Z');
    if (!split || !zone)
        return;
    *split = *zone = '\0';
    pellet_text_addf(out, "Date,%s\nTime,%s\n", iso, split + 1);
}

static void add_setting(const char *label, const char *value, struct pellet_text *out)
{
    if (value)
        pellet_text_addf(out, "%s,%s\n", label, value);
}

pellet_status pellet_synth_write_csv(const struct pellet_spectrum *spectrum, const char *title,
                                     pellet_ns measured, struct pellet_text *out)
{
    add_setting("Title", title, out);
    if (measured != PELLET_NO_TIME)
        add_time(measured, out);
    add_setting("Resolution", spectrum->setting[PELLET_SETTING_RESOLUTION], out);
    add_setting("Scans", spectrum->setting[PELLET_SETTING_SCANS], out);
    add_setting("Apodisation", spectrum->setting[PELLET_SETTING_APODISATION], out);
    add_setting("Ordinate", "single beam", out);
    pellet_text_adds(out, "Wavenumber (cm-1),Single beam\n");
    for (size_t i = 0; i < spectrum->n; i++)
        pellet_text_addf(out, "%.4f,%.7e\n", spectrum->wavenumber[i], spectrum->y[i]);
    return pellet_text_status(out);
}

/* The title is the file's stem. */
static void add_stem(const char *file, struct pellet_text *title)
{
    const char *dot = strrchr(file, '.');
    pellet_text_add(title, file, dot ? (size_t)(dot - file) : strlen(file));
}

pellet_status pellet_synth_scene_write(struct pellet_synth *model, const struct pellet_synth_scene *scene,
                                       pellet_ns start, struct pellet_text *out, struct pellet_error *error)
{
    if (scene->kind == PELLET_SYNTH_SCENE_TEXT) {
        pellet_text_adds(out, scene->story);
        pellet_text_addc(out, '\n');
        return pellet_text_status(out);
    }
    struct pellet_spectrum spectrum = {0};
    struct pellet_text title = {0};
    const bool open = scene->kind == PELLET_SYNTH_SCENE_OPEN_BEAM;
    pellet_status status = pellet_synth_measure(model, open ? NULL : &scene->pellet, &scene->instrument,
                                                scene->seed, &spectrum, NULL, error);
    if (status != PELLET_OK)
        return status;
    add_stem(scene->file, &title);
    const pellet_ns measured =
        start == PELLET_NO_TIME ? start : start + (pellet_ns)(scene->minute * 60.0) * PELLET_NS_PER_S;
    status = pellet_synth_write_csv(&spectrum, pellet_text_string(&title), measured, out);
    if (status != PELLET_OK)
        pellet_fail(error, status, "no memory for the file %s", scene->file);
    pellet_text_free(&title);
    pellet_spectrum_clear(&spectrum);
    return status;
}
