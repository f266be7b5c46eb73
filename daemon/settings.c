// SPDX-License-Identifier: GPL-3.0-or-later
#include "config.h"

static const char *const measured_words[] = {"auto", "file", "mtime"};
static const char *const against_words[] = {"unknown", "blank", "open beam"};

static void add_globs(struct pellet_text *text, const char *key, const struct glob_list *list)
{
    pellet_text_addf(text, "%s:", key);
    for (size_t i = 0; i < list->n; i++)
        pellet_text_addf(text, " %s", list->pattern[i]);
    pellet_text_addc(text, '\n');
}

/* What decides which column is read, and what is too large to be read: said only where it is not the default,
 * so that those who never heard of it keep their hash. */
static void add_reading(struct pellet_text *text, const struct station_config *station)
{
    char number[32];
    if (station->column)
        pellet_text_addf(text, "column: %s\n", station->column);
    pellet_number_format(station->file_max_mib, number);
    if (station->file_max_mib != (double)PELLET_READ_BYTES_MAX / PELLET_MIB)
        pellet_text_addf(text, "file_max: %s MiB\n", number);
    if (station->points_max != STATION_POINTS)
        pellet_text_addf(text, "points_max: %jd\n", (intmax_t)station->points_max);
    pellet_number_format(station->line_max_mib, number);
    if (station->line_max_mib != (double)PELLET_READ_LINE_MAX / PELLET_MIB)
        pellet_text_addf(text, "line_max: %s MiB\n", number);
}

/* Folder, name, settling and the like are left out: they change when a verdict comes, not what it says. */
pellet_status station_settings(const struct station_config *station, struct pellet_settings *settings,
                               struct pellet_error *error)
{
    struct pellet_text text = {0};
    char low[32];
    char high[32];
    pellet_number_format(station->range_low, low);
    pellet_number_format(station->range_high, high);
    add_globs(&text, "blank", &station->blank);
    add_globs(&text, "open_beam", &station->open_beam);
    add_globs(&text, "film", &station->film);
    pellet_text_addf(&text, "sample_name: %s\n", station->sample_name);
    pellet_text_addf(&text, "ordinate: %s%s\n", pellet_ordinate_id(station->ordinate),
                     station->ordinate_percent ? " %" : "");
    pellet_text_addf(&text, "ratioed_against: %s\n", against_words[station->ratioed_against]);
    pellet_text_addf(&text, "range: %s..%s cm-1\n", low, high);
    pellet_text_addf(&text, "measured: %s\n", measured_words[station->measured]);
    pellet_text_addf(&text, "timezone: %s\n", station->timezone);
    add_reading(&text, station);
    if (pellet_text_status(&text) != PELLET_OK) {
        pellet_text_free(&text);
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the settings of a station");
    }
    *settings = (struct pellet_settings){.range_low = station->range_low,
                                         .range_high = station->range_high,
                                         .ratioed_against = station->ratioed_against};
    pellet_sha256_hex(pellet_text_string(&text), text.length, settings->sha256);
    pellet_text_free(&text);
    return PELLET_OK;
}
