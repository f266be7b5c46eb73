// SPDX-License-Identifier: GPL-3.0-or-later
/* A verdict file back into a verdict. Anybody who can write to the folder may have written the file. */
#include "judge/verdict_fields.h"

#include <stdio.h>
#include <string.h>

/* Rows or texts in one list: far more than ever written, and few enough to bound the memory of a planted
 * file. */
#define ROWS_MAX 1000

static const char frame_end[] = "\n...\n";
static const char frame_check[] = "\ncheck: ";

/* ---------------------------------------------------------------- the frame: end and digest */

static size_t line_of(const char *yaml, size_t at)
{
    size_t line = 1;
    for (size_t i = 0; i < at; i++)
        line += yaml[i] == '\n';
    return line;
}

static bool ends_with(const char *yaml, size_t n, const char *end)
{
    const size_t length = strlen(end);
    return n >= length && memcmp(yaml + n - length, end, length) == 0;
}

/* "format: 7" in the first line of a whole file: what a newer program wrote may be framed in another way. */
static bool is_newer(const char *yaml, size_t n)
{
    static const char key[] = "format: ";
    const size_t length = sizeof key - 1;
    long number = 0;
    if (n < length || memcmp(yaml, key, length) != 0 || !ends_with(yaml, n, frame_end))
        return false;
    for (size_t i = length; i < n && yaml[i] >= '0' && yaml[i] <= '9' && number < 1000000; i++)
        number = 10 * number + (yaml[i] - '0');
    return number > PELLET_VERDICT_FORMAT;
}

static pellet_status check_frame(const char *yaml, size_t n, struct pellet_error *error)
{
    const size_t tail = (sizeof frame_check - 1) + (PELLET_SHA256_HEX - 1) + (sizeof frame_end - 1);
    if (n > PELLET_YAML_BYTES_MAX)
        return pellet_fail(error, PELLET_E_LIMIT, "%zu bytes; a verdict has at most 1 MiB", n);
    if (is_newer(yaml, n))
        return pellet_fail_at(error, PELLET_E_LIMIT, 1, 9, "written by a newer program, with a newer format");
    if (!ends_with(yaml, n, frame_end))
        return pellet_fail_at(error, PELLET_E_FORMAT, line_of(yaml, n), 1,
                              "it does not end in \"...\": it was not written to its end");
    if (n < tail || memcmp(yaml + n - tail, frame_check, sizeof frame_check - 1) != 0)
        return pellet_fail_at(error, PELLET_E_FORMAT, line_of(yaml, n), 1,
                              "the line with the digest, \"check:\", is missing before the end");
    char digest[PELLET_SHA256_HEX];
    const size_t hashed = n - tail + 1; /* with the line end before "check:" */
    pellet_sha256_hex(yaml, hashed, digest);
    if (memcmp(yaml + hashed + sizeof frame_check - 2, digest, PELLET_SHA256_HEX - 1) != 0)
        return pellet_fail_at(error, PELLET_E_FORMAT, line_of(yaml, hashed), 1,
                              "the digest does not fit: the file was changed after it was written");
    return PELLET_OK;
}

/* ---------------------------------------------------------------- base64 */

static int base64_digit(char c)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const char *at = c != '\0' ? strchr(digits, c) : NULL;
    return at != NULL ? (int)(at - digits) : -1;
}

/* The bytes of a base64 text, terminated. NULL where it is not base64, or holds a NUL, or memory is gone. */
static const char *base64_decode(const char *text, struct pellet_arena *arena)
{
    const size_t n = strlen(text);
    const size_t padding = ends_with(text, n, "==") ? 2 : ends_with(text, n, "=") ? 1 : 0;
    char *bytes = pellet_arena_alloc(arena, n / 4 * 3 + 1);
    size_t length = 0;
    if (bytes == NULL || n % 4 != 0)
        return NULL;
    unsigned buffer = 0;
    for (size_t i = 0; i < n; i++) {
        const int digit = i < n - padding ? base64_digit(text[i]) : 0;
        if (digit < 0)
            return NULL;
        buffer = buffer << 6 | (unsigned)digit;
        if (i % 4 == 3) {
            bytes[length++] = (char)(buffer >> 16 & 0xFF);
            bytes[length++] = (char)(buffer >> 8 & 0xFF);
            bytes[length++] = (char)(buffer & 0xFF);
        }
    }
    length -= length >= padding ? padding : 0;
    bytes[length] = '\0';
    return memchr(bytes, '\0', length) == NULL ? bytes : NULL;
}

static pellet_status take_raw(const struct pellet_yaml *raw, const char **text,
                              const struct verdict_reading *reading)
{
    const char *bytes = raw->kind == PELLET_YAML_SCALAR ? base64_decode(raw->text, reading->arena) : NULL;
    if (bytes == NULL)
        return pellet_yaml_fail(raw, PELLET_E_FORMAT, reading->error, "allowed is base64 of a text");
    *text = bytes;
    return PELLET_OK;
}

/* KEY_raw beside KEY. */
static const struct pellet_yaml *raw_of(const struct pellet_yaml *map, const char *key)
{
    char name[64];
    snprintf(name, sizeof name, "%s_raw", key);
    return pellet_yaml_get(map, name);
}

/* ---------------------------------------------------------------- along the table */

static pellet_status take_fields(const struct verdict_field *fields, const char *until, void *object,
                                 const struct pellet_yaml *map, const struct verdict_reading *reading);

static pellet_status fail_memory(const struct verdict_reading *reading)
{
    return pellet_fail(reading->error, PELLET_E_MEMORY, "no memory for a verdict");
}

static pellet_status take_value(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *map, const struct pellet_yaml *node,
                                const struct verdict_reading *reading)
{
    const bool textual = field->type == &pellet_verdict_text || field->type == &pellet_verdict_word;
    const struct pellet_yaml *raw = textual ? raw_of(map, field->key) : NULL;
    const pellet_status status = field->type->parse(field, object, node, reading);
    if (status != PELLET_OK || raw == NULL)
        return status;
    return take_raw(raw, (const char **)((char *)object + field->at), reading);
}

static pellet_status take_list(const struct verdict_field *field, void *object,
                               const struct pellet_yaml *node, const struct verdict_reading *reading,
                               char **rows)
{
    const size_t zero = 0;
    memcpy((char *)object + field->count_at, &zero, sizeof zero);
    *rows = NULL;
    if (node == NULL)
        return PELLET_OK;
    const pellet_status status = pellet_yaml_expect(node, PELLET_YAML_SEQUENCE, reading->error);
    if (status != PELLET_OK)
        return status;
    if (node->count > ROWS_MAX)
        return pellet_yaml_fail(node, PELLET_E_LIMIT, reading->error, "found %zu items, allowed are %d",
                                node->count, ROWS_MAX);
    *rows = pellet_arena_alloc(reading->arena, (node->count + 1) * field->row_size);
    if (*rows == NULL)
        return fail_memory(reading);
    memcpy((char *)object + field->at, rows, sizeof *rows);
    memcpy((char *)object + field->count_at, &node->count, sizeof node->count);
    return PELLET_OK;
}

static pellet_status take_rows(const struct verdict_field *field, void *object, const struct pellet_yaml *map,
                               const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)map;
    char *row;
    pellet_status status = take_list(field, object, node, reading, &row);
    if (status != PELLET_OK || node == NULL)
        return status;
    for (const struct pellet_yaml *item = node->first; item != NULL; item = item->next) {
        status = pellet_yaml_expect(item, PELLET_YAML_MAPPING, reading->error);
        if (status == PELLET_OK)
            status = take_fields(field->inner, NULL, row, item, reading);
        if (status != PELLET_OK)
            return status;
        row += field->row_size;
    }
    return PELLET_OK;
}

static pellet_status take_texts(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *map, const struct pellet_yaml *node,
                                const struct verdict_reading *reading)
{
    char *rows;
    pellet_status status = take_list(field, object, node, reading, &rows);
    const struct pellet_yaml *raw = raw_of(map, field->key);
    if (status != PELLET_OK || node == NULL)
        return status;
    if (raw != NULL && (raw->kind != PELLET_YAML_SEQUENCE || raw->count != node->count))
        return pellet_yaml_fail(raw, PELLET_E_FORMAT, reading->error, "allowed is a list as long as \"%s\"",
                                field->key);
    const char **text = *(const char ***)((char *)object + field->at);
    const struct pellet_yaml *raw_item = raw != NULL ? raw->first : NULL;
    for (const struct pellet_yaml *item = node->first; item != NULL; item = item->next) {
        const struct verdict_field one = {.key = field->key, .type = &pellet_verdict_text};
        status =
            raw_item != NULL ? take_raw(raw_item, text, reading) : one.type->parse(&one, text, item, reading);
        if (status != PELLET_OK)
            return status;
        raw_item = raw_item != NULL ? raw_item->next : NULL;
        text++;
    }
    return PELLET_OK;
}

/* A map that is not there leaves each of its values at what stands for "not there". */
static pellet_status take_map(const struct verdict_field *field, void *object, const struct pellet_yaml *map,
                              const struct pellet_yaml *node, const struct verdict_reading *reading)
{
    (void)map;
    if (node != NULL) {
        const pellet_status status = pellet_yaml_expect(node, PELLET_YAML_MAPPING, reading->error);
        if (status != PELLET_OK)
            return status;
    }
    return take_fields(field->inner, NULL, (char *)object + field->at, node, reading);
}

static pellet_status take_field(const struct verdict_field *field, void *object,
                                const struct pellet_yaml *map, const struct verdict_reading *reading)
{
    static pellet_status (*const takes[])(const struct verdict_field *, void *, const struct pellet_yaml *,
                                          const struct pellet_yaml *, const struct verdict_reading *) = {
        [VERDICT_VALUE] = take_value,
        [VERDICT_MAP] = take_map,
        [VERDICT_ROWS] = take_rows,
        [VERDICT_TEXTS] = take_texts,
    };
    const struct pellet_yaml *node = pellet_yaml_get(map, field->key);
    if (node != NULL && pellet_yaml_is_null(node))
        node = NULL;
    if (node == NULL && map != NULL && (field->flags & VERDICT_NEEDED) != 0)
        return pellet_yaml_fail(map, PELLET_E_FORMAT, reading->error, "the key \"%s\" is missing",
                                field->key);
    return takes[field->shape](field, object, map, node, reading);
}

/* Keys that the table does not know are passed over: a later program may add some. From the key `until` on
 * (NULL: none) nothing is taken, and the values become what stands for "not there". */
static pellet_status take_fields(const struct verdict_field *fields, const char *until, void *object,
                                 const struct pellet_yaml *map, const struct verdict_reading *reading)
{
    for (const struct verdict_field *field = fields; field->key != NULL; field++) {
        if (until != NULL && strcmp(field->key, until) == 0)
            map = NULL;
        const pellet_status status = take_field(field, object, map, reading);
        if (status != PELLET_OK)
            return status;
    }
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the two readings */

/* The rows of the table up to the key `until` (NULL: all), from the first n bytes of a file. */
static pellet_status read_until(const char *yaml, size_t n, const char *until, struct pellet_verdict *verdict,
                                struct pellet_error *error)
{
    struct pellet_verdict read = {0};
    struct pellet_arena tree = {0};
    const struct pellet_yaml *root;
    const struct verdict_reading reading = {&read.arena, error};
    pellet_status status = pellet_yaml_read(yaml, n, &tree, &root, error);
    if (status == PELLET_OK)
        status = pellet_yaml_format(root, PELLET_VERDICT_FORMAT, error);
    if (status == PELLET_OK)
        status = take_fields(pellet_verdict_fields, until, &read, root, &reading);
    if (status == PELLET_OK && (read.outcome == PELLET_NOTE || read.outcome == PELLET_NOT_CHECKED))
        status = pellet_yaml_fail(pellet_yaml_get(root, "verdict"), PELLET_E_FORMAT, error,
                                  "allowed is pass, wait, rescan or remake");
    pellet_arena_free(&tree);
    if (status != PELLET_OK)
        pellet_arena_free(&read.arena);
    else
        *verdict = read;
    return status;
}

pellet_status pellet_verdict_read(const char *yaml, size_t n, struct pellet_verdict *verdict,
                                  struct pellet_error *error)
{
    const pellet_status status = check_frame(yaml, n, error);
    return status == PELLET_OK ? read_until(yaml, n, NULL, verdict, error) : status;
}

/* YAML is slow to read: only the bytes above the first key that is left out are. */
static size_t brief_length(const char *yaml, size_t n)
{
    static const char behind[] = "\n" VERDICT_AFTER_BRIEF ": ";
    const char *at = memmem(yaml, n, behind, sizeof behind - 1);
    return at != NULL ? (size_t)(at - yaml) + 1 : n;
}

/* The one list further down that start-up asks for. */
static pellet_status read_outputs(const char *yaml, size_t n, struct pellet_verdict *verdict,
                                  struct pellet_error *error)
{
    static const char key[] = "outputs";
    static const char begin[] = "\noutputs:";
    static const char end[] = "\nprevious:";
    const char *from = memmem(yaml, n, begin, sizeof begin - 1);
    const char *to = from ? memmem(from + 1, n - (size_t)(from + 1 - yaml), end, sizeof end - 1) : NULL;
    struct pellet_arena tree = {0};
    const struct pellet_yaml *root;
    const struct verdict_reading reading = {&verdict->arena, error};
    if (to == NULL)
        return PELLET_OK;
    pellet_status status = pellet_yaml_read(from + 1, (size_t)(to - from), &tree, &root, error);
    for (const struct verdict_field *field = pellet_verdict_fields; status == PELLET_OK && field->key;
         field++) {
        if (strcmp(field->key, key) == 0)
            status = take_field(field, verdict, root, &reading);
    }
    pellet_arena_free(&tree);
    return status;
}

pellet_status pellet_verdict_read_brief(const char *yaml, size_t n, struct pellet_verdict *verdict,
                                        struct pellet_error *error)
{
    struct pellet_verdict read;
    pellet_status status = check_frame(yaml, n, error);
    if (status == PELLET_OK)
        status = read_until(yaml, brief_length(yaml, n), VERDICT_AFTER_BRIEF, &read, error);
    if (status != PELLET_OK)
        return status;
    status = read_outputs(yaml, n, &read, error);
    if (status != PELLET_OK)
        pellet_arena_free(&read.arena);
    else
        *verdict = read;
    return status;
}
