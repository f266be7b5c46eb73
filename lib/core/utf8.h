// SPDX-License-Identifier: GPL-3.0-or-later
/* UTF-8 one character at a time, for the text buffers and the error messages. */
#ifndef PELLET_CORE_UTF8_H
#define PELLET_CORE_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * The character at the start of `bytes[0..n)`: its length 1..4, and its number in *code. 0 where the bytes
 * are not well formed (truncated, overlong, a surrogate, beyond U+10FFFF), and *code is untouched. Source:
 * RFC 3629, section 4.
 */
size_t pellet_utf8_decode(const char *bytes, size_t n, uint32_t *code);

/* False for what would move the cursor, break the line or turn the reading direction around. */
bool pellet_utf8_visible(uint32_t code);

#endif
