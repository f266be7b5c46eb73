// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "pellet/core.h"
#include "testing.h"

#include <stdalign.h>
#include <string.h>

static void strings_stay_until_the_end(void **state)
{
    (void)state;
    struct pellet_arena arena = {0};
    char *first = pellet_arena_string(&arena, "caffeine");
    char *second = pellet_arena_copy(&arena, "blank-0900.csv", 5);
    char *third = pellet_arena_printf(&arena, "%s_p%d", first, 1);
    assert_string_equal(first, "caffeine");
    assert_string_equal(second, "blank");
    assert_string_equal(third, "caffeine_p1");
    assert_null(pellet_arena_string(&arena, NULL));
    assert_string_equal(pellet_arena_copy(&arena, NULL, 0), "");
    pellet_arena_free(&arena);
    assert_null(arena.newest);
    pellet_arena_free(&arena);
    pellet_arena_free(NULL);
}

/* Each piece is filled with its own mark; at the end all of them must still hold it. */
static void pieces_are_zeroed_aligned_and_apart(void **state)
{
    (void)state;
    enum { PIECES = 2000 };
    static struct {
        unsigned char *at;
        size_t n;
    } piece[PIECES];
    struct pellet_arena arena = {0};
    uint64_t seed = 3;
    for (size_t i = 0; i < PIECES; i++) {
        piece[i].n = random_below(&seed, i % 100 == 0 ? 10000 : 200);
        piece[i].at = pellet_arena_alloc(&arena, piece[i].n);
        assert_non_null(piece[i].at);
        assert_int_equal((uintptr_t)piece[i].at % alignof(max_align_t), 0);
        for (size_t k = 0; k < piece[i].n; k++)
            assert_int_equal(piece[i].at[k], 0);
        if (piece[i].n > 0)
            memset(piece[i].at, (int)(i % 255) + 1, piece[i].n);
    }
    for (size_t i = 0; i < PIECES; i++)
        for (size_t k = 0; k < piece[i].n; k++)
            assert_int_equal(piece[i].at[k], i % 255 + 1);
    pellet_arena_free(&arena);
}

static void what_cannot_be_had_is_null(void **state)
{
    (void)state;
    struct pellet_arena arena = {0};
    char *kept = pellet_arena_string(&arena, "kept");
    assert_null(pellet_arena_alloc(&arena, SIZE_MAX));
    assert_null(pellet_arena_alloc(&arena, PTRDIFF_MAX));
    assert_null(pellet_arena_alloc(&arena, PTRDIFF_MAX - 32));
    assert_null(pellet_arena_copy(&arena, "x", SIZE_MAX));
    assert_string_equal(kept, "kept");
    assert_non_null(pellet_arena_alloc(&arena, 1));
    pellet_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strings_stay_until_the_end),
        cmocka_unit_test(pieces_are_zeroed_aligned_and_apart),
        cmocka_unit_test(what_cannot_be_had_is_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
