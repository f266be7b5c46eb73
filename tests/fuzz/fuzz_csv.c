// SPDX-License-Identifier: GPL-3.0-or-later
/* The CSV reader under libFuzzer. */
#include "property.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
    property_of_reader(pellet_csv_read, bytes, n);
    return 0;
}
