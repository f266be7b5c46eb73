// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Pairing: which blank, open beam, first blank, earlier samples and attempts a verdict rests on. Pure: it
 * looks at entries and limits, and at nothing else.
 */
#ifndef PELLETD_PAIRING_H
#define PELLETD_PAIRING_H

#include "entry.h"

#define PAIRING_SKIPPED_MAX 8
#define PAIRING_EARLIER_MAX 3
#define PAIRING_ATTEMPT_MAX 4
#define PAIRING_BACK_MAX    1000 /* spectra looked back on for earlier samples and attempts */

/* All pointers are borrowed from the index; NULL and 0 where there is none. */
struct pairing {
    const struct entry *blank;
    enum pellet_no_blank no_blank; /* read when blank is NULL */
    double no_blank_age_min;       /* NaN unless too old */
    size_t skipped_count;          /* newest first */
    struct {
        const struct entry *blank;
        const char *why;
    } skipped[PAIRING_SKIPPED_MAX];
    const struct entry *open_beam;
    const struct entry *first_blank;
    size_t earlier_count; /* newest first, each of another sample */
    const struct entry *earlier[PAIRING_EARLIER_MAX];
    size_t attempt_count; /* newest first */
    const struct entry *attempt[PAIRING_ATTEMPT_MAX];
};

/*
 * Find what `subject` is to be judged against.
 *
 * Given:     measured  entries whose times are of the subject's kind; the subject may stand in it
 *            subject   role, measured, settings, sample and session are set
 *            rules     the limits of blanks and open beams
 *            waiting   it waits for a blank: one measured up to look_ahead after it serves as well, and the
 *                      latest is taken
 *
 * Blanks and open beams count when they are present and judged; a blank's own verdict must be pass unless
 * the rules accept any. Where the only blanks there are were measured with other settings, the latest of
 * them is taken, so that the conflict is named.
 */
void pairing_find(const struct measured *measured, const struct entry *subject,
                  const struct pellet_rules *rules, bool waiting, struct pairing *pairing);

/*
 * What pairing_find will find once the files before the subject have their verdicts, as far as that can be
 * told now: samples that are paired with what they need will be fit to rest on.
 *
 * Given:     before, n  the files between those that pairing_find knows and the subject, oldest first; `blank`
 *                       of samples is set
 *            pairing    as pairing_find found it now
 * Returned:  pairing    as it will be
 *            false: it cannot be told, because a blank, an open beam or an attempt at the same sample is among
 *            them
 */
bool pairing_foresee(const struct entry *const before[], size_t n, const struct entry *subject,
                     struct pairing *pairing);

/* Whether what both state agrees: numbers as numbers, words without regard to case and blanks. */
bool settings_agree(const struct entry_settings *a, const struct entry_settings *b);

/* Whether something measured more than look_ahead after `subject` stands in the timeline. */
bool pairing_is_over(const struct timeline *timeline, const struct entry *subject,
                     const struct pellet_rules *rules);

#endif
