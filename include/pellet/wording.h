// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * All wording for people, in one place, so that a lab can translate it. A check says nothing itself: it sets
 * a phrase and the numbers; lib/judge/wording.c renders them.
 *
 * Places in a template: {value} {limit} {at} {from} {to} of the finding with their units, {a} {b} {c} its
 * extra numbers, {word} its extra word. Each phrase: code, template.
 */
#ifndef PELLET_WORDING_H
#define PELLET_WORDING_H

/* clang-format off */
#define PELLET_PHRASE_LIST(X)                                                                            \
    X(NOTHING, "")                                                                                       \
    /* general */                                                                                        \
    X(WITHIN, "{value}, limit {limit}")                                                                  \
    X(OFF, "switched off in the rule set")                                                               \
    X(MEASURE_AGAIN, "measure again first: the spectrum cannot be trusted here")                         \
    X(NEEDS_SINGLE_BEAMS, "needs single beams; the file is already ratioed")                             \
    X(NEEDS_BASIS, "whether the file is ratioed against a blank or an open beam is not known (ratioed_against)") \
    X(NEEDS_RATIO, "needs a ratio; there is only a single beam")                                         \
    X(NEEDS_OPEN_BEAM, "needs an open beam")                                                             \
    X(OUT_OF_RANGE, "the range {from} to {to} is not covered")                                           \
    X(TOO_FEW_POINTS, "fewer than 80 % of the points from {from} to {to} can be used")                   \
    X(NO_CLEAR_WINDOW, "no band-free part to measure in")                                                \
    X(NO_BANDS, "no band of the sample was found")                                                       \
    X(NO_FIT, "the fit came to no answer")                                                               \
    /* read */                                                                                           \
    X(READ_FAILED, "{word}")                                                                             \
    X(ORDINATE_UNKNOWN, "neither the file nor the station says what the ordinate is; set 'ordinate' for the station") \
    X(ORDINATE_OTHER, "the ordinate is neither a single beam, a transmittance nor an absorbance")        \
    /* blank */                                                                                          \
    X(BLANK_USED, "blank {word}, {value} old")                                                           \
    X(BLANK_NONE, "no blank yet")                                                                        \
    X(BLANK_TOO_OLD, "the latest accepted blank is {value} old, limit {limit}")                          \
    X(BLANK_ALL_REFUSED, "every blank so far was refused")                                               \
    X(BLANK_CONFLICT, "sample and blank were measured with different settings: {word}")                  \
    X(BLANK_KIND, "blank and sample are not both single beams")                                          \
    X(BLANK_NOT_NEEDED, "already ratioed")                                                               \
    /* one block for each check: its author keeps the block */                                           \
    /* -- span */                                                                                        \
    X(SPAN_SHORT, "usable only from {from} to {to}; {a} to {b} is needed")                               \
    /* -- noise */                                                                                       \
    X(NOISE_HIGH, "noise {value} between {from} and {to}, limit {limit}")                                \
    /* -- leak */                                                                                        \
    X(LEAK_PLATEAU, "bands bottom out at {value} of full light, limit {limit}: stray light or a leak past the pellet") \
    X(LEAK_BELOW_CUTOFF, "{value} of the greatest energy lies where the detector sees none, limit {limit}") \
    /* -- overcompensation */                                                                            \
    X(OVER_BRIGHT, "transmittance {value} at {at}, limit {limit}: the blank lets less light through than the sample") \
    X(OVER_EMPTY, "flat transmittance {value} and no bands: nothing in the beam?")                       \
    /* -- inverted */                                                                                    \
    X(INVERTED_BAND, "a band of {value} points the wrong way at {at}: something is in the blank that is not in the sample") \
    /* -- vapour */                                                                                      \
    X(VAPOUR_LINES, "water-vapour lines of {value}, limit {limit}: the room's air changed since the blank") \
    /* -- carbon_dioxide */                                                                              \
    X(CO2_SEEN, "carbon dioxide {value} near {at}: breath or purge")                                     \
    /* -- saturation */                                                                                  \
    X(TOO_STRONG, "{value} at {at}, limit {limit}")                                                      \
    X(TOO_STRONG_FLAT, "the band at {at} has a flat top at {value}: it is off scale")                    \
    X(TOO_STRONG_DARK, "no light is left at {at}: at least {value}")                                     \
    /* -- weak */                                                                                        \
    X(TOO_FAINT, "the strongest band, at {at}, is only {value} high, limit {limit}")                     \
    X(NO_SAMPLE, "no band above {limit}: no sample seen?")                                               \
    X(FAINT_BOUND, "no light is left at {at}: the band is at least {value} high")                        \
    /* -- opacity */                                                                                     \
    X(CLOUDY_OPEN, "{value} gets through near {at} against the open beam, limit {limit}")                \
    X(CLOUDY_BLANK, "{value} gets through near {at} against the blank, limit {limit}")                   \
    /* -- moisture */                                                                                    \
    X(DAMP, "{value} more water than the reference, limit {limit}")                                      \
    X(DAMP_BLANK, "the blank holds {a} more water than the sample")                                      \
    X(DAMP_BOUND, "at most {value} of water: the sample's own bands hide the rest")                      \
    X(DRIER, "{a} less water than the first blank: a better reference")                                  \
    /* -- tilt */                                                                                        \
    X(SLOPING, "the baseline rises by {value} from 2000 to 3900 cm-1, limit {limit}")                    \
    /* -- asymmetry */                                                                                   \
    X(SKEWED, "bands are skewed by {value}, limit {limit}: grains not small against the wavelength")     \
    X(SKEWED_UNSURE, "bands seem skewed by {value}, limit {limit}, but too few agree")                   \
    /* -- fringes */                                                                                     \
    X(RIPPLE, "a ripple of {value} with a period of {a}: a clear pellet {b} thick")                      \
    X(RIPPLE_OWNER, "a ripple of {value} with a period of {a}, in the blank as well: owner unknown")     \
    X(RIPPLE_TOO_FINE, "fringes as fine as this pellet's cannot be seen at this resolution")             \
    /* -- thickness */                                                                                   \
    X(THICKNESS_OUT, "the pellet is {value} thick, usual {a} to {b}")                                    \
    X(THICKNESS_UNKNOWN, "neither fringes nor a mass on the worksheet")                                  \
    /* -- residue */                                                                                     \
    X(CARRY_OVER, "the pattern of {word} is there, {value} at its strongest band: carry-over")           \
    X(CARRY_OVER_NONE, "no earlier sample to compare with")                                              \
    X(CARRY_OVER_FEW, "fewer than three bands of {word} stand clear of the bands here")                  \
    /* -- purity */                                                                                      \
    X(IMPURE, "a band of {value} at {at} that a clean blank does not have ({word}), limit {limit}")      \
    /* -- windows */                                                                                     \
    X(WINDOW_OUT, "{word}: {value} at {at}, limit {limit}")                                              \
    X(WINDOW_NONE, "no window beyond its limit")                                                         \
    /* -- wavenumber */                                                                                  \
    X(SCALE_OFF, "the polystyrene band of {at} is off by {value}, limit {limit}")

enum pellet_phrase {
#define PELLET_PHRASE_ENUM(code, template) PELLET_SAYS_##code,
    PELLET_PHRASE_LIST(PELLET_PHRASE_ENUM)
#undef PELLET_PHRASE_ENUM
        PELLET_SAYS_COUNT
};
/* clang-format on */

#endif
