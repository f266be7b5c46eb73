// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Every file of ../shared/data/jcamp against its expected.csv, which was computed independently, row by row.
 * Run by itself it prints the table: file, block, form, encoding, what is expected, whether it was so.
 */
#include "reading.h"

#include "spectrum/jcamp.h"

#include <csv.h>

#define COLUMNS 22
#define TEXT    512

enum column {
    FILE_NAME,
    BLOCK,
    TITLE,
    DATA_TYPE,
    READABLE,
    EXPECT,
    FORM,
    ENCODING,
    XUNITS,
    YUNITS,
    NPOINTS,
    FIRST_X,
    LAST_X,
    Y_FIRST,
    I_MID,
    Y_MID,
    Y_LAST,
    Y_SUM,
    Y_MIN,
    Y_MAX,
    READERS,
    NOTES
};

struct table {
    char cell[COLUMNS][TEXT];
    size_t column, rows, as_expected;
    const struct pellet_read_options *options;
};

static double number(const struct table *table, enum column column)
{
    return strtod(table->cell[column], NULL);
}

/* ---------------------------------------------------------------- one block */

struct opened {
    char *bytes;
    size_t n;
    struct pellet_records records;
    struct pellet_blocks blocks;
    const struct pellet_block *block; /* the one of the row, LINK blocks not counted */
    char reason[PELLET_JCAMP_TEXT_MAX];
    struct pellet_draft draft;
    struct pellet_error error; /* of the block alone */
};

/* What differs from the row first; "" while nothing does. */
struct difference {
    char what[200];
};

static void PELLET_PRINTF(2, 3) differ(struct difference *difference, const char *format, ...)
{
    va_list arguments;
    if (difference->what[0])
        return;
    va_start(arguments, format);
    vsnprintf(difference->what, sizeof difference->what, format, arguments);
    va_end(arguments);
}

static bool open_row(const struct table *table, struct opened *opened)
{
    char below[600], path[4096];
    long block = atol(table->cell[BLOCK]);
    snprintf(below, sizeof below, "data/jcamp/%s", table->cell[FILE_NAME]);
    if (!testing_shared(below, path, sizeof path))
        return false;
    *opened = (struct opened){0};
    opened->bytes = reading_file(path, &opened->n);
    assert_int_equal(pellet_records_read(opened->bytes, opened->n, 1 << 20, &opened->records, NULL),
                     PELLET_OK);
    assert_int_equal(pellet_blocks_find(&opened->records, &opened->blocks, NULL), PELLET_OK);
    for (size_t i = 0; i < opened->blocks.n && !opened->block; i++)
        if (!pellet_block_is_link(&opened->blocks.item[i]) && block-- == 0)
            opened->block = &opened->blocks.item[i];
    assert_non_null(opened->block);
    pellet_block_refusal(opened->block, opened->reason);
    pellet_block_decode(opened->block, table->options, &opened->draft, &opened->error);
    return true;
}

static void close_row(struct opened *opened)
{
    pellet_draft_clear(&opened->draft);
    pellet_blocks_clear(&opened->blocks);
    pellet_records_clear(&opened->records);
    free(opened->bytes);
}

static void near(const struct table *table, enum column column, double value, double scale,
                 struct difference *difference)
{
    const double expected = number(table, column);
    if (!(fabs(value - expected) <= 1e-9 * scale))
        differ(difference, "column %d: %.12g, expected %.12g", (int)column + 1, value, expected);
}

static void check_numbers(const struct table *table, const struct pellet_draft *draft,
                          struct difference *difference)
{
    const size_t n = draft->n, middle = n / 2;
    double sum = 0, low = INFINITY, high = -INFINITY;
    if (n != (size_t)atol(table->cell[NPOINTS]) || middle != (size_t)atol(table->cell[I_MID])) {
        differ(difference, "%zu points, expected %s", n, table->cell[NPOINTS]);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        sum += isnan(draft->y[i]) ? 0 : draft->y[i];
        low = fmin(low, draft->y[i]);
        high = fmax(high, draft->y[i]);
    }
    const double scale = fmax(fabs(low), fabs(high));
    near(table, FIRST_X, draft->x[0], fabs(draft->x[0]), difference);
    near(table, LAST_X, draft->x[n - 1], fabs(draft->x[n - 1]), difference);
    near(table, Y_FIRST, draft->y[0], scale, difference);
    near(table, Y_MID, draft->y[middle], scale, difference);
    near(table, Y_LAST, draft->y[n - 1], scale, difference);
    near(table, Y_SUM, sum, fabs(sum) + scale, difference);
    near(table, Y_MIN, low, scale, difference);
    near(table, Y_MAX, high, scale, difference);
}

static enum pellet_ordinate expected_ordinate(const struct table *table)
{
    if (strcmp(table->cell[YUNITS], "TRANSMITTANCE") == 0)
        return PELLET_ORDINATE_TRANSMITTANCE;
    return strcmp(table->cell[YUNITS], "ABSORBANCE") == 0 ? PELLET_ORDINATE_ABSORBANCE
                                                          : PELLET_ORDINATE_OTHER;
}

/* Point by point: the same ordinates, rising in cm-1, percent divided by 100. */
static void check_points(const struct pellet_draft *draft, const struct pellet_spectrum *found, bool percent,
                         struct difference *difference)
{
    const bool wavenumber = draft->abscissa == PELLET_ABSCISSA_WAVENUMBER;
    const bool rising = wavenumber == (draft->x[0] < draft->x[draft->n - 1]);
    for (size_t i = 0; i < found->n; i++) {
        const double y = draft->y[rising ? i : found->n - 1 - i] * (percent ? 0.01 : 1);
        if (isnan(y) ? !isnan(found->y[i]) : !(fabs(found->y[i] - y) <= 1e-12 * fabs(y)))
            differ(difference, "point %zu is %.12g, expected %.12g", i, found->y[i], y);
        if (i > 0 && !(found->wavenumber[i] > found->wavenumber[i - 1]))
            differ(difference, "point %zu does not rise", i);
    }
}

/* The spectrum of the public reader against the draft of the same block. */
static void check_spectrum(const struct table *table, const struct opened *opened,
                           struct difference *difference)
{
    struct pellet_spectra spectra;
    const struct pellet_spectrum *found = NULL;
    const bool percent = strstr(table->cell[NOTES], "percent") != NULL;
    reading_ok(pellet_spectra_read, opened->bytes, opened->n, NULL, &spectra);
    for (size_t i = 0; i < spectra.n && !found; i++)
        if (spectra.item[i].n == opened->draft.n)
            found = &spectra.item[i];
    if (!found) {
        differ(difference, "the reader has no such spectrum");
    } else {
        if (spectra.n == 1)
            check_points(&opened->draft, found, percent, difference);
        if (percent != (found->warnings && strstr(found->warnings, "percent")))
            differ(difference, "percent is %s", percent ? "not told" : "told for no reason");
        if (found->ordinate != expected_ordinate(table))
            differ(difference, "the ordinate is taken for %s", pellet_ordinate_id(found->ordinate));
    }
    pellet_spectra_clear(&spectra);
}

/* A file that must end in an error does so in the public reader too, with the same cause. */
static void check_refused(const struct table *table, const struct opened *opened,
                          struct difference *difference)
{
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    const char *cause = opened->reason[0] ? "an infrared spectrum is needed" : opened->error.message;
    if (!opened->reason[0] && opened->error.status == PELLET_OK)
        differ(difference, "read, but must be refused");
    /* A curve that must be refused is damaged, whatever else speaks against it. */
    if (strcmp(table->cell[FORM], "XYDATA") == 0 && opened->error.status == PELLET_OK)
        differ(difference, "damage is not seen");
    if (pellet_spectra_read(opened->bytes, opened->n, NULL, &spectra, &error) == PELLET_OK)
        differ(difference, "the reader takes it");
    else if (error.line == 0 || !strstr(error.message, cause))
        differ(difference, "line %zu: %.150s", error.line, error.message);
    pellet_spectra_clear(&spectra);
}

static void check_read(const struct table *table, const struct opened *opened, struct difference *difference)
{
    const bool not_infrared = strcmp(table->cell[EXPECT], "not-infrared") == 0;
    if (opened->error.status != PELLET_OK) {
        differ(difference, "line %zu: %.150s", opened->error.line, opened->error.message);
        return;
    }
    check_numbers(table, &opened->draft, difference);
    if (not_infrared != (opened->reason[0] != 0))
        differ(difference, "%s", not_infrared ? "taken for infrared" : opened->reason);
    if (not_infrared && table->cell[DATA_TYPE][0] && !strstr(opened->reason, table->cell[DATA_TYPE]))
        differ(difference, "not named for what it is: %.150s", opened->reason);
    if (!not_infrared)
        check_spectrum(table, opened, difference);
}

static const char *what_became(const struct opened *opened)
{
    if (opened->reason[0])
        return opened->reason;
    return opened->error.status == PELLET_OK ? "read" : opened->error.message;
}

static void check_row(struct table *table)
{
    struct opened opened;
    struct difference difference = {0};
    if (!open_row(table, &opened))
        return;
    if (strcmp(table->cell[EXPECT], "refuse") == 0)
        check_refused(table, &opened, &difference);
    else
        check_read(table, &opened, &difference);
    print_message("%-31s %s  %-14s %-11s %-12s %-3s  %.70s\n", table->cell[FILE_NAME], table->cell[BLOCK],
                  table->cell[FORM], table->cell[ENCODING], table->cell[EXPECT],
                  difference.what[0] ? "NO" : "yes",
                  difference.what[0] ? difference.what : what_became(&opened));
    table->as_expected += difference.what[0] ? 0 : 1;
    close_row(&opened);
}

/* ---------------------------------------------------------------- expected.csv */

static void on_cell(void *bytes, size_t n, void *data)
{
    struct table *table = data;
    if (table->column < COLUMNS)
        snprintf(table->cell[table->column++], TEXT, "%.*s", (int)n, n > 0 ? (const char *)bytes : "");
}

static void on_row(int end, void *data)
{
    struct table *table = data;
    (void)end;
    for (; table->column < COLUMNS; table->column++)
        table->cell[table->column][0] = 0;
    if (table->rows++ > 0)
        check_row(table);
    table->column = 0;
}

static void every_row(void **state)
{
    (void)state;
    char path[4096];
    if (!testing_shared("data/jcamp/expected.csv", path, sizeof path))
        skip();
    size_t n = 0;
    char *bytes = reading_file(path, &n);
    struct csv_parser parser;
    const struct pellet_read_options options = pellet_read_options_filled(NULL);
    struct table *table = calloc(1, sizeof *table);
    assert_non_null(table);
    table->options = &options;
    print_message("%-31s %s  %-14s %-11s %-12s %-3s  %s\n", "file", "#", "form", "encoding", "expected",
                  "so?", "what became of it");
    assert_int_equal(csv_init(&parser, 0), 0);
    assert_int_equal(csv_parse(&parser, bytes, n, on_cell, on_row, table), n);
    csv_fini(&parser, on_cell, on_row, table);
    csv_free(&parser);
    print_message("%zu of %zu rows as expected\n", table->as_expected, table->rows - 1);
    assert_true(table->rows > 1);
    assert_int_equal(table->as_expected, table->rows - 1);
    free(table);
    free(bytes);
}

/* A real file cut at every byte: an error, or all points together with a warning. */
static void cut_at_every_byte(void **state)
{
    (void)state;
    static const char *const files[] = {"data/jcamp/derived_a_difdup.jdx", "data/jcamp/derived_a_affn.jdx"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        char path[4096];
        size_t n = 0, whole = 0;
        if (!testing_shared(files[i], path, sizeof path))
            skip();
        char *bytes = reading_file(path, &n);
        for (size_t cut = 0; cut < n - 1; cut++) {
            struct pellet_spectra spectra = {0};
            struct pellet_error error = {0};
            if (reading_exact(pellet_spectra_read, bytes, cut, NULL, &spectra, &error) != PELLET_OK) {
                assert_true(error.message[0] != 0);
                continue;
            }
            assert_int_equal(spectra.item->n, 1867);
            assert_non_null(strstr(spectra.item->warnings, "##END="));
            whole++;
            pellet_spectra_clear(&spectra);
        }
        print_message("%s: %zu cuts, %zu of them behind the last point\n", files[i], n - 1, whole);
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_row), cmocka_unit_test(cut_at_every_byte)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
