// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What goes on in a station. Reading comes first, so that all that is present is known before anything is
 * judged; then judging, in the order of measured time. Blanks and open beams are judged alone, because what
 * follows rests on their verdicts, and so does the next attempt at a sample; everything else runs side by
 * side. That makes the verdicts those of one thread, whatever the number of threads.
 */
#include "station.h"

#include "log.h"
#include "outputs.h"
#include "session.h"
#include "verify.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RETRY_MS       2000                    /* between two looks at a busy or denied file */
#define RETRY_UNTIL_MS 60000                   /* after that, a verdict says so */
#define TROUBLE_MIN_MS 1000                    /* between two tries to write, doubling ... */
#define TROUBLE_MAX_MS 60000                   /* ... up to this */
#define SYNC_MS        800                     /* what is written is durable within 1 s */
#define HOLD_MAX_MS    2000                    /* how long a file waits for others that are still settling */
#define ATTEMPTS_MAX   8                       /* at a file that keeps changing under us */
#define AHEAD_NS       (120 * PELLET_NS_PER_S) /* clocks differ; more than this is a time to come */
#define SAME_TIME_MIN  3 /* files with one and the same export time are a copy, not a measurement */

static void judge_anew(struct station *station, struct entry *entry, bool waiting, bool over);
static void look_after_waits(struct station *station);

static struct timeline *time_of(struct station *station, const struct entry *entry)
{
    return &station->time[entry->measured_from];
}

static bool is_server(const struct entry *entry)
{
    return entry->role == PELLET_BLANK || entry->role == PELLET_OPEN_BEAM;
}

static void no_memory(struct station *station, const struct entry *entry)
{
    log_say(LOG_LEVEL_ERROR, entry->name, "no memory for it; it will be taken up by the next scan");
    station->failed = true;
}

/* ---------------------------------------------------------------- leaving and entering the orders */

/* Its time and role may change after this. */
static void leave_orders(struct station *station, struct entry *entry)
{
    if (entry->in_time)
        timeline_remove(time_of(station, entry), entry);
    entry->in_time = false;
    timeline_remove(&station->pending, entry);
    timeline_remove(&station->waits, entry);
}

static bool enter_time(struct station *station, struct entry *entry)
{
    if (!entry->in_time)
        entry->in_time = timeline_insert(time_of(station, entry), entry);
    return entry->in_time;
}

void station_take(struct station *station, struct entry *entry)
{
    if (entry->stage == ENTRY_READING || entry->stage == ENTRY_JUDGING) {
        entry->dirty = true;
        return;
    }
    if (entry->stage == ENTRY_READY)
        return;
    timeline_remove(&station->pending, entry);
    entry->stage = ENTRY_READY;
    if (!entry_list_add(&station->ready, entry)) {
        entry->stage = ENTRY_SEEN;
        no_memory(station, entry);
    }
}

void station_forget(struct station *station, struct entry *entry)
{
    if (entry->present && entry->stage == ENTRY_DONE)
        judge_anew(station, entry, false, false);
}

/* It is not what it was thought to be: let it settle anew, or have another look where nothing settles. */
static void come_again(struct station *station, struct entry *entry)
{
    leave_orders(station, entry);
    entry->stage = ENTRY_SEEN;
    entry->must_hash = true;
    entry->dirty = false;
    if (++entry->attempts > ATTEMPTS_MAX && !station->options.patient) {
        log_say(LOG_LEVEL_ERROR, entry->name, "it keeps changing; it was not judged");
        station->failed = true;
    } else if (station->options.patient) {
        station_event(station, entry->name, SETTLE_CHANGED);
    } else {
        station_take(station, entry);
    }
}

/* Whatever happened while a worker had it is looked at now. */
static void take_if_dirty(struct station *station, struct entry *entry)
{
    if (entry->dirty) {
        entry->dirty = false;
        station_take(station, entry);
    }
}

/* ---------------------------------------------------------------- reading */

static void start_reading(struct station *station, struct entry *entry)
{
    struct reading *reading = reading_new(&station->place, entry);
    if (reading && entry->verdict_text) {
        reading->kept = malloc(entry->verdict_length);
        reading->kept_length = entry->verdict_length;
        if (reading->kept)
            memcpy(reading->kept, entry->verdict_text, entry->verdict_length);
    }
    if (!reading) {
        entry->stage = ENTRY_SEEN;
        no_memory(station, entry);
        return;
    }
    reading->must_hash = entry->must_hash;
    reading->trust_nothing = station->options.again && entry->wanted && !entry->judged;
    reading->last_try = !station->options.patient ||
                        (entry->retry_until_ms > 0 && clock_monotonic_ms() >= entry->retry_until_ms);
    entry->stage = ENTRY_READING;
    entry->must_hash = false;
    station->reading++;
    workers_submit(station->workers, &reading->job);
}

static bool adopt_content(struct entry *entry, struct reading *reading)
{
    struct content *content = &reading->content;
    struct pellet_error *read_error = NULL;
    if (reading->error.status != PELLET_OK) {
        read_error = malloc(sizeof *read_error);
        if (!read_error)
            return false;
        *read_error = reading->error;
    }
    free(entry->read_error);
    entry->read_error = read_error;
    entry_settings_clear(&entry->settings);
    free(entry->sample);
    entry->sample = content->sample;
    entry->settings = content->settings;
    content->sample = NULL;
    content->settings = (struct entry_settings){.resolution = NAN};
    memcpy(entry->sha256, content->sha256, sizeof entry->sha256);
    entry->role = content->role;
    entry->pellet = content->pellet;
    entry->scan_number = content->scan;
    entry->measured = content->measured;
    entry->measured_from = content->measured_from;
    entry->label_missing = content->label_missing;
    entry->own_blank = content->own_blank;
    return true;
}

/* What a verdict says of its file and of itself. */
static bool adopt_verdict(struct entry *entry, const struct pellet_verdict *verdict)
{
    const struct pellet_against *blank = NULL;
    for (size_t i = 0; i < verdict->against_count && !blank; i++) {
        if (strcmp(verdict->against[i].as, "blank") == 0)
            blank = &verdict->against[i];
    }
    entry->judged = true;
    entry->outcome = verdict->outcome;
    entry->state = verdict->state;
    entry->becomes_reference = verdict->becomes_reference;
    entry->waits = pellet_verdict_waits_for_blank(verdict);
    entry->wait_over = verdict->wait_over;
    entry->role = verdict->role;
    entry->measured = verdict->measured;
    entry->measured_from = verdict->measured_from;
    entry->pellet = verdict->pellet;
    entry->scan_number = verdict->scan;
    memcpy(entry->sha256, verdict->sha256, sizeof entry->sha256);
    memcpy(entry->blank_sha256, blank ? blank->sha256 : "", blank ? sizeof entry->blank_sha256 : 1);
    return entry_set_string(&entry->sample, verdict->sample) &&
           entry_set_string(&entry->session, verdict->session) &&
           entry_set_string(&entry->blank, blank ? blank->file : NULL);
}

static void tell(struct station *station, struct entry *entry, const struct pellet_verdict *verdict,
                 bool fresh)
{
    if (station->options.on_verdict)
        station->options.on_verdict(station->options.context, entry, verdict, fresh);
}

static void restore_outputs(struct station *station, struct entry *entry,
                            const struct pellet_verdict *verdict);

static void known(struct station *station, struct entry *entry, struct reading *reading)
{
    leave_orders(station, entry);
    if (reading->read && !adopt_content(entry, reading)) {
        no_memory(station, entry);
        return;
    }
    entry->stage = ENTRY_DONE;
    if (!adopt_verdict(entry, &reading->verdict) || !enter_time(station, entry) ||
        (entry->waits && !entry->wait_over && !timeline_insert(&station->waits, entry)))
        no_memory(station, entry);
    tell(station, entry, &reading->verdict, false);
    if (station->writes && !outputs_complete(&station->place, &reading->verdict))
        restore_outputs(station, entry, &reading->verdict);
}

/* The session that was written first stays, unless this is another day's file under an old name. */
static void keep_session(struct station *station, struct entry *entry, const struct reading *reading)
{
    const double gap_ns = station->rules.session_gap_h * 3600.0 * (double)PELLET_NS_PER_S;
    const struct pellet_verdict *old = &reading->verdict;
    bool keeps = reading->has_verdict && old->session &&
                 fabs((double)old->measured - (double)entry->measured) <= gap_ns;
    (void)entry_set_string(&entry->session, keeps ? old->session : NULL);
}

static void read_new(struct station *station, struct entry *entry, struct reading *reading)
{
    leave_orders(station, entry);
    entry->judged = false;
    entry->waits = entry->wait_over = false;
    entry->state = PELLET_BLANK_NONE;
    if (!adopt_content(entry, reading)) {
        no_memory(station, entry);
        return;
    }
    keep_session(station, entry, reading);
    if (station->options.look_only || (!entry->wanted && entry->role == PELLET_SAMPLE)) {
        entry->stage = ENTRY_IGNORED;
        return;
    }
    entry->stage = ENTRY_READ;
    entry->ready_ms = clock_monotonic_ms();
    if (!timeline_insert(&station->pending, entry))
        no_memory(station, entry);
}

/* Busy or denied: look again for a while; then the verdict says so. */
static void trouble_with_file(struct entry *entry, struct station *station, const struct reading *reading)
{
    int64_t now_ms = clock_monotonic_ms();
    if (entry->retry_until_ms == 0) {
        entry->retry_until_ms = now_ms + RETRY_UNTIL_MS;
        log_say(LOG_LEVEL_NOTICE, entry->name, "%s; trying again for 60 s", reading->error.message);
    }
    entry->stage = ENTRY_SEEN;
    entry->must_hash = true;
    entry->retry_ms = now_ms + RETRY_MS;
    if (!entry->timed)
        entry->timed = entry_list_add(&station->timed, entry);
}

/* When something came last: now, or for what was known before we started, when it was written. */
static void note_activity(struct station *station, const struct reading *reading)
{
    int64_t now_ms = clock_monotonic_ms();
    int64_t came_ms = now_ms;
    if (reading->result == READING_KNOWN)
        came_ms -= (clock_now() - reading->id.mtime_ns) / (PELLET_NS_PER_S / 1000);
    else if (reading->result != READING_NEW)
        return;
    if (came_ms > now_ms)
        came_ms = now_ms;
    if (came_ms > station->activity_ms)
        station->activity_ms = came_ms;
    if (reading->result == READING_NEW && station->options.patient)
        station->closed = false;
}

static void reading_done(struct station *station, struct reading *reading)
{
    struct entry *entry = reading->entry;
    station->reading--;
    entry->stage = ENTRY_SEEN;
    if (reading->result != READING_GONE && reading->result != READING_TROUBLE) {
        entry->id = reading->id;
        entry->retry_until_ms = 0;
    }
    note_activity(station, reading);
    switch (reading->result) {
    case READING_KNOWN:
        known(station, entry, reading);
        break;
    case READING_FOREIGN:
        entry->stage = ENTRY_FOREIGN;
        log_say(LOG_LEVEL_WARNING, entry->name,
                "its verdict was written by a newer pelletd and is left alone");
        break;
    case READING_NEW:
        if (entry->peek)
            come_again(station, entry);
        else
            read_new(station, entry, reading);
        break;
    case READING_CHANGED:
        come_again(station, entry);
        break;
    case READING_GONE:
        entry->present = false;
        leave_orders(station, entry);
        break;
    case READING_TROUBLE:
        trouble_with_file(entry, station, reading);
        break;
    }
    entry->peek = false;
    take_if_dirty(station, entry);
}

/* ---------------------------------------------------------------- what a verdict is to rest on */

/* The settings of a file that was only known by its verdict; false where it is no longer what that says. */
static bool learn_settings(struct station *station, struct entry *entry)
{
    struct reading *reading = reading_new(&station->place, entry);
    bool same = false;
    if (!reading)
        return false;
    reading->must_hash = true;
    reading_run(&reading->job);
    if (reading->result == READING_KNOWN && reading->read) {
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
        station_take(station, entry);
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
static void find_pairing(struct station *station, struct entry *entry, bool waiting, struct pairing *pairing)
{
    const struct timeline *timeline = time_of(station, entry);
    for (;;) {
        pairing_find(timeline, entry, &station->rules, waiting, pairing);
        const struct entry *unknown = first_unknown(pairing);
        if (!unknown)
            return;
        (void)learn_settings(station, entry_find(&station->index, unknown->name));
    }
}

static bool find_session(struct station *station, struct entry *entry)
{
    char id[SESSION_ID_MAX];
    const struct entry *like = NULL;
    if (entry->session)
        return true;
    for (bool sure = false; !sure;) {
        session_find(time_of(station, entry), entry, station->rules.session_gap_h, station->config->name,
                     station->config->timezone, &like, id);
        sure = !like || like->settings.known ||
               !learn_settings(station, entry_find(&station->index, like->name));
    }
    return entry_set_string(&entry->session, id);
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
    const struct timeline *other =
        &station->time[entry->measured_from == PELLET_TIME_FROM_FILE ? PELLET_TIME_FROM_MTIME
                                                                     : PELLET_TIME_FROM_FILE];
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
    size_t same =
        entry->measured_from == PELLET_TIME_FROM_MTIME
            ? count_same_time(time_of(station, entry), entry) + count_same_time(&station->pending, entry)
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

static struct judging *prepare(struct station *station, struct entry *entry, bool waiting, bool over)
{
    struct pairing pairing = {.no_blank_age_min = NAN};
    struct judging *judging = judging_new(&station->place, entry, &entry->id);
    if (!judging)
        return NULL;
    judging->write = station->writes ? JUDGING_WRITE : JUDGING_KEEP;
    judging->own_blank = entry->own_blank;
    judging->inputs.wait_over = over;
    if (!entry->read_error)
        find_pairing(station, entry, waiting, &pairing);
    if (!note_blank(entry, pairing.blank)) {
        judging_free(judging);
        return NULL;
    }
    const struct pellet_worksheet_row *row =
        entry->sample ? worksheet_find(&station->worksheet, entry->sample, entry->pellet) : NULL;
    judging->inputs.session = pellet_arena_string(&judging->arena, entry->session);
    if (entry->read_error) {
        judging->read_error = *entry->read_error;
        judging->inputs.read_error = &judging->read_error;
    }
    if (judging->inputs.session && judging_source(judging, entry, &judging->inputs.subject) &&
        judging_rest_on(judging, &station->index, &pairing) && add_clock_warnings(station, judging, entry) &&
        (!row || judging_set_row(judging, row))) {
        use_given_blank(station, judging);
        return judging;
    }
    judging_free(judging);
    return NULL;
}

/* ---------------------------------------------------------------- judging */

static void submit(struct station *station, struct judging *judging)
{
    judging->entry->stage = ENTRY_JUDGING;
    station->judging++;
    station->servers += is_server(judging->entry);
    workers_submit(station->workers, &judging->job);
}

static void judge_anew(struct station *station, struct entry *entry, bool waiting, bool over)
{
    timeline_remove(&station->waits, entry);
    struct judging *judging = prepare(station, entry, waiting, over);
    if (judging)
        submit(station, judging);
    else
        no_memory(station, entry);
}

static void judge_first(struct station *station, struct entry *entry)
{
    timeline_remove(&station->pending, entry);
    struct judging *judging = NULL;
    /* It stands in the timeline while it is judged, so that the next one sees what came before. */
    if (enter_time(station, entry) && find_session(station, entry))
        judging = prepare(station, entry, false, false);
    if (judging) {
        submit(station, judging);
    } else {
        leave_orders(station, entry);
        entry->stage = ENTRY_SEEN;
        no_memory(station, entry);
    }
    look_after_waits(station);
}

/* The derived files of a valid verdict are missing: made again from exactly what it rests on. */
static void restore_outputs(struct station *station, struct entry *entry,
                            const struct pellet_verdict *verdict)
{
    struct judging *judging = judging_from_verdict(station, entry, verdict);
    if (!judging) {
        no_memory(station, entry);
        return;
    }
    judging->write = JUDGING_RESTORE;
    submit(station, judging);
}

static void restored(struct station *station, struct entry *entry, const struct judging *judging)
{
    entry->stage = ENTRY_DONE;
    if (judging->result == JUDGING_NOT_WRITTEN)
        log_failure(LOG_LEVEL_WARNING, entry->name, &judging->error);
    else if (judging->result != JUDGING_DONE)
        log_say(LOG_LEVEL_NOTICE, entry->name,
                "its derived files cannot be made again: %s is no longer what it was",
                judging->input ? judging->input : "the file");
    station->failed = station->failed || judging->result == JUDGING_NOT_WRITTEN;
}

/* Said once, however many files are kept waiting. */
static void trouble_with_writing(struct station *station, struct entry *entry, const struct judging *judging)
{
    struct station_trouble *trouble = &station->trouble;
    if (!station->options.patient) {
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station->failed = true;
        return;
    }
    if (!trouble->on)
        log_say(LOG_LEVEL_ERROR, station->config->name,
                "%s; verdicts are kept back, and writing is tried again until it works",
                judging->error.message);
    trouble->wait_ms = !trouble->on                            ? TROUBLE_MIN_MS
                       : 2 * trouble->wait_ms > TROUBLE_MAX_MS ? TROUBLE_MAX_MS
                                                               : 2 * trouble->wait_ms;
    trouble->on = true;
    trouble->next_ms = clock_monotonic_ms() + trouble->wait_ms;
}

static void writing_works(struct station *station)
{
    if (station->trouble.on)
        log_say(LOG_LEVEL_NOTICE, station->config->name, "writing works again; catching up");
    station->trouble = (struct station_trouble){0};
    if (station->sync_ms == 0)
        station->sync_ms = clock_monotonic_ms() + SYNC_MS;
}

static void keep_text(struct entry *entry, struct judging *judging)
{
    free(entry->verdict_text);
    entry->verdict_text = judging->kept.data;
    entry->verdict_length = judging->kept.length;
    judging->kept = (struct pellet_text){0};
}

static void judged(struct station *station, struct entry *entry, struct judging *judging)
{
    /* The judge may know the role better than the name; the orders follow it. */
    leave_orders(station, entry);
    entry->stage = ENTRY_DONE;
    entry->attempts = 0;
    if (judging->write == JUDGING_KEEP)
        keep_text(entry, judging);
    else
        writing_works(station);
    if (!adopt_verdict(entry, &judging->verdict) || !enter_time(station, entry) ||
        (entry->waits && !entry->wait_over && !timeline_insert(&station->waits, entry)))
        no_memory(station, entry);
    tell(station, entry, &judging->verdict, true);
}

/* Judged, but the verdict could not be written: whoever asked is told it all the same, once. */
static void not_written(struct station *station, struct entry *entry, struct judging *judging)
{
    if (judging->error.status == PELLET_E_KIND && station->options.patient) {
        /* Something else has the name of its verdict: that is about this file alone, and trying again is no
         * help. */
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        leave_orders(station, entry);
        entry->stage = ENTRY_FOREIGN;
        return;
    }
    trouble_with_writing(station, entry, judging);
    leave_orders(station, entry);
    if (!station->options.patient) {
        (void)pellet_verdict_write(&judging->verdict, &judging->kept);
        judging->write = JUDGING_KEEP;
        judged(station, entry, judging);
        return;
    }
    entry->judged = false;
    entry->stage = ENTRY_READ;
    if (!timeline_insert(&station->pending, entry))
        no_memory(station, entry);
}

/* A file that the verdict was to rest on is no longer what it was: look at that first. */
static void input_changed(struct station *station, struct entry *entry, const struct judging *judging)
{
    struct entry *input = entry_find(&station->index, judging->input);
    leave_orders(station, entry);
    if (input && input != entry) {
        input->judged = false;
        input->must_hash = true;
        station_take(station, input);
    }
    entry->stage = ENTRY_READ;
    if (++entry->attempts > ATTEMPTS_MAX) {
        log_say(LOG_LEVEL_ERROR, entry->name, "%s keeps changing; it was not judged", judging->input);
        station->failed = true;
        entry->stage = ENTRY_SEEN;
    } else if (!timeline_insert(&station->pending, entry)) {
        no_memory(station, entry);
    }
}

static void judging_done(struct station *station, struct judging *judging)
{
    struct entry *entry = judging->entry;
    station->judging--;
    station->servers -= is_server(entry);
    entry->stage = ENTRY_SEEN;
    if (judging->write == JUDGING_RESTORE) {
        restored(station, entry, judging);
        take_if_dirty(station, entry);
        return;
    }
    switch (judging->result) {
    case JUDGING_DONE:
        judged(station, entry, judging);
        break;
    case JUDGING_CHANGED:
        come_again(station, entry);
        break;
    case JUDGING_INPUT_CHANGED:
        input_changed(station, entry, judging);
        break;
    case JUDGING_AWAY:
        leave_orders(station, entry);
        station->away = true;
        if (!station->options.patient) {
            log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
            station->failed = true;
        }
        break;
    case JUDGING_FOREIGN:
        leave_orders(station, entry);
        entry->stage = ENTRY_FOREIGN;
        log_failure(LOG_LEVEL_WARNING, entry->name, &judging->error);
        break;
    case JUDGING_NOT_WRITTEN:
        not_written(station, entry, judging);
        break;
    case JUDGING_FAILED:
        leave_orders(station, entry);
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station->failed = true;
        break;
    }
    take_if_dirty(station, entry);
    look_after_waits(station);
}

/* ---------------------------------------------------------------- waiting for a blank */

static bool attempt_in_hand(struct station *station, const struct entry *entry)
{
    const struct timeline *timeline = time_of(station, entry);
    for (size_t i = timeline->n; entry->sample && i-- > 0;) {
        const struct entry *other = timeline->item[i];
        if (other->stage == ENTRY_JUDGING && other->sample && strcmp(other->sample, entry->sample) == 0)
            return true;
    }
    return false;
}

static bool blank_is_pending(const struct station *station, pellet_ns until)
{
    for (size_t i = 0; i < station->pending.n && station->pending.item[i]->measured <= until; i++) {
        if (station->pending.item[i]->role == PELLET_BLANK)
            return true;
    }
    return false;
}

static bool wait_is_over(struct station *station, const struct entry *entry)
{
    pellet_ns end =
        entry->measured + (pellet_ns)(station->rules.blank_look_ahead_min * 60 * (double)PELLET_NS_PER_S);
    return station->closed || (pairing_is_over(time_of(station, entry), entry, &station->rules) &&
                               !blank_is_pending(station, end));
}

/* Judge one waiting file anew if there is a blank for it now, or if none can come any more. */
static bool look_after(struct station *station, struct entry *entry)
{
    struct pairing pairing;
    find_pairing(station, entry, true, &pairing);
    bool other = pairing.blank && !station->given_spectra &&
                 (!entry->blank || strcmp(pairing.blank->name, entry->blank) != 0 ||
                  strcmp(pairing.blank->sha256, entry->blank_sha256) != 0);
    bool over = !other && wait_is_over(station, entry);
    if (other || over)
        judge_anew(station, entry, true, over);
    return other || over;
}

static void look_after_waits(struct station *station)
{
    if (station->servers > 0 || station->reading > 0 || station->trouble.on || station->halted)
        return;
    for (size_t i = 0; i < station->waits.n;) {
        struct entry *entry = station->waits.item[i];
        /* The next attempt at a sample rests on the verdict of the one before. */
        const bool left = entry->stage == ENTRY_DONE && entry->present && !attempt_in_hand(station, entry) &&
                          look_after(station, entry);
        i += !left;
    }
}

void station_close_session(struct station *station)
{
    station->closed = true;
    look_after_waits(station);
}

/* ---------------------------------------------------------------- handing out */

static bool someone_settles_since(const struct station *station, int64_t ready_ms)
{
    for (size_t i = 0; i < station->timed.n; i++) {
        const struct settle *settle = &station->timed.item[i]->settle;
        if (settle->state != SETTLE_IDLE && settle->first_ms <= ready_ms)
            return true;
    }
    return false;
}

/* A batch that is dropped at once settles one by one; its first file waits a little for the others, so that
 * all of them are judged in their order. */
static bool is_held(const struct station *station, const struct entry *entry)
{
    return station->options.patient && clock_monotonic_ms() < entry->ready_ms + HOLD_MAX_MS &&
           someone_settles_since(station, entry->ready_ms);
}

static bool may_judge(struct station *station, const struct entry *entry)
{
    if (station->trouble.on && (station->judging > 0 || clock_monotonic_ms() < station->trouble.next_ms))
        return false;
    if (station->servers > 0 || (is_server(entry) && station->judging > 0))
        return false;
    return station->judging < 2 * workers_threads(station->workers) && !is_held(station, entry) &&
           (station->judging == 0 || !attempt_in_hand(station, entry));
}

static void hand_out(struct station *station)
{
    const size_t readings_max = 4 * workers_threads(station->workers);
    while (station->ready_first < station->ready.n && station->reading < readings_max)
        start_reading(station, station->ready.item[station->ready_first++]);
    if (station->ready_first == station->ready.n)
        station->ready_first = station->ready.n = 0;
    if (station->reading > 0 || station->ready.n > 0)
        return;
    while (station->pending.n > 0 && may_judge(station, station->pending.item[0]))
        judge_first(station, station->pending.item[0]);
}

/* ---------------------------------------------------------------- making it durable */

static struct station *station_of_sync(struct job *job)
{
    return (struct station *)((char *)job - offsetof(struct station, sync));
}

/* Slow disks take their time for this, so it is a worker's. A failure shows again with the next write. */
static void sync_run(struct job *job)
{
    (void)pellet_sync_folder(station_of_sync(job)->place.output, NULL);
}

static void sync_if_due(struct station *station)
{
    if (station->sync_ms == 0 || station->syncing || clock_monotonic_ms() < station->sync_ms)
        return;
    station->sync_ms = 0;
    station->syncing = true;
    station->sync.run = sync_run;
    workers_submit(station->workers, &station->sync);
}

/* ---------------------------------------------------------------- the turn of the wheel */

static void collect(struct station *station)
{
    for (struct job *job = workers_collect(station->workers); job; job = workers_collect(station->workers)) {
        if (job->run == sync_run) {
            station->syncing = false;
        } else if (job->run == reading_run) {
            reading_done(station, (struct reading *)job);
            reading_free((struct reading *)job);
        } else {
            judging_done(station, (struct judging *)job);
            judging_free((struct judging *)job);
        }
    }
}

/* When the session counts as over: nothing has come for its gap. */
static int64_t quiet_ms(const struct station *station)
{
    return station->activity_ms + (int64_t)(station->rules.session_gap_h * 3600000.0);
}

static void close_if_quiet(struct station *station)
{
    if (station->options.patient && station->waits.n > 0 && !station->closed && station_idle(station) &&
        clock_monotonic_ms() >= quiet_ms(station))
        station_close_session(station);
}

void station_work(struct station *station)
{
    collect(station);
    if (station->halted)
        return;
    hand_out(station);
    if (station->reading == 0 && station->ready.n == 0)
        look_after_waits(station);
    sync_if_due(station);
    close_if_quiet(station);
}

int64_t station_wakes_ms(const struct station *station)
{
    int64_t wakes_ms = INT64_MAX;
    if (station->trouble.on)
        wakes_ms = station->trouble.next_ms;
    else if (station->pending.n > 0 && station->judging == 0)
        wakes_ms = station->pending.item[0]->ready_ms + HOLD_MAX_MS;
    if (station->sync_ms > 0 && !station->syncing && station->sync_ms < wakes_ms)
        wakes_ms = station->sync_ms;
    if (station->waits.n > 0 && !station->closed && quiet_ms(station) < wakes_ms)
        wakes_ms = quiet_ms(station);
    return wakes_ms;
}

bool station_idle(const struct station *station)
{
    return station->reading == 0 && station->judging == 0 && station->ready.n == 0 && station->pending.n == 0;
}

void station_finish(struct station *station)
{
    while (!station_idle(station)) {
        station_work(station);
        if (station->reading > 0 || station->judging > 0)
            workers_wait(station->workers);
        else if (station->ready.n == 0 && station->pending.n > 0)
            break; /* held back by trouble with writing */
    }
}

void station_halt(struct station *station)
{
    station->halted = true;
    station->ready.n = station->ready_first = 0;
    while (station->reading > 0 || station->judging > 0 || station->syncing) {
        workers_wait(station->workers);
        collect(station);
    }
    if (station->writes && station->sync_ms > 0)
        (void)pellet_sync_folder(station->place.output, NULL);
}
