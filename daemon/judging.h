// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Judging one file: a job for a worker. The station says what the verdict is to rest on (judging_basis.c);
 * the worker reads that (judging_load.c), asks pellet_judge, and publishes. The first two may be done ahead,
 * as a job of their own, and the last when the file's turn has come.
 */
#ifndef PELLETD_JUDGING_H
#define PELLETD_JUDGING_H

#include "entry.h"
#include "pairing.h"
#include "place.h"
#include "workers.h"
#include "worksheet.h"

enum judging_result {
    JUDGING_DONE,
    JUDGING_CHANGED,       /* the file is no longer what was to be judged */
    JUDGING_INPUT_CHANGED, /* one that the verdict rests on is not; `input` names it */
    JUDGING_AWAY,          /* the station folder is no longer where it was: nothing was written */
    JUDGING_FOREIGN,       /* its verdict is of a newer format */
    JUDGING_NOT_WRITTEN,   /* judged, but `error` kept it from being written */
    JUDGING_FAILED         /* no memory, or something the program does not understand */
};

enum judging_write { JUDGING_WRITE, JUDGING_KEEP, JUDGING_RESTORE };

#define JUDGING_HELD_MAX 24

struct judging {
    struct job job;
    const struct place *place;
    struct entry *entry; /* for the station; the worker does not touch it */
    struct pellet_file_id id;
    bool own_blank;
    enum judging_write write;
    bool under_way; /* judged ahead: a worker has it */

    /* All but the spectra are set by the station; `arena` owns what they point to. */
    struct pellet_arena arena;
    struct pellet_inputs inputs;
    struct pellet_error read_error;
    struct pellet_source blank, open_beam, first_blank;
    size_t earlier_count, attempt_count;
    struct pellet_earlier earlier[PAIRING_EARLIER_MAX];
    struct pellet_attempt attempt[PAIRING_ATTEMPT_MAX];
    struct attempt_verdict {
        pellet_ns given;
        const char *kept; /* where it is not in a file */
        size_t kept_length;
        struct pellet_verdict verdict;
        bool has_verdict;
    } attempt_verdict[PAIRING_ATTEMPT_MAX];
    bool exact;               /* nothing may be left out: for --verify */
    struct pellet_text basis; /* all of this in words: see judging_rests_on_the_same */

    enum judging_result result;
    struct pellet_error error;
    const char *input;  /* see above */
    const char *unread; /* a file that is there and could not be read now; NULL: none */
    bool judged;        /* `verdict` is set */
    struct pellet_verdict verdict;
    struct pellet_spectrum ratio;
    struct pellet_text kept; /* the verdict's text where it is not written */
    size_t held_count;
    struct cached_spectra *held[JUDGING_HELD_MAX];
};

struct judging *judging_new(const struct place *place, struct entry *entry, const struct pellet_file_id *id);
void judging_free(struct judging *judging); /* NULL allowed */
/* Judge, unless that was done ahead, and publish. */
void judging_run(struct job *job);
/* Only judge, so that judging_run publishes. */
void judging_run_ahead(struct job *job);

/* Set what the verdict is to rest on. False: no memory. */
bool judging_rest_on(struct judging *judging, const struct entry_index *index, const struct pairing *pairing);
bool judging_warn(struct judging *judging, const char *warning);
/* The rows of the subject and of its attempts, which must have been set before. */
bool judging_set_rows(struct judging *judging, const struct worksheet *worksheet);
bool judging_source(struct judging *judging, const struct entry *entry, struct pellet_source *source);
/* Put the basis into words, once all of it is set and before a worker has it. False: no memory. */
bool judging_describe(struct judging *judging);
/* Whether two judgings of one content would come to the same verdict. */
bool judging_rests_on_the_same(const struct judging *a, const struct judging *b);

/* Read what it rests on; false: `result` and `input` say what is missing. */
bool judging_load(struct judging *judging);
/* Read all spectra and judge, but write nothing: result is JUDGING_DONE or says what is missing. */
void judging_judge(struct judging *judging);

#endif
