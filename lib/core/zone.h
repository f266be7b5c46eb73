// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Time zones, read from the system's table for each question. The C library keeps one zone for the whole
 * process, in the environment; asking it for another one is not safe beside other threads.
 */
#ifndef PELLET_CORE_ZONE_H
#define PELLET_CORE_ZONE_H

#include "pellet/core.h"

/* What a clock on the wall shows at one moment. */
struct pellet_zone_type {
    int32_t offset; /* s east of UTC */
    bool summer;
    char name[16]; /* "CEST" */
};

/* One yearly switch of the clocks, as POSIX writes it. */
struct pellet_zone_switch {
    enum {
        PELLET_SWITCH_JULIAN,
        PELLET_SWITCH_DAY,
        PELLET_SWITCH_WEEKDAY
    } kind; /* J59 (never 29 February), 59, M3.5.0 */
    int month, week, day;
    int32_t time; /* s after local midnight, by the clock before the switch */
};

/* A zone by rule: "CET-1CEST,M3.5.0,M10.5.0/3". */
struct pellet_zone_rule {
    struct pellet_zone_type standard, summer;
    bool has_summer;
    struct pellet_zone_switch begin, end;
};

/* A zone by table, and the rule that goes on where the table ends. */
struct pellet_zone {
    unsigned char *bytes;                                 /* the file, owned; NULL for a zone by rule alone */
    const unsigned char *times, *type_at, *types, *names; /* into bytes */
    size_t time_count, type_count, name_bytes;
    bool has_rule;
    struct pellet_zone_rule rule;
};

/*
 * Find a zone: "" or NULL is UTC, "local" is the machine's own (TZ, else /etc/localtime), else a name of the
 * system's table. E_MISSING where there is none, E_FORMAT where its file is not one. Clear it afterwards.
 */
pellet_status pellet_zone_find(const char *name, struct pellet_zone *zone);
void pellet_zone_clear(struct pellet_zone *zone);

/* What holds at `second` (UTC, since 1970). */
void pellet_zone_at(const struct pellet_zone *zone, int64_t second, struct pellet_zone_type *type);

/* Source: RFC 8536, section 3. The zone points into bytes[0..n) and does not own them. */
pellet_status pellet_zone_table_parse(const unsigned char *bytes, size_t n, struct pellet_zone *zone);

/* Source: IEEE Std 1003.1-2017, section 8.3 (TZ), with the wider hours of RFC 8536, section 3.3.1. */
pellet_status pellet_zone_rule_parse(const char *string, struct pellet_zone_rule *rule);
void pellet_zone_rule_at(const struct pellet_zone_rule *rule, int64_t second, struct pellet_zone_type *type);

#endif
