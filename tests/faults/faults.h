// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * One small session, judged again and again while the n-th call of a function fails (preload.c). What must
 * hold after each: it ended by itself, every verdict there is the undisturbed one, and a run without faults
 * brings the folder to the full state.
 *
 * The session has few points (8 cm-1), so that a run takes a fraction of a second. A test that defines
 * FAULTS_BELOW, a sub-folder and "/", has some of it there.
 */
#ifndef PELLET_TESTS_FAULTS_H
#define PELLET_TESTS_FAULTS_H

#include "daemon/running.h"
#include "faults/sharing.h"

#define FAULTS_HANG_S 60 /* far more than anything takes */
#ifndef FAULTS_BELOW
#define FAULTS_BELOW ""
#endif

/* What the preloaded library said at the end. */
struct fault_counts {
    char text[2048];
};

/* A way through the program to an allocation, the numbers of its first and last call, and where it ends. */
struct fault_chain {
    unsigned long hash, first, last, site;
};

static const char *const fault_files[] = {"open-beam.csv",
                                          "blank.csv",
                                          FAULTS_BELOW "fine_p1.csv",
                                          FAULTS_BELOW "strong_p1.csv",
                                          FAULTS_BELOW "strong_p2.csv",
                                          FAULTS_BELOW "broken.csv"};
enum { FAULT_FILES = sizeof fault_files / sizeof fault_files[0] };

/* The session and its undisturbed verdicts. */
struct faults {
    struct running running;
    const struct fault_share *share;
    struct pellet_verdict expected[FAULT_FILES];
    struct fault_counts counts; /* of the undisturbed run */
    struct fault_chain *chain;  /* of the allocations of the last run that listed them */
    size_t chains;
    int code;               /* its exit code */
    unsigned long failures; /* what did not hold; all of it is told, and the test fails at the end */
};

/* ---------------------------------------------------------------- one run */

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

/* Start the program with the n-th call failing, of those through `chain` unless that is NULL; n = 0:
 * undisturbed, but counted, and the chains of callers of the call listed where one is named. */
static inline pid_t fault_spawn(const struct running *running, const struct fault *fault, unsigned long nth,
                                const struct fault_chain *chain, char *const *arguments)
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
    if (chain) {
        snprintf(text, sizeof text, "%lx %lx", chain->hash, chain->site);
        setenv("FAULTS_CHAIN", text, 1);
    }
    snprintf(text, sizeof text, "%s/counts", running->around);
    unlink(text);
    setenv("FAULTS_COUNTS", text, 1);
    snprintf(text, sizeof text, "%s/chains", running->around);
    if (nth == 0 && *fault->call)
        setenv("FAULTS_CHAINS", text, 1);
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

static inline unsigned long fault_struck(const struct fault_counts *counts)
{
    const char *line = strstr(counts->text, "struck ");
    return line ? strtoul(line + 7, NULL, 16) : 0;
}

static inline int fault_chain_compare(const void *a, const void *b)
{
    const struct fault_chain *left = a;
    const struct fault_chain *right = b;
    return (left->first > right->first) - (left->first < right->first);
}

/* After a run that listed them. */
static inline void fault_read_chains(struct faults *faults)
{
    char path[PATH_MAX + 20];
    size_t capacity = 0;
    snprintf(path, sizeof path, "%s/chains", faults->running.around);
    char *text = running_read(path);
    assert_non_null(text);
    for (const char *line = text; *line; line++)
        capacity += *line == '\n';
    free(faults->chain);
    faults->chain = calloc(capacity + 1, sizeof *faults->chain);
    faults->chains = 0;
    for (const char *line = text; line && *line; line = strchr(line, '\n'), line += line != NULL) {
        struct fault_chain *chain = &faults->chain[faults->chains];
        faults->chains += sscanf(line, "chain %lx %lu %lu %lx", &chain->hash, &chain->first, &chain->last,
                                 &chain->site) == 4;
    }
    unlink(path);
    free(text);
    qsort(faults->chain, faults->chains, sizeof *faults->chain, fault_chain_compare);
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
    return fault_wait(fault_spawn(running, fault, nth, NULL, arguments));
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

static inline void fault_save(struct running *running, const char *name, int minute, double dose)
{
    struct pellet_synth_pellet pellet;
    struct pellet_synth_instrument instrument;
    struct pellet_spectrum spectrum = {0};
    struct pellet_text text = {0};
    pellet_synth_pellet_init(&pellet);
    pellet_synth_instrument_init(&instrument);
    instrument.spacing_cm1 = instrument.resolution_cm1 = 8;
    if (dose > 0) {
        pellet.compound = pellet_synth_compound_find("sugar-A");
        pellet.dose_mg_cm2 = dose;
    }
    assert_int_equal(pellet_synth_measure(running->model, dose < 0 ? NULL : &pellet, &instrument,
                                          (unsigned long)minute + 1, &spectrum, NULL, NULL),
                     PELLET_OK);
    const pellet_ns measured = RUNNING_START + (pellet_ns)minute * 60 * PELLET_NS_PER_S;
    assert_int_equal(pellet_synth_write_csv(&spectrum, NULL, measured, &text), PELLET_OK);
    running_write(running_path(running, name), text.data, text.length);
    pellet_text_free(&text);
    pellet_spectrum_clear(&spectrum);
}

/* The spectra of the session; `off` is the dose of the pellet that is sent back. */
static inline struct faults *fault_make_session(void **state, double off)
{
    static const char sheet[] = "sample,pellet,sample_mg,kbr_mg\nstrong,1,2,200\n";
    struct faults *faults = calloc(1, sizeof *faults);
    void *made = NULL;
    faults->share = *state;
    running_prepare(&made);
    faults->running = *(struct running *)made;
    free(made);
    struct running *running = &faults->running;
    assert_int_equal(pellet_synth_new(&running->model, NULL), PELLET_OK);
    fault_save(running, "open-beam.csv", 0, -1);
    fault_save(running, "blank.csv", 1, 0);
    if (*FAULTS_BELOW)
        assert_int_equal(mkdir(running_path(running, FAULTS_BELOW), 0777), 0);
    fault_save(running, fault_files[2], 2, 0.7);
    fault_save(running, fault_files[3], 3, off);
    fault_save(running, fault_files[4], 4, 0.8);
    running_write(running_path(running, fault_files[5]), "this is\nno spectrum\n", 20);
    running_write(running_path(running, "worksheet.csv"), sheet, sizeof sheet - 1);
    *state = faults;
    return faults;
}

/* What an undisturbed run said is what is expected from now on. */
static inline void fault_expect_these(struct faults *faults, int code)
{
    const struct running *running = &faults->running;
    faults->code = code;
    assert_int_equal(faults->code, 1);
    faults->counts = fault_counts_read(running);
    for (size_t i = 0; i < FAULT_FILES; i++)
        assert_true(running_verdict(running, fault_files[i], &faults->expected[i]));
    assert_int_equal(faults->expected[3].outcome, PELLET_REMAKE);
}

static inline void fault_prepare_with(void **state, double off)
{
    static const struct fault none = {"", 0, false};
    struct faults *faults = fault_make_session(state, off);
    fault_expect_these(faults, fault_judge(&faults->running, &none, 0));
}

/* Too faint: what is off scale makes the same calls, but takes most of a run's time. */
static inline int fault_prepare(void **state)
{
    fault_prepare_with(state, 0.1);
    return 0;
}

/* Too strong: the fit of a band's flanks allocates much of its own. */
static inline int fault_prepare_strong(void **state)
{
    fault_prepare_with(state, 2.0);
    return 0;
}

static inline int fault_clean_up(void **state)
{
    struct faults *faults = *state;
    for (size_t i = 0; i < FAULT_FILES; i++)
        pellet_verdict_clear(&faults->expected[i]);
    pellet_synth_free(faults->running.model);
    running_remove(faults->running.around);
    free(faults->chain);
    free(faults);
    return 0;
}

#endif
