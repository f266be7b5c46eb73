// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The real program on a folder of its own. Everything is waited for, with a bound; nothing is timed. Spectra
 * come from the model of lib/synth.
 */
#ifndef PELLET_TESTS_DAEMON_RUNNING_H
#define PELLET_TESTS_DAEMON_RUNNING_H

#include "testing.h"

#include "pellet/judge.h"
#include "pellet/synth.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <limits.h>
#include <sched.h>
#include <signal.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* Far more than anything takes; only a failure waits so long. */
#define RUNNING_WAIT_MS (60000 * (int)testing_patience())
#define RUNNING_START   (INT64_C(1772614800) * PELLET_NS_PER_S) /* 2026-03-04T09:00:00Z */

struct running {
    char folder[PATH_MAX]; /* the station */
    char around[PATH_MAX]; /* a scratch folder that holds it and the program's messages */
    pid_t pid;             /* 0: not running */
    pid_t helper;          /* another program that the test needs, ended with it; 0: none */
    uid_t user;            /* run it as this user and group; 0: as who runs the test */
    int lines;             /* its lines go there; 0: to a file in the scratch folder */
    int messages;          /* its messages go there; 0: to a file, too */
    struct pellet_synth *model;
};

/* ---------------------------------------------------------------- files */

static inline const char *running_path(const struct running *running, const char *name)
{
    static char paths[4][2 * PATH_MAX];
    static unsigned turn;
    char *path = paths[turn++ % 4];
    snprintf(path, sizeof paths[0], "%s/%s", running->folder, name);
    return path;
}

static inline void running_sleep(int ms)
{
    struct timespec pause = {ms / 1000, (long)(ms % 1000) * 1000000};
    nanosleep(&pause, NULL);
}

static inline void running_write(const char *path, const char *bytes, size_t n)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    assert_true(file >= 0);
    assert_int_equal(write(file, bytes, n), (ssize_t)n);
    assert_int_equal(close(file), 0);
}

/* The content of a file, to be freed; NULL where it is not there. Another may be emptying it meanwhile. */
static inline char *running_read(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    fseek(file, 0, SEEK_END);
    long n = ftell(file);
    rewind(file);
    char *text = calloc((size_t)n + 1, 1);
    text[fread(text, 1, (size_t)n, file)] = '\0';
    fclose(file);
    return text;
}

/* What a spectrometer would save. `dose` 0 makes a blank, below 0 an open beam. */
static inline void running_spectrum(struct running *running, double minute, double dose, unsigned long seed,
                                    struct pellet_text *out)
{
    struct pellet_synth_pellet pellet;
    struct pellet_synth_instrument instrument;
    struct pellet_spectrum spectrum = {0};
    struct pellet_error error = {0};
    if (!running->model)
        assert_int_equal(pellet_synth_new(&running->model, &error), PELLET_OK);
    pellet_synth_pellet_init(&pellet);
    pellet_synth_instrument_init(&instrument);
    if (dose > 0) {
        pellet.compound = pellet_synth_compound_find("sugar-A");
        pellet.dose_mg_cm2 = dose;
    }
    assert_int_equal(pellet_synth_measure(running->model, dose < 0 ? NULL : &pellet, &instrument, seed,
                                          &spectrum, NULL, &error),
                     PELLET_OK);
    pellet_ns measured =
        isnan(minute) ? PELLET_NO_TIME : RUNNING_START + (pellet_ns)(minute * 60) * PELLET_NS_PER_S;
    assert_int_equal(pellet_synth_write_csv(&spectrum, NULL, measured, out), PELLET_OK);
    pellet_spectrum_clear(&spectrum);
}

static inline void running_save(struct running *running, const char *name, double minute, double dose,
                                unsigned long seed)
{
    struct pellet_text text = {0};
    running_spectrum(running, minute, dose, seed, &text);
    running_write(running_path(running, name), text.data, text.length);
    pellet_text_free(&text);
}

/* Mounts made from here on are seen by this test and its children alone. */
static inline bool running_enter_namespace(void)
{
    if (geteuid() != 0 || unshare(CLONE_NEWNS) < 0 ||
        mount("none", "/", "none", MS_REC | MS_PRIVATE, NULL) < 0) {
        printf("skipped: a private mount namespace cannot be had here\n");
        return false;
    }
    return true;
}

/* ---------------------------------------------------------------- the program */

static inline const char *running_messages(const struct running *running)
{
    static char path[PATH_MAX + 20];
    snprintf(path, sizeof path, "%s/messages", running->around);
    return path;
}

static inline int running_prepare(void **state)
{
    struct running *running = calloc(1, sizeof *running);
    snprintf(running->around, sizeof running->around, "/tmp/pelletd-test-XXXXXX");
    assert_non_null(mkdtemp(running->around));
    snprintf(running->folder, sizeof running->folder, "%.*s/bench", (int)sizeof running->folder - 8,
             running->around);
    assert_int_equal(mkdir(running->folder, 0777), 0);
    *state = running;
    return 0;
}

/* Start the program with these arguments; its output goes to files in the scratch folder, or elsewhere. */
static inline pid_t running_spawn(const struct running *running, char *const *arguments)
{
    char out[PATH_MAX + 20];
    snprintf(out, sizeof out, "%s/lines", running->around);
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid > 0)
        return pid;
    const int how = O_WRONLY | O_CREAT | O_APPEND;
    int lines = running->lines ? running->lines : open(out, how, 0666);
    int messages = running->messages ? running->messages : open(running_messages(running), how, 0666);
    dup2(lines, STDOUT_FILENO);
    dup2(messages, STDERR_FILENO);
    setenv("TZ", "UTC", 1);
    /* No configuration of whoever runs the tests. */
    setenv("XDG_CONFIG_HOME", running->around, 1);
    unsetenv("PELLETD_CONFIG");
    /* Opened first: another user may not be let through the folders that lead to the build. */
    const int program = open(PELLETD_PROGRAM, O_PATH | O_CLOEXEC);
    /* Part of the name of Valgrind's messages: that user cannot write into the file that this one has begun. */
    if (running->user)
        setenv("PELLETD_TEST_AS", "user-", 1);
    if (running->user &&
        (setgroups(0, NULL) < 0 || setresgid(running->user, running->user, running->user) < 0 ||
         setresuid(running->user, running->user, running->user) < 0))
        _exit(126);
    execveat(program, "", arguments, environ, AT_EMPTY_PATH);
    _exit(127);
}

static inline bool running_said(const struct running *running, const char *what)
{
    char *text = running_read(running_messages(running));
    bool said = text && strstr(text, what);
    free(text);
    return said;
}

static inline size_t running_count_said(const struct running *running, const char *what)
{
    char *text = running_read(running_messages(running));
    size_t n = 0;
    for (const char *at = text; at && (at = strstr(at, what)); at += strlen(what))
        n++;
    free(text);
    return n;
}

#define running_until(condition, ...)                                                                        \
    do {                                                                                                     \
        int running_waited = 0;                                                                              \
        while (!(condition)) {                                                                               \
            running_sleep(20);                                                                               \
            running_waited += 20;                                                                            \
            if (running_waited > RUNNING_WAIT_MS)                                                            \
                fail_msg(__VA_ARGS__);                                                                       \
        }                                                                                                    \
    } while (0)

static inline void running_wait_said(const struct running *running, const char *what)
{
    running_until(running_said(running, what), "it never said '%s'", what);
}

/* `extra` may hold up to 4 more arguments, ended by NULL; NULL for none. */
static inline void running_watch_with(struct running *running, char *const *extra)
{
    char *arguments[10] = {(char *)PELLETD_PROGRAM, "watch", running->folder};
    size_t n = 3;
    for (size_t i = 0; extra && extra[i] && n < 8; i++)
        arguments[n++] = extra[i];
    unlink(running_messages(running));
    running->pid = running_spawn(running, arguments);
    running_wait_said(running, "ready:");
}

/* Watch a configuration of this one station with these further keys ("depth: 2\n    watch: poll"). */
static inline void running_configure(const struct running *running, const char *keys)
{
    char path[PATH_MAX + 20];
    struct pellet_text text = {0};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    pellet_text_addf(&text, "format: 1\nstations:\n  - folder: %s\n    %s\n", running->folder, keys);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

static inline void running_watch_configured(struct running *running, const char *keys)
{
    char path[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--config", path, NULL};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    running_configure(running, keys);
    unlink(running_messages(running));
    running->pid = running_spawn(running, arguments);
    running_wait_said(running, "ready:");
}

static inline void running_watch(struct running *running)
{
    running_watch_with(running, NULL);
}

static inline bool running_has_ended(const struct running *running, int *status)
{
    return waitpid(running->pid, status, WNOHANG) == running->pid;
}

static inline int running_end(struct running *running, int signal)
{
    int status = 0;
    assert_int_equal(kill(running->pid, signal), 0);
    running_until(running_has_ended(running, &status), "it does not end on signal %d", signal);
    running->pid = 0;
    return status;
}

static inline void running_stop(struct running *running)
{
    int status = running_end(running, SIGTERM);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

/* Run to the end; the exit code. Lines go to the file `lines`, emptied before. */
static inline int running_run(struct running *running, char *const *arguments)
{
    char lines[PATH_MAX + 20];
    int status = 0;
    snprintf(lines, sizeof lines, "%s/lines", running->around);
    unlink(lines);
    pid_t pid = running_spawn(running, arguments);
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static inline char *running_lines(const struct running *running)
{
    char lines[PATH_MAX + 20];
    snprintf(lines, sizeof lines, "%s/lines", running->around);
    char *text = running_read(lines);
    return text ? text : calloc(1, 1);
}

/* A verdict's line may come a moment after its file. */
static inline bool running_told(const struct running *running, const char *name)
{
    char *lines = running_lines(running);
    const bool told = strstr(lines, name) != NULL;
    free(lines);
    return told;
}

static inline void running_wait_told(const struct running *running, const char *name)
{
    running_until(running_told(running, name), "no line for %s", name);
}

/* ---------------------------------------------------------------- verdicts */

/* The valid verdict for the present content of a file; false where there is none (yet). */
static inline bool running_verdict(const struct running *running, const char *name,
                                   struct pellet_verdict *verdict)
{
    struct pellet_text file = {0};
    struct pellet_bytes bytes = {0};
    char sha256[PELLET_SHA256_HEX] = "";
    pellet_verdict_name(name, &file);
    char *text = running_read(running_path(running, pellet_text_string(&file)));
    pellet_text_free(&file);
    bool good = text && pellet_verdict_read(text, strlen(text), verdict, NULL) == PELLET_OK;
    free(text);
    int folder = open(running->folder, O_RDONLY | O_DIRECTORY);
    if (good && pellet_read_file(folder, name, UINT64_MAX, &bytes, NULL, NULL) == PELLET_OK)
        pellet_sha256_hex(bytes.data, bytes.n, sha256);
    close(folder);
    pellet_bytes_free(&bytes);
    if (good && strcmp(sha256, verdict->sha256) != 0) {
        pellet_verdict_clear(verdict);
        good = false;
    }
    return good;
}

static inline struct pellet_verdict running_wait_verdict(const struct running *running, const char *name)
{
    struct pellet_verdict verdict;
    running_until(running_verdict(running, name, &verdict), "no valid verdict for %s", name);
    return verdict;
}

static inline bool running_outcome_is(const struct running *running, const char *name,
                                      enum pellet_outcome outcome)
{
    struct pellet_verdict verdict;
    if (!running_verdict(running, name, &verdict))
        return false;
    bool is = verdict.outcome == outcome;
    pellet_verdict_clear(&verdict);
    return is;
}

static inline void running_wait_outcome(const struct running *running, const char *name,
                                        enum pellet_outcome outcome)
{
    running_until(running_outcome_is(running, name, outcome), "%s never became %s", name,
                  pellet_outcome_id(outcome));
}

static inline void running_save_first(struct running *running)
{
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
}

/* Watch, and have an open beam and a blank judged. */
static inline void running_begin(struct running *running)
{
    running_watch(running);
    running_save_first(running);
}

/* The blank that a verdict names, or NULL. */
static inline const char *running_blank_of(const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < verdict->against_count; i++) {
        if (strcmp(verdict->against[i].as, "blank") == 0)
            return verdict->against[i].file;
    }
    return NULL;
}

static inline bool running_there(const struct running *running, const char *name)
{
    struct stat st;
    return lstat(running_path(running, name), &st) == 0;
}

/* How many files below the station have a name that holds `part`. */
static inline size_t running_count_files(const char *folder, const char *part)
{
    size_t n = 0;
    DIR *directory = opendir(folder);
    for (struct dirent *item = directory ? readdir(directory) : NULL; item; item = readdir(directory)) {
        char path[PATH_MAX];
        if (strcmp(item->d_name, ".") == 0 || strcmp(item->d_name, "..") == 0)
            continue;
        assert_true(snprintf(path, sizeof path, "%s/%s", folder, item->d_name) < (int)sizeof path);
        n += strstr(item->d_name, part) != NULL;
        n += item->d_type == DT_DIR ? running_count_files(path, part) : 0;
    }
    if (directory)
        closedir(directory);
    return n;
}

/* All verdicts follow from what they name. */
static inline void running_verify(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--verify", running->folder, NULL};
    int code = running_run(running, arguments);
    if (code != 0) {
        char *lines = running_lines(running);
        print_error("%s\n", lines);
        free(lines);
    }
    assert_int_equal(code, 0);
}

static inline void running_remove(const char *path)
{
    pid_t pid = fork();
    if (pid == 0) {
        execlp("rm", "rm", "-rf", "--", path, (char *)NULL);
        _exit(127);
    }
    waitpid(pid, NULL, 0);
}

static inline int running_clean_up(void **state)
{
    struct running *running = *state;
    if (running->pid > 0)
        (void)running_end(running, SIGKILL);
    if (running->helper > 0 && kill(running->helper, SIGTERM) == 0)
        waitpid(running->helper, NULL, 0);
    pellet_synth_free(running->model);
    running_remove(running->around);
    free(running);
    return 0;
}

#define running_test(function) cmocka_unit_test_setup_teardown(function, running_prepare, running_clean_up)

#endif
