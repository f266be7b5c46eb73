// SPDX-License-Identifier: GPL-3.0-or-later
/* Free-form dates. What can be read in two ways is not read at all. */
#include "spectrum/date.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

#define FIELDS_MAX 3
#define TEXT_MAX   80

/* The numbers of a date in the order written; a month by name has its place in `named`. */
struct date_fields {
    int value[FIELDS_MAX];
    int digits[FIELDS_MAX];
    size_t n;
    int named_month; /* 1..12, 0 where no name stands there */
    char separator;  /* between the first two numbers */
};

static const char *skip_blanks(const char *at)
{
    while (*at == ' ' || *at == '\t')
        at++;
    return at;
}

/* Up to `most` digits; returns how many there were. */
static int take_number(const char **at, int most, int *value)
{
    int digits = 0, sum = 0;
    for (; digits < most && isdigit((unsigned char)**at); digits++)
        sum = sum * 10 + (*(*at)++ - '0');
    if (digits > 0)
        *value = sum;
    return digits;
}

/* ---------------------------------------------------------------- time of day */

/* Z, +hh, +hhmm or +hh:mm. */
static void take_offset(const char *at, struct pellet_civil *civil)
{
    at = skip_blanks(at);
    if (*at == 'Z' || *at == 'z') {
        civil->has_offset = true;
        return;
    }
    if (*at != '+' && *at != '-')
        return;
    const int sign = *at++ == '-' ? -1 : 1;
    int hours = 0, minutes = 0;
    if (take_number(&at, 2, &hours) == 0)
        return;
    if (*at == ':')
        at++;
    take_number(&at, 2, &minutes);
    civil->has_offset = true;
    civil->offset_minutes = sign * (hours * 60 + minutes);
}

/* Seconds and their fraction, which some write after a point instead of a colon (10:24.56). */
static const char *take_seconds(const char *at, struct pellet_civil *civil)
{
    int whole = 0;
    if ((*at != ':' && *at != '.') || !isdigit((unsigned char)at[1]))
        return at;
    at++;
    take_number(&at, 2, &whole);
    civil->second = whole;
    if ((*at == '.' || *at == ',') && isdigit((unsigned char)at[1])) {
        double unit = 0.1;
        for (at++; isdigit((unsigned char)*at); at++) {
            civil->second += unit * (*at - '0');
            unit /= 10;
        }
    }
    return at;
}

static const char *take_half_day(const char *at, struct pellet_civil *civil)
{
    const char *word = skip_blanks(at);
    const bool morning = strncasecmp(word, "am", 2) == 0, evening = strncasecmp(word, "pm", 2) == 0;
    if (!morning && !evening)
        return at;
    civil->hour = civil->hour % 12 + (evening ? 12 : 0);
    return word + 2;
}

/* The first hh:mm in a text; NULL where there is none. */
static const char *find_clock(const char *text)
{
    for (const char *at = text; (at = strchr(at, ':')) != NULL; at++)
        if (at > text && isdigit((unsigned char)at[-1]) && isdigit((unsigned char)at[1]))
            return at - (at - text > 1 && isdigit((unsigned char)at[-2]) ? 2 : 1);
    return NULL;
}

static bool read_clock(const char *text, struct pellet_civil *civil)
{
    const char *at = find_clock(text);
    if (!at)
        return false;
    take_number(&at, 2, &civil->hour);
    at++;
    take_number(&at, 2, &civil->minute);
    at = take_seconds(at, civil);
    at = take_half_day(at, civil);
    take_offset(at, civil);
    return civil->hour < 24 && civil->minute < 60 && civil->second < 61;
}

/* ---------------------------------------------------------------- date */

static int month_by_name(const char *word)
{
    static const char names[] = "janfebmaraprmayjunjulaugsepoctnovdec";
    for (int month = 0; month < 12; month++)
        if (strncasecmp(word, names + 3 * month, 3) == 0)
            return month + 1;
    return 0;
}

/* Collect the numbers and the month's name that stand before `end`. */
static bool collect(const char *at, const char *end, struct date_fields *fields)
{
    while (at < end && fields->n < FIELDS_MAX) {
        if (isdigit((unsigned char)*at)) {
            fields->digits[fields->n] = take_number(&at, 4, &fields->value[fields->n]);
            if (++fields->n == 1)
                fields->separator = *skip_blanks(at);
        } else if (isalpha((unsigned char)*at)) {
            const int month = month_by_name(at);
            if (month)
                fields->named_month = month;
            while (at < end && isalpha((unsigned char)*at))
                at++;
        } else {
            at++;
        }
    }
    return fields->n == 3 || (fields->n == 2 && fields->named_month > 0);
}

static void set_date(struct pellet_civil *civil, int year, int digits, int month, int day)
{
    if (digits <= 2)
        year += year >= 70 ? 1900 : 2000;
    civil->year = year;
    civil->month = month;
    civil->day = day;
}

/* Day and month where the year stands last and figures alone must tell them apart. */
static enum pellet_date_found day_or_month_first(const struct date_fields *f, struct pellet_civil *civil)
{
    const int first = f->value[0], second = f->value[1];
    if (f->separator == '.' || first > 12 || first == second)
        set_date(civil, f->value[2], f->digits[2], second, first);
    else if (second > 12)
        set_date(civil, f->value[2], f->digits[2], first, second);
    else
        return PELLET_DATE_AMBIGUOUS;
    return PELLET_DATE_FOUND;
}

static enum pellet_date_found arrange(const struct date_fields *f, enum pellet_date_order order,
                                      struct pellet_civil *civil)
{
    if (f->named_month > 0) {
        const size_t year = f->digits[0] == 4 ? 0 : 1;
        set_date(civil, f->value[year], f->digits[year], f->named_month, f->value[1 - year]);
        return PELLET_DATE_FOUND;
    }
    const bool no_full_year = f->digits[0] < 3 && f->digits[2] < 3;
    if (f->digits[0] == 4 || (no_full_year && order == PELLET_DATE_YEAR_FIRST)) {
        set_date(civil, f->value[0], f->digits[0], f->value[1], f->value[2]);
        return PELLET_DATE_FOUND;
    }
    if (no_full_year && f->separator != '.')
        return PELLET_DATE_AMBIGUOUS;
    return day_or_month_first(f, civil);
}

/* A copy without the time of day, whose numbers must not be taken for those of the date. */
static void copy_without_clock(const char *text, const char *clock, char out[TEXT_MAX])
{
    const size_t n = strnlen(text, TEXT_MAX - 1);
    memcpy(out, text, n);
    out[n] = 0;
    if (!clock || (size_t)(clock - text) >= n)
        return;
    for (char *at = out + (clock - text); isdigit((unsigned char)*at) || (*at && strchr(":.,", *at)); at++)
        *at = ' ';
}

enum pellet_date_found pellet_date_read(const char *date, const char *time, enum pellet_date_order order,
                                        struct pellet_civil *civil)
{
    char day[TEXT_MAX];
    struct pellet_civil out = {0};
    struct date_fields fields = {0};
    const char *clock = find_clock(date);
    copy_without_clock(date, clock, day);
    if (!collect(day, day + strlen(day), &fields))
        return PELLET_DATE_NONE;
    const enum pellet_date_found found = arrange(&fields, order, &out);
    if (found != PELLET_DATE_FOUND)
        return found;
    const bool possible = out.month >= 1 && out.month <= 12 && out.day >= 1 && out.day <= 31;
    if (!possible || (!clock && !time) || !read_clock(clock ? date : time, &out))
        return PELLET_DATE_NONE;
    *civil = out;
    return PELLET_DATE_FOUND;
}
