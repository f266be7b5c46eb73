// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Reading speed on one file of CSV: our reader, and beside it libcsv with strtod and nothing else; then the
 * same spectrum as JCAMP-DX, and numbers alone. Processor time, best of several rounds.
 *
 *     read_speed make FILE POINTS   write such a file
 *     read_speed run FILE           read it
 */
#include "pellet/spectrum.h"

#include "spectrum/number.h"

#include <csv.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#define ROUNDS 5

struct bytes {
    char *data;
    size_t n;
};

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
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

static int make(const char *path, long points)
{
    FILE *file = open_or_exit(path, "w");
    for (long i = 0; i < points; i++)
        fprintf(file, "%.6e,%.6e\n", 400 + 3600.0 * (double)i / (double)points,
                0.4 + 0.3 * sin((double)i / 1000));
    return fclose(file) == 0 ? 0 : 3;
}

static struct bytes load(const char *path)
{
    struct bytes bytes = {0};
    FILE *file = open_or_exit(path, "rb");
    fseek(file, 0, SEEK_END);
    bytes.n = (size_t)ftell(file);
    rewind(file);
    bytes.data = malloc(bytes.n);
    if (!bytes.data || fread(bytes.data, 1, bytes.n, file) != bytes.n)
        exit(3);
    fclose(file);
    return bytes;
}

/* The most memory the program has had, in MB. */
static double memory(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss * 1024 / 1e6;
}

static struct pellet_spectra spectra_of(struct bytes bytes)
{
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    const struct pellet_read_options options = {
        .ordinate = PELLET_ORDINATE_ABSORBANCE, .bytes_max = UINT64_C(1) << 40, .points_max = 100000000};
    if (pellet_spectra_read(bytes.data, bytes.n, &options, &spectra, &error) != PELLET_OK) {
        fprintf(stderr, "line %zu: %s\n", error.line, error.message);
        exit(1);
    }
    return spectra;
}

static size_t read_ours(struct bytes bytes)
{
    struct pellet_spectra spectra = spectra_of(bytes);
    const size_t n = spectra.item->n;
    pellet_spectra_clear(&spectra);
    return n;
}

struct plain {
    double *value;
    size_t n, capacity;
};

static void on_cell(void *text, size_t n, void *data)
{
    struct plain *plain = data;
    (void)n;
    if (plain->n == plain->capacity) {
        plain->capacity = plain->capacity ? 2 * plain->capacity : 1024;
        plain->value = realloc(plain->value, plain->capacity * sizeof *plain->value);
        if (!plain->value)
            exit(3);
    }
    plain->value[plain->n++] = strtod(text, NULL);
}

static size_t read_plain(struct bytes bytes)
{
    struct plain plain = {0};
    struct csv_parser parser;
    csv_init(&parser, CSV_APPEND_NULL);
    csv_parse(&parser, bytes.data, bytes.n, on_cell, NULL, &plain);
    csv_fini(&parser, on_cell, NULL, &plain);
    csv_free(&parser);
    free(plain.value);
    return plain.n / 2;
}

/* ---------------------------------------------------------------- numbers alone */

static double value_of_scan(const char *cell, size_t n)
{
    double value = 0;
    pellet_number_whole(cell, n, '.', &value);
    return value;
}

static double value_of_parse(const char *cell, size_t n)
{
    double value = 0;
    pellet_number_parse(cell, n, '.', &value);
    return value;
}

static double value_of_strtod(const char *cell, size_t n)
{
    (void)n; /* the delimiter behind the cell ends the number */
    return strtod(cell, NULL);
}

static void time_numbers(const char *name, double (*value_of)(const char *, size_t), struct bytes bytes)
{
    double best = INFINITY, sum = 0;
    size_t count = 0;
    for (int i = 0; i < ROUNDS; i++) {
        const double begin = now();
        count = 0;
        for (const char *at = bytes.data, *end = at + bytes.n; at < end; count++) {
            size_t n = 0;
            while (at + n < end && at[n] != ',' && at[n] != '\n')
                n++;
            sum += value_of(at, n);
            at += n + 1;
        }
        best = fmin(best, now() - begin);
    }
    printf("%-19s %.3f s  %6.1f ns each (sum %.6g)\n", name, best, 1e9 * best / (double)count, sum);
}

static double best_of(size_t (*read)(struct bytes), struct bytes bytes, size_t *points)
{
    double best = INFINITY;
    for (int i = 0; i < ROUNDS; i++) {
        const double begin = now();
        *points = read(bytes);
        best = fmin(best, now() - begin);
    }
    return best;
}

/* The spectrum of the file once more, as JCAMP-DX of this project's own writing. */
static void time_jcamp(struct bytes csv)
{
    struct pellet_spectra spectra = spectra_of(csv);
    struct pellet_text text = {0};
    size_t points;
    if (pellet_jcamp_write(spectra.item, "bench", &text, NULL) != PELLET_OK)
        exit(1);
    const struct bytes bytes = {text.data, text.length};
    const double seconds = best_of(read_ours, bytes, &points), megabytes = (double)bytes.n / 1e6;
    printf("our JCAMP-DX reader %.3f s  %6.1f MB/s   %zu points, AFFN, %.1f MB\n", seconds,
           megabytes / seconds, points, megabytes);
    pellet_text_free(&text);
    pellet_spectra_clear(&spectra);
}

static int run(const char *path)
{
    struct bytes bytes = load(path);
    size_t points;
    const double megabytes = (double)bytes.n / 1e6, before = memory();
    read_ours(bytes);
    const double taken = memory() - before;
    const double ours = best_of(read_ours, bytes, &points);
    const double plain = best_of(read_plain, bytes, &points);
    printf("%zu points, %.1f MB; reading took %.1f MB of memory beside the file\n", points, megabytes, taken);
    printf("our reader          %.3f s  %6.1f MB/s\n", ours, megabytes / ours);
    printf("libcsv and strtod   %.3f s  %6.1f MB/s   ours is %.2f times as fast\n", plain, megabytes / plain,
           plain / ours);
    time_jcamp(bytes);
    time_numbers("our numbers", value_of_scan, bytes);
    time_numbers("strtod", value_of_strtod, bytes);
    time_numbers("pellet_number_parse", value_of_parse, bytes);
    free(bytes.data);
    return 0;
}

int main(int count, char **argument)
{
    if (count == 4 && strcmp(argument[1], "make") == 0)
        return make(argument[2], atol(argument[3]));
    if (count == 3 && strcmp(argument[1], "run") == 0)
        return run(argument[2]);
    fprintf(stderr, "usage: read_speed make FILE POINTS | run FILE\n");
    return 2;
}
