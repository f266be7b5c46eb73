// SPDX-License-Identifier: GPL-3.0-or-later
#include "spectrum_cache.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/* Small spectra fit in by the ten thousand. */
#define BUCKETS 4096

struct spectrum_cache {
    pthread_mutex_t mutex;
    size_t bytes, bytes_max;
    struct cached_spectra *newest, *oldest;
    struct cached_spectra *bucket[BUCKETS];
};

/* The hashes are evenly spread, so their first digits will do. */
static struct cached_spectra **bucket_of(struct spectrum_cache *cache, const char *sha256)
{
    const char digits[] = {sha256[0], sha256[1], sha256[2], '\0'};
    return &cache->bucket[strtoul(digits, NULL, 16) % BUCKETS];
}

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
    struct cached_spectra **link = bucket_of(cache, item->sha256);
    while (*link != item)
        link = &(*link)->next;
    *link = item->next;
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
    struct cached_spectra **bucket = bucket_of(cache, item->sha256);
    item->next = *bucket;
    *bucket = item;
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
    struct cached_spectra *item = *bucket_of(cache, sha256);
    while (item && strcmp(item->sha256, sha256) != 0)
        item = item->next;
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
