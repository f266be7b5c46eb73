// SPDX-License-Identifier: GPL-3.0-or-later
/* A finding from its blank state to an outcome: the limit compares the value as the verdict will hold it. */
#include "checks/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Significant digits of a value in a verdict. */
#define VALUE_DIGITS 4

void pellet_rule_standard(const struct pellet_check *check, struct pellet_rule *rule)
{
    struct pellet_rule standard = {.on = true, .outcome = check->outcome, .source = check->source};

    for (size_t i = 0; i < PELLET_PARAMETERS_MAX && check->parameter[i].key != NULL; i++)
        standard.parameter[i] = check->parameter[i].standard;
    *rule = standard;
}

void pellet_finding_init(const struct pellet_check *check, struct pellet_finding *finding)
{
    *finding = (struct pellet_finding){
        .check = check,
        .outcome = PELLET_NOT_CHECKED,
        .value = NAN,
        .limit = NAN,
        .unit = check->unit,
        .at_cm1 = NAN,
        .from_cm1 = NAN,
        .to_cm1 = NAN,
        .rests_low = 0.0,
        .rests_high = INFINITY,
        .phrase = PELLET_SAYS_NOTHING,
        .number = {NAN, NAN, NAN},
    };
}

/* The number that the text of the verdict reads back as, so that nobody finds 1.500 refused at a limit
 * of 1.5. */
static double as_written(double value)
{
    char text[32];
    double written = value;

    if (!isfinite(value))
        return value;
    pellet_number_round(value, VALUE_DIGITS, text);
    return pellet_number_parse(text, strlen(text), '.', &written) == PELLET_OK ? written : value;
}

static void decide(struct pellet_finding *finding, const struct pellet_rule *rule, double value, double limit,
                   bool above, enum pellet_phrase phrase)
{
    finding->value = as_written(value);
    finding->limit = limit;
    const bool beyond = above ? finding->value > limit : finding->value < limit;
    finding->outcome = beyond ? rule->outcome : PELLET_PASS;
    finding->phrase = beyond ? phrase : PELLET_SAYS_WITHIN;
}

void pellet_finding_above(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                          double limit, enum pellet_phrase phrase)
{
    decide(finding, rule, value, limit, true, phrase);
}

void pellet_finding_below(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                          double limit, enum pellet_phrase phrase)
{
    decide(finding, rule, value, limit, false, phrase);
}

void pellet_finding_either_sign(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                                double limit, enum pellet_phrase phrase)
{
    decide(finding, rule, fabs(value), limit, true, phrase);
    finding->value = copysign(finding->value, value);
}

void pellet_finding_not_checked(struct pellet_finding *finding, enum pellet_phrase phrase)
{
    finding->outcome = PELLET_NOT_CHECKED;
    finding->phrase = phrase;
}

void pellet_finding_unusable(struct pellet_finding *finding, pellet_status status, double low, double high)
{
    pellet_finding_range(finding, low, high);
    pellet_finding_not_checked(finding, status == PELLET_E_RANGE    ? PELLET_SAYS_OUT_OF_RANGE
                                        : status == PELLET_E_SHORT  ? PELLET_SAYS_TOO_FEW_POINTS
                                        : status == PELLET_E_MEMORY ? PELLET_SAYS_NO_MEMORY
                                                                    : PELLET_SAYS_NO_FIT);
}

void pellet_finding_range(struct pellet_finding *finding, double low, double high)
{
    finding->from_cm1 = low;
    finding->to_cm1 = high;
    finding->rests_low = low;
    finding->rests_high = high;
}

void pellet_finding_place(struct pellet_finding *finding, double at, double half)
{
    finding->at_cm1 = at;
    finding->rests_low = at - half;
    finding->rests_high = at + half;
}

void pellet_finding_distrust(struct pellet_finding *finding, double low, double high)
{
    if (finding->distrust_count < PELLET_DISTRUST_MAX)
        finding->distrust[finding->distrust_count++] = (struct pellet_limit){low, high};
}

bool pellet_finding_refuses(const struct pellet_finding *finding)
{
    return finding->outcome == PELLET_WAIT || finding->outcome == PELLET_RESCAN ||
           finding->outcome == PELLET_REMAKE;
}

void pellet_finding_word(struct pellet_finding *finding, const char *word)
{
    size_t n = strlen(word);

    if (n >= sizeof finding->word) {
        n = sizeof finding->word - 1;
        while (n > 0 && ((unsigned char)word[n] & 0xC0u) == 0x80u) /* inside a character of UTF-8 */
            n--;
    }
    memcpy(finding->word, word, n);
    finding->word[n] = '\0';
}
