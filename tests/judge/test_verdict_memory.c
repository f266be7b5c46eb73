// SPDX-License-Identifier: GPL-3.0-or-later
/* Every allocation of reading, writing and comparing verdicts, and of reading rule sets, fails in turn. */
#include "testing.h"

#include "failing_memory.h"
#include "judge/random_verdict.h"

/* What is tried: E_MEMORY, and nothing leaked, for each allocation; then the answer without failures. */
struct attempt {
    const char *name;
    pellet_status (*run)(const struct pellet_verdict *verdict, const struct pellet_text *yaml);
};

static pellet_status try_write(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    struct pellet_text out = {0};
    const pellet_status status = pellet_verdict_write(verdict, &out);
    /* The worst would be a file with a good digest and a wrong content. */
    if (status == PELLET_OK)
        assert_string_equal(out.data, yaml->data);
    pellet_text_free(&out);
    return status;
}

static pellet_status try_json(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)yaml;
    struct pellet_text out = {0};
    const pellet_status status = pellet_verdict_json(verdict, &out);
    pellet_text_free(&out);
    return status;
}

static pellet_status try_compare(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)yaml;
    struct pellet_text out = {0};
    const size_t differences = pellet_verdict_compare(verdict, verdict, &out);
    const pellet_status status = pellet_text_status(&out);
    assert_int_equal(differences, status == PELLET_OK ? 0 : 1);
    pellet_text_free(&out);
    return status;
}

static pellet_status try_read(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)verdict;
    struct pellet_verdict read = {0};
    struct pellet_error error = {0};
    const pellet_status status = pellet_verdict_read(yaml->data, yaml->length, &read, &error);
    pellet_verdict_clear(&read);
    return status;
}

static pellet_status try_brief(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)verdict;
    struct pellet_verdict read = {0};
    const pellet_status status = pellet_verdict_read_brief(yaml->data, yaml->length, &read, NULL);
    pellet_verdict_clear(&read);
    return status;
}

static pellet_status try_rules(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)verdict, (void)yaml;
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    const pellet_status status = pellet_rules_shipped("routine", &rules, &error);
    pellet_rules_clear(&rules);
    return status;
}

static pellet_status try_print(const struct pellet_verdict *verdict, const struct pellet_text *yaml)
{
    (void)verdict, (void)yaml;
    struct pellet_rules rules = {0};
    struct pellet_text out = {0};
    pellet_status status = pellet_rules_shipped("routine", &rules, NULL);
    if (status == PELLET_OK) {
        pellet_rules_print(&rules, &out);
        status = pellet_text_status(&out);
    }
    pellet_text_free(&out);
    pellet_rules_clear(&rules);
    return status;
}

static void fail_each(const struct attempt *attempt, const struct pellet_verdict *verdict,
                      const struct pellet_text *yaml)
{
    const long live = memory_live;
    long n = 0;
    for (bool failed = true; failed; n++) {
        memory_fail_after(n);
        const pellet_status status = attempt->run(verdict, yaml);
        failed = memory_stop_failing();
        if (status != (failed ? PELLET_E_MEMORY : PELLET_OK) || memory_live != live)
            fail_msg("%s, allocation %ld: %s, %ld blocks leaked", attempt->name, n, pellet_status_id(status),
                     memory_live - live);
    }
    print_message("%s: %ld allocations\n", attempt->name, n - 1);
}

static void every_allocation_fails_in_turn(void **state)
{
    (void)state;
    static const struct attempt attempts[] = {
        {"write", try_write}, {"json", try_json},   {"compare", try_compare}, {"read", try_read},
        {"brief", try_brief}, {"rules", try_rules}, {"print", try_print},
    };
    if (!FAILING_MEMORY) {
        print_message("skipped: the allocator cannot be replaced here\n");
        skip();
    }
    uint64_t seed = 5;
    struct pellet_verdict verdict = random_verdict(&seed);
    struct pellet_text yaml = {0};
    verdict.file = "stray \xff byte";
    assert_int_equal(pellet_verdict_write(&verdict, &yaml), PELLET_OK);
    for (size_t i = 0; i < sizeof attempts / sizeof *attempts; i++)
        fail_each(&attempts[i], &verdict, &yaml);
    pellet_text_free(&yaml);
    pellet_verdict_clear(&verdict);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_allocation_fails_in_turn)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
