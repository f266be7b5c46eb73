// SPDX-License-Identifier: GPL-3.0-or-later
/* The blocks of a JCAMP-DX file, and what each is. */
#include "spectrum/jcamp.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEPTH_MAX 8 /* of blocks in blocks */

static const char *const label_name[PELLET_LABEL_COUNT] = {
#define PELLET_LABEL_NAME(name) [PELLET_LABEL_##name] = #name,
    PELLET_LABEL_LIST(PELLET_LABEL_NAME)
#undef PELLET_LABEL_NAME
};

static enum pellet_label label_of(const struct pellet_record *record)
{
    for (int i = 0; i < PELLET_LABEL_COUNT; i++)
        if (strcmp(record->label, label_name[i]) == 0)
            return (enum pellet_label)i;
    return PELLET_LABEL_COUNT;
}

/* ---------------------------------------------------------------- finding blocks */

/* Labels of which a second one makes the block say two things at once. */
static bool is_unique(enum pellet_label label)
{
    static const bool unique[PELLET_LABEL_COUNT] = {
        [PELLET_LABEL_XFACTOR] = true,  [PELLET_LABEL_YFACTOR] = true, [PELLET_LABEL_FIRSTX] = true,
        [PELLET_LABEL_LASTX] = true,    [PELLET_LABEL_NPOINTS] = true, [PELLET_LABEL_XYDATA] = true,
        [PELLET_LABEL_XYPOINTS] = true,
    };
    return unique[label];
}

/* A label stated twice with one value says the same; a second table never does. */
static bool same_value(const struct pellet_record *a, const struct pellet_record *b)
{
    char text_a[PELLET_JCAMP_TEXT_MAX], text_b[PELLET_JCAMP_TEXT_MAX];
    if (a->label[0] == 'X' && a->label[1] == 'Y')
        return false;
    pellet_record_text(a, text_a);
    pellet_record_text(b, text_b);
    return strcmp(text_a, text_b) == 0;
}

static pellet_status block_add(struct pellet_block *block, const struct pellet_record *record,
                               struct pellet_error *error)
{
    if (block->n == block->capacity) {
        const size_t capacity = block->capacity ? 2 * block->capacity : 32;
        const struct pellet_record **grown = realloc(block->record, capacity * sizeof *grown);
        if (!grown)
            return pellet_fail(error, PELLET_E_MEMORY, "no memory for %zu labels", capacity);
        block->record = grown;
        block->capacity = capacity;
    }
    block->record[block->n++] = record;
    const enum pellet_label label = label_of(record);
    if (label == PELLET_LABEL_COUNT)
        return PELLET_OK;
    if (!block->known[label])
        block->known[label] = record;
    else if (is_unique(label) && !block->repeated && !same_value(record, block->known[label]))
        block->repeated = record;
    return PELLET_OK;
}

/* The blocks while they are found, and which of them are still open. */
struct finder {
    struct pellet_blocks blocks;
    size_t capacity;
    size_t open[DEPTH_MAX], depth;
    struct pellet_error *error;
};

static pellet_status open_block(struct finder *finder, const struct pellet_record *title)
{
    if (finder->depth == DEPTH_MAX)
        return pellet_fail_at(finder->error, PELLET_E_LIMIT, title->line, 0,
                              "more than %d blocks without ##END=; the file is damaged", DEPTH_MAX);
    if (finder->blocks.n == finder->capacity) {
        const size_t capacity = finder->capacity ? 2 * finder->capacity : 4;
        struct pellet_block *grown = realloc(finder->blocks.item, capacity * sizeof *grown);
        if (!grown)
            return pellet_fail(finder->error, PELLET_E_MEMORY, "no memory for %zu blocks", capacity);
        finder->blocks.item = grown;
        finder->capacity = capacity;
    }
    finder->open[finder->depth++] = finder->blocks.n;
    finder->blocks.item[finder->blocks.n++] = (struct pellet_block){.line = title->line};
    return PELLET_OK;
}

static pellet_status find_record(struct finder *finder, const struct pellet_record *record)
{
    const enum pellet_label label = label_of(record);
    pellet_status status = PELLET_OK;
    if (label == PELLET_LABEL_TITLE)
        status = open_block(finder, record);
    if (status != PELLET_OK)
        return status;
    if (finder->depth == 0)
        return pellet_fail_at(finder->error, PELLET_E_FORMAT, record->line, 0,
                              "a label outside ##TITLE= ... ##END=; the file is damaged: export it again");
    struct pellet_block *block = &finder->blocks.item[finder->open[finder->depth - 1]];
    if (label != PELLET_LABEL_END)
        return block_add(block, record, finder->error);
    block->ended = true;
    finder->depth--;
    return PELLET_OK;
}

pellet_status pellet_blocks_find(const struct pellet_records *records, struct pellet_blocks *blocks,
                                 struct pellet_error *error)
{
    struct finder finder = {.error = error};
    pellet_status status = PELLET_OK;
    for (size_t i = 0; i < records->n && status == PELLET_OK; i++)
        status = find_record(&finder, &records->item[i]);
    if (status != PELLET_OK) {
        pellet_blocks_clear(&finder.blocks);
        return status;
    }
    *blocks = finder.blocks;
    return PELLET_OK;
}

void pellet_blocks_clear(struct pellet_blocks *blocks)
{
    for (size_t i = 0; i < blocks->n; i++)
        free(blocks->item[i].record);
    free(blocks->item);
    *blocks = (struct pellet_blocks){0};
}

/* ---------------------------------------------------------------- what a block is */

/* A record's value in capitals, blanks and dashes left out; "" where there is no such record. */
static void squeezed(const struct pellet_block *block, enum pellet_label label,
                     char out[PELLET_JCAMP_TEXT_MAX])
{
    char text[PELLET_JCAMP_TEXT_MAX] = "";
    if (block->known[label])
        pellet_record_text(block->known[label], text);
    pellet_word_normalise(text, strlen(text), out, PELLET_JCAMP_TEXT_MAX);
}

bool pellet_block_is_link(const struct pellet_block *block)
{
    char type[PELLET_JCAMP_TEXT_MAX];
    squeezed(block, PELLET_LABEL_DATATYPE, type);
    return strcmp(type, "LINK") == 0;
}

void pellet_blocks_fault(const struct pellet_blocks *blocks, char fault[PELLET_JCAMP_TEXT_MAX])
{
    char stated[PELLET_JCAMP_TEXT_MAX] = "";
    size_t links = 0;
    fault[0] = 0;
    for (size_t i = 0; i < blocks->n; i++)
        links += pellet_block_is_link(&blocks->item[i]) ? 1 : 0;
    for (size_t i = 0; i < blocks->n; i++) {
        const struct pellet_block *block = &blocks->item[i];
        if (!pellet_block_is_link(block))
            continue;
        if (!block->ended) {
            snprintf(fault, PELLET_JCAMP_TEXT_MAX,
                     "no ##END= of the compound file that begins in line %zu: the file may be cut short and "
                     "blocks be missing",
                     block->line);
            return;
        }
        if (links > 1 ||
            !block->known[PELLET_LABEL_BLOCKS]) /* which blocks a nested header counts is not told */
            continue;
        pellet_record_text(block->known[PELLET_LABEL_BLOCKS], stated);
        const unsigned long count = strtoul(stated, NULL, 10);
        if (count != blocks->n && count != blocks->n - links)
            snprintf(fault, PELLET_JCAMP_TEXT_MAX, "##BLOCKS=%.20s, but the file holds %zu", stated,
                     blocks->n - links);
    }
}

/* Without a DATA TYPE the units decide: 1/CM with transmittance or absorbance is nothing but infrared. */
static bool units_are_infrared(const struct pellet_block *block)
{
    char text[PELLET_JCAMP_TEXT_MAX] = "";
    enum pellet_scale scale;
    if (!block->known[PELLET_LABEL_XUNITS] || !block->known[PELLET_LABEL_YUNITS])
        return false;
    pellet_record_text(block->known[PELLET_LABEL_XUNITS], text);
    const bool wavenumber = pellet_abscissa_word(text, strlen(text)) == PELLET_ABSCISSA_WAVENUMBER;
    pellet_record_text(block->known[PELLET_LABEL_YUNITS], text);
    const enum pellet_ordinate ordinate = pellet_ordinate_word(text, strlen(text), &scale);
    return wavenumber &&
           (ordinate == PELLET_ORDINATE_TRANSMITTANCE || ordinate == PELLET_ORDINATE_ABSORBANCE);
}

static bool is_infrared_type(const char *type)
{
    static const char *const names[] = {"INFRARED", "FTIR", "IRSPECTRUM"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *at = strstr(type, names[i]);
        if (at && strcmp(names[i], "IRSPECTRUM") == 0 ? at == type : at != NULL)
            return true;
    }
    return strcmp(type, "IR") == 0;
}

void pellet_block_refusal(const struct pellet_block *block, char reason[PELLET_JCAMP_TEXT_MAX])
{
    char type[PELLET_JCAMP_TEXT_MAX], class[PELLET_JCAMP_TEXT_MAX], written[PELLET_JCAMP_TEXT_MAX] = "";
    squeezed(block, PELLET_LABEL_DATATYPE, type);
    squeezed(block, PELLET_LABEL_DATACLASS, class);
    if (block->known[PELLET_LABEL_DATATYPE])
        pellet_record_text(block->known[PELLET_LABEL_DATATYPE], written);
    reason[0] = 0;
    const bool pairs_of_peaks =
        block->known[PELLET_LABEL_PEAKTABLE] || block->known[PELLET_LABEL_PEAKASSIGNMENTS];
    if (type[0] && !is_infrared_type(type))
        snprintf(reason, PELLET_JCAMP_TEXT_MAX, "DATA TYPE is '%.60s', not an infrared spectrum", written);
    else if (block->known[PELLET_LABEL_NTUPLES] || strstr(class, "NTUPLES"))
        snprintf(reason, PELLET_JCAMP_TEXT_MAX, "NTUPLES: several ordinates, not one spectrum");
    else if (pairs_of_peaks || strstr(type, "PEAK") || strstr(class, "PEAK"))
        snprintf(reason, PELLET_JCAMP_TEXT_MAX, "a peak table, not a spectrum");
    else if (strstr(type, "INTERFEROGRAM"))
        snprintf(reason, PELLET_JCAMP_TEXT_MAX, "an interferogram, not a spectrum");
    else if (!type[0] && !units_are_infrared(block))
        snprintf(reason, PELLET_JCAMP_TEXT_MAX,
                 "no DATA TYPE, and units that are not those of an infrared spectrum");
}
