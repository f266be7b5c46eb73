// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "core/yaml.h"

#include <string.h>

/* A text read into an arena of its own. */
struct reading {
    struct pellet_arena arena;
    struct pellet_error error;
    const struct pellet_yaml *root;
    pellet_status status;
};

static struct reading read_bytes(const char *bytes, size_t n)
{
    struct reading reading = {0};
    reading.status = pellet_yaml_read(bytes, n, &reading.arena, &reading.root, &reading.error);
    return reading;
}

static struct reading read_text(const char *text)
{
    return read_bytes(text, strlen(text));
}

static void tree_has_places_and_order(void **state)
{
    (void)state;
    struct reading r = read_text("format: 1\nlist:\n  - {a: 1, b: 'x y'}\n  - [p, q]\n");
    assert_int_equal(r.status, PELLET_OK);
    assert_int_equal(r.root->kind, PELLET_YAML_MAPPING);
    assert_int_equal(r.root->count, 2);
    const struct pellet_yaml *list = pellet_yaml_get(r.root, "list");
    assert_int_equal(list->kind, PELLET_YAML_SEQUENCE);
    const struct pellet_yaml *b = pellet_yaml_get(pellet_yaml_at(list, 0), "b");
    assert_string_equal(b->text, "x y");
    assert_true(b->quoted);
    assert_int_equal(b->line, 3);
    assert_int_equal(b->column, 15);
    assert_int_equal(b->key_column, 12);
    assert_string_equal(pellet_yaml_at(pellet_yaml_at(list, 1), 1)->text, "q");
    assert_null(pellet_yaml_at(list, 2));
    assert_null(pellet_yaml_get(r.root, "nothing"));
    assert_null(pellet_yaml_get(list, "a"));
    char path[64];
    pellet_yaml_path(b, path, sizeof path);
    assert_string_equal(path, "list[1].b");
    pellet_yaml_path(b, path, 6);
    assert_string_equal(path, "list[");
    pellet_arena_free(&r.arena);
}

static void reading_refuses(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        pellet_status status;
        size_t line, column;
        const char *says;
    } cases[] = {
        {"a: &x 1\n", PELLET_E_FORMAT, 1, 4, "anchors"},
        {"a: &x {b: 1}\n", PELLET_E_FORMAT, 1, 4, "anchors"},
        {"a: 1\nb: *x\n", PELLET_E_FORMAT, 2, 4, "aliases"},
        {"a: !!int 1\n", PELLET_E_FORMAT, 1, 4, "tags"},
        {"a: !x [1]\n", PELLET_E_FORMAT, 1, 4, "tags"},
        {"%TAG ! tag:x,2000:\n--- {a: 1}\n", PELLET_E_FORMAT, 1, 1, "directives"},
        {"a: 1\nb: 2\na: 3\n", PELLET_E_FORMAT, 3, 1, "twice"},
        {"a: {b: 1, \"b\": 2}\n", PELLET_E_FORMAT, 1, 11, "twice"},
        {"? [a, b]\n: 1\n", PELLET_E_FORMAT, 1, 3, "key"},
        {"? {a: b}\n: 1\n", PELLET_E_FORMAT, 1, 3, "key"},
        {"a: 1\n---\nb: 1\n", PELLET_E_FORMAT, 2, 1, "second document"},
        {"", PELLET_E_FORMAT, 1, 1, "nothing"},
        {"# only a comment\n", PELLET_E_FORMAT, 1, 1, "nothing"},
        {"a: \"x\\0y\"\n", PELLET_E_FORMAT, 1, 4, "NUL"},
        {"a: [1, 2\nb: 3\n", PELLET_E_FORMAT, 2, 2, "not YAML"},
        {"a: \"\\q\"\n", PELLET_E_FORMAT, 1, 5, "not YAML"},
        {"a: 1\nb: \xff\n", PELLET_E_FORMAT, 2, 4, "not YAML"},
        {"[[[[[[[[1]]]]]]]]", PELLET_OK, 0, 0, ""},
        {"[[[[[[[[[1]]]]]]]]]", PELLET_E_LIMIT, 1, 9, "8 deep"},
        {"a: [[[[[[[{b: 1}]]]]]]]", PELLET_E_LIMIT, 1, 11, "8 deep"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct reading r = read_text(cases[i].text);
        if (r.status != cases[i].status || r.error.line != cases[i].line ||
            r.error.column != cases[i].column || strstr(r.error.message, cases[i].says) == NULL)
            fail_msg("case %zu: status %s at %zu:%zu: %s", i, pellet_status_id(r.status), r.error.line,
                     r.error.column, r.error.message);
        if (cases[i].status != PELLET_OK)
            assert_null(r.root);
        pellet_arena_free(&r.arena);
    }
}

/* Each limit at its edge and one past it. */
static void limits_hold(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "a: 1\n#");
    while (text.length < PELLET_YAML_BYTES_MAX)
        pellet_text_addc(&text, 'x');
    struct reading r = read_bytes(text.data, text.length);
    assert_int_equal(r.status, PELLET_OK);
    pellet_arena_free(&r.arena);
    pellet_text_addc(&text, 'x');
    r = read_bytes(text.data, text.length);
    assert_int_equal(r.status, PELLET_E_LIMIT);
    assert_null(r.root);
    pellet_arena_free(&r.arena);

    pellet_text_clear(&text);
    for (int i = 0; i < PELLET_YAML_KEYS_MAX; i++)
        pellet_text_addf(&text, "k%d: 0\n", i);
    r = read_bytes(text.data, text.length);
    assert_int_equal(r.status, PELLET_OK);
    assert_int_equal(r.root->count, PELLET_YAML_KEYS_MAX);
    pellet_arena_free(&r.arena);
    pellet_text_adds(&text, "one_more: 0\n");
    r = read_bytes(text.data, text.length);
    assert_int_equal(r.status, PELLET_E_LIMIT);
    assert_int_equal(r.error.line, PELLET_YAML_KEYS_MAX + 1);
    pellet_arena_free(&r.arena);
    pellet_text_free(&text);
}

static void byte_order_mark_is_passed_over(void **state)
{
    (void)state;
    struct reading r = read_text("\xef\xbb\xbf"
                                 "format: 1\r\n...\r\n");
    assert_int_equal(r.status, PELLET_OK);
    assert_string_equal(pellet_yaml_get(r.root, "format")->text, "1");
    pellet_arena_free(&r.arena);
}

static void nulls(void **state)
{
    (void)state;
    struct reading r = read_text("[~, null, , 'null', 0, [], '']\n");
    assert_int_equal(r.status, PELLET_E_FORMAT); /* a flow list has no empty item */
    pellet_arena_free(&r.arena);
    r = read_text("a: \nb: ~\nc: null\nd: 'null'\ne: 0\nf: []\ng: ''\n");
    static const bool expected[] = {true, true, true, false, false, false, false};
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(pellet_yaml_is_null(pellet_yaml_at(r.root, i)), expected[i]);
    pellet_arena_free(&r.arena);
}

/* The text of the error must name the path, the finding and what is allowed, with the place. */
static void assert_says(const struct pellet_error *error, size_t line, size_t column, const char *message)
{
    assert_string_equal(error->message, message);
    assert_int_equal(error->line, line);
    assert_int_equal(error->column, column);
}

static void strings_and_words(void **state)
{
    (void)state;
    static const char *const words[] = {"pass", "any", NULL};
    struct reading r = read_text("a: {s: text, n: , l: [1]}\nw: any\n");
    const struct pellet_yaml *a = pellet_yaml_get(r.root, "a");
    const char *string = "before";
    assert_int_equal(pellet_yaml_string(pellet_yaml_get(a, "n"), &string, &r.error), PELLET_E_FORMAT);
    assert_says(&r.error, 1, 17, "a.n: found nothing, allowed is a text");
    assert_int_equal(pellet_yaml_string(pellet_yaml_get(a, "l"), &string, &r.error), PELLET_E_FORMAT);
    assert_says(&r.error, 1, 22, "a.l: found a list, allowed is a text");
    assert_string_equal(string, "before");
    assert_int_equal(pellet_yaml_string(pellet_yaml_get(a, "s"), &string, &r.error), PELLET_OK);
    assert_string_equal(string, "text");
    size_t index = 9;
    assert_int_equal(pellet_yaml_word(pellet_yaml_get(a, "s"), words, &index, &r.error), PELLET_E_FORMAT);
    assert_says(&r.error, 1, 8, "a.s: found \"text\", allowed is pass or any");
    assert_int_equal(index, 9);
    assert_int_equal(pellet_yaml_word(pellet_yaml_get(r.root, "w"), words, &index, &r.error), PELLET_OK);
    assert_int_equal(index, 1);
    pellet_arena_free(&r.arena);
}

static void booleans(void **state)
{
    (void)state;
    struct reading r = read_text("[true, yes, on, True, false, no, off, FALSE, 1, maybe, [true]]");
    for (size_t i = 0; i < 11; i++) {
        bool value = i >= 4;
        const pellet_status status = pellet_yaml_bool(pellet_yaml_at(r.root, i), &value, &r.error);
        assert_int_equal(status, i < 8 ? PELLET_OK : PELLET_E_FORMAT);
        assert_int_equal(value, i < 4 || i >= 8);
    }
    assert_says(&r.error, 1, 56, "[11]: found a list, allowed is true or false");
    pellet_arena_free(&r.arena);
}

static void integers(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        pellet_status status;
        int64_t value;
    } cases[] = {
        {"0", PELLET_OK, 0},         {"-5", PELLET_OK, -5},       {"10", PELLET_OK, 10},
        {"11", PELLET_E_RANGE, 0},   {"-6", PELLET_E_RANGE, 0},   {"99999999999999999999", PELLET_E_RANGE, 0},
        {"1.0", PELLET_E_NUMBER, 0}, {"0x5", PELLET_E_NUMBER, 0}, {"'-'", PELLET_E_NUMBER, 0},
        {"1-2", PELLET_E_NUMBER, 0}, {"''", PELLET_E_NUMBER, 0},  {"[1]", PELLET_E_NUMBER, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct reading r = read_text(cases[i].text);
        int64_t value = 77;
        assert_int_equal(pellet_yaml_integer(r.root, -5, 10, &value, &r.error), cases[i].status);
        assert_int_equal(value, cases[i].status == PELLET_OK ? cases[i].value : 77);
        pellet_arena_free(&r.arena);
    }
}

static void numbers(void **state)
{
    (void)state;
    struct reading r = read_text("[1.5, -2e-3, .nan, .inf, -.inf, '1.5', 1 A, 1e999]");
    static const double expected[] = {1.5, -2e-3, NAN, INFINITY, -INFINITY};
    for (size_t i = 0; i < 5; i++) {
        double value = 77;
        assert_int_equal(pellet_yaml_number(pellet_yaml_at(r.root, i), &value, NULL), PELLET_OK);
        assert_true(value == expected[i] || (isnan(value) && isnan(expected[i])));
    }
    for (size_t i = 5; i < 8; i++) {
        double value = 77;
        assert_int_equal(pellet_yaml_number(pellet_yaml_at(r.root, i), &value, &r.error), PELLET_E_NUMBER);
        assert_true(value == 77);
    }
    assert_says(&r.error, 1, 45, "[8]: found \"1e999\", allowed is a number");
    pellet_arena_free(&r.arena);
}

static void quantities_and_ranges(void **state)
{
    (void)state;
    struct reading r =
        read_text("age: 1 h\nbare: 60\nhuge: 3 d\nat: 2050..1950 cm-1\nout: 100..2000 cm-1\nlist: [1]\n");
    double value = 77;
    assert_int_equal(
        pellet_yaml_quantity(pellet_yaml_get(r.root, "age"), PELLET_UNIT_MINUTE, 0, 1440, &value, &r.error),
        PELLET_OK);
    assert_near(value, 60, 0);
    value = 77;
    assert_int_equal(
        pellet_yaml_quantity(pellet_yaml_get(r.root, "bare"), PELLET_UNIT_MINUTE, 0, 1440, &value, &r.error),
        PELLET_E_UNIT);
    assert_int_equal(r.error.line, 2);
    assert_int_equal(r.error.column, 7);
    assert_int_equal(strncmp(r.error.message, "bare: ", 6), 0);
    assert_int_equal(
        pellet_yaml_quantity(pellet_yaml_get(r.root, "huge"), PELLET_UNIT_MINUTE, 0, 1440, &value, &r.error),
        PELLET_E_RANGE);
    assert_says(&r.error, 3, 7, "huge: found \"3 d\", allowed is 0 min to 1440 min");
    assert_int_equal(
        pellet_yaml_quantity(pellet_yaml_get(r.root, "list"), PELLET_UNIT_MINUTE, 0, 1440, &value, &r.error),
        PELLET_E_FORMAT);
    assert_true(value == 77);

    double low = 77;
    double high = 77;
    assert_int_equal(pellet_yaml_range(pellet_yaml_get(r.root, "out"), PELLET_UNIT_WAVENUMBER, 400, 4000,
                                       &low, &high, &r.error),
                     PELLET_E_RANGE);
    assert_int_not_equal(pellet_yaml_range(pellet_yaml_get(r.root, "age"), PELLET_UNIT_WAVENUMBER, 400, 4000,
                                           &low, &high, &r.error),
                         PELLET_OK);
    assert_int_equal(r.error.line, 1);
    assert_true(low == 77 && high == 77);
    assert_int_equal(pellet_yaml_range(pellet_yaml_get(r.root, "at"), PELLET_UNIT_WAVENUMBER, 400, 4000, &low,
                                       &high, &r.error),
                     PELLET_OK);
    assert_near(low, 1950, 0);
    assert_near(high, 2050, 0);
    pellet_arena_free(&r.arena);
}

static void keys(void **state)
{
    (void)state;
    static const char *const allowed[] = {"limit", "outcome", "source", NULL};
    struct reading r = read_text("good: {limit: 1}\nbad: {limit: 1, limmit: 2}\n");
    assert_int_equal(pellet_yaml_only(pellet_yaml_get(r.root, "good"), allowed, &r.error), PELLET_OK);
    assert_int_equal(pellet_yaml_only(pellet_yaml_get(r.root, "bad"), allowed, &r.error), PELLET_E_FORMAT);
    assert_says(&r.error, 2, 17, "bad.limmit: there is no such key, allowed is limit, outcome or source");
    const struct pellet_yaml *value = NULL;
    assert_int_equal(pellet_yaml_need(r.root, "name", &value, &r.error), PELLET_E_FORMAT);
    assert_says(&r.error, 1, 1, "the key \"name\" is missing");
    assert_null(value);
    assert_int_equal(pellet_yaml_need(r.root, "bad", &value, &r.error), PELLET_OK);
    assert_string_equal(value->key, "bad");
    pellet_arena_free(&r.arena);
}

static void format_key(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        pellet_status status;
    } cases[] = {
        {"format: 1", PELLET_OK},         {"format: 2", PELLET_E_LIMIT},  {"format: 0", PELLET_E_RANGE},
        {"format: one", PELLET_E_NUMBER}, {"formal: 1", PELLET_E_FORMAT}, {"[1]", PELLET_E_FORMAT},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct reading r = read_text(cases[i].text);
        assert_int_equal(pellet_yaml_format(r.root, 1, &r.error), cases[i].status);
        pellet_arena_free(&r.arena);
    }
}

/* What stands there may be hostile: the message stays one line of visible characters, whole and bounded. */
static void messages_are_visible(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "\"k\\n\\x1b\": \"\\n\\x1b[2J");
    for (int i = 0; i < 2000; i++)
        pellet_text_addc(&text, 'y');
    pellet_text_adds(&text, "\"\n");
    struct reading r = read_bytes(text.data, text.length);
    double value;
    assert_int_equal(pellet_yaml_number(r.root->first, &value, &r.error), PELLET_E_NUMBER);
    for (const char *at = r.error.message; *at != '\0'; at++)
        assert_true((unsigned char)*at >= 0x20);
    assert_true(strlen(r.error.message) < 200);
    pellet_arena_free(&r.arena);
    pellet_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tree_has_places_and_order),
        cmocka_unit_test(reading_refuses),
        cmocka_unit_test(limits_hold),
        cmocka_unit_test(byte_order_mark_is_passed_over),
        cmocka_unit_test(nulls),
        cmocka_unit_test(strings_and_words),
        cmocka_unit_test(booleans),
        cmocka_unit_test(integers),
        cmocka_unit_test(numbers),
        cmocka_unit_test(quantities_and_ranges),
        cmocka_unit_test(keys),
        cmocka_unit_test(format_key),
        cmocka_unit_test(messages_are_visible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
