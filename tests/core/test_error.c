// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"
#include "testing.h"

#include <errno.h>
#include <string.h>

static void every_status_has_its_own_words(void **state)
{
    (void)state;
    for (int i = 0; i < PELLET_STATUS_COUNT; i++) {
        assert_true(strlen(pellet_status_id((pellet_status)i)) > 0);
        assert_true(strlen(pellet_status_text((pellet_status)i)) > 0);
        for (int j = 0; j < i; j++)
            assert_string_not_equal(pellet_status_id((pellet_status)i), pellet_status_id((pellet_status)j));
    }
    assert_string_equal(pellet_status_id(PELLET_E_FORMAT), "bad-format");
    assert_string_equal(pellet_status_text(PELLET_OK), "no error");
}

static void an_unknown_status_still_has_words(void **state)
{
    (void)state;
    assert_string_equal(pellet_status_id(PELLET_STATUS_COUNT), "unknown");
    assert_string_equal(pellet_status_text((pellet_status)-1), "unknown");
}

static void fail_fills_the_error_and_keeps_the_file(void **state)
{
    (void)state;
    struct pellet_error error = {.line = 7, .column = 8, .sys_errno = 9};
    pellet_error_set_file(&error, "blank.csv");
    assert_int_equal(pellet_fail(&error, PELLET_E_SHORT, "%d points, %d needed", 3, 50), PELLET_E_SHORT);
    assert_int_equal(error.status, PELLET_E_SHORT);
    assert_string_equal(error.message, "3 points, 50 needed");
    assert_string_equal(error.file, "blank.csv");
    assert_int_equal(error.line, 0);
    assert_int_equal(error.column, 0);
    assert_int_equal(error.sys_errno, 0);

    assert_int_equal(pellet_fail_at(&error, PELLET_E_NUMBER, 12, 4, "field"), PELLET_E_NUMBER);
    assert_int_equal(error.line, 12);
    assert_int_equal(error.column, 4);
    assert_string_equal(error.file, "blank.csv");
}

static void null_is_allowed(void **state)
{
    (void)state;
    assert_int_equal(pellet_fail(NULL, PELLET_E_RANGE, "x"), PELLET_E_RANGE);
    assert_int_equal(pellet_fail_at(NULL, PELLET_E_RANGE, 1, 2, "x"), PELLET_E_RANGE);
    assert_int_equal(pellet_fail_errno(NULL, ENOSPC, "x"), PELLET_E_SPACE);
    pellet_error_set_file(NULL, "x");
}

static void errno_decides_the_status(void **state)
{
    (void)state;
    static const struct {
        int sys_errno;
        pellet_status status;
    } cases[] = {
        {ENOMEM, PELLET_E_MEMORY},  {ENOSPC, PELLET_E_SPACE},       {EDQUOT, PELLET_E_SPACE},
        {EROFS, PELLET_E_SPACE},    {EFBIG, PELLET_E_SPACE},        {ENOENT, PELLET_E_MISSING},
        {EACCES, PELLET_E_DENIED},  {EPERM, PELLET_E_DENIED},       {EXDEV, PELLET_E_DENIED},
        {EISDIR, PELLET_E_KIND},    {ENOTDIR, PELLET_E_KIND},       {ELOOP, PELLET_E_KIND},
        {ESTALE, PELLET_E_CHANGED}, {EBUSY, PELLET_E_BUSY},         {EAGAIN, PELLET_E_BUSY},
        {ETXTBSY, PELLET_E_BUSY},   {ENAMETOOLONG, PELLET_E_LIMIT}, {EIO, PELLET_E_IO},
        {EMFILE, PELLET_E_MEMORY},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_error error = {0};
        assert_int_equal(pellet_fail_errno(&error, cases[i].sys_errno, "saving"), cases[i].status);
        assert_int_equal(error.sys_errno, cases[i].sys_errno);
        assert_memory_equal(error.message, "saving: ", 8);
        assert_true(strlen(error.message) > 8);
    }
}

static void a_message_is_one_visible_line(void **state)
{
    (void)state;
    struct pellet_error error = {0};
    pellet_fail(&error, PELLET_E_FORMAT, "%s", "a\nforged\x1b[31m line \xff \xc3\xa9");
    assert_string_equal(error.message, "a\\x0Aforged\\x1B[31m line \\xFF \xc3\xa9");
    pellet_error_set_file(&error, "bad\rname");
    assert_string_equal(error.file, "bad\\x0Dname");
}

static void a_message_may_quote_the_error_itself(void **state)
{
    (void)state;
    struct pellet_error error = {0};
    pellet_fail(&error, PELLET_E_UNIT, "inner");
    pellet_fail(&error, error.status, "outer: %s", error.message);
    assert_string_equal(error.message, "outer: inner");
    pellet_error_set_file(&error, "one");
    pellet_error_set_file(&error, error.file);
    assert_string_equal(error.file, "one");
}

static void a_long_message_is_cut_at_the_end_of_a_character(void **state)
{
    (void)state;
    char text[3001] = "";
    for (size_t i = 0; i < 1000; i++)
        memcpy(text + 3 * i, "\xe2\x82\xac", 3); /* U+20AC, three bytes */
    struct pellet_error error = {0};
    pellet_error_set_file(&error, text);
    assert_int_equal(strlen(error.file), sizeof error.file - 1 - (sizeof error.file - 1) % 3);
    assert_true(pellet_utf8_valid(error.file, strlen(error.file)));
    for (int lead = 0; lead < 3; lead++) {
        pellet_fail(&error, PELLET_E_FORMAT, "%.*s%s", lead, "abc", text);
        assert_true(pellet_utf8_valid(error.message, strlen(error.message)));
        assert_true(strlen(error.message) > sizeof error.message - 12);
        assert_null(strstr(error.message, "\\x"));
    }
    /* \x01 takes four bytes: 128 of them would fill the message and leave no room for its end. */
    memset(text, 1, 200);
    text[200] = '\0';
    pellet_fail(&error, PELLET_E_FORMAT, "%s", text);
    assert_int_equal(strlen(error.message), sizeof error.message - 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_status_has_its_own_words),
        cmocka_unit_test(an_unknown_status_still_has_words),
        cmocka_unit_test(fail_fills_the_error_and_keeps_the_file),
        cmocka_unit_test(null_is_allowed),
        cmocka_unit_test(errno_decides_the_status),
        cmocka_unit_test(a_message_is_one_visible_line),
        cmocka_unit_test(a_message_may_quote_the_error_itself),
        cmocka_unit_test(a_long_message_is_cut_at_the_end_of_a_character),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
