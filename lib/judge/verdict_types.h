// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/verdict_*.c: what the kinds of values share. */
#ifndef PELLET_JUDGE_VERDICT_TYPES_H
#define PELLET_JUDGE_VERDICT_TYPES_H

#include "judge/verdict_fields.h"

static inline const void *verdict_place(const struct verdict_field *field, const void *object)
{
    return (const char *)object + field->at;
}

static inline void *verdict_place_to_set(const struct verdict_field *field, void *object)
{
    return (char *)object + field->at;
}

/* A text that may be NULL: then there is none. */
static inline enum verdict_form verdict_add(const char *string, enum verdict_form form,
                                            struct pellet_text *out)
{
    if (string == NULL)
        return VERDICT_ABSENT;
    pellet_text_adds(out, string);
    return form;
}

/* A copy in the arena of what is read. */
static inline pellet_status verdict_keep(const char *string, const struct verdict_reading *reading,
                                         const char **kept)
{
    *kept = pellet_arena_string(reading->arena, string);
    return *kept != NULL ? PELLET_OK
                         : pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
}

/* Which of `count` identifiers a node is; 0, the first, where there is no node. */
pellet_status verdict_parse_id(const struct pellet_yaml *node, const char *(*id)(int), int count, int *value,
                               const struct verdict_reading *reading);

#endif
