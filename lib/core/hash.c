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

/* ---------------------------------------------------------------- SipHash-2-4 */

static uint64_t rotated(uint64_t x, int bits)
{
    return x << bits | x >> (64 - bits);
}

static void sip_rounds(uint64_t v[4], int rounds)
{
    for (int i = 0; i < rounds; i++) {
        v[0] += v[1];
        v[2] += v[3];
        v[1] = rotated(v[1], 13) ^ v[0];
        v[3] = rotated(v[3], 16) ^ v[2];
        v[0] = rotated(v[0], 32);
        v[2] += v[1];
        v[0] += v[3];
        v[1] = rotated(v[1], 17) ^ v[2];
        v[3] = rotated(v[3], 21) ^ v[0];
        v[2] = rotated(v[2], 32);
    }
}

/* Up to 8 bytes, the first one lowest. */
static uint64_t word_of(const unsigned char *bytes, size_t n)
{
    uint64_t word = 0;
    for (size_t i = 0; i < n; i++)
        word |= (uint64_t)bytes[i] << (8 * i);
    return word;
}

static void sip_take(uint64_t v[4], uint64_t word)
{
    v[3] ^= word;
    sip_rounds(v, 2);
    v[0] ^= word;
}

uint64_t pellet_keyed_hash(const uint64_t key[2], const void *bytes, size_t n)
{
    /* The constants spell "somepseudorandomlygeneratedbytes". */
    uint64_t v[4] = {key[0] ^ UINT64_C(0x736f6d6570736575), key[1] ^ UINT64_C(0x646f72616e646f6d),
                     key[0] ^ UINT64_C(0x6c7967656e657261), key[1] ^ UINT64_C(0x7465646279746573)};
    const unsigned char *at = bytes;
    size_t left = n;
    for (; left >= 8; left -= 8, at += 8)
        sip_take(v, word_of(at, 8));
    sip_take(v, word_of(at, left) | (uint64_t)(n & 0xff) << 56);
    v[2] ^= 0xff;
    sip_rounds(v, 4);
    return v[0] ^ v[1] ^ v[2] ^ v[3];
}

/* ---------------------------------------------------------------- base64 */

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
