// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * All wording for people, in one place, so that a lab can translate it: here the sentences of verdicts, in
 * pellet/wording_pages.h the words of the pages that show them. A check says nothing itself: it sets a phrase
 * and the numbers; lib/judge/wording.c renders them.
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
    X(NO_MEMORY, "memory ran out")                                                                       \
    /* read */                                                                                           \
    X(READ_FAILED, "{word}")                                                                             \
    X(ORDINATE_UNKNOWN, "neither the file nor the station says what the ordinate is; set 'ordinate' for the station") \
    X(ORDINATE_OTHER, "the ordinate is neither a single beam, a transmittance nor an absorbance")        \
    /* blank */                                                                                          \
    X(BLANK_PROVISIONAL, "the blank {word} is provisional: without an open beam, water and clarity are only known against it") \
    X(BLANK_UNACCEPTED, "the blank {word} was not accepted; the rule set takes it all the same")         \
    X(LOAD_HIGH, "the load: what die and press are rated for and local rules come first; {a} on {b} press with {value}, the rule set gives at most {limit}") \
    X(BETTER_BLANK, "drier than the session's first blank: later blanks are compared with this one")     \
    X(BLANK_USED, "blank {word}, {value} old")                                                           \
    X(BLANK_NONE, "no blank yet")                                                                        \
    X(BLANK_TOO_OLD, "the latest accepted blank is {value} old, limit {limit}")                          \
    X(BLANK_ALL_REFUSED, "every blank so far was refused")                                               \
    X(BLANK_CONFLICT, "sample and blank were measured with different settings: {word}")                  \
    X(BLANK_KIND, "blank and sample are not both single beams")                                          \
    X(BLANK_NOT_NEEDED, "already ratioed")                                                               \
    X(BLANK_PASSED_OVER, "blank {word}, {value} old; {a} newer passed over")                             \
    X(BLANK_LATER, "blank {word}, measured {a} after the sample")                                        \
    X(BLANK_TOO_LATE, "blank {word} was measured {a} after the sample, at most {b} is allowed")          \
    X(BLANK_REFUSED_USED, "blank {word}, {value} old, though its own verdict refused it")                \
    X(BLANK_AGE_UNKNOWN, "blank {word}; its age is not known, because the two files' times are of different kinds") \
    /* one block for each check: its author keeps the block */                                           \
    /* -- span */                                                                                        \
    X(SPAN_COVERED, "usable from {from} to {to}")                                                        \
    X(SPAN_GAPS, "usable from {from} to {to}, without light at {word}")                                  \
    X(SPAN_SHORT, "usable only from {from} to {to}; {a} to {b} is needed")                               \
    X(SPAN_GAP_NEEDED, "there is no light at {word}, which the rule set requires")                       \
    X(SPAN_NOTHING, "no usable light from {a} to {b}")                                                   \
    /* -- noise */                                                                                       \
    X(NOISE_WITHIN, "{value} between {from} and {to}, limit {limit}; neighbouring points correlate by {a}") \
    X(NOISE_HIGH, "noise {value} between {from} and {to}, limit {limit}")                                \
    /* -- leak */                                                                                        \
    X(LEAK_AT_MOST, "{value}, limit {limit}: the light goes down to that near {at}")             \
    X(LEAK_UNSEEN, "no two bands go off scale and the detector sees light everywhere, so a false zero does not show") \
    X(LEAK_PLATEAU, "bands bottom out at {value} of full light, limit {limit}: stray light or a leak past the pellet") \
    X(LEAK_BELOW_CUTOFF, "{value} of the greatest energy lies where the detector sees none, limit {limit}") \
    /* -- overcompensation */                                                                            \
    X(OVER_BRIGHT, "transmittance {value} at {at}, limit {limit}: the blank lets less light through than the sample") \
    X(OVER_EMPTY, "flat transmittance {value} and no bands: nothing in the beam?")                       \
    /* -- inverted */                                                                                    \
    X(INVERTED_BAND, "a band of {value} points the wrong way at {at}: something is in the blank that is not in the sample") \
    X(INVERTED_NONE, "none above the noise")                                                             \
    /* -- vapour */                                                                                      \
    X(VAPOUR_LINES, "water-vapour lines of {value}, limit {limit}: the room's air changed since the blank") \
    X(VAPOUR_NEGATIVE, "water-vapour lines of {value} point the wrong way, limit {limit}: the blank was measured in moister air") \
    X(VAPOUR_HIDDEN, "other bands hide the lines of water vapour")                                       \
    /* -- carbon_dioxide */                                                                              \
    X(CO2_SEEN, "carbon dioxide {value} near {at}: breath or purge")                                     \
    X(CO2_NEGATIVE, "carbon dioxide {value} near {at}: the reference was measured in air with more of it") \
    /* -- saturation */                                                                                  \
    X(TOO_STRONG, "{value} at {at}, limit {limit}")                                                      \
    X(TOO_STRONG_FLAT, "the band at {at} has a flat top, {value}: it is off scale")                    \
    X(TOO_STRONG_DARK, "no light is left at {at}: {value}")                                     \
    /* -- weak */                                                                                        \
    X(TOO_FAINT, "the strongest band, at {at}, is only {value} high, limit {limit}")                     \
    X(NO_SAMPLE, "no band above {limit}: no sample seen?")                                               \
    X(FAINT_BOUND, "no light is left at {at}: the band is {value} high")                        \
    /* -- opacity */                                                                                     \
    X(CLEAR_AT_LEAST, "{value}, limit {limit}: bands cover the rest")                           \
    X(CLOUDY_OPEN, "{value} gets through near {at} against the open beam, limit {limit}")                \
    X(CLOUDY_BLANK, "{value} gets through near {at} against the blank, limit {limit}")                   \
    /* -- moisture */                                                                                    \
    X(DAMP, "{value} more water than the reference, limit {limit}")                                      \
    X(DAMP_BLANK, "the blank holds {a} more water than the sample")                                      \
    X(DAMP_BEND, "{value} more water than the reference, limit {limit}, told by the band near 1640 cm-1: the sample's own O-H hides the other") \
    X(DAMP_BOUND, "{value} of water: the sample's own bands hide the rest; to find out, dry the powder and press again: water shrinks near 3400 and 1640 cm-1, the sample's own bands stay") \
    X(DRIER, "{a} less water than the first blank: a better reference")                                  \
    /* -- tilt */                                                                                        \
    X(SLOPING, "the baseline rises by {value} from 2000 to 3900 cm-1, limit {limit}")                    \
    /* -- asymmetry */                                                                                   \
    X(SKEWED, "bands are skewed by {value}, limit {limit}: grains not small against the wavelength")     \
    X(SKEWED_UNSURE, "bands seem skewed by {value}, limit {limit}, but too few agree")                   \
    X(NO_ISOLATED_BANDS, "no band stands alone and on scale, so no shape can be measured")               \
    /* -- fringes */                                                                                     \
    X(RIPPLE, "a ripple of {value} with a period of {a}: a clear pellet {b} thick")                      \
    X(RIPPLE_OWNER, "a ripple of {value} with a period of {a}: this pellet's or the blank's, not known") \
    X(RIPPLE_TOO_FINE, "fringes as fine as this pellet's cannot be seen at this resolution")             \
    /* -- thickness */                                                                                   \
    X(THICKNESS_OUT, "the pellet is {value} thick, usual {a} to {b}")                                    \
    X(THICKNESS_UNKNOWN, "neither fringes nor a mass on the worksheet")                                  \
    /* -- residue */                                                                                     \
    X(CARRY_OVER, "the pattern of {word} is there, {value} at its strongest band: carry-over")           \
    X(CARRY_OVER_OWN, "bands like those of {word}, {value} at the strongest, in the same proportion as in pellet {a}: if the tools were clean, they are the sample's own") \
    X(CARRY_OVER_NONE, "no earlier sample to compare with")                                              \
    X(CARRY_OVER_FEW, "fewer than three bands of {word} stand clear of the bands here")                  \
    /* -- purity */                                                                                      \
    X(IMPURE, "a band of {value} at {at} that a clean blank does not have ({word}), limit {limit}")      \
    X(IMPURE_OR_OPTICS, "a band of {value} at {at} ({word}): the blank's or the optics'")                \
    /* -- windows */                                                                                     \
    X(WINDOW_OUT, "{word}: {value} at {at}, limit {limit}")                                              \
    X(WINDOW_NONE, "no window beyond its limit")                                                         \
    /* -- wavenumber */                                                                                  \
    X(SCALE_RIGHT, "at most {value} off, at {at}; {a} bands, limit {limit}")                             \
    X(SCALE_OFF, "the polystyrene band of {at} is off by {value}, limit {limit}")

enum pellet_phrase {
#define PELLET_PHRASE_ENUM(code, template) PELLET_SAYS_##code,
    PELLET_PHRASE_LIST(PELLET_PHRASE_ENUM)
#undef PELLET_PHRASE_ENUM
        PELLET_SAYS_COUNT
};

/*
 * What is wrong in a word or two, for summaries and columns: one for each check, and for a file that cannot be read.
 */
#define PELLET_BENCH_ASYMMETRY        "skewed"
#define PELLET_BENCH_BLANK            "no blank"
#define PELLET_BENCH_CARBON_DIOXIDE   "breath"
#define PELLET_BENCH_FRINGES          "ripple"
#define PELLET_BENCH_INVERTED         "blank at fault"
#define PELLET_BENCH_LEAK             "light leak"
#define PELLET_BENCH_MOISTURE         "damp"
#define PELLET_BENCH_NOISE            "noisy"
#define PELLET_BENCH_OPACITY          "cloudy"
#define PELLET_BENCH_OVERCOMPENSATION "blank at fault"
#define PELLET_BENCH_PURITY           "foreign band"
#define PELLET_BENCH_RESIDUE          "carry-over"
#define PELLET_BENCH_SATURATION       "too strong"
#define PELLET_BENCH_SPAN             "range short"
#define PELLET_BENCH_THICKNESS        "thickness"
#define PELLET_BENCH_TILT             "sloping"
#define PELLET_BENCH_VAPOUR           "room air"
#define PELLET_BENCH_WAVENUMBER       "scale off"
#define PELLET_BENCH_WEAK             "too faint"
#define PELLET_BENCH_WINDOWS          "window"
#define PELLET_BENCH_READ             "unreadable"

/* The same, of an earlier pellet ("Pellet 1 was {word} as well."). */
#define PELLET_WAS_DAMP   "damp"
#define PELLET_WAS_COARSE "coarse-grained"
#define PELLET_WAS_CLOUDY "cloudy"
#define PELLET_WAS_DIRTY  "dirty"
#define PELLET_WAS_STRONG "too strong"
#define PELLET_WAS_FAINT  "too faint"

/*
 * What is wrong, in bench words: the parts of one sentence.
 */
#define PELLET_WRONG_LIST(X)                                                                             \
    X(UNREADABLE, "the file cannot be read")                                                             \
    X(ORDINATE, "nothing says whether these are absorbances or transmittances")                          \
    X(STRONG, "too much sample in the beam")                                                             \
    X(FAINT, "too little sample in the beam")                                                            \
    X(NO_SAMPLE, "no sample seen in the beam")                                                           \
    X(DAMP, "damp")                                                                                      \
    X(COARSE, "grains too coarse")                                                                       \
    X(CLOUDY, "cloudy")                                                                                  \
    X(THICK, "too thick to press clear")                                                                 \
    X(CARRY_OVER, "traces of an earlier sample")                                                         \
    X(IMPURE, "something in the KBr that does not belong there")                                         \
    X(LEAK, "light gets past the pellet")                                                                \
    X(ZERO, "light is reported where the detector sees none")                                            \
    X(BLANK, "the blank does not fit this pellet")                                                       \
    X(NO_BLANK, "no blank that can serve")                                                               \
    X(SETTINGS, "pellet and blank were measured with different settings")                                \
    X(AIR, "the room's air changed")                                                                     \
    X(NOISY, "too noisy")                                                                                \
    X(RANGE, "part of the range is missing")                                                             \
    X(SCALE, "the wavenumber scale is off")                                                              \
    X(OTHER, "beyond a limit of the rule set")                                                           \
    X(FACT, "a check that the rule set asks for could not be made")

enum pellet_wrong {
#define PELLET_WRONG_ENUM(code, words) PELLET_WRONG_##code,
    PELLET_WRONG_LIST(PELLET_WRONG_ENUM)
#undef PELLET_WRONG_ENUM
        PELLET_WRONG_COUNT
};

/* Factors in bench words; the nearest in ratio is said. */
#define PELLET_FACTOR_LIST(X) \
    X(0.05, "about a twentieth") \
    X(0.1, "about a tenth") \
    X(0.2, "about a fifth") \
    X(0.25, "about a quarter") \
    X(0.33, "about a third") \
    X(0.5, "about half") \
    X(0.67, "about two thirds") \
    X(0.75, "about three quarters") \
    X(0.8, "about four fifths") \
    X(0.9, "about nine tenths") \
    X(1.25, "a quarter more") \
    X(1.5, "half as much again") \
    X(2.0, "about twice") \
    X(3.0, "about three times") \
    X(4.0, "about four times") \
    X(6.0, "about six times") \
    X(10.0, "about ten times") \
    X(15.0, "about fifteen times")

/*
 * What to do, in the order of work: what is known, dry, grind, weigh, press, scan, and what to beware of. {a} {b}
 * {c} are numbers in bench units, {word} a bench word such as "about a third". One instruction is joined from
 * those that apply, in this order, each once.
 */
#define PELLET_DO_LIST(X)                                                                                \
    X(READ, "Export the file again as a plain CSV or JCAMP-DX spectrum.")                                \
    X(SAY_ORDINATE, "Export it as JCAMP-DX or with a heading line that names it, or have 'ordinate' set for the station.") \
    X(KEEP, "Keep the pellet.")                                                                          \
    /* what earlier pellets of this sample taught */                                                     \
    X(LEARNT_CURED, "Unlike pellet {a} it is no longer {word}.")                                         \
    X(LEARNT_AGAIN, "Pellet {a} was {word} as well.")                                                    \
    X(LEARNT_STEP, "Its bands are {b} times as strong as those of pellet {a}; {c} times was meant: weigh and mix with care.") \
    /* how the strength of a band that is off scale is known */                                          \
    X(BY_LESSON, "By its flanks and by what pellet {c} showed, the band at {a} is about {b} high.") \
    X(BY_FLANKS, "By its flanks the band at {a} stands about {b} above its baseline ({word}).")                            \
    X(BY_PATTERN, "By its weaker bands, compared with pellet {c}, the band at {a} is about {b} high.")   \
    X(BY_BOUND, "The band at {a} is off scale, {b} or more: this is a first step, look again afterwards.") \
    X(FRINGES, "More scans did not lower it: fringes of a pellet {a} thick look like noise. Make a thinner one.") \
    X(CLOUDY_UNKNOWN, "It does not show whether coarse grains or badly fused powder cloud it: cure both.") \
    /* clean and dry */                                                                                  \
    X(CLEAN, "Clean mortar, pestle and die.")                                                            \
    X(FRESH_KBR, "Take KBr from a fresh, dry, clean lot.")                                               \
    X(DRY_KBR, "Dry the KBr and the die, warm the mortar, and press at once.")                           \
    X(DRY_SAMPLE, "Dry the sample, grind less long, warm the mortar, and press at once.")                \
    X(DRY_AND_GRIND, "Dry the sample, warm the mortar, grind no longer than it takes, and press at once.")  \
    X(DRY_AGAIN, "Dry sample and KBr both, for longer; if the water stays, it may belong to the sample.") \
    /* grind */                                                                                          \
    X(GRIND, "Before mixing, grind the sample by itself to a dull dust: nothing grates under the pestle, nothing glitters under a lens (2 um); its bands get stronger by that.") \
    X(GRIND_AGAIN, "Before mixing, grind the sample by itself, a little of it at a time, until nothing grates under the pestle or glitters under a lens (2 um).") \
    X(GRIND_KBR, "Grind the KBr to a fine, even powder.")                                                \
    /* weigh */                                                                                          \
    X(PRESS_LESS, "Press {word} ({a}) as much of the same powder.")                                 \
    X(PRESS_LESS_MG, "Press {a} of the same powder.")                                                    \
    X(DILUTE, "Mix the powder with {b} times its own mass of fresh dry KBr, without long grinding, and press the same mass.") \
    X(DILUTE_EVEN, "Mix the powder with its own mass of fresh dry KBr, without long grinding, and press the same mass.") \
    X(DILUTE_MG, "Take {a} of your powder, add {b} KBr, mix without long grinding, press {c}.")          \
    X(FRESH_LESS, "Make a fresh mix with {word} ({a}) of the sample in the same KBr.")                   \
    X(FRESH_MORE, "Make a fresh mix with {a} times as much sample ({word}) in the same KBr.")                      \
    X(FRESH_SAME, "Make a fresh mix with the same amounts.")                                             \
    X(FRESH_MG, "Make a fresh mix of {a} sample and {b} KBr, press {c}.")                                \
    X(UNUSUAL_DOSE, "That is {word} on the beam, where 0.4 to 1.5 is usual: check what was weighed.")       \
    X(CHECK_SAMPLE, "Check that the pellet holds sample and stands in the beam; weigh a fresh mix.")     \
    /* press */                                                                                          \
    X(LESS_POWDER, "Press {word} ({a}) of the mass.")                                                    \
    X(LESS_POWDER_MG, "Press only {a}.")                                                                 \
    X(SPREAD, "Spread the powder level in the die and press as before; centre the pellet in the holder and check the mask.")     \
    X(SPREAD_AGAIN, "Polish and dry the die, pump it if it can be pumped, and have trained staff look at die and press.") \
    X(REMAKE_BLANK, "Press a new blank the same way.")                                                   \
    /* scan */                                                                                           \
    X(INSTRUMENT, "The same fault twice on one pellet: look at the instrument or the blank, not at the pellet.") \
    X(SCAN_AIR, "Wait until the air in the spectrometer is steady, then measure.")                       \
    X(NEW_BLANK, "Press and measure a new blank.")                                                       \
    X(BLANK_FIRST, "Measure a blank.")                                                                   \
    X(BLANK_THEN_AGAIN, "Measure a new blank, then this pellet again.")                                  \
    X(SAME_SETTINGS, "Measure it with the settings of the blank, or a blank with its settings.")         \
    X(SCAN_LONGER, "Centre the pellet, check the mask; measure blank and pellet again (the empty beam too, if you keep one), all with {a} times as many scans.") \
    X(SCAN_BLANK_LONGER, "Centre the pellet, check the mask; measure empty beam and blank again, both with {a} times as many scans.") \
    X(SCAN_RANGE, "Measure the whole range and export all of it.")                                       \
    X(SCAN_SHUT, "Close what lets light past the pellet (mask, holder, cracks) and measure again.")      \
    X(SCAN_ZERO, "Have the detector looked at (filter, aperture, gain, zero); measure blank and pellet again.") \
    X(SCAN_AGAIN, "Centre the pellet and measure it again.")                                             \
    X(SCAN_SCALE, "Measure the film again; if it stays, the wavenumber scale needs service.")            \
    X(MISSING_FACT, "Look up what could not be checked and give it (worksheet, settings or a blank).")   \
    /* beware */                                                                                         \
    X(BEWARE_DUST, "Raise no dust; never grind what is sensitive to shock.")                             \
    X(BEWARE_HEAT, "Powder and die come hot out of the oven.")                                           \
    X(BEWARE_LOAD, "No more load than before: stay within the rating of die and press; local rules and trained staff come first.")

enum pellet_do {
#define PELLET_DO_ENUM(code, template) PELLET_DO_##code,
    PELLET_DO_LIST(PELLET_DO_ENUM)
#undef PELLET_DO_ENUM
        PELLET_DO_COUNT
};
/* clang-format on */

#endif
