// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "judge/random_verdict.h"

#define ROUNDS 1000

static struct pellet_text write_verdict(const struct pellet_verdict *v)
{
    struct pellet_text out = {0};
    assert_int_equal(pellet_verdict_write(v, &out), PELLET_OK);
    return out;
}

static struct pellet_verdict read_back(const struct pellet_text *yaml)
{
    struct pellet_verdict v = {0};
    struct pellet_error error = {0};
    if (pellet_verdict_read(yaml->data, yaml->length, &v, &error) != PELLET_OK)
        fail_msg("%zu:%zu: %s\n%s", error.line, error.column, error.message, yaml->data);
    return v;
}

/* What is written is read, and written again byte for byte, whatever stands in it. */
static void writing_what_was_read_gives_the_same_bytes(void **state)
{
    (void)state;
    uint64_t seed = 1;
    for (int i = 0; i < ROUNDS; i++) {
        struct pellet_verdict v = random_verdict(&seed);
        struct pellet_text first = write_verdict(&v);
        struct pellet_verdict again = read_back(&first);
        struct pellet_text second = write_verdict(&again);
        if (first.length != second.length || memcmp(first.data, second.data, first.length) != 0)
            fail_msg("round %d\n%s\n%s", i, first.data, second.data);
        pellet_text_free(&first);
        pellet_text_free(&second);
        pellet_verdict_clear(&v);
        pellet_verdict_clear(&again);
    }
}

static void assert_same_string(const char *a, const char *b)
{
    if (a == NULL || b == NULL)
        assert_ptr_equal(a, b);
    else
        assert_string_equal(a, b);
}

/* To the 6 digits that a file holds. */
static void assert_same_number(double a, double b)
{
    if (isfinite(a))
        assert_near(b, a, 5.1e-6 * fabs(a));
    else
        assert_true((isnan(a) && isnan(b)) || a == b);
}

static void assert_same_finding(const struct pellet_finding *a, const struct pellet_finding *b)
{
    assert_string_equal(a->check->id, b->check->id);
    if (pellet_check_find(a->check->id) != NULL)
        assert_ptr_equal(a->check, b->check);
    assert_int_equal(a->outcome, b->outcome);
    assert_same_number(a->value, b->value);
    assert_same_number(a->limit, b->limit);
    assert_int_equal(a->at_least, b->at_least);
    assert_int_equal(a->at_most, b->at_most);
    assert_same_number(a->at_cm1, b->at_cm1);
    assert_same_number(a->from_cm1, b->from_cm1);
    assert_same_number(a->to_cm1, b->to_cm1);
    assert_same_string(a->basis, b->basis);
    if (!isnan(a->value) || !isnan(a->limit))
        assert_int_equal(a->unit, b->unit);
}

/* Names come back with every byte, whether they are UTF-8 or not. */
static void every_field_comes_back(void **state)
{
    (void)state;
    uint64_t seed = 2;
    for (int i = 0; i < 300; i++) {
        struct pellet_verdict a = random_verdict(&seed);
        struct pellet_text yaml = write_verdict(&a);
        struct pellet_verdict b = read_back(&yaml);
        assert_int_equal(a.outcome, b.outcome);
        assert_same_string(a.summary, b.summary);
        assert_same_string(a.instruction, b.instruction);
        assert_true(a.bytes == b.bytes && a.mtime_ns == b.mtime_ns);
        assert_string_equal(a.sha256, b.sha256);
        assert_int_equal(a.role, b.role);
        assert_int_equal(a.state, b.state);
        assert_int_equal(a.basis, b.basis);
        assert_int_equal(a.measured_from, b.measured_from);
        assert_int_equal(a.measured == PELLET_NO_TIME, b.measured == PELLET_NO_TIME);
        if (a.measured != PELLET_NO_TIME) /* whole seconds */
            assert_true(a.measured >= b.measured && a.measured - b.measured < PELLET_NS_PER_S);
        assert_same_string(a.file, b.file);
        assert_same_string(a.sample, b.sample);
        assert_true(a.pellet == b.pellet && a.scan == b.scan);
        assert_same_string(a.station, b.station);
        assert_same_string(a.session, b.session);
        assert_same_string(a.by, b.by);
        assert_same_string(a.rules_name, b.rules_name);
        assert_string_equal(a.rules_sha256, b.rules_sha256);
        assert_string_equal(a.settings_sha256, b.settings_sha256);
        assert_string_equal(a.worksheet_sha256, b.worksheet_sha256);
        assert_true(a.wait_over == b.wait_over && a.becomes_reference == b.becomes_reference);
        assert_int_equal(a.against_count, b.against_count);
        for (size_t k = 0; k < a.against_count; k++) {
            assert_string_equal(a.against[k].as, b.against[k].as);
            assert_same_string(a.against[k].file, b.against[k].file);
            assert_string_equal(a.against[k].sha256, b.against[k].sha256);
            assert_same_number(a.against[k].age_min, b.against[k].age_min);
            assert_int_equal(a.against[k].state, b.against[k].state);
        }
        assert_int_equal(a.skipped_count, b.skipped_count);
        for (size_t k = 0; k < a.skipped_count; k++) {
            assert_same_string(a.skipped[k].file, b.skipped[k].file);
            assert_string_equal(a.skipped[k].why, b.skipped[k].why);
        }
        assert_int_equal(a.reason_count, b.reason_count);
        for (size_t k = 0; k < a.reason_count; k++)
            assert_same_finding(&a.reason[k], &b.reason[k]);
        assert_int_equal(a.check_count, b.check_count);
        for (size_t k = 0; k < a.check_count; k++)
            assert_same_finding(&a.check[k], &b.check[k]);
        assert_int_equal(a.warning_count, b.warning_count);
        for (size_t k = 0; k < a.warning_count; k++)
            assert_same_string(a.warning[k], b.warning[k]);
        assert_int_equal(a.output_count, b.output_count);
        for (size_t k = 0; k < a.output_count; k++)
            assert_same_string(a.output[k], b.output[k]);
        assert_int_equal(a.previous_count, b.previous_count);
        for (size_t k = 0; k < a.previous_count; k++)
            assert_same_string(a.previous[k].summary, b.previous[k].summary);
        assert_int_equal(a.band_count, b.band_count);
        for (size_t k = 0; k < a.band_count; k++)
            assert_same_number(a.band[k].height, b.band[k].height);
        assert_same_number(a.advice.sample_factor, b.advice.sample_factor);
        assert_same_number(a.advice.press_mg, b.advice.press_mg);
        assert_int_equal(a.advice.regrind, b.advice.regrind);
        assert_same_number(a.found.transmittance_2000, b.found.transmittance_2000);
        assert_same_number(a.found.pressure_mpa, b.found.pressure_mpa);
        assert_same_string(a.found.water_basis, b.found.water_basis);
        pellet_text_free(&yaml);
        pellet_verdict_clear(&a);
        pellet_verdict_clear(&b);
    }
}

/* The brief reading is the whole one without the lists below, but for the outputs. */
static void brief_agrees_with_the_whole(void **state)
{
    (void)state;
    uint64_t seed = 3;
    for (int i = 0; i < 300; i++) {
        struct pellet_verdict v = random_verdict(&seed);
        struct pellet_text yaml = write_verdict(&v);
        struct pellet_verdict whole = read_back(&yaml);
        struct pellet_verdict brief = {0};
        assert_int_equal(pellet_verdict_read_brief(yaml.data, yaml.length, &brief, NULL), PELLET_OK);
        assert_int_equal(brief.check_count + brief.warning_count + brief.band_count, 0);
        assert_true(isnan(brief.advice.sample_factor) && isnan(brief.found.noise));
        whole.warning_count = whole.check_count = whole.band_count = 0;
        whole.previous_count = 0;
        whole.advice = brief.advice;
        whole.found = brief.found;
        struct pellet_text lines = {0};
        if (pellet_verdict_compare(&whole, &brief, &lines) != 0)
            fail_msg("%s", lines.data);
        assert_true(whole.mtime_ns == brief.mtime_ns && whole.judged == brief.judged);
        pellet_text_free(&yaml);
        pellet_verdict_clear(&v);
        pellet_verdict_clear(&whole);
        pellet_verdict_clear(&brief);
    }
}

/* Both readings refuse, and leave their outputs as they were. */
static void assert_refused(const char *yaml, size_t n, pellet_status expected, const char *says)
{
    struct pellet_verdict v;
    struct pellet_verdict before;
    struct pellet_error error = {0};
    memset(&v, 0x5a, sizeof v);
    memcpy(&before, &v, sizeof v);
    const pellet_status status = pellet_verdict_read(yaml, n, &v, &error);
    if (status != expected || strstr(error.message, says) == NULL)
        fail_msg("%s at %zu:%zu: %s\n%.*s", pellet_status_id(status), error.line, error.column, error.message,
                 (int)n, yaml);
    assert_memory_equal(&v, &before, sizeof v);
    if (pellet_verdict_read_brief(yaml, n, &v, NULL) != PELLET_OK)
        assert_memory_equal(&v, &before, sizeof v);
    else
        pellet_verdict_clear(&v);
}

/* A torn verdict is invalid at every length. */
static void torn_anywhere(void **state)
{
    (void)state;
    uint64_t seed = 4;
    struct pellet_verdict v = random_verdict(&seed);
    struct pellet_text yaml = write_verdict(&v);
    for (size_t n = 0; n < yaml.length; n++)
        assert_refused(yaml.data, n, PELLET_E_FORMAT, "");
    pellet_text_free(&yaml);
    pellet_verdict_clear(&v);
}

/* So is one with any byte changed: the digest, the end or the YAML no longer fit. */
static void changed_anywhere(void **state)
{
    (void)state;
    uint64_t seed = 5;
    struct pellet_verdict v = random_verdict(&seed);
    struct pellet_text yaml = write_verdict(&v);
    for (size_t i = 0; i < yaml.length; i++) {
        const char kept = yaml.data[i];
        yaml.data[i] = (char)(kept ^ (1 << random_below(&seed, 7)));
        /* The number of the format is read before the digest, so that newer files are left alone. */
        const bool newer = i == 8 && yaml.data[i] > '1' && yaml.data[i] <= '9';
        assert_refused(yaml.data, yaml.length, newer ? PELLET_E_LIMIT : PELLET_E_FORMAT, "");
        yaml.data[i] = kept;
    }
    pellet_text_free(&yaml);
    pellet_verdict_clear(&v);
}

/* A file as a forger would make it: any content, with the digest and the end that fit. */
static struct pellet_text forge(const char *content)
{
    char digest[PELLET_SHA256_HEX];
    struct pellet_text yaml = {0};
    pellet_text_adds(&yaml, content);
    pellet_sha256_hex(yaml.data, yaml.length, digest);
    pellet_text_addf(&yaml, "check: %s\n...\n", digest);
    return yaml;
}

#define HEAD                                                                                                 \
    "format: 1\nverdict: pass\nsummary: \"\"\ndo: \"\"\ninput: {bytes: 1, mtime_ns: 2, sha256: null}\n"      \
    "role: sample\n"
#define BODY "file: \"x.csv\"\nby: \"p\"\nrules: {name: \"r\"}\n"

static void the_least_is_enough(void **state)
{
    (void)state;
    struct pellet_text yaml = forge(HEAD BODY "a_key_of_later_days: {x: [1, {y: 2}]}\n");
    struct pellet_verdict v = read_back(&yaml);
    assert_string_equal(v.file, "x.csv");
    assert_string_equal(v.sha256, "");
    assert_null(v.sample);
    assert_null(v.station);
    assert_true(v.measured == PELLET_NO_TIME && v.judged == PELLET_NO_TIME);
    assert_int_equal(v.state, PELLET_BLANK_NONE);
    assert_true(isnan(v.advice.sample_factor) && isnan(v.found.noise));
    assert_int_equal(v.check_count + v.reason_count + v.against_count + v.output_count, 0);
    pellet_text_free(&yaml);
    pellet_verdict_clear(&v);
}

static void forged_files_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *content;
        pellet_status status;
        const char *says;
    } cases[] = {
        {"", PELLET_E_FORMAT, ""},
        {"format: 2\n", PELLET_E_LIMIT, "newer"},
        {"format: 0\n", PELLET_E_RANGE, "whole number"},
        {"[]\n", PELLET_E_FORMAT, ""},
        {HEAD "by: \"p\"\nrules: {name: \"r\"}\n", PELLET_E_FORMAT, "\"file\" is missing"},
        {HEAD "file: null\nby: \"p\"\nrules: {name: \"r\"}\n", PELLET_E_FORMAT, "\"file\" is missing"},
        {HEAD BODY "verdict: pass\n", PELLET_E_FORMAT, "twice"},
        {HEAD BODY "pellet: 0\n", PELLET_E_RANGE, "pellet"},
        {HEAD BODY "pellet: -3\n", PELLET_E_RANGE, "pellet"},
        {HEAD BODY "scan: 99999999999\n", PELLET_E_RANGE, "scan"},
        {HEAD BODY "measured: yesterday\n", PELLET_E_FORMAT, "a time"},
        {HEAD BODY "measured: 2026-02-30T00:00:00Z\n", PELLET_E_FORMAT, "a time"},
        {HEAD BODY "basis: thin air\n", PELLET_E_FORMAT, "basis"},
        {HEAD BODY "settings: {sha256: abc}\n", PELLET_E_FORMAT, "64 hex"},
        {HEAD BODY "settings: [1]\n", PELLET_E_FORMAT, "a mapping"},
        {HEAD BODY "against: {}\n", PELLET_E_FORMAT, "a list"},
        {HEAD BODY "against: [{as: blank}]\n", PELLET_E_FORMAT, "\"file\" is missing"},
        {HEAD BODY "against: [blank]\n", PELLET_E_FORMAT, "a mapping"},
        {HEAD BODY "checks: [{check: noise}]\n", PELLET_E_FORMAT, "\"outcome\" is missing"},
        {HEAD BODY "checks: [{check: noise, outcome: fine}]\n", PELLET_E_FORMAT, "outcome"},
        {HEAD BODY "checks: [{check: noise, outcome: pass, value: many}]\n", PELLET_E_NUMBER, "a number"},
        {HEAD BODY "checks: [{check: noise, outcome: pass, unit: ell}]\n", PELLET_E_FORMAT, "unit"},
        {HEAD BODY "checks: [{check: noise, outcome: pass, bound: above}]\n", PELLET_E_FORMAT, "bound"},
        {HEAD BODY "checks: [{check: [noise], outcome: pass}]\n", PELLET_E_FORMAT, "a text"},
        {HEAD BODY "warnings: [[a]]\n", PELLET_E_FORMAT, "a text"},
        {HEAD BODY "warnings: a\n", PELLET_E_FORMAT, "a list"},
        {HEAD BODY "warnings: [a, b]\nwarnings_raw: [YQ==]\n", PELLET_E_FORMAT, "as long as"},
        {HEAD BODY "file_raw: \"YQ=\"\n", PELLET_E_FORMAT, "base64"},
        {HEAD BODY "file_raw: \"Y!==\"\n", PELLET_E_FORMAT, "base64"},
        {HEAD BODY "file_raw: \"====\"\n", PELLET_E_FORMAT, "base64"},
        {HEAD BODY "file_raw: \"YQBi\"\n", PELLET_E_FORMAT, "base64"}, /* a, NUL, b */
        {HEAD BODY "file_raw: [YQ==]\n", PELLET_E_FORMAT, "base64"},
        {HEAD BODY "advice: {dry: 3}\n", PELLET_E_FORMAT, "true or false"},
        {HEAD BODY "found: {noise: \"0.1\"}\n", PELLET_E_NUMBER, "a number"},
        {HEAD BODY "bands: [[1]]\n", PELLET_E_FORMAT, "a mapping"},
        {HEAD BODY "previous: [{verdict: pass}]\n", PELLET_E_FORMAT, "\"summary\" is missing"},
        {HEAD BODY "found: &a {noise: 1}\nadvice: *a\n", PELLET_E_FORMAT, "anchors"},
        {HEAD BODY "x: [[[[[[[[[[]]]]]]]]]]\n", PELLET_E_LIMIT, "deep"},
        {"format: 1\nverdict: note\nsummary: \"\"\ndo: \"\"\ninput: {bytes: 1, mtime_ns: 2}\nrole: "
         "sample\n" BODY,
         PELLET_E_FORMAT, "pass, wait, rescan or remake"},
        {"format: 1\nverdict: pass\nsummary: \"\"\ndo: \"\"\ninput: {bytes: -1, mtime_ns: 2}\nrole: "
         "sample\n" BODY,
         PELLET_E_RANGE, "input.bytes"},
        {"format: 1\nverdict: pass\nsummary: \"\"\ndo: \"\"\ninput: 5\nrole: sample\n" BODY, PELLET_E_FORMAT,
         "a mapping"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_text yaml = forge(cases[i].content);
        assert_refused(yaml.data, yaml.length, cases[i].status, cases[i].says);
        pellet_text_free(&yaml);
    }
}

/* A planted file of many rows must not cost much memory. */
static void lists_are_bounded(void **state)
{
    (void)state;
    for (int count = 1000; count <= 1001; count++) {
        struct pellet_text content = {0};
        pellet_text_adds(&content, HEAD BODY "bands: [");
        for (int i = 0; i < count; i++)
            pellet_text_adds(&content, i > 0 ? ",{}" : "{}");
        pellet_text_adds(&content, "]\n");
        struct pellet_text yaml = forge(content.data);
        if (count == 1000) {
            struct pellet_verdict v = read_back(&yaml);
            assert_int_equal(v.band_count, 1000);
            pellet_verdict_clear(&v);
        } else {
            assert_refused(yaml.data, yaml.length, PELLET_E_LIMIT, "1000");
        }
        pellet_text_free(&content);
        pellet_text_free(&yaml);
    }
    struct pellet_text large = {0};
    pellet_text_adds(&large, HEAD BODY "# ");
    while (large.length < ((size_t)1 << 20))
        pellet_text_addc(&large, 'x');
    pellet_text_addc(&large, '\n');
    struct pellet_text yaml = forge(large.data);
    assert_refused(yaml.data, yaml.length, PELLET_E_LIMIT, "1 MiB");
    pellet_text_free(&large);
    pellet_text_free(&yaml);
}

/* The frame alone: a newer format is left alone, but only in a file that was written to its end. */
static void frame(void **state)
{
    (void)state;
    static const struct {
        const char *yaml;
        pellet_status status;
        const char *says;
    } cases[] = {
        {"", PELLET_E_FORMAT, "to its end"},
        {"...\n", PELLET_E_FORMAT, "to its end"},
        {"format: 1\n...", PELLET_E_FORMAT, "to its end"},
        {"format: 1\n...\n\n", PELLET_E_FORMAT, "to its end"},
        {"format: 1\n...\r\n", PELLET_E_FORMAT, "to its end"},
        {"format: 1\n...\n", PELLET_E_FORMAT, "check"},
        {"format: 2\n", PELLET_E_FORMAT, "to its end"},
        {"format: 2\n...\n", PELLET_E_LIMIT, "newer"},
        {"format: 99999999999999999999\n...\n", PELLET_E_LIMIT, "newer"},
        {"format: x\n...\n", PELLET_E_FORMAT, "check"},
        {"\ncheck: 0000000000000000000000000000000000000000000000000000000000000000\n...\n", PELLET_E_FORMAT,
         "digest does not fit"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_refused(cases[i].yaml, strlen(cases[i].yaml), cases[i].status, cases[i].says);
}

/* Random bytes in a frame that fits: refused or read, never worse (run with the sanitizers). */
static void noise_in_a_good_frame(void **state)
{
    (void)state;
    uint64_t seed = 6;
    for (int i = 0; i < ROUNDS; i++) {
        struct pellet_verdict v = random_verdict(&seed);
        struct pellet_text yaml = write_verdict(&v);
        const size_t above = yaml.length - (7 + 64 + 5);
        for (size_t k = random_below(&seed, 4) + 1; k > 0; k--)
            yaml.data[random_below(&seed, above)] = (char)(1 + random_below(&seed, 255));
        yaml.data[above] = '\0';
        struct pellet_text forged = forge(yaml.data);
        struct pellet_verdict read = {0};
        struct pellet_error error = {0};
        if (pellet_verdict_read(forged.data, forged.length, &read, &error) != PELLET_OK)
            assert_true(error.message[0] != '\0');
        pellet_verdict_clear(&read);
        pellet_text_free(&yaml);
        pellet_text_free(&forged);
        pellet_verdict_clear(&v);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(writing_what_was_read_gives_the_same_bytes),
        cmocka_unit_test(every_field_comes_back),
        cmocka_unit_test(brief_agrees_with_the_whole),
        cmocka_unit_test(torn_anywhere),
        cmocka_unit_test(changed_anywhere),
        cmocka_unit_test(the_least_is_enough),
        cmocka_unit_test(forged_files_are_refused),
        cmocka_unit_test(lists_are_bounded),
        cmocka_unit_test(frame),
        cmocka_unit_test(noise_in_a_good_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
