// SPDX-License-Identifier: GPL-3.0-or-later
/* From nodes of a tree to values, with messages that say where, what was found and what is allowed. */
#include "core/yaml.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define PATH_MAX_BYTES 160

const struct pellet_yaml *pellet_yaml_get(const struct pellet_yaml *node, const char *key)
{
    if (node == NULL || node->kind != PELLET_YAML_MAPPING)
        return NULL;
    for (const struct pellet_yaml *child = node->first; child != NULL; child = child->next) {
        if (strcmp(child->key, key) == 0)
            return child;
    }
    return NULL;
}

const struct pellet_yaml *pellet_yaml_at(const struct pellet_yaml *node, size_t i)
{
    if (node == NULL)
        return NULL;
    const struct pellet_yaml *child = node->first;
    while (child != NULL && i-- > 0)
        child = child->next;
    return child;
}

bool pellet_yaml_is_null(const struct pellet_yaml *node)
{
    static const char *const nulls[] = {"", "~", "null", "Null", "NULL"};
    if (node->kind != PELLET_YAML_SCALAR || node->quoted)
        return false;
    for (size_t i = 0; i < sizeof nulls / sizeof *nulls; i++) {
        if (strcmp(node->text, nulls[i]) == 0)
            return true;
    }
    return false;
}

static size_t item_number(const struct pellet_yaml *node)
{
    size_t number = 1;
    for (const struct pellet_yaml *child = node->parent->first; child != node; child = child->next)
        number++;
    return number;
}

void pellet_yaml_path(const struct pellet_yaml *node, char *out, size_t size)
{
    const struct pellet_yaml *trail[PELLET_YAML_DEPTH_MAX + 1];
    size_t depth = 0;
    for (; node->parent != NULL; node = node->parent)
        trail[depth++] = node;
    size_t used = 0;
    out[0] = '\0';
    while (depth > 0 && used < size) {
        const struct pellet_yaml *step = trail[--depth];
        const int n = step->key != NULL
                          ? snprintf(out + used, size - used, "%s%.60s", used > 0 ? "." : "", step->key)
                          : snprintf(out + used, size - used, "[%zu]", item_number(step));
        used += n > 0 ? (size_t)n : 0;
    }
}

pellet_status pellet_yaml_fail(const struct pellet_yaml *node, pellet_status status,
                               struct pellet_error *error, const char *format, ...)
{
    if (error == NULL)
        return status;
    char path[PATH_MAX_BYTES];
    char message[sizeof error->message];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    pellet_yaml_path(node, path, sizeof path);
    return pellet_fail_at(error, status, node->line, node->column, "%s%s%s", path, path[0] ? ": " : "",
                          message);
}

/* A few words on what stands there, for the "found" of a message. */
static const char *found(const struct pellet_yaml *node, char out[80])
{
    static const char *const kinds[] = {"", "a list", "a mapping"};
    if (node->kind != PELLET_YAML_SCALAR)
        return kinds[node->kind];
    if (pellet_yaml_is_null(node))
        return "nothing";
    const size_t n = strlen(node->text);
    struct pellet_text visible = {0};
    pellet_text_add_visible(&visible, node->text, n < 40 ? n : 40);
    snprintf(out, 80, "\"%.72s%s\"", pellet_text_string(&visible), n > 40 ? "..." : "");
    pellet_text_free(&visible);
    return out;
}

static pellet_status fail_found(const struct pellet_yaml *node, pellet_status status,
                                struct pellet_error *error, const char *allowed)
{
    char buffer[80];
    return pellet_yaml_fail(node, status, error, "found %s, allowed is %s", found(node, buffer), allowed);
}

pellet_status pellet_yaml_expect(const struct pellet_yaml *node, enum pellet_yaml_kind kind,
                                 struct pellet_error *error)
{
    static const char *const kinds[] = {"one value", "a list", "a mapping of keys to values"};
    return node->kind == kind ? PELLET_OK : fail_found(node, PELLET_E_FORMAT, error, kinds[kind]);
}

/* "a, b or c" of a list that NULL ends, cut where the buffer ends. */
static void join(const char *const *words, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; words[i] != NULL && used < size; i++) {
        const char *before = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
        const int n = snprintf(out + used, size - used, "%s%s", before, words[i]);
        used += n > 0 ? (size_t)n : 0;
    }
}

static bool is_one_of(const char *word, const char *const *words, size_t *index)
{
    for (size_t i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], word) == 0) {
            *index = i;
            return true;
        }
    }
    return false;
}

pellet_status pellet_yaml_only(const struct pellet_yaml *node, const char *const *allowed,
                               struct pellet_error *error)
{
    const pellet_status status = pellet_yaml_expect(node, PELLET_YAML_MAPPING, error);
    if (status != PELLET_OK)
        return status;
    for (const struct pellet_yaml *child = node->first; child != NULL; child = child->next) {
        size_t index;
        if (is_one_of(child->key, allowed, &index))
            continue;
        char list[400];
        char path[PATH_MAX_BYTES];
        join(allowed, list, sizeof list);
        pellet_yaml_path(child, path, sizeof path);
        return pellet_fail_at(error, PELLET_E_FORMAT, child->key_line, child->key_column,
                              "%s: there is no such key, allowed is %s", path, list);
    }
    return PELLET_OK;
}

pellet_status pellet_yaml_need(const struct pellet_yaml *node, const char *key,
                               const struct pellet_yaml **value, struct pellet_error *error)
{
    const pellet_status status = pellet_yaml_expect(node, PELLET_YAML_MAPPING, error);
    if (status != PELLET_OK)
        return status;
    const struct pellet_yaml *child = pellet_yaml_get(node, key);
    if (child == NULL)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error, "the key \"%s\" is missing", key);
    *value = child;
    return PELLET_OK;
}

pellet_status pellet_yaml_string(const struct pellet_yaml *node, const char **value,
                                 struct pellet_error *error)
{
    if (node->kind != PELLET_YAML_SCALAR || pellet_yaml_is_null(node))
        return fail_found(node, PELLET_E_FORMAT, error, "a text");
    *value = node->text;
    return PELLET_OK;
}

pellet_status pellet_yaml_bool(const struct pellet_yaml *node, bool *value, struct pellet_error *error)
{
    static const char *const words[] = {"false", "no", "off", "true", "yes", "on"};
    for (size_t i = 0; node->kind == PELLET_YAML_SCALAR && i < 6; i++) {
        if (strcasecmp(node->text, words[i]) == 0) {
            *value = i >= 3;
            return PELLET_OK;
        }
    }
    return fail_found(node, PELLET_E_FORMAT, error, "true or false");
}

pellet_status pellet_yaml_integer(const struct pellet_yaml *node, int64_t lowest, int64_t highest,
                                  int64_t *value, struct pellet_error *error)
{
    char allowed[80];
    snprintf(allowed, sizeof allowed, "a whole number from %lld to %lld", (long long)lowest,
             (long long)highest);
    if (node->kind != PELLET_YAML_SCALAR || node->text[strspn(node->text, "+-0123456789")] != '\0')
        return fail_found(node, PELLET_E_NUMBER, error, allowed);
    char *end;
    errno = 0;
    const long long number = strtoll(node->text, &end, 10);
    if (end == node->text || *end != '\0')
        return fail_found(node, PELLET_E_NUMBER, error, allowed);
    if (errno == ERANGE || number < lowest || number > highest)
        return fail_found(node, PELLET_E_RANGE, error, allowed);
    *value = number;
    return PELLET_OK;
}

pellet_status pellet_yaml_number(const struct pellet_yaml *node, double *value, struct pellet_error *error)
{
    static const struct {
        const char *text;
        double value;
    } specials[] = {{".nan", NAN}, {".inf", INFINITY}, {"-.inf", -INFINITY}};
    if (node->kind != PELLET_YAML_SCALAR || node->quoted)
        return fail_found(node, PELLET_E_NUMBER, error, "a number");
    for (size_t i = 0; i < sizeof specials / sizeof *specials; i++) {
        if (strcmp(node->text, specials[i].text) == 0) {
            *value = specials[i].value;
            return PELLET_OK;
        }
    }
    if (pellet_number_parse(node->text, strlen(node->text), '.', value) != PELLET_OK)
        return fail_found(node, PELLET_E_NUMBER, error, "a number");
    return PELLET_OK;
}

/* "0.001 A" with few digits, for messages. */
static void show(double value, enum pellet_unit unit, char *out, size_t size)
{
    char number[32];
    pellet_number_round(value, 6, number);
    snprintf(out, size, "%s%s%s", number, unit == PELLET_UNIT_NONE ? "" : " ", pellet_unit_name(unit));
}

static pellet_status fail_outside(const struct pellet_yaml *node, enum pellet_unit unit, double lowest,
                                  double highest, struct pellet_error *error)
{
    char low[64];
    char high[64];
    char allowed[160];
    show(lowest, unit, low, sizeof low);
    show(highest, unit, high, sizeof high);
    snprintf(allowed, sizeof allowed, "%s to %s", low, high);
    return fail_found(node, PELLET_E_RANGE, error, allowed);
}

/* The parser of the text says itself what it found and what is allowed; the place is put before it. */
static pellet_status fail_inner(const struct pellet_yaml *node, const struct pellet_error *inner,
                                struct pellet_error *error)
{
    return pellet_yaml_fail(node, inner->status, error, "%s", inner->message);
}

pellet_status pellet_yaml_quantity(const struct pellet_yaml *node, enum pellet_unit wanted, double lowest,
                                   double highest, double *value, struct pellet_error *error)
{
    pellet_status status = pellet_yaml_expect(node, PELLET_YAML_SCALAR, error);
    if (status != PELLET_OK)
        return status;
    struct pellet_error inner = {0};
    double read;
    status = pellet_quantity_parse(node->text, wanted, &read, &inner);
    if (status != PELLET_OK)
        return fail_inner(node, &inner, error);
    if (!(read >= lowest && read <= highest))
        return fail_outside(node, wanted, lowest, highest, error);
    *value = read;
    return PELLET_OK;
}

pellet_status pellet_yaml_range(const struct pellet_yaml *node, enum pellet_unit wanted, double lowest,
                                double highest, double *low, double *high, struct pellet_error *error)
{
    pellet_status status = pellet_yaml_expect(node, PELLET_YAML_SCALAR, error);
    if (status != PELLET_OK)
        return status;
    struct pellet_error inner = {0};
    double from;
    double to;
    status = pellet_range_parse(node->text, wanted, &from, &to, &inner);
    if (status != PELLET_OK)
        return fail_inner(node, &inner, error);
    if (!(from >= lowest && to <= highest))
        return fail_outside(node, wanted, lowest, highest, error);
    *low = from;
    *high = to;
    return PELLET_OK;
}

pellet_status pellet_yaml_word(const struct pellet_yaml *node, const char *const *words, size_t *index,
                               struct pellet_error *error)
{
    if (node->kind == PELLET_YAML_SCALAR && is_one_of(node->text, words, index))
        return PELLET_OK;
    char list[400];
    join(words, list, sizeof list);
    return fail_found(node, PELLET_E_FORMAT, error, list);
}

pellet_status pellet_yaml_format(const struct pellet_yaml *node, int newest, struct pellet_error *error)
{
    const struct pellet_yaml *format = NULL;
    int64_t number = 0;
    pellet_status status = pellet_yaml_need(node, "format", &format, error);
    if (format == NULL)
        return status;
    status = pellet_yaml_integer(format, 1, INT32_MAX, &number, error);
    if (status == PELLET_OK && number > newest)
        return pellet_yaml_fail(format, PELLET_E_LIMIT, error,
                                "found %lld, this program understands up to %d: it is older than the file",
                                (long long)number, newest);
    return status;
}
