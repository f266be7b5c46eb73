// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/markup.h"

#include "pellet/wording_pages.h"

#include <math.h>
#include <nettle/sha2.h>
#include <stdio.h>
#include <string.h>

void report_add(struct pellet_text *out, const char *string)
{
    if (string != NULL)
        pellet_text_add_html(out, string, strlen(string));
}

void report_html_fill(struct pellet_text *out, const char *template, const char *const *string, size_t n)
{
    size_t used = 0;
    const char *place;

    while ((place = strstr(template, "{}")) != NULL) {
        pellet_text_add(out, template, (size_t)(place - template));
        if (used < n)
            report_add(out, string[used++]);
        template = place + 2;
    }
    pellet_text_adds(out, template);
}

struct report_number report_count(size_t n)
{
    struct report_number number;
    snprintf(number.text, sizeof number.text, "%zu", n);
    return number;
}

struct report_number report_quantity(double value, enum pellet_unit unit)
{
    struct report_number number = {""};
    char digits[32];

    if (isnan(value))
        return number;
    pellet_number_round(value, 4, digits);
    snprintf(number.text, sizeof number.text, "%s%s%s", digits, unit == PELLET_UNIT_NONE ? "" : " ",
             pellet_unit_name(unit));
    return number;
}

struct report_number report_rough(double value)
{
    struct report_number number = {""};

    pellet_number_round(value, 3, number.text);
    return number;
}

/* A zone that the machine does not know leaves the time in UTC, and says so by its Z. */
static struct report_number time_for_people(pellet_ns time, const char *zone, const char *format)
{
    struct report_number number = {""};

    if (pellet_time_local(time, zone, format, number.text, sizeof number.text) != PELLET_OK)
        pellet_time_format(time, number.text);
    return number;
}

struct report_number report_clock(pellet_ns time, const char *zone)
{
    return time_for_people(time, zone, "%H:%M");
}

struct report_number report_date(pellet_ns time, const char *zone)
{
    return time_for_people(time, zone, "%Y-%m-%d %H:%M");
}

/* ---------------------------------------------------------------- a page */

/* As a content security policy names what stands in one element: CSP level 3, section 2.3.1. */
static void add_hash(const char *const *part, size_t n, struct pellet_text *out)
{
    struct sha256_ctx context;
    uint8_t digest[SHA256_DIGEST_SIZE];

    sha256_init(&context);
    for (size_t i = 0; i < n && part[i] != NULL; i++)
        sha256_update(&context, strlen(part[i]), (const uint8_t *)part[i]);
    sha256_digest(&context, sizeof digest, digest);
    pellet_text_adds(out, "'sha256-");
    pellet_base64(digest, sizeof digest, out);
    pellet_text_adds(out, "'");
}

void report_page_begin(const struct report_page *page, struct pellet_text *out)
{
    pellet_text_adds(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                          "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                          "style-src ");
    add_hash(page->style, sizeof page->style / sizeof page->style[0], out);
    pellet_text_adds(out, "; script-src ");
    add_hash(&page->script, 1, out);
    pellet_text_adds(out, "; base-uri 'none'; form-action 'none'\">\n");
    if (page->refresh_s > 0)
        pellet_text_addf(out, "<meta http-equiv=\"refresh\" content=\"%u\">\n", page->refresh_s);
    pellet_text_adds(out, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                          "<meta name=\"color-scheme\" content=\"light dark\">\n");
    report_html(out, "<title>{}</title>\n", page->title);
    pellet_text_adds(out, "<style>");
    for (size_t i = 0; i < sizeof page->style / sizeof page->style[0] && page->style[i] != NULL; i++)
        pellet_text_adds(out, page->style[i]);
    pellet_text_adds(out, "</style>\n</head>\n<body>\n");
}

void report_page_end(const struct report_page *page, struct pellet_text *out)
{
    pellet_text_addf(out, "<script>%s</script>\n</body>\n</html>\n", page->script);
}

void report_add_verdict(struct pellet_text *out, enum pellet_outcome outcome)
{
    report_html(out, "<b class=\"verdict {}\">{}</b>", pellet_outcome_id(outcome),
                report_outcome_word(outcome));
}

const char *report_outcome_word(enum pellet_outcome outcome)
{
    static const char *const words[PELLET_OUTCOME_COUNT] = {
        [PELLET_PASS] = SAYS_PASS,     [PELLET_NOTE] = SAYS_NOTE,     [PELLET_WAIT] = SAYS_WAIT,
        [PELLET_RESCAN] = SAYS_RESCAN, [PELLET_REMAKE] = SAYS_REMAKE, [PELLET_NOT_CHECKED] = SAYS_NOT_CHECKED,
    };
    return words[outcome];
}

const char *report_role_word(enum pellet_role role)
{
    static const char *const words[PELLET_ROLE_COUNT] = {
        [PELLET_SAMPLE] = SAYS_ROLE_SAMPLE,
        [PELLET_BLANK] = SAYS_ROLE_BLANK,
        [PELLET_OPEN_BEAM] = SAYS_ROLE_OPEN_BEAM,
        [PELLET_FILM] = SAYS_ROLE_FILM,
    };
    return words[role];
}

const char *report_bench_word(const struct pellet_check *check)
{
    return strcmp(check->id, "read") == 0 ? SAYS_UNREADABLE : check->bench_word;
}

bool report_amiss(enum pellet_outcome outcome)
{
    return outcome != PELLET_PASS && outcome != PELLET_NOT_CHECKED;
}
