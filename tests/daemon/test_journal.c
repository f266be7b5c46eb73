// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Events in the journal, read from a socket that stands where the journal's does: the native protocol is
 * "NAME=value" lines (systemd.io, JOURNAL_NATIVE_PROTOCOL). It needs root for a /run of its own.
 */
#include "daemon/running.h"

#include "journal.h"
#include "notify.h"

#include <sched.h>
#include <sys/mount.h>
#include <sys/socket.h>
#include <sys/un.h>

struct journal {
    int socket;
    struct pellet_text entry; /* the last one that was waited for */
};

static bool enter_namespace(void)
{
    return unshare(CLONE_NEWNS) == 0 && mount("none", "/", "none", MS_REC | MS_PRIVATE, NULL) == 0 &&
           mount("none", "/run", "tmpfs", 0, NULL) == 0;
}

static struct journal journal_open(const struct running *running)
{
    struct journal journal = {.socket = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0)};
    const struct sockaddr_un address = {.sun_family = AF_UNIX, .sun_path = "/run/systemd/journal/socket"};
    struct stat st;
    char stream[64];
    assert_int_equal(mkdir("/run/systemd", 0755), 0);
    assert_int_equal(mkdir("/run/systemd/journal", 0755), 0);
    assert_int_equal(bind(journal.socket, (const struct sockaddr *)&address, sizeof address), 0);
    running_write(running_messages(running), "", 0);
    assert_int_equal(stat(running_messages(running), &st), 0);
    snprintf(stream, sizeof stream, "%llu:%llu", (unsigned long long)st.st_dev,
             (unsigned long long)st.st_ino);
    setenv("JOURNAL_STREAM", stream, 1);
    return journal;
}

static bool next_entry(struct journal *journal, const char *with)
{
    char bytes[16384];
    ssize_t n = recv(journal->socket, bytes, sizeof bytes, MSG_DONTWAIT);
    if (n <= 0)
        return false;
    pellet_text_clear(&journal->entry);
    pellet_text_addc(&journal->entry, '\n');
    pellet_text_add(&journal->entry, bytes, (size_t)n);
    return strstr(journal->entry.data, with) != NULL;
}

#define wait_entry(journal, with)    running_until(next_entry(journal, with), "no entry with %s", with)
#define assert_field(journal, field) assert_non_null(strstr((journal)->entry.data, "\n" field "\n"))

static void test_each_event_has_its_fields(void **state)
{
    struct running *running = *state;
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    if (!notify_is_built_in() || !enter_namespace()) {
        print_message("needs root and libsystemd: what the journal gets was not looked at\n");
        skip();
    }
    struct journal journal = journal_open(running);
    running->pid = running_spawn(running, arguments);
    wait_entry(&journal, "MESSAGE_ID=4bcbf47b3905444c937666c64b26bc84");
    assert_field(&journal, "PRIORITY=6");
    running_save(running, "two\nlines_p3.csv", 1, 0.35, 1);
    wait_entry(&journal, "MESSAGE_ID=03983d51849c470fa8661ca839054614");
    assert_field(&journal, "PRIORITY=5");
    assert_field(&journal, "PELLETD_STATION=bench");
    assert_field(&journal, "PELLETD_FILE=two\\x0Alines_p3.csv");
    assert_field(&journal, "PELLETD_VERDICT=wait");
    assert_field(&journal, "PELLETD_CHECK=blank");
    assert_field(&journal, "PELLETD_ROLE=sample");
    assert_field(&journal, "PELLETD_PELLET=3");
    assert_field(&journal, "PELLETD_RULES=routine");
    assert_field(&journal, "PELLETD_MEASURED=2026-03-04T09:01:00Z");
    assert_field(&journal, "SYSLOG_IDENTIFIER=pelletd");
    running_stop(running);
    /* The fields say it all: nothing is said a second time as a plain line. */
    char *messages = running_read(running_messages(running));
    assert_string_equal(messages, "");
    free(messages);
    close(journal.socket);
    pellet_text_free(&journal.entry);
    unsetenv("JOURNAL_STREAM");
}

static void test_ids_are_128_bits_and_all_different(void **state)
{
    static const char *const ids[] = {
#define ID(code, id, meaning) (id),
        JOURNAL_EVENT_LIST(ID)
#undef ID
    };
    (void)state;
    for (size_t i = 0; i < JOURNAL_EVENT_COUNT; i++) {
        if (i == JOURNAL_OTHER)
            continue;
        assert_int_equal(strlen(ids[i]), 32);
        assert_int_equal(strspn(ids[i], "0123456789abcdef"), 32);
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(ids[i], ids[k]);
    }
}

static void test_priorities(void **state)
{
    struct pellet_verdict verdict = {.role = PELLET_SAMPLE, .outcome = PELLET_PASS};
    (void)state;
    assert_int_equal(journal_priority(&verdict), 6);
    verdict.outcome = PELLET_REMAKE;
    assert_int_equal(journal_priority(&verdict), 5);
    verdict.role = PELLET_BLANK;
    assert_int_equal(journal_priority(&verdict), 4);
    verdict.outcome = PELLET_PASS;
    assert_int_equal(journal_priority(&verdict), 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(test_each_event_has_its_fields),
        cmocka_unit_test(test_ids_are_128_bits_and_all_different),
        cmocka_unit_test(test_priorities),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
