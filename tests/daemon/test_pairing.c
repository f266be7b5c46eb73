// SPDX-License-Identifier: GPL-3.0-or-later
/* Which blank, open beam and earlier spectra a verdict rests on (design, section 4). */
#include "daemon/bench.h"

#include "pairing.h"

static struct pellet_rules rules_of_design(void)
{
    return (struct pellet_rules){
        .blank_max_age_min = 60, .blank_look_ahead_min = 15, .open_beam_max_age_h = 24};
}

static struct pairing pair(const struct bench *bench, const struct entry *subject, bool waiting)
{
    const struct pellet_rules rules = rules_of_design();
    struct pairing pairing;
    pairing_find(&bench->time, subject, &rules, waiting, &pairing);
    return pairing;
}

static void latest_accepted_blank(void **state)
{
    (void)state;
    struct bench bench = {0};
    bench_blank(&bench, "b1", 0, PELLET_BLANK_ACCEPTED);
    struct entry *b2 = bench_blank(&bench, "b2", 10, PELLET_BLANK_PROVISIONAL);
    struct entry *refused = bench_blank(&bench, "b3", 12, PELLET_BLANK_REFUSED);
    bench_blank(&bench, "b4", 21, PELLET_BLANK_ACCEPTED);
    struct entry *sample = bench_sample(&bench, "x", "x", 20);
    struct pairing p = pair(&bench, sample, false);
    assert_ptr_equal(p.blank, b2);
    assert_int_equal(p.skipped_count, 1);
    assert_ptr_equal(p.skipped[0].blank, refused);
    assert_string_equal(p.skipped[0].why, "refused");
    bench_free(&bench);
}

/* Exactly at the limit is within it; a second beyond is not. */
static void age_of_the_blank(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *b = bench_blank(&bench, "b", 0, PELLET_BLANK_ACCEPTED);
    struct entry *in_time = bench_sample(&bench, "x", "x", 60);
    struct entry *late = bench_sample(&bench, "y", "y", 60 + 1.0 / 60);
    assert_ptr_equal(pair(&bench, in_time, false).blank, b);
    struct pairing p = pair(&bench, late, false);
    assert_null(p.blank);
    assert_int_equal(p.no_blank, PELLET_NO_BLANK_TOO_OLD);
    assert_near(p.no_blank_age_min, 60 + 1.0 / 60, 1e-9);
    bench_free(&bench);
}

static void reasons_for_none(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *first = bench_sample(&bench, "x", "x", 0);
    assert_int_equal(pair(&bench, first, false).no_blank, PELLET_NO_BLANK_YET);
    assert_true(isnan(pair(&bench, first, false).no_blank_age_min));
    bench_blank(&bench, "b", 1, PELLET_BLANK_REFUSED);
    struct entry *second = bench_sample(&bench, "y", "y", 2);
    assert_int_equal(pair(&bench, second, false).no_blank, PELLET_NO_BLANK_ALL_REFUSED);
    bench_free(&bench);
}

static void rules_may_accept_any(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct pellet_rules rules = rules_of_design();
    struct pairing p;
    rules.blank_accept_any = true;
    struct entry *refused = bench_blank(&bench, "b", 0, PELLET_BLANK_REFUSED);
    struct entry *sample = bench_sample(&bench, "x", "x", 1);
    pairing_find(&bench.time, sample, &rules, false, &p);
    assert_ptr_equal(p.blank, refused);
    bench_free(&bench);
}

/* A blank after the sample serves only one that waits, and only for a quarter of an hour. */
static void looking_ahead(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *sample = bench_sample(&bench, "x", "x", 0);
    struct entry *in_time = bench_blank(&bench, "b1", 15, PELLET_BLANK_ACCEPTED);
    bench_blank(&bench, "b2", 15.1, PELLET_BLANK_ACCEPTED);
    assert_null(pair(&bench, sample, false).blank);
    assert_ptr_equal(pair(&bench, sample, true).blank, in_time);
    bench_free(&bench);
}

static void waiting_is_over(void **state)
{
    (void)state;
    const struct pellet_rules rules = rules_of_design();
    struct bench bench = {0};
    struct entry *sample = bench_sample(&bench, "x", "x", 0);
    bench_sample(&bench, "y", "y", 15);
    assert_false(pairing_is_over(&bench.time.all, sample, &rules));
    bench_sample(&bench, "z", "z", 15 + 1.0 / 60);
    assert_true(pairing_is_over(&bench.time.all, sample, &rules));
    bench_free(&bench);
}

static void gone_or_unjudged_blanks_do_not_serve(void **state)
{
    (void)state;
    struct bench bench = {0};
    bench_blank(&bench, "b1", 0, PELLET_BLANK_ACCEPTED)->present = false;
    bench_blank(&bench, "b2", 1, PELLET_BLANK_ACCEPTED)->judged = false;
    struct entry *sample = bench_sample(&bench, "x", "x", 2);
    assert_null(pair(&bench, sample, false).blank);
    bench_free(&bench);
}

static void settings_must_agree(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *fits = bench_blank(&bench, "b1", 0, PELLET_BLANK_ACCEPTED);
    struct entry *other = bench_blank(&bench, "b2", 5, PELLET_BLANK_ACCEPTED);
    struct entry *sample = bench_sample(&bench, "x", "x", 10);
    bench_state(sample, PELLET_SETTING_SCANS, "32");
    bench_state(other, PELLET_SETTING_SCANS, "16");
    /* One that states nothing agrees with everything. */
    struct pairing p = pair(&bench, sample, false);
    assert_ptr_equal(p.blank, fits);
    assert_int_equal(p.skipped_count, 1);
    assert_string_equal(p.skipped[0].why, "settings");
    /* Where there is no other, the conflict is taken so that it is named. */
    bench_state(fits, PELLET_SETTING_SCANS, "64");
    p = pair(&bench, sample, false);
    assert_ptr_equal(p.blank, other);
    assert_int_equal(p.skipped_count, 1);
    assert_ptr_equal(p.skipped[0].blank, fits);
    bench_free(&bench);
}

static void how_statements_agree(void **state)
{
    (void)state;
    static const struct {
        const char *a, *b;
        bool agree;
    } rows[] = {
        {"4", "4.0", true},
        {"4", "4 cm-1", true},
        {"32", "16", false},
        {"Happ-Genzel", "happ  genzel", false},
        {"Happ-Genzel", " happ-genzel ", true},
        {"DTGS", "MCT", false},
        {"DTGS (KBr)", "dtgs(kbr)", true},
        {"5 mm", "5 mm", true},
        {"5 mm", "5 cm", false},
        {"1e1", "10", true},
        {"auto", "1", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct entry_settings a = {.resolution = NAN};
        struct entry_settings b = {.resolution = NAN};
        assert_true(entry_set_string(&a.stated[PELLET_SETTING_GAIN], rows[i].a));
        assert_true(entry_set_string(&b.stated[PELLET_SETTING_GAIN], rows[i].b));
        if (settings_agree(&a, &b) != rows[i].agree || settings_agree(&b, &a) != rows[i].agree)
            fail_msg("'%s' and '%s'", rows[i].a, rows[i].b);
        entry_settings_clear(&a);
        entry_settings_clear(&b);
    }
    struct entry_settings four = {.resolution = 4};
    struct entry_settings eight = {.resolution = 8};
    struct entry_settings silent = {.resolution = NAN};
    assert_false(settings_agree(&four, &eight));
    struct entry_settings close = {.resolution = NAN, .spacing = 1.0};
    struct entry_settings closer = {.resolution = NAN, .spacing = 0.995};
    struct entry_settings wide = {.resolution = NAN, .spacing = 1.02};
    assert_true(settings_agree(&close, &closer));
    assert_false(settings_agree(&close, &wide));
    assert_true(settings_agree(&silent, &wide));
    assert_true(settings_agree(&four, &silent));
}

static void open_beam_of_the_blank(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *o1 = bench_add(&bench, "o1", PELLET_OPEN_BEAM, 0);
    struct entry *blank = bench_blank(&bench, "b", 5, PELLET_BLANK_ACCEPTED);
    bench_add(&bench, "o2", PELLET_OPEN_BEAM, 8);
    struct entry *sample = bench_sample(&bench, "x", "x", 10);
    assert_ptr_equal(pair(&bench, blank, false).open_beam, o1);
    /* The sample's is the one that its blank stands on. */
    assert_ptr_equal(pair(&bench, sample, false).open_beam, o1);
    struct entry *next_day = bench_blank(&bench, "b2", 8 + 24 * 60 + 1, PELLET_BLANK_ACCEPTED);
    assert_null(pair(&bench, next_day, false).open_beam);
    bench_free(&bench);
}

static void first_blank_of_the_session(void **state)
{
    (void)state;
    struct bench bench = {0};
    bench_blank(&bench, "b0", 0, PELLET_BLANK_REFUSED);
    struct entry *first = bench_blank(&bench, "b1", 1, PELLET_BLANK_PROVISIONAL);
    struct entry *second = bench_blank(&bench, "b2", 2, PELLET_BLANK_PROVISIONAL);
    struct entry *third = bench_blank(&bench, "b3", 3, PELLET_BLANK_PROVISIONAL);
    assert_null(pair(&bench, first, false).first_blank);
    assert_ptr_equal(pair(&bench, second, false).first_blank, first);
    assert_ptr_equal(pair(&bench, third, false).first_blank, first);
    second->becomes_reference = true;
    assert_ptr_equal(pair(&bench, third, false).first_blank, second);
    /* Another session has its own. */
    assert_true(entry_set_string(&third->session, "t"));
    assert_null(pair(&bench, third, false).first_blank);
    bench_free(&bench);
}

static void earlier_samples_and_attempts(void **state)
{
    (void)state;
    struct bench bench = {0};
    bench_sample(&bench, "a1", "a", 0);
    bench_sample(&bench, "x1", "x", 1);
    bench_sample(&bench, "b1", "b", 2);
    struct entry *c1 = bench_sample(&bench, "c1", "c", 3);
    struct entry *x2 = bench_sample(&bench, "x2", "x", 4);
    struct entry *c2 = bench_sample(&bench, "c2", "c", 5);
    struct entry *d1 = bench_sample(&bench, "d1", "d", 6);
    struct entry *x3 = bench_sample(&bench, "x3", "x", 7);
    bench_sample(&bench, "x4", "x", 8);
    struct pairing p = pair(&bench, x3, false);
    assert_int_equal(p.earlier_count, 3);
    assert_ptr_equal(p.earlier[0], d1);
    assert_ptr_equal(p.earlier[1], c2);
    assert_string_equal(p.earlier[2]->sample, "b");
    assert_int_equal(p.attempt_count, 2);
    assert_ptr_equal(p.attempt[0], x2);
    assert_string_equal(p.attempt[1]->name, "x1");
    assert_ptr_not_equal(p.earlier[1], c1);
    bench_free(&bench);
}

static struct entry *undecided(struct bench *bench, const char *name, const char *sample, double minute,
                               const char *blank)
{
    struct entry *entry = bench_sample(bench, name, sample, minute);
    entry->judged = false;
    assert_true(entry_set_string(&entry->blank, blank));
    return entry;
}

/* Samples before it that have no verdict yet count as those that will be fit to rest on; one without its
 * blank will wait. */
static void what_will_be_found(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *a = bench_sample(&bench, "a1", "a", 1);
    bench_sample(&bench, "b1", "b", 2);
    struct entry *c = bench_sample(&bench, "c1", "c", 3);
    const struct entry *before[] = {undecided(&bench, "b2", "b", 4, "k"),
                                    undecided(&bench, "w1", "w", 5, NULL),
                                    undecided(&bench, "d1", "d", 6, "k")};
    struct entry *x = undecided(&bench, "x1", "x", 7, "k");
    struct pairing p = pair(&bench, x, false);
    assert_int_equal(p.earlier_count, 3);
    assert_ptr_equal(p.earlier[2], a);
    assert_true(pairing_foresee(before, 3, x, &p));
    assert_int_equal(p.earlier_count, 3);
    assert_ptr_equal(p.earlier[0], before[2]);
    assert_ptr_equal(p.earlier[1], before[0]);
    assert_ptr_equal(p.earlier[2], c);
    bench_free(&bench);
}

static void what_cannot_be_foreseen(void **state)
{
    (void)state;
    struct bench bench = {0};
    const struct entry *attempt[] = {undecided(&bench, "x1", "x", 1, "k")};
    const struct entry *blank[] = {bench_blank(&bench, "k", 2, PELLET_BLANK_NONE)};
    const struct entry *beam[] = {bench_add(&bench, "o", PELLET_OPEN_BEAM, 3)};
    struct entry *x = undecided(&bench, "x2", "x", 4, "k");
    struct entry *film = bench_add(&bench, "f", PELLET_FILM, 5);
    struct entry *next = bench_add(&bench, "o2", PELLET_OPEN_BEAM, 6);
    struct pairing p = {0};
    assert_false(pairing_foresee(attempt, 1, x, &p));
    assert_false(pairing_foresee(blank, 1, x, &p));
    assert_false(pairing_foresee(beam, 1, x, &p));
    assert_false(pairing_foresee(beam, 1, film, &p));
    assert_true(pairing_foresee(attempt, 1, film, &p));
    assert_int_equal(p.earlier_count, 0);
    /* An open beam rests on nothing. */
    assert_true(pairing_foresee(beam, 1, next, &p));
    assert_true(pairing_foresee(NULL, 0, x, &p));
    bench_free(&bench);
}

/* What came ratioed needs no blank, waits for none, and names the latest. */
static void ratioed_files(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *blank = bench_blank(&bench, "b", 0, PELLET_BLANK_ACCEPTED);
    bench_blank(&bench, "r", 5, PELLET_BLANK_REFUSED);
    struct entry *sample = bench_sample(&bench, "x", "x", 120);
    sample->settings.single_beam = false;
    struct pairing p = pair(&bench, sample, false);
    assert_ptr_equal(p.blank, blank);
    assert_int_equal(p.skipped_count, 0);
    bench_free(&bench);
}

static void equal_times(void **state)
{
    (void)state;
    struct bench bench = {0};
    struct entry *sample = bench_sample(&bench, "a", "a", 0);
    struct entry *blank = bench_blank(&bench, "z", 0, PELLET_BLANK_ACCEPTED);
    struct entry *beam = bench_add(&bench, "zz", PELLET_OPEN_BEAM, 0);
    assert_ptr_equal(bench.time.all.item[0], beam);
    assert_ptr_equal(bench.time.all.item[1], blank);
    assert_ptr_equal(bench.time.all.item[2], sample);
    assert_ptr_equal(pair(&bench, sample, false).blank, blank);
    bench_free(&bench);
}

/* Random benches against the sentence of the design, written out slowly. */
static const struct entry *slow_blank(const struct bench *bench, const struct entry *sample)
{
    const struct entry *best = NULL;
    for (size_t i = 0; i < bench->index.n; i++) {
        const struct entry *e = bench->index.item[i];
        if (e->role != PELLET_BLANK || e->state == PELLET_BLANK_REFUSED || e->measured > sample->measured ||
            sample->measured - e->measured > 60 * MINUTE)
            continue;
        if (!best || e->measured > best->measured ||
            (e->measured == best->measured && strcmp(e->name, best->name) > 0))
            best = e;
    }
    return best;
}

static void random_benches(void **state)
{
    (void)state;
    unsigned short seed[3] = {1, 2, 3};
    for (int turn = 0; turn < 200; turn++) {
        struct bench bench = {0};
        char name[32];
        for (int i = 0; i < 40; i++) {
            snprintf(name, sizeof name, "e%02d", i);
            double minute = (double)(nrand48(seed) % 180);
            if (nrand48(seed) % 3 == 0)
                bench_blank(&bench, name, minute,
                            nrand48(seed) % 2 ? PELLET_BLANK_ACCEPTED : PELLET_BLANK_REFUSED);
            else
                bench_sample(&bench, name, name, minute);
        }
        for (size_t i = 0; i < bench.index.n; i++) {
            const struct entry *e = bench.index.item[i];
            if (e->role == PELLET_SAMPLE)
                assert_ptr_equal(pair(&bench, e, false).blank, slow_blank(&bench, e));
        }
        bench_free(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(latest_accepted_blank),
        cmocka_unit_test(age_of_the_blank),
        cmocka_unit_test(reasons_for_none),
        cmocka_unit_test(rules_may_accept_any),
        cmocka_unit_test(looking_ahead),
        cmocka_unit_test(waiting_is_over),
        cmocka_unit_test(gone_or_unjudged_blanks_do_not_serve),
        cmocka_unit_test(settings_must_agree),
        cmocka_unit_test(how_statements_agree),
        cmocka_unit_test(open_beam_of_the_blank),
        cmocka_unit_test(first_blank_of_the_session),
        cmocka_unit_test(earlier_samples_and_attempts),
        cmocka_unit_test(what_will_be_found),
        cmocka_unit_test(what_cannot_be_foreseen),
        cmocka_unit_test(ratioed_files),
        cmocka_unit_test(equal_times),
        cmocka_unit_test(random_benches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
