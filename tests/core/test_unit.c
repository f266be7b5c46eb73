// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

static void limits_are_read_in_the_wanted_unit(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum pellet_unit wanted;
        double value;
    } cases[] = {
        {"60 min", PELLET_UNIT_MINUTE, 60},
        {"1 h", PELLET_UNIT_MINUTE, 60},
        {"0.5 h", PELLET_UNIT_SECOND, 1800},
        {"90 s", PELLET_UNIT_MINUTE, 1.5},
        {"2d", PELLET_UNIT_HOUR, 48},
        {"5 %", PELLET_UNIT_PERCENT, 5},
        {"5%", PELLET_UNIT_PERCENT, 5},
        {"0.02 A", PELLET_UNIT_ABSORBANCE, 0.02},
        {"30 ug/cm2", PELLET_UNIT_UG_CM2, 30},
        {"-30 ug/cm2", PELLET_UNIT_UG_CM2, -30},
        {"1 MiB", PELLET_UNIT_BYTE, 1048576},
        {"512 KiB", PELLET_UNIT_MIB, 0.5},
        {" \t1.25 mm ", PELLET_UNIT_MM, 1.25},
        {"1e1 t", PELLET_UNIT_TONNE, 10},
        {"740 MPa", PELLET_UNIT_MPA, 740},
        {"3", PELLET_UNIT_NONE, 3},
        {"1.5 cm-1", PELLET_UNIT_WAVENUMBER, 1.5},
        {"200 mg", PELLET_UNIT_MG, 200},
        {"0.1 h", PELLET_UNIT_MINUTE, 6},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 99;
        struct pellet_error error = {0};
        if (pellet_quantity_parse(cases[i].text, cases[i].wanted, &value, &error) != PELLET_OK)
            fail_msg("\"%s\": %s", cases[i].text, error.message);
        assert_near(value, cases[i].value, 0);
    }
}

static void wrong_limits_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum pellet_unit wanted;
        pellet_status status;
        const char *says;
    } cases[] = {
        {"60", PELLET_UNIT_MINUTE, PELLET_E_UNIT, "s, min, h or d"},
        {"60 A", PELLET_UNIT_MINUTE, PELLET_E_UNIT, "\"A\""},
        {"60 Min", PELLET_UNIT_MINUTE, PELLET_E_UNIT, "\"Min\""},
        {"1 kb", PELLET_UNIT_BYTE, PELLET_E_UNIT, "B, KiB or MiB"},
        {"5 %", PELLET_UNIT_NONE, PELLET_E_UNIT, "bare number"},
        {"0.02", PELLET_UNIT_ABSORBANCE, PELLET_E_UNIT, "write A"},
        {"", PELLET_UNIT_ABSORBANCE, PELLET_E_NUMBER, "not a number"},
        {"A", PELLET_UNIT_ABSORBANCE, PELLET_E_NUMBER, "\"A\""},
        {"nan A", PELLET_UNIT_ABSORBANCE, PELLET_E_NUMBER, "\"nan A\""},
        {"1e999 A", PELLET_UNIT_ABSORBANCE, PELLET_E_NUMBER, "1e999"},
        {"1,5 A", PELLET_UNIT_ABSORBANCE, PELLET_E_UNIT, "\",5 A\""},
        {"1.2.3 A", PELLET_UNIT_ABSORBANCE, PELLET_E_UNIT, "\".3 A\""},
        {"1 A A", PELLET_UNIT_ABSORBANCE, PELLET_E_UNIT, "\"A A\""},
        {"1e308 d", PELLET_UNIT_SECOND, PELLET_E_NUMBER, "1e308"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 99;
        struct pellet_error error = {0};
        assert_int_equal(pellet_quantity_parse(cases[i].text, cases[i].wanted, &value, &error),
                         cases[i].status);
        assert_near(value, 99, 0);
        assert_int_equal(error.status, cases[i].status);
        if (strstr(error.message, cases[i].says) == NULL)
            fail_msg("\"%s\" says: %s", cases[i].text, error.message);
    }
}

static void ranges_come_out_rising(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum pellet_unit wanted;
        double low, high;
    } cases[] = {
        {"1950..2050 cm-1", PELLET_UNIT_WAVENUMBER, 1950, 2050},
        {"4000..400 cm-1", PELLET_UNIT_WAVENUMBER, 400, 4000},
        {"0.25 .. 0.8 mm", PELLET_UNIT_MM, 0.25, 0.8},
        {"1..2 h", PELLET_UNIT_MINUTE, 60, 120},
        {"-1..1", PELLET_UNIT_NONE, -1, 1},
        {" 5..5 % ", PELLET_UNIT_PERCENT, 5, 5},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double low = 99, high = 99;
        assert_int_equal(pellet_range_parse(cases[i].text, cases[i].wanted, &low, &high, NULL), PELLET_OK);
        assert_near(low, cases[i].low, 0);
        assert_near(high, cases[i].high, 0);
    }
}

static void wrong_ranges_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        pellet_status status;
    } cases[] = {
        {"1950 cm-1", PELLET_E_FORMAT},
        {"", PELLET_E_FORMAT},
        {"1950...2050 cm-1", PELLET_E_FORMAT},
        {"1950..2050", PELLET_E_UNIT},
        {"1950..2050 A", PELLET_E_UNIT},
        {"..2050 cm-1", PELLET_E_NUMBER},
        {"1950.. cm-1", PELLET_E_NUMBER},
        {"x..2050 cm-1", PELLET_E_NUMBER},
        {"1950 cm-1..2050 cm-1", PELLET_E_NUMBER},
        {"1..2..3 cm-1", PELLET_E_UNIT},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double low = 98, high = 99;
        struct pellet_error error = {0};
        const pellet_status status =
            pellet_range_parse(cases[i].text, PELLET_UNIT_WAVENUMBER, &low, &high, &error);
        if (status != cases[i].status)
            fail_msg("\"%s\" gave %s", cases[i].text, pellet_status_id(status));
        assert_near(low, 98, 0);
        assert_near(high, 99, 0);
        assert_true(strlen(error.message) > 0);
    }
    double low = 98, high = 99;
    assert_int_equal(pellet_range_parse("1e308..1 d", PELLET_UNIT_SECOND, &low, &high, NULL),
                     PELLET_E_NUMBER);
    assert_near(low, 98, 0);
}

static void every_unit_reads_its_own_name(void **state)
{
    (void)state;
    for (int unit = PELLET_UNIT_NONE; unit < PELLET_UNIT_COUNT; unit++) {
        char text[32];
        double value = 0;
        snprintf(text, sizeof text, "12.5 %s", pellet_unit_name((enum pellet_unit)unit));
        assert_int_equal(pellet_quantity_parse(text, (enum pellet_unit)unit, &value, NULL), PELLET_OK);
        assert_near(value, 12.5, 0);
    }
    assert_string_equal(pellet_unit_name(PELLET_UNIT_COUNT), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_are_read_in_the_wanted_unit),
        cmocka_unit_test(wrong_limits_are_refused),
        cmocka_unit_test(ranges_come_out_rising),
        cmocka_unit_test(wrong_ranges_are_refused),
        cmocka_unit_test(every_unit_reads_its_own_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
