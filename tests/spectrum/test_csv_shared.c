// SPDX-License-Identifier: GPL-3.0-or-later
/* The real files of ../shared/data/kbr and singlebeam against their expected.csv, row by row. */
#include "reading.h"

#include <csv.h>

#define COLUMNS 24
#define TEXT    256

struct table {
    const char *folder;
    enum pellet_ordinate ordinate;
    char name[COLUMNS][TEXT], cell[COLUMNS][TEXT];
    size_t column, rows, zeros_at_ends;
};

static double expected(const struct table *table, const char *name)
{
    for (size_t i = 0; i < COLUMNS; i++)
        if (strcmp(table->name[i], name) == 0)
            return strtod(table->cell[i], NULL);
    fail_msg("no column %s", name);
    return NAN;
}

/* A point that the reader takes for an artefact of the export was 0 in the file. */
static double as_in_file(double y)
{
    return isnan(y) ? 0 : y;
}

static void check_row(struct table *table)
{
    char below[600], path[4096];
    size_t n = 0;
    struct pellet_spectra spectra;
    const struct pellet_read_options options = {.ordinate = table->ordinate};
    snprintf(below, sizeof below, "data/%s/%s", table->folder, table->cell[0]);
    assert_non_null(testing_shared(below, path, sizeof path));
    char *bytes = reading_file(path, &n);
    assert_non_null(bytes);
    reading_ok(pellet_spectra_read, bytes, n, &options, &spectra);
    const struct pellet_spectrum *s = spectra.item;
    const size_t middle = s->n / 2;
    double sum = 0, low = INFINITY, high = -INFINITY;
    size_t unknown = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double y = as_in_file(s->y[i]);
        unknown += isnan(s->y[i]) ? 1 : 0;
        sum += y;
        low = fmin(low, y);
        high = fmax(high, y);
    }
    print_message("%s: %zu points, %zu unknown\n", table->cell[0], s->n, unknown);
    assert_int_equal(s->n, (size_t)expected(table, "npoints"));
    assert_near(s->wavenumber[0], expected(table, "first_x"), 0);
    assert_near(s->wavenumber[s->n - 1], expected(table, "last_x"), 0);
    assert_near(as_in_file(s->y[0]), expected(table, "y_first"), 0);
    assert_int_equal(middle, (size_t)expected(table, "i_mid"));
    assert_near(s->y[middle], expected(table, "y_mid"), 0);
    assert_near(as_in_file(s->y[s->n - 1]), expected(table, "y_last"), 0);
    assert_near(sum, expected(table, "y_sum"), 1e-9 * fabs(sum) + 1e-6);
    assert_near(low, expected(table, "y_min"), 0);
    assert_near(high, expected(table, "y_max"), 0);
    /* Unknown is only what was exactly 0 at an end, and never in silence. */
    assert_true(unknown <= 2);
    assert_int_equal(unknown > 0, s->warnings && strstr(s->warnings, "exactly 0"));
    table->zeros_at_ends += unknown;
    pellet_spectra_clear(&spectra);
    free(bytes);
}

static void on_cell(void *bytes, size_t n, void *data)
{
    struct table *table = data;
    if (table->column == COLUMNS)
        return;
    char(*row)[TEXT] = table->rows == 0 ? table->name : table->cell;
    snprintf(row[table->column++], TEXT, "%.*s", (int)n, n > 0 ? (const char *)bytes : "");
}

static void on_row(int end, void *data)
{
    struct table *table = data;
    (void)end;
    if (table->rows++ > 0)
        check_row(table);
    table->column = 0;
}

static void every_row(const char *folder, enum pellet_ordinate ordinate, size_t zeros_at_ends)
{
    char below[256], path[4096];
    size_t n = 0;
    struct csv_parser parser;
    snprintf(below, sizeof below, "data/%s/expected.csv", folder);
    if (!testing_shared(below, path, sizeof path))
        skip();
    char *bytes = reading_file(path, &n);
    struct table *table = calloc(1, sizeof *table);
    assert_non_null(table);
    table->folder = folder;
    table->ordinate = ordinate;
    assert_int_equal(csv_init(&parser, 0), 0);
    assert_int_equal(csv_parse(&parser, bytes, n, on_cell, on_row, table), n);
    csv_fini(&parser, on_cell, on_row, table);
    csv_free(&parser);
    assert_true(table->rows > 1);
    assert_int_equal(table->zeros_at_ends, zeros_at_ends);
    free(table);
    free(bytes);
}

/*
 * A real file cut at every byte of its last rows (in the long form, PELLETD_LONG, at every byte): an error, a
 * warning, or the rows that are whole.
 */
static void cut_at_every_byte(void **state)
{
    (void)state;
    char path[4096];
    size_t n = 0;
    struct pellet_spectra whole;
    if (!testing_shared("data/kbr/modern-ref_1.csv", path, sizeof path))
        skip();
    char *bytes = reading_file(path, &n);
    reading_ok(pellet_csv_read, bytes, n, NULL, &whole);
    for (size_t cut = getenv("PELLETD_LONG") ? 0 : n - 600; cut < n; cut++) {
        struct pellet_spectra spectra = {0};
        struct pellet_error error = {0};
        if (pellet_csv_read(bytes, cut, NULL, &spectra, &error) != PELLET_OK) {
            assert_true(error.message[0] != 0);
            continue;
        }
        if (!spectra.item->warnings)
            assert_memory_equal(spectra.item->y, whole.item->y, spectra.item->n * sizeof(double));
        pellet_spectra_clear(&spectra);
    }
    pellet_spectra_clear(&whole);
    free(bytes);
}

static void pellets(void **state)
{
    (void)state;
    every_row("kbr", PELLET_ORDINATE_ABSORBANCE,
              10); /* the ten files of 7469 rows, as the data's README says */
}

static void single_beams(void **state)
{
    (void)state;
    every_row("singlebeam", PELLET_ORDINATE_SINGLE_BEAM, 2); /* the two of 16 cm-1 end in an exact 0 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(pellets), cmocka_unit_test(single_beams),
                                       cmocka_unit_test(cut_at_every_byte)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
