// SPDX-License-Identifier: GPL-3.0-or-later
#include "entry.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

static size_t bucket_of(const struct entry_index *index, const char *name)
{
    return pellet_keyed_hash(index->key, name, strlen(name)) % index->bucket_count;
}

struct entry *entry_find(const struct entry_index *index, const char *name)
{
    if (index->bucket_count == 0)
        return NULL;
    size_t i = index->bucket[bucket_of(index, name)];
    while (i > 0 && strcmp(index->item[i - 1]->name, name) != 0)
        i = index->item[i - 1]->next;
    return i > 0 ? index->item[i - 1] : NULL;
}

static void link_entry(struct entry_index *index, size_t i)
{
    size_t *head = &index->bucket[bucket_of(index, index->item[i]->name)];
    index->item[i]->next = *head;
    *head = i + 1;
}

static void link_all(struct entry_index *index)
{
    if (index->bucket_count == 0)
        return;
    memset(index->bucket, 0, index->bucket_count * sizeof *index->bucket);
    for (size_t i = 0; i < index->n; i++)
        link_entry(index, i);
}

static bool grow(struct entry_index *index)
{
    size_t capacity = index->capacity ? 2 * index->capacity : 64;
    /* Without it the table works as well, but names could be chosen that make it slow. */
    if (index->capacity == 0)
        (void)getrandom(index->key, sizeof index->key, GRND_NONBLOCK);
    struct entry **item = realloc(index->item, capacity * sizeof *item);
    if (!item)
        return false;
    index->item = item;
    size_t *bucket = calloc(capacity, sizeof *bucket);
    if (!bucket)
        return false;
    free(index->bucket);
    index->bucket = bucket;
    index->bucket_count = index->capacity = capacity;
    link_all(index);
    return true;
}

struct entry *entry_add(struct entry_index *index, const char *name)
{
    if (index->n == index->capacity && !grow(index))
        return NULL;
    struct entry *entry = calloc(1, sizeof *entry);
    if (!entry || !(entry->name = strdup(name))) {
        free(entry);
        return NULL;
    }
    entry->measured = PELLET_NO_TIME;
    entry->settings.resolution = NAN;
    index->item[index->n] = entry;
    link_entry(index, index->n++);
    return entry;
}

void entry_settings_clear(struct entry_settings *settings)
{
    for (size_t i = 0; i < PELLET_SETTING_COUNT; i++)
        free(settings->stated[i]);
    *settings = (struct entry_settings){.resolution = NAN};
}

static void entry_free(struct entry *entry)
{
    entry_settings_clear(&entry->settings);
    free(entry->name);
    free(entry->sample);
    free(entry->session);
    free(entry->blank);
    free(entry->verdict_text);
    free(entry->read_error);
    free(entry->line);
    free(entry);
}

void entry_index_drop(struct entry_index *index, bool (*may_go)(void *context, struct entry *entry),
                      void *context)
{
    size_t kept = 0;
    for (size_t i = 0; i < index->n; i++) {
        if (may_go(context, index->item[i]))
            entry_free(index->item[i]);
        else
            index->item[kept++] = index->item[i];
    }
    index->n = kept;
    link_all(index);
}

void entry_index_free(struct entry_index *index)
{
    for (size_t i = 0; i < index->n; i++)
        entry_free(index->item[i]);
    free(index->item);
    free(index->bucket);
    *index = (struct entry_index){0};
}

bool entry_set_string(char **place, const char *value)
{
    char *copy = value ? strdup(value) : NULL;
    if (value && !copy)
        return false;
    free(*place);
    *place = copy;
    return true;
}

/* ---------------------------------------------------------------- a plain list */

bool entry_list_add(struct entry_list *list, struct entry *entry)
{
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? 2 * list->capacity : 64;
        struct entry **item = realloc(list->item, capacity * sizeof(struct entry *));
        if (!item)
            return false;
        list->item = item;
        list->capacity = capacity;
    }
    list->item[list->n++] = entry;
    return true;
}

void entry_list_remove(struct entry_list *list, const struct entry *entry)
{
    size_t kept = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (list->item[i] != entry)
            list->item[kept++] = list->item[i];
    }
    list->n = kept;
}

bool entry_list_has(const struct entry_list *list, const struct entry *entry)
{
    for (size_t i = 0; i < list->n; i++) {
        if (list->item[i] == entry)
            return true;
    }
    return false;
}

void entry_list_free(struct entry_list *list)
{
    free(list->item);
    *list = (struct entry_list){0};
}

/* ---------------------------------------------------------------- by time */

/* Open beams before blanks before samples: each serves the next. */
static int rank_of(enum pellet_role role)
{
    static const int ranks[PELLET_ROLE_COUNT] = {
        [PELLET_OPEN_BEAM] = 0, [PELLET_BLANK] = 1, [PELLET_FILM] = 2, [PELLET_SAMPLE] = 3};
    return ranks[role];
}

int entry_compare(const struct entry *a, const struct entry *b)
{
    if (a->measured != b->measured)
        return a->measured < b->measured ? -1 : 1;
    if (a->role != b->role)
        return rank_of(a->role) - rank_of(b->role);
    return strcmp(a->name, b->name);
}

size_t timeline_rank(const struct timeline *timeline, const struct entry *entry)
{
    size_t low = 0;
    size_t high = timeline->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (entry_compare(timeline->item[middle], entry) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t timeline_count_until(const struct timeline *timeline, pellet_ns time)
{
    size_t low = 0;
    size_t high = timeline->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (timeline->item[middle]->measured <= time)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Room for one more on both sides: what there is goes to the middle of a block that is larger by half. */
static bool make_room(struct timeline *timeline)
{
    const size_t front = timeline->block ? (size_t)(timeline->item - timeline->block) : 0;
    if (front > 0 && front + timeline->n < timeline->capacity)
        return true;
    const size_t capacity = timeline->n + timeline->n / 2 + 64;
    struct entry **block = malloc(capacity * sizeof(struct entry *));
    if (!block)
        return false;
    struct entry **item = block + (capacity - timeline->n) / 2;
    if (timeline->n > 0)
        memcpy(item, timeline->item, timeline->n * sizeof(struct entry *));
    free(timeline->block);
    timeline->block = block;
    timeline->item = item;
    timeline->capacity = capacity;
    return true;
}

bool timeline_insert(struct timeline *timeline, struct entry *entry)
{
    if (!make_room(timeline))
        return false;
    const size_t at = timeline_rank(timeline, entry);
    struct entry **item = timeline->item;
    if (at < timeline->n / 2) {
        memmove(item - 1, item, at * sizeof(struct entry *));
        timeline->item--;
    } else {
        memmove(item + at + 1, item + at, (timeline->n - at) * sizeof(struct entry *));
    }
    timeline->item[at] = entry;
    timeline->n++;
    return true;
}

bool timeline_remove(struct timeline *timeline, struct entry *entry)
{
    size_t at = timeline_rank(timeline, entry);
    if (at >= timeline->n || timeline->item[at] != entry)
        return false;
    struct entry **item = timeline->item;
    timeline->n--;
    if (at < timeline->n / 2) {
        memmove(item + 1, item, at * sizeof(struct entry *));
        timeline->item++;
    } else {
        memmove(item + at, item + at + 1, (timeline->n - at) * sizeof(struct entry *));
    }
    return true;
}

void timeline_free(struct timeline *timeline)
{
    free(timeline->block);
    *timeline = (struct timeline){0};
}

bool entry_is_server(const struct entry *entry)
{
    return entry->role == PELLET_BLANK || entry->role == PELLET_OPEN_BEAM;
}

bool measured_insert(struct measured *measured, struct entry *entry)
{
    if (!timeline_insert(&measured->all, entry))
        return false;
    if (!entry_is_server(entry) || timeline_insert(&measured->servers, entry))
        return true;
    timeline_remove(&measured->all, entry);
    return false;
}

bool measured_remove(struct measured *measured, struct entry *entry)
{
    timeline_remove(&measured->servers, entry);
    return timeline_remove(&measured->all, entry);
}

void measured_free(struct measured *measured)
{
    timeline_free(&measured->all);
    timeline_free(&measured->servers);
}
