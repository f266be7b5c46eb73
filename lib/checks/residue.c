// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Carry-over: an earlier sample in the mortar, the die or the KBr.
 *
 * Method:    Second derivatives of A without its ripple, which leave narrow bands and drop baselines, each
 *            band's over a window that goes with its width. One share of the earlier spectrum after another
 *            is supposed to be here; bands that this much would not lift above the noise, and those where the
 *            sample's own bands bend the curve more, are left out; bands that are missing here stay in and
 *            speak against it. Around the rest the pattern is fitted by least squares, each band with the
 *            weight of what it knows of the share, and the fit is believed that bears its supposition out and
 *            correlates best. Its coefficient times the earlier sample's strongest height is what would stand
 *            here. It counts from the rule's correlation on, over at least three bands.
 * Which:     The last samples of other names whose strongest band is on scale, neither too faint nor too
 *            strong nor flat: a distorted pattern proves nothing.
 * Attempts:  A sample may have bands like an earlier one's. When a pellet was sent back for carry-over, to be
 *            made anew with clean tools, and the next has the same pattern in the same proportion to its own
 *            strongest band, the pattern is the sample's own, and only a note: what clings to a mortar does
 *            not come back in proportion.
 * Limits:    Two alkyl chains have the same C-H bands: below the stronger correlation a sample gets only a
 *            note. A residue of which fewer than three bands stand clear, or whose bands are below the noise,
 *            is not seen. More than about a third of the earlier pellet is not looked for. Whether the tools
 *            were cleaned is not known but by what was asked for: the note says so.
 * Source:    A. Savitzky, M. J. E. Golay, Anal. Chem. 36, 1627 (1964) for the derivative; the measure and the
 *            limits are the project's own.
 */
#include "checks/residue_match.h"
#include "checks/view.h"
#include "pellet/judge.h"

#include <stdio.h>
#include <string.h>

enum { LIMIT, MATCH, STRONG_MATCH };

/* In proportion within this factor: both heights are known to some 10 %, a cleaned mortar leaves far less. */
static const double IN_PROPORTION = 1.5;

/* The residue that a verdict sent the pellet back for; NULL where it did not. */
static const struct pellet_finding *was_refused_for(const struct pellet_verdict *verdict)
{
    for (size_t i = 0; verdict != NULL && i < verdict->check_count; i++) {
        const struct pellet_finding *finding = &verdict->check[i];
        if (finding->check == &pellet_check_residue && finding->outcome == PELLET_REMAKE)
            return finding;
    }
    return NULL;
}

/* The earlier pellet of this sample that was sent back for a pattern of the same share of the sample's own
 * strongest band; NULL where there is none. */
static const struct pellet_attempt *find_same(const struct pellet_measurement *measurement, double height)
{
    const struct pellet_inputs *inputs = measurement->inputs;
    const struct pellet_band *own = pellet_strongest_band(measurement);

    for (size_t i = 0; own != NULL && i < inputs->attempt_count; i++) {
        const struct pellet_attempt *attempt = &inputs->attempt[i];
        const struct pellet_finding *then = was_refused_for(attempt->verdict);
        if (then == NULL || attempt->source.pellet == inputs->subject.pellet ||
            attempt->verdict->band_count == 0)
            continue;
        const double factor = height / own->height / (then->value / attempt->verdict->band[0].height);
        if (factor <= IN_PROPORTION && factor >= 1.0 / IN_PROPORTION)
            return attempt;
    }
    return NULL;
}

static void judge_match(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        const struct checks_residue_match *match, struct pellet_finding *finding)
{
    const bool matches = match->r >= pellet_rule_quantity(rule, MATCH);

    pellet_finding_above(finding, rule, matches ? match->height : 0.0, pellet_rule_quantity(rule, LIMIT),
                         PELLET_SAYS_CARRY_OVER);
    pellet_finding_range(finding, match->low_cm1, match->high_cm1);
    finding->number[0] = match->r;
    finding->number[1] = (double)match->bands;
    if (measurement->role == PELLET_SAMPLE && pellet_finding_refuses(finding) &&
        match->r < pellet_rule_quantity(rule, STRONG_MATCH))
        finding->outcome = PELLET_NOTE;
    const struct pellet_attempt *same =
        pellet_finding_refuses(finding) ? find_same(measurement, match->height) : NULL;
    if (same == NULL)
        return;
    finding->outcome = PELLET_NOTE;
    finding->phrase = PELLET_SAYS_CARRY_OVER_OWN;
    finding->number[0] = (double)same->source.pellet;
}

/* The match to report of two: one that can be judged, one that counts, then by height or correlation, and by
 * name, so that the order of the list does not matter. */
static bool is_worse(const struct checks_residue_match *one, const struct checks_residue_match *other,
                     double least)
{
    const bool judged = one->bands >= CHECKS_RESIDUE_BANDS_LEAST, counts = one->r >= least;

    if (judged != (other->bands >= CHECKS_RESIDUE_BANDS_LEAST))
        return judged;
    if (counts != (other->r >= least))
        return counts;
    const double key = counts ? one->height : one->r, other_key = counts ? other->height : other->r;
    return key != other_key ? key > other_key : strcmp(one->name, other->name) < 0;
}

static void run_residue(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_inputs *inputs = measurement->inputs;
    struct checks_residue_match worst = {.name = NULL};

    if (!checks_has_bands(measurement, finding))
        return;
    for (size_t i = 0; i < inputs->earlier_count; i++) {
        struct checks_residue_match match;
        bool serves;
        if (checks_residue_compare(measurement, &inputs->earlier[i], &match, &serves) != PELLET_OK) {
            pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
            return;
        }
        if (serves && (worst.name == NULL || is_worse(&match, &worst, pellet_rule_quantity(rule, MATCH))))
            worst = match;
    }
    if (worst.name == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_NONE);
        return;
    }
    snprintf(finding->word, sizeof finding->word, "%s", worst.name);
    if (worst.bands < CHECKS_RESIDUE_BANDS_LEAST)
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_FEW);
    else
        judge_match(measurement, rule, &worst, finding);
}

const struct pellet_check pellet_check_residue = {
    .id = "residue",
    .bench_word = PELLET_BENCH_RESIDUE,
    .quantity = "residue_height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "an earlier sample's pattern, at its strongest band",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0005, 1.0, "largest residue"),
            PELLET_QUANTITY("match", NONE, 0.9, 0.5, 1.0, "lowest correlation of the patterns that counts"),
            PELLET_QUANTITY("strong_match", NONE, 0.95, 0.5, 1.0,
                            "from this correlation on a sample is to be made again"),
        },
    .run = run_residue,
};
