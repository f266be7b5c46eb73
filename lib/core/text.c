// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_CAPACITY_FIRST 64

void pellet_text_free(struct pellet_text *text)
{
    if (text == NULL)
        return;
    free(text->data);
    *text = (struct pellet_text){0};
}

void pellet_text_clear(struct pellet_text *text)
{
    text->length = 0;
    text->failed = false;
    if (text->data != NULL)
        text->data[0] = '\0';
}

/* Make room for `n` more bytes and the end. False, and `failed` set, where that cannot be. */
static bool text_reserve(struct pellet_text *text, size_t n)
{
    if (text->failed)
        return false;
    if (n < text->capacity - text->length)
        return true;
    if (n >= PTRDIFF_MAX - text->length) {
        text->failed = true;
        return false;
    }
    const size_t needed = text->length + n + 1;
    size_t capacity = text->capacity > 0 ? text->capacity : TEXT_CAPACITY_FIRST;
    while (capacity < needed)
        capacity = capacity <= PTRDIFF_MAX / 2 ? capacity * 2 : needed;
    char *data = realloc(text->data, capacity);
    if (data == NULL) {
        text->failed = true;
        return false;
    }
    text->data = data;
    text->capacity = capacity;
    return true;
}

void pellet_text_add(struct pellet_text *text, const void *bytes, size_t n)
{
    if (n == 0 || !text_reserve(text, n))
        return;
    memcpy(text->data + text->length, bytes, n);
    text->length += n;
    text->data[text->length] = '\0';
}

void pellet_text_adds(struct pellet_text *text, const char *string)
{
    pellet_text_add(text, string, strlen(string));
}

void pellet_text_addc(struct pellet_text *text, char c)
{
    pellet_text_add(text, &c, 1);
}

void pellet_text_addf(struct pellet_text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    const int n = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (n < 0)
        text->failed = true;
    if (n <= 0 || !text_reserve(text, (size_t)n))
        return;
    va_start(arguments, format);
    vsnprintf(text->data + text->length, (size_t)n + 1, format, arguments);
    va_end(arguments);
    text->length += (size_t)n;
}

const char *pellet_text_string(const struct pellet_text *text)
{
    return text->data != NULL ? text->data : "";
}

pellet_status pellet_text_status(const struct pellet_text *text)
{
    return text->failed ? PELLET_E_MEMORY : PELLET_OK;
}
