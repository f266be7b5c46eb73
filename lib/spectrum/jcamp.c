// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra from JCAMP-DX: all infrared blocks of a file. */
#include "spectrum/jcamp.h"

#include "spectrum/encoding.h"

#include <stdlib.h>
#include <string.h>

/* What every spectrum of a compound file must say about the file. */
struct left_out {
    size_t n;                           /* blocks that are no infrared spectra */
    size_t line;                        /* of the first */
    char reason[PELLET_JCAMP_TEXT_MAX]; /* why the first is none */
    char fault[PELLET_JCAMP_TEXT_MAX];  /* of the compound file itself; "" where it is whole */
};

static pellet_status read_block(const struct pellet_block *block, const struct left_out *left_out,
                                const struct pellet_read_options *options, struct pellet_spectrum *spectrum,
                                struct pellet_error *error)
{
    struct pellet_draft draft = {0};
    pellet_status status = pellet_block_decode(block, options, &draft, error);
    if (status == PELLET_OK && left_out->n > 0)
        pellet_draft_warn(&draft, "%zu other blocks of the file are not read (line %zu: %.200s)", left_out->n,
                          left_out->line, left_out->reason);
    if (status == PELLET_OK && left_out->fault[0])
        pellet_draft_warn(&draft, "%s", left_out->fault);
    if (status == PELLET_OK)
        status = pellet_draft_finish(&draft, options, spectrum, error);
    if (status != PELLET_OK && error && error->line == 0)
        error->line = block->line;
    pellet_draft_clear(&draft);
    return status;
}

static struct left_out find_left_out(const struct pellet_blocks *blocks)
{
    struct left_out left_out = {0};
    pellet_blocks_fault(blocks, left_out.fault);
    char reason[PELLET_JCAMP_TEXT_MAX];
    for (size_t i = 0; i < blocks->n; i++) {
        if (pellet_block_is_link(&blocks->item[i]))
            continue;
        pellet_block_refusal(&blocks->item[i], reason);
        if (reason[0] == 0 || left_out.n++ > 0)
            continue;
        left_out.line = blocks->item[i].line;
        memcpy(left_out.reason, reason, sizeof reason);
    }
    return left_out;
}

static pellet_status read_blocks(const struct pellet_blocks *blocks,
                                 const struct pellet_read_options *options, struct pellet_spectra *spectra,
                                 struct pellet_error *error)
{
    const struct left_out left_out = find_left_out(blocks);
    struct pellet_spectra out = {.item = calloc(blocks->n, sizeof *out.item)};
    char reason[PELLET_JCAMP_TEXT_MAX];
    pellet_status status =
        out.item ? PELLET_OK : pellet_fail(error, PELLET_E_MEMORY, "no memory for the blocks");
    for (size_t i = 0; i < blocks->n && status == PELLET_OK; i++) {
        if (pellet_block_is_link(&blocks->item[i]))
            continue;
        pellet_block_refusal(&blocks->item[i], reason);
        if (reason[0])
            continue;
        status = read_block(&blocks->item[i], &left_out, options, &out.item[out.n], error);
        out.n += status == PELLET_OK;
    }
    if (status == PELLET_OK && out.n == 0)
        status = pellet_fail_at(error, PELLET_E_FORMAT, left_out.n ? left_out.line : 1, 0,
                                "%.300s; an infrared spectrum is needed",
                                left_out.n ? left_out.reason : "a compound file without blocks");
    if (status != PELLET_OK) {
        pellet_spectra_clear(&out);
        return status;
    }
    *spectra = out;
    return PELLET_OK;
}

pellet_status pellet_jcamp_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                                struct pellet_spectra *spectra, struct pellet_error *error)
{
    const struct pellet_read_options filled = pellet_read_options_filled(options);
    struct pellet_decoded text = {0};
    struct pellet_records records = {0};
    struct pellet_blocks blocks = {0};
    if (n > filled.bytes_max)
        return pellet_fail(error, PELLET_E_LIMIT, "%zu bytes, at most %ju are allowed", n,
                           (uintmax_t)filled.bytes_max);
    pellet_status status = pellet_text_decode(bytes, n, &text, error);
    if (status == PELLET_OK)
        status = pellet_records_read(text.bytes, text.n, filled.line_max, &records, error);
    if (status == PELLET_OK)
        status = pellet_blocks_find(&records, &blocks, error);
    if (status == PELLET_OK)
        status = read_blocks(&blocks, &filled, spectra, error);
    pellet_blocks_clear(&blocks);
    pellet_records_clear(&records);
    pellet_decoded_free(&text);
    return status;
}
