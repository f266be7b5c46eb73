// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What the files of a station share among themselves. In the order of a file's way: it is taken
 * (station_order.c), read (station_read.c), prepared (station_prepare.c), perhaps judged ahead
 * (station_ahead.c), judged (station_judge.c), and may wait for a blank (station_wait.c); station_work.c
 * turns the wheel.
 */
#ifndef PELLETD_STATION_PARTS_H
#define PELLETD_STATION_PARTS_H

#include "station.h"

#define ATTEMPTS_MAX   8     /* at a file that keeps changing under us */
#define DOUBT_MAX_MS   10000 /* what cannot be looked at by then does not keep the others waiting */
#define RETRY_UNTIL_MS 60000 /* a busy or denied file is looked at again; after that, a verdict says so */

/* ---------------------------------------------------------------- the orders (station_order.c) */

/* The entries of its kind of time. */
struct measured *station_time_of(struct station *station, const struct entry *entry);
/* It is no longer to be judged next. */
void station_leave_pending(struct station *station, struct entry *entry);
/* Its time and role may change after this. */
void station_leave_orders(struct station *station, struct entry *entry);
bool station_enter_time(struct station *station, struct entry *entry); /* false: no memory */
/* It is not what it was thought to be: let it settle anew, or have another look where nothing settles. */
void station_come_again(struct station *station, struct entry *entry);
/* Whatever happened while a worker had it is looked at now. */
void station_take_if_dirty(struct station *station, struct entry *entry);
/* Until when nothing is judged because of a doubt (monotonic ms); 0 where there is none. */
int64_t station_doubts_until_ms(const struct station *station);
bool station_in_doubt(const struct station *station);
/* All that was found since the doubt is dealt with. */
void station_end_doubt(struct station *station);
/* It is taken up again by the next scan, which comes soon. */
void station_no_memory(struct station *station, struct entry *entry);
/* It has this verdict now: it takes its place among what was judged and, if so, among what waits. False: no
 * memory. */
bool station_adopt(struct station *station, struct entry *entry, const struct pellet_verdict *verdict);

/* ---------------------------------------------------------------- what is dealt with together
 * (station_batch.c) */

/* What comes now has to wait until all of the batch is done. */
bool station_is_late(const struct station *station);
/* To be read, with the batch or after it. False: no memory. */
bool station_join_batch(struct station *station, struct entry *entry);
/* As station_take, for a file that others rest on: never late. */
void station_take_needed(struct station *station, struct entry *entry);
bool station_batch_is_done(const struct station *station);
/* Where it is, what came late is the next one. */
void station_next_batch(struct station *station);

/* ---------------------------------------------------------------- what comes in (station_arrive.c) */

/* A scan found it: is it new, is it another than it was, or has its verdict gone? */
void station_found_file(struct station *station, const char *name, const struct stat *st);
/* Whether a regular file of that name is there, and its state; `unsure` where it could not be looked at. */
bool station_look(struct station *station, const char *name, struct stat *st, bool *unsure);
/* Its file is there, or is not; who wants to know of one with a verdict is told where that has changed. */
void station_mark_present(struct station *station, struct entry *entry, bool present);

/* Whether a file of that name has a verdict; also where that cannot be told now. */
bool station_verdict_is_there(const struct station *station, const char *name);

/* ---------------------------------------------------------------- what has gone (station_gone.c) */

/* Once many are gone, forget those that left nothing behind. */
void station_forget_gone(struct station *station);

/* ---------------------------------------------------------------- the worksheet (station_sheet.c) */

/* Note it where a verdict of before we started rests on other rows of the worksheet than there are now. One
 * whose rows are gone stays: an old worksheet may have been put away. */
void station_check_rows(struct station *station, struct entry *entry, const struct pellet_verdict *verdict);

/* ---------------------------------------------------------------- reading (station_read.c) */

void station_start_reading(struct station *station, struct entry *entry);
void station_reading_done(struct station *station, struct reading *reading);
/* What a verdict says of its file and of itself. False: no memory. */
bool entry_adopt_verdict(struct entry *entry, const struct pellet_verdict *verdict);
void station_tell(struct station *station, struct entry *entry, const struct pellet_verdict *verdict,
                  bool fresh);

/* ---------------------------------------------------------------- what it rests on (station_prepare.c) */

/* Reads the settings of blanks and open beams that were only known by their verdicts. False: one of them was
 * no longer what its verdict says, or could not be read; it is to be read again before anything else. */
bool station_find_pairing(struct station *station, struct entry *entry, bool waiting,
                          struct pairing *pairing);
/* The session it belongs to, into the entry. False: no memory, or as above. */
bool station_find_session(struct station *station, struct entry *entry);
/* A judging ready for a worker; NULL: no memory, or as above. `waiting` and `over` as in pairing_find and the
 * inputs. */
struct judging *station_prepare(struct station *station, struct entry *entry, bool waiting, bool over);
/* The same before its turn, with the `n` files that are judged before it; NULL also where it cannot be told
 * what it will rest on. */
struct judging *station_prepare_ahead(struct station *station, struct entry *entry,
                                      const struct entry *const before[], size_t n);

/* ---------------------------------------------------------------- judging (station_judge.c) */

/* The first of those that are pending. */
void station_judge_first(struct station *station, struct entry *entry);
/* One that has a verdict already. */
void station_judge_anew(struct station *station, struct entry *entry, bool waiting, bool over);
/* The derived files of a valid verdict are missing: made again from exactly what it rests on. */
void station_restore_outputs(struct station *station, struct entry *entry,
                             const struct pellet_verdict *verdict);
void station_judging_done(struct station *station, struct judging *judging);

/* ---------------------------------------------------------------- judging ahead (station_ahead.c) */

/* Have the next of those that are pending judged by idle threads, as far as it can be told what they will
 * rest on. */
void station_judge_ahead(struct station *station);
void station_ahead_done(struct station *station, struct judging *judging);
/* Its turn has come, and no worker has it. Returns what to go on with: what was judged ahead if that rests on
 * the same as `judging`, else `judging`; the other is freed. */
struct judging *station_take_ahead(struct station *station, struct judging *judging);
/* It leaves those that are pending, or may be another file by now. */
void station_drop_ahead(struct station *station, struct entry *entry);

/* ---------------------------------------------------------------- waiting (station_wait.c) */

void station_look_after_waits(struct station *station);

#endif
