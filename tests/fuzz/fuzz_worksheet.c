// SPDX-License-Identifier: GPL-3.0-or-later
/* The reader of the worksheet under libFuzzer. */
#include "property_daemon.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
    property_of_worksheet(bytes, n);
    return 0;
}
