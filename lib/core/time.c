// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/zone.h"
#include "pellet/core.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define DAY_S          86400
#define OFFSET_MIN_MAX (24 * 60 - 1)
#define LOCAL_BYTES    256

/* ------------------------------------------------------------------ between seconds and ns */

/* Rounded down, also before 1970, so that the second and the rest always belong together. */
static int64_t whole_seconds(pellet_ns time)
{
    return time / PELLET_NS_PER_S - (time % PELLET_NS_PER_S < 0);
}

static pellet_status time_join(int64_t seconds, int64_t rest_ns, pellet_ns *time)
{
    pellet_ns joined;
    if (__builtin_mul_overflow(seconds, PELLET_NS_PER_S, &joined) ||
        __builtin_add_overflow(joined, rest_ns, &joined) || joined == PELLET_NO_TIME)
        return PELLET_E_RANGE;
    *time = joined;
    return PELLET_OK;
}

/* A civil date and time taken as UTC. A leap second, :60, is the first second of the next minute. */
static pellet_status civil_seconds(const struct pellet_civil *civil, int64_t *seconds)
{
    if (civil->year < 1 || civil->year > 9999 || civil->hour < 0 || civil->hour > 23 || civil->minute < 0 ||
        civil->minute > 59 || !(civil->second >= 0 && civil->second < 61))
        return PELLET_E_RANGE;
    struct tm day = {.tm_year = civil->year - 1900, .tm_mon = civil->month - 1, .tm_mday = civil->day};
    const time_t midnight = timegm(&day);
    if (day.tm_mon != civil->month - 1 || day.tm_mday != civil->day) /* 30 February was carried over */
        return PELLET_E_RANGE;
    *seconds = midnight + civil->hour * 3600 + civil->minute * 60 + (int)civil->second;
    return PELLET_OK;
}

/* ------------------------------------------------------------------ zones */

/*
 * The moment at which clocks in `zone` show `local`. Where they showed it twice, the first; where they
 * skipped it, the moment at which they would have shown it had they not been moved forward.
 */
static int64_t zone_to_utc(const struct pellet_zone *zone, int64_t local)
{
    struct pellet_zone_type before, after, found;
    pellet_zone_at(zone, local - DAY_S, &before);
    pellet_zone_at(zone, local + DAY_S, &after);
    pellet_zone_at(zone, local - before.offset, &found);
    if (found.offset == before.offset)
        return local - before.offset;
    pellet_zone_at(zone, local - after.offset, &found);
    return local - (found.offset == after.offset ? after.offset : before.offset);
}

pellet_status pellet_time_from_civil(const struct pellet_civil *civil, const char *zone_name, pellet_ns *time)
{
    int64_t local;
    pellet_status status = civil_seconds(civil, &local);
    if (status != PELLET_OK)
        return status;
    const int64_t rest_ns = (int64_t)floor((civil->second - floor(civil->second)) * 1e9 + 0.5);
    if (civil->has_offset) {
        if (civil->offset_minutes < -OFFSET_MIN_MAX || civil->offset_minutes > OFFSET_MIN_MAX)
            return PELLET_E_RANGE;
        return time_join(local - civil->offset_minutes * 60, rest_ns, time);
    }
    struct pellet_zone zone;
    status = pellet_zone_find(zone_name, &zone);
    if (status != PELLET_OK)
        return status;
    status = time_join(zone_to_utc(&zone, local), rest_ns, time);
    pellet_zone_clear(&zone);
    return status;
}

pellet_status pellet_time_local(pellet_ns time, const char *zone_name, const char *format, char *out,
                                size_t size)
{
    struct pellet_zone zone;
    struct pellet_zone_type type;
    struct tm tm;
    char shown[LOCAL_BYTES] = "";
    const pellet_status status = pellet_zone_find(zone_name, &zone);
    if (status != PELLET_OK)
        return status;

    size_t n = 0;
    if (time != PELLET_NO_TIME && format[0] != '\0') {
        const int64_t seconds = whole_seconds(time);
        pellet_zone_at(&zone, seconds, &type);
        const time_t local = seconds + type.offset;
        gmtime_r(&local, &tm);
        tm.tm_isdst = type.summer;
        tm.tm_gmtoff = type.offset;
        tm.tm_zone = type.name;
        n = strftime(shown, sizeof shown, format, &tm);
        if (n == 0)
            size = 0; /* longer than anybody wants a time to be */
    }
    pellet_zone_clear(&zone);
    if (n >= size)
        return PELLET_E_LIMIT;
    memcpy(out, shown, n + 1);
    return PELLET_OK;
}

/* ------------------------------------------------------------------ ISO 8601 as in RFC 3339 */

void pellet_time_format(pellet_ns time, char out[32])
{
    out[0] = '\0';
    if (time == PELLET_NO_TIME)
        return;
    struct tm tm;
    const time_t seconds = whole_seconds(time);
    gmtime_r(&seconds, &tm);
    strftime(out, 32, "%Y-%m-%dT%H:%M:%SZ", &tm);
}

static bool take_char(const char **at, const char *one_of)
{
    if (**at == '\0' || strchr(one_of, **at) == NULL)
        return false;
    ++*at;
    return true;
}

static bool take_digits(const char **at, int n, int *value)
{
    int number = 0;
    for (int i = 0; i < n; i++, ++*at) {
        if (!isdigit((unsigned char)**at))
            return false;
        number = number * 10 + (**at - '0');
    }
    *value = number;
    return true;
}

/* Digits beyond the nanosecond are read and dropped. */
static bool take_fraction(const char **at, int64_t *ns)
{
    int64_t unit = PELLET_NS_PER_S / 10;
    if (!take_char(at, ".,"))
        return true;
    if (!isdigit((unsigned char)**at))
        return false;
    for (; isdigit((unsigned char)**at); ++*at, unit /= 10)
        *ns += (**at - '0') * unit;
    return true;
}

static bool take_offset(const char **at, struct pellet_civil *civil)
{
    int hours = 0, minutes = 0;
    civil->has_offset = true;
    if (take_char(at, "Zz"))
        return true;
    const bool minus = **at == '-';
    if (!take_char(at, "+-") || !take_digits(at, 2, &hours))
        return false;
    take_char(at, ":");
    if (!take_digits(at, 2, &minutes) || hours > 23 || minutes > 59)
        return false;
    civil->offset_minutes = (minus ? -1 : 1) * (hours * 60 + minutes);
    return true;
}

static bool take_civil(const char **at, struct pellet_civil *civil, int64_t *rest_ns)
{
    int second = 0;
    if (!take_digits(at, 4, &civil->year) || !take_char(at, "-") || !take_digits(at, 2, &civil->month) ||
        !take_char(at, "-") || !take_digits(at, 2, &civil->day) || !take_char(at, "Tt ") ||
        !take_digits(at, 2, &civil->hour) || !take_char(at, ":") || !take_digits(at, 2, &civil->minute) ||
        !take_char(at, ":") || !take_digits(at, 2, &second))
        return false;
    civil->second = second;
    return take_fraction(at, rest_ns) && take_offset(at, civil) && **at == '\0';
}

pellet_status pellet_time_parse(const char *string, pellet_ns *time)
{
    struct pellet_civil civil = {0};
    int64_t rest_ns = 0, local;
    if (!take_civil(&string, &civil, &rest_ns) || civil_seconds(&civil, &local) != PELLET_OK ||
        time_join(local - civil.offset_minutes * 60, rest_ns, time) != PELLET_OK)
        return PELLET_E_FORMAT;
    return PELLET_OK;
}
