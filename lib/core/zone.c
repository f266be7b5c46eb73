// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/zone.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ZONE_FOLDER     "/usr/share/zoneinfo"
#define ZONE_LOCAL_FILE "/etc/localtime"
#define ZONE_BYTES_MAX  65536 /* the largest in use today has 4 kB */
#define ZONE_NAME_MAX   64
#define HEADER_BYTES    44
#define TYPE_BYTES      6

/* ------------------------------------------------------------------ the table */

static uint32_t read_u32(const unsigned char *at)
{
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

static int64_t read_i64(const unsigned char *at)
{
    return (int64_t)((uint64_t)read_u32(at) << 32 | read_u32(at + 4));
}

/* The counts of a header in the order of the file, and the size of the data that they announce. */
struct counts {
    size_t utc, standard, leap, time, type, name;
    size_t bytes;
};

static bool counts_read(const unsigned char *at, size_t n, size_t time_bytes, struct counts *counts)
{
    if (n < HEADER_BYTES || memcmp(at, "TZif", 4) != 0)
        return false;
    for (size_t i = 20; i < HEADER_BYTES; i += 4)
        if (read_u32(at + i) > ZONE_BYTES_MAX)
            return false;
    struct counts c = {.utc = read_u32(at + 20),
                       .standard = read_u32(at + 24),
                       .leap = read_u32(at + 28),
                       .time = read_u32(at + 32),
                       .type = read_u32(at + 36),
                       .name = read_u32(at + 40)};
    c.bytes = c.time * (time_bytes + 1) + c.type * TYPE_BYTES + c.name + c.leap * (time_bytes + 4) +
              c.standard + c.utc;
    *counts = c;
    return c.bytes <= n - HEADER_BYTES;
}

/* Every index that the table holds must lead into the table. */
static bool table_sound(const struct pellet_zone *zone)
{
    if (zone->type_count == 0 || zone->name_bytes == 0 || zone->names[zone->name_bytes - 1] != '\0')
        return false;
    for (size_t i = 0; i < zone->time_count; i++)
        if (zone->type_at[i] >= zone->type_count)
            return false;
    for (size_t i = 0; i < zone->type_count; i++)
        if (zone->types[i * TYPE_BYTES + 5] >= zone->name_bytes)
            return false;
    return true;
}

/* The line behind the table: the rule for all later times. It may be empty. */
static bool footer_read(const unsigned char *at, size_t n, struct pellet_zone *zone)
{
    const unsigned char *end = n > 1 && at[0] == '\n' ? memchr(at + 1, '\n', n - 1) : NULL;
    if (end == NULL)
        return false;
    char rule[ZONE_NAME_MAX] = "";
    const size_t length = (size_t)(end - at) - 1;
    if (length >= sizeof rule)
        return false;
    memcpy(rule, at + 1, length);
    zone->has_rule = length > 0;
    return length == 0 || pellet_zone_rule_parse(rule, &zone->rule) == PELLET_OK;
}

/* The first block, with 32-bit times, is for old readers and is stepped over. */
pellet_status pellet_zone_table_parse(const unsigned char *bytes, size_t n, struct pellet_zone *zone)
{
    struct counts counts;
    if (!counts_read(bytes, n, 4, &counts) || bytes[4] < '2')
        return PELLET_E_FORMAT;
    const unsigned char *at = bytes + HEADER_BYTES + counts.bytes;
    size_t left = n - HEADER_BYTES - counts.bytes;
    if (!counts_read(at, left, 8, &counts))
        return PELLET_E_FORMAT;
    at += HEADER_BYTES;
    left -= HEADER_BYTES + counts.bytes;

    struct pellet_zone read = {
        .times = at,
        .type_at = at + counts.time * 8,
        .types = at + counts.time * 9,
        .names = at + counts.time * 9 + counts.type * TYPE_BYTES,
        .time_count = counts.time,
        .type_count = counts.type,
        .name_bytes = counts.name,
    };
    /* Tables with leap seconds ("right/...") count another kind of second than the system's clock. */
    if (counts.leap > 0 || !table_sound(&read) || !footer_read(at + counts.bytes, left, &read))
        return PELLET_E_FORMAT;
    *zone = read;
    return PELLET_OK;
}

static void type_read(const struct pellet_zone *zone, size_t index, struct pellet_zone_type *type)
{
    const unsigned char *at = zone->types + index * TYPE_BYTES;
    type->offset = (int32_t)read_u32(at);
    type->summer = at[4] != 0;
    snprintf(type->name, sizeof type->name, "%s", (const char *)zone->names + at[5]);
}

/* How many of the rising times are not after `second`. */
static size_t times_until(const struct pellet_zone *zone, int64_t second)
{
    size_t low = 0, high = zone->time_count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (read_i64(zone->times + middle * 8) <= second)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

void pellet_zone_at(const struct pellet_zone *zone, int64_t second, struct pellet_zone_type *type)
{
    const size_t passed = times_until(zone, second);
    if (passed == zone->time_count && zone->has_rule)
        pellet_zone_rule_at(&zone->rule, second, type);
    else if (passed > 0)
        type_read(zone, zone->type_at[passed - 1], type);
    else
        type_read(zone, 0, type);
}

/* ------------------------------------------------------------------ finding */

static void zone_set_utc(struct pellet_zone *zone)
{
    *zone = (struct pellet_zone){.has_rule = true, .rule = {.standard = {.offset = 0, .name = "UTC"}}};
}

/* Links are followed here: the system's table is full of them, and nobody else's folder is read. */
static pellet_status zone_load(const char *path, struct pellet_zone *zone)
{
    pellet_status status = PELLET_E_MEMORY;
    size_t n = 0;
    FILE *file = fopen(path, "rbe");
    if (file == NULL)
        return pellet_fail_errno(NULL, errno, "%s", path);
    unsigned char *bytes = malloc(ZONE_BYTES_MAX);
    if (bytes == NULL)
        goto out;
    n = fread(bytes, 1, ZONE_BYTES_MAX, file);
    if (ferror(file)) {
        status = pellet_fail_errno(NULL, errno, "%s", path);
        goto out;
    }
    status = pellet_zone_table_parse(bytes, n, zone);
    if (status != PELLET_OK)
        goto out;
    zone->bytes = bytes;
    bytes = NULL;
out:
    free(bytes);
    fclose(file);
    return status;
}

static pellet_status zone_load_named(const char *name, struct pellet_zone *zone)
{
    static const char allowed[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789/_+-";
    char path[sizeof ZONE_FOLDER + 1 + ZONE_NAME_MAX];
    const size_t n = strlen(name);
    if (n > ZONE_NAME_MAX || name[0] == '/' || strspn(name, allowed) != n)
        return PELLET_E_MISSING;
    snprintf(path, sizeof path, "%s/%s", ZONE_FOLDER, name);
    return zone_load(path, zone);
}

/* As the C library takes it: TZ may be a name, a path or a rule, with or without a colon in front. */
static pellet_status zone_load_local(struct pellet_zone *zone)
{
    const char *tz = getenv("TZ");
    if (tz == NULL) {
        const pellet_status status = zone_load(ZONE_LOCAL_FILE, zone);
        if (status == PELLET_E_MISSING) {
            zone_set_utc(zone);
            return PELLET_OK;
        }
        return status;
    }
    tz += tz[0] == ':';
    if (tz[0] == '/')
        return zone_load(tz, zone);
    struct pellet_zone_rule rule;
    if (pellet_zone_rule_parse(tz, &rule) == PELLET_OK) {
        *zone = (struct pellet_zone){.has_rule = true, .rule = rule};
        return PELLET_OK;
    }
    if (tz[0] != '\0')
        return zone_load_named(tz, zone);
    zone_set_utc(zone);
    return PELLET_OK;
}

pellet_status pellet_zone_find(const char *name, struct pellet_zone *zone)
{
    if (name == NULL || name[0] == '\0' || strcmp(name, "UTC") == 0) {
        zone_set_utc(zone);
        return PELLET_OK;
    }
    return strcmp(name, "local") == 0 ? zone_load_local(zone) : zone_load_named(name, zone);
}

void pellet_zone_clear(struct pellet_zone *zone)
{
    free(zone->bytes);
    *zone = (struct pellet_zone){0};
}
