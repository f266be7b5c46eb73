// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/advice_scan.h"

#include "judge/advice_diagnosis.h"
#include "judge/findings.h"

#include <math.h>
#include <string.h>

/* The noise aimed at, as a share of its limit; it falls as the square root of the scans. */
#define NOISE_AIM   0.6
#define SCANS_LEAST 2.0
#define SCANS_MOST  64.0

struct cure {
    const char *check;
    enum pellet_phrase phrase; /* NOTHING: whatever it says */
    enum pellet_wrong wrong;
    enum pellet_do what;
    bool new_blank;
};

/* The first row that fits counts. */
static const struct cure cures[] = {
    {"read", PELLET_SAYS_ORDINATE_UNKNOWN, PELLET_WRONG_ORDINATE, PELLET_DO_SAY_ORDINATE, false},
    {"read", PELLET_SAYS_NOTHING, PELLET_WRONG_UNREADABLE, PELLET_DO_READ, false},
    {"blank", PELLET_SAYS_BLANK_CONFLICT, PELLET_WRONG_SETTINGS, PELLET_DO_SAME_SETTINGS, true},
    {"blank", PELLET_SAYS_BLANK_KIND, PELLET_WRONG_SETTINGS, PELLET_DO_SAME_SETTINGS, true},
    {"blank", PELLET_SAYS_NOTHING, PELLET_WRONG_NO_BLANK, PELLET_DO_BLANK_FIRST, true},
    {"span", PELLET_SAYS_NOTHING, PELLET_WRONG_RANGE, PELLET_DO_SCAN_RANGE, false},
    /* A blank with fewer scans than the pellet would be refused: the settings must agree. */
    {"noise", PELLET_SAYS_NOTHING, PELLET_WRONG_NOISY, PELLET_DO_SCAN_LONGER, true},
    {"leak", PELLET_SAYS_LEAK_BELOW_CUTOFF, PELLET_WRONG_ZERO, PELLET_DO_SCAN_ZERO, true},
    {"leak", PELLET_SAYS_NOTHING, PELLET_WRONG_LEAK, PELLET_DO_SCAN_SHUT, false},
    {"vapour", PELLET_SAYS_VAPOUR_NEGATIVE, PELLET_WRONG_BLANK, PELLET_DO_NEW_BLANK, true},
    {"vapour", PELLET_SAYS_NOTHING, PELLET_WRONG_AIR, PELLET_DO_SCAN_AIR, false},
    {"wavenumber", PELLET_SAYS_NOTHING, PELLET_WRONG_SCALE, PELLET_DO_SCAN_SCALE, false},
    {"inverted", PELLET_SAYS_NOTHING, PELLET_WRONG_BLANK, PELLET_DO_NEW_BLANK, true},
    {"moisture", PELLET_SAYS_NOTHING, PELLET_WRONG_BLANK, PELLET_DO_NEW_BLANK, true},
    {"overcompensation", PELLET_SAYS_NOTHING, PELLET_WRONG_BLANK, PELLET_DO_NEW_BLANK, true},
};

static const struct cure *cure_of(const struct pellet_finding *reason)
{
    static const struct cure missing = {NULL, PELLET_SAYS_NOTHING, PELLET_WRONG_FACT, PELLET_DO_MISSING_FACT,
                                        false};
    /* A rule set may have any check ask for another scan. */
    static const struct cure other = {NULL, PELLET_SAYS_NOTHING, PELLET_WRONG_OTHER, PELLET_DO_SCAN_AGAIN,
                                      false};

    for (size_t i = 0; reason->check != NULL && i < sizeof cures / sizeof cures[0]; i++) {
        if (strcmp(reason->check->id, cures[i].check) == 0 &&
            (cures[i].phrase == PELLET_SAYS_NOTHING || cures[i].phrase == reason->phrase))
            return &cures[i];
    }
    return isfinite(reason->value) ? &other : &missing;
}

/* Noise that fell with the scans that were asked for, though not by enough, is not the same once more. */
#define EASED 0.7

static bool eased(const struct pellet_finding *then, const struct pellet_finding *now)
{
    return strcmp(now->check->id, "noise") == 0 && now->value < EASED * then->value;
}

/* The same refusal twice on one pellet is not the pellet's. */
static bool seen_before(const struct pellet_inputs *in, const struct pellet_finding *reason)
{
    for (size_t i = 0; i < in->attempt_count; i++) {
        const struct pellet_verdict *then = in->attempt[i].verdict;
        if (then != NULL && in->attempt[i].source.pellet == in->subject.pellet &&
            then->outcome == PELLET_RESCAN && then->reason_count > 0 && then->reason[0].check != NULL &&
            then->reason[0].check == reason->check && !eased(&then->reason[0], reason))
            return true;
    }
    return false;
}

bool pellet_noise_stays(const struct pellet_inputs *in, const struct pellet_verdict *v)
{
    return v->outcome == PELLET_RESCAN && v->reason_count > 0 && v->reason[0].check != NULL &&
           strcmp(v->reason[0].check->id, "noise") == 0 && seen_before(in, &v->reason[0]);
}

/* How many times the scans: the noise falls as their square root. */
static double scans_for(const struct pellet_finding *noise)
{
    const double excess = noise->value / (NOISE_AIM * noise->limit);

    return isfinite(excess) ? fmin(fmax(ceil(excess * excess), SCANS_LEAST), SCANS_MOST) : SCANS_LEAST;
}

bool pellet_reason_keeps_pellet(const struct pellet_finding *reason)
{
    return reason->check == NULL || strcmp(reason->check->id, "read") != 0;
}

void pellet_advise_scan(const struct pellet_inputs *in, const struct pellet_finding *reason,
                        struct pellet_verdict *v, struct advice_steps *steps)
{
    const struct cure *cure = cure_of(reason);
    struct pellet_advice *advice = &v->advice;
    enum pellet_do what = cure->what;

    if (what == PELLET_DO_SCAN_LONGER && findings_noise_is_darkness(reason, pellet_reason_of(v, "opacity")))
        return; /* the next pellet will have less by itself */
    steps->wrong[cure->wrong] = true;
    advice->new_blank |= cure->new_blank;
    if (reason->outcome == PELLET_RESCAN && seen_before(in, reason)) {
        what = PELLET_DO_INSTRUMENT;
    } else if (what == PELLET_DO_SCAN_LONGER) {
        advice->scan_factor = scans_for(reason);
        const struct pellet_words words = {.number = {advice->scan_factor, NAN, NAN}};
        if (in->subject.role == PELLET_BLANK)
            what = PELLET_DO_SCAN_BLANK_LONGER;
        advice_steps_add_words(steps, what, &words);
        return;
    } else if (reason->outcome == PELLET_RESCAN && v->outcome == PELLET_RESCAN &&
               (what == PELLET_DO_BLANK_FIRST || what == PELLET_DO_NEW_BLANK)) {
        /* Nothing will judge it again by itself. */
        what = PELLET_DO_BLANK_THEN_AGAIN;
    }
    advice_steps_add(steps, what);
}
