// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "core/yaml.h"
#include "judge/random_verdict.h"

#include <sys/wait.h>

/* The example of the contract: a sample that is too strong. All strings are literals; nothing to clear. */
static struct pellet_verdict example(struct pellet_finding *reason, struct pellet_finding checks[2],
                                     struct pellet_against *against, struct pellet_rendered_band *band,
                                     const char **output)
{
    struct pellet_verdict v = {
        .format = 1,
        .outcome = PELLET_REMAKE,
        .summary = "too strong: 2.41 A at 1068 cm-1 (limit 1.50); 1 not checked",
        .instruction = "press a third",
        .bytes = 71234,
        .mtime_ns = INT64_C(1772619151000000000),
        .basis = PELLET_AGAINST_BLANK,
        .measured = INT64_C(1772619151000000000),
        .measured_from = PELLET_TIME_FROM_MTIME,
        .file = "caffeine_p1.csv",
        .sample = "caffeine",
        .pellet = 1,
        .station = "bench-1",
        .session = "2026-03-04T0900-bench-1",
        .by = "pelletd 0.1.0",
        .judged = INT64_C(1772619153000000000),
        .rules_name = "routine",
        .reason_count = 1,
        .reason = reason,
        .against_count = 1,
        .against = against,
        .check_count = 2,
        .check = checks,
        .advice = {0.29, 0.25, 0.34, 1.0, false, false, false, false, NAN, NAN, NAN, false, NAN, false, false,
                   NAN},
        .found = {6.1, "blank", 0.31, 1.8, 1068.0, 2.41, NAN, NAN, 0.0004, NAN, NAN},
        .band_count = 1,
        .band = band,
        .output_count = 1,
        .output = output,
    };
    pellet_sha256_hex("spectrum", 8, v.sha256);
    pellet_sha256_hex("rules", 5, v.rules_sha256);
    pellet_sha256_hex("settings", 8, v.settings_sha256);
    *against = (struct pellet_against){.as = "blank",
                                       .file = "blank-0900.csv",
                                       .measured = INT64_C(1772618299000000000),
                                       .age_min = 14.2,
                                       .state = PELLET_BLANK_ACCEPTED};
    pellet_sha256_hex("blank", 5, against->sha256);
    pellet_finding_init(pellet_check_find("saturation"), reason);
    reason->outcome = PELLET_REMAKE;
    reason->value = 2.41;
    reason->limit = 1.5;
    reason->at_cm1 = 1068;
    reason->says = "2.41 A at 1068 cm-1, limit 1.5 A";
    reason->instruction = "press a third";
    pellet_finding_init(pellet_check_find("noise"), &checks[0]);
    checks[0].outcome = PELLET_PASS;
    checks[0].value = 0.0004;
    checks[0].limit = 0.002;
    checks[0].from_cm1 = 2200;
    checks[0].to_cm1 = 2000;
    pellet_finding_init(pellet_check_find("opacity"), &checks[1]);
    checks[1].says = "needs an open beam";
    *band = (struct pellet_rendered_band){1068.0, 2.41, 24.0};
    *output = "reports/pictures/caffeine_p1.csv.svg";
    return v;
}

/* Key layout and order are the contract of users' scripts: written out here byte for byte. */
static void layout_is_the_contract(void **state)
{
    (void)state;
    struct pellet_finding reason;
    struct pellet_finding checks[2];
    struct pellet_against against;
    struct pellet_rendered_band band;
    const char *output;
    const struct pellet_verdict v = example(&reason, checks, &against, &band, &output);
    struct pellet_text expected = {0};
    pellet_text_addf(
        &expected,
        "format: 1\n"
        "verdict: remake\n"
        "summary: \"too strong: 2.41 A at 1068 cm-1 (limit 1.50); 1 not checked\"\n"
        "do: \"press a third\"\n"
        "input: {bytes: 71234, mtime_ns: 1772619151000000000, sha256: %s}\n"
        "role: sample\n"
        "basis: blank\n"
        "measured: 2026-03-04T10:12:31Z\n"
        "measured_from: mtime\n"
        "file: \"caffeine_p1.csv\"\n"
        "sample: \"caffeine\"\n"
        "pellet: 1\n"
        "station: \"bench-1\"\n"
        "session: \"2026-03-04T0900-bench-1\"\n"
        "by: \"pelletd 0.1.0\"\n"
        "judged: 2026-03-04T10:12:33Z\n"
        "rules: {name: \"routine\", sha256: %s}\n"
        "settings: {sha256: %s}\n"
        "against:\n"
        "  - {as: blank, file: \"blank-0900.csv\", sha256: %s, measured: 2026-03-04T09:58:19Z, age_min: "
        "14.2, "
        "state: accepted}\n"
        "skipped_blanks: []\n"
        "reasons:\n"
        "  - {check: saturation, outcome: remake, quantity: absorbance, value: 2.41, limit: 1.5, unit: A, "
        "at_cm1: 1068, says: \"2.41 A at 1068 cm-1, limit 1.5 A\", do: \"press a third\"}\n"
        "warnings: []\n"
        "checks:\n"
        "  - {check: noise, outcome: pass, quantity: rms_absorbance, value: 0.0004, limit: 0.002, unit: A, "
        "from_cm1: 2200, to_cm1: 2000}\n"
        "  - {check: opacity, outcome: not_checked, says: \"needs an open beam\"}\n"
        "advice: {sample_factor: 0.29, sample_factor_low: 0.25, sample_factor_high: 0.34, powder_factor: 1, "
        "dry: false, regrind: false, new_blank: false, lower_bound: false, take_mg: .nan, add_kbr_mg: .nan, "
        "press_mg: .nan, fresh_mix: false, thickness_mm: .nan, clean: false, spread: false, scan_factor: "
        ".nan}\n"
        "found: {water_excess_ug_cm2: 6.1, water_basis: blank, thickness_mm: 0.31, scatter_exponent: 1.8, "
        "strongest_band_cm1: 1068, true_absorbance: 2.41, true_absorbance_low: .nan, true_absorbance_high: "
        ".nan, noise: 0.0004, transmittance_2000: .nan, pressure_mpa: .nan}\n"
        "bands:\n"
        "  - {at_cm1: 1068, height: 2.41, width_cm1: 24}\n"
        "outputs: [\"reports/pictures/caffeine_p1.csv.svg\"]\n"
        "previous: []\n",
        v.sha256, v.rules_sha256, v.settings_sha256, against.sha256);
    char digest[PELLET_SHA256_HEX];
    pellet_sha256_hex(expected.data, expected.length, digest);
    pellet_text_addf(&expected, "check: %s\n...\n", digest);
    struct pellet_text out = {0};
    assert_int_equal(pellet_verdict_write(&v, &out), PELLET_OK);
    assert_string_equal(pellet_text_string(&out), pellet_text_string(&expected));
    pellet_text_free(&expected);
    pellet_text_free(&out);
}

static void json_has_the_same_keys(void **state)
{
    (void)state;
    struct pellet_finding reason;
    struct pellet_finding checks[2];
    struct pellet_against against;
    struct pellet_rendered_band band;
    const char *output;
    const struct pellet_verdict v = example(&reason, checks, &against, &band, &output);
    struct pellet_text yaml = {0};
    struct pellet_text json = {0};
    assert_int_equal(pellet_verdict_write(&v, &yaml), PELLET_OK);
    assert_int_equal(pellet_verdict_json(&v, &json), PELLET_OK);
    const char *text = pellet_text_string(&json);
    assert_null(strchr(text, '\n'));
    assert_non_null(strstr(text, "{\"format\": 1, \"verdict\": \"remake\", "));
    assert_non_null(strstr(text, "\"against\": [{\"as\": \"blank\", \"file\": \"blank-0900.csv\", "));
    assert_non_null(strstr(text, "\"skipped_blanks\": [], \"reasons\": [{\"check\": \"saturation\", "));
    assert_non_null(strstr(text, "\"take_mg\": null, \"add_kbr_mg\": null, \"press_mg\": null, "
                                 "\"fresh_mix\": false, \"thickness_mm\": null, \"clean\": false, "
                                 "\"spread\": false, \"scan_factor\": null}"));
    assert_non_null(strstr(text, "\"measured\": \"2026-03-04T10:12:31Z\", "));
    /* JSON is YAML: the same reader finds the same keys in the same order in both. */
    struct pellet_arena arena = {0};
    struct pellet_error error = {0};
    const struct pellet_yaml *a;
    const struct pellet_yaml *b;
    assert_int_equal(pellet_yaml_read(yaml.data, yaml.length, &arena, &a, &error), PELLET_OK);
    assert_int_equal(pellet_yaml_read(json.data, json.length, &arena, &b, &error), PELLET_OK);
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++)
        assert_string_equal(pellet_yaml_at(a, i)->key, pellet_yaml_at(b, i)->key);
    assert_string_equal(pellet_yaml_get(a, "check")->text, pellet_yaml_get(b, "check")->text);
    pellet_arena_free(&arena);
    pellet_text_free(&yaml);
    pellet_text_free(&json);
}

/* Bytes that are not UTF-8 stand as \xNN, and as they are in base64 (RFC 4648) beside it. */
static void stray_bytes_keep_a_raw_form(void **state)
{
    (void)state;
    uint64_t seed = 7;
    struct pellet_verdict v = random_verdict(&seed);
    v.file = "a\xff"
             "b\\x41\n.csv";
    v.output_count = 2;
    const char *outputs[] = {"plain", "\xfe"};
    v.output = outputs;
    struct pellet_text out = {0};
    assert_int_equal(pellet_verdict_write(&v, &out), PELLET_OK);
    const char *text = pellet_text_string(&out);
    assert_non_null(
        strstr(text, "\nfile: \"a\\\\xFFb\\\\x41\\u000A.csv\"\nfile_raw: \"Yf9iXHg0MQouY3N2\"\n"));
    assert_non_null(
        strstr(text, "\noutputs: [\"plain\", \"\\\\xFE\"]\noutputs_raw: [\"cGxhaW4=\", \"/g==\"]\n"));
    pellet_text_free(&out);
    pellet_verdict_clear(&v);
}

/* Words that a YAML library would take for something else go into quotes. */
static void words_stay_words(void **state)
{
    (void)state;
    static const struct {
        const char *why, *written;
    } cases[] = {
        {"refused", "why: refused}"}, {"too old", "why: \"too old\"}"},
        {"no", "why: \"no\"}"},       {"On", "why: \"On\"}"},
        {"NULL", "why: \"NULL\"}"},   {"", "why: \"\"}"},
        {"1.5", "why: \"1.5\"}"},     {"-", "why: \"-\"}"},
        {"a: b", "why: \"a: b\"}"},   {"%", "why: \"%\"}"},
        {"ug/cm2", "why: ug/cm2}"},   {"cm-1", "why: cm-1}"},
    };
    uint64_t seed = 8;
    struct pellet_verdict v = random_verdict(&seed);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_skipped skipped = {"x", cases[i].why};
        struct pellet_text out = {0};
        v.skipped = &skipped;
        v.skipped_count = 1;
        assert_int_equal(pellet_verdict_write(&v, &out), PELLET_OK);
        assert_non_null(strstr(pellet_text_string(&out), cases[i].written));
        pellet_text_free(&out);
    }
    pellet_verdict_clear(&v);
}

/* It is added behind what the buffer holds already, and the digest is of the verdict alone. */
static void output_is_appended(void **state)
{
    (void)state;
    uint64_t seed = 9;
    struct pellet_verdict v = random_verdict(&seed);
    struct pellet_text alone = {0};
    struct pellet_text behind = {0};
    pellet_text_adds(&behind, "# before\n");
    assert_int_equal(pellet_verdict_write(&v, &alone), PELLET_OK);
    assert_int_equal(pellet_verdict_write(&v, &behind), PELLET_OK);
    assert_string_equal(behind.data + 9, alone.data);
    pellet_text_free(&alone);
    pellet_text_free(&behind);
    pellet_verdict_clear(&v);
}

/* A pipe to Python's yaml and json, where they are: an outside reader must find what ours finds. */
static const char outside[] =
    "import json, sys, math, hashlib\n"
    "try:\n import yaml\n"
    "except ImportError:\n sys.exit(77)\n"
    "def same(a, b):\n"
    "  if isinstance(a, float) and not math.isfinite(a): return b is None\n"
    "  if hasattr(a, 'isoformat'): return a.strftime('%Y-%m-%dT%H:%M:%S') + 'Z' == b\n"
    "  if isinstance(a, dict): return list(a) == list(b) and all(same(a[k], b[k]) for k in a)\n"
    "  if isinstance(a, list): return len(a) == len(b) and all(map(same, a, b))\n"
    "  return a == b and isinstance(a, str) == isinstance(b, str)\n"
    "for name in sys.argv[1:]:\n"
    "  raw = open(name + '.yaml', 'rb').read()\n"
    "  a = yaml.safe_load(raw); b = json.load(open(name + '.json', encoding='utf-8'))\n"
    "  for k in a:\n"
    "    if not same(a[k], b[k]): sys.exit(f'{name} {k}: {a[k]!r} {b[k]!r}')\n"
    "  if list(a) != list(b): sys.exit(name + ': keys')\n"
    "  above = raw[:raw.rindex(b'check: ')]\n"
    "  if hashlib.sha256(above).hexdigest() != a['check']: sys.exit(name + ': digest')\n";

static void write_to(const char *path, const void *bytes, size_t n)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n, file), n);
    fclose(file);
}

static void outside_readers_agree(void **state)
{
    (void)state;
    enum { COUNT = 60 };
    char folder[] = "/tmp/pellet-verdict-XXXXXX";
    char path[96];
    struct pellet_text command = {0};
    assert_non_null(mkdtemp(folder));
    pellet_text_addf(&command, "python3 %s/outside.py", folder);
    snprintf(path, sizeof path, "%s/outside.py", folder);
    write_to(path, outside, sizeof outside - 1);
    uint64_t seed = 20260304;
    for (int i = 0; i < COUNT; i++) {
        struct pellet_verdict v = random_verdict(&seed);
        struct pellet_text yaml = {0};
        struct pellet_text json = {0};
        assert_int_equal(pellet_verdict_write(&v, &yaml), PELLET_OK);
        assert_int_equal(pellet_verdict_json(&v, &json), PELLET_OK);
        snprintf(path, sizeof path, "%s/%d.yaml", folder, i);
        write_to(path, yaml.data, yaml.length);
        snprintf(path, sizeof path, "%s/%d.json", folder, i);
        write_to(path, json.data, json.length);
        pellet_text_addf(&command, " %s/%d", folder, i);
        pellet_text_free(&yaml);
        pellet_text_free(&json);
        pellet_verdict_clear(&v);
    }
    const int result = system(command.data);
    pellet_text_clear(&command);
    pellet_text_addf(&command, "rm -r %s", folder);
    assert_int_equal(system(command.data), 0);
    pellet_text_free(&command);
    const int code = WIFEXITED(result) ? WEXITSTATUS(result) : -1;
    if (code == 77 || code == 127) {
        printf("skipped: python3 with yaml is not here\n");
        skip();
    }
    assert_int_equal(code, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(layout_is_the_contract),      cmocka_unit_test(json_has_the_same_keys),
        cmocka_unit_test(stray_bytes_keep_a_raw_form), cmocka_unit_test(words_stay_words),
        cmocka_unit_test(output_is_appended),          cmocka_unit_test(outside_readers_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
