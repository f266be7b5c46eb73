// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

/* FIPS 180-2, appendix B; the digest of nothing is from NIST's example values for SHA-256. */
static void sha256_of_the_published_messages(void **state)
{
    (void)state;
    char digest[PELLET_SHA256_HEX];
    pellet_sha256_hex("abc", 3, digest);
    assert_string_equal(digest, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    pellet_sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 56, digest);
    assert_string_equal(digest, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    pellet_sha256_hex(NULL, 0, digest);
    assert_string_equal(digest, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");

    char *million = malloc(1000000);
    assert_non_null(million);
    memset(million, 'a', 1000000);
    pellet_sha256_hex(million, 1000000, digest);
    free(million);
    assert_string_equal(digest, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

/* RFC 4648, section 10. */
static void base64_of_the_published_strings(void **state)
{
    (void)state;
    static const char *const cases[][2] = {{"", ""},
                                           {"f", "Zg=="},
                                           {"fo", "Zm8="},
                                           {"foo", "Zm9v"},
                                           {"foob", "Zm9vYg=="},
                                           {"fooba", "Zm9vYmE="},
                                           {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_text text = {0};
        pellet_base64(cases[i][0], strlen(cases[i][0]), &text);
        assert_string_equal(pellet_text_string(&text), cases[i][1]);
        pellet_text_free(&text);
    }
}

static size_t slow_decode(const char *text, unsigned char *out)
{
    static const char alphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    size_t n = 0;
    uint32_t bits = 0;
    int held = 0;
    for (; *text != '\0' && *text != '='; text++) {
        const char *found = strchr(alphabet, *text);
        assert_non_null(found);
        bits = bits << 6 | (uint32_t)(found - alphabet);
        held += 6;
        if (held >= 8) {
            held -= 8;
            out[n++] = (unsigned char)(bits >> held);
        }
    }
    return n;
}

static void base64_decodes_to_the_same_bytes(void **state)
{
    (void)state;
    unsigned char bytes[1000], back[1000];
    uint64_t seed = 23;
    for (size_t n = 0; n <= sizeof bytes; n++) {
        for (size_t i = 0; i < n; i++)
            bytes[i] = (unsigned char)random_next(&seed);
        struct pellet_text text = {0};
        pellet_base64(bytes, n, &text);
        assert_int_equal(text.length, (n + 2) / 3 * 4);
        assert_int_equal(slow_decode(pellet_text_string(&text), back), n);
        assert_memory_equal(back, bytes, n);
        pellet_text_free(&text);
    }
}

/* The example of the paper's appendix A: bytes 00 to 0f as the key, 00 to 0e as the message. */
static void siphash_of_the_published_message(void **state)
{
    static const uint64_t key[2] = {UINT64_C(0x0706050403020100), UINT64_C(0x0f0e0d0c0b0a0908)};
    static const uint64_t other[2] = {UINT64_C(0x0706050403020101), UINT64_C(0x0f0e0d0c0b0a0908)};
    unsigned char message[16];
    (void)state;
    for (size_t i = 0; i < sizeof message; i++)
        message[i] = (unsigned char)i;
    assert_true(pellet_keyed_hash(key, message, 15) == UINT64_C(0xa129ca6149be45e5));
    assert_true(pellet_keyed_hash(other, message, 15) != UINT64_C(0xa129ca6149be45e5));
    for (size_t n = 0; n < sizeof message; n++)
        assert_true(pellet_keyed_hash(key, message, n) != pellet_keyed_hash(key, message, n + 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(siphash_of_the_published_message),
        cmocka_unit_test(sha256_of_the_published_messages),
        cmocka_unit_test(base64_of_the_published_strings),
        cmocka_unit_test(base64_decodes_to_the_same_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
