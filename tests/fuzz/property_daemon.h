// SPDX-License-Identifier: GPL-3.0-or-later
/* What must hold for any bytes given to the readers of the configuration and of the worksheet. */
#ifndef PELLET_FUZZ_PROPERTY_DAEMON_H
#define PELLET_FUZZ_PROPERTY_DAEMON_H

#include "config.h"
#include "property_yaml.h"
#include "worksheet.h"

/* Lines for a terminal or a verdict: UTF-8, each with its end, and nothing that moves a cursor. */
static inline void property_of_lines(const struct pellet_text *lines)
{
    const char *text = pellet_text_string(lines);
    property_holds(pellet_utf8_valid(text, lines->length), "lines are UTF-8");
    property_holds(lines->length == 0 || text[lines->length - 1] == '\n', "the last line has its end");
    for (size_t i = 0; i < lines->length; i++)
        property_holds((unsigned char)text[i] >= ' ' || text[i] == '\n', "lines hold no control byte");
}

/* ---------------------------------------------------------------- worksheet */

static inline void property_of_weight(double value)
{
    property_holds(isnan(value) || (value >= 0 && isfinite(value)),
                   "a weight is missing, or finite and not below 0");
}

static inline void property_of_row(const struct pellet_worksheet_row *row)
{
    property_holds(row->sample && row->sample[0], "a row names its sample");
    property_holds(row->pellet >= 0 && row->line > 0, "a row counts from 1");
    property_of_weight(row->sample_mg);
    property_of_weight(row->kbr_mg);
    property_of_weight(row->pressed_mg);
    property_of_weight(row->powder_left_mg);
    property_of_weight(row->die_mm);
    property_of_weight(row->load_t);
}

/* A worksheet is refused, or each row is fit to be used and can be found again by its sample and pellet. */
static inline void property_of_worksheet(const uint8_t *bytes, size_t n)
{
    struct worksheet worksheet = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    if (worksheet_read((const char *)bytes, n, &worksheet, &problems, &error) != PELLET_OK) {
        property_of_error(&error);
        property_holds(worksheet.row == NULL && worksheet.n == 0, "an error leaves the output alone");
    }
    property_holds(worksheet.n <= WORKSHEET_ROWS_MAX, "there are no more rows than allowed");
    for (size_t i = 0; i < worksheet.n; i++) {
        const struct pellet_worksheet_row *row = &worksheet.row[i];
        property_of_row(row);
        const struct pellet_worksheet_row *found = worksheet_find(&worksheet, row->sample, row->pellet);
        property_holds(found && found >= row && strcmp(found->sample, row->sample) == 0,
                       "a row is found by its sample, the last one first");
    }
    property_of_lines(&problems);
    pellet_text_free(&problems);
    worksheet_clear(&worksheet);
}

/* ---------------------------------------------------------------- configuration */

static inline void property_of_globs(const struct glob_list *list)
{
    for (size_t i = 0; i < list->n; i++)
        property_holds(list->pattern[i] && !strchr(list->pattern[i], '/'),
                       "a pattern is about a file's name");
}

static inline void property_of_station(const struct station_config *station)
{
    struct pellet_settings settings = {0};
    property_holds(station->folder && station->folder[0] == '/', "a station's folder is absolute");
    property_holds(station->name && station->name[0] && !strchr(station->name, '/') &&
                       station->name[0] != '.',
                   "a station's name is fit for file names");
    property_holds(!station->output || station->output[0] == '/', "an output is absolute");
    property_holds(station->depth >= 0 && station->depth <= STATION_DEPTH_MAX, "a depth is in its bounds");
    property_holds(station->range_low > 0 && station->range_low < station->range_high, "a range has a width");
    property_holds(station->settle_s > 0 && station->file_max_mib > 0 && station->line_max_mib > 0,
                   "times and sizes are above 0");
    property_holds(!station->alert.n || station->alert.argv[0][0] == '/', "a command is a full path");
    property_of_globs(&station->include);
    property_of_globs(&station->blank);
    property_of_globs(&station->open_beam);
    property_of_globs(&station->film);
    (void)station_settings(station, &settings, NULL);
    property_holds(strlen(settings.sha256) == PELLET_SHA256_HEX - 1, "settings have their hash");
}

/* A configuration is refused with every problem told, or each of its stations is fit to be run. */
static inline void property_of_config(const uint8_t *bytes, size_t n)
{
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    if (config_read((const char *)bytes, n, "/etc/pelletd/pelletd.yaml", &config, &problems, &error) !=
        PELLET_OK) {
        property_of_error(&error);
        property_holds(problems.length > 0, "a refusal tells its problems");
        property_holds(config.station == NULL && config.station_count == 0,
                       "an error leaves the output alone");
    }
    for (size_t i = 0; i < config.station_count; i++)
        property_of_station(&config.station[i]);
    property_of_lines(&problems);
    pellet_text_free(&problems);
    config_clear(&config);
}

#endif
