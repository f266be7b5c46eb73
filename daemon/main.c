// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"

int main(int argc, char **argv)
{
    return commands_run(argc, argv);
}
