// SPDX-License-Identifier: GPL-3.0-or-later
/* The reader of verdicts under libFuzzer. */
#include "property_yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
    property_of_verdict(bytes, n);
    return 0;
}
