// SPDX-License-Identifier: GPL-3.0-or-later
/* Dates of instruments: what is understood, and what must not be guessed. */
#include "reading.h"

#include "spectrum/date.h"

static void understood(void **state)
{
    (void)state;
    static const struct {
        const char *date, *time;
        enum pellet_date_order order;
        struct pellet_civil expected;
    } rows[] = {
        {"2026-03-04T10:12:31Z", NULL, PELLET_DATE_FREE, {2026, 3, 4, 10, 12, 31, true, 0}},
        {"2026/03/04 10:12:31.25 +0130", NULL, PELLET_DATE_FREE, {2026, 3, 4, 10, 12, 31.25, true, 90}},
        {"2012/02/18 12:31:56.0440 -0500",
         NULL,
         PELLET_DATE_YEAR_FIRST,
         {2012, 2, 18, 12, 31, 56.044, true, -300}},
        {"2026-03-04 10:12", NULL, PELLET_DATE_FREE, {2026, 3, 4, 10, 12, 0, false, 0}},
        {"2020/06/16", "10:11:29", PELLET_DATE_YEAR_FIRST, {2020, 6, 16, 10, 11, 29, false, 0}},
        {"97/01/28", "10:00:00", PELLET_DATE_YEAR_FIRST, {1997, 1, 28, 10, 0, 0, false, 0}},
        {"81/ 1/ 3", "10:40:41", PELLET_DATE_YEAR_FIRST, {1981, 1, 3, 10, 40, 41, false, 0}},
        {"13/2/1997", "14:55:12", PELLET_DATE_YEAR_FIRST, {1997, 2, 13, 14, 55, 12, false, 0}},
        {"2/13/1997", "14:55", PELLET_DATE_FREE, {1997, 2, 13, 14, 55, 0, false, 0}},
        {"4.3.2026", "9:05", PELLET_DATE_FREE, {2026, 3, 4, 9, 5, 0, false, 0}},
        {"04.03.26 09:05:01", NULL, PELLET_DATE_FREE, {2026, 3, 4, 9, 5, 1, false, 0}},
        {"19 Feb 2012 10:29:22", NULL, PELLET_DATE_YEAR_FIRST, {2012, 2, 19, 10, 29, 22, false, 0}},
        {"Feb 19, 2012", "2:05:07 PM", PELLET_DATE_FREE, {2012, 2, 19, 14, 5, 7, false, 0}},
        {"Mon Mar 08 11:01:12 1993", NULL, PELLET_DATE_FREE, {1993, 3, 8, 11, 1, 12, false, 0}},
        {"3/3/2026", "12:00 am", PELLET_DATE_FREE, {2026, 3, 3, 0, 0, 0, false, 0}},
        {"91/06/18", "10:24.56", PELLET_DATE_YEAR_FIRST, {1991, 6, 18, 10, 24, 56, false, 0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pellet_civil civil;
        const struct pellet_civil *e = &rows[i].expected;
        print_message("%s\n", rows[i].date);
        assert_int_equal(pellet_date_read(rows[i].date, rows[i].time, rows[i].order, &civil),
                         PELLET_DATE_FOUND);
        assert_int_equal(civil.year, e->year);
        assert_int_equal(civil.month, e->month);
        assert_int_equal(civil.day, e->day);
        assert_int_equal(civil.hour, e->hour);
        assert_int_equal(civil.minute, e->minute);
        assert_near(civil.second, e->second, 1e-9);
        assert_int_equal(civil.has_offset, e->has_offset);
        assert_int_equal(civil.offset_minutes, e->offset_minutes);
    }
}

static void not_guessed(void **state)
{
    (void)state;
    static const struct {
        const char *date, *time;
        enum pellet_date_found found;
    } rows[] = {
        {"03/04/2026", "10:00", PELLET_DATE_AMBIGUOUS},
        {"03/04/26", "10:00", PELLET_DATE_AMBIGUOUS},
        {"1964", "10:00", PELLET_DATE_NONE},
        {"2026-03-04", NULL, PELLET_DATE_NONE},
        {"2026-13-04", "10:00", PELLET_DATE_NONE},
        {"2026-03-04", "noon", PELLET_DATE_NONE},
        {"2026-03-04 25:00", NULL, PELLET_DATE_NONE},
        {"yesterday", "10:00", PELLET_DATE_NONE},
        {"", NULL, PELLET_DATE_NONE},
        {":", ":", PELLET_DATE_NONE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pellet_civil civil = {.year = 7};
        print_message("%s\n", rows[i].date);
        assert_int_equal(pellet_date_read(rows[i].date, rows[i].time, PELLET_DATE_FREE, &civil),
                         rows[i].found);
        assert_int_equal(civil.year, 7);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(understood), cmocka_unit_test(not_guessed)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
