// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The pages of a judged folder, for a browser to look at: pages_make FOLDER COUNT OUT [STATE].
 *
 * Reads each FOLDER/NAME.verdict.yaml and its picture, repeats the samples under other names until there are
 * COUNT measurements of them, and writes OUT/record.html, OUT/record.csv and OUT/bench.html. STATE is open
 * (written now), stale (written an hour ago), stopped or closed.
 */
#include "pellet/report.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define FILES_MAX 1000
#define FILE_MAX  ((uint64_t)1 << 20)
/* One repeated sample after the other. */
#define REPEAT_NS (INT64_C(300) * PELLET_NS_PER_S)

struct loaded {
    size_t n;
    struct pellet_verdict verdict[FILES_MAX];
    struct pellet_bytes picture[FILES_MAX];
};

static void fail(const char *what, const char *why)
{
    fprintf(stderr, "pages_make: %s: %s\n", what, why);
    exit(3);
}

static void load(int folder, const char *name, struct loaded *all)
{
    struct pellet_bytes bytes = {0};
    struct pellet_error error = {0};
    struct pellet_text picture = {0};
    struct pellet_verdict *v = &all->verdict[all->n];

    if (pellet_read_file(folder, name, FILE_MAX, &bytes, NULL, &error) != PELLET_OK ||
        pellet_verdict_read(bytes.data, bytes.n, v, &error) != PELLET_OK)
        fail(name, error.message);
    pellet_bytes_free(&bytes);
    pellet_text_adds(&picture, "reports/pictures/");
    pellet_derived_name(v->file, ".svg", &picture);
    pellet_read_file(folder, pellet_text_string(&picture), FILE_MAX, &all->picture[all->n], NULL, &error);
    pellet_text_free(&picture);
    all->n++;
}

static void load_all(const char *path, struct loaded *all)
{
    static const char ending[] = ".verdict.yaml";
    DIR *const list = opendir(path);
    const int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

    if (list == NULL || folder < 0)
        fail(path, "cannot open the folder");
    for (const struct dirent *entry; (entry = readdir(list)) != NULL && all->n < FILES_MAX;) {
        const size_t n = strlen(entry->d_name);
        if (n > strlen(ending) && strcmp(entry->d_name + n - strlen(ending), ending) == 0)
            load(folder, entry->d_name, all);
    }
    closedir(list);
    close(folder);
}

static void write_page(const char *folder, const char *name, const struct pellet_text *text)
{
    const int place = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    struct pellet_error error = {0};

    if (place < 0 || pellet_write_atomic(place, name, text->data, text->length, &error) != PELLET_OK)
        fail(name, error.message);
    close(place);
}

/* The same measurement under another name and at another time; its texts stay those of the first. */
static struct pellet_verdict repeated(const struct pellet_verdict *v, size_t round,
                                      struct pellet_arena *arena)
{
    struct pellet_verdict made = *v;

    made.file = pellet_arena_printf(arena, "r%zu-%s", round, v->file);
    made.sample = pellet_arena_printf(arena, "r%zu-%s", round, v->sample != NULL ? v->sample : v->file);
    made.measured += (pellet_ns)round * REPEAT_NS;
    return made;
}

static void fill(const struct loaded *all, size_t wanted, struct pellet_verdict *verdict,
                 struct pellet_report_item *item, struct pellet_arena *arena, struct pellet_report *report)
{
    size_t n = 0, samples = 0;

    for (size_t round = 0; round == 0 || samples < wanted; round++) {
        const size_t before = samples;
        for (size_t i = 0; i < all->n && (round == 0 || samples < wanted); i++) {
            const bool sample = all->verdict[i].role == PELLET_SAMPLE;
            if (round > 0 && !sample)
                continue;
            verdict[n] = round == 0 ? all->verdict[i] : repeated(&all->verdict[i], round, arena);
            item[n] = (struct pellet_report_item){.verdict = &verdict[n], .svg = all->picture[i].data};
            samples += sample;
            n++;
        }
        if (samples == before)
            break;
    }
    report->item = item;
    report->item_count = n;
}

int main(int argc, char **argv)
{
    static struct loaded all;
    struct pellet_arena arena = {0};
    struct pellet_rules rules;
    struct pellet_text record = {0}, table = {0}, bench = {0};
    struct pellet_error error = {0};

    if (argc < 4) {
        fprintf(stderr, "usage: pages_make FOLDER COUNT OUT [open|stopped|closed]\n");
        return 2;
    }
    const char *const state = argc > 4 ? argv[4] : "closed";
    const size_t wanted = strtoul(argv[2], NULL, 10);
    load_all(argv[1], &all);
    struct pellet_verdict *const verdict = calloc(all.n + wanted + 1, sizeof *verdict);
    struct pellet_report_item *const item = calloc(all.n + wanted + 1, sizeof *item);
    if (verdict == NULL || item == NULL || pellet_rules_shipped("routine", &rules, &error) != PELLET_OK)
        fail("start", "no memory");
    struct pellet_report report = {.station = "bench-2",
                                   .session = all.n > 0 ? all.verdict[0].session : "none",
                                   .zone = "Europe/Berlin",
                                   .by = "pelletd",
                                   .now = (pellet_ns)time(NULL) * PELLET_NS_PER_S,
                                   .closed = strcmp(state, "closed") == 0,
                                   .stopped = strcmp(state, "stopped") == 0,
                                   .revision = 1,
                                   .rules = &rules};
    fill(&all, wanted, verdict, item, &arena, &report);
    if (pellet_report_record(&report, &record) != PELLET_OK ||
        pellet_report_table(&report, &table) != PELLET_OK ||
        pellet_report_bench(&report, &bench) != PELLET_OK)
        fail("pages", "no memory");
    write_page(argv[3], "record.html", &record);
    write_page(argv[3], "record.csv", &table);
    write_page(argv[3], "bench.html", &bench);
    pellet_text_free(&record);
    pellet_text_free(&table);
    pellet_text_free(&bench);
    for (size_t i = 0; i < all.n; i++) {
        pellet_verdict_clear(&all.verdict[i]);
        pellet_bytes_free(&all.picture[i]);
    }
    pellet_rules_clear(&rules);
    pellet_arena_free(&arena);
    free(verdict);
    free(item);
    return 0;
}
