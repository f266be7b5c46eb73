// SPDX-License-Identifier: GPL-3.0-or-later
/* The words of headings and labels. */
#include "reading.h"

#include "spectrum/words.h"

static void abscissas(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        enum pellet_abscissa expected;
    } rows[] = {
        {"cm-1", PELLET_ABSCISSA_WAVENUMBER},
        {"1/CM", PELLET_ABSCISSA_WAVENUMBER},
        {"Wavenumber", PELLET_ABSCISSA_WAVENUMBER},
        {"wavenumbers (cm^-1)", PELLET_ABSCISSA_WAVENUMBER},
        {"Wavenumber/cm-1", PELLET_ABSCISSA_WAVENUMBER},
        {"\xCE\xBD / cm\xE2\x81\xBB\xC2\xB9", PELLET_ABSCISSA_WAVENUMBER},
        {"Wellenzahl [cm-1]", PELLET_ABSCISSA_WAVENUMBER},
        {"MICROMETERS", PELLET_ABSCISSA_MICROMETRE},
        {"Wavelength (\xC2\xB5m)", PELLET_ABSCISSA_MICROMETRE},
        {"wavelength/\xCE\xBCm", PELLET_ABSCISSA_MICROMETRE},
        {"um", PELLET_ABSCISSA_MICROMETRE},
        {"NANOMETERS", PELLET_ABSCISSA_NANOMETRE},
        {"lambda (nm)", PELLET_ABSCISSA_NANOMETRE},
        {"Wellenl\xC3\xA4nge (nm)", PELLET_ABSCISSA_NANOMETRE},
        {"Wellenl\xC3\xA4nge", PELLET_ABSCISSA_WAVELENGTH},
        {"Longueur d'onde", PELLET_ABSCISSA_WAVELENGTH},
        {"Wavelength", PELLET_ABSCISSA_WAVELENGTH},
        {"Raman shift (cm-1)", PELLET_ABSCISSA_OTHER},
        {"HZ", PELLET_ABSCISSA_OTHER},
        {"m/z", PELLET_ABSCISSA_OTHER},
        {"", PELLET_ABSCISSA_UNKNOWN},
        {"x", PELLET_ABSCISSA_UNKNOWN},
        {"column number", PELLET_ABSCISSA_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        print_message("%s\n", rows[i].label);
        assert_int_equal(pellet_abscissa_word(rows[i].label, strlen(rows[i].label)), rows[i].expected);
    }
}

static void ordinates(void **state)
{
    (void)state;
    static const struct {
        const char *label;
        enum pellet_ordinate expected;
        enum pellet_scale scale;
    } rows[] = {
        {"ABSORBANCE", PELLET_ORDINATE_ABSORBANCE, PELLET_SCALE_UNKNOWN},
        {"Absorbance (a.u.)", PELLET_ORDINATE_ABSORBANCE, PELLET_SCALE_UNKNOWN},
        {"A", PELLET_ORDINATE_ABSORBANCE, PELLET_SCALE_UNKNOWN},
        {"Extinktion", PELLET_ORDINATE_ABSORBANCE, PELLET_SCALE_UNKNOWN},
        {"TRANSMITTANCE", PELLET_ORDINATE_TRANSMITTANCE, PELLET_SCALE_UNKNOWN},
        {"%T", PELLET_ORDINATE_TRANSMITTANCE, PELLET_SCALE_PERCENT},
        {"Transmittance (%)", PELLET_ORDINATE_TRANSMITTANCE, PELLET_SCALE_PERCENT},
        {"PERCENT TRANSMITTANCE", PELLET_ORDINATE_TRANSMITTANCE, PELLET_SCALE_PERCENT},
        {"Single Beam", PELLET_ORDINATE_SINGLE_BEAM, PELLET_SCALE_UNKNOWN},
        {"single-beam energy", PELLET_ORDINATE_SINGLE_BEAM, PELLET_SCALE_UNKNOWN},
        {"REFLECTANCE", PELLET_ORDINATE_OTHER, PELLET_SCALE_UNKNOWN},
        {"Kubelka-Munk", PELLET_ORDINATE_OTHER, PELLET_SCALE_UNKNOWN},
        {"log(1/R)", PELLET_ORDINATE_OTHER, PELLET_SCALE_UNKNOWN},
        {"2nd derivative of absorbance", PELLET_ORDINATE_OTHER, PELLET_SCALE_UNKNOWN},
        {"ARBITRARY UNITS", PELLET_ORDINATE_UNKNOWN, PELLET_SCALE_UNKNOWN},
        {"caffeine_p1", PELLET_ORDINATE_UNKNOWN, PELLET_SCALE_UNKNOWN},
        {"", PELLET_ORDINATE_UNKNOWN, PELLET_SCALE_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        enum pellet_scale scale;
        print_message("%s\n", rows[i].label);
        assert_int_equal(pellet_ordinate_word(rows[i].label, strlen(rows[i].label), &scale),
                         rows[i].expected);
        if (rows[i].expected == PELLET_ORDINATE_TRANSMITTANCE)
            assert_int_equal(scale, rows[i].scale);
    }
}

static void facts(void **state)
{
    (void)state;
    static const struct {
        const char *key;
        enum pellet_fact expected;
    } rows[] = {
        {"Resolution (cm-1)", PELLET_FACT_RESOLUTION},
        {"Number of scans", PELLET_FACT_SCANS},
        {"$NUMBER_OF_SCANS", PELLET_FACT_SCANS},
        {"apodization", PELLET_FACT_APODISATION},
        {"LONG DATE", PELLET_FACT_LONGDATE},
        {"Date", PELLET_FACT_DATE},
        {"Time", PELLET_FACT_TIME},
        {"Title", PELLET_FACT_TITLE},
        {"SPECTROMETER/DATA SYSTEM", PELLET_FACT_INSTRUMENT},
        {"Aufl\xC3\xB6sung", PELLET_FACT_RESOLUTION},
        {"R\xC3\xA9solution [cm-1]", PELLET_FACT_RESOLUTION},
        {"\xC3\x89"
         "chantillon",
         PELLET_FACT_TITLE},
        {"Aufl\xC3", PELLET_FACT_COUNT},
        {"Times", PELLET_FACT_COUNT},
        {"", PELLET_FACT_COUNT},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        print_message("%s\n", rows[i].key);
        assert_int_equal(pellet_fact_word(rows[i].key, strlen(rows[i].key)), rows[i].expected);
    }
}

static void settings_are_the_first_facts(void **state)
{
    (void)state;
    assert_int_equal(PELLET_FACT_TITLE, PELLET_SETTING_COUNT);
    assert_string_equal(pellet_setting_id(PELLET_SETTING_APODISATION), "apodisation");
    assert_string_equal(pellet_setting_id(PELLET_SETTING_COUNT), "unknown");
    assert_string_equal(pellet_ordinate_id(PELLET_ORDINATE_SINGLE_BEAM), "single_beam");
    assert_string_equal(pellet_ordinate_id(PELLET_ORDINATE_COUNT), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(abscissas),
        cmocka_unit_test(ordinates),
        cmocka_unit_test(facts),
        cmocka_unit_test(settings_are_the_first_facts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
