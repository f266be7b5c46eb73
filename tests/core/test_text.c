// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

static void the_zero_value_is_empty(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    assert_string_equal(pellet_text_string(&text), "");
    assert_int_equal(pellet_text_status(&text), PELLET_OK);
    pellet_text_add(&text, NULL, 0);
    pellet_text_adds(&text, "");
    pellet_text_clear(&text);
    assert_null(text.data);
    pellet_text_free(&text);
    pellet_text_free(NULL);
}

static void pieces_join(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "too ");
    pellet_text_addc(&text, 's');
    pellet_text_add(&text, "trongest", 5);
    pellet_text_addf(&text, ": %.2f A at %d", 2.41, 1068);
    pellet_text_addf(&text, "%s", "");
    assert_string_equal(pellet_text_string(&text), "too strong: 2.41 A at 1068");
    assert_int_equal(text.length, strlen("too strong: 2.41 A at 1068"));
    pellet_text_free(&text);
    assert_null(text.data);
    assert_int_equal(text.capacity, 0);
}

static void bytes_of_zero_are_kept(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    pellet_text_add(&text, "a\0b", 3);
    assert_int_equal(text.length, 3);
    assert_memory_equal(text.data, "a\0b", 4);
    pellet_text_free(&text);
}

/* Every length around every growth, against a plain array. */
static void growth_keeps_all_bytes(void **state)
{
    (void)state;
    enum { TOTAL = 5000 };
    char expected[TOTAL + 1] = "";
    struct pellet_text text = {0};
    for (size_t i = 0; i < TOTAL; i++) {
        expected[i] = (char)('a' + i % 26);
        if (i % 3 == 0)
            pellet_text_addc(&text, expected[i]);
        else
            pellet_text_addf(&text, "%c", expected[i]);
        assert_int_equal(text.length, i + 1);
        assert_true(text.capacity > text.length);
        assert_int_equal(text.data[text.length], 0);
    }
    assert_string_equal(pellet_text_string(&text), expected);
    pellet_text_clear(&text);
    assert_string_equal(pellet_text_string(&text), "");
    pellet_text_adds(&text, "again");
    assert_string_equal(pellet_text_string(&text), "again");
    pellet_text_free(&text);
}

/* A size that no memory can hold is refused before anything is read from it. */
static void a_failure_stays_and_the_text_too(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    pellet_text_adds(&text, "kept");
    pellet_text_add(&text, "x", SIZE_MAX);
    assert_int_equal(pellet_text_status(&text), PELLET_E_MEMORY);
    pellet_text_adds(&text, "not added: the text would have a hole");
    pellet_text_addf(&text, "%d", 1);
    assert_string_equal(pellet_text_string(&text), "kept");
    assert_int_equal(pellet_text_status(&text), PELLET_E_MEMORY);
    pellet_text_clear(&text);
    pellet_text_adds(&text, "new");
    assert_int_equal(pellet_text_status(&text), PELLET_OK);
    assert_string_equal(pellet_text_string(&text), "new");
    pellet_text_free(&text);

    struct pellet_text empty = {0};
    pellet_text_add(&empty, "x", PTRDIFF_MAX);
    assert_int_equal(pellet_text_status(&empty), PELLET_E_MEMORY);
    assert_string_equal(pellet_text_string(&empty), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_zero_value_is_empty),          cmocka_unit_test(pieces_join),
        cmocka_unit_test(bytes_of_zero_are_kept),           cmocka_unit_test(growth_keeps_all_bytes),
        cmocka_unit_test(a_failure_stays_and_the_text_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
