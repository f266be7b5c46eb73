// SPDX-License-Identifier: GPL-3.0-or-later
/* Every file of ../shared/data/jcamp against its expected.csv, which was computed independently, row by row.
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
};

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
    return true;
}

static void close_row(struct opened *opened)
{
    pellet_blocks_clear(&opened->blocks);
    pellet_records_clear(&opened->records);
    free(opened->bytes);
}

static void near(const char *what, double value, double expected, double scale)
{
    if (!(fabs(value - expected) <= 1e-9 * scale))
        fail_msg("%s is %.12g, expected %.12g", what, value, expected);
}

static void check_numbers(const struct table *table, const struct pellet_draft *draft)
{
    const size_t middle = draft->n / 2;
    double sum = 0, low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < draft->n; i++) {
        if (isnan(draft->y[i]))
            continue;
        sum += draft->y[i];
        low = fmin(low, draft->y[i]);
        high = fmax(high, draft->y[i]);
    }
    const double scale = fmax(fabs(low), fabs(high));
    assert_int_equal(draft->n, atol(table->cell[NPOINTS]));
    assert_int_equal(middle, atol(table->cell[I_MID]));
    near("first x", draft->x[0], number(table, FIRST_X), fabs(draft->x[0]));
    near("last x", draft->x[draft->n - 1], number(table, LAST_X), fabs(draft->x[draft->n - 1]));
    near("first y", draft->y[0], number(table, Y_FIRST), scale);
    near("middle y", draft->y[middle], number(table, Y_MID), scale);
    near("last y", draft->y[draft->n - 1], number(table, Y_LAST), scale);
    near("sum", sum, number(table, Y_SUM), fabs(sum) + scale);
    near("least", low, number(table, Y_MIN), scale);
    near("most", high, number(table, Y_MAX), scale);
}

/* The spectrum of the public reader against the draft of the same block. */
static void check_spectrum(const struct table *table, const struct opened *opened,
                           const struct pellet_draft *draft)
{
    struct pellet_spectra spectra;
    struct pellet_spectrum *found = NULL;
    reading_ok(pellet_spectra_read, opened->bytes, opened->n, NULL, &spectra);
    for (size_t i = 0; i < spectra.n && !found; i++)
        if (spectra.item[i].n == draft->n)
            found = &spectra.item[i];
    assert_non_null(found);
    const bool percent = strstr(table->cell[NOTES], "percent") != NULL;
    const bool rising = draft->abscissa == PELLET_ABSCISSA_WAVENUMBER ? draft->x[0] < draft->x[draft->n - 1]
                                                                      : draft->x[0] > draft->x[draft->n - 1];
    if (spectra.n == 1)
        for (size_t i = 0; i < found->n; i++) {
            const double y = draft->y[rising ? i : found->n - 1 - i] * (percent ? 0.01 : 1);
            assert_true(isnan(y) ? isnan(found->y[i]) : fabs(found->y[i] - y) <= 1e-12 * fabs(y));
            assert_true(i == 0 || found->wavenumber[i] > found->wavenumber[i - 1]);
        }
    if (percent)
        assert_non_null(strstr(found->warnings, "percent"));
    const char *units = table->cell[YUNITS];
    assert_int_equal(found->ordinate, strcmp(units, "TRANSMITTANCE") == 0 ? PELLET_ORDINATE_TRANSMITTANCE
                                      : strcmp(units, "ABSORBANCE") == 0  ? PELLET_ORDINATE_ABSORBANCE
                                                                          : PELLET_ORDINATE_OTHER);
    pellet_spectra_clear(&spectra);
}

static void check_row(struct table *table)
{
    struct opened opened;
    struct pellet_draft draft = {0};
    struct pellet_error error = {0};
    char reason[PELLET_JCAMP_TEXT_MAX];
    if (!open_row(table, &opened))
        return;
    const char *expect = table->cell[EXPECT];
    pellet_block_refusal(opened.block, reason);
    const pellet_status status = pellet_block_decode(opened.block, table->options, &draft, &error);
    print_message("%-32s %s  %-14s %-16s %-12s %s\n", table->cell[FILE_NAME], table->cell[BLOCK],
                  table->cell[FORM], table->cell[ENCODING], expect,
                  reason[0]             ? reason
                  : status != PELLET_OK ? error.message
                                        : "read");
    if (strcmp(expect, "refuse") == 0) {
        assert_true(reason[0] != 0 || status != PELLET_OK);
        reading_refused(
            pellet_spectra_read, opened.bytes, opened.n, NULL, reason[0] ? PELLET_E_FORMAT : error.status,
            reason[0] ? opened.blocks.item[pellet_block_is_link(opened.blocks.item)].line : error.line,
            reason[0] ? "an infrared spectrum is needed" : "export it again");
    } else {
        assert_int_equal(status, PELLET_OK);
        check_numbers(table, &draft);
        assert_int_equal(reason[0] != 0, strcmp(expect, "not-infrared") == 0);
        if (reason[0] && table->cell[DATA_TYPE][0])
            assert_non_null(strstr(reason, table->cell[DATA_TYPE]));
        if (!reason[0])
            check_spectrum(table, &opened, &draft);
    }
    table->as_expected++;
    pellet_draft_clear(&draft);
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
