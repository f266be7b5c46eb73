// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The service under the restrictions of its unit: a whole session, a reload, a verdict deleted and given
 * anew, an end in good order, and nothing missing in what it wrote. That the restrictions bite is shown
 * first.
 */
#include "faults/sandbox.h"

struct restricted {
    struct running running;
    struct sandbox sandbox;
};

/* What a probe inside finds; the exit code is the number of the first that does not hold. */
static int probe(void)
{
    const int file = open("/etc/pelletd-probe", O_WRONLY | O_CREAT, 0600);
    if (file >= 0 || errno != EROFS)
        return 1;
    if (socket(AF_INET, SOCK_STREAM, 0) >= 0 || errno != EAFNOSUPPORT)
        return 2;
    if (mmap(NULL, 4096, PROT_WRITE | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0) != MAP_FAILED)
        return 3;
    void *page = mmap(NULL, 4096, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (page == MAP_FAILED || mprotect(page, 4096, PROT_READ | PROT_EXEC) == 0)
        return 4;
    if (unshare(CLONE_NEWUSER) == 0)
        return 5;
    if (socket(AF_UNIX, SOCK_DGRAM, 0) < 0)
        return 6;
    if (open(SANDBOX_FOLDER "/probe", O_WRONLY | O_CREAT, 0600) < 0 || unlink(SANDBOX_FOLDER "/probe") != 0)
        return 7;
    if (running_count_files("/tmp", "pelletd") != 0)
        return 8;
    return 0;
}

static pid_t enter(const struct restricted *restricted, char *const *arguments, bool forbidden)
{
    const struct running *running = &restricted->running;
    char lines[PATH_MAX + 20];
    snprintf(lines, sizeof lines, "%s/lines", running->around);
    fflush(stdout);
    const pid_t pid = fork();
    if (pid != 0)
        return pid;
    const int program = open(PELLETD_PROGRAM, O_PATH | O_CLOEXEC);
    const int out = open(lines, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    const int messages = open(running_messages(running), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    dup2(out, STDOUT_FILENO);
    dup2(messages, STDERR_FILENO);
    setenv("TZ", "UTC", 1);
    setenv("XDG_CONFIG_HOME", SANDBOX_FOLDER, 1);
    unsetenv("PELLETD_CONFIG");
    const char *refused = sandbox_enter(&restricted->sandbox, running->folder);
    if (refused) {
        dprintf(STDERR_FILENO, "refused: %s: %s\n", refused, strerror(errno));
        _exit(77);
    }
    if (forbidden)
        syscall(SYS_reboot, 0, 0, 0, NULL); /* kills us, or else */
    if (!arguments)
        _exit(probe());
    execveat(program, "", arguments, environ, AT_EMPTY_PATH);
    _exit(127);
}

static int prepare(void **state)
{
    struct restricted *restricted = calloc(1, sizeof *restricted);
    void *made = NULL;
    running_prepare(&made);
    restricted->running = *(struct running *)made;
    free(made);
    sandbox_read_unit(&restricted->sandbox, PELLET_TREE "/systemd/pelletd.service");
    *state = restricted;
    return 0;
}

static int clean_up(void **state)
{
    struct restricted *restricted = *state;
    struct running *running = &restricted->running;
    if (running->pid > 0)
        (void)running_end(running, SIGKILL);
    pellet_synth_free(running->model);
    running_remove(running->around);
    free(restricted);
    return 0;
}

/* Whether the test can be made here; else it says why not. */
static void expect_a_sandbox(struct restricted *restricted)
{
#ifndef __x86_64__
    printf("skipped: the filter is written for x86-64\n");
    skip();
#endif
    if (restricted->sandbox.count == 0) {
        printf("skipped: systemd-analyze or the list of system calls is not here\n");
        skip();
    }
    int status = 0;
    waitpid(enter(restricted, NULL, false), &status, 0);
    if (WIFEXITED(status) && WEXITSTATUS(status) == 77) {
        char *text = running_read(running_messages(&restricted->running));
        printf("skipped: %s", text);
        free(text);
        skip();
    }
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void the_restrictions_bite(void **state)
{
    struct restricted *restricted = *state;
    int status = 0;
    expect_a_sandbox(restricted);
    waitpid(enter(restricted, NULL, true), &status, 0);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGSYS);
    printf("the unit allows %zu system calls\n", restricted->sandbox.count);
}

static void a_session(void **state)
{
    struct restricted *restricted = *state;
    struct running *running = &restricted->running;
    static const char config[] =
        "format: 1\nstations:\n  - folder: " SANDBOX_FOLDER "\n    name: bench\n    depth: 1\n";
    char *arguments[] = {"pelletd", "watch", "--config", SANDBOX_FOLDER "/pelletd.yaml", NULL};
    expect_a_sandbox(restricted);
    running_write(running_path(running, "pelletd.yaml"), config, sizeof config - 1);
    unlink(running_messages(running));
    running->pid = enter(restricted, arguments, false);
    running_wait_said(running, "ready:");
    running_save_first(running);
    running_save(running, "fine_p1.csv", 2, 0.7, 3);
    running_save(running, "strong_p1.csv", 3, 4.0, 4);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    running_wait_outcome(running, "strong_p1.csv", PELLET_REMAKE);
    assert_int_equal(kill(running->pid, SIGHUP), 0);
    running_wait_said(running, "configuration reloaded");
    assert_int_equal(mkdir(running_path(running, "sub"), 0777), 0);
    running_save(running, "sub/fine_p2.csv", 4, 0.7, 5);
    running_wait_outcome(running, "sub/fine_p2.csv", PELLET_PASS);
    unlink(running_path(running, "fine_p1.csv.verdict.yaml"));
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    running_until(running_there(running, "reports/pictures/fine_p1.csv.svg"), "no picture");
    running_until(running_there(running, "reports/bench.html"), "no page");
    running_stop(running);
    running_verify(running);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_restrictions_bite, prepare, clean_up),
        cmocka_unit_test_setup_teardown(a_session, prepare, clean_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
