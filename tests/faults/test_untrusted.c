// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Whoever can write to the export folder gets a verdict and nothing else: hostile names and worksheets come
 * out harmless wherever they are shown (outputs.py reads all of it with real parsers), what is planted under
 * the name of a verdict or of the worksheet is no way in, and neither is a sub-folder that turns into a link.
 */
#include "daemon/running.h"

#include <pthread.h>
#include <stdatomic.h>

static const char *const names[] = {
    "=HYPERLINK(1)_p1.csv",
    "@sum_p1.csv",
    "-2+3_p1.csv",
    "a\nb_p1.csv",
    "c\rd\te_p1.csv",
    "\033]0;t\007_p1.csv",
    "quote\"'`_p1.csv",
    "<img src=x onerror=alert(1)>_p1.csv",
    "]]>&amp;<b>_p1.csv",
    "\xff\xfe_p1.csv",
    "#: {x}\n..._p1.csv",
    /* In two pieces, or the digits would belong to the escape. */
    ("\xe2\x80\xae\xc2\x9b"
     "31m_p1.csv"),
    "${jndi}%s%n_p1.csv",
    "javascript:x_p1.csv",
    "\xed\xa0\x80_p1.csv",
};
enum { NAMES = sizeof names / sizeof names[0] };

static const char worksheet[] =
    "sample,pellet,operator,kbr_lot,decision,decided_by,decision_reason\n"
    "a\nb,1,\"=cmd|'/C calc'!A0\",<b>lot</b>,keep,\"</script><img src=x>\",\"+1\"\n"
    "@sum,1,\"@x\",\"\033[31m\",\"-1\",\"\xff\xfe\",\"\"\"><img src=x onerror=x>\"\n";

static void write_text(const struct running *running, const char *name, const char *text)
{
    running_write(running_path(running, name), text, strlen(text));
}

static int read_all_outputs(struct running *running, const char *lines)
{
    char messages[PATH_MAX + 20];
    int status = 0;
    snprintf(messages, sizeof messages, "%s", running_messages(running));
    fflush(stdout);
    const pid_t pid = fork();
    if (pid == 0) {
        execlp("python3", "python3", PELLET_TREE "/tests/faults/outputs.py", running->folder, messages, lines,
               (char *)NULL);
        _exit(127);
    }
    waitpid(pid, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static bool has_parsers(void)
{
    if (system("python3 -c 'import yaml' 2>/dev/null") == 0)
        return true;
    printf("skipped: python3 with yaml is not here\n");
    return false;
}

static void hostile_names_and_words(void **state)
{
    struct running *running = *state;
    char longest[256];
    char lines[PATH_MAX + 20];
    char *judge[] = {(char *)PELLETD_PROGRAM, "judge", "--format", "json", running->folder, NULL};
    char *report[] = {(char *)PELLETD_PROGRAM, "report", running->folder, NULL};
    if (!has_parsers())
        skip();
    memset(longest, 'x', 255);
    memcpy(longest + 248, "_p1.csv", 8);
    running_write(running_path(running, "worksheet.csv"), worksheet, sizeof worksheet - 1);
    running_begin(running);
    for (size_t i = 0; i < NAMES; i++)
        running_save(running, names[i], 3 + (double)i / 10, i % 2 ? 0.7 : 3.0, 10 + i);
    running_save(running, longest, 5, 0.7, 40);
    for (size_t i = 0; i < NAMES; i++) {
        struct pellet_verdict verdict = running_wait_verdict(running, names[i]);
        assert_string_equal(verdict.file, names[i]);
        pellet_verdict_clear(&verdict);
    }
    struct pellet_verdict verdict = running_wait_verdict(running, longest);
    pellet_verdict_clear(&verdict);
    running_stop(running);
    assert_int_equal(running_run(running, report), 0);
    assert_int_equal(running_run(running, judge), 1);
    snprintf(lines, sizeof lines, "%s/lines", running->around);
    assert_int_equal(read_all_outputs(running, lines), 0);
}

static char *deep_yaml(size_t depth)
{
    char *text = malloc(depth + 30);
    const size_t head = (size_t)snprintf(text, 30, "format: 1\nverdict: ");
    memset(text + head, '[', depth);
    text[head + depth] = '\0';
    return text;
}

/* What stands there instead of each file's verdict when it arrives, and what becomes of it. */
static void planted_where_verdicts_go(void **state)
{
    struct running *running = *state;
    char secret[PATH_MAX + 20];
    char huge[3000];
    snprintf(secret, sizeof secret, "%s/secret", running->around);
    running_write(secret, "mine\n", 5);
    running_begin(running);
    assert_int_equal(symlink(secret, running_path(running, "link_p1.csv.verdict.yaml")), 0);
    assert_int_equal(mkfifo(running_path(running, "fifo_p1.csv.verdict.yaml"), 0666), 0);
    assert_int_equal(mkdir(running_path(running, "folder_p1.csv.verdict.yaml"), 0777), 0);
    char *deep = deep_yaml(100000);
    write_text(running, "deep_p1.csv.verdict.yaml", deep);
    free(deep);
    memset(huge, 'x', sizeof huge);
    const int file = open(running_path(running, "huge_p1.csv.verdict.yaml"), O_WRONLY | O_CREAT, 0666);
    for (int i = 0; i < 1000; i++)
        assert_int_equal(write(file, huge, sizeof huge), (ssize_t)sizeof huge);
    close(file);
    running_save(running, "link_p1.csv", 2, 0.7, 3);
    running_save(running, "fifo_p1.csv", 2.2, 0.7, 4);
    running_save(running, "folder_p1.csv", 2.4, 0.7, 5);
    running_save(running, "deep_p1.csv", 2.6, 0.7, 6);
    running_save(running, "huge_p1.csv", 2.8, 0.7, 7);
    running_save(running, "after_p1.csv", 3, 0.7, 8);
    /* The last first: by then nobody can open the FIFO any more and wait for a writer. */
    static const char *const judged[] = {"after_p1.csv", "link_p1.csv", "fifo_p1.csv", "deep_p1.csv",
                                         "huge_p1.csv"};
    for (size_t i = 0; i < sizeof judged / sizeof judged[0]; i++)
        running_wait_outcome(running, judged[i], PELLET_PASS);
    running_wait_said(running, "folder_p1.csv");
    char *kept = running_read(secret);
    assert_string_equal(kept, "mine\n");
    free(kept);
    running_stop(running);
}

static void replace_worksheet(const struct running *running, const char *content)
{
    unlink(running_path(running, "worksheet.csv"));
    if (content)
        write_text(running, "worksheet.csv", content);
    else
        assert_int_equal(mkfifo(running_path(running, "worksheet.csv"), 0666), 0);
}

/* Times that only a forger sets, beyond what nanoseconds in 64 bits hold. */
static void planted_times(void **state)
{
    struct running *running = *state;
    static const time_t seconds[] = {INT64_C(32503680000), INT64_C(9223372037), -INT64_C(9223372037)};
    running_begin(running);
    for (size_t i = 0; i < sizeof seconds / sizeof seconds[0]; i++) {
        const struct timespec times[2] = {{.tv_sec = seconds[i]}, {.tv_sec = seconds[i]}};
        char name[32];
        snprintf(name, sizeof name, "time%zu_p1.csv", i);
        running_save(running, name, NAN, 0.7, 3 + i);
        assert_int_equal(utimensat(AT_FDCWD, running_path(running, name), times, 0), 0);
        struct pellet_verdict verdict = running_wait_verdict(running, name);
        pellet_verdict_clear(&verdict);
    }
    running_stop(running);
}

/* Each of them is told of and none keeps a spectrum from its verdict. */
static void planted_worksheets(void **state)
{
    struct running *running = *state;
    running_begin(running);
    replace_worksheet(running, NULL);
    running_wait_said(running, "worksheet.csv");
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    unlink(running_path(running, "worksheet.csv"));
    assert_int_equal(symlink("/etc/passwd", running_path(running, "worksheet.csv")), 0);
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    char *quotes = malloc(5000001);
    memset(quotes, '"', 5000000);
    quotes[5000000] = '\0';
    replace_worksheet(running, quotes);
    free(quotes);
    running_save(running, "c_p1.csv", 4, 0.7, 5);
    running_wait_outcome(running, "c_p1.csv", PELLET_PASS);
    running_stop(running);
    assert_false(running_said(running, "root:"));
}

/* ---------------------------------------------------------------- a sub-folder that turns into a link */

struct swapper {
    const char *sub, *aside, *outside;
    atomic_bool stop;
};

static void *swap(void *argument)
{
    struct swapper *swapper = argument;
    while (!atomic_load(&swapper->stop)) {
        (void)rename(swapper->sub, swapper->aside);
        (void)symlink(swapper->outside, swapper->sub);
        (void)unlink(swapper->sub);
        (void)rename(swapper->aside, swapper->sub);
    }
    return NULL;
}

static void a_sub_folder_that_is_swapped(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 20], sub[PATH_MAX + 20], aside[PATH_MAX + 20], path[PATH_MAX + 60];
    struct swapper swapper = {.sub = sub, .aside = aside, .outside = outside};
    pthread_t thread;
    snprintf(outside, sizeof outside, "%s/outside", running->around);
    snprintf(sub, sizeof sub, "%s/sub", running->folder);
    snprintf(aside, sizeof aside, "%s/.aside", running->folder);
    assert_int_equal(mkdir(outside, 0777), 0);
    assert_int_equal(mkdir(sub, 0777), 0);
    running_watch_configured(running, "watch: poll\n    depth: 1");
    running_save_first(running);
    struct pellet_text text = {0};
    running_spectrum(running, 2, 0.7, 3, &text);
    assert_int_equal(pthread_create(&thread, NULL, swap, &swapper), 0);
    for (int i = 0; i < 40; i++) {
        snprintf(path, sizeof path, "%s/s%d_p1.csv", outside, i);
        running_write(path, text.data, text.length);
        snprintf(path, sizeof path, "%s/s%d_p1.csv", aside, i);
        const int file = open(path, O_WRONLY | O_CREAT, 0666);
        if (file >= 0) {
            assert_int_equal(write(file, text.data, text.length), (ssize_t)text.length);
            close(file);
        }
        running_sleep(150);
    }
    atomic_store(&swapper.stop, true);
    pthread_join(thread, NULL);
    pellet_text_free(&text);
    running_stop(running);
    assert_int_equal(running_count_files(outside, "verdict"), 0);
    assert_int_equal(running_count_files(outside, "pelletd"), 0);
    assert_int_equal(running_count_files(outside, ".csv"), 40);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(hostile_names_and_words),
        running_test(planted_where_verdicts_go),
        running_test(planted_times),
        running_test(planted_worksheets),
        running_test(a_sub_folder_that_is_swapped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
