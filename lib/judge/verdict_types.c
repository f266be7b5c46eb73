// SPDX-License-Identifier: GPL-3.0-or-later
/* The kinds of values in a verdict: how each becomes text and comes back from it. */
#include "judge/verdict_fields.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Enough for a wavenumber to 0.01 cm-1; values that a limit compares have been rounded to fewer before. */
#define NUMBER_DIGITS 6

static const void *place(const struct verdict_field *field, const void *object)
{
    return (const char *)object + field->at;
}

static void *place_to_set(const struct verdict_field *field, void *object)
{
    return (char *)object + field->at;
}

/* ---------------------------------------------------------------- texts */

static enum verdict_form add_string(const char *string, enum verdict_form form, struct pellet_text *out)
{
    if (string == NULL)
        return VERDICT_ABSENT;
    pellet_text_adds(out, string);
    return form;
}

static enum verdict_form format_text(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    return add_string(*(const char *const *)place(field, object), VERDICT_TEXT, out);
}

static enum verdict_form format_word(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    return add_string(*(const char *const *)place(field, object), VERDICT_WORD, out);
}

static pellet_status parse_text(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    const char **text = place_to_set(field, object);
    const char *string;
    *text = NULL;
    if (node == NULL)
        return PELLET_OK;
    const pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK)
        return status;
    *text = pellet_arena_string(reading->arena, string);
    return *text != NULL ? PELLET_OK
                         : pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
}

const struct verdict_type pellet_verdict_text = {format_text, parse_text};
const struct verdict_type pellet_verdict_word = {format_word, parse_text};

static enum verdict_form format_sha256(const struct verdict_field *field, const void *object,
                                       struct pellet_text *out)
{
    const char *hex = place(field, object);
    return add_string(hex[0] != '\0' ? hex : NULL, VERDICT_WORD, out);
}

static pellet_status parse_sha256(const struct verdict_field *field, void *object,
                                  const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    char *hex = place_to_set(field, object);
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

const struct verdict_type pellet_verdict_sha256 = {format_sha256, parse_sha256};

/* ---------------------------------------------------------------- numbers */

static enum verdict_form format_number(const struct verdict_field *field, const void *object,
                                       struct pellet_text *out)
{
    const double value = *(const double *)place(field, object);
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
    double *value = place_to_set(field, object);
    *value = NAN;
    return node != NULL ? pellet_yaml_number(node, value, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_number = {format_number, parse_number};

/* A count from 1, or 0 where there is none. */
static enum verdict_form format_whole(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    const int number = *(const int *)place(field, object);
    if (number <= 0)
        return VERDICT_ABSENT;
    pellet_text_addf(out, "%d", number);
    return VERDICT_PLAIN;
}

static pellet_status parse_whole(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    int *number = place_to_set(field, object);
    int64_t value = 0;
    const pellet_status status =
        node != NULL ? pellet_yaml_integer(node, 1, INT32_MAX, &value, reading->error) : PELLET_OK;
    *number = (int)value;
    return status;
}

const struct verdict_type pellet_verdict_whole = {format_whole, parse_whole};

static enum verdict_form format_count(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    pellet_text_addf(out, "%llu", (unsigned long long)*(const uint64_t *)place(field, object));
    return VERDICT_PLAIN;
}

static pellet_status parse_count(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    uint64_t *number = place_to_set(field, object);
    int64_t value = 0;
    const pellet_status status =
        node != NULL ? pellet_yaml_integer(node, 0, INT64_MAX, &value, reading->error) : PELLET_OK;
    *number = (uint64_t)value;
    return status;
}

const struct verdict_type pellet_verdict_count = {format_count, parse_count};

static enum verdict_form format_ns(const struct verdict_field *field, const void *object,
                                   struct pellet_text *out)
{
    pellet_text_addf(out, "%lld", (long long)*(const pellet_ns *)place(field, object));
    return VERDICT_PLAIN;
}

static pellet_status parse_ns(const struct verdict_field *field, void *object, const struct pellet_yaml *node,
                              const struct verdict_reading *reading)
{
    pellet_ns *time = place_to_set(field, object);
    *time = PELLET_NO_TIME;
    return node != NULL ? pellet_yaml_integer(node, INT64_MIN, INT64_MAX, time, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_ns = {format_ns, parse_ns};

static enum verdict_form format_time(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    char time[32];
    pellet_time_format(*(const pellet_ns *)place(field, object), time);
    return add_string(time[0] != '\0' ? time : NULL, VERDICT_WORD, out);
}

static pellet_status parse_time(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    pellet_ns *time = place_to_set(field, object);
    *time = PELLET_NO_TIME;
    if (node == NULL)
        return PELLET_OK;
    if (node->kind != PELLET_YAML_SCALAR || pellet_time_parse(node->text, time) != PELLET_OK)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, reading->error,
                                "allowed is a time such as 2026-03-04T10:12:31Z");
    return PELLET_OK;
}

const struct verdict_type pellet_verdict_time = {format_time, parse_time};

static enum verdict_form format_bool(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    const bool value = *(const bool *)place(field, object);
    if (!value && (field->flags & VERDICT_OPTIONAL) != 0)
        return VERDICT_ABSENT;
    return add_string(value ? "true" : "false", VERDICT_PLAIN, out);
}

static pellet_status parse_bool(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    bool *value = place_to_set(field, object);
    *value = false;
    return node != NULL ? pellet_yaml_bool(node, value, reading->error) : PELLET_OK;
}

const struct verdict_type pellet_verdict_bool = {format_bool, parse_bool};

/* ---------------------------------------------------------------- enumerations */

/* Find the identifier of a node among `count` of them; 0, the first, where there is no node. */
static pellet_status parse_id(const struct pellet_yaml *node, const char *(*id)(int), int count, int *value,
                              const struct verdict_reading *reading)
{
    *value = 0;
    if (node == NULL)
        return PELLET_OK;
    for (int i = 0; node->kind == PELLET_YAML_SCALAR && i < count; i++) {
        if (strcmp(node->text, id(i)) == 0) {
            *value = i;
            return PELLET_OK;
        }
    }
    return pellet_yaml_fail(node, PELLET_E_FORMAT, reading->error, "not a word that is allowed here");
}

/* Each enumeration gets a type; `without` is the value that stands for "there is none", -1 where none does.
 */
#define ENUM_TYPE(subject, c_type, id_function, count, without)                                              \
    static const char *subject##_id(int i)                                                                   \
    {                                                                                                        \
        return id_function((c_type)i);                                                                       \
    }                                                                                                        \
    static enum verdict_form format_##subject(const struct verdict_field *field, const void *object,         \
                                              struct pellet_text *out)                                       \
    {                                                                                                        \
        const int value = (int)*(const c_type *)place(field, object);                                        \
        return add_string(value != (without) ? subject##_id(value) : NULL, VERDICT_WORD, out);               \
    }                                                                                                        \
    static pellet_status parse_##subject(const struct verdict_field *field, void *object,                    \
                                         const struct pellet_yaml *node,                                     \
                                         const struct verdict_reading *reading)                              \
    {                                                                                                        \
        int value;                                                                                           \
        const pellet_status status = parse_id(node, subject##_id, count, &value, reading);                   \
        *(c_type *)place_to_set(field, object) = (c_type)value;                                              \
        return status;                                                                                       \
    }                                                                                                        \
    const struct verdict_type pellet_verdict_##subject = {format_##subject, parse_##subject};

ENUM_TYPE(outcome, enum pellet_outcome, pellet_outcome_id, PELLET_OUTCOME_COUNT, -1)
ENUM_TYPE(role, enum pellet_role, pellet_role_id, PELLET_ROLE_COUNT, -1)
ENUM_TYPE(state, enum pellet_blank_state, pellet_blank_state_id, PELLET_BLANK_STATE_COUNT, PELLET_BLANK_NONE)
ENUM_TYPE(basis, enum pellet_basis, pellet_basis_id, PELLET_BASIS_COUNT, -1)
ENUM_TYPE(time_from, enum pellet_time_from, pellet_time_from_id, PELLET_TIME_FROM_MTIME + 1, -1)

/* ---------------------------------------------------------------- parts of a finding */

static enum verdict_form format_check(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    return add_string(finding->check->id, VERDICT_WORD, out);
}

/* A row that only names the check: for one that this program does not know, or knows under another quantity.
 */
static pellet_status stand_in(struct pellet_finding *finding, const char *id, const char *quantity,
                              const struct verdict_reading *reading)
{
    struct pellet_check *check = pellet_arena_alloc(reading->arena, sizeof *check);
    if (check == NULL)
        return pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
    check->id = id;
    check->bench_word = id;
    check->quantity = quantity;
    check->meaning = "";
    check->source = "";
    finding->check = check;
    return PELLET_OK;
}

static pellet_status parse_check(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    const char *string = "";
    pellet_status status = node != NULL ? pellet_yaml_string(node, &string, reading->error) : PELLET_OK;
    if (status != PELLET_OK)
        return status;
    const struct pellet_check *check = pellet_check_find(string);
    if (check != NULL) {
        pellet_finding_init(check, finding);
        return PELLET_OK;
    }
    const char *id = pellet_arena_string(reading->arena, string);
    status = id != NULL ? stand_in(finding, id, "", reading)
                        : pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
    if (status == PELLET_OK)
        pellet_finding_init(finding->check, finding);
    return status;
}

const struct verdict_type pellet_finding_check = {format_check, parse_check};

/* Quantity and unit explain a number: where there is none they would only be in the way. */
static bool has_number(const struct pellet_finding *finding)
{
    return !isnan(finding->value) || !isnan(finding->limit);
}

static enum verdict_form format_quantity(const struct verdict_field *field, const void *object,
                                         struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    const char *quantity = finding->check->quantity;
    const bool named = has_number(finding) && quantity != NULL && quantity[0] != '\0';
    return add_string(named ? quantity : NULL, VERDICT_WORD, out);
}

static pellet_status parse_quantity(const struct verdict_field *field, void *object,
                                    const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    const char *string;
    if (node == NULL)
        return PELLET_OK;
    const pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK || strcmp(string, finding->check->quantity) == 0)
        return status;
    const char *quantity = pellet_arena_string(reading->arena, string);
    if (quantity == NULL)
        return pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
    return stand_in(finding, finding->check->id, quantity, reading);
}

const struct verdict_type pellet_finding_quantity = {format_quantity, parse_quantity};

static enum verdict_form format_unit(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    const bool named = has_number(finding) && finding->unit != PELLET_UNIT_NONE;
    return add_string(named ? pellet_unit_name(finding->unit) : NULL, VERDICT_WORD, out);
}

static const char *unit_id(int i)
{
    return pellet_unit_name((enum pellet_unit)i);
}

static pellet_status parse_unit(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    int unit;
    const pellet_status status = parse_id(node, unit_id, PELLET_UNIT_COUNT, &unit, reading);
    finding->unit = (enum pellet_unit)unit;
    return status;
}

const struct verdict_type pellet_finding_unit = {format_unit, parse_unit};

/* Whether the value is exact, a lower or an upper bound. */
static const char *bound_id(int i)
{
    static const char *const ids[] = {"none", "at_least", "at_most"};
    return ids[i];
}

static enum verdict_form format_bound(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    const int bound = finding->at_least ? 1 : finding->at_most ? 2 : 0;
    return add_string(bound > 0 ? bound_id(bound) : NULL, VERDICT_WORD, out);
}

static pellet_status parse_bound(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    int bound;
    const pellet_status status = parse_id(node, bound_id, 3, &bound, reading);
    finding->at_least = bound == 1;
    finding->at_most = bound == 2;
    return status;
}

const struct verdict_type pellet_finding_bound = {format_bound, parse_bound};
