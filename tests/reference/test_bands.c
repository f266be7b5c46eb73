// SPDX-License-Identifier: GPL-3.0-or-later
/* Tables of known lines and bands: order, ranges, and the files they were carried from. */
#include "testing.h"

#include "pellet/reference.h"

#include <string.h>

static void the_vapour_lines_rise_within_their_regions(void **state)
{
    (void)state;
    assert_int_equal(pellet_vapour_line_count, 71);
    size_t isolated = 0;
    for (size_t i = 0; i < pellet_vapour_line_count; i++) {
        const struct pellet_vapour_line *line = &pellet_vapour_lines[i];
        assert_true(i == 0 || line->wavenumber > line[-1].wavenumber);
        assert_true((line->wavenumber > 1400.0 && line->wavenumber < 1900.0) ||
                    (line->wavenumber > 3500.0 && line->wavenumber < 3950.0));
        assert_true(line->intensity > 4e-20 && line->intensity < 1e-18);
        isolated += line->isolated;
    }
    assert_int_equal(isolated, 19);
}

static void the_vapour_lines_are_the_files(void **state)
{
    (void)state;
    char path[4096], line[512];
    if (!testing_shared("data/reference/water_vapour_lines_hitran.csv", path, sizeof path))
        skip();
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t row = 0;
    while (fgets(line, sizeof line, file)) {
        if (line[0] < '0' || line[0] > '9')
            continue;
        double wavenumber = 0.0, intensity = 0.0, energy = 0.0;
        assert_int_equal(sscanf(line, "%lf,%lf,%*d,%lf", &wavenumber, &intensity, &energy), 3);
        assert_true(row < pellet_vapour_line_count);
        assert_true(pellet_vapour_lines[row].wavenumber == wavenumber);
        assert_true(pellet_vapour_lines[row].intensity == intensity);
        assert_true(pellet_vapour_lines[row].lower_energy == energy);
        assert_int_equal(pellet_vapour_lines[row].isolated, strstr(line, ",yes,") != NULL);
        row++;
    }
    fclose(file);
    assert_int_equal(row, pellet_vapour_line_count);
}

/* The three wavenumbers that were read in a pharmacopoeia. */
static void the_polystyrene_marks_that_were_read_are_marked_so(void **state)
{
    (void)state;
    static const double read_marks[] = {2849.5, 1601.2, 1028.3};
    size_t found = 0;
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const struct pellet_polystyrene_band *band = &pellet_polystyrene_bands[i];
        assert_true(i == 0 || band->wavenumber < band[-1].wavenumber);
        for (size_t k = 0; k < 3; k++)
            found += band->read && band->wavenumber == read_marks[k];
    }
    assert_int_equal(found, 3);
}

static void an_impurity_is_named_by_its_range(void **state)
{
    (void)state;
    static const struct {
        double at;
        const char *id;
    } expected[] = {{1384.0, "nitrate"},    {1360.0, "nitrate"},   {1430.0, "carbonate"},
                    {1996.0, "metaborate"}, {2920.0, "oil"},       {1270.0, "silicone"},
                    {1050.0, "silicate"},   {1720.0, "phthalate"}, {1755.0, "anhydride"},
                    {1737.0, NULL},         {2200.0, NULL},        {(double)NAN, NULL}};
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        const struct pellet_impurity *impurity = pellet_impurity_at(expected[i].at);
        if (!expected[i].id) {
            assert_null(impurity);
            continue;
        }
        assert_non_null(impurity);
        assert_string_equal(impurity->id, expected[i].id);
    }
    for (size_t i = 1; i < pellet_impurity_count; i++)
        assert_true(pellet_impurities[i].low > pellet_impurities[i - 1].low);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_vapour_lines_rise_within_their_regions),
        cmocka_unit_test(the_vapour_lines_are_the_files),
        cmocka_unit_test(the_polystyrene_marks_that_were_read_are_marked_so),
        cmocka_unit_test(an_impurity_is_named_by_its_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
