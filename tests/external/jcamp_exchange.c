// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Random spectra out to files and back, for comparison with other programs.
 *
 *     jcamp_exchange write FOLDER COUNT    FOLDER/ours-N.jdx by pellet_jcamp_write, its numbers in ours-N.txt
 *     jcamp_exchange check FILE.jdx FILE.txt   read the first, compare with the numbers "x y" in the second
 */
#include "pellet/spectrum.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILE_MAX ((size_t)1 << 24)

static uint64_t seed = 20260304;

/* Source: G. Marsaglia, J. Stat. Softw. 8(14) (2003). */
static double uniform(void)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return (double)(seed >> 11) / 9007199254740992.0;
}

static struct pellet_spectrum random_spectrum(void)
{
    struct pellet_spectrum s = {
        .n = 60 + (size_t)(uniform() * 3000), .resolution = 4, .measured = PELLET_NO_TIME};
    const double first = 390 + 20 * uniform(), step = 0.2 + 2 * uniform();
    const double centre = first + step * (double)s.n * uniform(), height = 3 * uniform();
    s.ordinate = uniform() < 0.5 ? PELLET_ORDINATE_ABSORBANCE : PELLET_ORDINATE_TRANSMITTANCE;
    s.wavenumber = malloc(s.n * sizeof(double));
    s.y = malloc(s.n * sizeof(double));
    if (!s.wavenumber || !s.y)
        exit(3);
    for (size_t i = 0; i < s.n; i++) {
        s.wavenumber[i] = first + step * (double)i;
        const double x = (s.wavenumber[i] - centre) / 30;
        const double absorbance = height / (1 + x * x) + 0.01 * (uniform() - 0.5);
        s.y[i] = s.ordinate == PELLET_ORDINATE_ABSORBANCE ? absorbance : pow(10, -absorbance);
    }
    return s;
}

static FILE *open_or_exit(const char *path, const char *mode)
{
    FILE *file = fopen(path, mode);
    if (!file) {
        perror(path);
        exit(3);
    }
    return file;
}

static void write_one(const char *folder, int i)
{
    char path[4096];
    struct pellet_text text = {0};
    struct pellet_error error = {0};
    struct pellet_spectrum s = random_spectrum();
    if (pellet_jcamp_write(&s, "pelletd", &text, &error) != PELLET_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(1);
    }
    snprintf(path, sizeof path, "%s/ours-%d.jdx", folder, i);
    FILE *file = open_or_exit(path, "wb");
    fwrite(text.data, 1, text.length, file);
    fclose(file);
    snprintf(path, sizeof path, "%s/ours-%d.txt", folder, i);
    file = open_or_exit(path, "w");
    for (size_t k = 0; k < s.n; k++)
        fprintf(file, "%.17g %.17g\n", s.wavenumber[k], s.y[k]);
    fclose(file);
    pellet_text_free(&text);
    pellet_spectrum_clear(&s);
}

static int compare(const struct pellet_spectrum *s, const char *path)
{
    FILE *file = open_or_exit(path, "r");
    double x, y, worst_x = 0, worst_y = 0;
    size_t n = 0;
    for (; fscanf(file, "%lf %lf", &x, &y) == 2; n++) {
        if (n == s->n)
            break;
        worst_x = fmax(worst_x, fabs(s->wavenumber[n] - x));
        worst_y = fmax(worst_y, fabs(s->y[n] - y));
    }
    fclose(file);
    const int same = n == s->n && worst_x <= 1e-5 && worst_y <= 1e-6;
    if (!same)
        printf("%s: %zu points, here %zu; x off by %g, y by %g\n", path, n, s->n, worst_x, worst_y);
    return same ? 0 : 1;
}

static int check_one(const char *path, const char *numbers)
{
    char *bytes = malloc(FILE_MAX);
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    FILE *file = open_or_exit(path, "rb");
    if (!bytes)
        exit(3);
    const size_t n = fread(bytes, 1, FILE_MAX, file);
    fclose(file);
    int result = 1;
    if (pellet_spectra_read(bytes, n, NULL, &spectra, &error) != PELLET_OK)
        printf("%s: line %zu: %s\n", path, error.line, error.message);
    else
        result = compare(&spectra.item[0], numbers);
    pellet_spectra_clear(&spectra);
    free(bytes);
    return result;
}

int main(int count, char **argument)
{
    if (count == 4 && strcmp(argument[1], "write") == 0) {
        for (int i = 0; i < atoi(argument[3]); i++)
            write_one(argument[2], i);
        return 0;
    }
    if (count == 4 && strcmp(argument[1], "check") == 0)
        return check_one(argument[2], argument[3]);
    fprintf(stderr, "usage: jcamp_exchange write FOLDER COUNT | check FILE.jdx FILE.txt\n");
    return 2;
}
