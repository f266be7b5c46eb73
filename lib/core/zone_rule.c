// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/zone.h"

#include <ctype.h>
#include <string.h>
#include <time.h>

#define DAY_S      86400
#define HOURS_MAX  167 /* RFC 8536 lets a switch fall up to a week away from its day */
#define OFFSET_MAX 24

/* ------------------------------------------------------------------ reading; each moves *at on success */

static bool take_char(const char **at, char c)
{
    if (**at != c)
        return false;
    ++*at;
    return true;
}

static bool take_int(const char **at, int low, int high, int *value)
{
    int number = 0;
    const char *digit = *at;
    for (; isdigit((unsigned char)*digit) && number <= high; digit++)
        number = number * 10 + (*digit - '0');
    if (digit == *at || number < low || number > high)
        return false;
    *at = digit;
    *value = number;
    return true;
}

/* "CET" or "<+0330>". */
static bool take_name(const char **at, char name[16])
{
    const bool quoted = take_char(at, '<');
    size_t n = 0;
    while (quoted ? (*at)[n] != '>' && (*at)[n] != '\0' : isalpha((unsigned char)(*at)[n]) != 0)
        n++;
    if (n < 3 || n >= 16)
        return false;
    memcpy(name, *at, n);
    name[n] = '\0';
    *at += n;
    return !quoted || take_char(at, '>');
}

/* [+-]hh[:mm[:ss]] in seconds. */
static bool take_hours(const char **at, int hours_max, int32_t *seconds)
{
    const bool minus = take_char(at, '-');
    if (!minus)
        take_char(at, '+');
    int hour = 0, minute = 0, second = 0;
    if (!take_int(at, 0, hours_max, &hour))
        return false;
    if (take_char(at, ':') && !take_int(at, 0, 59, &minute))
        return false;
    if (take_char(at, ':') && !take_int(at, 0, 59, &second))
        return false;
    const int32_t total = hour * 3600 + minute * 60 + second;
    *seconds = minus ? -total : total;
    return true;
}

static bool take_day(const char **at, struct pellet_zone_switch *on)
{
    if (take_char(at, 'M')) {
        on->kind = PELLET_SWITCH_WEEKDAY;
        return take_int(at, 1, 12, &on->month) && take_char(at, '.') && take_int(at, 1, 5, &on->week) &&
               take_char(at, '.') && take_int(at, 0, 6, &on->day);
    }
    if (take_char(at, 'J')) {
        on->kind = PELLET_SWITCH_JULIAN;
        return take_int(at, 1, 365, &on->day);
    }
    on->kind = PELLET_SWITCH_DAY;
    return take_int(at, 0, 365, &on->day);
}

static bool take_switch(const char **at, struct pellet_zone_switch *on)
{
    on->time = 2 * 3600;
    if (!take_char(at, ',') || !take_day(at, on))
        return false;
    return !take_char(at, '/') || take_hours(at, HOURS_MAX, &on->time);
}

/* The offsets of a rule count westwards, ours eastwards. */
static bool take_rule(const char **at, struct pellet_zone_rule *rule)
{
    int32_t west = 0;
    if (!take_name(at, rule->standard.name) || !take_hours(at, OFFSET_MAX, &west))
        return false;
    rule->standard.offset = -west;
    if (**at == '\0')
        return true;
    rule->has_summer = true;
    rule->summer.summer = true;
    if (!take_name(at, rule->summer.name))
        return false;
    rule->summer.offset = rule->standard.offset + 3600;
    if (**at != ',') {
        if (!take_hours(at, OFFSET_MAX, &west))
            return false;
        rule->summer.offset = -west;
    }
    return take_switch(at, &rule->begin) && take_switch(at, &rule->end) && **at == '\0';
}

pellet_status pellet_zone_rule_parse(const char *string, struct pellet_zone_rule *rule)
{
    struct pellet_zone_rule read = {0};
    if (!take_rule(&string, &read))
        return PELLET_E_FORMAT;
    *rule = read;
    return PELLET_OK;
}

/* ------------------------------------------------------------------ asking */

/* Seconds since 1970 of local midnight on a day; months and days beyond their range carry over. */
static int64_t midnight(int year, int month, int day)
{
    struct tm tm = {.tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day};
    return timegm(&tm);
}

static bool leap_year(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int weekday(int64_t at_midnight)
{
    const int64_t days = at_midnight / DAY_S; /* exact: it is a midnight */
    return (int)(((days % 7) + 7 + 4) % 7);   /* 1970-01-01 was a Thursday */
}

/* Week 5 is the last such weekday of the month, be it the fourth or the fifth. */
static int64_t weekday_midnight(int year, const struct pellet_zone_switch *on)
{
    const int64_t first = midnight(year, on->month, 1);
    const int64_t next_month = midnight(year, on->month + 1, 1);
    const int skip = (on->day - weekday(first) + 7) % 7;
    int64_t found = first + (skip + 7 * (on->week - 1)) * (int64_t)DAY_S;
    if (found >= next_month)
        found -= 7 * (int64_t)DAY_S;
    return found;
}

/* When the clocks switch in a year, in seconds of the clock before the switch. */
static int64_t switch_second(int year, const struct pellet_zone_switch *on)
{
    switch (on->kind) {
    case PELLET_SWITCH_WEEKDAY:
        return weekday_midnight(year, on) + on->time;
    case PELLET_SWITCH_JULIAN:
        return midnight(year, 1, on->day + (leap_year(year) && on->day >= 60)) + on->time;
    case PELLET_SWITCH_DAY:
        break;
    }
    return midnight(year, 1, on->day + 1) + on->time;
}

void pellet_zone_rule_at(const struct pellet_zone_rule *rule, int64_t second, struct pellet_zone_type *type)
{
    *type = rule->standard;
    if (!rule->has_summer)
        return;
    struct tm tm;
    const time_t local = second + rule->standard.offset;
    gmtime_r(&local, &tm);
    const int64_t begin = switch_second(tm.tm_year + 1900, &rule->begin) - rule->standard.offset;
    const int64_t end = switch_second(tm.tm_year + 1900, &rule->end) - rule->summer.offset;
    const bool summer = begin < end ? second >= begin && second < end  /* northern half */
                                    : second >= begin || second < end; /* southern half */
    if (summer)
        *type = rule->summer;
}
