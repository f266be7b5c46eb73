// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/core.h"

#include <stdio.h>

int main(void)
{
    puts("pelletd " PELLET_VERSION);
    return 0;
}
