// SPDX-License-Identifier: GPL-3.0-or-later
/* A fast path for decimal numbers, exact by construction. */
#include "spectrum/number.h"

#include "pellet/core.h"

#define EXACT_POWER_MAX 22                  /* 10^22 = 2^22 5^22, and 5^22 < 2^53 */
#define EXACT_DIGITS    (UINT64_C(1) << 53) /* every whole number up to here is a double */
#define DIGITS_MAX      19                  /* as many decimal digits fit into 64 bits */
#define EXPONENT_MAX    100000              /* beyond any double; keeps the sum from overflowing */

static const double power_of_ten[EXACT_POWER_MAX + 1] = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
};

/* The parts of a number while it is read. */
struct parts {
    uint64_t digits; /* all significant digits as one whole number */
    int significant; /* how many, leading zeros left out */
    long power;      /* of ten */
    bool any;        /* at least one digit was there */
    bool overlong;   /* more digits than `digits` can hold */
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static void take_digit(struct parts *parts, char c)
{
    parts->any = true;
    if (parts->significant == DIGITS_MAX) {
        parts->overlong = true;
        return;
    }
    parts->digits = parts->digits * 10 + (uint64_t)(c - '0');
    parts->significant += parts->digits > 0;
}

static size_t scan_mantissa(const char *bytes, size_t n, char decimal, struct parts *parts)
{
    size_t i = 0;
    for (; i < n && is_digit(bytes[i]); i++)
        take_digit(parts, bytes[i]);
    if (i == n || bytes[i] != decimal)
        return i;
    for (i++; i < n && is_digit(bytes[i]); i++) {
        take_digit(parts, bytes[i]);
        parts->power--;
    }
    return i;
}

/* The bytes that an exponent takes up; 0 where none follows. */
static size_t scan_exponent(const char *bytes, size_t n, enum pellet_exponent allowed, struct parts *parts)
{
    if (allowed == PELLET_EXPONENT_NONE || n < 2 || (bytes[0] | 0x21) != 'e') /* e E d D */
        return 0;
    const bool has_sign = bytes[1] == '+' || bytes[1] == '-';
    size_t i = has_sign ? 2 : 1;
    if (i == n || !is_digit(bytes[i]) || (allowed == PELLET_EXPONENT_SIGNED && !has_sign))
        return 0;
    long power = 0;
    for (; i < n && is_digit(bytes[i]); i++)
        if (power < EXPONENT_MAX)
            power = power * 10 + (bytes[i] - '0');
    parts->power += bytes[1] == '-' ? -power : power;
    return i;
}

static bool exact(const struct parts *parts, double *value)
{
    if (parts->overlong || parts->digits > EXACT_DIGITS || parts->power > EXACT_POWER_MAX ||
        parts->power < -EXACT_POWER_MAX)
        return false;
    const double digits = (double)parts->digits;
    *value = parts->power < 0 ? digits / power_of_ten[-parts->power] : digits * power_of_ten[parts->power];
    return true;
}

size_t pellet_number_scan(const char *bytes, size_t n, char decimal, enum pellet_exponent exponent,
                          double *value)
{
    struct parts parts = {0};
    double result;
    size_t at = n > 0 && (bytes[0] == '+' || bytes[0] == '-');
    at += scan_mantissa(bytes + at, n - at, decimal, &parts);
    if (!parts.any)
        return 0;
    at += scan_exponent(bytes + at, n - at, exponent, &parts);
    if (exact(&parts, &result))
        *value = bytes[0] == '-' ? -result : result;
    else if (pellet_number_parse(bytes, at, decimal, value) != PELLET_OK)
        return 0;
    return at;
}

bool pellet_number_whole(const char *bytes, size_t n, char decimal, double *value)
{
    double result;
    if (n == 0 || pellet_number_scan(bytes, n, decimal, PELLET_EXPONENT_ANY, &result) != n)
        return false;
    *value = result;
    return true;
}
