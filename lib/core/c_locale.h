// SPDX-License-Identifier: GPL-3.0-or-later
/* The "C" locale, for numbers in files and system texts in messages whatever the user's locale is. */
#ifndef PELLET_CORE_C_LOCALE_H
#define PELLET_CORE_C_LOCALE_H

#include <locale.h>

/* glibc and musl hand out one constant object for this request, so it cannot fail and is never freed. */
static inline locale_t pellet_c_locale(void)
{
    return newlocale(LC_ALL_MASK, "C", (locale_t)0);
}

#endif
