// SPDX-License-Identifier: GPL-3.0-or-later
/* An invented morning at the press: good pellets, and at least one of each thing that goes wrong. */
#include "synth/model.h"

#include <gsl/gsl_rng.h>
#include <string.h>

/* A row of the story. What is 0 or NULL stays as the good pellet and the good instrument have it. */
struct row {
    double minute;
    const char *file;
    enum pellet_synth_scene_kind kind;
    const char *compound;
    double dose, grain_um, thickness_mm, haze, haze_um, water, leak, shaded;
    double noise, vapour, low_cm1;
    const char *fault, *verdict, *verdict_end, *story;
};

#define OPEN   PELLET_SYNTH_SCENE_OPEN_BEAM
#define BLANK  PELLET_SYNTH_SCENE_BLANK
#define SAMPLE PELLET_SYNTH_SCENE_SAMPLE
#define TEXT   PELLET_SYNTH_SCENE_TEXT

static const struct row rows[] = {
    {.minute = 0,
     .file = "open-beam-1.csv",
     .kind = OPEN,
     .verdict = "pass",
     .story = "the empty holder with the pellet's mask"},
    {.minute = 4,
     .file = "blank-1.csv",
     .kind = BLANK,
     .verdict = "pass",
     .story = "pure KBr, dry and clear"},
    {.minute = 9,
     .file = "sugar-A_p1.csv",
     .kind = SAMPLE,
     .compound = "sugar-A",
     .dose = 2.4,
     .fault = "saturation",
     .verdict = "remake",
     .story = "a heaped spatula: three times too much sample"},
    {.minute = 16,
     .file = "sugar-A_p2.csv",
     .kind = SAMPLE,
     .compound = "sugar-A",
     .dose = 0.68,
     .verdict = "pass",
     .story = "made again, diluted as advised"},
    {.minute = 22,
     .file = "acid-C_p1.csv",
     .kind = SAMPLE,
     .compound = "acid-C",
     .dose = 0.70,
     .verdict = "pass",
     .story = "a good pellet; its own broad O-H is not water"},
    {.minute = 28,
     .file = "amide-D_p1.csv",
     .kind = SAMPLE,
     .compound = "amide-D",
     .dose = 0.09,
     .fault = "weak",
     .verdict = "remake",
     .story = "the sample stuck to the paper: hardly any in the mix"},
    {.minute = 34,
     .file = "ester-E_p1.csv",
     .kind = SAMPLE,
     .compound = "ester-E",
     .dose = 0.65,
     .water = 85.0,
     .fault = "moisture",
     .verdict = "remake",
     .story = "ground for ten minutes in humid air"},
    {.minute = 40,
     .file = "aromatic-F_p1.csv",
     .kind = SAMPLE,
     .compound = "aromatic-F",
     .dose = 0.8,
     .grain_um = 4.5,
     .fault = "tilt",
     .verdict = "remake",
     .story = "not ground, only stirred: grains to be seen"},
    {.minute = 46,
     .file = "alcohol-B_p1.csv",
     .kind = SAMPLE,
     .compound = "alcohol-B",
     .dose = 0.70,
     .thickness_mm = 1.05,
     .haze = 0.42,
     .haze_um = 2.0,
     .fault = "opacity",
     .verdict = "remake",
     .story = "far too much powder in the die: it did not fuse clear"},
    {.minute = 51,
     .file = "nitrile-J_p1.csv",
     .kind = SAMPLE,
     .compound = "nitrile-J",
     .dose = 0.65,
     .noise = 0.008,
     .shaded = 0.1,
     .fault = "noise",
     .verdict = "rescan",
     .verdict_end = "pass",
     .story = "the mirrors out of line and the holder askew: hardly any light"},
    {.minute = 55,
     .file = "nitrile-J_p1.csv",
     .kind = SAMPLE,
     .compound = "nitrile-J",
     .dose = 0.65,
     .verdict = "pass",
     .story = "the same pellet measured again, saved under the same name"},
    {.minute = 59,
     .file = "carbonate-G_p1.csv",
     .kind = SAMPLE,
     .compound = "carbonate-G",
     .dose = 0.70,
     .low_cm1 = 650.0,
     .fault = "span",
     .verdict = "rescan",
     .story = "saved from 650 cm-1 only"},
    {.minute = 75,
     .file = "hydrochloride-I_p1.csv",
     .kind = SAMPLE,
     .compound = "hydrochloride-I",
     .dose = 0.75,
     .fault = "blank",
     .verdict = "wait",
     .verdict_end = "pass",
     .story = "a good pellet, but the blank is more than an hour old"},
    {.minute = 82,
     .file = "blank-2.csv",
     .kind = BLANK,
     .verdict = "pass",
     .story = "a new blank of the same KBr"},
    {.minute = 88,
     .file = "hydrate-L_p1.csv",
     .kind = SAMPLE,
     .compound = "hydrate-L",
     .dose = 0.70,
     .verdict = "pass",
     .story = "water of crystallisation is the sample's own, not damp"},
    {.minute = 94,
     .file = "polymer-K_p1.csv",
     .kind = SAMPLE,
     .compound = "polymer-K",
     .dose = 0.80,
     .vapour = 8e18,
     .fault = "vapour",
     .verdict = "rescan",
     .story = "measured at once after the lid was open"},
    {.minute = 99,
     .file = "blank-3.csv",
     .kind = BLANK,
     .water = 95.0,
     .fault = "moisture",
     .verdict = "remake",
     .story = "KBr from the open bottle: damp, refused as a blank"},
    {.minute = 104,
     .file = "amine-M_p1.csv",
     .kind = SAMPLE,
     .compound = "amine-M",
     .dose = 0.70,
     .verdict = "pass",
     .story = "a good pellet against the last blank that was accepted"},
    {.minute = 110,
     .file = "blank-4.csv",
     .kind = BLANK,
     .haze = 0.070,
     .haze_um = 1.5,
     .verdict = "pass",
     .story = "a dull blank, just clear enough to be accepted"},
    {.minute = 115,
     .file = "sulfate-H_p1.csv",
     .kind = SAMPLE,
     .compound = "sulfate-H",
     .dose = 0.60,
     .grain_um = 0.3,
     .fault = "overcompensation",
     .verdict = "wait",
     .verdict_end = "pass",
     .story = "clearer than its blank: more than 100 % comes through"},
    {.minute = 121,
     .file = "blank-5.csv",
     .kind = BLANK,
     .verdict = "pass",
     .story = "a clear blank for the pellet that waits"},
    {.minute = 127,
     .file = "sugar-N_p1.csv",
     .kind = SAMPLE,
     .compound = "sugar-A",
     .dose = 6.0,
     .leak = 0.06,
     .fault = "leak",
     .verdict = "rescan",
     .story = "a cracked pellet, and far too strong: light comes past it"},
    {.minute = 132,
     .file = "polymer-K_p2.csv",
     .kind = TEXT,
     .fault = "read",
     .verdict = "rescan",
     .story = "polymer K, second pellet, ask about the die before measuring"},
    {.minute = 195,
     .file = "amine-M_p2.csv",
     .kind = SAMPLE,
     .compound = "amine-M",
     .dose = 0.72,
     .fault = "blank",
     .verdict = "wait",
     .verdict_end = "rescan",
     .story = "after lunch, and nobody made a new blank"},
};

size_t pellet_synth_scene_count(void)
{
    return sizeof rows / sizeof rows[0];
}

static double given(double value, double standard)
{
    return value > 0.0 ? value : standard;
}

/* A factor of 1 +- spread, so that no two sessions are the same. */
static double about(gsl_rng *rng, double spread)
{
    return 1.0 + spread * (2.0 * gsl_rng_uniform(rng) - 1.0);
}

static void set_pellet(const struct row *row, gsl_rng *rng, struct pellet_synth_pellet *pellet)
{
    pellet_synth_pellet_init(pellet);
    if (row->compound)
        pellet->compound = pellet_synth_compound_find(row->compound);
    pellet->dose_mg_cm2 = row->dose * about(rng, 0.04);
    pellet->grain_um = given(row->grain_um, pellet->grain_um);
    pellet->thickness_mm = given(row->thickness_mm, pellet->thickness_mm) * about(rng, 0.08);
    pellet->haze = given(row->haze, pellet->haze) * about(rng, 0.05);
    pellet->haze_um = given(row->haze_um, pellet->haze_um);
    pellet->water_ug_cm2 = given(row->water, pellet->water_ug_cm2) * about(rng, 0.1);
    pellet->leak = row->leak;
    pellet->shaded = row->shaded;
}

static void set_instrument(const struct row *row, gsl_rng *rng, struct pellet_synth_instrument *instrument)
{
    pellet_synth_instrument_init(instrument);
    instrument->gain = about(rng, 0.004);
    instrument->noise = given(row->noise, instrument->noise);
    instrument->vapour_cm2 = given(row->vapour, instrument->vapour_cm2) * about(rng, 0.1);
    instrument->carbon_dioxide_cm2 *= about(rng, 0.2);
    instrument->low_cm1 = given(row->low_cm1, instrument->low_cm1);
}

void pellet_synth_scene_make(size_t i, unsigned long seed, struct pellet_synth_scene *scene)
{
    const struct row *row = &rows[i];
    *scene = (struct pellet_synth_scene){
        .file = row->file,
        .kind = row->kind,
        .minute = row->minute,
        .fault = row->fault,
        .verdict = row->verdict,
        .verdict_end = row->verdict_end ? row->verdict_end : row->verdict,
        .story = row->story,
        .seed = seed * 1000 + i + 1,
    };
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    if (!rng)
        return;
    gsl_rng_set(rng, scene->seed);
    set_pellet(row, rng, &scene->pellet);
    set_instrument(row, rng, &scene->instrument);
    gsl_rng_free(rng);
}
