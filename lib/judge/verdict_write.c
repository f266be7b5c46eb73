// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A verdict as YAML. Top-level maps and lists of texts stand on one line, lists of maps have a line for each,
 * so that a person can read the file and a line-based tool can cut it.
 */
#include "judge/verdict_fields.h"

#include <string.h>
#include <strings.h>

struct yaml_out {
    struct pellet_text *text;
    size_t depth;    /* 0 at the top; lists of maps do not count: they only indent */
    bool in_rows;    /* inside a list of maps */
    bool map_row;    /* the map that is open is a row of it */
    const char *gap; /* what stands before the next value of the open map or list */
};

static bool is_reserved(const char *word, size_t n)
{
    static const char *const reserved[] = {"true", "false", "yes", "no", "on", "off", "null", "y", "n"};
    for (size_t i = 0; i < sizeof reserved / sizeof *reserved; i++) {
        if (strlen(reserved[i]) == n && strncasecmp(reserved[i], word, n) == 0)
            return true;
    }
    return false;
}

static bool all_of(const char *word, size_t n, const char *allowed)
{
    for (size_t i = 0; i < n; i++) {
        if (word[i] == '\0' || strchr(allowed, word[i]) == NULL)
            return false;
    }
    return n > 0;
}

#define LETTERS "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"

/* Identifiers, hashes and times that YAML takes for one plain word; everything else goes into quotes. */
static bool is_plain_word(const char *word, size_t n)
{
    const bool identifier =
        n > 0 && strchr(LETTERS, word[0]) != NULL && all_of(word, n, LETTERS "0123456789_./-");
    const bool hash = n == PELLET_SHA256_HEX - 1 && all_of(word, n, "0123456789abcdef");
    const bool time = n == 20 && word[n - 1] == 'Z' && all_of(word, n - 1, "0123456789-:T");
    return (identifier && !is_reserved(word, n)) || hash || time;
}

static void add_value(struct pellet_text *text, enum verdict_form form, const char *value, size_t n)
{
    if (form == VERDICT_ABSENT)
        pellet_text_adds(text, "null");
    else if (form == VERDICT_TEXT || (form == VERDICT_WORD && !is_plain_word(value, n)))
        pellet_text_add_json(text, value, n); /* JSON's strings are YAML's double-quoted ones */
    else
        pellet_text_add(text, value, n);
}

static void yaml_key(struct yaml_out *out, const char *key)
{
    if (out->depth > 0)
        pellet_text_adds(out->text, out->gap);
    out->gap = ", ";
    if (key != NULL)
        pellet_text_addf(out->text, "%s: ", key);
}

static void yaml_scalar(void *self, const char *key, enum verdict_form form, const char *value, size_t n)
{
    struct yaml_out *out = self;
    yaml_key(out, key);
    add_value(out->text, form, value, n);
    if (out->depth == 0)
        pellet_text_addc(out->text, '\n');
}

static void yaml_begin(void *self, const char *key, enum verdict_shape shape, size_t count)
{
    struct yaml_out *out = self;
    if (shape == VERDICT_ROWS) {
        pellet_text_addf(out->text, "%s:%s\n", key, count == 0 ? " []" : "");
        out->in_rows = true;
        return;
    }
    if (out->in_rows)
        pellet_text_adds(out->text, "  - ");
    yaml_key(out, key);
    pellet_text_addc(out->text, shape == VERDICT_MAP ? '{' : '[');
    out->map_row = shape == VERDICT_MAP;
    out->depth++;
    out->gap = "";
}

static void yaml_end(void *self)
{
    struct yaml_out *out = self;
    if (out->depth == 0) {
        out->in_rows = false;
        return;
    }
    pellet_text_adds(out->text, out->map_row ? "}\n" : "]\n");
    out->depth--;
}

pellet_status pellet_verdict_write(const struct pellet_verdict *verdict, struct pellet_text *out)
{
    const size_t start = out->length;
    struct yaml_out yaml = {.text = out, .gap = ""};
    const struct verdict_sink sink = {yaml_begin, yaml_end, yaml_scalar, &yaml};
    const pellet_status status = pellet_verdict_walk(verdict, &sink);
    if (status != PELLET_OK || out->failed)
        return PELLET_E_MEMORY;
    char digest[PELLET_SHA256_HEX];
    pellet_sha256_hex(out->data + start, out->length - start, digest);
    pellet_text_addf(out, "check: %s\n...\n", digest);
    return pellet_text_status(out);
}
