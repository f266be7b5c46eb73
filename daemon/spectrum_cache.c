// SPDX-License-Identifier: GPL-3.0-or-later
#include "spectrum_cache.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/* A station works with a handful of files at a time, so the list is short and is simply walked. */
struct spectrum_cache {
    pthread_mutex_t mutex;
    size_t bytes, bytes_max;
    struct cached_spectra *newest, *oldest;
};

struct spectrum_cache *spectrum_cache_new(size_t bytes_max)
{
    struct spectrum_cache *cache = calloc(1, sizeof *cache);
    if (cache) {
        pthread_mutex_init(&cache->mutex, NULL);
        cache->bytes_max = bytes_max;
    }
    return cache;
}

static void unlist(struct spectrum_cache *cache, struct cached_spectra *item)
{
    if (item->newer)
        item->newer->older = item->older;
    else
        cache->newest = item->older;
    if (item->older)
        item->older->newer = item->newer;
    else
        cache->oldest = item->newer;
    item->newer = item->older = NULL;
    item->listed = false;
    cache->bytes -= item->bytes;
}

static void list_newest(struct spectrum_cache *cache, struct cached_spectra *item)
{
    item->older = cache->newest;
    item->newer = NULL;
    if (cache->newest)
        cache->newest->newer = item;
    else
        cache->oldest = item;
    cache->newest = item;
    item->listed = true;
    cache->bytes += item->bytes;
}

static void destroy(struct cached_spectra *item)
{
    pellet_spectra_clear(&item->spectra);
    free(item);
}

void spectrum_cache_free(struct spectrum_cache *cache)
{
    if (!cache)
        return;
    for (struct cached_spectra *item = cache->newest, *older; item; item = older) {
        older = item->older;
        destroy(item);
    }
    pthread_mutex_destroy(&cache->mutex);
    free(cache);
}

static struct cached_spectra *find(struct spectrum_cache *cache, const char *sha256)
{
    struct cached_spectra *item = cache->newest;
    while (item && strcmp(item->sha256, sha256) != 0)
        item = item->older;
    if (item) {
        unlist(cache, item);
        list_newest(cache, item);
        item->users++;
    }
    return item;
}

/* What is in use leaves the list all the same; its last user frees it. */
static void make_room(struct spectrum_cache *cache)
{
    for (struct cached_spectra *item = cache->oldest, *newer; item && cache->bytes > cache->bytes_max;
         item = newer) {
        newer = item->newer;
        unlist(cache, item);
        if (item->users == 0)
            destroy(item);
    }
}

struct cached_spectra *spectrum_cache_get(struct spectrum_cache *cache, const char *sha256)
{
    pthread_mutex_lock(&cache->mutex);
    struct cached_spectra *item = find(cache, sha256);
    pthread_mutex_unlock(&cache->mutex);
    return item;
}

static size_t bytes_of(const struct pellet_spectra *spectra)
{
    size_t bytes = sizeof(struct cached_spectra);
    for (size_t i = 0; i < spectra->n; i++)
        bytes += sizeof(struct pellet_spectrum) + 2 * spectra->item[i].n * sizeof(double);
    return bytes;
}

struct cached_spectra *spectrum_cache_put(struct spectrum_cache *cache, const char *sha256,
                                          struct pellet_spectra *spectra)
{
    pthread_mutex_lock(&cache->mutex);
    struct cached_spectra *item = find(cache, sha256);
    if (item) {
        pellet_spectra_clear(spectra);
    } else if ((item = calloc(1, sizeof *item))) {
        item->spectra = *spectra;
        *spectra = (struct pellet_spectra){0};
        memcpy(item->sha256, sha256, sizeof item->sha256);
        item->bytes = bytes_of(&item->spectra);
        item->users = 1;
        list_newest(cache, item);
        make_room(cache);
    }
    pthread_mutex_unlock(&cache->mutex);
    return item;
}

void spectrum_cache_give_back(struct spectrum_cache *cache, struct cached_spectra *item)
{
    if (!item)
        return;
    pthread_mutex_lock(&cache->mutex);
    if (--item->users == 0 && !item->listed)
        destroy(item);
    pthread_mutex_unlock(&cache->mutex);
}
