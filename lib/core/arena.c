// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"

#include <stdalign.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ARENA_BLOCK_BYTES 4096

struct pellet_arena_block {
    struct pellet_arena_block *older;
    size_t used, size;
    alignas(max_align_t) unsigned char bytes[];
};

static struct pellet_arena_block *block_new(size_t size)
{
    if (size > PTRDIFF_MAX - sizeof(struct pellet_arena_block))
        return NULL;
    struct pellet_arena_block *block = calloc(1, sizeof *block + size);
    if (block != NULL)
        block->size = size;
    return block;
}

/* Blocks start zeroed and bytes are handed out once, so that nothing needs clearing here. */
void *pellet_arena_alloc(struct pellet_arena *arena, size_t n)
{
    const size_t step = alignof(max_align_t);
    if (n > PTRDIFF_MAX - step)
        return NULL;
    const size_t rounded = n > 0 ? (n + step - 1) / step * step : step;
    struct pellet_arena_block *block = arena->newest;
    if (block == NULL || block->size - block->used < rounded) {
        block = block_new(rounded > ARENA_BLOCK_BYTES ? rounded : ARENA_BLOCK_BYTES);
        if (block == NULL)
            return NULL;
        block->older = arena->newest;
        arena->newest = block;
    }
    void *bytes = block->bytes + block->used;
    block->used += rounded;
    return bytes;
}

char *pellet_arena_copy(struct pellet_arena *arena, const char *bytes, size_t n)
{
    char *copy = n < SIZE_MAX ? pellet_arena_alloc(arena, n + 1) : NULL;
    if (copy != NULL && n > 0)
        memcpy(copy, bytes, n);
    return copy;
}

char *pellet_arena_string(struct pellet_arena *arena, const char *string)
{
    return string != NULL ? pellet_arena_copy(arena, string, strlen(string)) : NULL;
}

char *pellet_arena_printf(struct pellet_arena *arena, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    const int n = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    char *string = n >= 0 ? pellet_arena_alloc(arena, (size_t)n + 1) : NULL;
    if (string == NULL)
        return NULL;
    va_start(arguments, format);
    vsnprintf(string, (size_t)n + 1, format, arguments);
    va_end(arguments);
    return string;
}

void pellet_arena_free(struct pellet_arena *arena)
{
    if (arena == NULL)
        return;
    for (struct pellet_arena_block *block = arena->newest, *older; block != NULL; block = older) {
        older = block->older;
        free(block);
    }
    arena->newest = NULL;
}
