// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The units as systemd itself reads them (systemd-analyze, package systemd; skipped where it is missing), and
 * the drop-in that `pelletd check` prints for a configuration.
 */
#include "daemon/running.h"

#define EXPOSURE_MAX "15" /* tenths: 1.5 on systemd's scale of 0 to 10 */

static int run_tool(const struct running *running, char *const *arguments)
{
    char out[PATH_MAX + 20];
    int status = 0;
    snprintf(out, sizeof out, "%s/tool", running->around);
    pid_t pid = fork();
    if (pid == 0) {
        int file = open(out, O_WRONLY | O_CREAT | O_TRUNC, 0666);
        dup2(file, STDOUT_FILENO);
        dup2(file, STDERR_FILENO);
        execvp(arguments[0], arguments);
        _exit(127);
    }
    assert_int_equal(waitpid(pid, &status, 0), pid);
    const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    if (code == 127) {
        print_message("%s is missing: the units were not looked at\n", arguments[0]);
        skip();
    }
    if (code != 0) {
        char *text = running_read(out);
        print_error("%s\n", text);
        free(text);
    }
    return code;
}

/* A copy that names the program where it was built. */
static void copy_unit(const struct running *running, const char *unit, char path[PATH_MAX + 60])
{
    static const char installed[] = "/usr/bin/pelletd";
    char *text = running_read(path);
    struct pellet_text copy = {0};
    assert_non_null(text);
    char *at = strstr(text, installed);
    assert_non_null(at);
    pellet_text_add(&copy, text, (size_t)(at - text));
    pellet_text_adds(&copy, PELLETD_PROGRAM);
    pellet_text_adds(&copy, at + sizeof installed - 1);
    snprintf(path, PATH_MAX + 60, "%s/%s", running->around, unit);
    running_write(path, copy.data, copy.length);
    pellet_text_free(&copy);
    free(text);
}

static void check_unit(const struct running *running, const char *unit)
{
    char path[PATH_MAX + 60];
    snprintf(path, sizeof path, "%s/systemd/%s", PELLET_TREE, unit);
    copy_unit(running, unit, path);
    char *verify[] = {"systemd-analyze", "verify", "--man=no", path, NULL};
    char *security[] = {"systemd-analyze",
                        "security",
                        "--offline=yes",
                        "--no-pager",
                        "--threshold=" EXPOSURE_MAX,
                        path,
                        NULL};
    assert_int_equal(run_tool(running, verify), 0);
    assert_int_equal(run_tool(running, security), 0);
}

static void test_service(void **state)
{
    check_unit(*state, "pelletd.service");
}

static void test_alerts(void **state)
{
    check_unit(*state, "pelletd-alerts.service");
}

/* What is printed is pasted: together with the unit it must be good for systemd, whatever the folder is
 * called. */
static void test_drop_in(void **state)
{
    struct running *running = *state;
    char path[PATH_MAX + 60];
    char folder[PATH_MAX + 60];
    char config[PATH_MAX + 60];
    struct pellet_text text = {0};
    snprintf(folder, sizeof folder, "%s/IR 100%% \"new\"", running->around);
    assert_int_equal(mkdir(folder, 0777), 0);
    snprintf(config, sizeof config, "%s/pelletd.yaml", running->around);
    pellet_text_addf(&text, "format: 1\nmetrics: %s/m.prom\nstations:\n  - folder: '%s'\n    name: b\n",
                     running->around, folder);
    running_write(config, text.data, text.length);
    pellet_text_free(&text);
    char *arguments[] = {(char *)PELLETD_PROGRAM, "check", "--config", config, NULL};
    assert_int_equal(running_run(running, arguments), 0);
    char *lines = running_lines(running);
    const char *drop_in = strstr(lines, "[Unit]");
    assert_non_null(drop_in);
    assert_non_null(strstr(drop_in, "/IR\\x20100%%\\x20\\x22new\\x22\n"));
    snprintf(path, sizeof path, "%s/systemd/pelletd.service", PELLET_TREE);
    copy_unit(running, "pelletd.service", path);
    char *unit = running_read(path);
    pellet_text_addf(&text, "%s\n%s", unit, drop_in);
    running_write(path, text.data, text.length);
    char *verify[] = {"systemd-analyze", "verify", "--man=no", path, NULL};
    assert_int_equal(run_tool(running, verify), 0);
    pellet_text_free(&text);
    free(unit);
    free(lines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(test_service),
        running_test(test_alerts),
        running_test(test_drop_in),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
