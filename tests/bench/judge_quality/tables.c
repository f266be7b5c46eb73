// SPDX-License-Identifier: GPL-3.0-or-later
/* The tables that the bench prints. */
#include "score.h"

#include <math.h>

static void print_share(FILE *out, size_t part, size_t whole)
{
    if (whole == 0)
        fprintf(out, "       -");
    else
        fprintf(out, " %6.2f%%", 100.0 * (double)part / (double)whole);
}

static void print_checks(const struct bench_score *score, FILE *out)
{
    fprintf(
        out,
        "Clear: beyond %.1f limits, and found with the right outcome, or silenced behind a trust check that "
        "refuses with\ncause. Undecidable: clear, but by the definition of the check not to be decided in "
        "that spectrum. Inside: well\ninside its limit, and alarmed all the same. Near: truths of 0.5 to 2 "
        "limits; |measured - true| over its tolerance of\n10 %% (0.005 A), and measured / true.\n\n",
        BENCH_CLEAR);
    fprintf(out, "%-17s%6s%6s%8s%9s |%7s%7s |%7s%7s%8s |%6s%7s%7s |%7s%7s%7s\n", "check", "clear", "found",
            "", "silenced", "undec.", "passed", "inside", "alarms", "", "near", "median", "95 %", "5 %",
            "median", "95 %");
    for (size_t i = 0; i < score->n; i++) {
        const struct bench_tally *tally = &score->tally[i];
        fprintf(out, "%-17s%6zu%6zu", tally->id, tally->over, tally->found);
        print_share(out, tally->found, tally->over);
        fprintf(out, "%9zu |%7zu%7zu |%7zu%7zu", tally->silenced, tally->undecidable, tally->passed,
                tally->under, tally->alarmed);
        print_share(out, tally->alarmed, tally->under);
        fprintf(out, " |%6zu%7.2f%7.2f |%7.3f%7.3f%7.3f\n", tally->near.n,
                bench_errors_percentile(&tally->near, 0.5), bench_errors_percentile(&tally->near, 0.95),
                bench_errors_percentile(&tally->ratio, 0.05), bench_errors_percentile(&tally->ratio, 0.5),
                bench_errors_percentile(&tally->ratio, 0.95));
    }
}

static void print_matrix(const struct bench_score *score, FILE *out)
{
    fprintf(
        out,
        "\nA clear fault put in alone (row) and the checks that spoke: that of the fault itself, and those "
        "whose own truth is\nno clear fault. Counts.\n\n%-17s%5s |",
        "", "n");
    for (size_t k = 0; k < score->n; k++)
        fprintf(out, "%6.5s", score->tally[k].id);
    fprintf(out, "%6s\n", "none");
    for (size_t i = 0; i < score->n; i++) {
        fprintf(out, "%-17s%5zu |", score->tally[i].id, score->put_in[i]);
        for (size_t k = 0; k < score->n; k++) {
            if (score->matrix[i][k] > 0)
                fprintf(out, "%6zu", score->matrix[i][k]);
            else
                fprintf(out, "%6s", ".");
        }
        fprintf(out, "%6zu\n", score->matrix[i][BENCH_TALLIES]);
    }
}

static void print_errors(FILE *out, const struct bench_errors *errors, double factor)
{
    if (errors->n == 0)
        fprintf(out, " |%7s%7s%5zu", "-", "-", errors->n);
    else
        fprintf(out, " |%7.2f%7.2f%5zu", factor * bench_errors_percentile(errors, 0.5),
                factor * bench_errors_percentile(errors, 0.95), errors->n);
}

static void print_conditions(const struct bench_score *score, FILE *out)
{
    fprintf(out,
            "\nBy condition: cases in which every check did as it should; good pellets sent back; errors at "
            "the median and the 95th\npercentile (n): water of more than 10 ug/cm2, %%; thickness from "
            "fringes, %%; T at 2000, %%T; place of the strongest\nband, point spacings.\n\n");
    fprintf(out, "%-17s%6s%8s%6s%5s |%-19s |%-19s |%-19s |%-19s\n", "condition", "cases", "right", "good",
            "back", "  water", "  thickness", "  T at 2000", "  position");
    for (size_t i = 0; i < BENCH_CONDITIONS; i++) {
        const struct bench_condition *condition = &score->condition[i];
        fprintf(out, "%-17s%6zu", condition->name, condition->cases);
        print_share(out, condition->right, condition->cases);
        fprintf(out, "%6zu%5zu", condition->good, condition->sent_back);
        print_errors(out, &condition->water, 100.0);
        print_errors(out, &condition->thickness, 100.0);
        print_errors(out, &condition->transmittance, 1.0);
        print_errors(out, &condition->position, 1.0);
        fprintf(out, "\n");
    }
}

static void print_blanks(const struct bench_score *score, FILE *out)
{
    static const char *const names[BENCH_BLANK_STATES] = {"accepted", "provisional", "refused"};
    fprintf(out,
            "\nBlanks: as they should be (row) and as said; those with a quantity near its limit are left "
            "out.\n\n%-17s%10s%13s%9s\n",
            "", names[0], names[1], names[2]);
    for (size_t i = 0; i < BENCH_BLANK_STATES; i++)
        fprintf(out, "%-17s%10zu%13zu%9zu\n", names[i], score->blank[i][0], score->blank[i][1],
                score->blank[i][2]);
}

void bench_score_print(const struct bench_score *score, FILE *out)
{
    const struct bench_condition *all = &score->condition[0];
    print_checks(score, out);
    print_matrix(score, out);
    print_blanks(score, out);
    print_conditions(score, out);
    fprintf(out, "\nEvery check as it should be:");
    print_share(out, all->right, all->cases);
    fprintf(out, " of %zu cases; one fault put in (%zu):", all->cases, score->single);
    print_share(out, score->single_right, score->single);
    fprintf(out, "; two (%zu):", score->pair);
    print_share(out, score->pair_right, score->pair);
    fprintf(out, "\nGood pellets and blanks: %zu; sent back: %zu (allowed: fewer than 1 in 200)\n", all->good,
            all->sent_back);
}
