// SPDX-License-Identifier: GPL-3.0-or-later
/* Each spectrum belongs to one station: folders that lie within each other, plainly or by way of a link. */
#include "daemon/running.h"

#include "claims.h"

static int open_folder(const char *path)
{
    const int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    assert_true(folder >= 0);
    return folder;
}

static void one_within_another(void **state)
{
    struct running *running = *state;
    struct claims *claims = claims_new();
    char why[200] = "";
    assert_non_null(claims);
    assert_int_equal(mkdir(running_path(running, "day"), 0777), 0);
    const int outer = open_folder(running->folder);
    const int inner = open_folder(running_path(running, "day"));
    const int around = open_folder(running->around);
    assert_true(claims_take(claims, "outer", outer, -1, why, sizeof why));
    assert_false(claims_take(claims, "inner", inner, -1, why, sizeof why));
    assert_non_null(strstr(why, "'outer'"));
    assert_false(claims_take(claims, "around", around, -1, why, sizeof why));
    assert_false(claims_take(claims, "same", outer, -1, why, sizeof why));
    claims_give_back(claims, "outer");
    claims_give_back(claims, "never taken");
    assert_true(claims_take(claims, "inner", inner, -1, why, sizeof why));
    close(outer);
    close(inner);
    close(around);
    claims_free(claims);
}

/* A name that begins alike is another folder. */
static void neighbours(void **state)
{
    struct running *running = *state;
    struct claims *claims = claims_new();
    char why[200] = "";
    assert_int_equal(mkdir(running_path(running, "day"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "day-2"), 0777), 0);
    const int first = open_folder(running_path(running, "day"));
    const int second = open_folder(running_path(running, "day-2"));
    assert_true(claims_take(claims, "first", first, -1, why, sizeof why));
    assert_true(claims_take(claims, "second", second, -1, why, sizeof why));
    close(first);
    close(second);
    claims_free(claims);
}

/* Verdicts of one station are nothing to be found in another's folder; outputs within each other
 * are no harm. */
static void outputs(void **state)
{
    struct running *running = *state;
    struct claims *claims = claims_new();
    char why[200] = "";
    assert_int_equal(mkdir(running_path(running, "a"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "b"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "b/out"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "out"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "out/b"), 0777), 0);
    const int a = open_folder(running_path(running, "a"));
    const int b = open_folder(running_path(running, "b"));
    const int within = open_folder(running_path(running, "b/out"));
    const int out = open_folder(running_path(running, "out"));
    const int below = open_folder(running_path(running, "out/b"));
    assert_true(claims_take(claims, "b", b, within, why, sizeof why));
    assert_false(claims_take(claims, "a", a, within, why, sizeof why));
    assert_true(claims_take(claims, "a", a, out, why, sizeof why));
    claims_give_back(claims, "b");
    assert_true(claims_take(claims, "b", b, below, why, sizeof why));
    claims_give_back(claims, "b");
    assert_false(claims_take(claims, "b", b, a, why, sizeof why));
    const int fds[] = {a, b, within, out, below};
    for (size_t i = 0; i < sizeof fds / sizeof fds[0]; i++)
        close(fds[i]);
    claims_free(claims);
}

/* The configuration cannot know; the program finds out, and the first one goes on. */
static void by_way_of_a_link(void **state)
{
    struct running *running = *state;
    char path[PATH_MAX + 20];
    char link[PATH_MAX + 20];
    char *watch[] = {(char *)PELLETD_PROGRAM, "watch", "--config", path, NULL};
    char *check[] = {(char *)PELLETD_PROGRAM, "check", "--config", path, NULL};
    struct pellet_text text = {0};
    assert_int_equal(mkdir(running_path(running, "day"), 0777), 0);
    snprintf(link, sizeof link, "%s/link", running->around);
    assert_int_equal(symlink(running_path(running, "day"), link), 0);
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    pellet_text_addf(&text,
                     "format: 1\nstations:\n  - {name: one, folder: %s}\n  - {name: two, folder: %s}\n",
                     running->folder, link);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
    assert_int_equal(running_run(running, check), 2);
    assert_true(running_said(running, "lie within each other"));
    unlink(running_messages(running));
    running->pid = running_spawn(running, watch);
    running_wait_said(running, "ready: watching 1, away 1");
    assert_true(running_said(running, "lie within each other"));
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(one_within_another),
        running_test(neighbours),
        running_test(outputs),
        running_test(by_way_of_a_link),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
