// SPDX-License-Identifier: GPL-3.0-or-later
/* The kinds of values in a verdict: how each becomes text and comes back from it. */
#include "judge/verdict_types.h"

#include <math.h>
#include <string.h>

/* Enough for a wavenumber to 0.01 cm-1; values that a limit compares have been rounded to fewer before. */
#define NUMBER_DIGITS 6

/* ---------------------------------------------------------------- texts */

static enum verdict_form format_text(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    return verdict_add(*(const char *const *)verdict_place(field, object), VERDICT_TEXT, out);
}

static enum verdict_form format_word(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    return verdict_add(*(const char *const *)verdict_place(field, object), VERDICT_WORD, out);
}

static pellet_status parse_text(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    const char **text = verdict_place_to_set(field, object);
    const char *string;
    *text = NULL;
    if (node == NULL)
        return PELLET_OK;
    const pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK)
        return status;
    return verdict_keep(string, reading, text);
}

const struct verdict_type pellet_verdict_text = {format_text, parse_text, NULL};
const struct verdict_type pellet_verdict_word = {format_word, parse_text, NULL};

static enum verdict_form format_sha256(const struct verdict_field *field, const void *object,
                                       struct pellet_text *out)
{
    const char *hex = verdict_place(field, object);
    return verdict_add(hex[0] != '\0' ? hex : NULL, VERDICT_WORD, out);
}

static pellet_status parse_sha256(const struct verdict_field *field, void *object,
                                  const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    char *hex = verdict_place_to_set(field, object);
    hex[0] = '\0';
    if (node == NULL)
        return PELLET_OK;
    if (node->kind != PELLET_YAML_SCALAR || strlen(node->text) != PELLET_SHA256_HEX - 1 ||
        strspn(node->text, "0123456789abcdef") != PELLET_SHA256_HEX - 1)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, reading->error,
                                "allowed are the 64 hex digits of a SHA-256");
    memcpy(hex, node->text, PELLET_SHA256_HEX);
    return PELLET_OK;
}

const struct verdict_type pellet_verdict_sha256 = {format_sha256, parse_sha256, NULL};

/* ---------------------------------------------------------------- numbers */

static enum verdict_form format_number(const struct verdict_field *field, const void *object,
                                       struct pellet_text *out)
{
    const double value = *(const double *)verdict_place(field, object);
    char number[32];
    if (isnan(value) && (field->flags & VERDICT_OPTIONAL) != 0)
        return VERDICT_ABSENT;
    pellet_number_round(value, NUMBER_DIGITS, number);
    pellet_text_adds(out, number);
    return isfinite(value) ? VERDICT_PLAIN : VERDICT_NO_NUMBER;
}

static pellet_status parse_number(const struct verdict_field *field, void *object,
                                  const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    double *value = verdict_place_to_set(field, object);
    *value = NAN;
    return node != NULL ? pellet_yaml_number(node, value, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_number = {format_number, parse_number, NULL};

/* A count from 1, or 0 where there is none. */
static enum verdict_form format_whole(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    const int number = *(const int *)verdict_place(field, object);
    if (number <= 0)
        return VERDICT_ABSENT;
    pellet_text_addf(out, "%d", number);
    return VERDICT_PLAIN;
}

static pellet_status parse_whole(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    int *number = verdict_place_to_set(field, object);
    int64_t value = 0;
    const pellet_status status =
        node != NULL ? pellet_yaml_integer(node, 1, INT32_MAX, &value, reading->error) : PELLET_OK;
    *number = (int)value;
    return status;
}

const struct verdict_type pellet_verdict_whole = {format_whole, parse_whole, NULL};

static enum verdict_form format_count(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    pellet_text_addf(out, "%llu", (unsigned long long)*(const uint64_t *)verdict_place(field, object));
    return VERDICT_PLAIN;
}

static pellet_status parse_count(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    uint64_t *number = verdict_place_to_set(field, object);
    int64_t value = 0;
    const pellet_status status =
        node != NULL ? pellet_yaml_integer(node, 0, INT64_MAX, &value, reading->error) : PELLET_OK;
    *number = (uint64_t)value;
    return status;
}

const struct verdict_type pellet_verdict_count = {format_count, parse_count, NULL};

static enum verdict_form format_ns(const struct verdict_field *field, const void *object,
                                   struct pellet_text *out)
{
    pellet_text_addf(out, "%lld", (long long)*(const pellet_ns *)verdict_place(field, object));
    return VERDICT_PLAIN;
}

static pellet_status parse_ns(const struct verdict_field *field, void *object, const struct pellet_yaml *node,
                              const struct verdict_reading *reading)
{
    pellet_ns *time = verdict_place_to_set(field, object);
    *time = PELLET_NO_TIME;
    return node != NULL ? pellet_yaml_integer(node, INT64_MIN, INT64_MAX, time, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_ns = {format_ns, parse_ns, NULL};

static enum verdict_form format_time(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    char time[32];
    pellet_time_format(*(const pellet_ns *)verdict_place(field, object), time);
    return verdict_add(time[0] != '\0' ? time : NULL, VERDICT_WORD, out);
}

static pellet_status parse_time(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    pellet_ns *time = verdict_place_to_set(field, object);
    *time = PELLET_NO_TIME;
    if (node == NULL)
        return PELLET_OK;
    if (node->kind != PELLET_YAML_SCALAR || pellet_time_parse(node->text, time) != PELLET_OK)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, reading->error,
                                "allowed is a time such as 2026-03-04T10:12:31Z");
    return PELLET_OK;
}

const struct verdict_type pellet_verdict_time = {format_time, parse_time, NULL};

static enum verdict_form format_bool(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    const bool value = *(const bool *)verdict_place(field, object);
    if (!value && (field->flags & VERDICT_OPTIONAL) != 0)
        return VERDICT_ABSENT;
    return verdict_add(value ? "true" : "false", VERDICT_PLAIN, out);
}

static pellet_status parse_bool(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    bool *value = verdict_place_to_set(field, object);
    *value = false;
    return node != NULL ? pellet_yaml_bool(node, value, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_bool = {format_bool, parse_bool, NULL};
