// SPDX-License-Identifier: GPL-3.0-or-later
/* A verdict as one JSON object on one line, with the keys of the YAML file. */
#include "judge/verdict_fields.h"

#include <string.h>

#define DEPTH_MAX 4 /* the object, a list, its row; and one to spare */

struct json_out {
    struct pellet_text *text;
    size_t depth;
    char closing[DEPTH_MAX];
    const char *gap; /* what stands before the next value */
};

static void json_key(struct json_out *out, const char *key)
{
    pellet_text_adds(out->text, out->gap);
    out->gap = ", ";
    if (key != NULL)
        pellet_text_addf(out->text, "\"%s\": ", key);
}

static void json_scalar(void *self, const char *key, enum verdict_form form, const char *value, size_t n)
{
    struct json_out *out = self;
    json_key(out, key);
    if (form == VERDICT_ABSENT || form == VERDICT_NO_NUMBER)
        pellet_text_adds(out->text, "null");
    else if (form == VERDICT_PLAIN)
        pellet_text_add(out->text, value, n);
    else
        pellet_text_add_json(out->text, value, n);
}

static void json_begin(void *self, const char *key, enum verdict_shape shape, size_t count)
{
    (void)count;
    struct json_out *out = self;
    json_key(out, key);
    pellet_text_addc(out->text, shape == VERDICT_MAP ? '{' : '[');
    out->closing[out->depth++] = shape == VERDICT_MAP ? '}' : ']';
    out->gap = "";
}

static void json_end(void *self)
{
    struct json_out *out = self;
    pellet_text_addc(out->text, out->closing[--out->depth]);
    out->gap = ", ";
}

/* The digest is that of the YAML file, so that the object and the file can be told to belong together. */
static pellet_status add_digest(const struct pellet_verdict *verdict, struct json_out *out)
{
    static const char end[] = "\n...\n";
    struct pellet_text yaml = {0};
    const pellet_status status = pellet_verdict_write(verdict, &yaml);
    if (status == PELLET_OK) {
        const size_t digest = yaml.length - (sizeof end - 1) - (PELLET_SHA256_HEX - 1);
        json_scalar(out, "check", VERDICT_WORD, yaml.data + digest, PELLET_SHA256_HEX - 1);
    }
    pellet_text_free(&yaml);
    return status;
}

pellet_status pellet_verdict_json(const struct pellet_verdict *verdict, struct pellet_text *out)
{
    struct json_out json = {.text = out, .gap = ""};
    const struct verdict_sink sink = {json_begin, json_end, json_scalar, &json};
    json_begin(&json, NULL, VERDICT_MAP, 0);
    pellet_status status = pellet_verdict_walk(verdict, &sink);
    if (status == PELLET_OK)
        status = add_digest(verdict, &json);
    json_end(&json);
    return status != PELLET_OK ? status : pellet_text_status(out);
}
