// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The packed tables of JCAMP-DX. Each form is one byte in a table of pseudo-digits, so the decoder asks the
 * table what a byte means and nothing else.
 */
#include "spectrum/jcamp.h"

#include "spectrum/lines.h"
#include "spectrum/number.h"

#include <math.h>
#include <string.h>

#define WHOLE_MAX 9007199254740992.0 /* 2^53: beyond, whole numbers are not exact */

/* What the first byte of an ordinate says about it. */
enum form {
    FORM_NONE,
    FORM_PLAIN,
    FORM_SQUEEZED,
    FORM_DIFFERENCE,
    FORM_DUPLICATE,
    FORM_UNKNOWN,
    FORM_SEPARATOR
};

struct pseudo_digit {
    enum form form;
    signed char digit; /* with the sign of the number */
};

/* Source: McDonald and Wilks 1988, table of pseudo-digits. A negative zero does not exist. */
static struct pseudo_digit pseudo_digit(char c)
{
    static const struct {
        char first, last;
        enum form form;
        signed char digit, step;
    } ranges[] = {
        {'0', '9', FORM_PLAIN, 0, 0},        {'+', '+', FORM_PLAIN, 0, 0},
        {'-', '-', FORM_PLAIN, 0, 0},        {'.', '.', FORM_PLAIN, 0, 0},
        {'@', 'I', FORM_SQUEEZED, 0, 1},     {'a', 'i', FORM_SQUEEZED, -1, -1},
        {'%', '%', FORM_DIFFERENCE, 0, 0},   {'J', 'R', FORM_DIFFERENCE, 1, 1},
        {'j', 'r', FORM_DIFFERENCE, -1, -1}, {'S', 'Z', FORM_DUPLICATE, 1, 1},
        {'s', 's', FORM_DUPLICATE, 9, 0},    {'?', '?', FORM_UNKNOWN, 0, 0},
        {' ', ' ', FORM_SEPARATOR, 0, 0},    {'\t', '\t', FORM_SEPARATOR, 0, 0},
        {',', ',', FORM_SEPARATOR, 0, 0},    {';', ';', FORM_SEPARATOR, 0, 0},
    };
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++)
        if (c >= ranges[i].first && c <= ranges[i].last)
            return (struct pseudo_digit){
                ranges[i].form, (signed char)(ranges[i].digit + ranges[i].step * (c - ranges[i].first))};
    return (struct pseudo_digit){FORM_NONE, 0};
}

struct decoder {
    const struct pellet_axis *axis;
    struct pellet_draft *draft;
    struct pellet_error *error;
    size_t line; /* of the file */
    const char *begin, *at, *end;

    enum form last;     /* how the last ordinate was written */
    double value;       /* the last ordinate before YFACTOR; NaN where unknown */
    double difference;  /* the last difference */
    double before;      /* the last ordinate of the line before */
    bool check_due;     /* the first ordinate of this line repeats the last of the line before */
    bool warned;        /* of an X-check that is off by a step */
    bool first_in_line; /* no ordinate of this line was read yet */
    double line_x;      /* X of this line, after XFACTOR */
    double x_unit;      /* worth of its last digit */
};

#define FAIL(decoder, status, ...)                                                                           \
    pellet_fail_at((decoder)->error, status, (decoder)->line,                                                \
                   (size_t)((decoder)->at - (decoder)->begin) + 1, __VA_ARGS__)

/* ---------------------------------------------------------------- one ordinate */

/*
 * X-check: X at the beginning of a line is that of its first ordinate. Writers cut or round it to the digits
 * shown, so half a step and one unit of the last digit are allowed. One step more is a warning, since some
 * writers count from the other end of a line and NPOINTS still tells whether an ordinate is missing.
 */
static pellet_status check_x(struct decoder *decoder)
{
    const struct pellet_axis *axis = decoder->axis;
    const size_t index = decoder->draft->n - (decoder->check_due ? 1 : 0);
    const double expected = axis->first + (double)index * axis->step;
    const double steps = (fabs(decoder->line_x - expected) - decoder->x_unit) / fabs(axis->step);
    if (!(steps <= 1.5))
        return FAIL(
            decoder, PELLET_E_FORMAT,
            "X-check fails: the line begins at %.8g where point %zu is at %.8g; ordinates are missing or too "
            "many above: export it again",
            decoder->line_x, index + 1, expected);
    if (steps > 0.5 && !decoder->warned) {
        decoder->warned = true;
        pellet_draft_warn(decoder->draft, "X-check: line %zu begins at %.8g where point %zu is at %.8g",
                          decoder->line, decoder->line_x, index + 1, expected);
    }
    return PELLET_OK;
}

static pellet_status check_y(const struct decoder *decoder)
{
    if (decoder->value == decoder->before)
        return PELLET_OK;
    return FAIL(decoder, PELLET_E_FORMAT,
                "Y-check fails: %.10g here, %.10g at the end of the line before; the file is damaged: export "
                "it again",
                decoder->value, decoder->before);
}

/* Add decoder->value to the spectrum, or compare it where it only repeats the last one. */
static pellet_status emit(struct decoder *decoder)
{
    if (fabs(decoder->value) > WHOLE_MAX && decoder->last == FORM_DIFFERENCE)
        return FAIL(decoder, PELLET_E_NUMBER, "the sum of the differences exceeds 2^53; the file is damaged");
    if (decoder->first_in_line) {
        const bool repeats = decoder->check_due;
        const pellet_status status = check_x(decoder);
        decoder->first_in_line = decoder->check_due = false;
        if (status != PELLET_OK || repeats)
            return status != PELLET_OK ? status : check_y(decoder);
    }
    const size_t i = decoder->draft->n;
    if (i == decoder->axis->n)
        return FAIL(decoder, PELLET_E_FORMAT, "more ordinates than NPOINTS=%zu; the file is damaged", i);
    const double y = decoder->value * decoder->axis->y_factor;
    if (isinf(y))
        return FAIL(decoder, PELLET_E_NUMBER, "an ordinate times YFACTOR is not finite; the file is damaged");
    return pellet_draft_add(decoder->draft, decoder->axis->first + (double)i * decoder->axis->step, y,
                            decoder->axis->n, decoder->error);
}

/* ---------------------------------------------------------------- the forms */

/* A number whose first digit is a pseudo-digit, with its sign. */
static pellet_status take_packed(struct decoder *decoder, int first, double *number)
{
    double sum = fabs((double)first);
    for (decoder->at++; decoder->at < decoder->end && *decoder->at >= '0' && *decoder->at <= '9';
         decoder->at++)
        sum = sum * 10 + (*decoder->at - '0');
    if (sum > WHOLE_MAX)
        return FAIL(decoder, PELLET_E_NUMBER, "a packed number exceeds 2^53; the file is damaged");
    *number = first < 0 ? -sum : sum;
    return PELLET_OK;
}

/*
 * E and D are digits too, so an exponent needs its sign here (1.1e-02); without one it is only understood
 * behind a decimal point, which packed numbers never have.
 */
static pellet_status take_plain(struct decoder *decoder)
{
    const size_t left = (size_t)(decoder->end - decoder->at);
    size_t n = pellet_number_scan(decoder->at, left, '.', PELLET_EXPONENT_SIGNED, &decoder->value);
    if (n > 0 && memchr(decoder->at, '.', n))
        n = pellet_number_scan(decoder->at, left, '.', PELLET_EXPONENT_ANY, &decoder->value);
    if (n == 0)
        return FAIL(decoder, PELLET_E_NUMBER, "not a finite decimal number; the file is damaged");
    decoder->at += n;
    return PELLET_OK;
}

static pellet_status take_duplicate(struct decoder *decoder, int first)
{
    double count = 0;
    if (decoder->first_in_line)
        return FAIL(decoder, PELLET_E_FORMAT,
                    "a repeat count without an ordinate before it; the file is damaged");
    pellet_status status = take_packed(decoder, first, &count);
    const double most = (double)(decoder->axis->n - decoder->draft->n) + 1;
    if (status != PELLET_OK)
        return status;
    if (count < 1 || count > most)
        return FAIL(decoder, PELLET_E_FORMAT,
                    "a repeat count of %.0f where %.0f points are left; the file is damaged", count,
                    most - 1);
    for (size_t left = (size_t)count - 1; status == PELLET_OK && left > 0; left--) {
        if (decoder->last == FORM_DIFFERENCE)
            decoder->value += decoder->difference;
        status = emit(decoder);
    }
    return status;
}

static pellet_status take_difference(struct decoder *decoder, int first)
{
    if (decoder->first_in_line || isnan(decoder->value))
        return FAIL(decoder, PELLET_E_FORMAT,
                    "a difference without an ordinate before it; the file is damaged");
    const pellet_status status = take_packed(decoder, first, &decoder->difference);
    decoder->value += decoder->difference;
    decoder->last = FORM_DIFFERENCE;
    return status == PELLET_OK ? emit(decoder) : status;
}

static pellet_status take_ordinate(struct decoder *decoder)
{
    const struct pseudo_digit digit = pseudo_digit(*decoder->at);
    pellet_status status = PELLET_OK;
    switch (digit.form) {
    case FORM_SEPARATOR:
        decoder->at++;
        return PELLET_OK;
    case FORM_DUPLICATE:
        return take_duplicate(decoder, digit.digit);
    case FORM_DIFFERENCE:
        return take_difference(decoder, digit.digit);
    case FORM_PLAIN:
        status = take_plain(decoder);
        break;
    case FORM_SQUEEZED:
        status = take_packed(decoder, digit.digit, &decoder->value);
        break;
    case FORM_UNKNOWN:
        decoder->at++;
        decoder->value = NAN;
        break;
    case FORM_NONE:
        return FAIL(decoder, PELLET_E_NUMBER, "byte 0x%02X is no part of a number; the file is damaged",
                    (unsigned char)*decoder->at);
    }
    decoder->last = digit.form;
    return status == PELLET_OK ? emit(decoder) : status;
}

/* ---------------------------------------------------------------- lines */

/* What one unit of the last digit of a number is worth. */
static double last_digit(const char *number, size_t n)
{
    double worth = 1, power;
    bool fraction = false;
    for (size_t i = 0; i < n; i++) {
        if (number[i] == '.')
            fraction = true;
        else if ((number[i] | 0x21) == 'e')
            return pellet_number_whole(number + i + 1, n - i - 1, '.', &power) ? worth * pow(10, power)
                                                                               : worth;
        else if (fraction)
            worth /= 10;
    }
    return worth;
}

static pellet_status take_abscissa(struct decoder *decoder)
{
    const size_t left = (size_t)(decoder->end - decoder->at);
    double x;
    const size_t n = pellet_number_scan(decoder->at, left, '.', PELLET_EXPONENT_SIGNED, &x);
    if (n == 0)
        return FAIL(decoder, PELLET_E_NUMBER, "the line does not begin with a number; the file is damaged");
    decoder->line_x = x * decoder->axis->x_factor;
    decoder->x_unit = fabs(last_digit(decoder->at, n) * decoder->axis->x_factor);
    decoder->at += n;
    return PELLET_OK;
}

static pellet_status take_line(struct decoder *decoder)
{
    while (decoder->at < decoder->end && pseudo_digit(*decoder->at).form == FORM_SEPARATOR)
        decoder->at++;
    if (decoder->at == decoder->end)
        return PELLET_OK;
    decoder->check_due = decoder->last == FORM_DIFFERENCE;
    decoder->before = decoder->value;
    decoder->first_in_line = true;
    decoder->last = FORM_NONE;
    pellet_status status = take_abscissa(decoder);
    while (status == PELLET_OK && decoder->at < decoder->end)
        status = take_ordinate(decoder);
    return status;
}

/* The lines of a table behind the one that states its form. */
static void begin_lines(const struct pellet_record *table, struct pellet_lines *lines)
{
    pellet_lines_begin(lines, table->value, table->n);
    pellet_lines_next(lines);
}

static pellet_status check_count(const struct pellet_record *table, const struct pellet_axis *axis,
                                 size_t found, struct pellet_error *error)
{
    if (found == axis->n)
        return PELLET_OK;
    return pellet_fail_at(
        error, PELLET_E_FORMAT, table->line, 0,
        "NPOINTS=%zu but the table holds %zu points: the file is cut short or damaged; export it "
        "again",
        axis->n, found);
}

pellet_status pellet_table_decode(const struct pellet_record *table, const struct pellet_axis *axis,
                                  struct pellet_draft *draft, struct pellet_error *error)
{
    struct decoder decoder = {.axis = axis, .draft = draft, .error = error, .value = NAN};
    struct pellet_lines lines;
    pellet_status status = PELLET_OK;
    begin_lines(table, &lines);
    while (status == PELLET_OK && pellet_lines_next(&lines)) {
        decoder.line = table->line + lines.number - 1;
        decoder.begin = decoder.at = lines.line;
        decoder.end = lines.line + pellet_jcamp_uncommented(lines.line, lines.n);
        status = take_line(&decoder);
    }
    return status == PELLET_OK ? check_count(table, axis, draft->n, error) : status;
}

/* ---------------------------------------------------------------- pairs */

/* One number of a pair; '?' is an unknown ordinate. */
static pellet_status take_number(struct decoder *decoder, bool ordinate, double *number)
{
    if (ordinate && *decoder->at == '?') {
        decoder->at++;
        *number = NAN;
        return PELLET_OK;
    }
    const size_t left = (size_t)(decoder->end - decoder->at);
    const size_t n = pellet_number_scan(decoder->at, left, '.', PELLET_EXPONENT_ANY, number);
    if (n == 0)
        return FAIL(decoder, PELLET_E_NUMBER, "not a finite decimal number; the file is damaged");
    decoder->at += n;
    return PELLET_OK;
}

static pellet_status take_pair(struct decoder *decoder, double x, double y)
{
    x *= decoder->axis->x_factor;
    y *= decoder->axis->y_factor;
    if (isinf(x) || isinf(y))
        return FAIL(decoder, PELLET_E_NUMBER, "a number times its factor is not finite; the file is damaged");
    if (decoder->draft->n == decoder->axis->n)
        return FAIL(decoder, PELLET_E_FORMAT, "more points than NPOINTS=%zu; the file is damaged",
                    decoder->axis->n);
    return pellet_draft_add(decoder->draft, x, y, decoder->axis->n, decoder->error);
}

pellet_status pellet_pairs_decode(const struct pellet_record *table, const struct pellet_axis *axis,
                                  struct pellet_draft *draft, struct pellet_error *error)
{
    struct decoder decoder = {.axis = axis, .draft = draft, .error = error};
    struct pellet_lines lines;
    double number[2];
    size_t have = 0;
    begin_lines(table, &lines);
    while (pellet_lines_next(&lines)) {
        decoder.line = table->line + lines.number - 1;
        decoder.begin = decoder.at = lines.line;
        decoder.end = lines.line + pellet_jcamp_uncommented(lines.line, lines.n);
        while (decoder.at < decoder.end) {
            if (pseudo_digit(*decoder.at).form == FORM_SEPARATOR) {
                decoder.at++;
                continue;
            }
            pellet_status status = take_number(&decoder, have == 1, &number[have]);
            if (status == PELLET_OK && ++have == 2) {
                status = take_pair(&decoder, number[0], number[1]);
                have = 0;
            }
            if (status != PELLET_OK)
                return status;
        }
    }
    if (have == 1)
        return FAIL(&decoder, PELLET_E_FORMAT, "an abscissa without an ordinate: the file is cut short");
    return check_count(table, axis, draft->n, error);
}
