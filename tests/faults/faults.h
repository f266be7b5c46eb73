// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * One small session, judged again and again while the n-th call of a function fails (preload.c). What must
 * hold after each: it ended by itself, every verdict there is the undisturbed one, and a run without faults
 * brings the folder to the full state.
 */
#ifndef PELLET_TESTS_FAULTS_H
#define PELLET_TESTS_FAULTS_H

#include "daemon/running.h"

#define FAULTS_HANG_S 60 /* far more than anything takes */

struct fault {
    const char *call;
    int sys_errno; /* 0: one byte at a time */
    bool rest;     /* every call from the n-th on */
};

/* What the preloaded library said at the end. */
struct fault_counts {
    char text[2048];
};

static const char *const fault_files[] = {"open-beam.csv", "blank.csv",     "fine_p1.csv",
                                          "strong_p1.csv", "strong_p2.csv", "broken.csv"};
enum { FAULT_FILES = sizeof fault_files / sizeof fault_files[0] };

/* The session and its undisturbed verdicts. */
struct faults {
    struct running running;
    struct pellet_verdict expected[FAULT_FILES];
    struct fault_counts counts;   /* of the undisturbed run */
    char reports[8][128];         /* the derived files, sorted by nothing */
    int code;                     /* its exit code */
    unsigned long runs, troubled; /* over all; those with exit code 3 */
    unsigned long leaky;          /* those that struck within a leak of GSL */
    unsigned long failures;       /* what did not hold; all of it is told, and the test fails at the end */
};

static inline long fault_count(const struct fault_counts *counts, const char *name)
{
    char key[64];
    snprintf(key, sizeof key, "%s ", name);
    const size_t n = strlen(key);
    for (const char *line = counts->text; line && *line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line, key, n) == 0)
            return strtol(line + n, NULL, 10);
    }
    return 0;
}

/* Start the program with the n-th call failing; n = 0: undisturbed, but counted. */
static inline pid_t fault_spawn(const struct running *running, const struct fault *fault, unsigned long nth,
                                char *const *arguments)
{
    char text[PATH_MAX + 20];
    fflush(stdout);
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid > 0)
        return pid;
    setenv("LD_PRELOAD", PELLET_FAULTS_PRELOAD, 1);
    setenv("FAULTS_CALL", fault->call, 1);
    snprintf(text, sizeof text, "%lu", nth);
    setenv("FAULTS_NTH", text, 1);
    snprintf(text, sizeof text, "%d", fault->sys_errno);
    setenv("FAULTS_ERRNO", text, 1);
    if (fault->rest)
        setenv("FAULTS_REST", "1", 1);
    snprintf(text, sizeof text, "%s/counts", running->around);
    unlink(text);
    setenv("FAULTS_COUNTS", text, 1);
    setenv("TZ", "UTC", 1);
    setenv("XDG_CONFIG_HOME", running->around, 1);
    unsetenv("PELLETD_CONFIG");
    snprintf(text, sizeof text, "%s/lines", running->around);
    const int lines = open(text, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    const int messages =
        open(running_messages(running), O_WRONLY | O_CREAT | O_TRUNC | O_APPEND | O_CLOEXEC, 0666);
    dup2(lines, STDOUT_FILENO);
    dup2(messages, STDERR_FILENO);
    execv(PELLETD_PROGRAM, arguments);
    _exit(127);
}

static inline struct fault_counts fault_counts_read(const struct running *running)
{
    struct fault_counts counts = {""};
    char path[PATH_MAX + 20];
    snprintf(path, sizeof path, "%s/counts", running->around);
    char *text = running_read(path);
    snprintf(counts.text, sizeof counts.text, "%s", text ? text : "");
    free(text);
    return counts;
}

/* Wait for its end; -1 where it had to be killed or was killed by a signal. */
static inline int fault_wait(pid_t pid)
{
    int status = 0;
    for (int waited_ms = 0; waitpid(pid, &status, WNOHANG) == 0; waited_ms += 2) {
        if (waited_ms > FAULTS_HANG_S * 1000) {
            kill(pid, SIGKILL);
            waitpid(pid, &status, 0);
            return -1;
        }
        running_sleep(2);
    }
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static inline int fault_judge(const struct running *running, const struct fault *fault, unsigned long nth)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--jobs", "1", (char *)running->folder, NULL};
    return fault_wait(fault_spawn(running, fault, nth, arguments));
}

/* Take away all that pelletd wrote. */
static inline void fault_clean(const struct running *running)
{
    running_remove(running_path(running, "reports"));
    unlink(running_path(running, ".pelletd.lock"));
    for (size_t i = 0; i < FAULT_FILES; i++) {
        char name[100];
        snprintf(name, sizeof name, "%s.verdict.yaml", fault_files[i]);
        unlink(running_path(running, name));
    }
}

/* What differs from the undisturbed verdict, to be freed; NULL where there is none or nothing differs. */
static inline char *fault_difference(const struct faults *faults, size_t i)
{
    struct pellet_verdict verdict;
    struct pellet_text text = {0};
    if (!running_verdict(&faults->running, fault_files[i], &verdict))
        return NULL;
    const size_t differences = pellet_verdict_compare(&faults->expected[i], &verdict, &text);
    pellet_verdict_clear(&verdict);
    if (differences == 0)
        pellet_text_free(&text);
    return text.data;
}

static inline size_t fault_verdicts(const struct faults *faults)
{
    size_t n = 0;
    for (size_t i = 0; i < FAULT_FILES; i++) {
        struct pellet_verdict verdict;
        if (running_verdict(&faults->running, fault_files[i], &verdict)) {
            n++;
            pellet_verdict_clear(&verdict);
        }
    }
    return n;
}

#define fault_fail(faults, fault, nth, ...)                                                                  \
    do {                                                                                                     \
        char *fault_fail_said = running_read(running_messages(&(faults)->running));                          \
        print_error("%s errno %d%s, call %lu: ", (fault)->call, (fault)->sys_errno,                          \
                    (fault)->rest ? " and all after" : "", (unsigned long)(nth));                            \
        print_error(__VA_ARGS__);                                                                            \
        print_error("; it said:\n%s", fault_fail_said ? fault_fail_said : "");                               \
        free(fault_fail_said);                                                                               \
        (faults)->failures++;                                                                                \
    } while (0)

static inline void fault_expect_true(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    for (size_t i = 0; i < FAULT_FILES; i++) {
        char *difference = fault_difference(faults, i);
        if (difference)
            fault_fail(faults, fault, nth, "a wrong verdict for %s: %s", fault_files[i], difference);
        free(difference);
    }
}

/* The full state: all verdicts, all derived files, nothing else. */
static inline void fault_expect_full(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    fault_expect_true(faults, fault, nth);
    if (fault_verdicts(faults) != FAULT_FILES)
        fault_fail(faults, fault, nth, "only %zu valid verdicts", fault_verdicts(faults));
    for (size_t i = 0; i < FAULT_FILES; i++) {
        for (size_t o = 0; o < faults->expected[i].output_count; o++) {
            if (!running_there(&faults->running, faults->expected[i].output[o]))
                fault_fail(faults, fault, nth, "%s is missing", faults->expected[i].output[o]);
        }
    }
    if (running_count_files(faults->running.folder, ".tmp") != 0)
        fault_fail(faults, fault, nth, "a temporary was left");
}

static inline int fault_prepare(void **state)
{
    static const struct fault none = {"", 0, false};
    struct faults *faults = calloc(1, sizeof *faults);
    void *made = NULL;
    running_prepare(&made);
    faults->running = *(struct running *)made;
    free(made);
    struct running *running = &faults->running;
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "fine_p1.csv", 2, 0.7, 3);
    running_save(running, "strong_p1.csv", 3, 4.0, 4);
    running_save(running, "strong_p2.csv", 4, 0.8, 5);
    running_write(running_path(running, "broken.csv"), "this is\nno spectrum\n", 20);
    running_write(running_path(running, "worksheet.csv"), "sample,pellet,sample_mg,kbr_mg\nstrong,1,2,200\n",
                  47);
    faults->code = fault_judge(running, &none, 0);
    assert_int_equal(faults->code, 1);
    faults->counts = fault_counts_read(running);
    for (size_t i = 0; i < FAULT_FILES; i++)
        assert_true(running_verdict(running, fault_files[i], &faults->expected[i]));
    *state = faults;
    return 0;
}

static inline int fault_clean_up(void **state)
{
    struct faults *faults = *state;
    for (size_t i = 0; i < FAULT_FILES; i++)
        pellet_verdict_clear(&faults->expected[i]);
    pellet_synth_free(faults->running.model);
    running_remove(faults->running.around);
    free(faults);
    return 0;
}

#endif
