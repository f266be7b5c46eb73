// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"

#include <nettle/base64.h>
#include <nettle/sha2.h>

void pellet_sha256_hex(const void *bytes, size_t n, char out[PELLET_SHA256_HEX])
{
    static const char digits[] = "0123456789abcdef";
    struct sha256_ctx context;
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_init(&context);
    sha256_update(&context, n, bytes);
    sha256_digest(&context, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        out[2 * i] = digits[digest[i] >> 4];
        out[2 * i + 1] = digits[digest[i] & 0x0F];
    }
    out[PELLET_SHA256_HEX - 1] = '\0';
}

/* Pieces of whole triples need no padding, so that the pieces join to one encoding. */
#define BASE64_PIECE_BYTES 300

void pellet_base64(const void *bytes, size_t n, struct pellet_text *out)
{
    const uint8_t *at = bytes;
    while (n > 0) {
        char piece[BASE64_ENCODE_RAW_LENGTH(BASE64_PIECE_BYTES)];
        const size_t taken = n < BASE64_PIECE_BYTES ? n : BASE64_PIECE_BYTES;
        base64_encode_raw(piece, taken, at);
        pellet_text_add(out, piece, BASE64_ENCODE_RAW_LENGTH(taken));
        at += taken;
        n -= taken;
    }
}
