// SPDX-License-Identifier: GPL-3.0-or-later
/* JCAMP-DX: the published examples, every form of table, labels as files write them. */
#include "reading.h"

#include "spectrum/jcamp.h"

/* ---------------------------------------------------------------- tables alone */

/* Decode the lines of a table with X = 0, 1, 2, ... and compare the ordinates ('?' is written as NaN). */
static void decodes_to(const char *lines, size_t n, const double *expected)
{
    char text[2048];
    const int length = snprintf(text, sizeof text, "(X++(Y..Y))\n%s", lines);
    const struct pellet_record table = {.value = text, .n = (size_t)length, .line = 1};
    const struct pellet_axis axis = {.first = 0, .step = 1, .x_factor = 1, .y_factor = 1, .n = n};
    struct pellet_draft draft = {0};
    struct pellet_error error = {0};
    print_message("%s\n", lines);
    if (pellet_table_decode(&table, &axis, &draft, &error) != PELLET_OK)
        fail_msg("line %zu: %s", error.line, error.message);
    assert_int_equal(draft.n, n);
    for (size_t i = 0; i < n; i++)
        assert_true(draft.y[i] == expected[i] || (isnan(draft.y[i]) && isnan(expected[i])));
    pellet_draft_clear(&draft);
}

/*
 * One ordinate table in all the forms of the standard. Source: McDonald and Wilks, Appl. Spectrosc. 42, 151
 * (1988), the comparison of data forms (figures from memory; X put before them here).
 */
static void published_forms(void **state)
{
    (void)state;
    static const double expected[] = {1, 2, 3, 3, 2, 1, 0, -1, -2, -3};
    static const char *const forms[] = {
        "0 1 2 3 3 2 1 0 -1 -2 -3\n", /* FIX */
        "0 +1+2+3+3+2+1+0-1-2-3\n",   /* PAC */
        "0 1BCCBA@abc\n",             /* SQZ */
        "0 1JJ%jjjjjj\n",             /* DIF */
        "0 1BCTBA@abc\n",             /* SQZ with DUP */
        "0 1JJ%jX\n",                 /* DIFDUP */
        "0AJJ%jX\n",                  /* the same, the first ordinate squeezed too */
        "0A 2+3C BA@-1 b-3\n",        /* mixed within a line */
        "0,1;2,3\t3 2\n5 1 0 -1\n8 -2,-3 $$ 99 98\n",
        "0AJJ\n2C%jj\n5Ajjjj $$ each line but the first begins with a check\n",
    };
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++)
        decodes_to(forms[i], 10, expected);
}

/*
 * The DIFDUP example of the standard (53 ordinates; YFACTOR 0.1 is left out here). Each letter is the
 * step from one ordinate to the next.
 */
static void published_difdup(void **state)
{
    (void)state;
    static const double expected[] = {0,  0,  0,  0,  2,  4,  4,  4,   7,   5,   4,  4,  5,  5,
                                      7,  10, 11, 11, 6,  5,  7,  6,   9,   9,   7,  10, 10, 9,
                                      10, 11, 12, 15, 16, 16, 14, 17,  38,  38,  35, 38, 42, 47,
                                      54, 59, 66, 75, 78, 88, 96, 104, 110, 121, 128};
    static const char lines[] = "4@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P\n56A28\n";
    char text[256];
    struct pellet_draft draft = {0};
    struct pellet_error error = {0};
    const int length = snprintf(text, sizeof text, "(X++(Y..Y)\n%s", lines);
    const struct pellet_record table = {.value = text, .n = (size_t)length, .line = 1};
    const struct pellet_axis axis = {.first = 4, .step = 1, .x_factor = 1, .y_factor = 1, .n = 53};
    if (pellet_table_decode(&table, &axis, &draft, &error) != PELLET_OK)
        fail_msg("%s", error.message);
    assert_int_equal(draft.n, 53);
    for (size_t i = 0; i < 53; i++)
        assert_near(draft.y[i], expected[i], 0);
    pellet_draft_clear(&draft);
}

static void exponents_and_unknowns(void **state)
{
    (void)state;
    decodes_to("0 1.5e-02 2.5E+01 1.5E2 0.25\n", 4, (const double[]){0.015, 25, 150, 0.25});
    decodes_to("0E115\n", 1, (const double[]){5115}); /* E is the digit 5 */
    decodes_to("0 1 ? 3\n", 3, (const double[]){1, NAN, 3});
    decodes_to("0A?C\n", 3, (const double[]){1, NAN, 3});
    decodes_to("0A?T\n", 3, (const double[]){1, NAN, NAN});
    decodes_to("0 -0 +0 .5\n", 3, (const double[]){0, 0, 0.5});
}

/* A repeat count behind a Y-check value repeats it once as the check and then as points. */
static void repeated_check(void **state)
{
    (void)state;
    decodes_to("0AJ\n1BUJ\n", 5, (const double[]){1, 2, 2, 2, 3});
    /* The least count that can be written is S, 1: once, which is no repetition. Pseudo-digits know no 0. */
    decodes_to("0ASBSJS\n", 3, (const double[]){1, 2, 3});
}

/* ---------------------------------------------------------------- whole files */

#define POINTS 60

struct file {
    const char *title, *type, *x_units, *y_units, *labels;
    double first, last;
};

static size_t write_file(const struct file *file, char *out)
{
    char *at = out;
    at += sprintf(at, "##TITLE= %s\n##JCAMP-DX= 4.24 $$ made here\n", file->title);
    if (file->type)
        at += sprintf(at, "##DATA TYPE= %s\n", file->type);
    at += sprintf(at, "##XUNITS= %s\n##YUNITS= %s\n##XFACTOR= 1\n##YFACTOR= 0.001\n", file->x_units,
                  file->y_units);
    at += sprintf(at, "##FIRSTX= %g\n##LASTX= %g\n##NPOINTS= %d\n%s", file->first, file->last, POINTS,
                  file->labels ? file->labels : "");
    at += sprintf(at, "##XYDATA= (X++(Y..Y))\n");
    for (int i = 0; i < POINTS; i++)
        at += sprintf(at, "%.6f %d\n", file->first + (file->last - file->first) * i / (POINTS - 1), 100 + i);
    at += sprintf(at, "##END=\n");
    return (size_t)(at - out);
}

static void units_and_order(void **state)
{
    (void)state;
    static const struct {
        struct file file;
        double lowest, y_there;
        enum pellet_ordinate ordinate;
    } rows[] = {
        {{"a", "INFRARED SPECTRUM", "1/CM", "ABSORBANCE", NULL, 4000, 400},
         400,
         0.159,
         PELLET_ORDINATE_ABSORBANCE},
        {{"a", "INFRARED SPECTRUM", "1/CM", "ABSORBANCE", NULL, 400, 4000},
         400,
         0.1,
         PELLET_ORDINATE_ABSORBANCE},
        {{"a", "Infrared Spectrum", "cm-1", "TRANSMITTANCE", NULL, 400, 4000},
         400,
         0.1,
         PELLET_ORDINATE_TRANSMITTANCE},
        {{"a", "FT-IR", "MICROMETERS", "%T", NULL, 2.5, 25}, 400, 0.00159, PELLET_ORDINATE_TRANSMITTANCE},
        {{"a", "INFRARED SPECTRUM", "NANOMETERS", "REFLECTANCE", NULL, 2500, 25000},
         400,
         0.159,
         PELLET_ORDINATE_OTHER},
        {{"a", "INFRARED SPECTRUM", "1/CM", "ARBITRARY UNITS", NULL, 400, 4000},
         400,
         0.1,
         PELLET_ORDINATE_UNKNOWN},
        {{"a", "INFRARED SPECTRUM", "1/CM", "ARBITRARY UNITS", "##DATA PROCESSING= Single Beam\n", 400, 4000},
         400,
         0.1,
         PELLET_ORDINATE_SINGLE_BEAM},
        {{"a", "INFRARED SPECTRUM", "1/CM", "mol/L", NULL, 400, 4000}, 400, 0.1, PELLET_ORDINATE_OTHER},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        const size_t n = write_file(&rows[i].file, text);
        print_message("%s, %s\n", rows[i].file.x_units, rows[i].file.y_units);
        reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
        assert_int_equal(spectra.item->n, POINTS);
        assert_near(spectra.item->wavenumber[0], rows[i].lowest, 1e-9);
        assert_near(spectra.item->y[0], rows[i].y_there, 1e-12);
        assert_int_equal(spectra.item->ordinate, rows[i].ordinate);
        assert_null(spectra.item->warnings);
        pellet_spectra_clear(&spectra);
    }
}

static void labels_in_any_dress(void **state)
{
    (void)state;
    const struct file file = {.title = "caffeine $$ the title's comment",
                              .type = "INFRARED SPECTRUM",
                              .x_units = "1/CM",
                              .y_units = "ABSORBANCE",
                              .labels = "##long_date= 2026/03/04 11:12:31.50 +0100\n"
                                        "##Re-sol/ution = 4 cm-1\n"
                                        "##SPECTROMETER/DATA SYSTEM= an instrument\n with a\n long name\n"
                                        "##$NUMBER OF SCANS= 32\n"
                                        "##INSTRUMENT PARAMETERS=\n detector: DTGS\n gain = 2 $$ low\n"
                                        "##= a comment\n##$PRIVATE= ## not a label, $ not a comment\n",
                              .first = 400,
                              .last = 4000};
    char text[8192];
    struct pellet_spectra spectra;
    const size_t n = write_file(&file, text);
    reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
    const struct pellet_spectrum *s = spectra.item;
    assert_string_equal(s->title, "caffeine");
    assert_true(s->measured == INT64_C(1772619151) * PELLET_NS_PER_S + PELLET_NS_PER_S / 2);
    assert_near(s->resolution, 4, 0);
    assert_string_equal(s->setting[PELLET_SETTING_INSTRUMENT], "an instrument with a long name");
    assert_string_equal(s->setting[PELLET_SETTING_SCANS], "32");
    assert_string_equal(s->setting[PELLET_SETTING_DETECTOR], "DTGS");
    assert_string_equal(s->setting[PELLET_SETTING_GAIN], "2");
    pellet_spectra_clear(&spectra);
}

static void compound_files(void **state)
{
    (void)state;
    const struct file sample = {"sample", "INFRARED SPECTRUM", "1/CM", "ARBITRARY UNITS", NULL, 400, 4000};
    const struct file raman = {"other", "RAMAN SPECTRUM", "1/CM", "ARBITRARY UNITS", NULL, 400, 4000};
    const struct file blank = {"blank", "INFRARED SPECTRUM", "1/CM", "ARBITRARY UNITS", NULL, 4000, 400};
    char text[32768] = "\n $$ exported\n##TITLE= both\n##DATA TYPE= LINK\n##BLOCKS= 3\n";
    struct pellet_spectra spectra;
    size_t n = strlen(text);
    n += write_file(&sample, text + n);
    n += write_file(&raman, text + n);
    n += write_file(&blank, text + n);
    n += (size_t)sprintf(text + n, "##END=\n\x1A");
    reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
    assert_int_equal(spectra.n, 2);
    assert_string_equal(spectra.item[0].title, "sample");
    assert_string_equal(spectra.item[1].title, "blank");
    assert_near(spectra.item[1].y[0], 0.159, 1e-12);
    assert_non_null(strstr(spectra.item[1].warnings, "RAMAN SPECTRUM"));
    pellet_spectra_clear(&spectra);
}

/* A compound file that lost a block says so: the blank that is not there must be missed. */
static void compound_files_cut_short(void **state)
{
    (void)state;
    static const struct {
        const char *blocks, *end, *words;
    } rows[] = {
        {"##BLOCKS= 2\n", "##END=\n", NULL},
        {"##BLOCKS= 3\n", "##END=\n", NULL}, /* with the header counted */
        {"", "##END=\n", NULL},
        {"##BLOCKS= 2\n", "", "no ##END= of the compound file that begins in line 1"},
        {"##BLOCKS= 4\n", "##END=\n", "##BLOCKS=4, but the file holds 2"},
        {"##BLOCKS= one\n", "##END=\n", "##BLOCKS=one, but the file holds 2"},
    };
    const struct file block = {"a", "INFRARED SPECTRUM", "1/CM", "ABSORBANCE", NULL, 400, 4000};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[32768];
        struct pellet_spectra spectra;
        size_t n = (size_t)sprintf(text, "##TITLE= both\n##DATA TYPE= LINK\n%s", rows[i].blocks);
        n += write_file(&block, text + n);
        n += write_file(&block, text + n);
        n += (size_t)sprintf(text + n, "%s", rows[i].end);
        print_message("%s%s", rows[i].blocks, rows[i].end);
        reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
        assert_int_equal(spectra.n, 2);
        for (size_t k = 0; k < 2; k++) {
            assert_int_equal(spectra.item[k].warnings != NULL, rows[i].words != NULL);
            if (rows[i].words)
                assert_non_null(strstr(spectra.item[k].warnings, rows[i].words));
        }
        pellet_spectra_clear(&spectra);
    }
}

/* The units that the standard requires count, whatever an axis is called for people. */
static void units_before_axis_labels(void **state)
{
    (void)state;
    const struct file file = {.title = "a\n##YLABEL= TRANSMITTANCE\n##XLABEL= WAVELENGTH",
                              .type = "INFRARED SPECTRUM",
                              .x_units = "1/CM",
                              .y_units = "ABSORBANCE",
                              .first = 400,
                              .last = 4000};
    char text[8192];
    struct pellet_spectra spectra;
    const size_t n = write_file(&file, text);
    reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
    assert_int_equal(spectra.item->ordinate, PELLET_ORDINATE_ABSORBANCE);
    pellet_spectra_clear(&spectra);
}

/* What the standard lets pass, with a warning that says so. */
static void warnings(void **state)
{
    (void)state;
    static const struct {
        const char *find, *put, *words;
    } rows[] = {
        {"##END=\n", "", "no ##END="},
        {"##XFACTOR= 1\n", "", "no ##XFACTOR="},
        {"##DATA TYPE= INFRARED SPECTRUM\n", "", "no ##DATA TYPE="},
        {"##YFACTOR= 0.001\n", "##YFACTOR= 0.001\n##FIRSTY= 0.2\n", "##FIRSTY=0.2"},
        {"##YFACTOR= 0.001\n", "##YFACTOR= 0.001\n##DELTAX= 50\n", "##DELTAX=50"},
        {"##YFACTOR= 0.001\n", "##YFACTOR= 0.001\n##DATE= 03/04/2026\n##TIME= 10:00\n", "two ways"},
        {"\n522.033898 102", "\n461.016949 102", "X-check: line"},
    };
    const struct file file = {"a", "INFRARED SPECTRUM", "1/CM", "ABSORBANCE", NULL, 400, 4000};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[8192], changed[8192];
        struct pellet_spectra spectra;
        write_file(&file, text);
        const char *at = strstr(text, rows[i].find);
        assert_non_null(at);
        const int n = snprintf(changed, sizeof changed, "%.*s%s%s", (int)(at - text), text, rows[i].put,
                               at + strlen(rows[i].find));
        reading_ok(pellet_spectra_read, changed, (size_t)n, NULL, &spectra);
        assert_int_equal(spectra.item->n, POINTS);
        assert_non_null(spectra.item->warnings);
        assert_non_null(strstr(spectra.item->warnings, rows[i].words));
        pellet_spectra_clear(&spectra);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_forms),          cmocka_unit_test(published_difdup),
        cmocka_unit_test(exponents_and_unknowns),   cmocka_unit_test(repeated_check),
        cmocka_unit_test(units_and_order),          cmocka_unit_test(labels_in_any_dress),
        cmocka_unit_test(compound_files),           cmocka_unit_test(compound_files_cut_short),
        cmocka_unit_test(units_before_axis_labels), cmocka_unit_test(warnings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
