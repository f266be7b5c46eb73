// SPDX-License-Identifier: GPL-3.0-or-later
/* One block of a JCAMP-DX file: its labels, cross-checked, and its table. */
#include "spectrum/jcamp.h"

#include "spectrum/lines.h"
#include "spectrum/number.h"

#include <math.h>
#include <string.h>

#define STEP_TOLERANCE  0.01  /* of DELTAX against the step of FIRSTX, LASTX and NPOINTS */
#define FIRST_TOLERANCE 0.001 /* of FIRSTY against the first ordinate, which files round */

/* ---------------------------------------------------------------- numbers in labels */

/* The number of a label, NaN where the label is missing or empty. A unit behind it is let pass. */
static pellet_status label_number(const struct pellet_block *block, enum pellet_label label, double *value,
                                  struct pellet_error *error)
{
    char text[PELLET_JCAMP_TEXT_MAX] = "";
    double number = NAN;
    const struct pellet_record *record = block->known[label];
    if (record)
        pellet_record_text(record, text);
    if (text[0] && pellet_number_scan(text, strlen(text), '.', PELLET_EXPONENT_ANY, &number) == 0)
        return pellet_fail_at(error, PELLET_E_NUMBER, record->line, 0,
                              "##%.*s= holds '%.40s', not a finite decimal number", (int)record->name_n,
                              record->name, text);
    *value = number;
    return PELLET_OK;
}

/* A factor of the table: 1 where the label is missing, with a warning; 0 makes no spectrum. */
static pellet_status label_factor(const struct pellet_block *block, enum pellet_label label, const char *name,
                                  struct pellet_draft *draft, double *value, struct pellet_error *error)
{
    const pellet_status status = label_number(block, label, value, error);
    if (status != PELLET_OK)
        return status;
    if (*value == 0)
        return pellet_fail_at(error, PELLET_E_RANGE, block->known[label]->line, 0, "##%s=0; export it again",
                              name);
    if (isnan(*value)) {
        *value = 1;
        pellet_draft_warn(draft, "no ##%s=: taken as 1", name);
    }
    return PELLET_OK;
}

static pellet_status read_count(const struct pellet_block *block, const struct pellet_read_options *options,
                                size_t *n, struct pellet_error *error)
{
    double count;
    const pellet_status status = label_number(block, PELLET_LABEL_NPOINTS, &count, error);
    if (status != PELLET_OK)
        return status;
    if (isnan(count))
        return pellet_fail_at(error, PELLET_E_FORMAT, block->line, 0,
                              "no ##NPOINTS=, which JCAMP-DX requires; export it again");
    const size_t line = block->known[PELLET_LABEL_NPOINTS]->line;
    if (count < 1 || count != floor(count))
        return pellet_fail_at(error, PELLET_E_RANGE, line, 0, "##NPOINTS=%g is no count of points", count);
    if (count > (double)options->points_max)
        return pellet_fail_at(error, PELLET_E_LIMIT, line, 0, "##NPOINTS=%.0f, at most %zu are allowed",
                              count, options->points_max);
    *n = (size_t)count;
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the axis */

static pellet_status read_step(const struct pellet_block *block, struct pellet_draft *draft,
                               struct pellet_axis *axis, struct pellet_error *error)
{
    double last, step;
    pellet_status status = label_number(block, PELLET_LABEL_LASTX, &last, error);
    if (status == PELLET_OK)
        status = label_number(block, PELLET_LABEL_DELTAX, &step, error);
    if (status != PELLET_OK)
        return status;
    if (isnan(axis->first) || (isnan(last) && isnan(step)))
        return pellet_fail_at(error, PELLET_E_FORMAT, block->line, 0,
                              "no ##FIRSTX= and ##LASTX=, which JCAMP-DX requires; export it again");
    if (isnan(last))
        last = axis->first + (double)(axis->n - 1) * step;
    axis->step = axis->n > 1 ? (last - axis->first) / (double)(axis->n - 1) : 1;
    /* Some files leave the sign out where the abscissa falls. */
    if (!isnan(step) && fabs(fabs(step) - fabs(axis->step)) > STEP_TOLERANCE * fabs(axis->step))
        pellet_draft_warn(draft, "##DELTAX=%.6g, but FIRSTX, LASTX and NPOINTS make %.6g: the latter is used",
                          step, axis->step);
    return PELLET_OK;
}

static pellet_status read_axis(const struct pellet_block *block, const struct pellet_read_options *options,
                               bool pairs, struct pellet_draft *draft, struct pellet_axis *axis,
                               struct pellet_error *error)
{
    pellet_status status = read_count(block, options, &axis->n, error);
    if (status == PELLET_OK)
        status = label_factor(block, PELLET_LABEL_XFACTOR, "XFACTOR", draft, &axis->x_factor, error);
    if (status == PELLET_OK)
        status = label_factor(block, PELLET_LABEL_YFACTOR, "YFACTOR", draft, &axis->y_factor, error);
    if (status == PELLET_OK)
        status = label_number(block, PELLET_LABEL_FIRSTX, &axis->first, error);
    if (status == PELLET_OK && !pairs)
        status = read_step(block, draft, axis, error);
    return status;
}

/* ---------------------------------------------------------------- the table */

/* The form a table states behind its label, blanks left out: "(X++(Y..Y))". */
static void table_form(const struct pellet_record *table, char out[16])
{
    struct pellet_lines lines;
    size_t length = 0;
    pellet_lines_begin(&lines, table->value, table->n);
    if (pellet_lines_next(&lines)) {
        const size_t n = pellet_jcamp_uncommented(lines.line, lines.n);
        for (size_t i = 0; i < n && length < 15; i++)
            if (lines.line[i] != ' ' && lines.line[i] != '\t')
                out[length++] = lines.line[i];
    }
    out[length] = 0;
}

/* The last bracket is missing in some files, so the beginning decides. */
static bool is_pairs(const char *form)
{
    return strncmp(form, "(XY..XY", 7) == 0;
}

static bool is_packed(const char *form)
{
    return strncmp(form, "(X++(Y..Y", 9) == 0;
}

static pellet_status find_table(const struct pellet_block *block, const struct pellet_record **table,
                                char form[16], struct pellet_error *error)
{
    const struct pellet_record *packed = block->known[PELLET_LABEL_XYDATA];
    const struct pellet_record *points = block->known[PELLET_LABEL_XYPOINTS];
    const struct pellet_record *second = packed && points ? points : block->repeated;
    if (second)
        return pellet_fail_at(error, PELLET_E_FORMAT, second->line, 0,
                              "a second ##%.*s= in one block; export one spectrum a block",
                              (int)second->name_n, second->name);
    *table = packed ? packed : points;
    if (!*table)
        return pellet_fail_at(error, PELLET_E_FORMAT, block->line, 0,
                              "no ##XYDATA= and no ##XYPOINTS=: there is no spectrum in this block");
    table_form(*table, form);
    if (!is_pairs(form) && !is_packed(form))
        return pellet_fail_at(error, PELLET_E_FORMAT, (*table)->line, 0,
                              "the table's form is '%s'; (X++(Y..Y)) and (XY..XY) are read", form);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- cross-checks */

static pellet_status check_ends(const struct pellet_block *block, const struct pellet_draft *draft,
                                struct pellet_error *error)
{
    const enum pellet_label labels[] = {PELLET_LABEL_FIRSTX, PELLET_LABEL_LASTX};
    const double found[] = {draft->x[0], draft->x[draft->n - 1]};
    const double step = draft->n > 1 ? fabs(found[1] - found[0]) / (double)(draft->n - 1) : 1;
    for (size_t i = 0; i < 2; i++) {
        double stated;
        const pellet_status status = label_number(block, labels[i], &stated, error);
        if (status != PELLET_OK)
            return status;
        if (fabs(stated - found[i]) > 0.5 * step)
            return pellet_fail_at(
                error, PELLET_E_FORMAT, block->known[labels[i]]->line, 0,
                "##%s=%.8g but the table has %.8g there; the file is damaged: export it again",
                i == 0 ? "FIRSTX" : "LASTX", stated, found[i]);
    }
    return PELLET_OK;
}

static pellet_status check_first(const struct pellet_block *block, const struct pellet_axis *axis,
                                 struct pellet_draft *draft, struct pellet_error *error)
{
    double stated;
    const pellet_status status = label_number(block, PELLET_LABEL_FIRSTY, &stated, error);
    if (status != PELLET_OK)
        return status;
    if (fabs(stated - draft->y[0]) > fabs(axis->y_factor) + FIRST_TOLERANCE * fabs(stated))
        pellet_draft_warn(draft, "##FIRSTY=%.6g but the first ordinate times YFACTOR is %.6g", stated,
                          draft->y[0]);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- labels */

/* ARBITRARY UNITS may be a single beam: only words that say so make it one. */
static bool says_single_beam(const struct pellet_block *block)
{
    static const enum pellet_label labels[] = {PELLET_LABEL_DATATYPE, PELLET_LABEL_DATAPROCESSING};
    char text[PELLET_JCAMP_TEXT_MAX];
    enum pellet_scale scale;
    for (size_t i = 0; i < sizeof labels / sizeof *labels; i++) {
        if (!block->known[labels[i]])
            continue;
        pellet_record_text(block->known[labels[i]], text);
        if (pellet_ordinate_word(text, strlen(text), &scale) == PELLET_ORDINATE_SINGLE_BEAM)
            return true;
    }
    return false;
}

static bool is_arbitrary(const char *units)
{
    char word[PELLET_JCAMP_TEXT_MAX];
    pellet_word_normalise(units, strlen(units), word, sizeof word);
    return word[0] == 0 || strncmp(word, "ARBITRARY", 9) == 0 || strcmp(word, "INTENSITY") == 0;
}

static void read_units(const struct pellet_block *block, struct pellet_draft *draft)
{
    const char *x = draft->fact[PELLET_FACT_XUNITS], *y = draft->fact[PELLET_FACT_YUNITS];
    if (x)
        draft->abscissa = pellet_abscissa_word(x, strlen(x));
    if (x && draft->abscissa == PELLET_ABSCISSA_UNKNOWN)
        draft->abscissa = PELLET_ABSCISSA_OTHER;
    if (y)
        draft->ordinate = pellet_ordinate_word(y, strlen(y), &draft->scale);
    if (draft->scale == PELLET_SCALE_UNKNOWN)
        draft->scale = PELLET_SCALE_FRACTION; /* what the standard says */
    if (draft->ordinate != PELLET_ORDINATE_UNKNOWN)
        return;
    if (y && !is_arbitrary(y))
        draft->ordinate = PELLET_ORDINATE_OTHER;
    else if (says_single_beam(block))
        draft->ordinate = PELLET_ORDINATE_SINGLE_BEAM;
}

/* Settings that stand as "key: value" or "key= value" in free text under another label. */
static pellet_status read_lines(const struct pellet_record *record, struct pellet_draft *draft,
                                struct pellet_error *error)
{
    struct pellet_lines lines;
    pellet_status status = PELLET_OK;
    pellet_lines_begin(&lines, record->value, record->n);
    while (status == PELLET_OK && pellet_lines_next(&lines))
        status = pellet_draft_fact_line(draft, lines.line, pellet_jcamp_uncommented(lines.line, lines.n),
                                        PELLET_SETTING_COUNT, error);
    return status;
}

static bool is_free_text(const char *label)
{
    static const char *const labels[] = {"COMMENTS", "INSTRUMENTPARAMETERS", "INSTRUMENTALPARAMETERS",
                                         "SPECTROMETERSETTINGS"};
    for (size_t i = 0; i < sizeof labels / sizeof *labels; i++)
        if (strcmp(label, labels[i]) == 0)
            return true;
    return false;
}

static pellet_status read_fact(const struct pellet_record *record, enum pellet_fact fact,
                               struct pellet_draft *draft, struct pellet_error *error)
{
    char text[PELLET_JCAMP_TEXT_MAX];
    if (!record || fact == PELLET_FACT_COUNT)
        return PELLET_OK;
    pellet_record_text(record, text);
    return pellet_draft_fact(draft, fact, text, strlen(text), error);
}

/* The first statement of a fact counts, so the units that the standard requires come before any
 * axis label. */
static pellet_status read_facts(const struct pellet_block *block, struct pellet_draft *draft,
                                struct pellet_error *error)
{
    pellet_status status = read_fact(block->known[PELLET_LABEL_XUNITS], PELLET_FACT_XUNITS, draft, error);
    if (status == PELLET_OK)
        status = read_fact(block->known[PELLET_LABEL_YUNITS], PELLET_FACT_YUNITS, draft, error);
    for (size_t i = 0; i < block->n && status == PELLET_OK; i++) {
        const struct pellet_record *record = block->record[i];
        status = read_fact(record, pellet_fact_word(record->name, record->name_n), draft, error);
    }
    for (size_t i = 0; i < block->n && status == PELLET_OK; i++)
        if (is_free_text(block->record[i]->label))
            status = read_lines(block->record[i], draft, error);
    return status;
}

pellet_status pellet_block_decode(const struct pellet_block *block, const struct pellet_read_options *options,
                                  struct pellet_draft *draft, struct pellet_error *error)
{
    const struct pellet_record *table = NULL;
    struct pellet_axis axis = {0};
    char form[16];
    draft->date_order = PELLET_DATE_YEAR_FIRST;
    pellet_status status = find_table(block, &table, form, error);
    if (status == PELLET_OK)
        status = read_axis(block, options, is_pairs(form), draft, &axis, error);
    if (status != PELLET_OK)
        return status;
    draft->table_line = table->line;
    status = is_pairs(form) ? pellet_pairs_decode(table, &axis, draft, error)
                            : pellet_table_decode(table, &axis, draft, error);
    if (status == PELLET_OK && is_pairs(form))
        status = check_ends(block, draft, error);
    if (status == PELLET_OK)
        status = check_first(block, &axis, draft, error);
    if (status == PELLET_OK)
        status = read_facts(block, draft, error);
    if (status != PELLET_OK)
        return status;
    read_units(block, draft);
    if (!block->known[PELLET_LABEL_DATATYPE])
        pellet_draft_warn(draft, "no ##DATA TYPE=: taken as infrared by its units");
    if (!block->ended)
        pellet_draft_warn(draft, "no ##END=: the file may be cut short, though all %zu points are there",
                          draft->n);
    return PELLET_OK;
}
