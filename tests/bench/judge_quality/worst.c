// SPDX-License-Identifier: GPL-3.0-or-later
/* The worst misjudged cases, kept as marked spectra with a line on why below each. */
#include "bench.h"

#include "pellet/report.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct kept {
    double badness;
    size_t index;
    char why[256];
    char *about; /* bench_describe */
    struct pellet_text svg;
};

struct bench_worst {
    size_t count, n;
    struct kept item[]; /* worst first */
};

struct bench_worst *bench_worst_new(size_t count)
{
    struct bench_worst *worst = calloc(1, sizeof *worst + count * sizeof worst->item[0]);
    if (worst)
        worst->count = count;
    return worst;
}

static void kept_clear(struct kept *kept)
{
    free(kept->about);
    pellet_text_free(&kept->svg);
}

void bench_worst_free(struct bench_worst *worst)
{
    for (size_t i = 0; worst && i < worst->n; i++)
        kept_clear(&worst->item[i]);
    free(worst);
}

static char *describe(size_t index, const struct bench_case *of, const struct bench_truth *truth,
                      const struct pellet_verdict *verdict)
{
    char *text = NULL;
    size_t length = 0;
    FILE *file = open_memstream(&text, &length);
    if (!file)
        return NULL;
    bench_describe(file, index, of, truth, verdict);
    fclose(file);
    return text;
}

pellet_status bench_worst_add(struct bench_worst *worst, size_t index,
                              const struct bench_misjudged *misjudged, const struct bench_case *of,
                              const struct bench_truth *truth, const struct pellet_verdict *verdict,
                              const struct pellet_spectrum *ratio)
{
    if (!misjudged->wrong || worst->count == 0 ||
        (worst->n == worst->count && misjudged->badness <= worst->item[worst->n - 1].badness))
        return PELLET_OK;
    struct kept made = {.badness = misjudged->badness, .index = index};
    memcpy(made.why, misjudged->why, sizeof made.why);
    made.about = describe(index, of, truth, verdict);
    if (ratio->n > 0)
        (void)pellet_report_picture(ratio, NULL, verdict, &made.svg); /* without a picture the words remain */
    if (!made.about || made.svg.failed) {
        kept_clear(&made);
        return PELLET_E_MEMORY;
    }
    if (worst->n == worst->count)
        kept_clear(&worst->item[--worst->n]);
    size_t place = worst->n++;
    for (; place > 0 && worst->item[place - 1].badness < made.badness; place--)
        worst->item[place] = worst->item[place - 1];
    worst->item[place] = made;
    return PELLET_OK;
}

/* The picture with its reason under it: an SVG around the SVG. */
static void write_picture(FILE *file, const struct kept *kept)
{
    fprintf(file, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000\" height=\"640\">\n");
    fprintf(file,
            "<text x=\"10\" y=\"610\" font-family=\"sans-serif\" font-size=\"14\">case %zu: %s</text>\n",
            kept->index, kept->why);
    fprintf(file, "%s</svg>\n", pellet_text_string(&kept->svg));
}

pellet_status bench_worst_write(const struct bench_worst *worst, const char *folder, FILE *out)
{
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "judge_quality: %s: %s\n", folder, strerror(errno));
        return PELLET_E_IO;
    }
    for (size_t i = 0; i < worst->n; i++) {
        const struct kept *kept = &worst->item[i];
        char path[4096];
        fprintf(out, "worst %zu: case %zu, %s\n%s", i + 1, kept->index, kept->why, kept->about);
        snprintf(path, sizeof path, "%s/worst-%02zu.svg", folder, i + 1);
        FILE *file = fopen(path, "w");
        if (!file) {
            fprintf(stderr, "judge_quality: %s: %s\n", path, strerror(errno));
            return PELLET_E_IO;
        }
        write_picture(file, kept);
        fclose(file);
    }
    return PELLET_OK;
}
