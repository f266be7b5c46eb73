// SPDX-License-Identifier: GPL-3.0-or-later
/* The pool of threads and the cache that its threads share. */
#include "testing.h"

#include "spectrum_cache.h"
#include "workers.h"

#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

struct square {
    struct job job;
    long number, squared;
};

static void run_square(struct job *job)
{
    struct square *square = (struct square *)job;
    square->squared = square->number * square->number;
}

static void every_job_once(void **state)
{
    (void)state;
    enum { JOBS = 1000 };
    struct square *jobs = calloc(JOBS, sizeof *jobs);
    struct workers *workers = NULL;
    assert_int_equal(workers_new(4, &workers, NULL), PELLET_OK);
    assert_int_equal(workers_threads(workers), 4);
    assert_null(workers_collect(workers));
    workers_wait(workers); /* nothing is under way: it must not wait */
    for (long i = 0; i < JOBS; i++) {
        jobs[i] = (struct square){{run_square, NULL}, i, -1};
        workers_submit(workers, &jobs[i].job);
    }
    for (size_t n = 0; n < JOBS;) {
        struct job *job = workers_collect(workers);
        n += job != NULL;
        if (!job)
            workers_wait(workers);
    }
    for (long i = 0; i < JOBS; i++)
        assert_int_equal(jobs[i].squared, i * i);
    workers_free(workers);
    workers_free(NULL);
    free(jobs);
}

struct gate {
    struct job job;
    int open; /* an eventfd */
};

static void run_gate(struct job *job)
{
    eventfd_t count = 0;
    assert_int_equal(eventfd_read(((struct gate *)job)->open, &count), 0);
}

/* What may be for nothing is done after what was asked for later. */
static void idle_jobs_come_last(void **state)
{
    (void)state;
    struct workers *workers = NULL;
    struct gate gate = {{run_gate, NULL}, eventfd(0, EFD_CLOEXEC)};
    struct square idle = {{run_square, NULL}, 2, -1};
    struct square other = {{run_square, NULL}, 3, -1};
    assert_int_equal(workers_new(1, &workers, NULL), PELLET_OK);
    workers_submit(workers, &gate.job);
    workers_submit_idle(workers, &idle.job);
    workers_submit(workers, &other.job);
    assert_int_equal(eventfd_write(gate.open, 1), 0);
    struct job *const order[] = {&gate.job, &other.job, &idle.job};
    for (size_t i = 0; i < 3; i++) {
        workers_wait(workers);
        assert_ptr_equal(workers_collect(workers), order[i]);
    }
    assert_int_equal(idle.squared, 4);
    workers_free(workers);
    close(gate.open);
}

static void its_descriptor_wakes_a_poll(void **state)
{
    (void)state;
    struct square square = {{run_square, NULL}, 3, -1};
    struct workers *workers = NULL;
    assert_int_equal(workers_new(1, &workers, NULL), PELLET_OK);
    workers_submit(workers, &square.job);
    struct pollfd fd = {.fd = workers_fd(workers), .events = POLLIN};
    assert_int_equal(poll(&fd, 1, 60000), 1);
    assert_ptr_equal(workers_collect(workers), &square.job);
    assert_int_equal(poll(&fd, 1, 0), 0);
    workers_free(workers);
}

/* ---------------------------------------------------------------- the cache */

static struct pellet_spectra make(size_t n)
{
    struct pellet_spectra spectra = {.n = 1, .item = calloc(1, sizeof(struct pellet_spectrum))};
    assert_non_null(spectra.item);
    spectra.item[0].n = n;
    spectra.item[0].wavenumber = calloc(n, sizeof(double));
    spectra.item[0].y = calloc(n, sizeof(double));
    return spectra;
}

static struct cached_spectra *put(struct spectrum_cache *cache, const char *hash, size_t n)
{
    char sha256[PELLET_SHA256_HEX] = "";
    struct pellet_spectra spectra = make(n);
    strcpy(sha256, hash);
    struct cached_spectra *cached = spectrum_cache_put(cache, sha256, &spectra);
    assert_non_null(cached);
    assert_int_equal(spectra.n, 0);
    return cached;
}

/* Room for two of a thousand points; the one that was not used for longest goes. */
static void the_least_recently_used_goes(void **state)
{
    (void)state;
    struct spectrum_cache *cache = spectrum_cache_new(40000);
    spectrum_cache_give_back(cache, put(cache, "aaa", 1000));
    spectrum_cache_give_back(cache, put(cache, "bbb", 1000));
    struct cached_spectra *a = spectrum_cache_get(cache, "aaa");
    assert_non_null(a);
    spectrum_cache_give_back(cache, a);
    spectrum_cache_give_back(cache, put(cache, "ccc", 1000));
    assert_null(spectrum_cache_get(cache, "bbb"));
    a = spectrum_cache_get(cache, "aaa");
    assert_non_null(a);
    spectrum_cache_give_back(cache, a);
    spectrum_cache_free(cache);
}

static void what_is_in_use_stays(void **state)
{
    (void)state;
    struct spectrum_cache *cache = spectrum_cache_new(20000);
    struct cached_spectra *a = put(cache, "aaa", 1000);
    a->spectra.item[0].y[999] = 42;
    spectrum_cache_give_back(cache, put(cache, "bbb", 1000));
    spectrum_cache_give_back(cache, put(cache, "ccc", 1000));
    assert_near(a->spectra.item[0].y[999], 42, 0);
    spectrum_cache_give_back(cache, a);
    spectrum_cache_give_back(cache, NULL);
    spectrum_cache_free(cache);
}

static void the_same_content_is_held_once(void **state)
{
    (void)state;
    struct spectrum_cache *cache = spectrum_cache_new(1000000);
    struct cached_spectra *first = put(cache, "aaa", 100);
    struct cached_spectra *second = put(cache, "aaa", 100);
    assert_ptr_equal(first, second);
    spectrum_cache_give_back(cache, first);
    spectrum_cache_give_back(cache, second);
    spectrum_cache_free(cache);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_job_once),
        cmocka_unit_test(idle_jobs_come_last),
        cmocka_unit_test(its_descriptor_wakes_a_poll),
        cmocka_unit_test(the_least_recently_used_goes),
        cmocka_unit_test(what_is_in_use_stays),
        cmocka_unit_test(the_same_content_is_held_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
