// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A sample file of every form cut short at every byte. What comes out names line and cause, or is the whole
 * spectrum, or says in a warning that something may be missing. The files are the seeds of the fuzzers.
 */
#include "reading.h"

#include <dirent.h>

/* What became of the beginnings of one file. */
struct outcome {
    size_t refused, warned, silent;
};

/* A refusal names a line of what is there; only an empty file has none. */
static void check_refusal(const struct pellet_error *error, const char *bytes, size_t cut)
{
    size_t lines = 1;
    for (size_t i = 0; i < cut; i++)
        lines += bytes[i] == '\n' || bytes[i] == '\r';
    assert_true(error->message[0] != 0);
    if (error->line < 1 && cut > 3) /* 3: a byte order mark alone is an empty file too */
        fail_msg("cut at %zu: no line: %s", cut, error->message);
    if (error->line > lines)
        fail_msg("cut at %zu: line %zu of %zu: %s", cut, error->line, lines, error->message);
}

/* Without a warning all blocks are there, and of each every point (JCAMP-DX) or a true beginning (CSV). */
static void check_silence(const struct pellet_spectra *cut, const struct pellet_spectra *whole,
                          bool all_points, size_t at)
{
    if (cut->n != whole->n)
        fail_msg("cut at %zu: %zu of %zu blocks, in silence", at, cut->n, whole->n);
    for (size_t i = 0; i < cut->n; i++) {
        const struct pellet_spectrum *c = &cut->item[i], *w = &whole->item[i];
        if (c->n > w->n || (all_points && c->n != w->n))
            fail_msg("cut at %zu: %zu of %zu points, in silence", at, c->n, w->n);
        const size_t lost =
            w->wavenumber[0] == c->wavenumber[0] ? 0 : w->n - c->n; /* of a falling abscissa */
        for (size_t k = 0; k < c->n; k++)
            if (c->wavenumber[k] != w->wavenumber[k + lost] ||
                !(c->y[k] == w->y[k + lost] || (isnan(c->y[k]) && isnan(w->y[k + lost]))))
                fail_msg("cut at %zu: point %zu is another, in silence", at, k);
    }
}

static struct outcome cut_everywhere(reading_reader *reader, const char *bytes, size_t n, bool all_points)
{
    struct outcome outcome = {0};
    struct pellet_spectra whole;
    const struct pellet_read_options options = {.column = "b", .ordinate = PELLET_ORDINATE_ABSORBANCE};
    reading_ok(reader, bytes, n, &options, &whole);
    for (size_t cut = 0; cut < n; cut++) {
        struct pellet_spectra spectra = {0};
        struct pellet_error error = {0};
        if (reading_exact(reader, bytes, cut, &options, &spectra, &error) != PELLET_OK) {
            check_refusal(&error, bytes, cut);
            outcome.refused++;
            continue;
        }
        bool warned = true;
        for (size_t i = 0; i < spectra.n; i++)
            warned = warned && spectra.item[i].warnings != NULL;
        if (!warned)
            check_silence(&spectra, &whole, all_points, cut);
        outcome.warned += warned ? 1 : 0;
        outcome.silent += warned ? 0 : 1;
        pellet_spectra_clear(&spectra);
    }
    pellet_spectra_clear(&whole);
    return outcome;
}

static void cut_folder(const char *folder, reading_reader *reader, bool all_points, size_t least)
{
    char path[4096];
    size_t files = 0;
    snprintf(path, sizeof path, "%s/tests/fuzz/corpus/%s", PELLET_TREE, folder);
    DIR *directory = opendir(path);
    assert_non_null(directory);
    for (const struct dirent *entry; (entry = readdir(directory)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        size_t n = 0;
        snprintf(path, sizeof path, "%s/tests/fuzz/corpus/%s/%s", PELLET_TREE, folder, entry->d_name);
        char *bytes = reading_file(path, &n);
        print_message("%s: %zu bytes\n", entry->d_name, n);
        const struct outcome outcome = cut_everywhere(reader, bytes, n, all_points);
        print_message("    refused %zu, with a warning %zu, whole or whole rows %zu\n", outcome.refused,
                      outcome.warned, outcome.silent);
        free(bytes);
        files++;
    }
    closedir(directory);
    assert_true(files >= least);
}

static void csv(void **state)
{
    (void)state;
    cut_folder("csv", pellet_csv_read, false, 10);
}

static void jcamp(void **state)
{
    (void)state;
    cut_folder("jcamp", pellet_jcamp_read, true, 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(csv), cmocka_unit_test(jcamp)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
