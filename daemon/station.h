// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * One station at work: files that are ready go in, verdicts come out, in the order of measured time. One
 * thread owns a station; workers only see what they are given. `judge` drives it until all is done, `watch`
 * for as long as it runs.
 */
#ifndef PELLETD_STATION_H
#define PELLETD_STATION_H

#include "config.h"
#include "entry.h"
#include "judging.h"
#include "pairing.h"
#include "place.h"
#include "reading.h"
#include "workers.h"
#include "worksheet.h"

#include <sys/stat.h>

struct station;

/* How a command wants its station. Zero is: one thread for each processor, write, do not judge again. */
struct station_options {
    unsigned jobs;
    bool again;          /* judge anew whatever has a verdict */
    bool look_only;      /* read verdicts and judge nothing */
    bool keep;           /* write nothing: verdicts stay in memory */
    bool whole_verdicts; /* tell of valid verdicts with all their lists, which takes longer to read */
    bool patient;        /* there is time: wait for files to settle, for busy ones and for room on the disk */
    const char *blank;   /* pair every sample with this file; NULL: as the rules say */
    /* Told of every verdict, on the station's thread; `fresh` where it was given just now. NULL allowed. */
    void (*on_verdict)(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh);
    /* Told where a spectrum with a verdict has gone or is back, on the station's thread. NULL allowed. */
    void (*on_moved)(void *context, const struct entry *entry);
    /* Called again and again while station_finish works. NULL allowed. */
    void (*on_turn)(void *context, const struct station *station);
    void *context;
};

/* Trouble with writing: what is judged waits until there is room again. */
struct station_trouble {
    bool on;
    int64_t next_ms; /* when to try again */
    int64_t wait_ms; /* how long to wait after that */
};

struct station {
    const struct station_config *config;
    struct station_options options;
    struct pellet_rules rules;
    struct place place;
    int lock; /* -1 while it is not ours */
    bool writes;
    bool failed;         /* something could not be read or written by us */
    bool overlooked;     /* something could not be looked at: scan again soon */
    int64_t doubt_ms;    /* since when not all is known that verdicts may rest on; 0: all is */
    unsigned doubt_scan; /* the scan after which that was noticed last */
    bool unlisted_rules; /* rules are to be cleared */
    struct workers *workers;

    struct entry_index index;
    struct measured time[2];     /* by enum pellet_time_from: what was judged or is being judged */
    struct measured pending;     /* read, to be judged */
    struct timeline waits[2];    /* judged, waiting for a blank; by enum pellet_time_from */
    struct entry_list waits_new; /* those among them whose blank may be there already */
    bool new_server;             /* a verdict on a blank was given: all that wait may be served */
    struct entry_list ready;     /* to be read, first come first served from `ready_first` */
    size_t ready_first;
    struct entry_list late;  /* to be read when all of the batch is done, see station_batch.c */
    int64_t batch_ms;        /* when the first of the batch was ready; 0: nothing is going on */
    struct entry_list timed; /* settling or to be looked at again */
    struct settle_times settle;
    unsigned scan;
    size_t gone;               /* how many files went since those that left nothing were forgotten */
    struct pellet_text unread; /* sub-folders that the last scan could not read, and why, a line each */

    size_t reading, judging, ahead; /* with the workers */
    size_t foreseen;                /* judged ahead: with the workers, or kept until their turn */
    struct entry *in_hand;          /* what is given its first verdict now; NULL: nothing */
    struct station_trouble trouble;
    int64_t sync_ms;     /* when what was written is to be made durable; 0: nothing was */
    int64_t activity_ms; /* when something came last */
    struct job sync;     /* makes durable what was written */
    bool syncing;
    bool halted;
    bool away;   /* a worker found that the folder is no longer where it was */
    bool closed; /* the session is over: nothing is waited for */

    struct worksheet worksheet;
    struct pellet_file_id worksheet_id;
    bool starting;       /* the first scan goes on */
    bool start_is_done;  /* what that found has been dealt with, if there was anything */
    bool sheet_late;     /* it is to be looked at when all of the batch is done */
    bool sheet_outdated; /* some verdicts rest on other rows: see sheet_changed of their entries */
    struct pellet_source given_blank; /* options.blank, once it was read and judged */
    struct cached_spectra *given_spectra;
    struct pellet_arena arena;
    pellet_ns since;
};

/*
 * Open a station: rule set, folders, lock. A lock that somebody else holds is told as E_BUSY in `lock_error`
 * and the station works without writing; `keep` never asks for it.
 *
 * Returned:  station  free it; untouched on error. `config` is borrowed for its life.
 */
pellet_status station_open(const struct station_config *config, const struct station_options *options,
                           struct station **station, struct pellet_error *lock_error,
                           struct pellet_error *error);
void station_free(struct station *station); /* waits for the files in hand; NULL allowed */

/* Read a rule set by name, or from a file where the name holds '/' or '.yaml'. */
pellet_status rules_find(const char *name, struct pellet_rules *rules, struct pellet_error *error);

/* ---------------------------------------------------------------- what comes in (station_scan.c) */

/* Look through the whole folder. E_MISSING and the like where the folder itself cannot be read: then nothing
 * counts as gone. */
pellet_status station_scan(struct station *station, bool first,
                           void (*on_folder)(void *context, const char *name), void *context,
                           struct pellet_error *error);
/* Remove the temporaries that a killed program left in the output folder, down to `depth`. */
void station_sweep(const struct station *station, const char *folder, int64_t depth);

/* ---------------------------------------------------------------- and file by file (station_arrive.c) */

/* A file that was named by a person, whatever its name: the entry, or NULL where there is no such file. */
struct entry *station_want(struct station *station, const char *name);
/* Something happened to a file: an event, with the file's present state where it is there. */
void station_event(struct station *station, const char *name, enum settle_event event);
/* Look at what has become due; returns when to look again (monotonic ms), INT64_MAX for never. */
int64_t station_due(struct station *station, int64_t now_ms);
/*
 * Something could not be seen that other verdicts may rest on. A patient station looks again and judges
 * nothing until it has, though it does not wait for ever; `judge` from now on tells its verdicts and writes
 * none, because one without the blank that could not be read would stay.
 */
void station_doubt(struct station *station);
/* Read the worksheet if it changed, and judge anew what waits for a fact from it. */
void station_read_worksheet(struct station *station);
/* Judge anew the first of those whose rows are others now; one by one, since attempts rest on each other. */
void station_judge_outdated(struct station *station);

/* ---------------------------------------------------------------- what goes on (station_work.c and what it
 * calls) */

/* The file is ready to be read. */
void station_take(struct station *station, struct entry *entry);
/* Hand out work and collect what is done. Never waits. */
void station_work(struct station *station);
/* Nothing is in hand, and nothing can be done now. */
bool station_idle(const struct station *station);
/* Work until nothing is left, waiting for the workers. */
void station_finish(struct station *station);
/* Take up nothing more and wait for what the workers have in hand; what they finish still counts. */
void station_halt(struct station *station);
/* When it wants to be worked at next, apart from events and workers (monotonic ms); INT64_MAX for never. */
int64_t station_wakes_ms(const struct station *station);
/* Nothing more will come: what waits for a blank is told so. */
void station_close_session(struct station *station);
/* A verdict is out of date (deleted, or a fact is new): judge its file anew. */
void station_forget(struct station *station, struct entry *entry);

#endif
