// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/verdict_fields.h"

#define VALUE(owner, key, member, type, flags)                                                               \
    {                                                                                                        \
        key, VERDICT_VALUE, flags, offsetof(struct owner, member), 0, 0, &(type), NULL                       \
    }
/* A map whose values lie in the verdict itself, or in a struct of its own. */
#define MAP(key, fields, flags)                                                                              \
    {                                                                                                        \
        key, VERDICT_MAP, flags, 0, 0, 0, NULL, fields                                                       \
    }
#define MAP_AT(owner, key, member, fields)                                                                   \
    {                                                                                                        \
        key, VERDICT_MAP, 0, offsetof(struct owner, member), 0, 0, NULL, fields                              \
    }
#define ROWS(owner, key, member, count, fields)                                                              \
    {                                                                                                        \
        key, VERDICT_ROWS, 0, offsetof(struct owner, member), offsetof(struct owner, count),                 \
            sizeof(*((struct owner *)0)->member), NULL, fields                                               \
    }
#define TEXTS(owner, key, member, count)                                                                     \
    {                                                                                                        \
        key, VERDICT_TEXTS, 0, offsetof(struct owner, member), offsetof(struct owner, count),                \
            sizeof(const char *), NULL, NULL                                                                 \
    }
#define END                                                                                                  \
    {                                                                                                        \
        NULL, VERDICT_VALUE, 0, 0, 0, 0, NULL, NULL                                                          \
    }

#define V(key, member, type, flags) VALUE(pellet_verdict, key, member, pellet_verdict_##type, flags)
static const struct verdict_field input[] = {
    V("bytes", bytes, count, VERDICT_NEEDED),
    V("mtime_ns", mtime_ns, ns, VERDICT_NEEDED),
    V("sha256", sha256, sha256, 0),
    END,
};
static const struct verdict_field rules[] = {
    V("name", rules_name, text, VERDICT_NEEDED),
    V("sha256", rules_sha256, sha256, 0),
    END,
};
static const struct verdict_field settings[] = {V("sha256", settings_sha256, sha256, 0), END};
static const struct verdict_field worksheet[] = {V("sha256", worksheet_sha256, sha256, 0), END};

#define A(key, member, type, flags) VALUE(pellet_against, key, member, pellet_verdict_##type, flags)
static const struct verdict_field against[] = {
    A("as", as, word, VERDICT_NEEDED),
    A("file", file, text, VERDICT_NEEDED),
    A("sha256", sha256, sha256, 0),
    A("measured", measured, time, 0),
    A("age_min", age_min, number, VERDICT_OPTIONAL),
    A("state", state, state, VERDICT_OPTIONAL),
    END,
};

static const struct verdict_field skipped[] = {
    VALUE(pellet_skipped, "file", file, pellet_verdict_text, VERDICT_NEEDED),
    VALUE(pellet_skipped, "why", why, pellet_verdict_word, VERDICT_NEEDED),
    END,
};

#define F(key, member, type, flags) VALUE(pellet_finding, key, member, type, flags)
static const struct verdict_field finding[] = {
    F("check", check, pellet_finding_check, VERDICT_NEEDED),
    F("outcome", outcome, pellet_verdict_outcome, VERDICT_NEEDED),
    F("quantity", check, pellet_finding_quantity, VERDICT_OPTIONAL),
    F("value", value, pellet_verdict_number, VERDICT_OPTIONAL),
    F("bound", at_least, pellet_finding_bound, VERDICT_OPTIONAL),
    F("limit", limit, pellet_verdict_number, VERDICT_OPTIONAL),
    F("unit", unit, pellet_finding_unit, VERDICT_OPTIONAL),
    F("at_cm1", at_cm1, pellet_verdict_number, VERDICT_OPTIONAL),
    F("from_cm1", from_cm1, pellet_verdict_number, VERDICT_OPTIONAL),
    F("to_cm1", to_cm1, pellet_verdict_number, VERDICT_OPTIONAL),
    F("basis", basis, pellet_verdict_word, VERDICT_OPTIONAL),
    F("says", says, pellet_verdict_text, VERDICT_OPTIONAL),
    F("do", instruction, pellet_verdict_text, VERDICT_OPTIONAL),
    END,
};

#define D(key, member, type) VALUE(pellet_advice, key, member, pellet_verdict_##type, 0)
static const struct verdict_field advice[] = {
    D("sample_factor", sample_factor, number),
    D("sample_factor_low", sample_factor_low, number),
    D("sample_factor_high", sample_factor_high, number),
    D("powder_factor", powder_factor, number),
    D("dry", dry, bool),
    D("regrind", regrind, bool),
    D("new_blank", new_blank, bool),
    D("lower_bound", lower_bound, bool),
    D("take_mg", take_mg, number),
    D("add_kbr_mg", add_kbr_mg, number),
    D("press_mg", press_mg, number),
    D("fresh_mix", fresh_mix, bool),
    D("thickness_mm", thickness_mm, number),
    D("clean", clean, bool),
    D("spread", spread, bool),
    D("scan_factor", scan_factor, number),
    END,
};

#define G(key, member, type) VALUE(pellet_found, key, member, pellet_verdict_##type, 0)
static const struct verdict_field found[] = {
    G("water_excess_ug_cm2", water_excess_ug_cm2, number),
    G("water_basis", water_basis, word),
    G("thickness_mm", thickness_mm, number),
    G("scatter_exponent", scatter_exponent, number),
    G("strongest_band_cm1", strongest_band_cm1, number),
    G("true_absorbance", true_absorbance, number),
    G("true_absorbance_low", true_absorbance_low, number),
    G("true_absorbance_high", true_absorbance_high, number),
    G("noise", noise, number),
    G("transmittance_2000", transmittance_2000, number),
    G("pressure_mpa", pressure_mpa, number),
    END,
};

#define B(key, member) VALUE(pellet_rendered_band, key, member, pellet_verdict_number, 0)
static const struct verdict_field band[] = {B("at_cm1", at_cm1), B("height", height),
                                            B("width_cm1", width_cm1), END};

#define P(key, member, type, flags) VALUE(pellet_previous, key, member, pellet_verdict_##type, flags)
static const struct verdict_field previous[] = {
    P("verdict", verdict, outcome, VERDICT_NEEDED),
    P("summary", summary, text, VERDICT_NEEDED),
    P("sha256", sha256, sha256, 0),
    P("judged", judged, time, 0),
    END,
};

const struct verdict_field pellet_verdict_fields[] = {
    V("format", format, whole, VERDICT_NEEDED),
    V("verdict", outcome, outcome, VERDICT_NEEDED),
    V("summary", summary, text, VERDICT_NEEDED),
    V("do", instruction, text, VERDICT_NEEDED),
    MAP("input", input, VERDICT_NEEDED),
    V("role", role, role, VERDICT_NEEDED),
    V("state", state, state, VERDICT_OPTIONAL),
    V("basis", basis, basis, 0),
    V("measured", measured, time, 0),
    V("measured_from", measured_from, time_from, 0),
    V("file", file, text, VERDICT_NEEDED),
    V("sample", sample, text, VERDICT_OPTIONAL),
    V("pellet", pellet, whole, VERDICT_OPTIONAL),
    V("scan", scan, whole, VERDICT_OPTIONAL),
    V("station", station, text, 0),
    V("session", session, text, 0),
    V("by", by, text, VERDICT_NEEDED),
    V("judged", judged, time, 0),
    MAP("rules", rules, VERDICT_NEEDED),
    MAP("settings", settings, 0),
    MAP("worksheet", worksheet, VERDICT_OPTIONAL),
    V("wait_over", wait_over, bool, VERDICT_OPTIONAL),
    V("becomes_reference", becomes_reference, bool, VERDICT_OPTIONAL),
    ROWS(pellet_verdict, "against", against, against_count, against),
    ROWS(pellet_verdict, "skipped_blanks", skipped, skipped_count, skipped),
    ROWS(pellet_verdict, "reasons", reason, reason_count, finding),
    TEXTS(pellet_verdict, "warnings", warning, warning_count),
    ROWS(pellet_verdict, "checks", check, check_count, finding),
    MAP_AT(pellet_verdict, "advice", advice, advice),
    MAP_AT(pellet_verdict, "found", found, found),
    ROWS(pellet_verdict, "bands", band, band_count, band),
    TEXTS(pellet_verdict, "outputs", output, output_count),
    ROWS(pellet_verdict, "previous", previous, previous_count, previous),
    END,
};
