// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/judge.h"

#include <string.h>

static char *name_of(const char *file)
{
    struct pellet_text out = {0};
    pellet_verdict_name(file, &out);
    return out.data;
}

/* A name of `n` bytes that begins with `start`. */
static char *long_name(const char *start, size_t n)
{
    char *name = malloc(n + 1);
    memset(name, 'x', n);
    memcpy(name, start, strlen(start));
    name[n] = '\0';
    return name;
}

static void short_names_get_a_suffix(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"caffeine_p1.csv", "caffeine_p1.csv.verdict.yaml"},
        {"sub/b.csv", "sub/b.csv.verdict.yaml"},
        {"\xff.csv", "\xff.csv.verdict.yaml"},
    };
    for (size_t i = 0; i < 3; i++) {
        char *name = name_of(cases[i][0]);
        assert_string_equal(name, cases[i][1]);
        free(name);
    }
    struct pellet_text out = {0};
    pellet_derived_name("sub/b.csv", ".svg", &out);
    assert_string_equal(out.data, "sub/b.csv.svg");
    pellet_text_free(&out);
}

/* 240 bytes stay, 241 are cut to 200 and told apart by their hash; a file system's 255 are never passed. */
static void long_names_are_cut(void **state)
{
    (void)state;
    char *at_the_edge = long_name("", 240);
    char *name = name_of(at_the_edge);
    assert_int_equal(strlen(name), 253);
    assert_int_equal(memcmp(name, at_the_edge, 240), 0);
    free(name);
    free(at_the_edge);
    for (size_t n = 241; n <= 255; n++) {
        char *file = long_name("", n);
        char hash[PELLET_SHA256_HEX];
        char expected[256];
        pellet_sha256_hex(file, n, hash);
        snprintf(expected, sizeof expected, "%.200s~%.16s.verdict.yaml", file, hash);
        name = name_of(file);
        assert_string_equal(name, expected);
        free(name);
        free(file);
    }
}

/* The folder is kept whole; only the last step is a name. */
static void folders_do_not_count(void **state)
{
    (void)state;
    char folder[400];
    memset(folder, 'd', 300);
    folder[150] = '/';
    strcpy(folder + 300, "/x.csv");
    char *name = name_of(folder);
    assert_int_equal(strlen(name), 306 + 13);
    free(name);
}

/* The cut falls before a character that would be torn; bytes that are no characters are cut where
 * they are. */
static void cut_at_a_character(void **state)
{
    (void)state;
    static const struct {
        const char *character;
        size_t begins, kept;
    } cases[] = {
        {"\xc3\xa4", 199, 199},         {"\xc3\xa4", 198, 200},
        {"\xe2\x82\xac", 198, 198},     {"\xf0\x9f\x98\x80", 197, 197},
        {"\xf0\x9f\x98\x80", 196, 200}, {"\x80\x80\x80\x80\x80\x80", 196, 200},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *file = long_name("", 250);
        memcpy(file + cases[i].begins, cases[i].character, strlen(cases[i].character));
        char *name = name_of(file);
        assert_int_equal((size_t)(strchr(name, '~') - name), cases[i].kept);
        assert_int_equal(memcmp(name, file, cases[i].kept), 0);
        free(name);
        free(file);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(short_names_get_a_suffix),
        cmocka_unit_test(long_names_are_cut),
        cmocka_unit_test(folders_do_not_count),
        cmocka_unit_test(cut_at_a_character),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
