// SPDX-License-Identifier: GPL-3.0-or-later
/* Whatever has a spectrum's name gets a verdict or one line in the log, and the service goes on. */
#include "daemon/running.h"

static void write_text(struct running *running, const char *name, const char *text)
{
    running_write(running_path(running, name), text, strlen(text));
}

/* Judged as unreadable, with this in its summary. */
static void wait_unreadable(struct running *running, const char *name, const char *says)
{
    struct pellet_verdict verdict;
    struct pellet_text file = {0};
    char *text = NULL;
    pellet_verdict_name(name, &file);
    running_until((text = running_read(running_path(running, pellet_text_string(&file)))) != NULL,
                  "no verdict: %s", name);
    pellet_text_free(&file);
    assert_int_equal(pellet_verdict_read(text, strlen(text), &verdict, NULL), PELLET_OK);
    free(text);
    assert_int_equal(verdict.outcome, PELLET_RESCAN);
    assert_int_equal(verdict.reason_count, 1);
    assert_string_equal(verdict.reason[0].check->id, "read");
    if (!strstr(verdict.summary, says))
        fail_msg("%s: %s", name, verdict.summary);
    pellet_verdict_clear(&verdict);
}

static void goes_on(struct running *running)
{
    running_save(running, "good_p1.csv", 5, 0.7, 9);
    running_wait_outcome(running, "good_p1.csv", PELLET_PASS);
    running_stop(running);
}

static void contents(void **state)
{
    struct running *running = *state;
    static const struct {
        const char *name, *text, *says;
    } rows[] = {
        {"text.csv", "please find the spectrum attached\n", ""},
        {"one-column.csv", "4000\n3998\n3996\n", ""},
        {"short.csv", "4000,1\n3998,1\n3996,1\n", ""},
        {"words.csv", "wavenumber,absorbance\n4000,one\n3998,two\n", ""},
        {"nan.csv", "wavenumber,absorbance\n4000,nan\n3998,inf\n", ""},
    };
    running_begin(running);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        write_text(running, rows[i].name, rows[i].text);
    write_text(running, "empty.csv", "");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        wait_unreadable(running, rows[i].name, rows[i].says);
    wait_unreadable(running, "empty.csv", "");
    goes_on(running);
}

static void not_files(void **state)
{
    struct running *running = *state;
    running_begin(running);
    assert_int_equal(mkdir(running_path(running, "folder.csv"), 0777), 0);
    assert_int_equal(mkfifo(running_path(running, "pipe.csv"), 0666), 0);
    running_save(running, "target.dat", 3, 0.7, 3);
    assert_int_equal(symlink("target.dat", running_path(running, "link.csv")), 0);
    assert_int_equal(symlink("/etc/passwd", running_path(running, "passwd.csv")), 0);
    assert_int_equal(symlink("nowhere", running_path(running, "dangling.csv")), 0);
    wait_unreadable(running, "folder.csv", "regular");
    wait_unreadable(running, "pipe.csv", "regular");
    wait_unreadable(running, "link.csv", "");
    wait_unreadable(running, "passwd.csv", "");
    wait_unreadable(running, "dangling.csv", "");
    goes_on(running);
}

static void too_large(void **state)
{
    struct running *running = *state;
    running_begin(running);
    int file = open(running_path(running, "large.csv"), O_WRONLY | O_CREAT, 0666);
    /* Sparse: it only looks large. */
    assert_int_equal(ftruncate(file, (64 << 20) + 1), 0);
    close(file);
    wait_unreadable(running, "large.csv", "67108864");
    goes_on(running);
}

/* A file with several samples says how it should be saved. */
static void several_samples_in_a_file(void **state)
{
    struct running *running = *state;
    struct pellet_spectrum spectrum = {0};
    struct pellet_text block = {0};
    struct pellet_text file = {0};
    double x[100];
    double y[100];
    for (int i = 0; i < 100; i++) {
        x[i] = 400 + 4 * i;
        y[i] = 0.1;
    }
    char title[] = "caffeine";
    spectrum = (struct pellet_spectrum){.n = 100,
                                        .wavenumber = x,
                                        .y = y,
                                        .ordinate = PELLET_ORDINATE_ABSORBANCE,
                                        .resolution = NAN,
                                        .measured = PELLET_NO_TIME,
                                        .title = title};
    assert_int_equal(pellet_jcamp_write(&spectrum, "test", &block, NULL), PELLET_OK);
    pellet_text_addf(&file, "##TITLE=two\n##JCAMP-DX=4.24\n##DATA TYPE=LINK\n##BLOCKS=2\n%s%s##END=\n",
                     block.data, block.data);
    running_begin(running);
    running_write(running_path(running, "two.jdx"), file.data, file.length);
    wait_unreadable(running, "two.jdx", "export each to a file of its own");
    pellet_text_free(&block);
    pellet_text_free(&file);
    goes_on(running);
}

/* Names that would hurt a terminal, YAML, a shell or a table. */
static void hostile_names(void **state)
{
    struct running *running = *state;
    char longest[256];
    static const char *const names[] = {"=1+1_p1.csv",   "a\nb_p1.csv",     "\033[31mred_p1.csv",
                                        "-rf_p1.csv",    "quote\"'_p1.csv", "\xff\xfe_p1.csv",
                                        "#: {x}_p1.csv", "$(id)_p1.csv"};
    memset(longest, 'x', 255);
    memcpy(longest + 248, "_p1.csv", 8);
    running_begin(running);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        running_save(running, names[i], 3 + (double)i / 10, 0.7, 10 + i);
    running_save(running, longest, 4, 0.7, 30);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct pellet_verdict verdict = running_wait_verdict(running, names[i]);
        assert_string_equal(verdict.file, names[i]);
        pellet_verdict_clear(&verdict);
    }
    struct pellet_verdict verdict = running_wait_verdict(running, longest);
    assert_string_equal(verdict.file, longest);
    pellet_verdict_clear(&verdict);
    running_stop(running);
    running_verify(running);
    char *lines = running_lines(running);
    assert_null(strchr(lines, '\033'));
    free(lines);
}

/* A verdict that somebody planted or damaged is no verdict, and its list of outputs is no list of orders. */
static void planted_verdicts(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 3, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
    char *text = running_read(running_path(running, "a_p1.csv.verdict.yaml"));
    char *pass = strstr(text, "verdict: pass");
    assert_non_null(pass);
    memcpy(pass, "verdict: wait", 13);
    running_write(running_path(running, "a_p1.csv.verdict.yaml"), text, strlen(text));
    free(text);
    write_text(running, "blank.csv.verdict.yaml", "format: 1\nverdict: pass\n");
    running_watch(running);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
    running_stop(running);
    running_verify(running);
}

static void a_newer_format_is_left_alone(void **state)
{
    struct running *running = *state;
    static const char newer[] = "format: 2\nverdict: splendid\n...\n";
    running_begin(running);
    running_stop(running);
    running_save(running, "a_p1.csv", 3, 0.7, 3);
    write_text(running, "a_p1.csv.verdict.yaml", newer);
    running_watch(running);
    running_wait_said(running, "a_p1.csv: its verdict was written by a newer pelletd");
    running_save(running, "b_p1.csv", 4, 0.7, 4);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    char *text = running_read(running_path(running, "a_p1.csv.verdict.yaml"));
    assert_string_equal(text, newer);
    free(text);
    running_stop(running);
}

/* Where no verdict can be written, one clear message says so. */
static void a_verdict_that_cannot_be_written(void **state)
{
    struct running *running = *state;
    running_begin(running);
    assert_int_equal(mkdir(running_path(running, "a_p1.csv.verdict.yaml"), 0777), 0);
    running_save(running, "a_p1.csv", 3, 0.7, 3);
    running_wait_said(running, "a_p1.csv: ");
    assert_int_equal(running_count_said(running, "a_p1.csv: "), 1);
    goes_on(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(contents),
        running_test(not_files),
        running_test(too_large),
        running_test(several_samples_in_a_file),
        running_test(hostile_names),
        running_test(planted_verdicts),
        running_test(a_newer_format_is_left_alone),
        running_test(a_verdict_that_cannot_be_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
