// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What watching costs: how long after the close of a file its verdict stands beside it, and how much memory
 * the program takes. Prints figures and judges nothing.
 *
 *   watching pace RATE COUNT   files of about 3600 points, RATE a second: latency and memory
 *   watching burst COUNT       all at once
 *   watching past COUNT        so many files were judged long ago: start, and the first new verdict
 *
 * The latency includes the half second for which a file must be unchanged.
 */
#include "daemon/past.h"

#include <poll.h>
#include <sys/inotify.h>

#define FIRST 2 /* an open beam and a blank come before what is timed */

struct run {
    struct feeding feeding;
    int events;
    int count;
    int64_t *closed_ms, *judged_ms; /* by number of the file; 0: not yet */
};

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* A line of /proc/PID/status in MiB; 0 where it is not there. */
static double memory_mib(const struct running *running, const char *key)
{
    char path[64];
    char line[256];
    double kib = 0;
    snprintf(path, sizeof path, "/proc/%d/status", running->pid);
    FILE *file = fopen(path, "re");
    while (file && fgets(line, sizeof line, file)) {
        if (strncmp(line, key, strlen(key)) == 0)
            kib = strtod(line + strlen(key) + 1, NULL);
    }
    if (file)
        fclose(file);
    return kib / 1024;
}

static double processor_s(const struct running *running)
{
    char path[64];
    char line[1024] = "";
    unsigned long user = 0;
    unsigned long system = 0;
    snprintf(path, sizeof path, "/proc/%d/stat", running->pid);
    FILE *file = fopen(path, "re");
    if (file && fgets(line, sizeof line, file)) {
        /* The name in brackets may hold blanks; user and system time are the 12th and 13th word behind it. */
        char *word = strrchr(line, ')');
        for (int i = 0; word && i < 12; i++)
            word = strchr(word + 1, ' ');
        if (word)
            user = strtoul(word, &word, 10);
        if (word)
            system = strtoul(word, NULL, 10);
    }
    if (file)
        fclose(file);
    return (double)(user + system) / (double)sysconf(_SC_CLK_TCK);
}

/* The number in "sNNNNN_p1.csv.verdict.yaml" or "blank-NNNNN...", -1 for anything else. */
static int number_of(const char *name)
{
    const size_t head = strcspn(name, "0123456789");
    return strstr(name, ".verdict.yaml") && name[head] && *name != '.' ? (int)strtol(name + head, NULL, 10)
                                                                       : -1;
}

static void take_events(struct run *run, int timeout_ms)
{
    _Alignas(struct inotify_event) char buffer[65536];
    struct pollfd fd = {.fd = run->events, .events = POLLIN};
    if (poll(&fd, 1, timeout_ms) <= 0)
        return;
    const ssize_t n = read(run->events, buffer, sizeof buffer);
    for (ssize_t at = 0; at < n;) {
        const struct inotify_event *event = (const struct inotify_event *)(const void *)(buffer + at);
        const int i = event->len > 0 ? number_of(event->name) : -1;
        if (i >= 0 && i < run->count && run->judged_ms[i] == 0)
            run->judged_ms[i] = now_ms();
        at += (ssize_t)(sizeof *event + event->len);
    }
}

static void begin(struct run *run, int count)
{
    struct running *running = run->feeding.running;
    run->count = count + FIRST;
    run->closed_ms = calloc((size_t)run->count, sizeof *run->closed_ms);
    run->judged_ms = calloc((size_t)run->count, sizeof *run->judged_ms);
    run->events = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
    inotify_add_watch(run->events, running->folder, IN_MOVED_TO);
    running_watch(running);
    for (int i = 0; i < FIRST; i++) {
        char name[FEEDING_NAME_MAX];
        struct pellet_text text = {0};
        feeding_plain_name(i, name);
        feeding_text(&run->feeding, i, &text);
        feeding_whole(&run->feeding, name, &text);
        pellet_text_free(&text);
        struct pellet_verdict verdict = running_wait_verdict(running, name);
        pellet_verdict_clear(&verdict);
    }
    running_sleep(3000);
    take_events(run, 0);
    printf("%zu points a file; at rest %.1f MiB\n", feeding_spectrum_of(&run->feeding, 2)->n,
           memory_mib(running, "VmRSS:"));
}

static int compare(const void *a, const void *b)
{
    const int64_t left = *(const int64_t *)a;
    const int64_t right = *(const int64_t *)b;
    return (left > right) - (left < right);
}

static void end(struct run *run)
{
    const struct running *running = run->feeding.running;
    const size_t n = run->count > FIRST ? (size_t)(run->count - FIRST) : 0;
    if (n == 0)
        return;
    int64_t *latency = calloc(n, sizeof *latency);
    int64_t last = 0;
    for (size_t i = 0; i < n; i++) {
        latency[i] = run->judged_ms[FIRST + i] - run->closed_ms[FIRST + i];
        last = run->judged_ms[FIRST + i] > last ? run->judged_ms[FIRST + i] : last;
    }
    qsort(latency, n, sizeof *latency, compare);
    printf("%zu files in %.1f s, close to verdict: median %lld ms, 95 %% %lld ms, longest %lld ms\n", n,
           (double)(last - run->closed_ms[FIRST]) / 1000, (long long)latency[n / 2],
           (long long)latency[n * 95 / 100], (long long)latency[n - 1]);
    printf("memory now %.1f MiB, at most %.1f MiB; processor %.1f s\n", memory_mib(running, "VmRSS:"),
           memory_mib(running, "VmHWM:"), processor_s(running));
    free(latency);
    free(run->closed_ms);
    free(run->judged_ms);
    close(run->events);
}

static bool all_judged(const struct run *run)
{
    for (int i = FIRST; i < run->count; i++) {
        if (run->judged_ms[i] == 0)
            return false;
    }
    return true;
}

/* The texts are made before, so that making them takes no time from the program. */
static void feed(struct run *run, double rate)
{
    struct pellet_text *text = calloc((size_t)run->count, sizeof *text);
    for (int i = FIRST; i < run->count; i++)
        feeding_text(&run->feeding, i, &text[i]);
    const int64_t start = now_ms();
    for (int i = FIRST; i < run->count; i++) {
        char name[FEEDING_NAME_MAX];
        const int64_t due = rate > 0 ? start + (int64_t)((i - FIRST) * 1000 / rate) : start;
        while (now_ms() < due)
            take_events(run, (int)(due - now_ms()));
        feeding_plain_name(i, name);
        feeding_whole(&run->feeding, name, &text[i]);
        run->closed_ms[i] = now_ms();
        pellet_text_free(&text[i]);
        take_events(run, 0);
    }
    free(text);
    while (!all_judged(run))
        take_events(run, 100);
}

static void past(struct run *run, int count)
{
    struct running *running = run->feeding.running;
    run->feeding.spacing = 16;
    past_make(&run->feeding, count);
    const int64_t start = now_ms();
    running_watch(running);
    const int64_t ready = now_ms();
    running_save(running, "new_p1.csv", count + 20, 0.7, 5);
    while (!running_there(running, "new_p1.csv.verdict.yaml"))
        running_sleep(10);
    printf("%d judged before: ready after %.2f s, a new file judged after %.2f s, processor %.2f s, memory "
           "%.1f MiB\n",
           count, (double)(ready - start) / 1000, (double)(now_ms() - start) / 1000, processor_s(running),
           memory_mib(running, "VmHWM:"));
}

int main(int count, char **arguments)
{
    void *state = NULL;
    struct run run = {0};
    const bool is_pace = count == 4 && strcmp(arguments[1], "pace") == 0;
    const bool is_burst = count == 3 && strcmp(arguments[1], "burst") == 0;
    if (!is_pace && !is_burst && !(count == 3 && strcmp(arguments[1], "past") == 0)) {
        fprintf(stderr, "usage: watching pace RATE COUNT | burst COUNT | past COUNT\n");
        return 2;
    }
    running_prepare(&state);
    run.feeding = (struct feeding){.running = state, .spacing = 1};
    const int files = atoi(arguments[count - 1]);
    if (is_pace || is_burst) {
        begin(&run, files);
        feed(&run, is_pace ? atof(arguments[2]) : 0);
        end(&run);
    } else {
        past(&run, files);
    }
    running_stop(run.feeding.running);
    feeding_free(&run.feeding);
    return running_clean_up(&state);
}
