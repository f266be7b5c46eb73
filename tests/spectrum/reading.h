// SPDX-License-Identifier: GPL-3.0-or-later
/* What the tests of the readers share: reading a text, and expecting a refusal with nothing touched. */
#ifndef PELLET_TESTS_READING_H
#define PELLET_TESTS_READING_H

#include "testing.h"

#include "pellet/spectrum.h"

#include <string.h>

typedef pellet_status reading_reader(const char *bytes, size_t n, const struct pellet_read_options *options,
                                     struct pellet_spectra *spectra, struct pellet_error *error);

/* Read from memory that ends with the text, so that a sanitizer sees every step beyond it. */
static inline pellet_status reading_exact(reading_reader *reader, const char *bytes, size_t n,
                                          const struct pellet_read_options *options,
                                          struct pellet_spectra *spectra, struct pellet_error *error)
{
    char *copy = malloc(n > 0 ? n : 1);
    assert_non_null(copy);
    if (n > 0)
        memcpy(copy, bytes, n);
    const pellet_status status = reader(copy, n, options, spectra, error);
    free(copy);
    return status;
}

static inline void reading_ok(reading_reader *reader, const char *text, size_t n,
                              const struct pellet_read_options *options, struct pellet_spectra *spectra)
{
    struct pellet_error error = {0};
    *spectra = (struct pellet_spectra){0};
    if (reading_exact(reader, text, n, options, spectra, &error) != PELLET_OK)
        fail_msg("line %zu: %s", error.line, error.message);
}

/* The status, the line and words of the message; the output untouched. */
static inline void reading_refused(reading_reader *reader, const char *text, size_t n,
                                   const struct pellet_read_options *options, pellet_status expected,
                                   size_t line, const char *words)
{
    struct pellet_error error = {0};
    struct pellet_spectra spectra = {.n = 77};
    const pellet_status status = reading_exact(reader, text, n, options, &spectra, &error);
    if (status != expected || error.line != line || !strstr(error.message, words))
        fail_msg("status %s, line %zu: '%s'; expected %s, line %zu: '%s'", pellet_status_id(status),
                 error.line, error.message, pellet_status_id(expected), line, words);
    assert_int_equal(spectra.n, 77);
    assert_null(spectra.item);
    assert_int_equal(reading_exact(reader, text, n, options, &spectra, NULL), expected);
}

/* A whole file in memory; NULL where it cannot be read. The caller frees it. */
static inline char *reading_file(const char *path, size_t *n)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    char *bytes = malloc(1 << 24);
    assert_non_null(bytes);
    *n = fread(bytes, 1, 1 << 24, file);
    fclose(file);
    return bytes;
}

/* Numbers that a test can rely on: xorshift with a fixed seed. Source: G. Marsaglia, J. Stat. Softw. 8(14)
 * (2003). */
static inline uint64_t reading_random(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

#endif
