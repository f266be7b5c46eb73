// SPDX-License-Identifier: GPL-3.0-or-later
/* What a file's name says: whether it is input, its role, its sample, pellet and scan. Pure functions. */
#ifndef PELLETD_GLOBS_H
#define PELLETD_GLOBS_H

#include "pellet/checks.h"

/* A list of patterns as fnmatch takes them, case-insensitive. */
struct glob_list {
    size_t n;
    const char **pattern;
};

/* Whether `text` as a whole fits one of the patterns; the upper and lower case of ASCII are the same. */
bool glob_list_matches(const struct glob_list *list, const char *text);

/*
 * Whether a path relative to the station folder may be a spectrum: its last part fits `include`, and it is
 * none of what we or the people keep there (dot-files, ~$*, *.tmp, *.part, worksheet.csv at the top, verdict
 * files) and not below reports/ or a folder whose name begins with a dot.
 */
bool name_is_input(const char *name, const struct glob_list *include);

/* The first role whose patterns fit; PELLET_SAMPLE where none does. `text` is a file name or a TITLE. */
enum pellet_role name_role(const char *text, const struct glob_list *blank, const struct glob_list *open_beam,
                           const struct glob_list *film);

#define NAME_PART_MAX 256

/* What a sample's file name says. Numbers are 0 where the name does not say. */
struct sample_name {
    char sample[NAME_PART_MAX];
    int pellet;
    int scan;
};

/* "" for a good template ("{sample}_p{pellet}"), else what is wrong with it. */
const char *sample_template_fault(const char *template);

/*
 * Read a file name by the template. The last ending (".csv") and folders are left out first. Where the whole
 * template does not fit, it is tried without its last place and what stands before it, so that
 * "{sample}_p{pellet}_s{scan}" also reads "caffeine_p1" and "caffeine"; at the end the whole name is the
 * sample.
 */
void sample_name_read(const char *template, const char *name, struct sample_name *out);

#endif
