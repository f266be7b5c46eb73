// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The room that every other room stands on: status and errors, text buffers, an arena, numbers and units,
 * time, hashes and safe files. Nothing here knows what a spectrum is.
 */
#ifndef PELLET_CORE_H
#define PELLET_CORE_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>
#include <time.h>

#define PELLET_VERSION "0.1.0"

#if defined(__GNUC__)
#define PELLET_PRINTF(format_at, first_at) __attribute__((format(printf, format_at, first_at)))
#else
#define PELLET_PRINTF(format_at, first_at)
#endif

/* ---------------------------------------------------------------- status and errors */

/* Code, identifier and text come from one list, so that they cannot drift apart. */
#define PELLET_STATUS_LIST(X)                                                                                \
    X(OK, "ok", "no error")                                                                                  \
    X(E_MEMORY, "out-of-memory", "memory could not be had")                                                  \
    X(E_IO, "input-output", "the system could not read or write")                                            \
    X(E_SPACE, "no-space", "no room, quota used up or read-only")                                            \
    X(E_MISSING, "missing", "there is nothing of that name")                                                 \
    X(E_DENIED, "denied", "the rights do not allow it")                                                      \
    X(E_KIND, "not-a-file", "not a regular file")                                                            \
    X(E_CHANGED, "changed", "the file changed while it was read")                                            \
    X(E_BUSY, "busy", "somebody else holds it")                                                              \
    X(E_LIMIT, "over-limit", "larger than allowed")                                                          \
    X(E_FORMAT, "bad-format", "the content is not what it should be")                                        \
    X(E_NUMBER, "not-a-number", "not a finite decimal number")                                               \
    X(E_UNIT, "bad-unit", "not a unit allowed here")                                                         \
    X(E_RANGE, "out-of-range", "outside the range allowed")                                                  \
    X(E_SHORT, "too-short", "fewer points than this needs")                                                  \
    X(E_FIT, "no-fit", "a fit did not come to an answer")                                                    \
    X(E_USAGE, "usage", "called the wrong way")

typedef enum pellet_status {
#define PELLET_STATUS_ENUM(code, id, text) PELLET_##code,
    PELLET_STATUS_LIST(PELLET_STATUS_ENUM)
#undef PELLET_STATUS_ENUM
        PELLET_STATUS_COUNT
} pellet_status;

/* What went wrong and where. Plain data: nothing to free. line and column count from 1; 0 is "not known". */
struct pellet_error {
    pellet_status status;
    int sys_errno; /* 0 where no system call failed */
    size_t line;
    size_t column;
    char file[256];    /* empty where no file is concerned */
    char message[512]; /* what was found, what is allowed, what to do: one line */
};

/* The identifier ("bad-format") and the text of a status; an unknown number gives "unknown". */
const char *pellet_status_id(pellet_status status);
const char *pellet_status_text(pellet_status status);

/*
 * Fill `error` (may be NULL; starts as {0}) and return `status`, so that a function can end with
 * `return pellet_fail(...)`.
 * The file name set in `error` before stays as it is; line, column and errno are set to 0 by pellet_fail.
 */
pellet_status pellet_fail(struct pellet_error *error, pellet_status status, const char *format, ...)
    PELLET_PRINTF(3, 4);
pellet_status pellet_fail_at(struct pellet_error *error, pellet_status status, size_t line, size_t column,
                             const char *format, ...) PELLET_PRINTF(5, 6);
/* The status follows from `sys_errno` (ENOSPC gives E_SPACE and so on); its text is added to the message. */
pellet_status pellet_fail_errno(struct pellet_error *error, int sys_errno, const char *format, ...)
    PELLET_PRINTF(3, 4);
/*
 * Which file the error is about, for messages: bytes that cannot be shown become \xNN, long names are cut.
 * All four accept NULL for `error`. A message is always one line of visible UTF-8, whatever its arguments
 * are.
 */
void pellet_error_set_file(struct pellet_error *error, const char *name);

/* ---------------------------------------------------------------- text buffers */

/*
 * A growing, always terminated byte string. The zero value is empty and ready. A failed allocation sets
 * `failed` and the text stays as it was; callers test once at the end with pellet_text_status.
 */
struct pellet_text {
    char *data; /* NULL while empty */
    size_t length;
    size_t capacity;
    bool failed;
};

void pellet_text_free(struct pellet_text *text);  /* also back to the zero value; NULL is allowed */
void pellet_text_clear(struct pellet_text *text); /* length 0, not failed; memory kept */
void pellet_text_add(struct pellet_text *text, const void *bytes, size_t n);
void pellet_text_adds(struct pellet_text *text, const char *string);
void pellet_text_addc(struct pellet_text *text, char c);
void pellet_text_addf(struct pellet_text *text, const char *format, ...) PELLET_PRINTF(2, 3);
const char *pellet_text_string(const struct pellet_text *text); /* "" when empty, never NULL */
pellet_status pellet_text_status(const struct pellet_text *text);

/*
 * Strings that came from a file, made safe for one kind of reader. Input is `n` bytes of any content; what is
 * not valid UTF-8, control characters, and marks that turn the reading direction become \xNN. (JSON keeps
 * valid control characters, as \uNNNN; a URI keeps every byte, as %NN.)
 */
void pellet_text_add_visible(struct pellet_text *text, const char *bytes, size_t n); /* terminal and logs */
void pellet_text_add_html(struct pellet_text *text, const char *bytes, size_t n); /* HTML, SVG: & < > " ' */
void pellet_text_add_uri(struct pellet_text *text, const char *bytes,
                         size_t n); /* percent-encoded, "/" kept */
void pellet_text_add_csv(struct pellet_text *text, const char *bytes, size_t n); /* quoted; = + - @ defused */
void pellet_text_add_json(struct pellet_text *text, const char *bytes, size_t n); /* with the quotes */
bool pellet_utf8_valid(const char *bytes, size_t n);

/* ---------------------------------------------------------------- arena */

/*
 * Many small strings with one owner: allocate from the arena, free them all at once. The zero value is ready.
 * All functions return NULL when memory runs out.
 */
struct pellet_arena {
    struct pellet_arena_block *newest;
};

void *pellet_arena_alloc(struct pellet_arena *arena, size_t n); /* zeroed, aligned for any type */
char *pellet_arena_copy(struct pellet_arena *arena, const char *bytes, size_t n); /* terminated */
char *pellet_arena_string(struct pellet_arena *arena, const char *string);        /* NULL gives NULL */
char *pellet_arena_printf(struct pellet_arena *arena, const char *format, ...) PELLET_PRINTF(2, 3);
void pellet_arena_free(struct pellet_arena *arena);

/* ---------------------------------------------------------------- numbers and units */

#define PELLET_NUMBER_BYTES_MAX 1024 /* the longest text taken for a number */

/*
 * One finite decimal number that fills all of `bytes[0..n)`, whatever the locale. `decimal` is '.' or ','.
 * Exponents may be written e, E, d or D. What is too small for a double becomes 0. Returns E_NUMBER otherwise
 * (blanks, hex, inf, nan, overflow, too long), and *value stays untouched.
 */
pellet_status pellet_number_parse(const char *bytes, size_t n, char decimal, double *value);

/*
 * A decimal of 15, else 16, else 17 digits that reads back as the same double, with a point before an
 * exponent as YAML 1.1 wants it; ".nan", ".inf", "-.inf" as YAML writes them.
 */
void pellet_number_format(double value, char out[32]);

/*
 * `digits` (1..17) significant digits, plain notation from 1e-4 up to 1e15, zeros after the point dropped:
 * for files and people. 1068.4 with 3 digits is "1070".
 */
void pellet_number_round(double value, int digits, char out[32]);

#define PELLET_UNIT_LIST(X)                                                                                  \
    X(NONE, "", 1.0, NONE)                                                                                   \
    X(ABSORBANCE, "A", 1.0, ABSORBANCE)                                                                      \
    X(PERCENT, "%", 1.0, PERCENT)                                                                            \
    X(WAVENUMBER, "cm-1", 1.0, WAVENUMBER)                                                                   \
    X(UG_CM2, "ug/cm2", 1.0, UG_CM2)                                                                         \
    X(MM, "mm", 1.0, MM)                                                                                     \
    X(MG, "mg", 1.0, MG)                                                                                     \
    X(TONNE, "t", 1.0, TONNE)                                                                                \
    X(MPA, "MPa", 1.0, MPA)                                                                                  \
    X(SECOND, "s", 1.0, SECOND)                                                                              \
    X(MINUTE, "min", 60.0, SECOND)                                                                           \
    X(HOUR, "h", 3600.0, SECOND)                                                                             \
    X(DAY, "d", 86400.0, SECOND)                                                                             \
    X(BYTE, "B", 1.0, BYTE)                                                                                  \
    X(KIB, "KiB", 1024.0, BYTE)                                                                              \
    X(MIB, "MiB", 1048576.0, BYTE)

/* Each unit: its name as written, and how many of its base unit it makes. */
enum pellet_unit {
#define PELLET_UNIT_ENUM(code, name, factor, base) PELLET_UNIT_##code,
    PELLET_UNIT_LIST(PELLET_UNIT_ENUM)
#undef PELLET_UNIT_ENUM
        PELLET_UNIT_COUNT
};

const char *pellet_unit_name(enum pellet_unit unit);

/*
 * A limit as written: "60 min", "5 %", "0.02 A", "30 ug/cm2". The value comes in `wanted` (so "1 h" read as
 * minutes is 60). A bare number is refused (E_UNIT) unless `wanted` is PELLET_UNIT_NONE. On error `value` is
 * untouched and `error` says what was found and what is allowed.
 */
pellet_status pellet_quantity_parse(const char *string, enum pellet_unit wanted, double *value,
                                    struct pellet_error *error);
/* "1950..2050 cm-1", either order; low <= high comes out. */
pellet_status pellet_range_parse(const char *string, enum pellet_unit wanted, double *low, double *high,
                                 struct pellet_error *error);

/* ---------------------------------------------------------------- time */

/* Nanoseconds since 1970-01-01T00:00:00Z. */
typedef int64_t pellet_ns;
#define PELLET_NO_TIME  INT64_MIN
#define PELLET_NS_PER_S INT64_C(1000000000)

/* "2026-03-04T10:12:31Z" (whole seconds, as files hold it); PELLET_NO_TIME gives "". */
void pellet_time_format(pellet_ns time, char out[32]);
/* The same back; fractions of a second and offsets (+01:00) are understood. E_FORMAT otherwise. */
pellet_status pellet_time_parse(const char *string, pellet_ns *time);
/*
 * A civil time (month 1..12, day 1..31) at its own offset, else in a zone: "" or NULL is UTC, "local" the
 * machine's own, else a name such as "Europe/Berlin". Safe beside other threads; the process's own zone is
 * neither asked nor changed. Of a time that the clocks showed twice the first is taken; a time that they
 * skipped counts as if they had not been moved yet.
 *
 * Errors:  E_RANGE    no such date, or outside 1677..2262
 *          E_MISSING  no such zone
 *          E_FORMAT   the system's file for the zone is damaged
 */
struct pellet_civil {
    int year, month, day, hour, minute;
    double second;
    bool has_offset;    /* the label itself gave an offset from UTC */
    int offset_minutes; /* east positive */
};
pellet_status pellet_time_from_civil(const struct pellet_civil *civil, const char *zone, pellet_ns *time);
/*
 * For people: "2026-03-04 11:12" in `zone` (as above), with `format` as strftime takes it. PELLET_NO_TIME
 * gives
 * "". E_LIMIT where `size` or 255 bytes do not hold it; `out` is untouched on error.
 */
pellet_status pellet_time_local(pellet_ns time, const char *zone, const char *format, char *out, size_t size);

/* ---------------------------------------------------------------- hashes */

#define PELLET_SHA256_HEX 65 /* 64 digits and the end */

void pellet_sha256_hex(const void *bytes, size_t n, char out[PELLET_SHA256_HEX]);

/*
 * For tables of names that strangers choose: without the key nobody can find names that collide. SipHash-2-4
 * (Aumasson and Bernstein 2012, https://www.aumasson.jp/siphash/siphash.pdf).
 */
uint64_t pellet_keyed_hash(const uint64_t key[2], const void *bytes, size_t n);
void pellet_base64(const void *bytes, size_t n, struct pellet_text *out);

/* ---------------------------------------------------------------- safe files */

/* What a file was when it was read: a verdict is valid only for this. */
struct pellet_file_id {
    uint64_t device, inode, bytes;
    pellet_ns mtime_ns;
    pellet_ns ctime_ns;
};

/*
 * A time of a file, which whoever owns the file can set to anything: held within 1827..2112, so that no sum
 * or difference of two of them overflows.
 */
pellet_ns pellet_ns_of_file(struct timespec time);

/* The content of a file, owned; the zero value is empty. One byte beyond `n` is always 0. */
struct pellet_bytes {
    char *data;
    size_t n;
};
void pellet_bytes_free(struct pellet_bytes *bytes);

/*
 * Open `name` (may hold slashes) beneath the directory `folder`, never through a symbolic link and never out
 * of the folder (openat2 with RESOLVE_BENEATH, component-wise O_NOFOLLOW where the kernel lacks it).
 * Close-on-exec is always set. Returns -1 and fills `error` on failure.
 */
int pellet_open_beneath(int folder, const char *name, int flags, mode_t mode, struct pellet_error *error);

/*
 * Read a regular file whole through one descriptor, then stat descriptor and path again: if either changed
 * meanwhile, E_CHANGED. FIFOs and devices are E_KIND and never block; more than `limit` bytes is E_LIMIT.
 *
 * Returned:  bytes  owned by the caller, untouched on error
 *            id     what was read; may be NULL
 */
pellet_status pellet_read_file(int folder, const char *name, uint64_t limit, struct pellet_bytes *bytes,
                               struct pellet_file_id *id, struct pellet_error *error);

/*
 * Write `bytes` under a temporary name (.pelletd-*.tmp, O_EXCL, 0666 under umask) in the directory of `name`
 * and rename it into place: a reader sees the old file or the new one, never half of one. The temporary is
 * removed on every failure. Durable only after the caller's grouped sync (pellet_sync_folder).
 */
pellet_status pellet_write_atomic(int folder, const char *name, const void *bytes, size_t n,
                                  struct pellet_error *error);
pellet_status pellet_make_folder(int folder, const char *name, struct pellet_error *error); /* with parents */
pellet_status pellet_sync_folder(int folder,
                                 struct pellet_error *error); /* syncfs of the folder's file system */

#endif
