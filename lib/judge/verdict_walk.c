// SPDX-License-Identifier: GPL-3.0-or-later
/* From a verdict to a sink, along the table of fields. */
#include "core/utf8.h"
#include "judge/verdict_fields.h"

#include <string.h>

struct walk {
    const struct verdict_sink *sink;
    struct pellet_text scratch; /* the text of the value in hand */
    struct pellet_text shown;   /* the same with \xNN where it is not UTF-8, or in base64 */
    struct pellet_text key;     /* KEY_raw */
    bool failed;                /* one of them did once: clearing a buffer forgets that */
};

static void start_anew(struct walk *walk, struct pellet_text *text)
{
    walk->failed |= text->failed;
    pellet_text_clear(text);
}

/* Bytes that are not UTF-8 become \xNN; all others stay, control characters too. */
static void show_bytes(const char *bytes, size_t n, struct pellet_text *out)
{
    uint32_t code;
    for (size_t at = 0, length; at < n; at += length) {
        length = pellet_utf8_decode(bytes + at, n - at, &code);
        if (length > 0) {
            pellet_text_add(out, bytes + at, length);
        } else {
            length = 1;
            pellet_text_addf(out, "\\x%02X", (unsigned)(unsigned char)bytes[at]);
        }
    }
}

static void put_shown(struct walk *walk, const char *key, const char *bytes, size_t n)
{
    start_anew(walk, &walk->shown);
    show_bytes(bytes, n, &walk->shown);
    walk->sink->scalar(walk->sink->self, key, VERDICT_TEXT, pellet_text_string(&walk->shown),
                       walk->shown.length);
}

static void put_base64(struct walk *walk, const char *key, const char *bytes, size_t n)
{
    start_anew(walk, &walk->shown);
    pellet_base64(bytes, n, &walk->shown);
    walk->sink->scalar(walk->sink->self, key, VERDICT_TEXT, pellet_text_string(&walk->shown),
                       walk->shown.length);
}

static const char *raw_key(struct walk *walk, const char *key)
{
    start_anew(walk, &walk->key);
    pellet_text_addf(&walk->key, "%s_raw", key);
    return pellet_text_string(&walk->key);
}

static void put_value(struct walk *walk, const struct verdict_field *field, const void *object)
{
    struct pellet_text *text = &walk->scratch;
    start_anew(walk, text);
    const enum verdict_form form = field->type->format(field, object, text);
    const char *bytes = pellet_text_string(text);
    if (form == VERDICT_ABSENT && (field->flags & VERDICT_OPTIONAL) != 0)
        return;
    if (form < VERDICT_WORD || pellet_utf8_valid(bytes, text->length)) {
        walk->sink->scalar(walk->sink->self, field->key, form, bytes, text->length);
        return;
    }
    put_shown(walk, field->key, bytes, text->length);
    put_base64(walk, raw_key(walk, field->key), bytes, text->length);
}

static size_t count_of(const struct verdict_field *field, const void *object)
{
    size_t count;
    memcpy(&count, (const char *)object + field->count_at, sizeof count);
    return count;
}

static void put_texts(struct walk *walk, const struct verdict_field *field, const void *object)
{
    const struct verdict_sink *sink = walk->sink;
    const char *const *texts = *(const char *const *const *)((const char *)object + field->at);
    const size_t count = count_of(field, object);
    bool valid = true;
    sink->begin(sink->self, field->key, VERDICT_TEXTS, count);
    for (size_t i = 0; i < count; i++) {
        put_shown(walk, NULL, texts[i], strlen(texts[i]));
        valid = valid && pellet_utf8_valid(texts[i], strlen(texts[i]));
    }
    sink->end(sink->self);
    if (valid)
        return;
    sink->begin(sink->self, raw_key(walk, field->key), VERDICT_TEXTS, count);
    for (size_t i = 0; i < count; i++)
        put_base64(walk, NULL, texts[i], strlen(texts[i]));
    sink->end(sink->self);
}

static void put_fields(struct walk *walk, const struct verdict_field *fields, const void *object);

static void put_rows(struct walk *walk, const struct verdict_field *field, const void *object)
{
    const struct verdict_sink *sink = walk->sink;
    const char *rows = *(const char *const *)((const char *)object + field->at);
    const size_t count = count_of(field, object);
    sink->begin(sink->self, field->key, VERDICT_ROWS, count);
    for (size_t i = 0; i < count; i++) {
        sink->begin(sink->self, NULL, VERDICT_MAP, 0);
        put_fields(walk, field->inner, rows + i * field->row_size);
        sink->end(sink->self);
    }
    sink->end(sink->self);
}

/* An optional map is left out where its first value is. */
static bool map_is_there(struct walk *walk, const struct verdict_field *field, const void *object)
{
    if ((field->flags & VERDICT_OPTIONAL) == 0)
        return true;
    start_anew(walk, &walk->scratch);
    return field->inner->type->format(field->inner, object, &walk->scratch) != VERDICT_ABSENT;
}

static void put_map(struct walk *walk, const struct verdict_field *field, const void *object)
{
    const void *inner = (const char *)object + field->at;
    if (!map_is_there(walk, field, inner))
        return;
    walk->sink->begin(walk->sink->self, field->key, VERDICT_MAP, 0);
    put_fields(walk, field->inner, inner);
    walk->sink->end(walk->sink->self);
}

static void put_fields(struct walk *walk, const struct verdict_field *fields, const void *object)
{
    static void (*const puts[])(struct walk *, const struct verdict_field *, const void *) = {
        [VERDICT_VALUE] = put_value,
        [VERDICT_MAP] = put_map,
        [VERDICT_ROWS] = put_rows,
        [VERDICT_TEXTS] = put_texts,
    };
    for (const struct verdict_field *field = fields; field->key != NULL; field++)
        puts[field->shape](walk, field, object);
}

pellet_status pellet_verdict_walk(const struct pellet_verdict *verdict, const struct verdict_sink *sink)
{
    struct walk walk = {.sink = sink};
    put_fields(&walk, pellet_verdict_fields, verdict);
    const bool failed = walk.failed || walk.scratch.failed || walk.shown.failed || walk.key.failed;
    pellet_text_free(&walk.scratch);
    pellet_text_free(&walk.shown);
    pellet_text_free(&walk.key);
    return failed ? PELLET_E_MEMORY : PELLET_OK;
}
