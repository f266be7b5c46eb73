// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * YAML as people write it by hand and as strangers may plant it: read through libyaml into a small tree, with
 * limits, and looked up with messages that say what was found, where, and what is allowed. Rule sets, the
 * configuration and verdict files are read this way and no other.
 */
#ifndef PELLET_CORE_YAML_H
#define PELLET_CORE_YAML_H

#include "pellet/core.h"

#define PELLET_YAML_BYTES_MAX ((size_t)1 << 20)
#define PELLET_YAML_DEPTH_MAX 8   /* the document's own mapping is depth 1 */
#define PELLET_YAML_KEYS_MAX  256 /* in one mapping; keeps the search for a key twice from growing large */

enum pellet_yaml_kind { PELLET_YAML_SCALAR, PELLET_YAML_SEQUENCE, PELLET_YAML_MAPPING };

/* One node. Everything is owned by the arena it was read into; strings are terminated and hold no NUL. */
struct pellet_yaml {
    enum pellet_yaml_kind kind;
    size_t line, column;              /* of the node, from 1 */
    const struct pellet_yaml *parent; /* NULL at the top */
    const char *key;                  /* its name where the parent is a mapping, else NULL */
    size_t key_line, key_column;      /* of that name */
    const char *text;                 /* a scalar's text; NULL for the other kinds */
    bool quoted;                      /* the scalar stood in quotes, so it is text and not a number */
    size_t count;                     /* children of a sequence or a mapping */
    const struct pellet_yaml *first;  /* the first child, and through `next` the others in their order */
    const struct pellet_yaml *next;
};

/*
 * Read one YAML document.
 *
 * Given:     bytes[n]  UTF-8; at most PELLET_YAML_BYTES_MAX
 *            arena     takes the tree; what a failed reading left in it goes with the arena
 * Returned:  root      the document's node; untouched on error
 * Errors:    E_LIMIT   too large, too deep, too many keys
 *            E_FORMAT  not YAML; no document or more than one; an anchor, alias, tag or directive; a key that
 *                      stands twice or is not a plain word; a NUL in a text. With line and column.
 *            E_MEMORY
 */
pellet_status pellet_yaml_read(const char *bytes, size_t n, struct pellet_arena *arena,
                               const struct pellet_yaml **root, struct pellet_error *error);

/* The value of `key` in a mapping, or NULL where it is not there or `node` is NULL or not a mapping. */
const struct pellet_yaml *pellet_yaml_get(const struct pellet_yaml *node, const char *key);

/* Child i of a sequence or mapping, or NULL. Walk `first` and `next` where all are wanted. */
const struct pellet_yaml *pellet_yaml_at(const struct pellet_yaml *node, size_t i);

/* Nothing, ~ or null, not in quotes. */
bool pellet_yaml_is_null(const struct pellet_yaml *node);

/* "checks.noise.limit", "stations[2].folder": where a node stands, for messages. `out` is always
 * terminated. */
void pellet_yaml_path(const struct pellet_yaml *node, char *out, size_t size);

/*
 * The functions below take a node that is there (never NULL) and read it as one kind of value. On error the
 * output is untouched, and `error` holds line, column, the path, what was found and what is allowed, for
 * example: checks.noise.limit: found "5", allowed is 1e-06 A to 1 A.
 */

/* E_FORMAT unless the node is of this kind. */
pellet_status pellet_yaml_expect(const struct pellet_yaml *node, enum pellet_yaml_kind kind,
                                 struct pellet_error *error);
/* E_FORMAT at the first key of a mapping that is not in `allowed` (ended by NULL); lists what is allowed. */
pellet_status pellet_yaml_only(const struct pellet_yaml *node, const char *const *allowed,
                               struct pellet_error *error);
/* E_FORMAT that names a key that must be there and is not; *value is set where it is. */
pellet_status pellet_yaml_need(const struct pellet_yaml *node, const char *key,
                               const struct pellet_yaml **value, struct pellet_error *error);
/* Any scalar but null; *value belongs to the arena. */
pellet_status pellet_yaml_string(const struct pellet_yaml *node, const char **value,
                                 struct pellet_error *error);
/* true, yes, on; false, no, off. */
pellet_status pellet_yaml_bool(const struct pellet_yaml *node, bool *value, struct pellet_error *error);
/* A whole number in [lowest, highest]; E_NUMBER, E_RANGE. */
pellet_status pellet_yaml_integer(const struct pellet_yaml *node, int64_t lowest, int64_t highest,
                                  int64_t *value, struct pellet_error *error);
/* A number; also .nan, .inf and -.inf. E_NUMBER. */
pellet_status pellet_yaml_number(const struct pellet_yaml *node, double *value, struct pellet_error *error);
/* A number with its unit, given in `wanted`, in [lowest, highest]; E_UNIT, E_NUMBER, E_RANGE. */
pellet_status pellet_yaml_quantity(const struct pellet_yaml *node, enum pellet_unit wanted, double lowest,
                                   double highest, double *value, struct pellet_error *error);
/* "1950..2050 cm-1", both ends in [lowest, highest]; low <= high comes out. E_UNIT, E_NUMBER, E_RANGE. */
pellet_status pellet_yaml_range(const struct pellet_yaml *node, enum pellet_unit wanted, double lowest,
                                double highest, double *low, double *high, struct pellet_error *error);
/* One of `words` (ended by NULL): its index. E_FORMAT lists them. */
pellet_status pellet_yaml_word(const struct pellet_yaml *node, const char *const *words, size_t *index,
                               struct pellet_error *error);
/* The `format` key of a mapping, which must be there: E_LIMIT where it is above `newest`. */
pellet_status pellet_yaml_format(const struct pellet_yaml *node, int newest, struct pellet_error *error);

/* E_FORMAT (or `status`) at a node: its path, then the message. For what only the caller can know
 * is wrong. */
pellet_status pellet_yaml_fail(const struct pellet_yaml *node, pellet_status status,
                               struct pellet_error *error, const char *format, ...) PELLET_PRINTF(4, 5);

#endif
