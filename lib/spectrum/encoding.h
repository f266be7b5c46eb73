// SPDX-License-Identifier: GPL-3.0-or-later
/* What a file's bytes are as text. */
#ifndef PELLET_SPECTRUM_ENCODING_H
#define PELLET_SPECTRUM_ENCODING_H

#include "pellet/core.h"

/* UTF-8 text: either borrowed from the file's bytes or, where they had to be changed, owned. */
struct pellet_decoded {
    const char *bytes;
    size_t n;
    struct pellet_text owned;
};

/*
 * Take the bytes of a file as text: UTF-8 with or without a byte order mark, UTF-16 with one, else Latin-1.
 *
 * Given:     bytes[n]  must outlive `decoded`
 * Returned:  decoded   the caller frees it with pellet_decoded_free; untouched on error
 * Errors:    E_SHORT where there is nothing, E_FORMAT for binary data (a NUL byte) or broken UTF-16, E_MEMORY
 */
pellet_status pellet_text_decode(const char *bytes, size_t n, struct pellet_decoded *decoded,
                                 struct pellet_error *error);
void pellet_decoded_free(struct pellet_decoded *decoded);

#endif
