// SPDX-License-Identifier: GPL-3.0-or-later
#include "globs.h"

#include <ctype.h>
#include <fnmatch.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

bool glob_list_matches(const struct glob_list *list, const char *text)
{
    for (size_t i = 0; i < list->n; i++) {
        if (fnmatch(list->pattern[i], text, FNM_CASEFOLD) == 0)
            return true;
    }
    return false;
}

static const char *last_part(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash ? slash + 1 : name;
}

/* A folder that is hidden, or our own reports/ at the top. */
static bool in_foreign_folder(const char *name)
{
    if (strncasecmp(name, "reports/", 8) == 0)
        return true;
    for (const char *part = name; part; part = strchr(part, '/')) {
        part += *part == '/';
        if (*part == '.' && strchr(part, '/'))
            return true;
    }
    return false;
}

bool name_is_input(const char *name, const struct glob_list *include)
{
    static const char *const never_patterns[] = {".*", "~$*", "*.tmp", "*.part", "*.verdict.yaml"};
    static const struct glob_list never = {sizeof never_patterns / sizeof never_patterns[0],
                                           (const char **)never_patterns};
    const char *last = last_part(name);
    if (glob_list_matches(&never, last) || in_foreign_folder(name))
        return false;
    if (strcasecmp(name, "worksheet.csv") == 0)
        return false;
    return glob_list_matches(include, last);
}

enum pellet_role name_role(const char *text, const struct glob_list *blank, const struct glob_list *open_beam,
                           const struct glob_list *film)
{
    const char *last = last_part(text);
    if (glob_list_matches(blank, last))
        return PELLET_BLANK;
    if (glob_list_matches(open_beam, last))
        return PELLET_OPEN_BEAM;
    if (glob_list_matches(film, last))
        return PELLET_FILM;
    return PELLET_SAMPLE;
}

/* ---------------------------------------------------------------- the template */

static const struct {
    const char *place;
    size_t length;
} places[] = {{"{sample}", 8}, {"{pellet}", 8}, {"{scan}", 6}};
enum { PLACE_SAMPLE, PLACE_PELLET, PLACE_SCAN, PLACE_COUNT };

/* Which place begins here, or PLACE_COUNT. */
static size_t place_at(const char *template)
{
    for (size_t i = 0; i < PLACE_COUNT; i++) {
        if (strncmp(template, places[i].place, places[i].length) == 0)
            return i;
    }
    return PLACE_COUNT;
}

const char *sample_template_fault(const char *template)
{
    unsigned seen = 0;
    bool after_place = false;
    for (const char *c = template; *c;) {
        size_t place = place_at(c);
        if (place < PLACE_COUNT) {
            if (seen & (1u << place))
                return "a place stands in it twice";
            if (after_place)
                return "two places need something between them";
            seen |= 1u << place;
            c += places[place].length;
        } else if (*c == '{' || *c == '}') {
            return "only {sample}, {pellet} and {scan} may stand in braces";
        } else if (*c == '/') {
            return "it is about file names, not folders";
        } else {
            c++;
        }
        after_place = place < PLACE_COUNT;
    }
    return seen & (1u << PLACE_SAMPLE) ? "" : "{sample} is missing";
}

/* One to six digits, so that a time stamp is not taken for the number of a pellet. */
#define DIGITS_MAX 6

static size_t count_digits(const char *text, size_t n)
{
    size_t digits = 0;
    while (digits < n && isdigit((unsigned char)text[digits]))
        digits++;
    return digits;
}

/*
 * Fit template[0..t) on name[0..n), both from the start. The sample takes as much as it can, so that the last
 * "_p1" of "mix_p2_p1" is the pellet. Depth is bounded by the three places.
 */
static bool fit(const char *template, size_t t, const char *name, size_t n, struct sample_name *out)
{
    while (t > 0 && place_at(template) == PLACE_COUNT) {
        if (n == 0 || tolower((unsigned char)*template) != tolower((unsigned char)*name))
            return false;
        template ++, t--, name++, n--;
    }
    if (t == 0)
        return n == 0;
    size_t place = place_at(template);
    size_t skip = places[place].length;
    if (place == PLACE_SAMPLE) {
        for (size_t length = n; length > 0; length--) {
            if (length < sizeof out->sample &&
                fit(template + skip, t - skip, name + length, n - length, out)) {
                memcpy(out->sample, name, length);
                out->sample[length] = '\0';
                return true;
            }
        }
        return false;
    }
    size_t digits = count_digits(name, n);
    if (digits == 0 || digits > DIGITS_MAX || !fit(template + skip, t - skip, name + digits, n - digits, out))
        return false;
    *(place == PLACE_PELLET ? &out->pellet : &out->scan) = atoi(name);
    return true;
}

/* The length of the template without its last place and the text before it; 0 when none is left. */
static size_t without_last_place(const char *template, size_t t)
{
    size_t last = 0;
    size_t end_of_previous = 0;
    for (size_t i = 0; i < t;) {
        size_t place = place_at(template + i);
        if (place < PLACE_COUNT) {
            end_of_previous = last;
            last = i + places[place].length;
            i = last;
        } else {
            i++;
        }
    }
    return end_of_previous;
}

void sample_name_read(const char *template, const char *name, struct sample_name *out)
{
    const char *stem = last_part(name);
    const char *dot = strrchr(stem, '.');
    size_t n = dot && dot > stem ? (size_t)(dot - stem) : strlen(stem);
    for (size_t t = strlen(template); t > 0; t = without_last_place(template, t)) {
        *out = (struct sample_name){0};
        if (fit(template, t, stem, n, out) && *out->sample)
            return;
    }
    *out = (struct sample_name){0};
    if (n >= sizeof out->sample)
        n = sizeof out->sample - 1;
    memcpy(out->sample, stem, n);
}
