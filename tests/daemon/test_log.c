// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Messages as a file, a terminal and a journal get them. A program that was built without libsystemd tells
 * the journal the priority as "<N>" at the start of a line (sd-daemon(3)): journal.c is compiled here as for
 * such a one.
 */
#undef PELLET_HAVE_SYSTEMD
#include "../../daemon/journal.c"

#include "testing.h"

#include <stdlib.h>
#include <sys/stat.h>

/* A file that stands in for stderr. */
struct caught {
    FILE *file;
    int kept;
};

static void catch_begin(struct caught *caught)
{
    caught->file = tmpfile();
    assert_non_null(caught->file);
    caught->kept = dup(STDERR_FILENO);
    assert_true(dup2(fileno(caught->file), STDERR_FILENO) >= 0);
}

static void catch_end(struct caught *caught, const char *wanted)
{
    char said[4096] = "";
    assert_true(dup2(caught->kept, STDERR_FILENO) >= 0);
    close(caught->kept);
    rewind(caught->file);
    (void)!fread(said, 1, sizeof said - 1, caught->file);
    fclose(caught->file);
    assert_string_equal(said, wanted);
}

static void say_all(void)
{
    struct pellet_error error = {.status = PELLET_E_FORMAT, .line = 3, .column = 7};
    snprintf(error.file, sizeof error.file, "rules.yaml");
    snprintf(error.message, sizeof error.message, "two\nlines");
    log_say(LOG_LEVEL_INFO, NULL, "ready");
    log_say(LOG_LEVEL_NOTICE, "a\nb.csv", "%d of %d", 1, 2);
    log_event(JOURNAL_AWAY, LOG_LEVEL_WARNING, "bench", "away");
    log_failure(LOG_LEVEL_ERROR, NULL, &error);
}

static void a_file_gets_plain_lines(void **state)
{
    struct caught caught;
    (void)state;
    unsetenv("JOURNAL_STREAM");
    catch_begin(&caught);
    say_all();
    catch_end(&caught, "pelletd: ready\n"
                       "pelletd: a\\x0Ab.csv: 1 of 2\n"
                       "pelletd: bench: away\n"
                       "pelletd: rules.yaml: line 3, column 7: two\\x0Alines\n");
}

static void the_journal_gets_the_priority_before_each_line(void **state)
{
    struct caught caught;
    struct stat st;
    char stream[64];
    (void)state;
    catch_begin(&caught);
    assert_int_equal(fstat(STDERR_FILENO, &st), 0);
    snprintf(stream, sizeof stream, "%llu:%llu", (unsigned long long)st.st_dev,
             (unsigned long long)st.st_ino);
    setenv("JOURNAL_STREAM", stream, 1);
    say_all();
    unsetenv("JOURNAL_STREAM");
    catch_end(&caught, "<6>pelletd: ready\n"
                       "<5>pelletd: a\\x0Ab.csv: 1 of 2\n"
                       "<4>pelletd: bench: away\n"
                       "<3>pelletd: rules.yaml: line 3, column 7: two\\x0Alines\n");
}

/* A service that redirects its stderr to a file still has JOURNAL_STREAM from its unit. */
static void another_stream_than_stderr_is_not_the_journal(void **state)
{
    static const char *const streams[] = {"1:1", "", "nonsense", "1", ":"};
    (void)state;
    for (size_t i = 0; i < sizeof streams / sizeof *streams; i++) {
        struct caught caught;
        setenv("JOURNAL_STREAM", streams[i], 1);
        catch_begin(&caught);
        log_say(LOG_LEVEL_ERROR, "x", "y");
        unsetenv("JOURNAL_STREAM");
        catch_end(&caught, "pelletd: x: y\n");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_gets_plain_lines),
        cmocka_unit_test(the_journal_gets_the_priority_before_each_line),
        cmocka_unit_test(another_stream_than_stderr_is_not_the_journal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
