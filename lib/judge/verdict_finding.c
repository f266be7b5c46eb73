// SPDX-License-Identifier: GPL-3.0-or-later
/* The parts of a finding that are no plain values: its check, and what explains its number. */
#include "judge/verdict_types.h"

#include <math.h>
#include <string.h>

/* ---------------------------------------------------------------- which check */

static enum verdict_form format_check(const struct verdict_field *field, const void *object,
                                      struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    return verdict_add(finding->check->id, VERDICT_WORD, out);
}

/* A row that only names the check: for one that this program does not know, or knows under another
 * quantity. */
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
    const char *id = NULL;
    status = verdict_keep(string, reading, &id);
    if (status == PELLET_OK)
        status = stand_in(finding, id, "", reading);
    if (status == PELLET_OK)
        pellet_finding_init(finding->check, finding);
    return status;
}

const struct verdict_type pellet_finding_check = {format_check, parse_check, NULL};

/* ---------------------------------------------------------------- what explains the number */

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
    return verdict_add(named ? quantity : NULL, VERDICT_WORD, out);
}

static pellet_status parse_quantity(const struct verdict_field *field, void *object,
                                    const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    const char *string;
    if (node == NULL)
        return PELLET_OK;
    pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK || strcmp(string, finding->check->quantity) == 0)
        return status;
    const char *quantity = NULL;
    status = verdict_keep(string, reading, &quantity);
    return status == PELLET_OK ? stand_in(finding, finding->check->id, quantity, reading) : status;
}

const struct verdict_type pellet_finding_quantity = {format_quantity, parse_quantity, NULL};

static enum verdict_form format_unit(const struct verdict_field *field, const void *object,
                                     struct pellet_text *out)
{
    (void)field;
    const struct pellet_finding *finding = object;
    const bool named = has_number(finding) && finding->unit != PELLET_UNIT_NONE;
    return verdict_add(named ? pellet_unit_name(finding->unit) : NULL, VERDICT_WORD, out);
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
    const pellet_status status = verdict_parse_id(node, unit_id, PELLET_UNIT_COUNT, &unit, reading);
    finding->unit = (enum pellet_unit)unit;
    return status;
}

const struct verdict_type pellet_finding_unit = {format_unit, parse_unit, NULL};

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
    return verdict_add(bound > 0 ? bound_id(bound) : NULL, VERDICT_WORD, out);
}

static pellet_status parse_bound(const struct verdict_field *field, void *object,
                                 const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)field;
    struct pellet_finding *finding = object;
    int bound;
    const pellet_status status = verdict_parse_id(node, bound_id, 3, &bound, reading);
    finding->at_least = bound == 1;
    finding->at_most = bound == 2;
    return status;
}

const struct verdict_type pellet_finding_bound = {format_bound, parse_bound, NULL};
