// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The parts of the JCAMP-DX reader: labelled records, blocks, packed tables.
 * Source: R. S. McDonald, P. A. Wilks, Appl. Spectrosc. 42, 151 (1988) (version 4.24); P. Lampen et al.,
 * Appl. Spectrosc. 47, 1093 (1993) (version 5, from memory).
 */
#ifndef PELLET_SPECTRUM_JCAMP_H
#define PELLET_SPECTRUM_JCAMP_H

#include "spectrum/draft.h"

#define PELLET_JCAMP_LABEL_MAX 32
#define PELLET_JCAMP_TEXT_MAX  512

/* ---------------------------------------------------------------- records */

/* `##LABEL= value`, the value over as many lines as it takes. Borrowed from the text. */
struct pellet_record {
    char label[PELLET_JCAMP_LABEL_MAX]; /* capitals; blanks, dashes, slashes and underscores left out */
    const char *name;                   /* the label as written, name_n bytes */
    size_t name_n;
    const char *value; /* n bytes, from behind the '=' to the next record */
    size_t n;
    size_t line;
};

struct pellet_records {
    size_t n;
    struct pellet_record *item;
};

/*
 * Split a text into its records.
 *
 * Errors: E_FORMAT for a text that does not begin with a record or a label without '=', E_LIMIT for a line
 * beyond line_max or too many records, E_MEMORY
 */
pellet_status pellet_records_read(const char *text, size_t n, size_t line_max, struct pellet_records *records,
                                  struct pellet_error *error);
void pellet_records_clear(struct pellet_records *records);

/* The value as one line of text: comments left out, lines joined by a blank, trimmed, cut to the buffer. */
void pellet_record_text(const struct pellet_record *record, char out[PELLET_JCAMP_TEXT_MAX]);

/* The length of a line without its $$ comment. */
size_t pellet_jcamp_uncommented(const char *line, size_t n);

/* ---------------------------------------------------------------- blocks */

/* The labels the reader knows. */
/* The formatter does not come to rest on this list. */
/* clang-format off */
#define PELLET_LABEL_LIST(X)                                                                                 \
    X(TITLE)                                                                                                 \
    X(DATATYPE)                                                                                              \
    X(DATACLASS)                                                                                             \
    X(DATAPROCESSING)                                                                                        \
    X(BLOCKS)                                                                                                \
    X(XUNITS)                                                                                                \
    X(YUNITS)                                                                                                \
    X(XFACTOR)                                                                                               \
    X(YFACTOR)                                                                                               \
    X(FIRSTX)                                                                                                \
    X(LASTX)                                                                                                 \
    X(DELTAX)                                                                                                \
    X(NPOINTS)                                                                                               \
    X(FIRSTY)                                                                                                \
    X(XYDATA)                                                                                                \
    X(XYPOINTS)                                                                                              \
    X(PEAKTABLE)                                                                                             \
    X(PEAKASSIGNMENTS)                                                                                       \
    X(NTUPLES)                                                                                               \
    X(DATATABLE)                                                                                             \
    X(END)
/* clang-format on */

enum pellet_label {
#define PELLET_LABEL_ENUM(name) PELLET_LABEL_##name,
    PELLET_LABEL_LIST(PELLET_LABEL_ENUM)
#undef PELLET_LABEL_ENUM
        PELLET_LABEL_COUNT
};

/* What stands between ##TITLE= and its ##END=, the blocks inside left out. */
struct pellet_block {
    size_t line;
    bool ended;
    const struct pellet_record *known[PELLET_LABEL_COUNT]; /* the first of each */
    const struct pellet_record *repeated; /* a second table, or a second number of the axis */
    size_t n, capacity;
    const struct pellet_record **record; /* all, in order */
};

struct pellet_blocks {
    size_t n;
    struct pellet_block *item; /* in the order of their titles; compound headers (LINK) among them */
};

pellet_status pellet_blocks_find(const struct pellet_records *records, struct pellet_blocks *blocks,
                                 struct pellet_error *error);
void pellet_blocks_clear(struct pellet_blocks *blocks);

/* Whether the block only holds other blocks. */
bool pellet_block_is_link(const struct pellet_block *block);

/*
 * Whether a compound file is whole, as far as its headers (LINK) say.
 *
 * Returned:  "" or what is amiss: a header without ##END=, or ##BLOCKS= that fits the blocks found neither
 * with nor without the header itself (writers count both ways). A blank that was cut off must be missed.
 */
void pellet_blocks_fault(const struct pellet_blocks *blocks, char fault[PELLET_JCAMP_TEXT_MAX]);

/*
 * Whether a block is an infrared spectrum, as far as its labels say.
 *
 * Returned:  "" or the reason why not, naming what it is
 */
void pellet_block_refusal(const struct pellet_block *block, char reason[PELLET_JCAMP_TEXT_MAX]);

/*
 * Decode a block's table and labels, whatever kind of spectrum it is.
 *
 * Returned:  draft  zero before; the caller clears it, also after an error
 * Errors:    E_FORMAT, E_NUMBER, E_LIMIT, E_MEMORY
 */
pellet_status pellet_block_decode(const struct pellet_block *block, const struct pellet_read_options *options,
                                  struct pellet_draft *draft, struct pellet_error *error);

/* ---------------------------------------------------------------- tables */

/* The abscissa as the labels give it. */
struct pellet_axis {
    double first, step; /* after XFACTOR, in XUNITS */
    double x_factor, y_factor;
    size_t n;
};

/* `(X++(Y..Y))` in AFFN, PAC, SQZ, DIF and DUP, mixed. The X- and Y-checks of the standard are errors where
 * they fail, since then the ordinates stand at the wrong place. */
pellet_status pellet_table_decode(const struct pellet_record *table, const struct pellet_axis *axis,
                                  struct pellet_draft *draft, struct pellet_error *error);

/* `(XY..XY)`: pairs of numbers. */
pellet_status pellet_pairs_decode(const struct pellet_record *table, const struct pellet_axis *axis,
                                  struct pellet_draft *draft, struct pellet_error *error);

#endif
