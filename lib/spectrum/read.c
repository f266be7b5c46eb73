// SPDX-License-Identifier: GPL-3.0-or-later
/* Which reader a file is for. */
#include "pellet/spectrum.h"

#include <string.h>
#include <strings.h>

/* Skip what may stand before the first label: blanks, a byte order mark, NULs of UTF-16, $$ comments. */
static size_t skip_preamble(const char *bytes, size_t n)
{
    size_t i = 0;
    while (i < n) {
        if (strchr(" \t\r\n\xEF\xBB\xBF\xFF\xFE", bytes[i])) { /* strchr finds NUL too */
            i++;
        } else if (bytes[i] == '$' && i + 1 < n && (bytes[i + 1] == '$' || bytes[i + 1] == 0)) {
            const char *end = memchr(bytes + i, '\n', n - i);
            if (!end)
                end = memchr(bytes + i, '\r', n - i);
            i = end ? (size_t)(end - bytes) : n;
        } else {
            break;
        }
    }
    return i;
}

/* Whether the text begins with ##TITLE, in any case, blanks and (in UTF-16) NULs between. */
static bool is_jcamp(const char *bytes, size_t n)
{
    static const char label[] = "##TITLE";
    size_t at = 0;
    for (size_t i = skip_preamble(bytes, n); i < n && at < sizeof label - 1; i++) {
        if (bytes[i] == 0 || bytes[i] == ' ')
            continue;
        if (strncasecmp(&bytes[i], &label[at], 1) != 0)
            return false;
        at++;
    }
    return at == sizeof label - 1;
}

pellet_status pellet_spectra_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                                  struct pellet_spectra *spectra, struct pellet_error *error)
{
    return is_jcamp(bytes, n) ? pellet_jcamp_read(bytes, n, options, spectra, error)
                              : pellet_csv_read(bytes, n, options, spectra, error);
}
