// SPDX-License-Identifier: GPL-3.0-or-later
/* Strings of unknown origin, made safe for a terminal, HTML, a URI, a spreadsheet or JSON. */
#include "core/utf8.h"
#include "pellet/core.h"

#include <string.h>

/* One kind of reader: how a visible character and how a control character are written for it. */
struct escaper {
    void (*visible)(struct pellet_text *text, const char *at, size_t length);
    void (*hidden)(struct pellet_text *text, const char *at, size_t length, uint32_t code);
    const char *stray; /* format of a byte that is not UTF-8 */
};

static void add_escaped(struct pellet_text *text, const char *bytes, size_t n, const struct escaper *escaper)
{
    for (size_t at = 0, length; at < n; at += length) {
        uint32_t code = 0;
        length = pellet_utf8_decode(bytes + at, n - at, &code);
        if (length == 0) {
            length = 1;
            pellet_text_addf(text, "%s%02X", escaper->stray, (unsigned)(unsigned char)bytes[at]);
        } else if (pellet_utf8_visible(code)) {
            escaper->visible(text, bytes + at, length);
        } else {
            escaper->hidden(text, bytes + at, length, code);
        }
    }
}

static void hidden_as_bytes(struct pellet_text *text, const char *at, size_t length, uint32_t code)
{
    (void)code;
    for (size_t i = 0; i < length; i++)
        pellet_text_addf(text, "\\x%02X", (unsigned)(unsigned char)at[i]);
}

static void visible_as_is(struct pellet_text *text, const char *at, size_t length)
{
    pellet_text_add(text, at, length);
}

void pellet_text_add_visible(struct pellet_text *text, const char *bytes, size_t n)
{
    static const struct escaper terminal = {visible_as_is, hidden_as_bytes, "\\x"};
    add_escaped(text, bytes, n, &terminal);
}

static void visible_in_html(struct pellet_text *text, const char *at, size_t length)
{
    static const char special[] = "&<>\"'";
    static const char *const entity[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&#39;"};
    const char *found = strchr(special, *at);
    if (found != NULL)
        pellet_text_adds(text, entity[found - special]);
    else
        pellet_text_add(text, at, length);
}

void pellet_text_add_html(struct pellet_text *text, const char *bytes, size_t n)
{
    static const struct escaper html = {visible_in_html, hidden_as_bytes, "\\x"};
    add_escaped(text, bytes, n, &html);
}

/* RFC 3986, section 2.3: the unreserved characters, and the slash between the steps of a path. */
void pellet_text_add_uri(struct pellet_text *text, const char *bytes, size_t n)
{
    static const char kept[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/";
    for (size_t i = 0; i < n; i++) {
        if (memchr(kept, bytes[i], sizeof kept - 1) != NULL)
            pellet_text_addc(text, bytes[i]);
        else
            pellet_text_addf(text, "%%%02X", (unsigned)(unsigned char)bytes[i]);
    }
}

static void visible_in_csv(struct pellet_text *text, const char *at, size_t length)
{
    if (*at == '"')
        pellet_text_addc(text, '"');
    pellet_text_add(text, at, length);
}

/* Spreadsheets run a cell that begins with one of = + - @ as a formula; an apostrophe makes it plain text. */
void pellet_text_add_csv(struct pellet_text *text, const char *bytes, size_t n)
{
    static const struct escaper csv = {visible_in_csv, hidden_as_bytes, "\\x"};
    pellet_text_addc(text, '"');
    if (n > 0 && memchr("=+-@", bytes[0], 4) != NULL)
        pellet_text_addc(text, '\'');
    add_escaped(text, bytes, n, &csv);
    pellet_text_addc(text, '"');
}

static void visible_in_json(struct pellet_text *text, const char *at, size_t length)
{
    if (*at == '"' || *at == '\\')
        pellet_text_addc(text, '\\');
    pellet_text_add(text, at, length);
}

/* All hidden characters lie in the basic plane, so that one \u is enough (RFC 8259, section 7). */
static void hidden_in_json(struct pellet_text *text, const char *at, size_t length, uint32_t code)
{
    (void)at, (void)length;
    pellet_text_addf(text, "\\u%04X", (unsigned)code);
}

void pellet_text_add_json(struct pellet_text *text, const char *bytes, size_t n)
{
    static const struct escaper json = {visible_in_json, hidden_in_json, "\\\\x"};
    pellet_text_addc(text, '"');
    add_escaped(text, bytes, n, &json);
    pellet_text_addc(text, '"');
}
