// SPDX-License-Identifier: GPL-3.0-or-later
/* The real program on a folder full of what is no spectrum: each gets a verdict that says so, and
 * it goes on. */
#include "testing.h"

#include "pellet/judge.h"

#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>

/* A file by its parts: a head, then `rows` lines from a format of the abscissa, then a tail. */
struct bad {
    const char *name;
    const char *head;
    int rows;
    const char *row; /* takes the abscissa once or twice */
    const char *tail;
    const char *says; /* part of the reason */
};

static const struct bad bad[] = {
    {"empty.csv", "", 0, "", "", "empty"},
    {"text.csv", "ask about the die before measuring\n", 0, "", "", "no table of numbers"},
    {"one-column.csv", "", 80, "%d\n", "", "one column"},
    {"unequal.csv", "", 80, "%d,0.1\n", "900\n", "line 81"},
    {"letters.csv", "", 80, "%d,0.1\n", "900,x12\n", "line 81"},
    {"nan.csv", "", 80, "%d,0.1\n", "900,nan\n", "line 81"},
    {"infinity.csv", "", 80, "%d,0.1\n", "900,inf\n", "line 81"},
    {"repeated.csv", "", 80, "%d,0.1\n", "558,0.1\n", "repeated"},
    {"turns-back.csv", "", 80, "%d,0.1\n", "500,0.1\n", "turns back"},
    {"too-few.csv", "", 49, "%d,0.1\n", "", "at least 50"},
    {"no-end.dx", "##TITLE=x\n##JCAMP-DX=4.24\n##DATA TYPE=INFRARED SPECTRUM\n", 0, "", "", ""},
};

static void write_file(const char *folder, const struct bad *b)
{
    char path[512];
    FILE *file;

    snprintf(path, sizeof path, "%s/%s", folder, b->name);
    file = fopen(path, "wb");
    assert_non_null(file);
    fputs(b->head, file);
    for (int i = 0; i < b->rows; i++) {
        char row[64];
        snprintf(row, sizeof row, "%d", 400 + 2 * i);
        /* A row is the abscissa where the format has %d, and the rest as it stands. */
        const char *rest = b->row + strlen("%d");
        fprintf(file, "%s%s", row, rest);
    }
    fputs(b->tail, file);
    assert_int_equal(fclose(file), 0);
}

/* Runs `pelletd judge FOLDER` with its output thrown away; the exit code, or -1 when it did not exit by
 * itself. */
static int judge(const char *folder)
{
    int status;
    const pid_t child = fork();

    assert_true(child >= 0);
    if (child == 0) {
        const int null = open("/dev/null", O_WRONLY);
        dup2(null, STDOUT_FILENO);
        dup2(null, STDERR_FILENO);
        alarm(60 * testing_patience()); /* a hang becomes a signal, and so a failure */
        execl(PELLETD_PROGRAM, "pelletd", "judge", folder, (char *)NULL);
        _exit(127);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void expect_read_verdict(int folder, const char *name, const char *says)
{
    struct pellet_error error = {0};
    struct pellet_text verdict_name = {0};
    struct pellet_bytes bytes = {0};
    struct pellet_verdict v;

    print_message("%s\n", name);
    pellet_verdict_name(name, &verdict_name);
    assert_int_equal(
        pellet_read_file(folder, pellet_text_string(&verdict_name), 1 << 20, &bytes, NULL, &error),
        PELLET_OK);
    assert_int_equal(pellet_verdict_read(bytes.data, bytes.n, &v, &error), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    assert_int_equal(v.reason_count, 1);
    assert_non_null(strstr(bytes.data, "{check: read, outcome: rescan"));
    assert_non_null(strstr(v.reason[0].says, says));
    pellet_verdict_clear(&v);
    pellet_bytes_free(&bytes);
    pellet_text_free(&verdict_name);
}

static void test_each_gets_a_verdict(void **state)
{
    char folder[] = "/tmp/pelletd-bad-XXXXXX", path[512], command[600];
    int descriptor;

    (void)state;
    assert_non_null(mkdtemp(folder));
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        write_file(folder, &bad[i]);
    snprintf(path, sizeof path, "%s/folder.csv", folder);
    assert_int_equal(mkdir(path, 0755), 0);
    snprintf(path, sizeof path, "%s/fifo.csv", folder);
    assert_int_equal(mkfifo(path, 0644), 0);
    snprintf(path, sizeof path, "%s/link.csv", folder);
    assert_int_equal(symlink("/etc/passwd", path), 0);
    snprintf(path, sizeof path, "%s/large.csv", folder);
    descriptor = open(path, O_CREAT | O_WRONLY | O_CLOEXEC, 0644);
    assert_true(descriptor >= 0);
    assert_int_equal(ftruncate(descriptor, 65 << 20), 0);
    close(descriptor);

    assert_int_equal(judge(folder), 1);
    descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    assert_true(descriptor >= 0);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        expect_read_verdict(descriptor, bad[i].name, bad[i].says);
    expect_read_verdict(descriptor, "folder.csv", "not a regular file");
    expect_read_verdict(descriptor, "fifo.csv", "not a regular file");
    expect_read_verdict(descriptor, "link.csv", "symbolic link");
    expect_read_verdict(descriptor, "large.csv", "at most");
    close(descriptor);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_each_gets_a_verdict)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
