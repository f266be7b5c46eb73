// SPDX-License-Identifier: GPL-3.0-or-later
#include "pairing.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NS_PER_MIN (60 * PELLET_NS_PER_S)

static double minutes_between(pellet_ns earlier, pellet_ns later)
{
    return ((double)later - (double)earlier) / (double)NS_PER_MIN;
}

static const char *skip_blanks(const char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    return text;
}

static bool words_agree(const char *a, const char *b)
{
    for (;;) {
        a = skip_blanks(a);
        b = skip_blanks(b);
        if (!*a || !*b)
            return *a == *b;
        if (tolower((unsigned char)*a++) != tolower((unsigned char)*b++))
            return false;
    }
}

/* Two statements are one when they are the same number, with the same unit where both give one, or the same
 * words. */
static bool statements_agree(const char *a, const char *b)
{
    char *a_unit = NULL;
    char *b_unit = NULL;
    double a_number = strtod(a, &a_unit);
    double b_number = strtod(b, &b_unit);
    if (a_unit == a || b_unit == b)
        return words_agree(a, b);
    if (fabs(a_number - b_number) > 1e-6 * fmax(fabs(a_number), fabs(b_number)))
        return false;
    return !*skip_blanks(a_unit) || !*skip_blanks(b_unit) || words_agree(a_unit, b_unit);
}

bool settings_agree(const struct entry_settings *a, const struct entry_settings *b)
{
    if (isfinite(a->resolution) && isfinite(b->resolution)) {
        if (fabs(a->resolution - b->resolution) > 1e-3 * fmax(a->resolution, b->resolution))
            return false;
    }
    /* Nobody states it, but points that are not as close cannot be divided (design, section 4). */
    if (a->spacing > 0 && b->spacing > 0 &&
        fabs(a->spacing - b->spacing) > 0.01 * fmax(a->spacing, b->spacing))
        return false;
    for (size_t i = 0; i < PELLET_SETTING_COUNT; i++) {
        /* The number above says it better than its text. */
        if (i == PELLET_SETTING_RESOLUTION || i == PELLET_SETTING_INSTRUMENT)
            continue;
        if (a->stated[i] && b->stated[i] && !statements_agree(a->stated[i], b->stated[i]))
            return false;
    }
    return true;
}

static bool same(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

static bool usable(const struct entry *entry, enum pellet_role role)
{
    return entry->role == role && entry->present && entry->judged;
}

static bool accepted(const struct entry *blank)
{
    return blank->state == PELLET_BLANK_ACCEPTED || blank->state == PELLET_BLANK_PROVISIONAL;
}

static void skip(struct pairing *pairing, const struct entry *blank, const char *why)
{
    if (pairing->skipped_count < PAIRING_SKIPPED_MAX) {
        pairing->skipped[pairing->skipped_count].blank = blank;
        pairing->skipped[pairing->skipped_count++].why = why;
    }
}

/* A conflict is named by the blank that is taken, not also by the list of the skipped. */
static void take_conflict(struct pairing *pairing, const struct entry *blank)
{
    size_t kept = 0;
    for (size_t i = 0; i < pairing->skipped_count; i++) {
        if (pairing->skipped[i].blank != blank)
            pairing->skipped[kept++] = pairing->skipped[i];
    }
    pairing->skipped_count = kept;
    pairing->blank = blank;
}

/*
 * Backwards from the latest that may serve to the oldest. Blanks after the subject serve only one that waits,
 * and are never counted as skipped: the subject does not rest on them.
 */
static void find_blank(const struct timeline *servers, const struct entry *subject,
                       const struct pellet_rules *rules, bool waiting, struct pairing *pairing)
{
    const struct entry *conflict = NULL;
    const pellet_ns ahead = waiting ? (pellet_ns)(rules->blank_look_ahead_min * (double)NS_PER_MIN) : 0;
    size_t i =
        waiting ? timeline_count_until(servers, subject->measured + ahead) : timeline_rank(servers, subject);
    pairing->no_blank = PELLET_NO_BLANK_YET;
    while (i-- > 0 && !pairing->blank) {
        const struct entry *blank = servers->item[i];
        if (blank == subject || !usable(blank, PELLET_BLANK))
            continue;
        const double age_min = minutes_between(blank->measured, subject->measured);
        const bool fits = settings_agree(&blank->settings, &subject->settings);
        const bool serves = accepted(blank) || rules->blank_accept_any;
        if (age_min > rules->blank_max_age_min) {
            if (serves && fits) {
                pairing->no_blank = PELLET_NO_BLANK_TOO_OLD;
                pairing->no_blank_age_min = age_min;
                break;
            }
            if (age_min > 60 * rules->open_beam_max_age_h)
                break;
        } else if (serves && fits) {
            pairing->blank = blank;
        } else if (age_min >= 0) {
            skip(pairing, blank, serves ? "settings" : "refused");
            if (serves && !conflict)
                conflict = blank;
        }
    }
    if (!pairing->blank && conflict)
        take_conflict(pairing, conflict);
    else if (!pairing->blank && pairing->no_blank == PELLET_NO_BLANK_YET && pairing->skipped_count > 0)
        pairing->no_blank = PELLET_NO_BLANK_ALL_REFUSED;
}

/* A file that came ratioed names the latest blank that was accepted; nothing depends on its age. */
static void find_reported_blank(const struct timeline *servers, const struct entry *subject,
                                const struct pellet_rules *rules, struct pairing *pairing)
{
    for (size_t i = timeline_rank(servers, subject); i-- > 0 && !pairing->blank;) {
        const struct entry *blank = servers->item[i];
        if (minutes_between(blank->measured, subject->measured) > 60 * rules->open_beam_max_age_h)
            break;
        if (usable(blank, PELLET_BLANK) && (accepted(blank) || rules->blank_accept_any))
            pairing->blank = blank;
    }
}

/* The latest open beam before `of` under the same settings that could be read. */
static const struct entry *find_open_beam(const struct timeline *servers, const struct entry *of,
                                          const struct pellet_rules *rules)
{
    for (size_t i = timeline_rank(servers, of); i-- > 0;) {
        const struct entry *beam = servers->item[i];
        if (minutes_between(beam->measured, of->measured) > 60 * rules->open_beam_max_age_h)
            break;
        if (usable(beam, PELLET_OPEN_BEAM) && beam->outcome == PELLET_PASS &&
            settings_agree(&beam->settings, &of->settings))
            return beam;
    }
    return NULL;
}

/* The session's reference: the latest accepted blank that became it, else the first accepted one. */
static const struct entry *find_first_blank(const struct timeline *servers, const struct entry *subject,
                                            const struct pellet_rules *rules)
{
    const struct entry *first = NULL;
    const double horizon_min = 60 * rules->open_beam_max_age_h;
    for (size_t i = timeline_rank(servers, subject); i-- > 0;) {
        const struct entry *blank = servers->item[i];
        if (minutes_between(blank->measured, subject->measured) > horizon_min)
            break;
        if (!usable(blank, PELLET_BLANK) || !accepted(blank) || !same(blank->session, subject->session))
            continue;
        first = blank;
        if (blank->becomes_reference)
            break;
    }
    return first;
}

static bool already_there(const struct pairing *pairing, const struct entry *sample)
{
    for (size_t i = 0; i < pairing->earlier_count; i++) {
        if (same(pairing->earlier[i]->sample, sample->sample))
            return true;
    }
    return false;
}

static void add_earlier(struct pairing *pairing, const struct entry *sample)
{
    if (pairing->earlier_count < PAIRING_EARLIER_MAX && !already_there(pairing, sample))
        pairing->earlier[pairing->earlier_count++] = sample;
}

/*
 * Whether a sample's ratio can be believed, and will not be made anew against another blank: its measurement
 * was not refused and it waits for nothing. Only such a ratio can tell of carry-over, and say the same again
 * when verified.
 */
static bool is_settled(const struct entry *sample)
{
    return sample->judged && (sample->outcome == PELLET_PASS || sample->outcome == PELLET_REMAKE);
}

/* The session's samples before the subject: of the same name, and the last ones of other names. */
static void find_samples(const struct timeline *timeline, const struct entry *subject,
                         const struct pellet_rules *rules, struct pairing *pairing)
{
    const bool wants_attempts = subject->role == PELLET_SAMPLE;
    const double horizon_min = 60 * rules->open_beam_max_age_h;
    const size_t rank = timeline_rank(timeline, subject);
    const size_t last = rank > PAIRING_BACK_MAX ? rank - PAIRING_BACK_MAX : 0;
    for (size_t i = rank; i-- > last;) {
        const struct entry *sample = timeline->item[i];
        const bool enough = pairing->earlier_count == PAIRING_EARLIER_MAX &&
                            (!wants_attempts || pairing->attempt_count == PAIRING_ATTEMPT_MAX);
        if (enough || minutes_between(sample->measured, subject->measured) > horizon_min)
            break;
        if (sample->role != PELLET_SAMPLE || !sample->present || !sample->sample ||
            !same(sample->session, subject->session))
            continue;
        if (same(sample->sample, subject->sample)) {
            /* One that waits will have another verdict. */
            if (wants_attempts && sample->judged && sample->outcome != PELLET_WAIT &&
                pairing->attempt_count < PAIRING_ATTEMPT_MAX)
                pairing->attempt[pairing->attempt_count++] = sample;
        } else if (is_settled(sample)) {
            add_earlier(pairing, sample);
        }
    }
}

void pairing_find(const struct measured *measured, const struct entry *subject,
                  const struct pellet_rules *rules, bool waiting, struct pairing *pairing)
{
    const struct timeline *servers = &measured->servers;
    *pairing = (struct pairing){.no_blank_age_min = NAN};
    if (subject->role == PELLET_OPEN_BEAM)
        return;
    if (subject->role == PELLET_SAMPLE && !subject->own_blank) {
        if (subject->settings.single_beam)
            find_blank(servers, subject, rules, waiting, pairing);
        else
            find_reported_blank(servers, subject, rules, pairing);
    }
    const struct entry *reference_of = pairing->blank ? pairing->blank : subject;
    pairing->open_beam = find_open_beam(servers, reference_of, rules);
    if (subject->role == PELLET_BLANK && !pairing->open_beam)
        pairing->first_blank = find_first_blank(servers, subject, rules);
    if (subject->role == PELLET_SAMPLE || subject->role == PELLET_BLANK)
        find_samples(&measured->all, subject, rules, pairing);
}

/* Whether a sample that is still to be judged is likely to be settled then. */
static bool will_settle(const struct entry *sample)
{
    return sample->role == PELLET_SAMPLE && sample->sample && !sample->read_error &&
           (sample->blank || sample->own_blank || !sample->settings.single_beam);
}

bool pairing_foresee(const struct entry *const before[], size_t n, const struct entry *subject,
                     struct pairing *pairing)
{
    const struct pairing now = *pairing;
    if (subject->role == PELLET_OPEN_BEAM || subject->read_error)
        return true;
    for (size_t i = 0; i < n; i++) {
        if (entry_is_server(before[i]) || same(before[i]->sample, subject->sample))
            return false;
    }
    if (subject->role == PELLET_FILM)
        return true;
    pairing->earlier_count = 0;
    for (size_t i = n; i-- > 0;) {
        if (will_settle(before[i]))
            add_earlier(pairing, before[i]);
    }
    for (size_t i = 0; i < now.earlier_count; i++)
        add_earlier(pairing, now.earlier[i]);
    return true;
}

bool pairing_is_over(const struct timeline *timeline, const struct entry *subject,
                     const struct pellet_rules *rules)
{
    pellet_ns end = subject->measured + (pellet_ns)(rules->blank_look_ahead_min * (double)NS_PER_MIN);
    return timeline_count_until(timeline, end) < timeline->n;
}
