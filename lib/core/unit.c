// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/number.h"
#include "pellet/core.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    double factor;
    enum pellet_unit base;
} units[] = {
#define UNIT_ROW(code, name, factor, base) {name, factor, PELLET_UNIT_##base},
    PELLET_UNIT_LIST(UNIT_ROW)
#undef UNIT_ROW
};

/* A part of a string, without the blanks around it. */
struct span {
    const char *at;
    size_t n;
};

static struct span span_trimmed(const char *at, size_t n)
{
    while (n > 0 && (at[0] == ' ' || at[0] == '\t')) {
        at++;
        n--;
    }
    while (n > 0 && (at[n - 1] == ' ' || at[n - 1] == '\t'))
        n--;
    return (struct span){at, n};
}

/* Long texts are cut in messages: nobody needs more of a wrong limit to find it. */
static int span_shown(struct span span)
{
    return span.n < 60 ? (int)span.n : 60;
}

const char *pellet_unit_name(enum pellet_unit unit)
{
    return (unsigned)unit < PELLET_UNIT_COUNT ? units[unit].name : "unknown";
}

static enum pellet_unit unit_find(struct span name)
{
    int unit = 0;
    while (unit < PELLET_UNIT_COUNT &&
           (strlen(units[unit].name) != name.n || memcmp(units[unit].name, name.at, name.n) != 0))
        unit++;
    return (enum pellet_unit)unit;
}

/* "s, min, h or d": every unit that `wanted` can be written in. */
static void units_allowed(enum pellet_unit wanted, char *out, size_t size)
{
    size_t used = 0;
    int left = 0;
    for (int i = 0; i < PELLET_UNIT_COUNT; i++)
        left += units[i].base == units[wanted].base;
    out[0] = '\0';
    for (int i = 0; i < PELLET_UNIT_COUNT && used < size; i++) {
        if (units[i].base != units[wanted].base)
            continue;
        left--;
        used += (size_t)snprintf(out + used, size - used, "%s%s", units[i].name,
                                 left > 1    ? ", "
                                 : left == 1 ? " or "
                                             : "");
    }
}

static pellet_status fail_unit(struct pellet_error *error, struct span name, enum pellet_unit wanted)
{
    char allowed[64];
    units_allowed(wanted, allowed, sizeof allowed);
    if (wanted == PELLET_UNIT_NONE)
        return pellet_fail(error, PELLET_E_UNIT, "unit \"%.*s\": this is a bare number, without a unit",
                           span_shown(name), name.at);
    if (name.n == 0)
        return pellet_fail(error, PELLET_E_UNIT, "the unit is missing: write %s after the number", allowed);
    return pellet_fail(error, PELLET_E_UNIT, "unit \"%.*s\" is not allowed here: write %s", span_shown(name),
                       name.at, allowed);
}

static pellet_status fail_number(struct pellet_error *error, struct span found)
{
    return pellet_fail(error, PELLET_E_NUMBER, "\"%.*s\" is not a number, such as 12.5 or 1e-3",
                       span_shown(found), found.at);
}

static double quantity_convert(double number, enum pellet_unit from, enum pellet_unit to)
{
    return number * units[from].factor / units[to].factor;
}

/* `written` is the unit that the string gave; it may be NULL. */
static pellet_status quantity_parse(struct span whole, enum pellet_unit wanted, double *value,
                                    enum pellet_unit *written, struct pellet_error *error)
{
    const size_t length = pellet_number_span(whole.at, whole.n, '.');
    double number;
    if (pellet_number_parse(whole.at, length, '.', &number) != PELLET_OK)
        return fail_number(error, whole);
    const struct span name = span_trimmed(whole.at + length, whole.n - length);
    const enum pellet_unit unit = unit_find(name);
    if (unit == PELLET_UNIT_COUNT || units[unit].base != units[wanted].base)
        return fail_unit(error, name, wanted);
    const double converted = quantity_convert(number, unit, wanted);
    if (!isfinite(converted))
        return fail_number(error, whole);
    *value = converted;
    if (written != NULL)
        *written = unit;
    return PELLET_OK;
}

pellet_status pellet_quantity_parse(const char *string, enum pellet_unit wanted, double *value,
                                    struct pellet_error *error)
{
    return quantity_parse(span_trimmed(string, strlen(string)), wanted, value, NULL, error);
}

pellet_status pellet_range_parse(const char *string, enum pellet_unit wanted, double *low, double *high,
                                 struct pellet_error *error)
{
    const struct span whole = span_trimmed(string, strlen(string));
    const char *dots = strstr(string, "..");
    if (dots == NULL || dots[2] == '.')
        return pellet_fail(error, PELLET_E_FORMAT, "\"%.*s\" is not a range, such as 1950..2050%s%s",
                           span_shown(whole), whole.at, wanted == PELLET_UNIT_NONE ? "" : " ",
                           pellet_unit_name(wanted));
    double first, last;
    const struct span left = span_trimmed(string, (size_t)(dots - string));
    const struct span right = span_trimmed(dots + 2, strlen(dots + 2));
    double number;
    if (pellet_number_parse(left.at, left.n, '.', &number) != PELLET_OK)
        return fail_number(error, left);
    enum pellet_unit unit;
    const pellet_status status = quantity_parse(right, wanted, &last, &unit, error);
    if (status != PELLET_OK)
        return status;
    first = quantity_convert(number, unit, wanted); /* the unit at the end goes for both numbers */
    if (!isfinite(first))
        return fail_number(error, left);
    *low = first < last ? first : last;
    *high = first < last ? last : first;
    return PELLET_OK;
}
