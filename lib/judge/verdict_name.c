// SPDX-License-Identifier: GPL-3.0-or-later
/* Names of the files that are made for a spectrum. */
#include "pellet/judge.h"

#include <string.h>

#define NAME_BYTES_MAX                                                                                       \
    240 /* of a spectrum, so that a suffix still fits into the 255 that file systems allow */
#define NAME_BYTES_KEPT 200
#define HASH_DIGITS     16

/* A place to cut at or before `n`, not inside a character. Bytes that are no characters are cut anywhere. */
static size_t cut_at_character(const char *name, size_t n)
{
    for (size_t back = 0; back < 4; back++) {
        if (((unsigned char)name[n - back] & 0xC0) != 0x80)
            return n - back;
    }
    return n;
}

void pellet_derived_name(const char *file, const char *suffix, struct pellet_text *out)
{
    const char *slash = strrchr(file, '/');
    const char *name = slash != NULL ? slash + 1 : file;
    const size_t n = strlen(name);
    pellet_text_add(out, file, (size_t)(name - file));
    if (n <= NAME_BYTES_MAX) {
        pellet_text_add(out, name, n);
    } else {
        char hash[PELLET_SHA256_HEX];
        pellet_sha256_hex(name, n, hash);
        pellet_text_add(out, name, cut_at_character(name, NAME_BYTES_KEPT));
        pellet_text_addf(out, "~%.*s", HASH_DIGITS, hash);
    }
    pellet_text_adds(out, suffix);
}

void pellet_verdict_name(const char *file, struct pellet_text *out)
{
    pellet_derived_name(file, ".verdict.yaml", out);
}
