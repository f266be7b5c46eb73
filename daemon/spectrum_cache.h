// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Spectra that were read lately, by the hash of their content. Bounded in bytes: the least recently used go
 * first. Safe to use from several threads; what is handed out stays as it is until it is given back.
 */
#ifndef PELLETD_SPECTRUM_CACHE_H
#define PELLETD_SPECTRUM_CACHE_H

#include "pellet/spectrum.h"

struct spectrum_cache;

struct cached_spectra {
    struct pellet_spectra spectra;
    char sha256[PELLET_SHA256_HEX];
    size_t bytes;
    /* The cache's own. */
    unsigned users;
    bool listed;
    struct cached_spectra *newer, *older; /* in the order of their use */
    struct cached_spectra *next;          /* in their bucket */
};

struct spectrum_cache *spectrum_cache_new(size_t bytes_max); /* NULL: no memory */
void spectrum_cache_free(struct spectrum_cache *cache);      /* everything must have been given back */

/* The spectra of that content, or NULL; give them back. */
struct cached_spectra *spectrum_cache_get(struct spectrum_cache *cache, const char *sha256);
/*
 * Take over `spectra` (they are empty afterwards) and hand them out as one use; give them back. Where the
 * content is there already, that is handed out. NULL: no memory, and `spectra` is as it was.
 */
struct cached_spectra *spectrum_cache_put(struct spectrum_cache *cache, const char *sha256,
                                          struct pellet_spectra *spectra);
void spectrum_cache_give_back(struct spectrum_cache *cache,
                              struct cached_spectra *spectra); /* NULL allowed */

#endif
