// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/c_locale.h"
#include "core/utf8.h"
#include "pellet/core.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *id, *text;
} statuses[] = {
#define STATUS_ROW(code, id, text) [PELLET_##code] = {id, text},
    PELLET_STATUS_LIST(STATUS_ROW)
#undef STATUS_ROW
};

const char *pellet_status_id(pellet_status status)
{
    return (unsigned)status < PELLET_STATUS_COUNT ? statuses[status].id : "unknown";
}

const char *pellet_status_text(pellet_status status)
{
    return (unsigned)status < PELLET_STATUS_COUNT ? statuses[status].text : "unknown";
}

/* What is not here is E_IO. EXDEV is how openat2 says that a name leads out of its folder. */
static const struct {
    int sys_errno;
    pellet_status status;
} errnos[] = {
    {ENOMEM, PELLET_E_MEMORY},   {EMFILE, PELLET_E_MEMORY},  {ENFILE, PELLET_E_MEMORY},
    {ENOSPC, PELLET_E_SPACE},    {EDQUOT, PELLET_E_SPACE},   {EROFS, PELLET_E_SPACE},
    {EFBIG, PELLET_E_SPACE},     {ENOENT, PELLET_E_MISSING}, {EACCES, PELLET_E_DENIED},
    {EPERM, PELLET_E_DENIED},    {EXDEV, PELLET_E_DENIED},   {EISDIR, PELLET_E_KIND},
    {ENOTDIR, PELLET_E_KIND},    {ELOOP, PELLET_E_KIND},     {ENXIO, PELLET_E_KIND},
    {ENODEV, PELLET_E_KIND},     {ESTALE, PELLET_E_CHANGED}, {EBUSY, PELLET_E_BUSY},
    {EAGAIN, PELLET_E_BUSY},     {ETXTBSY, PELLET_E_BUSY},   {ENAMETOOLONG, PELLET_E_LIMIT},
    {EOVERFLOW, PELLET_E_LIMIT},
};

static pellet_status status_from_errno(int sys_errno)
{
    for (size_t i = 0; i < sizeof errnos / sizeof *errnos; i++)
        if (errnos[i].sys_errno == sys_errno)
            return errnos[i].status;
    return PELLET_E_IO;
}

/* Copy text for people: one line, \xNN for what cannot be shown, cut at the end of a character. */
static void copy_visible(char *to, size_t size, const char *from)
{
    const size_t n = strlen(from);
    size_t used = 0;
    for (size_t at = 0, length; at < n; at += length) {
        char piece[5] = "";
        uint32_t code = 0;
        length = pellet_utf8_decode(from + at, n - at, &code);
        if (length > 0 && pellet_utf8_visible(code)) {
            memcpy(piece, from + at, length);
        } else {
            length = 1;
            snprintf(piece, sizeof piece, "\\x%02X", (unsigned char)from[at]);
        }
        const size_t piece_length = strlen(piece);
        if (used + piece_length >= size)
            break;
        memcpy(to + used, piece, piece_length);
        used += piece_length;
    }
    to[used] = '\0';
}

/* The message is built aside first: its arguments may point into `error` itself. */
static void error_fill(struct pellet_error *error, pellet_status status, int sys_errno, const char *format,
                       va_list arguments) PELLET_PRINTF(4, 0);

static void error_fill(struct pellet_error *error, pellet_status status, int sys_errno, const char *format,
                       va_list arguments)
{
    char message[sizeof error->message];
    const int n = vsnprintf(message, sizeof message, format, arguments);
    const size_t used = n < 0 ? 0 : (size_t)n;
    if (sys_errno != 0 && used < sizeof message)
        snprintf(message + used, sizeof message - used, ": %s", strerror_l(sys_errno, pellet_c_locale()));
    copy_visible(error->message, sizeof error->message, message);
    error->status = status;
    error->sys_errno = sys_errno;
    error->line = 0;
    error->column = 0;
}

pellet_status pellet_fail(struct pellet_error *error, pellet_status status, const char *format, ...)
{
    if (error == NULL)
        return status;
    va_list arguments;
    va_start(arguments, format);
    error_fill(error, status, 0, format, arguments);
    va_end(arguments);
    return status;
}

pellet_status pellet_fail_at(struct pellet_error *error, pellet_status status, size_t line, size_t column,
                             const char *format, ...)
{
    if (error == NULL)
        return status;
    va_list arguments;
    va_start(arguments, format);
    error_fill(error, status, 0, format, arguments);
    va_end(arguments);
    error->line = line;
    error->column = column;
    return status;
}

pellet_status pellet_fail_errno(struct pellet_error *error, int sys_errno, const char *format, ...)
{
    const pellet_status status = status_from_errno(sys_errno);
    if (error == NULL)
        return status;
    va_list arguments;
    va_start(arguments, format);
    error_fill(error, status, sys_errno, format, arguments);
    va_end(arguments);
    return status;
}

void pellet_error_set_file(struct pellet_error *error, const char *name)
{
    if (error == NULL)
        return;
    char aside[sizeof error->file];
    copy_visible(aside, sizeof aside, name);
    memcpy(error->file, aside, sizeof aside);
}
