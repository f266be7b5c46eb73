// SPDX-License-Identifier: GPL-3.0-or-later
/* The enumerations in a verdict: each is written as one of its identifiers. */
#include "judge/verdict_types.h"

#include <assert.h>
#include <string.h>

pellet_status verdict_parse_id(const struct pellet_yaml *node, const char *(*id)(int), int count, int *value,
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

/* Every enumeration of a verdict has no negative value and lies in memory as an unsigned number. */
static enum verdict_form format_id(const struct verdict_field *field, const void *object,
                                   struct pellet_text *out)
{
    const struct verdict_ids *ids = field->type->ids;
    unsigned value;

    memcpy(&value, verdict_place(field, object), sizeof value);
    return verdict_add((int)value != ids->none ? ids->id((int)value) : NULL, VERDICT_WORD, out);
}

static pellet_status parse_id(const struct verdict_field *field, void *object, const struct pellet_yaml *node,
                              const struct verdict_reading *reading)
{
    const struct verdict_ids *ids = field->type->ids;
    int found;
    const pellet_status status = verdict_parse_id(node, ids->id, ids->count, &found, reading);
    const unsigned value = (unsigned)found;

    memcpy(verdict_place_to_set(field, object), &value, sizeof value);
    return status;
}

/* The type of an enumeration; `none` is the value that stands for "there is none", -1 where none does. */
#define IDS_TYPE(subject, c_type, id_function, count, none)                                                  \
    static_assert(sizeof(c_type) == sizeof(unsigned), #c_type);                                              \
    static const char *subject##_id(int i)                                                                   \
    {                                                                                                        \
        return id_function((c_type)i);                                                                       \
    }                                                                                                        \
    static const struct verdict_ids subject##_ids = {subject##_id, count, none};                             \
    const struct verdict_type pellet_verdict_##subject = {format_id, parse_id, &subject##_ids};

IDS_TYPE(outcome, enum pellet_outcome, pellet_outcome_id, PELLET_OUTCOME_COUNT, -1)
IDS_TYPE(role, enum pellet_role, pellet_role_id, PELLET_ROLE_COUNT, -1)
IDS_TYPE(state, enum pellet_blank_state, pellet_blank_state_id, PELLET_BLANK_STATE_COUNT, PELLET_BLANK_NONE)
IDS_TYPE(basis, enum pellet_basis, pellet_basis_id, PELLET_BASIS_COUNT, -1)
IDS_TYPE(time_from, enum pellet_time_from, pellet_time_from_id, PELLET_TIME_FROM_MTIME + 1, -1)
