// SPDX-License-Identifier: GPL-3.0-or-later
/* UTF-8, UTF-16 and Latin-1 to UTF-8. */
#include "spectrum/encoding.h"

#include <string.h>

#define UTF8_BOM "\xEF\xBB\xBF"

/* The line that byte `at` is in, counted by LF, or by CR where there is no LF. */
static size_t line_of(const char *bytes, size_t at)
{
    size_t lf = 1, cr = 1;
    for (size_t i = 0; i < at; i++) {
        lf += bytes[i] == '\n';
        cr += bytes[i] == '\r';
    }
    return lf > 1 ? lf : cr;
}

static void add_code_point(struct pellet_text *text, uint32_t c)
{
    char utf8[4];
    size_t n = 0;
    if (c < 0x80) {
        utf8[n++] = (char)c;
    } else if (c < 0x800) {
        utf8[n++] = (char)(0xC0 | c >> 6);
        utf8[n++] = (char)(0x80 | (c & 0x3F));
    } else if (c < 0x10000) {
        utf8[n++] = (char)(0xE0 | c >> 12);
        utf8[n++] = (char)(0x80 | (c >> 6 & 0x3F));
        utf8[n++] = (char)(0x80 | (c & 0x3F));
    } else {
        utf8[n++] = (char)(0xF0 | c >> 18);
        utf8[n++] = (char)(0x80 | (c >> 12 & 0x3F));
        utf8[n++] = (char)(0x80 | (c >> 6 & 0x3F));
        utf8[n++] = (char)(0x80 | (c & 0x3F));
    }
    pellet_text_add(text, utf8, n);
}

static uint32_t utf16_unit(const unsigned char *at, bool big_endian)
{
    return big_endian ? (uint32_t)at[0] << 8 | at[1] : (uint32_t)at[1] << 8 | at[0];
}

/* An odd last byte and lone surrogates are signs of a damaged file. */
static bool utf16_decode(const char *bytes, size_t n, bool big_endian, struct pellet_text *text)
{
    const unsigned char *at = (const unsigned char *)bytes, *end = at + n;
    for (; end - at >= 2; at += 2) {
        uint32_t c = utf16_unit(at, big_endian);
        if (c >= 0xDC00 && c < 0xE000)
            return false;
        if (c >= 0xD800 && c < 0xDC00) {
            const uint32_t low = end - at >= 4 ? utf16_unit(at + 2, big_endian) : 0;
            if (low < 0xDC00 || low >= 0xE000)
                return false;
            c = 0x10000 + ((c - 0xD800) << 10) + (low - 0xDC00);
            at += 2;
        }
        add_code_point(text, c);
    }
    return at == end;
}

static void latin1_decode(const char *bytes, size_t n, struct pellet_text *text)
{
    for (size_t i = 0; i < n; i++)
        add_code_point(text, (unsigned char)bytes[i]);
}

/* Nearly every file is; one pass without a branch is several times faster than decoding. */
static bool is_ascii(const char *bytes, size_t n)
{
    unsigned char all = 0;
    for (size_t i = 0; i < n; i++)
        all |= (unsigned char)bytes[i];
    return all < 0x80;
}

/* A byte order mark of UTF-16: 1 big-endian, -1 little-endian, 0 none. */
static int utf16_mark(const char *bytes, size_t n)
{
    if (n >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0)
        return 1;
    return n >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0 ? -1 : 0;
}

pellet_status pellet_text_decode(const char *bytes, size_t n, struct pellet_decoded *decoded,
                                 struct pellet_error *error)
{
    struct pellet_decoded out = {.bytes = bytes, .n = n};
    const int mark = utf16_mark(bytes, n);
    if (mark != 0) {
        if (!utf16_decode(bytes + 2, n - 2, mark > 0, &out.owned) && !out.owned.failed) {
            const size_t line = line_of(pellet_text_string(&out.owned), out.owned.length);
            pellet_decoded_free(&out);
            return pellet_fail_at(error, PELLET_E_FORMAT, line, 0,
                                  "the UTF-16 text is damaged or cut short; export it again");
        }
    } else if (n >= 3 && memcmp(bytes, UTF8_BOM, 3) == 0) {
        out.bytes += 3;
        out.n -= 3;
    }
    if (mark == 0 && !is_ascii(out.bytes, out.n) && !pellet_utf8_valid(out.bytes, out.n))
        latin1_decode(out.bytes, out.n, &out.owned);
    if (pellet_text_status(&out.owned) != PELLET_OK) {
        pellet_decoded_free(&out);
        return pellet_fail(error, PELLET_E_MEMORY, "no memory to decode the text");
    }
    if (mark != 0 || out.owned.length > 0) {
        out.bytes = pellet_text_string(&out.owned);
        out.n = out.owned.length;
    }
    const char *nul = out.n > 0 ? memchr(out.bytes, 0, out.n) : NULL;
    if (nul) {
        const size_t line = line_of(out.bytes, (size_t)(nul - out.bytes));
        pellet_decoded_free(&out);
        return pellet_fail_at(error, PELLET_E_FORMAT, line, 0,
                              "binary data (a NUL byte), not text; export the spectrum as CSV or JCAMP-DX");
    }
    *decoded = out;
    return PELLET_OK;
}

void pellet_decoded_free(struct pellet_decoded *decoded)
{
    if (!decoded)
        return;
    pellet_text_free(&decoded->owned);
    *decoded = (struct pellet_decoded){0};
}
