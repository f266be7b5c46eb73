// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Somebody fills the export folder: with names, with files as large as they may be, with spectra of as many
 * points as they may have. Memory stays within what the unit allows, the service manager hears from the
 * program all the time, and others are judged meanwhile. PELLETD_LONG=1: a million names, and files that take
 * longer.
 */
#include "daemon/running.h"

#include <sys/socket.h>
#include <sys/un.h>

#define LARGEST ((size_t)63 << 20) /* file_max is 64 MiB */
#define WORKERS 8                  /* the most that a station has by itself */
#define MIB     1024               /* of VmHWM's KiB */

static bool is_long(void)
{
    return getenv("PELLETD_LONG") != NULL;
}

/* The most memory that the program ever had, KiB. */
static long peak_of(const struct running *running)
{
    char path[64];
    char line[200];
    long peak = 0;
    snprintf(path, sizeof path, "/proc/%d/status", (int)running->pid);
    FILE *status = fopen(path, "r");
    assert_non_null(status);
    while (fgets(line, sizeof line, status)) {
        if (strncmp(line, "VmHWM:", 6) == 0)
            peak = strtol(line + 6, NULL, 10);
    }
    fclose(status);
    return peak;
}

/* So long as verdicts come in it is at work, however slow the machine is. */
static void wait_for_verdicts(const char *folder, size_t verdicts)
{
    size_t seen = 0;
    for (int idle_ms = 0; seen < verdicts; idle_ms += 200) {
        const size_t now = running_count_files(folder, ".verdict.yaml");
        if (now > seen)
            idle_ms = 0;
        seen = now;
        if (idle_ms > 2 * RUNNING_WAIT_MS)
            fail_msg("no more verdicts after %zu of %zu", seen, verdicts);
        running_sleep(200);
    }
}

static void make_empty(const struct running *running, const char *ending, int n)
{
    for (int i = 0; i < n; i++) {
        char name[32];
        snprintf(name, sizeof name, "n%07d.%s", i, ending);
        const int file = open(running_path(running, name), O_WRONLY | O_CREAT | O_CLOEXEC, 0666);
        assert_true(file >= 0);
        close(file);
    }
}

/* Most are none of ours, some are spectra by their name. */
static void a_great_many_names(void **state)
{
    struct running *running = *state;
    const int foreign = is_long() ? 1000000 : 20000;
    const int empty = is_long() ? 20000 : 500;
    make_empty(running, "bin", foreign);
    running_watch(running);
    running_save_first(running);
    make_empty(running, "csv", empty);
    running_save(running, "fine_p1.csv", 5, 0.7, 3);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    struct pellet_verdict verdict = running_wait_verdict(running, "n0000000.csv");
    pellet_verdict_clear(&verdict);
    printf("%d names and %d empty spectra: %ld MiB\n", foreign, empty, peak_of(running) / MIB);
    assert_true(peak_of(running) < 256 * MIB);
    running_stop(running);
}

static void make_and_delete(const struct running *running, int first, int n)
{
    for (int i = first; i < first + n; i++) {
        char name[32];
        snprintf(name, sizeof name, "n%07d_p1.csv", i);
        running_write(running_path(running, name), "x", 1);
        /* Long enough that it is taken note of. */
        if (i % 100 == 0)
            running_sleep(10);
        if (i >= first + 50) {
            snprintf(name, sizeof name, "n%07d_p1.csv", i - 50);
            assert_int_equal(unlink(running_path(running, name)), 0);
        }
    }
}

/* Names that are made and deleted for ever are not kept. */
static void names_that_come_and_go(void **state)
{
    struct running *running = *state;
    const int names = is_long() ? 500000 : 25000;
    running_begin(running);
    make_and_delete(running, 0, names);
    const long before = peak_of(running);
    make_and_delete(running, names, 3 * names);
    running_save(running, "fine_p1.csv", 5, 0.7, 3);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    printf("%d names that came and went: %ld KiB, %ld KiB after %d\n", 4 * names, peak_of(running), before,
           names);
    /* Each of them would take half a KiB. */
    assert_true(peak_of(running) < before + names);
    running_stop(running);
}

/* As many bytes as are allowed, of what makes much of each. */
static void save_large(const struct running *running, const char *name, const char *head, const char *line)
{
    struct pellet_text text = {0};
    pellet_text_adds(&text, head);
    while (text.length + strlen(line) < LARGEST)
        pellet_text_adds(&text, line);
    assert_int_equal(pellet_text_status(&text), PELLET_OK);
    running_write(running_path(running, name), text.data, text.length);
    pellet_text_free(&text);
}

/* All of the workers have one in hand, and the unit grants 2 GiB. */
static void the_largest_files_on_every_worker(void **state)
{
    struct running *running = *state;
    char *jobs[] = {"--jobs", "8", NULL};
    save_large(running, "labels.dx", "##TITLE=x\n##JCAMP-DX=4.24\n", "##A=\n");
    if (is_long())
        save_large(running, "commas.csv", "wavenumber,single beam\n", ",,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\n");
    for (int i = 0; i < WORKERS; i++) {
        char name[32];
        const bool commas = is_long() && i % 2;
        snprintf(name, sizeof name, "large%d_p1.%s", i, commas ? "csv" : "dx");
        assert_int_equal(
            link(running_path(running, commas ? "commas.csv" : "labels.dx"), running_path(running, name)), 0);
    }
    running_watch_with(running, jobs);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    wait_for_verdicts(running->folder, WORKERS + 2);
    printf("%d files of 63 MiB: %ld MiB\n", WORKERS, peak_of(running) / MIB);
    assert_true(peak_of(running) < 1024 * MIB);
    running_stop(running);
}

#define DENSE_FILES  12
#define DENSE_POINTS 99999

static int open_manager(const struct running *running)
{
    const int manager = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    assert_true(manager >= 0);
    assert_true(snprintf(address.sun_path, sizeof address.sun_path, "%s/notify", running->around) <
                (int)sizeof address.sun_path);
    assert_int_equal(bind(manager, (const struct sockaddr *)&address, sizeof address), 0);
    setenv("NOTIFY_SOCKET", address.sun_path, 1);
    setenv("WATCHDOG_USEC", "1000000", 1);
    return manager;
}

/* How often it said that it lives since this was asked last. */
static size_t signs_of_life(int manager)
{
    char message[4096];
    size_t n = 0;
    for (ssize_t got; (got = recv(manager, message, sizeof message - 1, MSG_DONTWAIT)) > 0;) {
        message[got] = '\0';
        n += strstr(message, "WATCHDOG=1") != NULL;
    }
    return n;
}

/* An invented beam: the model makes no spectra of so many points. */
static void dense_spectrum(double height, struct pellet_text *text)
{
    pellet_text_adds(text, "wavenumber,single beam\n");
    for (int i = 0; i < DENSE_POINTS; i++) {
        const double at = 350 + 3700.0 * i / (DENSE_POINTS - 1);
        const double band = exp(-pow((at - 1068) / 12, 2)) + 0.5 * exp(-pow((at - 2930) / 20, 2));
        const double beam = 1000 * exp(-pow((at - 1800) / 1100, 2)) / (1 + exp(-(at - 395) / 4));
        const double light = beam * pow(10, -height * band);
        pellet_text_addf(text, "%.5f,%.3f\n", at, light + 0.1 * sin(1e4 * at));
    }
    assert_int_equal(pellet_text_status(text), PELLET_OK);
}

/* The first is a blank, or there would be no ratio to judge. */
static void save_dense(const char *folder)
{
    for (int i = 0; i < DENSE_FILES; i++) {
        char path[PATH_MAX + 40];
        struct pellet_text text = {0};
        dense_spectrum(i == 0 ? 0 : 0.7, &text);
        snprintf(path, sizeof path, "%s/%s%02d_p1.csv", folder, i == 0 ? "blank" : "dense", i);
        running_write(path, text.data, text.length);
        pellet_text_free(&text);
    }
}

/* Another station's pellet has its verdict, and the manager hears more than once that the program lives,
 * before they are all through. */
static void a_stream_of_the_densest_spectra(void **state)
{
    struct running *running = *state;
    char crowd[PATH_MAX + 20];
    char keys[PATH_MAX + 100];
    size_t alive = 0;
    const int manager = open_manager(running);
    snprintf(crowd, sizeof crowd, "%s/crowd", running->around);
    assert_int_equal(mkdir(crowd, 0777), 0);
    save_dense(crowd);
    snprintf(keys, sizeof keys, "name: calm\n  - folder: %s\n    name: crowd", crowd);
    running_watch_configured(running, keys);
    (void)signs_of_life(manager);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "fine_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    const size_t before = running_count_files(crowd, ".verdict.yaml");
    running_until(running_count_files(crowd, ".verdict.yaml") == DENSE_FILES ||
                      (alive += signs_of_life(manager)) > 1,
                  "no sign of life");
    const size_t after = running_count_files(crowd, ".verdict.yaml");
    close(manager); /* or the program would wait until somebody reads what it says */
    unsetenv("NOTIFY_SOCKET");
    unsetenv("WATCHDOG_USEC");
    wait_for_verdicts(crowd, DENSE_FILES);
    printf("the densest spectra: %ld MiB\n", peak_of(running) / MIB);
    assert_true(peak_of(running) < 512 * MIB);
    running_stop(running);
    printf("%zu of %d were through when the other was, %zu when it was heard of again\n", before, DENSE_FILES,
           after);
    assert_true(before < DENSE_FILES);
    assert_true(alive > 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(a_great_many_names),
        running_test(names_that_come_and_go),
        running_test(the_largest_files_on_every_worker),
        running_test(a_stream_of_the_densest_spectra),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
