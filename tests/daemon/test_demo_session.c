// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The whole path on the invented session: the demo writes files, the judge reads, pairs, ratios and judges
 * them, and each verdict is what the story calls for, for the reason that was put in. The session is a
 * model's (lib/synth), so this shows that the parts fit together, not how real pellets fare.
 */
#include "testing.h"

#include "pellet/judge.h"
#include "pellet/synth.h"

#include <fcntl.h>
#include <string.h>
#include <sys/wait.h>

static int run(const char *first, const char *second, const char *third, const char *fourth)
{
    int status;
    const pid_t child = fork();

    assert_true(child >= 0);
    if (child == 0) {
        const int null = open("/dev/null", O_WRONLY);
        dup2(null, STDOUT_FILENO);
        alarm(120 * testing_patience());
        execl(PELLETD_PROGRAM, "pelletd", first, second, third, fourth, (char *)NULL);
        _exit(127);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void read_verdict(int folder, const char *name, struct pellet_verdict *v)
{
    struct pellet_error error = {0};
    struct pellet_text verdict_name = {0};
    struct pellet_bytes bytes = {0};

    pellet_verdict_name(name, &verdict_name);
    assert_int_equal(
        pellet_read_file(folder, pellet_text_string(&verdict_name), 1 << 20, &bytes, NULL, &error),
        PELLET_OK);
    assert_int_equal(pellet_verdict_read(bytes.data, bytes.n, v, &error), PELLET_OK);
    pellet_bytes_free(&bytes);
    pellet_text_free(&verdict_name);
}

/* Whether a later scene saves the same file again, so that this content is gone. */
static bool is_overwritten(size_t i, const char *file)
{
    for (size_t k = i + 1; k < pellet_synth_scene_count(); k++) {
        struct pellet_synth_scene later;
        pellet_synth_scene_make(k, 1, &later);
        if (strcmp(later.file, file) == 0)
            return true;
    }
    return false;
}

static bool names_check(const struct pellet_verdict *v, const char *id)
{
    for (size_t i = 0; i < v->reason_count; i++) {
        const struct pellet_check *check = v->reason[i].check;
        if (strcmp(check != NULL ? check->id : "read", id) == 0)
            return true;
    }
    return false;
}

/* A closed session: who still waits for a blank at its end is told to measure again. */
static const char *closed(const char *verdict)
{
    return strcmp(verdict, "wait") == 0 ? "rescan" : verdict;
}

static void expect_scene(int folder, const struct pellet_synth_scene *scene)
{
    const char *end = closed(scene->verdict_end != NULL ? scene->verdict_end : scene->verdict);
    struct pellet_verdict v;

    read_verdict(folder, scene->file, &v);
    print_message("%s: %s\n", scene->file, v.summary);
    assert_string_equal(pellet_outcome_id(v.outcome), end);
    if (v.outcome != PELLET_PASS)
        assert_true(names_check(&v, scene->fault));
    pellet_verdict_clear(&v);
}

static void test_each_fault_is_called_by_its_name(void **state)
{
    char folder[] = "/tmp/pelletd-demo-XXXXXX", command[600];
    int descriptor;

    (void)state;
    assert_non_null(mkdtemp(folder));
    assert_int_equal(run("demo", folder, "--pace", "0"), 0);
    assert_int_equal(run("judge", folder, NULL, NULL), 1);
    descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    assert_true(descriptor >= 0);
    for (size_t i = 0; i < pellet_synth_scene_count(); i++) {
        struct pellet_synth_scene scene;
        pellet_synth_scene_make(i, 1, &scene);
        if (!is_overwritten(i, scene.file))
            expect_scene(descriptor, &scene);
    }
    close(descriptor);
    assert_int_equal(run("judge", "--verify", folder, NULL), 0);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_each_fault_is_called_by_its_name)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
