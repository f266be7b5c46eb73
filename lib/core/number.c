// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/number.h"

#include "core/c_locale.h"
#include "pellet/core.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* 17 digits name every double; plain notation may add zeros, and 32 bytes must hold them. */
#define DIGITS_MAX         17
#define PLAIN_EXPONENT_MIN (-4)
#define PLAIN_EXPONENT_MAX 14

static size_t span_of_digits(const char *bytes, size_t n)
{
    size_t i = 0;
    while (i < n && bytes[i] >= '0' && bytes[i] <= '9')
        i++;
    return i;
}

static size_t span_of_sign(const char *bytes, size_t n)
{
    return n > 0 && (bytes[0] == '+' || bytes[0] == '-');
}

/* 0 where the letter is not followed by digits: in "5 d" and "5d" the d is a unit. */
static size_t span_of_exponent(const char *bytes, size_t n)
{
    if (n == 0 || memchr("eEdD", bytes[0], 4) == NULL)
        return 0;
    const size_t sign = span_of_sign(bytes + 1, n - 1);
    const size_t digits = span_of_digits(bytes + 1 + sign, n - 1 - sign);
    return digits > 0 ? 1 + sign + digits : 0;
}

size_t pellet_number_span(const char *bytes, size_t n, char decimal)
{
    size_t at = span_of_sign(bytes, n);
    const size_t whole = span_of_digits(bytes + at, n - at);
    at += whole;
    size_t fraction = 0;
    if (at < n && bytes[at] == decimal) {
        fraction = span_of_digits(bytes + at + 1, n - at - 1);
        if (whole + fraction > 0)
            at += 1 + fraction;
    }
    if (whole + fraction == 0)
        return 0;
    return at + span_of_exponent(bytes + at, n - at);
}

pellet_status pellet_number_parse(const char *bytes, size_t n, char decimal, double *value)
{
    char copy[PELLET_NUMBER_BYTES_MAX + 1];
    if (n == 0 || n > PELLET_NUMBER_BYTES_MAX || pellet_number_span(bytes, n, decimal) != n)
        return PELLET_E_NUMBER;
    for (size_t i = 0; i < n; i++) {
        const bool exponent = bytes[i] == 'd' || bytes[i] == 'D';
        copy[i] = exponent ? 'e' : bytes[i] == decimal ? '.' : bytes[i];
    }
    copy[n] = '\0';
    const double parsed = strtod_l(copy, NULL, pellet_c_locale());
    if (!isfinite(parsed))
        return PELLET_E_NUMBER;
    *value = parsed;
    return PELLET_OK;
}

static const char *not_finite_name(double value)
{
    if (isnan(value))
        return ".nan";
    return value > 0 ? ".inf" : "-.inf";
}

/* YAML 1.1 takes "1e+20" for a string: it wants a point in front of the exponent. */
static void add_point(char out[32])
{
    char *exponent = strchr(out, 'e');
    if (exponent == NULL || strchr(out, '.') != NULL)
        return;
    memmove(exponent + 2, exponent, strlen(exponent) + 1);
    memcpy(exponent, ".0", 2);
}

static void format_shortest(double value, char out[32])
{
    for (int digits = 15; digits <= DIGITS_MAX; digits++) {
        snprintf(out, 32, "%.*g", digits, value);
        if (strtod(out, NULL) == value)
            break;
    }
    add_point(out);
}

/* Drop the zeros after a decimal point, and the point when nothing is left behind it. */
static void trim_zeros(char *digits)
{
    if (strchr(digits, '.') == NULL)
        return;
    size_t n = strlen(digits);
    while (digits[n - 1] == '0')
        n--;
    if (digits[n - 1] == '.')
        n--;
    digits[n] = '\0';
}

static void format_rounded(double value, int digits, char out[32])
{
    snprintf(out, 32, "%.*e", digits - 1, value);
    char *mark = strchr(out, 'e');
    const long exponent = strtol(mark + 1, NULL, 10);
    if (exponent >= PLAIN_EXPONENT_MIN && exponent <= PLAIN_EXPONENT_MAX) {
        /* Reading the rounded digits back makes 1234 at three digits 1230, not 1234. */
        const double rounded = strtod(out, NULL);
        snprintf(out, 32, "%.*f", exponent < digits ? digits - 1 - (int)exponent : 0, rounded);
        trim_zeros(out);
    } else {
        snprintf(out, 32, "%.*g", digits, value);
        add_point(out);
    }
}

void pellet_number_format(double value, char out[32])
{
    if (!isfinite(value)) {
        snprintf(out, 32, "%s", not_finite_name(value));
        return;
    }
    const locale_t before = uselocale(pellet_c_locale());
    format_shortest(value, out);
    uselocale(before);
}

void pellet_number_round(double value, int digits, char out[32])
{
    if (!isfinite(value)) {
        snprintf(out, 32, "%s", not_finite_name(value));
        return;
    }
    const int kept = digits < 1 ? 1 : digits > DIGITS_MAX ? DIGITS_MAX : digits;
    const locale_t before = uselocale(pellet_c_locale());
    format_rounded(value == 0 ? 0.0 : value, kept, out);
    uselocale(before);
}
