// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Killed without warning at random moments while files arrive in every way: after the last start each
 * spectrum has exactly one valid verdict that follows from what it names, with all its derived files and
 * nothing else. PELLETD_LONG=1: 500 files and 200 kills instead of 40 and 12.
 */
#include "daemon/running.h"

struct extent {
    int files, kills;
};

static struct extent extent_of_test(void)
{
    return getenv("PELLETD_LONG") ? (struct extent){500, 200} : (struct extent){40, 12};
}

static void arrive_whole(struct running *running, const char *name, const struct pellet_text *text)
{
    running_write(running_path(running, name), text->data, text->length);
}

static void arrive_renamed(struct running *running, const char *name, const struct pellet_text *text)
{
    char temporary[PATH_MAX + 400];
    snprintf(temporary, sizeof temporary, "%s.part", running_path(running, name));
    running_write(temporary, text->data, text->length);
    assert_int_equal(rename(temporary, running_path(running, name)), 0);
}

static void arrive_in_pieces(struct running *running, const char *name, const struct pellet_text *text)
{
    int file = open(running_path(running, name), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    for (size_t i = 0; i < 4; i++) {
        size_t from = text->length * i / 4;
        size_t to = text->length * (i + 1) / 4;
        assert_int_equal(write(file, text->data + from, to - from), (ssize_t)(to - from));
        running_sleep(5);
    }
    close(file);
}

static void arrive_linked(struct running *running, const char *name, const struct pellet_text *text)
{
    char elsewhere[PATH_MAX + 20];
    snprintf(elsewhere, sizeof elsewhere, "%s/linked", running->around);
    running_write(elsewhere, text->data, text->length);
    assert_int_equal(link(elsewhere, running_path(running, name)), 0);
    unlink(elsewhere);
}

/* First another content under the same name, as when a measurement is repeated. */
static void arrive_twice(struct running *running, const char *name, const struct pellet_text *text)
{
    running_write(running_path(running, name), text->data, text->length / 2);
    running_sleep(10);
    arrive_whole(running, name, text);
}

typedef void arrive_fn(struct running *running, const char *name, const struct pellet_text *text);
static arrive_fn *const arrivals[] = {arrive_whole, arrive_renamed, arrive_in_pieces, arrive_linked,
                                      arrive_twice};
enum { ARRIVALS = sizeof arrivals / sizeof arrivals[0] };

/* Every eighth is a blank, the very first an open beam. */
static void name_of(int i, char name[32])
{
    if (i == 0)
        snprintf(name, 32, "open-beam.csv");
    else if (i % 8 == 1)
        snprintf(name, 32, "blank-%03d.csv", i);
    else
        snprintf(name, 32, "s%03d_p1.csv", i);
}

static void feed(struct running *running, int i)
{
    char name[32];
    struct pellet_text text = {0};
    name_of(i, name);
    running_spectrum(running, i * 2,
                     i == 0       ? -1
                     : i % 8 == 1 ? 0
                     : i % 5 == 0 ? 3.0
                                  : 0.7,
                     (unsigned long)i, &text);
    arrivals[i % ARRIVALS](running, name, &text);
    pellet_text_free(&text);
}

static void start(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    running->pid = running_spawn(running, arguments);
}

static void expect_complete(struct running *running, int files)
{
    for (int i = 0; i < files; i++) {
        char name[32];
        name_of(i, name);
        struct pellet_verdict verdict = running_wait_verdict(running, name);
        for (size_t o = 0; o < verdict.output_count; o++)
            running_until(running_there(running, verdict.output[o]), "%s is missing", verdict.output[o]);
        pellet_verdict_clear(&verdict);
    }
}

/* Derived files that no verdict lists. */
static size_t count_listed(struct running *running, int files)
{
    size_t n = 0;
    for (int i = 0; i < files; i++) {
        char name[32];
        name_of(i, name);
        struct pellet_verdict verdict = running_wait_verdict(running, name);
        n += verdict.output_count;
        pellet_verdict_clear(&verdict);
    }
    return n;
}

static void killed_at_random(void **state)
{
    struct running *running = *state;
    const struct extent extent = extent_of_test();
    unsigned short seed[3] = {7, 7, 7};
    int fed = 0;
    for (int k = 0; k < extent.kills; k++) {
        start(running);
        int until = extent.files * (k + 1) / extent.kills;
        while (fed < until)
            feed(running, fed++);
        running_sleep((int)(nrand48(seed) % 900));
        (void)running_end(running, SIGKILL);
    }
    start(running);
    expect_complete(running, extent.files);
    running_stop(running);
    running_verify(running);
    assert_int_equal(running_count_files(running->folder, ".verdict.yaml"), extent.files);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
    char reports[PATH_MAX + 20];
    snprintf(reports, sizeof reports, "%s/reports", running->folder);
    assert_int_equal(running_count_files(reports, ".csv."), count_listed(running, extent.files));
}

/* Ending it in the ordinary way loses nothing either. */
static void ended_in_the_middle(void **state)
{
    struct running *running = *state;
    start(running);
    for (int i = 0; i < 20; i++)
        feed(running, i);
    running_sleep(600);
    running_stop(running);
    start(running);
    expect_complete(running, 20);
    running_stop(running);
    running_verify(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(killed_at_random),
        running_test(ended_in_the_middle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
