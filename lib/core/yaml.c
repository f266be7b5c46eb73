// SPDX-License-Identifier: GPL-3.0-or-later
/* From libyaml's events to a tree. Looking up is in yaml_values.c. */
#include "core/yaml.h"

#include <string.h>
#include <yaml.h>

/* What a reading carries along. The stack holds the collections that are open, outermost first. */
struct reading {
    yaml_parser_t parser;
    const char *bytes;
    struct pellet_arena *arena;
    struct pellet_error *error;
    size_t depth;
    struct pellet_yaml *open[PELLET_YAML_DEPTH_MAX];
    struct pellet_yaml *last[PELLET_YAML_DEPTH_MAX]; /* the newest child of each */
    struct pellet_yaml *key;                         /* a key read that waits for its value */
    struct pellet_yaml *root;
};

static size_t event_line(const yaml_event_t *event)
{
    return event->start_mark.line + 1;
}

static size_t event_column(const yaml_event_t *event)
{
    return event->start_mark.column + 1;
}

static pellet_status refuse(struct reading *reading, const yaml_event_t *event, pellet_status status,
                            const char *what)
{
    return pellet_fail_at(reading->error, status, event_line(event), event_column(event), "%s", what);
}

/* A reader error of libyaml (bytes that are not UTF-8) knows only its offset. */
static pellet_status fail_reader(struct reading *reading)
{
    const yaml_parser_t *parser = &reading->parser;
    size_t line = 1;
    size_t column = 1;
    for (size_t i = 0; i < parser->problem_offset; i++) {
        column++;
        if (reading->bytes[i] == '\n') {
            line++;
            column = 1;
        }
    }
    return pellet_fail_at(reading->error, PELLET_E_FORMAT, line, column, "not YAML: %s", parser->problem);
}

static pellet_status fail_parser(struct reading *reading)
{
    const yaml_parser_t *parser = &reading->parser;
    if (parser->error == YAML_MEMORY_ERROR)
        return pellet_fail(reading->error, PELLET_E_MEMORY, "no memory to read YAML");
    if (parser->error == YAML_READER_ERROR)
        return fail_reader(reading);
    return pellet_fail_at(reading->error, PELLET_E_FORMAT, parser->problem_mark.line + 1,
                          parser->problem_mark.column + 1, "not YAML: %s%s%s",
                          parser->context != NULL ? parser->context : "", parser->context != NULL ? ", " : "",
                          parser->problem);
}

static struct pellet_yaml *node_new(struct reading *reading, enum pellet_yaml_kind kind,
                                    const yaml_event_t *event)
{
    struct pellet_yaml *node = pellet_arena_alloc(reading->arena, sizeof *node);
    if (node == NULL) {
        pellet_fail(reading->error, PELLET_E_MEMORY, "no memory to read YAML");
        return NULL;
    }
    node->kind = kind;
    node->line = event_line(event);
    node->column = event_column(event);
    return node;
}

/* A scalar in key position: remembered until its value comes. */
static pellet_status take_key(struct reading *reading, struct pellet_yaml *node, const yaml_event_t *event)
{
    const struct pellet_yaml *mapping = reading->open[reading->depth - 1];
    if (node->kind != PELLET_YAML_SCALAR)
        return refuse(reading, event, PELLET_E_FORMAT, "a key must be a word, not a list or a mapping");
    const struct pellet_yaml *twin = pellet_yaml_get(mapping, node->text);
    if (twin != NULL)
        return pellet_fail_at(reading->error, PELLET_E_FORMAT, node->line, node->column,
                              "the key \"%.80s\" stands twice, first in line %zu", node->text,
                              twin->key_line);
    if (mapping->count == PELLET_YAML_KEYS_MAX)
        return pellet_fail_at(reading->error, PELLET_E_LIMIT, node->line, node->column,
                              "more than %d keys in one mapping", PELLET_YAML_KEYS_MAX);
    reading->key = node;
    return PELLET_OK;
}

/* Hang a node where the reading stands: at the top, as an item, as a key or as a key's value. */
static pellet_status take_node(struct reading *reading, struct pellet_yaml *node, const yaml_event_t *event)
{
    if (reading->depth == 0) {
        reading->root = node;
        return PELLET_OK;
    }
    struct pellet_yaml *parent = reading->open[reading->depth - 1];
    if (parent->kind == PELLET_YAML_MAPPING) {
        if (reading->key == NULL)
            return take_key(reading, node, event);
        node->key = reading->key->text;
        node->key_line = reading->key->line;
        node->key_column = reading->key->column;
        reading->key = NULL;
    }
    node->parent = parent;
    struct pellet_yaml **last = &reading->last[reading->depth - 1];
    if (*last == NULL)
        parent->first = node;
    else
        (*last)->next = node;
    *last = node;
    parent->count++;
    return PELLET_OK;
}

static pellet_status on_scalar(struct reading *reading, const yaml_event_t *event)
{
    const char *text = (const char *)event->data.scalar.value;
    const size_t length = event->data.scalar.length;
    if (event->data.scalar.anchor != NULL)
        return refuse(reading, event, PELLET_E_FORMAT, "anchors are not allowed");
    if (event->data.scalar.tag != NULL)
        return refuse(reading, event, PELLET_E_FORMAT, "tags are not allowed");
    if (memchr(text, '\0', length) != NULL)
        return refuse(reading, event, PELLET_E_FORMAT, "a text must not hold the character NUL");
    struct pellet_yaml *node = node_new(reading, PELLET_YAML_SCALAR, event);
    if (node == NULL)
        return PELLET_E_MEMORY;
    node->quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    node->text = pellet_arena_copy(reading->arena, text, length);
    if (node->text == NULL)
        return pellet_fail(reading->error, PELLET_E_MEMORY, "no memory to read YAML");
    return take_node(reading, node, event);
}

static pellet_status open_collection(struct reading *reading, enum pellet_yaml_kind kind,
                                     const yaml_event_t *event, const void *anchor, const void *tag)
{
    if (anchor != NULL)
        return refuse(reading, event, PELLET_E_FORMAT, "anchors are not allowed");
    if (tag != NULL)
        return refuse(reading, event, PELLET_E_FORMAT, "tags are not allowed");
    if (reading->depth == PELLET_YAML_DEPTH_MAX)
        return refuse(reading, event, PELLET_E_LIMIT, "nested more than 8 deep");
    struct pellet_yaml *node = node_new(reading, kind, event);
    if (node == NULL)
        return PELLET_E_MEMORY;
    const pellet_status status = take_node(reading, node, event);
    if (status != PELLET_OK)
        return status;
    reading->open[reading->depth] = node;
    reading->last[reading->depth] = NULL;
    reading->depth++;
    return PELLET_OK;
}

static pellet_status on_event(struct reading *reading, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (event->data.document_start.tag_directives.start != event->data.document_start.tag_directives.end)
            return refuse(reading, event, PELLET_E_FORMAT, "directives for tags are not allowed");
        if (reading->root != NULL)
            return refuse(reading, event, PELLET_E_FORMAT, "a second document is not allowed");
        return PELLET_OK;
    case YAML_ALIAS_EVENT:
        return refuse(reading, event, PELLET_E_FORMAT, "aliases are not allowed");
    case YAML_SCALAR_EVENT:
        return on_scalar(reading, event);
    case YAML_SEQUENCE_START_EVENT:
        return open_collection(reading, PELLET_YAML_SEQUENCE, event, event->data.sequence_start.anchor,
                               event->data.sequence_start.tag);
    case YAML_MAPPING_START_EVENT:
        return open_collection(reading, PELLET_YAML_MAPPING, event, event->data.mapping_start.anchor,
                               event->data.mapping_start.tag);
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        reading->depth--;
        return PELLET_OK;
    default:
        return PELLET_OK;
    }
}

static pellet_status read_events(struct reading *reading)
{
    for (bool more = true; more;) {
        yaml_event_t event;
        if (!yaml_parser_parse(&reading->parser, &event))
            return fail_parser(reading);
        const pellet_status status = on_event(reading, &event);
        more = event.type != YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
        if (status != PELLET_OK)
            return status;
    }
    if (reading->root == NULL)
        return pellet_fail_at(reading->error, PELLET_E_FORMAT, 1, 1, "there is nothing in it");
    return PELLET_OK;
}

pellet_status pellet_yaml_read(const char *bytes, size_t n, struct pellet_arena *arena,
                               const struct pellet_yaml **root, struct pellet_error *error)
{
    if (n > PELLET_YAML_BYTES_MAX)
        return pellet_fail(error, PELLET_E_LIMIT, "%zu bytes of YAML; at most 1 MiB is read", n);
    struct reading reading = {.bytes = bytes, .arena = arena, .error = error};
    if (!yaml_parser_initialize(&reading.parser))
        return pellet_fail(error, PELLET_E_MEMORY, "no memory to read YAML");
    yaml_parser_set_encoding(&reading.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reading.parser, (const unsigned char *)bytes, n);
    const pellet_status status = read_events(&reading);
    yaml_parser_delete(&reading.parser);
    if (status == PELLET_OK)
        *root = reading.root;
    return status;
}
