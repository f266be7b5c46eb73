// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The tables of words. They hold the trade's general terms (English, German, French) and those of JCAMP-DX,
 * never the layout of one maker.
 */
#include "spectrum/words.h"

#include <ctype.h>
#include <string.h>

#define WORD_MAX 96

enum match { WHOLE, PART };

/* ---------------------------------------------------------------- facts */

static const struct {
    const char *key; /* normalised, the whole key */
    enum pellet_fact fact;
} fact_words[] = {
    {"RESOLUTION", PELLET_FACT_RESOLUTION},
    {"SPECTRALRESOLUTION", PELLET_FACT_RESOLUTION},
    {"NOMINALRESOLUTION", PELLET_FACT_RESOLUTION},
    {"AUFLOSUNG", PELLET_FACT_RESOLUTION},
    {"AUFLOESUNG", PELLET_FACT_RESOLUTION},
    {"SCANS", PELLET_FACT_SCANS},
    {"SCANNUMBER", PELLET_FACT_SCANS},
    {"NUMBEROFSCANS", PELLET_FACT_SCANS},
    {"NOMBREDESCANS", PELLET_FACT_SCANS},
    {"NUMBEROFSAMPLESCANS", PELLET_FACT_SCANS},
    {"SAMPLESCANS", PELLET_FACT_SCANS},
    {"NOOFSCANS", PELLET_FACT_SCANS},
    {"COADDEDSCANS", PELLET_FACT_SCANS},
    {"COADDITIONS", PELLET_FACT_SCANS},
    {"ACCUMULATIONS", PELLET_FACT_SCANS},
    {"AVERAGES", PELLET_FACT_SCANS},
    {"ANZAHLSCANS", PELLET_FACT_SCANS},
    {"GAIN", PELLET_FACT_GAIN},
    {"SAMPLEGAIN", PELLET_FACT_GAIN},
    {"DETECTORGAIN", PELLET_FACT_GAIN},
    {"APERTURE", PELLET_FACT_APERTURE},
    {"APERTURESIZE", PELLET_FACT_APERTURE},
    {"BLENDE", PELLET_FACT_APERTURE},
    {"APODISATION", PELLET_FACT_APODISATION},
    {"APODIZATION", PELLET_FACT_APODISATION},
    {"APODISATIONFUNCTION", PELLET_FACT_APODISATION},
    {"APODIZATIONFUNCTION", PELLET_FACT_APODISATION},
    {"DETECTOR", PELLET_FACT_DETECTOR},
    {"DETECTORTYPE", PELLET_FACT_DETECTOR},
    {"DETEKTOR", PELLET_FACT_DETECTOR},
    {"DETECTEUR", PELLET_FACT_DETECTOR},
    {"INSTRUMENT", PELLET_FACT_INSTRUMENT},
    {"SPECTROMETER", PELLET_FACT_INSTRUMENT},
    {"SPECTROMETERDATASYSTEM", PELLET_FACT_INSTRUMENT}, /* JCAMP-DX */
    {"SPEKTROMETER", PELLET_FACT_INSTRUMENT},
    {"TITLE", PELLET_FACT_TITLE},
    {"SAMPLE", PELLET_FACT_TITLE},
    {"SAMPLENAME", PELLET_FACT_TITLE},
    {"SAMPLEID", PELLET_FACT_TITLE},
    {"NAME", PELLET_FACT_TITLE},
    {"PROBE", PELLET_FACT_TITLE},
    {"PROBENNAME", PELLET_FACT_TITLE},
    {"ECHANTILLON", PELLET_FACT_TITLE},
    {"TITEL", PELLET_FACT_TITLE},
    {"TITRE", PELLET_FACT_TITLE},
    {"LONGDATE", PELLET_FACT_LONGDATE}, /* JCAMP-DX 5 */
    {"DATETIME", PELLET_FACT_LONGDATE},
    {"DATEANDTIME", PELLET_FACT_LONGDATE},
    {"DATEOFMEASUREMENT", PELLET_FACT_LONGDATE},
    {"MEASURED", PELLET_FACT_LONGDATE},
    {"MEASUREDAT", PELLET_FACT_LONGDATE},
    {"ACQUIRED", PELLET_FACT_LONGDATE},
    {"COLLECTED", PELLET_FACT_LONGDATE},
    {"TIMESTAMP", PELLET_FACT_LONGDATE},
    {"DATE", PELLET_FACT_DATE},
    {"MEASUREMENTDATE", PELLET_FACT_DATE},
    {"SCANDATE", PELLET_FACT_DATE},
    {"DATUM", PELLET_FACT_DATE},
    {"TIME", PELLET_FACT_TIME},
    {"MEASUREMENTTIME", PELLET_FACT_TIME},
    {"TIMEOFDAY", PELLET_FACT_TIME},
    {"UHRZEIT", PELLET_FACT_TIME},
    {"HEURE", PELLET_FACT_TIME},
    {"XUNITS", PELLET_FACT_XUNITS},
    {"XUNIT", PELLET_FACT_XUNITS},
    {"XAXIS", PELLET_FACT_XUNITS},
    {"XACHSE", PELLET_FACT_XUNITS},
    {"XLABEL", PELLET_FACT_XUNITS},
    {"ABSCISSA", PELLET_FACT_XUNITS},
    {"YUNITS", PELLET_FACT_YUNITS},
    {"YUNIT", PELLET_FACT_YUNITS},
    {"YAXIS", PELLET_FACT_YUNITS},
    {"YACHSE", PELLET_FACT_YUNITS},
    {"YLABEL", PELLET_FACT_YUNITS},
    {"ORDINATE", PELLET_FACT_YUNITS},
};

/* The letter below an accent, for U+00C0 to U+00FF, which are C3 80 to C3 BF in UTF-8. */
static const char base_letter[] = "AAAAAAACEEEEIIIIDNOOOOO OUUUUYTSAAAAAAACEEEEIIIIDNOOOOO OUUUUYTY";

/* One character of a label in ASCII, a letter as a capital without its accent; 0 for what has no such form.
 * Moves *at on. */
static char plain_char(const char **at, const char *end)
{
    const unsigned char c = (unsigned char)*(*at)++;
    if (c < 0x80)
        return (char)toupper(c);
    if (c != 0xC3 || *at == end)
        return 0;
    const unsigned char second = (unsigned char)*(*at)++;
    return second >= 0x80 && second <= 0xBF ? base_letter[second - 0x80] : 0;
}

static bool is_word_char(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '%';
}

void pellet_word_normalise(const char *label, size_t n, char *out, size_t size)
{
    size_t length = 0;
    int depth = 0;
    for (const char *at = label, *end = label + n; at < end && length + 1 < size;) {
        const char c = plain_char(&at, end);
        if (c == '(' || c == '[')
            depth++;
        else if ((c == ')' || c == ']') && depth > 0)
            depth--;
        else if (depth == 0 && is_word_char(c))
            out[length++] = c;
    }
    out[length] = 0;
}

enum pellet_fact pellet_fact_word(const char *key, size_t n)
{
    char word[WORD_MAX];
    pellet_word_normalise(key, n, word, sizeof word);
    for (size_t i = 0; i < sizeof fact_words / sizeof *fact_words; i++)
        if (strcmp(word, fact_words[i].key) == 0)
            return fact_words[i].fact;
    return PELLET_FACT_COUNT;
}

/* ---------------------------------------------------------------- ordinates */

/* The first row that fits decides, so what turns an absorbance into something else comes first. */
static const struct {
    const char *word;
    enum match match;
    enum pellet_ordinate ordinate;
} ordinate_words[] = {
    {"DERIVATIVE", PART, PELLET_ORDINATE_OTHER},
    {"REFLECT", PART, PELLET_ORDINATE_OTHER},
    {"REFLEXION", PART, PELLET_ORDINATE_OTHER},
    {"KUBELKA", PART, PELLET_ORDINATE_OTHER},
    {"LOG1R", PART, PELLET_ORDINATE_OTHER},
    {"INTERFEROGRAM", PART, PELLET_ORDINATE_OTHER},
    {"PHOTOACOUSTIC", PART, PELLET_ORDINATE_OTHER},
    {"EMISSI", PART, PELLET_ORDINATE_OTHER},
    {"EMITTANCE", PART, PELLET_ORDINATE_OTHER},
    {"RAMAN", PART, PELLET_ORDINATE_OTHER},
    {"COUNTS", PART, PELLET_ORDINATE_OTHER},
    {"ABSORPTIVITY", PART, PELLET_ORDINATE_OTHER},
    {"CROSSSECTION", PART, PELLET_ORDINATE_OTHER},
    {"SINGLEBEAM", PART, PELLET_ORDINATE_SINGLE_BEAM},
    {"EINKANAL", PART, PELLET_ORDINATE_SINGLE_BEAM},
    {"MONOFAISCEAU", PART, PELLET_ORDINATE_SINGLE_BEAM},
    {"TRANSMITT", PART, PELLET_ORDINATE_TRANSMITTANCE},
    {"TRANSMISSION", PART, PELLET_ORDINATE_TRANSMITTANCE},
    {"%T", PART, PELLET_ORDINATE_TRANSMITTANCE},
    {"T%", WHOLE, PELLET_ORDINATE_TRANSMITTANCE},
    {"T", WHOLE, PELLET_ORDINATE_TRANSMITTANCE},
    {"ABSORBANCE", PART, PELLET_ORDINATE_ABSORBANCE},
    {"ABSORBANZ", PART, PELLET_ORDINATE_ABSORBANCE},
    {"EXTINKTION", PART, PELLET_ORDINATE_ABSORBANCE},
    {"OPTICALDENSITY", PART, PELLET_ORDINATE_ABSORBANCE},
    {"LOG1T", PART, PELLET_ORDINATE_ABSORBANCE},
    {"ABS", WHOLE, PELLET_ORDINATE_ABSORBANCE},
    {"A", WHOLE, PELLET_ORDINATE_ABSORBANCE},
};

/* Capitals, digits and % of the whole label, brackets included: "(%) T" and "log(1/R)" need theirs. */
static void normalise_all(const char *label, size_t n, char *out, size_t size)
{
    size_t length = 0;
    for (const char *at = label, *end = label + n; at < end && length + 1 < size;) {
        const char c = plain_char(&at, end);
        if (is_word_char(c))
            out[length++] = c;
    }
    out[length] = 0;
}

enum pellet_ordinate pellet_ordinate_word(const char *label, size_t n, enum pellet_scale *scale)
{
    char word[WORD_MAX];
    normalise_all(label, n, word, sizeof word);
    for (size_t i = 0; i < sizeof ordinate_words / sizeof *ordinate_words; i++) {
        const bool fits = ordinate_words[i].match == WHOLE ? strcmp(word, ordinate_words[i].word) == 0
                                                           : strstr(word, ordinate_words[i].word) != NULL;
        if (!fits)
            continue;
        const bool percent = strchr(word, '%') || strstr(word, "PERCENT") || strstr(word, "PROZENT");
        *scale = percent ? PELLET_SCALE_PERCENT : PELLET_SCALE_UNKNOWN;
        return ordinate_words[i].ordinate;
    }
    *scale = PELLET_SCALE_UNKNOWN;
    return PELLET_ORDINATE_UNKNOWN;
}

/* ---------------------------------------------------------------- abscissas */

static const struct {
    const char *word;
    enum match match; /* against one token of the label */
    enum pellet_abscissa abscissa;
} abscissa_words[] = {
    {"RAMAN", PART, PELLET_ABSCISSA_OTHER},
    {"SHIFT", PART, PELLET_ABSCISSA_OTHER},
    {"M/Z", WHOLE, PELLET_ABSCISSA_OTHER},
    {"PPM", WHOLE, PELLET_ABSCISSA_OTHER},
    {"HZ", WHOLE, PELLET_ABSCISSA_OTHER},
    {"KHZ", WHOLE, PELLET_ABSCISSA_OTHER},
    {"MHZ", WHOLE, PELLET_ABSCISSA_OTHER},
    {"GHZ", WHOLE, PELLET_ABSCISSA_OTHER},
    {"THZ", WHOLE, PELLET_ABSCISSA_OTHER},
    {"EV", WHOLE, PELLET_ABSCISSA_OTHER},
    {"SECONDS", PART, PELLET_ABSCISSA_OTHER},
    {"TIME", WHOLE, PELLET_ABSCISSA_OTHER},
    {"2THETA", WHOLE, PELLET_ABSCISSA_OTHER},
    {"MASS", WHOLE, PELLET_ABSCISSA_OTHER},
    {"CM-1", WHOLE, PELLET_ABSCISSA_WAVENUMBER},
    {"1/CM", WHOLE, PELLET_ABSCISSA_WAVENUMBER},
    {"CM1", WHOLE, PELLET_ABSCISSA_WAVENUMBER},
    {"WAVENUMBER", PART, PELLET_ABSCISSA_WAVENUMBER},
    {"WELLENZAHL", PART, PELLET_ABSCISSA_WAVENUMBER},
    {"UM", WHOLE, PELLET_ABSCISSA_MICROMETRE},
    {"MICROMET", PART, PELLET_ABSCISSA_MICROMETRE},
    {"MICRON", PART, PELLET_ABSCISSA_MICROMETRE},
    {"NM", WHOLE, PELLET_ABSCISSA_NANOMETRE},
    {"NANOMET", PART, PELLET_ABSCISSA_NANOMETRE},
    {"WAVELENGTH", PART, PELLET_ABSCISSA_WAVELENGTH},
    {"WELLENLAENGE", PART, PELLET_ABSCISSA_WAVELENGTH},
    {"WELLENLANGE", PART, PELLET_ABSCISSA_WAVELENGTH},
    {"LONGUEUR", PART, PELLET_ABSCISSA_WAVELENGTH},
};

/* Signs that units are written with beyond ASCII, and what they stand for here. */
static const struct {
    const char *utf8, *ascii;
} unit_signs[] = {
    {"\xC2\xB5", "U"},     /* micro sign */
    {"\xCE\xBC", "U"},     /* Greek mu */
    {"\xE2\x81\xBB", "-"}, /* superscript minus */
    {"\xE2\x88\x92", "-"}, /* minus */
    {"\xE2\x80\x93", "-"}, /* en dash */
    {"\xC2\xB9", "1"},     /* superscript one */
};

/* One character of a label as upper-case ASCII; 0 where it separates tokens. Moves *at on. */
static char unit_char(const char **at, const char *end)
{
    for (size_t i = 0; i < sizeof unit_signs / sizeof *unit_signs; i++) {
        const size_t n = strlen(unit_signs[i].utf8);
        if ((size_t)(end - *at) >= n && memcmp(*at, unit_signs[i].utf8, n) == 0) {
            *at += n;
            return unit_signs[i].ascii[0];
        }
    }
    const char c = plain_char(at, end);
    return (is_word_char(c) && c != '%') || c == '-' || c == '/' ? c : 0;
}

/* The label as tokens with one blank between; '^' joins, as in cm^-1. */
static void tokenise(const char *label, size_t n, char *out, size_t size)
{
    size_t length = 0;
    for (const char *at = label, *end = label + n; at < end && length + 2 < size;) {
        if (*at == '^' || *at == '*') {
            at++;
            continue;
        }
        const char c = unit_char(&at, end);
        if (c)
            out[length++] = c;
        else if (length > 0 && out[length - 1] != ' ')
            out[length++] = ' ';
    }
    out[length] = 0;
}

static enum pellet_abscissa abscissa_token(const char *token)
{
    for (size_t i = 0; i < sizeof abscissa_words / sizeof *abscissa_words; i++) {
        const char *word = abscissa_words[i].word;
        if (abscissa_words[i].match == WHOLE ? strcmp(token, word) == 0 : strstr(token, word) != NULL)
            return abscissa_words[i].abscissa;
    }
    return PELLET_ABSCISSA_UNKNOWN;
}

/* A unit beats the bare word wavelength, and what is not infrared beats both: "Raman shift (cm-1)". */
static enum pellet_abscissa stronger(enum pellet_abscissa a, enum pellet_abscissa b)
{
    static const int rank[] = {
        [PELLET_ABSCISSA_UNKNOWN] = 0,    [PELLET_ABSCISSA_WAVELENGTH] = 1, [PELLET_ABSCISSA_WAVENUMBER] = 2,
        [PELLET_ABSCISSA_MICROMETRE] = 2, [PELLET_ABSCISSA_NANOMETRE] = 2,  [PELLET_ABSCISSA_OTHER] = 3,
    };
    return rank[b] > rank[a] ? b : a;
}

enum pellet_abscissa pellet_abscissa_word(const char *label, size_t n)
{
    char tokens[WORD_MAX];
    enum pellet_abscissa found = PELLET_ABSCISSA_UNKNOWN;
    char *rest = NULL;
    tokenise(label, n, tokens, sizeof tokens);
    for (char *token = strtok_r(tokens, " ", &rest); token; token = strtok_r(NULL, " ", &rest)) {
        const char *unit =
            strncmp(token, "1/", 2) == 0 || strcmp(token, "M/Z") == 0 ? NULL : strchr(token, '/');
        found = stronger(found, abscissa_token(token));
        if (unit) /* "wavenumber/cm-1": quantity over unit */
            found = stronger(found, abscissa_token(unit + 1));
    }
    return found;
}
