// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/markup.h"

#include "report/wording.h"

#include <string.h>

void report_add(struct pellet_text *out, const char *string)
{
    if (string != NULL)
        pellet_text_add_html(out, string, strlen(string));
}

const char *report_outcome_word(enum pellet_outcome outcome)
{
    static const char *const words[PELLET_OUTCOME_COUNT] = {
        [PELLET_PASS] = SAYS_PASS,     [PELLET_NOTE] = SAYS_NOTE,     [PELLET_WAIT] = SAYS_WAIT,
        [PELLET_RESCAN] = SAYS_RESCAN, [PELLET_REMAKE] = SAYS_REMAKE, [PELLET_NOT_CHECKED] = SAYS_NOT_CHECKED,
    };
    return words[outcome];
}

bool report_amiss(enum pellet_outcome outcome)
{
    return outcome != PELLET_PASS && outcome != PELLET_NOT_CHECKED;
}
