// SPDX-License-Identifier: GPL-3.0-or-later
/* What a verdict is to rest on: pairing, session, worksheet row, and what makes the times doubtful. */
#include "station_parts.h"

#include "session.h"

#include <math.h>
#include <string.h>

#define AHEAD_NS      (120 * PELLET_NS_PER_S) /* clocks differ; more than this is a time to come */
#define SAME_TIME_MIN 3 /* files with one and the same export time are a copy, not a measurement */

/* The settings of a file that was only known by its verdict; false where it is no longer what that says. */
static bool learn_settings(struct station *station, struct entry *entry)
{
    struct reading *reading = reading_new(&station->place, entry);
    bool same = false;
    if (reading) {
        reading->must_hash = true;
        reading_run(&reading->job);
    }
    if (reading && reading->result == READING_KNOWN && reading->read) {
        entry_settings_clear(&entry->settings);
        entry->settings = reading->content.settings;
        reading->content.settings = (struct entry_settings){.resolution = NAN};
        entry->own_blank = reading->content.own_blank;
        same = true;
    }
    reading_free(reading);
    if (!same) {
        /* It counts for nothing until it was looked at. */
        entry->judged = false;
        entry->must_hash = true;
        station_take_needed(station, entry);
    }
    return same;
}

static bool is_unknown(const struct entry *entry)
{
    return entry && !entry->settings.known;
}

static const struct entry *first_unknown(const struct pairing *pairing)
{
    if (is_unknown(pairing->blank))
        return pairing->blank;
    if (is_unknown(pairing->open_beam))
        return pairing->open_beam;
    return is_unknown(pairing->first_blank) ? pairing->first_blank : NULL;
}

/* Each turn learns the settings of one more file, so this ends. */
bool station_find_pairing(struct station *station, struct entry *entry, bool waiting, struct pairing *pairing)
{
    const struct measured *measured = station_time_of(station, entry);
    for (;;) {
        pairing_find(measured, entry, &station->rules, waiting, pairing);
        const struct entry *unknown = first_unknown(pairing);
        if (!unknown)
            return true;
        if (!learn_settings(station, entry_find(&station->index, unknown->name)))
            return false;
    }
}

bool station_find_session(struct station *station, struct entry *entry)
{
    char id[SESSION_ID_MAX];
    const struct entry *like = NULL;
    if (entry->session)
        return true;
    for (;;) {
        session_find(&station_time_of(station, entry)->all, entry, station->rules.session_gap_h,
                     station->config->name, station->config->timezone, &like, id);
        if (!like || like->settings.known)
            return entry_set_string(&entry->session, id);
        if (!learn_settings(station, entry_find(&station->index, like->name)))
            return false;
    }
}

/* Files with exactly this one's export time, itself included. */
static size_t count_same_time(const struct timeline *timeline, const struct entry *entry)
{
    size_t end = timeline_count_until(timeline, entry->measured);
    size_t n = 0;
    for (size_t i = timeline_count_until(timeline, entry->measured - 1); i < end && n < SAME_TIME_MIN; i++)
        n += timeline->item[i]->id.mtime_ns == entry->id.mtime_ns;
    return n;
}

static bool has_neighbours_of_other_kind(struct station *station, const struct entry *entry)
{
    const enum pellet_time_from other_kind =
        entry->measured_from == PELLET_TIME_FROM_FILE ? PELLET_TIME_FROM_MTIME : PELLET_TIME_FROM_FILE;
    const struct timeline *other = &station->time[other_kind].all;
    const pellet_ns gap = (pellet_ns)(station->rules.session_gap_h * 3600.0 * (double)PELLET_NS_PER_S);
    return timeline_count_until(other, entry->measured + gap) >
           timeline_count_until(other, entry->measured - gap);
}

/* Whatever makes the order of measured times doubtful goes into the verdict. */
static bool add_clock_warnings(struct station *station, struct judging *judging, const struct entry *entry)
{
    bool good = true;
    if (entry->label_missing)
        good = judging_warn(judging, "clock: the file states no time of its own; its export time is used");
    if (good && entry->measured > clock_now() + AHEAD_NS)
        good = judging_warn(judging,
                            "clock: it is said to be measured at a time still to come; check the clocks");
    if (good && has_neighbours_of_other_kind(station, entry))
        good = judging_warn(judging, "clock: some files state when they were measured and some do not; only "
                                     "times of the same kind are compared");
    size_t same = entry->measured_from == PELLET_TIME_FROM_MTIME
                      ? count_same_time(&station_time_of(station, entry)->all, entry) +
                            count_same_time(&station->pending.all, entry)
                      : 0;
    if (good && same >= SAME_TIME_MIN)
        good = judging_warn(judging,
                            "clock: several files carry one and the same export time, as copies do; their "
                            "order is not known");
    return good;
}

/* The person's own choice goes before all pairing. */
static void use_given_blank(struct station *station, struct judging *judging)
{
    if (!station->given_spectra || judging->inputs.subject.role != PELLET_SAMPLE || judging->own_blank)
        return;
    judging->blank = station->given_blank;
    judging->inputs.blank = &judging->blank;
    judging->inputs.skipped_count = 0;
}

/* Known before the verdict is: a sample that is judged beside this one may rest on it and on its blank. */
static bool note_blank(struct entry *entry, const struct entry *blank)
{
    if (!entry->settings.single_beam)
        blank = NULL;
    memcpy(entry->blank_sha256, blank ? blank->sha256 : "", blank ? sizeof entry->blank_sha256 : 1);
    return entry_set_string(&entry->blank, blank ? blank->name : NULL);
}

static struct judging *put_together(struct station *station, struct entry *entry,
                                    const struct pairing *pairing, bool over)
{
    struct judging *judging = judging_new(&station->place, entry, &entry->id);
    if (!judging)
        return NULL;
    judging->write = station->writes ? JUDGING_WRITE : JUDGING_KEEP;
    judging->own_blank = entry->own_blank;
    judging->inputs.wait_over = over;
    judging->inputs.session = pellet_arena_string(&judging->arena, entry->session);
    if (entry->read_error) {
        judging->read_error = *entry->read_error;
        judging->inputs.read_error = &judging->read_error;
    }
    if (judging->inputs.session && judging_source(judging, entry, &judging->inputs.subject) &&
        judging_rest_on(judging, &station->index, pairing) && add_clock_warnings(station, judging, entry) &&
        judging_set_rows(judging, &station->worksheet)) {
        use_given_blank(station, judging);
        if (judging_describe(judging))
            return judging;
    }
    judging_free(judging);
    return NULL;
}

static bool pair(struct station *station, struct entry *entry, bool waiting, struct pairing *pairing)
{
    *pairing = (struct pairing){.no_blank_age_min = NAN};
    return entry->read_error || station_find_pairing(station, entry, waiting, pairing);
}

struct judging *station_prepare(struct station *station, struct entry *entry, bool waiting, bool over)
{
    struct pairing pairing;
    if (!pair(station, entry, waiting, &pairing))
        return NULL;
    entry->sheet_changed = false;
    return note_blank(entry, pairing.blank) ? put_together(station, entry, &pairing, over) : NULL;
}

struct judging *station_prepare_ahead(struct station *station, struct entry *entry,
                                      const struct entry *const before[], size_t n)
{
    struct judging *judging = NULL;
    const bool has_session = entry->session != NULL;
    if (station_find_session(station, entry)) {
        struct pairing pairing;
        if (pair(station, entry, false, &pairing) && note_blank(entry, pairing.blank) &&
            pairing_foresee(before, n, entry, &pairing))
            judging = put_together(station, entry, &pairing, false);
    }
    /* Until its turn comes another session may have begun. */
    if (!has_session)
        (void)entry_set_string(&entry->session, NULL);
    return judging;
}
