// SPDX-License-Identifier: GPL-3.0-or-later
/* Damaged JCAMP-DX, and JCAMP-DX that is no infrared spectrum: each refused with line and cause. */
#include "reading.h"

/*
 * 60 points 400, 410, ... 990 cm-1, ordinates 100, 101, ... 159 in DIFDUP: lines 13 to 19, of which all but
 * the first begin with a check. S0 repeats ten times.
 */
static const char good[] = "##TITLE= a\n"
                           "##JCAMP-DX= 4.24\n"
                           "##DATA TYPE= INFRARED SPECTRUM\n"
                           "##XUNITS= 1/CM\n"
                           "##YUNITS= ABSORBANCE\n"
                           "##XFACTOR= 1\n"
                           "##YFACTOR= 0.001\n"
                           "##FIRSTX= 400\n"
                           "##LASTX= 990\n"
                           "##NPOINTS= 60\n"
                           "##FIRSTY= 0.1\n"
                           "##XYDATA= (X++(Y..Y))\n"
                           "400A00JS0\n"   /* 100..110 */
                           "500A10JS0\n"   /* 111..120 */
                           "600A20JJJJJ\n" /* 121..125 */
                           "650A25JW\n"    /* 126..130 */
                           "700A30JT0\n"   /* 131..150 */
                           "900A50Js\n"    /* 151..159 */
                           "990A59\n"
                           "##END=\n";

static size_t replace(const char *find, const char *put, char *out, size_t size)
{
    const char *at = strstr(good, find);
    assert_non_null(at);
    return (size_t)snprintf(out, size, "%.*s%s%s", (int)(at - good), good, put, at + strlen(find));
}

static void good_as_it_is(void **state)
{
    (void)state;
    struct pellet_spectra spectra;
    reading_ok(pellet_jcamp_read, good, strlen(good), NULL, &spectra);
    assert_int_equal(spectra.item->n, 60);
    for (int i = 0; i < 60; i++)
        assert_near(spectra.item->y[i], 0.1 + i / 1000.0, 1e-12);
    assert_null(spectra.item->warnings);
    pellet_spectra_clear(&spectra);
}

static void damaged(void **state)
{
    (void)state;
    static const struct {
        const char *find, *put;
        pellet_status status;
        size_t line;
        const char *words;
    } cases[] = {
        {"NPOINTS= 60", "NPOINTS= 61", PELLET_E_FORMAT, 12, "NPOINTS=61 but the table holds 60"},
        {"NPOINTS= 60", "NPOINTS= 59", PELLET_E_FORMAT, 18, "a repeat count of 9 where 7 points are left"},
        {"NPOINTS= 60", "NPOINTS= -1", PELLET_E_RANGE, 10, "no count"},
        {"NPOINTS= 60", "NPOINTS= 1e300", PELLET_E_LIMIT, 10, "at most 4000000"},
        {"NPOINTS= 60", "NPOINTS= many", PELLET_E_NUMBER, 10, "'many'"},
        {"##NPOINTS= 60\n", "", PELLET_E_FORMAT, 1, "no ##NPOINTS="},
        {"##FIRSTX= 400\n", "", PELLET_E_FORMAT, 1, "no ##FIRSTX="},
        {"##LASTX= 990\n", "", PELLET_E_FORMAT, 1, "##LASTX="},
        {"##YFACTOR= 0.001", "##YFACTOR= 0", PELLET_E_RANGE, 7, "YFACTOR=0"},
        {"##YFACTOR= 0.001", "##YFACTOR= 1e308", PELLET_E_NUMBER, 13, "not finite"},
        {"##XFACTOR= 1", "##XFACTOR= NaN", PELLET_E_NUMBER, 6, "'NaN'"},
        {"##XFACTOR= 1", "##XFACTOR= 2", PELLET_E_FORMAT, 13, "X-check fails"},
        {"600A20", "600A21", PELLET_E_FORMAT, 15, "Y-check fails: 121 here, 120"},
        {"600A20JJJJJ", "600A20JJJKJ", PELLET_E_FORMAT, 16, "Y-check fails"},
        {"600A20JJJJJ\n", "", PELLET_E_FORMAT, 15, "X-check fails"},
        {"900A50Js\n990A59\n", "", PELLET_E_FORMAT, 12, "NPOINTS=60 but the table holds 51"},
        {"900A50Js", "900A50Js000000000", PELLET_E_FORMAT, 18, "a repeat count of 9000000000 where"},
        {"900A50Js", "900A50J0S000000000", PELLET_E_FORMAT, 18, "a repeat count of 1000000000 where"},
        {"900A50Js", "900S", PELLET_E_FORMAT, 18, "a repeat count without an ordinate"},
        {"900A50Js", "900JJJ", PELLET_E_FORMAT, 18, "a difference without an ordinate"},
        {"900A50Js", "900A50?J", PELLET_E_FORMAT, 18, "a difference without an ordinate"},
        {"600A20JJJJJ", "600A20R999999999999999999J", PELLET_E_NUMBER, 15, "exceeds 2^53"},
        {"600A20JJJJJ", "600A20R007199254740992J", PELLET_E_NUMBER, 15, "exceeds 2^53"},
        {"600A20JJJJJ", "600A20J&J", PELLET_E_NUMBER, 15, "byte 0x26"},
        {"600A20JJJJJ", "600 nan", PELLET_E_FORMAT, 15, "a difference without"},
        {"600A20JJJJJ", "A20JJJJJ", PELLET_E_NUMBER, 15, "does not begin with a number"},
        {"##END=\n", "##END\n", PELLET_E_FORMAT, 20, "a label without '='"},
        {"##END=\n", "##XYDATA= (X++(Y..Y))\n400 1\n##END=\n", PELLET_E_FORMAT, 20, "a second ##XYDATA="},
        {"##END=\n", "##XYPOINTS= (XY..XY)\n400 1\n##END=\n", PELLET_E_FORMAT, 20, "a second ##XYPOINTS="},
        {"##NPOINTS= 60", "##NPOINTS= 60\n##NPOINTS= 61", PELLET_E_FORMAT, 11, "a second ##NPOINTS="},
        {"##XYDATA= (X++(Y..Y))", "##XYDATA= (X++(R..R))", PELLET_E_FORMAT, 12,
         "the table's form is '(X++(R..R))'"},
        {"##XYDATA= (X++(Y..Y))", "##XYDATA= (XY..XY)", PELLET_E_NUMBER, 13, "not a finite decimal number"},
        {"##END=\n", "##END=\n##OWNER= nobody\n", PELLET_E_FORMAT, 21, "outside ##TITLE="},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[2048];
        print_message("%s\n", cases[i].put);
        const size_t n = replace(cases[i].find, cases[i].put, text, sizeof text);
        reading_refused(pellet_spectra_read, text, n, NULL, cases[i].status, cases[i].line, cases[i].words);
    }
}

/* Without its last check the table is whole all the same, and NPOINTS says so. */
static void lost_check(void **state)
{
    (void)state;
    char text[2048];
    struct pellet_spectra spectra;
    const size_t n = replace("990A59\n", "", text, sizeof text);
    reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
    assert_int_equal(spectra.item->n, 60);
    pellet_spectra_clear(&spectra);
}

static void named_for_what_it_is(void **state)
{
    (void)state;
    static const struct {
        const char *find, *put, *words;
    } cases[] = {
        {"INFRARED SPECTRUM", "MASS SPECTRUM", "'MASS SPECTRUM', not an infrared"},
        {"INFRARED SPECTRUM", "NMR FID", "'NMR FID', not an infrared"},
        {"INFRARED SPECTRUM", "INFRARED INTERFEROGRAM", "an interferogram"},
        {"INFRARED SPECTRUM", "INFRARED PEAK TABLE", "a peak table"},
        {"##XYDATA= (X++(Y..Y))", "##PEAK TABLE= (XY..XY)", "a peak table"},
        {"##END=\n", "##NTUPLES= INFRARED SPECTRUM\n##END=\n", "NTUPLES: several ordinates"},
        {"##YUNITS= ABSORBANCE", "##YUNITS= ABSORBANCE\n##DATA CLASS= NTUPLES", "NTUPLES: several ordinates"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[2048];
        print_message("%s\n", cases[i].put);
        const size_t n = replace(cases[i].find, cases[i].put, text, sizeof text);
        reading_refused(pellet_spectra_read, text, n, NULL, PELLET_E_FORMAT, 1, cases[i].words);
    }
    char text[2048];
    size_t n = replace("##XUNITS= 1/CM", "##XUNITS= SECONDS", text, sizeof text);
    reading_refused(pellet_spectra_read, text, n, NULL, PELLET_E_UNIT, 1, "'SECONDS'");
    n = replace("400", "-400", text, sizeof text);
    reading_refused(pellet_spectra_read, text, n, NULL, PELLET_E_FORMAT, 13, "X-check fails");
}

static void empty_and_nested(void **state)
{
    (void)state;
    char deep[1024] = "";
    for (int i = 0; i < 9; i++)
        strcat(deep, "##TITLE= a\n##DATA TYPE= LINK\n");
    reading_refused(pellet_jcamp_read, "", 0, NULL, PELLET_E_SHORT, 0, "no label");
    reading_refused(pellet_jcamp_read, "hello\n", 6, NULL, PELLET_E_FORMAT, 1, "begins with ##TITLE=");
    reading_refused(pellet_jcamp_read, deep, strlen(deep), NULL, PELLET_E_LIMIT, 17, "more than 8 blocks");
    reading_refused(pellet_jcamp_read, "##TITLE= a\n##DATA TYPE= LINK\n##END=\n", 36, NULL, PELLET_E_FORMAT,
                    1, "without blocks");
}

static void too_many_labels(void **state)
{
    (void)state;
    const size_t n = 4 * 70000;
    char *text = malloc(n);
    assert_non_null(text);
    for (size_t i = 0; i < n; i += 4)
        memcpy(text + i, "##=\n", 4);
    reading_refused(pellet_jcamp_read, text, n, NULL, PELLET_E_LIMIT, 65537, "more than 65536 labels");
    free(text);
}

static void limits_at_the_edge(void **state)
{
    (void)state;
    struct pellet_spectra spectra;
    const size_t n = strlen(good);
    const struct pellet_read_options fits = {.bytes_max = n, .points_max = 60, .line_max = 30};
    reading_ok(pellet_jcamp_read, good, n, &fits, &spectra);
    pellet_spectra_clear(&spectra);
    reading_refused(pellet_jcamp_read, good, n, &(struct pellet_read_options){.bytes_max = n - 1},
                    PELLET_E_LIMIT, 0, "at most");
    reading_refused(pellet_jcamp_read, good, n, &(struct pellet_read_options){.points_max = 59},
                    PELLET_E_LIMIT, 10, "at most 59");
    reading_refused(pellet_jcamp_read, good, n, &(struct pellet_read_options){.line_max = 29}, PELLET_E_LIMIT,
                    3, "a line of 30 bytes");
}

/* Cut at every byte: an error, or all points together with a warning, never less in silence. */
static void cut_at_every_byte(void **state)
{
    (void)state;
    const size_t n = strlen(good);
    for (size_t cut = 0; cut < n - 1; cut++) { /* the last byte is only a line end */
        struct pellet_spectra spectra = {0};
        struct pellet_error error = {0};
        if (reading_exact(pellet_jcamp_read, good, cut, NULL, &spectra, &error) != PELLET_OK) {
            assert_true(error.message[0] != 0);
            continue;
        }
        assert_int_equal(spectra.item->n, 60);
        assert_non_null(spectra.item->warnings);
        for (int i = 0; i < 60; i++)
            assert_near(spectra.item->y[i], 0.1 + i / 1000.0, 1e-12);
        pellet_spectra_clear(&spectra);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_as_it_is),      cmocka_unit_test(damaged),
        cmocka_unit_test(lost_check),         cmocka_unit_test(named_for_what_it_is),
        cmocka_unit_test(empty_and_nested),   cmocka_unit_test(too_many_labels),
        cmocka_unit_test(limits_at_the_edge), cmocka_unit_test(cut_at_every_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
