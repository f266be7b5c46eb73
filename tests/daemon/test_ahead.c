// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Judging ahead: a session in which much of what can be foreseen comes otherwise (carry-over from the sample
 * before, attempts, refused blanks and blanks that come late, measurements that are sent back) is judged by
 * one thread and by four. All that is written is the same, byte for byte, but the time of judging and the
 * digest over it.
 */
#include "daemon/running.h"

#include "station.h"

#define FILES 60
#define FEW   15

/* ---------------------------------------------------------------- the session */

static double any(unsigned short seed[3], double low, double high)
{
    return low + (high - low) * erand48(seed);
}

static bool one_in(unsigned short seed[3], long n)
{
    return nrand48(seed) % n == 0;
}

static void save(struct running *running, const char *name, double minute,
                 const struct pellet_synth_pellet *pellet, unsigned short seed[3])
{
    struct pellet_synth_instrument instrument;
    struct pellet_spectrum spectrum = {0};
    struct pellet_text text = {0};
    struct pellet_error error = {0};
    pellet_synth_instrument_init(&instrument);
    instrument.spacing_cm1 = 4;
    instrument.noise *= pellet && pellet->compound && one_in(seed, 6) ? 40 : 1;
    const unsigned long noise = (unsigned long)nrand48(seed);
    assert_int_equal(
        pellet_synth_measure(running->model, pellet, &instrument, noise, &spectrum, NULL, &error), PELLET_OK);
    const pellet_ns measured = RUNNING_START + (pellet_ns)(minute * 60) * PELLET_NS_PER_S;
    assert_int_equal(pellet_synth_write_csv(&spectrum, NULL, measured, &text), PELLET_OK);
    running_write(running_path(running, name), text.data, text.length);
    pellet_text_free(&text);
    pellet_spectrum_clear(&spectrum);
}

static void save_blank(struct running *running, int i, double minute, unsigned short seed[3])
{
    struct pellet_synth_pellet pellet;
    char name[40];
    pellet_synth_pellet_init(&pellet);
    pellet.water_ug_cm2 += one_in(seed, 3) ? 120 : 0;
    snprintf(name, sizeof name, "blank-%02d.csv", i);
    save(running, name, minute, &pellet, seed);
}

static void save_sample(struct running *running, const char *name, double minute,
                        const struct pellet_synth_compound *compound,
                        const struct pellet_synth_compound *before, unsigned short seed[3])
{
    struct pellet_synth_pellet pellet;
    pellet_synth_pellet_init(&pellet);
    pellet.compound = compound;
    pellet.dose_mg_cm2 = any(seed, 0.2, 1.6);
    if (before && one_in(seed, 3)) {
        pellet.residue = before;
        pellet.residue_mg_cm2 = any(seed, 0.05, 0.2);
    }
    save(running, name, minute, &pellet, seed);
}

/* An hour without an open beam, then one; a blank every nine spectra, often only after its samples. */
static void play(struct running *running, int files)
{
    static const char *const compounds[] = {"sugar-A",    "alcohol-B", "ester-E",
                                            "aromatic-F", "nitrile-J", "amine-M"};
    const struct pellet_synth_compound *before = NULL;
    unsigned short seed[3] = {3, 1, 4};
    int pellet = 1;
    int k = 0;
    assert_int_equal(pellet_synth_new(&running->model, NULL), PELLET_OK);
    for (int i = 0; i < files; i++) {
        char name[40];
        const double minute = 3 * i;
        if (i == files / 3) {
            save(running, "open-beam.csv", minute, NULL, seed);
        } else if (i % 9 == 4) {
            save_blank(running, i, minute, seed);
        } else {
            const bool again = before && one_in(seed, 3);
            pellet = again ? pellet + 1 : 1;
            k += !again;
            const struct pellet_synth_compound *compound =
                pellet_synth_compound_find(compounds[k % (int)(sizeof compounds / sizeof compounds[0])]);
            snprintf(name, sizeof name, "s%02d_p%d.csv", k, pellet);
            save_sample(running, name, minute, compound, before, seed);
            before = compound;
        }
    }
}

/* ---------------------------------------------------------------- one thread and four */

static void judge(struct running *running, const char *jobs, const char *out)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--jobs", (char *)jobs, "--out", (char *)out,
                         running->folder,         NULL};
    assert_int_equal(running_run(running, arguments), 1);
}

/* The time of judging and the digest, which covers it, are blotted out. */
static void blot(char *text)
{
    static const char *const keys[] = {"\njudged: ", "\ncheck: "};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        char *at = strstr(text, keys[i]);
        assert_non_null(at);
        memset(at + strlen(keys[i]), '-', strcspn(at + strlen(keys[i]), "\n"));
    }
}

static size_t expect_the_same(const char *one, const char *other, bool blots)
{
    size_t n = 0;
    DIR *directory = opendir(one);
    assert_non_null(directory);
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        char path[2][PATH_MAX + 300];
        if (item->d_type != DT_REG || *item->d_name == '.')
            continue;
        snprintf(path[0], sizeof path[0], "%s/%s", one, item->d_name);
        snprintf(path[1], sizeof path[1], "%s/%s", other, item->d_name);
        char *first = running_read(path[0]);
        char *second = running_read(path[1]);
        assert_non_null(first);
        assert_non_null(second);
        if (blots) {
            blot(first);
            blot(second);
        }
        assert_string_equal(first, second);
        free(first);
        free(second);
        n++;
    }
    closedir(directory);
    return n;
}

static size_t count_outcome(const char *folder, const char *words)
{
    size_t n = 0;
    DIR *directory = opendir(folder);
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        char path[PATH_MAX + 300];
        snprintf(path, sizeof path, "%s/%s", folder, item->d_name);
        char *text = item->d_type == DT_REG ? running_read(path) : NULL;
        n += text && strstr(text, words);
        free(text);
    }
    closedir(directory);
    return n;
}

static void threads_change_nothing(void **state)
{
    struct running *running = *state;
    static const char *const parts[] = {"", "/reports/ratioed", "/reports/pictures"};
    char out[2][PATH_MAX + 20];
    play(running, FILES);
    for (int i = 0; i < 2; i++) {
        snprintf(out[i], sizeof out[i], "%s/out-%d", running->around, i);
        judge(running, i == 0 ? "1" : "4", out[i]);
    }
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        char path[2][2 * PATH_MAX + 60];
        for (int k = 0; k < 2; k++)
            snprintf(path[k], sizeof path[k], "%.*s%s", PATH_MAX, out[k], parts[i]);
        const size_t n = expect_the_same(path[0], path[1], i == 0);
        assert_int_equal(n, expect_the_same(path[1], path[0], i == 0));
        assert_true(i > 0 || n == FILES);
        assert_true(n > 0);
    }
    /* The session holds what it is about. */
    assert_true(count_outcome(out[0], "\nverdict: rescan") > 3);
    assert_true(count_outcome(out[0], "as: attempt") > 3);
    assert_true(count_outcome(out[0], "as: earlier") > 10);
    assert_true(count_outcome(out[0], "check: residue, outcome: note") +
                    count_outcome(out[0], "check: residue, outcome: remake") >
                1);
    assert_true(count_outcome(out[0], "age_min: -") > 3);
    assert_true(count_outcome(out[0], "why: refused") > 3);
}

/* ---------------------------------------------------------------- it is done, and bounded */

static void on_turn(void *context, const struct station *station)
{
    size_t *most = context;
    *most = station->foreseen > *most ? station->foreseen : *most;
}

static size_t most_foreseen(const struct running *running, unsigned jobs)
{
    struct station_config config;
    struct pellet_arena arena = {0};
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    struct station *station = NULL;
    size_t most = 0;
    const struct station_options how = {.jobs = jobs, .keep = true, .on_turn = on_turn, .context = &most};
    assert_int_equal(station_config_default(running->folder, &arena, &config, &error), PELLET_OK);
    assert_int_equal(station_open(&config, &how, &station, &lock_error, &error), PELLET_OK);
    assert_int_equal(station_scan(station, true, NULL, NULL, &error), PELLET_OK);
    station_finish(station);
    assert_int_equal(station->foreseen, 0);
    assert_int_equal(station->ahead, 0);
    station_free(station);
    pellet_arena_free(&arena);
    return most;
}

static void only_so_many_are_judged_ahead(void **state)
{
    struct running *running = *state;
    play(running, FEW);
    assert_int_equal(most_foreseen(running, 1), 0);
    const size_t most = most_foreseen(running, 3);
    assert_true(most > 0);
    assert_true(most <= 6);
}

/* What the workers had, and what they had done ahead, is let go. */
static void stopped_in_the_middle(void **state)
{
    struct running *running = *state;
    struct station_config config;
    struct pellet_arena arena = {0};
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    struct station *station = NULL;
    const struct station_options how = {.jobs = 3, .keep = true};
    play(running, FEW);
    assert_int_equal(station_config_default(running->folder, &arena, &config, &error), PELLET_OK);
    assert_int_equal(station_open(&config, &how, &station, &lock_error, &error), PELLET_OK);
    assert_int_equal(station_scan(station, true, NULL, NULL, &error), PELLET_OK);
    while (station->foreseen == 0) {
        station_work(station);
        workers_wait(station->workers);
    }
    station_halt(station);
    assert_int_equal(station->foreseen, 0);
    station_free(station);
    pellet_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(threads_change_nothing),
        running_test(only_so_many_are_judged_ahead),
        running_test(stopped_in_the_middle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
