// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Looking at one file: has it a valid verdict for its present content, and if not, what is in it? A job for a
 * worker. It reads and decides nothing else.
 */
#ifndef PELLETD_READING_H
#define PELLETD_READING_H

#include "entry.h"
#include "place.h"
#include "workers.h"

enum reading_result {
    READING_KNOWN,   /* its verdict is valid */
    READING_FOREIGN, /* its verdict is of a newer format */
    READING_NEW,     /* to be judged; `error` is set where it could not be read as a spectrum */
    READING_CHANGED, /* it changed meanwhile: let it settle anew */
    READING_GONE,    /* it is no longer there */
    READING_TROUBLE  /* busy, denied or an input error: `error` says so; worth another try */
};

/* What a file's name and content say. Strings and settings are owned. */
struct content {
    char sha256[PELLET_SHA256_HEX]; /* "" where the content could not be read at all */
    enum pellet_role role;
    char *sample; /* NULL for blanks and the like */
    int pellet, scan;
    pellet_ns measured;
    enum pellet_time_from measured_from;
    bool label_missing; /* the station wants the file's own time, and there is none */
    struct entry_settings settings;
    bool own_blank;
};

struct reading {
    struct job job;
    const struct place *place;
    struct entry *entry; /* for the station; the worker does not touch it */
    char *name;
    bool must_hash;     /* an event says that the content may have changed whatever its mtime */
    bool trust_nothing; /* read and judge anew even where the verdict is valid */
    bool last_try;      /* trouble becomes a verdict */
    bool whole;         /* a valid verdict is wanted with all its lists */
    bool wants_outputs; /* see to it that the files that a valid verdict lists are there */
    char *kept;         /* a verdict that was not written to a file, else NULL; owned */
    size_t kept_length;

    enum reading_result result;
    struct pellet_error error;
    struct pellet_file_id id;
    bool read; /* `content` is set */
    struct content content;
    bool has_verdict;              /* `verdict` is set: valid, or of an older content */
    struct pellet_verdict verdict; /* read briefly, unless it was wanted whole or `outputs_missing` */
    bool outputs_missing;          /* a valid verdict lists derived files that are not there */
};

/* Whether a trouble with a file may pass by itself: it says nothing of its content. */
bool reading_may_pass(pellet_status status);

struct reading *reading_new(const struct place *place, struct entry *entry); /* NULL: no memory */
void reading_free(struct reading *reading);
void reading_run(struct job *job);
void content_clear(struct content *content);

/*
 * Which block of a file is the sample and which its own blank.
 *
 * Returned:  subject, blank  indices; blank is (size_t)-1 where there is none
 * Errors:    E_FORMAT where the file holds several spectra that are not one sample and its blank; the message
 *            lists them by title and role
 */
pellet_status blocks_choose(const struct station_config *config, const struct pellet_spectra *spectra,
                            size_t *subject, size_t *blank, struct pellet_error *error);

/* Read a spectrum file whole: its bytes' hash and, where they can be read, its blocks in the cache. */
pellet_status spectra_load(const struct place *place, const char *name, struct pellet_file_id *id,
                           char sha256[PELLET_SHA256_HEX], struct cached_spectra **spectra,
                           struct pellet_error *error);

#endif
