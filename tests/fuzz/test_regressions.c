// SPDX-License-Identifier: GPL-3.0-or-later
/* Every input that once broke a reader, and the seeds of the fuzzers, through the same properties. */
#include "replay.h"

#include "property_daemon.h"

static void csv(const uint8_t *bytes, size_t n)
{
    property_of_reader(pellet_csv_read, bytes, n);
}

static void jcamp(const uint8_t *bytes, size_t n)
{
    property_of_reader(pellet_jcamp_read, bytes, n);
}

static const struct {
    const char *corpus, *regressions;
    replay_property *property;
} fuzzers[] = {
    {"corpus/csv", "regressions/csv", csv},
    {"corpus/jcamp", "regressions/jcamp", jcamp},
    {"corpus/rules", "regressions/rules", property_of_rules},
    {"corpus/verdict", "regressions/verdict", property_of_verdict},
    {"corpus/config", "regressions/config", property_of_config},
    {"corpus/worksheet", "regressions/worksheet", property_of_worksheet},
    {"../../config/rules", "regressions/rules", property_of_rules},
};

static void seeds_and_regressions(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof fuzzers / sizeof *fuzzers; i++) {
        assert_true(replay(fuzzers[i].property, fuzzers[i].corpus) > 0);
        replay(fuzzers[i].property, fuzzers[i].regressions);
    }
}

static void the_configuration_that_is_shipped(void **state)
{
    (void)state;
    replay_file(property_of_config, PELLET_TREE "/config/pelletd.yaml");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(seeds_and_regressions),
                                       cmocka_unit_test(the_configuration_that_is_shipped)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
