// SPDX-License-Identifier: GPL-3.0-or-later
/* Two verdicts as flat lists of paths and values, and what differs between them. */
#include "judge/verdict_fields.h"

#include <string.h>

struct entry {
    const char *path;
    const char *value;
};

/* A verdict laid out flat. The path of a row begins with its number, or with its check. */
struct flat {
    struct pellet_arena arena;
    size_t count, capacity;
    struct entry *entry;
    const char *section; /* the top-level key that is open, NULL at the top */
    const char *row;     /* what a path within a row begins with */
    bool in_rows;
    size_t item; /* number of the row or text, from 1 */
    bool failed;
};

static void flat_add(struct flat *flat, const char *path, const char *value, size_t n)
{
    if (flat->count == flat->capacity) {
        const size_t capacity = flat->capacity > 0 ? 2 * flat->capacity : 256;
        struct entry *grown = pellet_arena_alloc(&flat->arena, capacity * sizeof *grown);
        if (grown == NULL) {
            flat->failed = true;
            return;
        }
        if (flat->count > 0)
            memcpy(grown, flat->entry, flat->count * sizeof *grown);
        flat->entry = grown;
        flat->capacity = capacity;
    }
    const char *copy = pellet_arena_copy(&flat->arena, value, n);
    flat->failed |= path == NULL || copy == NULL;
    if (!flat->failed)
        flat->entry[flat->count++] = (struct entry){path, copy};
}

static void flat_begin(void *self, const char *key, enum verdict_shape shape, size_t count)
{
    (void)count;
    struct flat *flat = self;
    if (flat->failed)
        return;
    if (key != NULL) {
        flat->section = pellet_arena_string(&flat->arena, key);
        flat->row = flat->section;
        flat->in_rows = shape == VERDICT_ROWS;
        flat->item = 0;
    } else {
        flat->item++;
        flat->row = pellet_arena_printf(&flat->arena, "%s[%zu]", flat->section, flat->item);
    }
    flat->failed |= flat->row == NULL;
}

static void flat_end(void *self)
{
    struct flat *flat = self;
    if (flat->in_rows && flat->row != flat->section) {
        flat->row = flat->section; /* the end of a row */
    } else {
        flat->section = NULL;
        flat->in_rows = false;
    }
}

static bool has_path(const struct flat *flat, const char *path)
{
    for (size_t i = 0; i < flat->count; i++) {
        if (strcmp(flat->entry[i].path, path) == 0)
            return true;
    }
    return false;
}

/* The rows of `checks` are known by their check, since their place in the list says nothing; only a planted
 * file names one twice. */
static bool names_the_row(const struct flat *flat, const char *key, const char *check)
{
    return flat->in_rows && strcmp(key, "check") == 0 && strcmp(flat->section, "checks") == 0 &&
           !has_path(flat, check);
}

static void flat_scalar(void *self, const char *key, enum verdict_form form, const char *value, size_t n)
{
    struct flat *flat = self;
    const char *path;
    if (flat->failed)
        return;
    if (key == NULL)
        path = pellet_arena_printf(&flat->arena, "%s[%zu]", flat->section, ++flat->item);
    else if (flat->section != NULL && names_the_row(flat, key, value))
        path = flat->row = pellet_arena_copy(&flat->arena, value, n);
    else if (flat->section != NULL)
        path = pellet_arena_printf(&flat->arena, "%s.%s", flat->row, key);
    else
        path = pellet_arena_string(&flat->arena, key);
    if (form == VERDICT_ABSENT)
        flat_add(flat, path, "null", 4);
    else
        flat_add(flat, path, value, n);
}

static void flatten(const struct pellet_verdict *verdict, struct flat *flat)
{
    const struct verdict_sink sink = {flat_begin, flat_end, flat_scalar, flat};
    if (pellet_verdict_walk(verdict, &sink) != PELLET_OK)
        flat->failed = true;
}

/*
 * What says when, by which program and after what a file was judged is no part of the judgement; nor is the
 * mtime, which is a shortcut and changes when an archive is copied.
 */
static bool stands_outside(const char *path)
{
    static const char *const outside[] = {"judged", "by", "input.mtime_ns"};
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        if (strcmp(path, outside[i]) == 0)
            return true;
    }
    return strncmp(path, "previous[", 9) == 0;
}

/* The entry of that path, looked for first where it stood last time: the lists run side by side. */
static const struct entry *find(const struct flat *flat, const char *path, size_t *hint)
{
    for (size_t i = 0; i < flat->count; i++) {
        const size_t at = (*hint + i) % flat->count;
        if (strcmp(flat->entry[at].path, path) == 0) {
            *hint = at + 1;
            return &flat->entry[at];
        }
    }
    return NULL;
}

static void add_difference(struct pellet_text *out, const char *path, const struct entry *then,
                           const struct entry *now)
{
    const char *before = then != NULL ? then->value : "absent";
    const char *after = now != NULL ? now->value : "absent";
    pellet_text_add_visible(out, path, strlen(path));
    pellet_text_adds(out, ": ");
    pellet_text_add_visible(out, before, strlen(before));
    pellet_text_adds(out, ", now ");
    pellet_text_add_visible(out, after, strlen(after));
    pellet_text_addc(out, '\n');
}

static size_t list_differences(const struct flat *then, const struct flat *now, struct pellet_text *out)
{
    size_t differences = 0;
    size_t hint = 0;
    for (size_t i = 0; i < then->count; i++) {
        const struct entry *old = &then->entry[i];
        const struct entry *new = find(now, old->path, &hint);
        if (stands_outside(old->path) || (new != NULL &&strcmp(old->value, new->value) == 0))
            continue;
        add_difference(out, old->path, old, new);
        differences++;
    }
    hint = 0;
    for (size_t i = 0; i < now->count; i++) {
        const struct entry *new = &now->entry[i];
        if (stands_outside(new->path) || find(then, new->path, &hint) != NULL)
            continue;
        add_difference(out, new->path, NULL, new);
        differences++;
    }
    return differences;
}

size_t pellet_verdict_compare(const struct pellet_verdict *then, const struct pellet_verdict *now,
                              struct pellet_text *out)
{
    struct flat old = {0};
    struct flat new = {0};
    size_t differences;
    flatten(then, &old);
    flatten(now, &new);
    if (old.failed || new.failed) {
        /* No answer must not look like "the same". */
        out->failed = true;
        differences = 1;
    } else {
        differences = list_differences(&old, &new, out);
    }
    pellet_arena_free(&old.arena);
    pellet_arena_free(&new.arena);
    return differences;
}
