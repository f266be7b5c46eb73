// SPDX-License-Identifier: GPL-3.0-or-later
/* What a station knows of each of its files, and the two orders it keeps them in: by name and by time. */
#ifndef PELLETD_ENTRY_H
#define PELLETD_ENTRY_H

#include "pellet/judge.h"
#include "settle.h"

/* What a file says of how it was measured; known once it was read in this run. */
struct entry_settings {
    bool known;
    bool single_beam;
    double spacing;                     /* of its points, cm-1; 0 where not known */
    double resolution;                  /* NaN where not stated */
    char *stated[PELLET_SETTING_COUNT]; /* NULL where not stated; owned */
};

struct judging;

/* Where a file is on its way to a verdict. */
enum entry_stage {
    ENTRY_SEEN,    /* nothing is known but its name and perhaps that it is settling */
    ENTRY_READY,   /* to be read */
    ENTRY_READING, /* a worker reads it */
    ENTRY_READ,    /* to be judged */
    ENTRY_JUDGING, /* a worker judges it and writes its outputs */
    ENTRY_DONE,    /* it has its verdict */
    ENTRY_FOREIGN, /* its verdict is of a newer format: left alone */
    ENTRY_IGNORED  /* older than the station's `since` */
};

struct entry {
    char *name; /* relative to the station folder; owned */
    enum entry_stage stage;
    bool present;
    bool must_hash;     /* an event says that the content may have changed, whatever its mtime */
    bool dirty;         /* it became ready again while a worker had it: take it once more afterwards */
    bool sheet_changed; /* its verdict rests on another row of the worksheet: judge it once more */
    bool peek;          /* still young: only see whether its verdict is valid, else let it settle */
    bool wanted;        /* what is asked for; others only serve */
    bool needed;        /* others rest on it and cannot be judged before it was read */
    struct settle settle;
    int64_t ready_ms;         /* when it was ready to be judged */
    int64_t retry_ms;         /* when to look again at a file that was busy or denied; 0: not at all */
    int64_t retry_until_ms;   /* when to give up; 0 while there is no trouble */
    unsigned attempts;        /* at judging this content that came to nothing */
    unsigned scan;            /* the last scan that saw it */
    struct pellet_file_id id; /* as last read, or as its valid verdict says */

    /* The content, known from reading it or from its valid verdict. */
    char sha256[PELLET_SHA256_HEX];
    enum pellet_role role;
    char *sample; /* NULL for blanks and the like; owned */
    int pellet, scan_number;
    pellet_ns measured;
    enum pellet_time_from measured_from;
    bool label_missing; /* the station wants the file's own time, and it states none */
    struct entry_settings settings;
    bool own_blank; /* the file holds the sample and its blank */

    /* The verdict. */
    bool judged;          /* there is one for this content; what follows is its own */
    pellet_ns verdict_at; /* when it was given */
    enum pellet_outcome outcome;
    enum pellet_blank_state state;
    bool becomes_reference;
    bool waits;     /* a new blank would have it judged again */
    bool wait_over; /* it was told that none will come */
    char *session;  /* owned */
    char *blank;    /* the blank it was paired with, NULL for none; owned */
    char blank_sha256[PELLET_SHA256_HEX];
    char *verdict_text; /* only where verdicts are not written; owned */
    size_t verdict_length;
    struct pellet_error *read_error; /* why its content could not be read, else NULL; owned */
    char *line;                      /* what a command will print of it; owned */

    struct judging *ahead; /* its judging before its turn has come, see station_ahead.c; NULL: none */

    /* Its place in the orders. */
    bool in_time; /* it stands in the timeline of its kind of time */
    bool timed;   /* it stands in the list of those with something due */
    bool held;    /* some list holds it, while those that are gone are forgotten */
    size_t next;  /* in the index's bucket */
};

/* ---------------------------------------------------------------- by name */

struct entry_index {
    size_t n, capacity;
    struct entry **item; /* in the order of arrival; owned */
    size_t bucket_count;
    size_t *bucket;  /* index + 1 of the first entry, 0 for none */
    uint64_t key[2]; /* of the hash: names are chosen by whoever writes to the folder */
};

struct entry *entry_find(const struct entry_index *index, const char *name); /* NULL where there is none */
struct entry *entry_add(struct entry_index *index, const char *name);        /* NULL: no memory */
/* Remove and free those that may go; the others keep their order. */
void entry_index_drop(struct entry_index *index, bool (*may_go)(void *context, struct entry *entry),
                      void *context);
void entry_index_free(struct entry_index *index);

/* Replace an owned string; false when memory ran out (the old one stays). */
bool entry_set_string(char **place, const char *value);
void entry_settings_clear(struct entry_settings *settings);

/* ---------------------------------------------------------------- a plain list */

struct entry_list {
    size_t n, capacity;
    struct entry **item; /* borrowed */
};

bool entry_list_add(struct entry_list *list, struct entry *entry); /* false: no memory */
void entry_list_remove(struct entry_list *list, const struct entry *entry);
bool entry_list_has(const struct entry_list *list, const struct entry *entry);
void entry_list_free(struct entry_list *list);

/* ---------------------------------------------------------------- by time */

/* Entries in the order in which they are judged. Borrowed from the index. */
struct timeline {
    size_t n;
    struct entry **item;  /* within `block`, with room on both sides: most come last, and the first go */
    struct entry **block; /* owned */
    size_t capacity;
};

/* By measured time, then blanks and open beams first, then by name. */
int entry_compare(const struct entry *a, const struct entry *b);

/* `measured`, `role` and name must not change while an entry stands in one. */
bool timeline_insert(struct timeline *timeline, struct entry *entry); /* false: no memory */
bool timeline_remove(struct timeline *timeline, struct entry *entry); /* false: it was not there */
/* How many entries come before `entry`, whether it stands in the timeline or not. */
size_t timeline_rank(const struct timeline *timeline, const struct entry *entry);
/* How many entries were measured at or before `time`. */
size_t timeline_count_until(const struct timeline *timeline, pellet_ns time);
void timeline_free(struct timeline *timeline);

/* All entries, and once more those among them that others rest on, so that the search for a blank does not
 * pass by thousands of samples. */
struct measured {
    struct timeline all, servers;
};

/* Blanks and open beams: what follows rests on their verdicts. */
bool entry_is_server(const struct entry *entry);
bool measured_insert(struct measured *measured, struct entry *entry); /* false: no memory */
bool measured_remove(struct measured *measured, struct entry *entry); /* false: it was not there */
void measured_free(struct measured *measured);

#endif
