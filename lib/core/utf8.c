// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/utf8.h"

#include "pellet/core.h"

/* What the first byte says about its character; overlong forms fall below `lowest`. */
struct lead {
    unsigned char mask, bits;
    size_t length;
    uint32_t lowest;
};

static const struct lead leads[] = {
    {0x80, 0x00, 1, 0x0},
    {0xE0, 0xC0, 2, 0x80},
    {0xF0, 0xE0, 3, 0x800},
    {0xF8, 0xF0, 4, 0x10000},
};

static const struct lead *lead_find(unsigned char byte)
{
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++)
        if ((byte & leads[i].mask) == leads[i].bits)
            return &leads[i];
    return NULL;
}

size_t pellet_utf8_decode(const char *bytes, size_t n, uint32_t *code)
{
    const unsigned char *at = (const unsigned char *)bytes;
    const struct lead *lead = n > 0 ? lead_find(at[0]) : NULL;
    if (lead == NULL || n < lead->length)
        return 0;

    uint32_t number = at[0] & (uint32_t)(unsigned char)~lead->mask;
    for (size_t i = 1; i < lead->length; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0;
        number = number << 6 | (at[i] & 0x3FU);
    }
    if (number < lead->lowest || number > 0x10FFFF || (number >= 0xD800 && number <= 0xDFFF))
        return 0;
    *code = number;
    return lead->length;
}

bool pellet_utf8_visible(uint32_t code)
{
    const bool control = code < 0x20 || (code >= 0x7F && code <= 0x9F);
    const bool line_end = code == 0x2028 || code == 0x2029;
    const bool direction = (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069) ||
                           code == 0x200E || code == 0x200F || code == 0x061C;
    /* The byte order mark is not to be seen, and the two behind it are no characters: YAML refuses them. */
    const bool mark = code == 0xFEFF || code == 0xFFFE || code == 0xFFFF;
    return !control && !line_end && !direction && !mark;
}

bool pellet_utf8_valid(const char *bytes, size_t n)
{
    uint32_t code;
    for (size_t at = 0, length; at < n; at += length) {
        length = pellet_utf8_decode(bytes + at, n - at, &code);
        if (length == 0)
            return false;
    }
    return true;
}
