// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What the readers find reaches the verdict of the real program: file, line and cause of what is refused, the
 * warnings of what is let pass, the station's word on columns and limits, compound files.
 */
#include "daemon/running.h"

#include "config.h"

/* 60 points 400, 410, ... 990 cm-1 in DIFDUP, all sound; the tests change a line of it. */
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
                           "##XYDATA= (X++(Y..Y))\n"
                           "400A00JS0\n"
                           "500A10JS0\n"
                           "600A20JJJJJ\n"
                           "650A25JW\n"
                           "700A30JT0\n"
                           "900A50Js\n"
                           "990A59\n"
                           "##END=\n";

struct change {
    const char *find, *put, *says; /* part of the reason or of the warning; the cause with its line */
};

/* "jcamp-07.jdx", by its place in the table. */
static const char *name_of(size_t i, char name[32])
{
    snprintf(name, 32, "jcamp-%02zu.jdx", i);
    return name;
}

static void write_changed(const struct running *running, size_t i, const struct change *change)
{
    char name[32];
    struct pellet_text text = {0};
    const char *at = strstr(good, change->find);
    assert_non_null(at);
    pellet_text_add(&text, good, (size_t)(at - good));
    pellet_text_adds(&text, change->put);
    pellet_text_adds(&text, at + strlen(change->find));
    running_write(running_path(running, name_of(i, name)), text.data, text.length);
    pellet_text_free(&text);
}

static int judge_folder(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", running->folder, NULL};
    return running_run(running, arguments);
}

/* `judge` finds the configuration where a person's own would be. */
static void configure_person(const struct running *running, const char *keys)
{
    char folder[PATH_MAX + 20], path[PATH_MAX + 40];
    struct pellet_text text = {0};
    snprintf(folder, sizeof folder, "%s/pelletd", running->around);
    assert_int_equal(mkdir(folder, 0777), 0);
    snprintf(path, sizeof path, "%s/pelletd.yaml", folder);
    pellet_text_addf(&text, "format: 1\nstations:\n  - folder: %s\n    %s\n", running->folder, keys);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

static struct pellet_verdict verdict_of(const struct running *running, const char *name)
{
    struct pellet_verdict verdict;
    if (!running_verdict(running, name, &verdict))
        fail_msg("no verdict for %s", name);
    assert_string_equal(verdict.file, name);
    return verdict;
}

static void expect_refusal(const struct running *running, const char *name, const char *says)
{
    struct pellet_verdict verdict = verdict_of(running, name);
    assert_int_equal(verdict.outcome, PELLET_RESCAN);
    assert_int_equal(verdict.reason_count, 1);
    assert_string_equal(verdict.reason[0].check->id, "read");
    if (!strstr(verdict.reason[0].says, says))
        fail_msg("%s: '%s' lacks '%s'", name, verdict.reason[0].says, says);
    pellet_verdict_clear(&verdict);
}

static void expect_warning(const struct running *running, const char *name, const char *says)
{
    struct pellet_verdict verdict = verdict_of(running, name);
    bool said = false;
    for (size_t i = 0; i < verdict.warning_count; i++)
        said = said || strstr(verdict.warning[i], says);
    if (!said)
        fail_msg("%s: %zu warnings, none says '%s'", name, verdict.warning_count, says);
    pellet_verdict_clear(&verdict);
}

/* One file for each change; what is expected of its verdict is what the change says. */
static void judge_changed(struct running *running, const struct change *changes, size_t count,
                          void (*expect)(const struct running *running, const char *name, const char *says))
{
    char name[32];
    for (size_t i = 0; i < count; i++)
        write_changed(running, i, &changes[i]);
    assert_int_equal(judge_folder(running), 1);
    for (size_t i = 0; i < count; i++)
        expect(running, name_of(i, name), changes[i].says);
}

/* Whatever the person sees on the terminal names the file too. */
static void expect_lines_name(const struct running *running, size_t count)
{
    char name[32], *lines = running_lines(running);
    for (size_t i = 0; i < count; i++)
        assert_non_null(strstr(lines, name_of(i, name)));
    free(lines);
}

/* ---------------------------------------------------------------- refused, or let pass with a warning */

static void file_line_and_cause(void **state)
{
    struct running *running = *state;
    static const struct change changes[] = {
        {"NPOINTS= 60", "NPOINTS= 61", "line 11: NPOINTS=61 but the table holds 60"},
        {"600A20", "600A21", "line 14: Y-check fails"},
        {"600A20JJJJJ\n", "", "line 14: X-check fails"},
        {"600A20JJJJJ", "600A20R007199254740992J", "line 14: the sum of the differences exceeds 2^53"},
        {"900A50Js", "900A50J0S000000000", "line 17: a repeat count of 1000000000 where"},
        {"##END=\n", "##XYDATA= (X++(Y..Y))\n400 1\n##END=\n", "line 19: a second ##XYDATA="},
        {"##YUNITS=", "##YUNITS", "line 5: a label without '='"},
        {"600A20JJJJJ", "600A20J\x01J", "line 14: byte 0x01"},
        {"INFRARED SPECTRUM", "NMR FID", "line 1: DATA TYPE is 'NMR FID', not an infrared spectrum"},
        {"##XYDATA= (X++(Y..Y))", "##PEAK TABLE= (XY..XY)", "line 1: a peak table, not a spectrum"},
    };
    const size_t count = sizeof changes / sizeof *changes;
    judge_changed(running, changes, count, expect_refusal);
    expect_lines_name(running, count);
}

static void junk_and_endless_digits(void **state)
{
    struct running *running = *state;
    const size_t n = (size_t)100 << 20;
    char *bytes = malloc(n);
    assert_non_null(bytes);
    memset(bytes, '7', n);
    configure_person(running, "file_max: 200 MiB");
    running_write(running_path(running, "digits.csv"), bytes, n);
    for (size_t i = 0; i < 4096; i++)
        bytes[i] = (char)(i * 2654435761u >> 13);
    running_write(running_path(running, "junk.csv"), bytes, 4096);
    free(bytes);
    assert_int_equal(judge_folder(running), 1);
    expect_refusal(running, "digits.csv", "line 1: a line of 104857600 bytes, at most 1048576 are allowed");
    expect_refusal(running, "junk.csv", "binary data");
}

static void warnings_reach_the_verdict(void **state)
{
    struct running *running = *state;
    static const struct change changes[] = {
        {"##END=\n", "", "no ##END="},
        {"##XFACTOR= 1\n", "", "no ##XFACTOR="},
        {"##NPOINTS= 60\n", "##NPOINTS= 60\n##FIRSTY= 0.2\n", "##FIRSTY=0.2"},
        {"##NPOINTS= 60\n", "##NPOINTS= 60\n##DELTAX= 5\n", "##DELTAX=5"},
        {"ABSORBANCE", "TRANSMITTANCE\n##DATE= 03/04/2026\n##TIME= 10:00", "two ways"},
        {"650A25JW", "640A25JW", "X-check: line 15"},
    };
    judge_changed(running, changes, sizeof changes / sizeof *changes, expect_warning);
}

/* ---------------------------------------------------------------- what the station says */

static void limits_of_the_station(void **state)
{
    struct running *running = *state;
    static const struct change same = {"a", "a", ""};
    configure_person(running, "points_max: 59");
    write_changed(running, 0, &same);
    running_write(running_path(running, "short.csv"), "1,2\n", 4);
    assert_int_equal(judge_folder(running), 1);
    expect_refusal(running, "jcamp-00.jdx", "line 10: ##NPOINTS=60, at most 59 are allowed");
    expect_refusal(running, "short.csv", "no two rows");
}

/* Whoever can write to the folder does not choose how long its station is busy. */
static void points_beyond_any_spectrum(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    for (int i = 0; i <= STATION_POINTS; i++)
        pellet_text_addf(&text, "%.3f,0.5\n", 400 + i * 0.036);
    running_write(running_path(running, "hostile.csv"), text.data, text.length);
    pellet_text_free(&text);
    assert_int_equal(judge_folder(running), 1);
    expect_refusal(running, "hostile.csv", "more than the 100000 points allowed");
}

static void column_of_the_station(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "cm-1,blank,%T of caffeine\n");
    for (int i = 0; i < 100; i++)
        pellet_text_addf(&text, "%d,%d,80\n", 400 + 2 * i, i);
    running_write(running_path(running, "three.csv"), text.data, text.length);
    pellet_text_free(&text);
    assert_int_equal(judge_folder(running), 1);
    expect_refusal(running, "three.csv", "2 ordinate columns ('blank', '%T of caffeine')");
    configure_person(running, "column: '%t OF caffeine'");
    char *again[] = {(char *)PELLETD_PROGRAM, "judge", "--again", running->folder, NULL};
    running_run(running, again);
    struct pellet_verdict verdict = verdict_of(running, "three.csv");
    assert_int_not_equal(verdict.check_count, 0); /* it was read, so it was checked */
    pellet_verdict_clear(&verdict);
}

/* ---------------------------------------------------------------- compound files */

/* A block as a spectrometer would write it; `dose` 0 is a blank. */
static void add_block(struct running *running, const char *title, double dose, unsigned long seed,
                      struct pellet_text *out)
{
    struct pellet_synth_pellet pellet;
    struct pellet_synth_instrument instrument;
    struct pellet_spectrum spectrum = {0};
    if (!running->model)
        assert_int_equal(pellet_synth_new(&running->model, NULL), PELLET_OK);
    pellet_synth_pellet_init(&pellet);
    pellet_synth_instrument_init(&instrument);
    if (dose > 0) {
        pellet.compound = pellet_synth_compound_find("sugar-A");
        pellet.dose_mg_cm2 = dose;
    }
    assert_int_equal(pellet_synth_measure(running->model, &pellet, &instrument, seed, &spectrum, NULL, NULL),
                     PELLET_OK);
    spectrum.title = strdup(title);
    spectrum.measured = RUNNING_START;
    assert_int_equal(pellet_jcamp_write(&spectrum, "tests", out, NULL), PELLET_OK);
    pellet_spectrum_clear(&spectrum);
}

static void sample_and_its_blank(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "##TITLE= both\n##DATA TYPE= LINK\n##BLOCKS= 2\n");
    add_block(running, "sugar p1", 0.7, 3, &text);
    add_block(running, "Blank of the morning", 0, 2, &text);
    const size_t whole = text.length;
    pellet_text_adds(&text, "##END=\n");
    running_write(running_path(running, "sugar_p1.jcm"), text.data, text.length);
    running_write(running_path(running, "cut_p1.jcm"), text.data, whole);
    pellet_text_free(&text);
    judge_folder(running);
    struct pellet_verdict verdict = verdict_of(running, "sugar_p1.jcm");
    assert_string_equal(running_blank_of(&verdict), "sugar_p1.jcm");
    assert_int_equal(verdict.role, PELLET_SAMPLE);
    assert_int_equal(verdict.outcome, PELLET_PASS);
    pellet_verdict_clear(&verdict);
    expect_warning(running, "cut_p1.jcm", "no ##END= of the compound file");
    running_verify(running);
}

static void several_samples(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "##TITLE= all\n##DATA TYPE= LINK\n##BLOCKS= 3\n");
    add_block(running, "sugar p1", 0.7, 3, &text);
    add_block(running, "sugar p2", 0.6, 4, &text);
    add_block(running, "blank", 0, 2, &text);
    pellet_text_adds(&text, "##END=\n");
    running_write(running_path(running, "all.jcm"), text.data, text.length);
    pellet_text_free(&text);
    assert_int_equal(judge_folder(running), 1);
    expect_refusal(running, "all.jcm",
                   "('sugar p1' is a sample, 'sugar p2' is a sample, 'blank' is a blank)");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(file_line_and_cause),        running_test(junk_and_endless_digits),
        running_test(warnings_reach_the_verdict), running_test(limits_of_the_station),
        running_test(points_beyond_any_spectrum), running_test(column_of_the_station),
        running_test(sample_and_its_blank),       running_test(several_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
