// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Rights as labs have them: a service user, spectra that belong to others, a setgid folder, a default ACL, a
 * umask; rights that are lost for a while and come back. Only root can run the program as another user.
 */
#include "daemon/running.h"

#include <endian.h>
#include <sys/xattr.h>

#define SERVICE 65534
#define PEOPLE  1234 /* the group of those who work at the bench */

/* The program will run as the service user, on a folder with these rights. */
static bool as_service(struct running *running, mode_t mode)
{
    if (geteuid() != 0) {
        printf("skipped: only root can run it as another user\n");
        return false;
    }
    assert_int_equal(chmod(running->around, 0777), 0);
    assert_int_equal(chmod(running->folder, mode), 0);
    running->user = SERVICE;
    return true;
}

static mode_t mode_of(const struct running *running, const char *name, gid_t *group)
{
    struct stat st;
    assert_int_equal(stat(running_path(running, name), &st), 0);
    if (group)
        *group = st.st_gid;
    return st.st_mode & 07777;
}

/* Spectra that belong to others and cannot be read at first. */
static void spectrum_denied_and_allowed(void **state)
{
    struct running *running = *state;
    if (!as_service(running, 0777))
        skip();
    running_begin(running);
    umask(0077);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    umask(0022);
    running_wait_said(running, "trying again for 60 s");
    assert_false(running_there(running, "a_p1.csv.verdict.yaml"));
    assert_int_equal(chmod(running_path(running, "a_p1.csv"), 0644), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
}

/* The group of a setgid folder goes over to what is written, so that the people can read and delete it. */
static void setgid_folder(void **state)
{
    struct running *running = *state;
    gid_t group = 0;
    if (!as_service(running, 0777))
        skip();
    assert_int_equal(chown(running->folder, 0, PEOPLE), 0);
    assert_int_equal(chmod(running->folder, 02777), 0);
    umask(0002);
    running_begin(running);
    umask(0022);
    assert_int_equal(mode_of(running, "blank.csv.verdict.yaml", &group), 0664);
    assert_int_equal(group, PEOPLE);
    assert_int_equal(mode_of(running, "reports/pictures", &group), 02775);
    assert_int_equal(group, PEOPLE);
    assert_int_equal(mode_of(running, "reports/pictures/blank.csv.svg", &group), 0664);
    assert_int_equal(group, PEOPLE);
    running_stop(running);
}

/* What is written has the rights that the umask leaves, no more and no fewer. */
static void umask_is_kept(void **state)
{
    struct running *running = *state;
    if (!as_service(running, 0777))
        skip();
    umask(0027);
    running_watch(running);
    umask(0022);
    running_save_first(running);
    assert_int_equal(mode_of(running, "blank.csv.verdict.yaml", NULL), 0640);
    assert_int_equal(mode_of(running, "reports", NULL), 0750);
    running_stop(running);
}

struct acl_entry {
    uint16_t tag, rights;
    uint32_t id;
};

/* "Whoever makes a file here, the service may read and write it", as `setfacl -d -m u:SERVICE:rwX` says it.
 * The form of the attribute is that of linux/posix_acl_xattr.h. */
static bool set_default_acl(const char *folder)
{
    const struct {
        uint32_t version;
        struct acl_entry entry[5];
    } acl = {htole32(2),
             {{htole16(0x01), htole16(7), UINT32_MAX},
              {htole16(0x02), htole16(7), htole32(SERVICE)},
              {htole16(0x04), htole16(5), UINT32_MAX},
              {htole16(0x10), htole16(7), UINT32_MAX},
              {htole16(0x20), htole16(0), UINT32_MAX}}};
    if (setxattr(folder, "system.posix_acl_default", &acl, sizeof acl, 0) == 0)
        return true;
    printf("skipped: no access control lists here: %s\n", strerror(errno));
    return false;
}

/* Where the folder has a default ACL, that decides and not the umask. */
static void default_acl(void **state)
{
    struct running *running = *state;
    char acl[256];
    if (!as_service(running, 0777) || !set_default_acl(running->folder))
        skip();
    umask(0077);
    running_watch(running);
    /* The spectra too belong to somebody else, who keeps his files to himself otherwise. */
    running_save_first(running);
    umask(0022);
    /* The group bits show the mask of the list: the named user may read and write. */
    assert_int_equal(mode_of(running, "blank.csv.verdict.yaml", NULL), 0660);
    assert_true(getxattr(running_path(running, "blank.csv.verdict.yaml"), "system.posix_acl_access", acl,
                         sizeof acl) > 0);
    assert_true(
        getxattr(running_path(running, "reports/pictures"), "system.posix_acl_default", acl, sizeof acl) > 0);
    running_stop(running);
}

/* Rights to write are lost and come back. */
static void not_writable_for_a_while(void **state)
{
    struct running *running = *state;
    if (!as_service(running, 0777))
        skip();
    running_begin(running);
    assert_int_equal(chmod(running->folder, 0755), 0);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_said(running, "writing is tried again until it works");
    assert_int_equal(chmod(running->folder, 0777), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
}

static const char *lines_after(char *lines, const char *before)
{
    return lines + strlen(before);
}

/* The folder itself cannot be looked into for a while: nothing counts as gone, and its return is no flood. */
static void folder_denied_and_allowed(void **state)
{
    struct running *running = *state;
    if (!as_service(running, 0777))
        skip();
    running_configure(running, "watch: poll");
    running_watch_configured(running, "watch: poll");
    running_save_first(running);
    running_wait_told(running, "blank.csv");
    char *before = running_lines(running);
    assert_int_equal(chmod(running->folder, 0700), 0);
    running_wait_said(running, "away:");
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    assert_int_equal(chmod(running->folder, 0777), 0);
    running_wait_said(running, "is back");
    running_wait_told(running, "a_p1.csv");
    char *after = running_lines(running);
    assert_null(strstr(lines_after(after, before), "blank.csv\t"));
    assert_non_null(strstr(lines_after(after, before), "a_p1.csv"));
    free(before);
    free(after);
    running_stop(running);
}

/* The same for a sub-folder: the rest goes on, and it is said once. */
static void sub_folder_denied_and_allowed(void **state)
{
    struct running *running = *state;
    if (!as_service(running, 0777))
        skip();
    assert_int_equal(mkdir(running_path(running, "day"), 0777), 0);
    assert_int_equal(chmod(running_path(running, "day"), 0777), 0);
    running_watch_configured(running, "watch: poll\n    depth: 1");
    running_save_first(running);
    running_save(running, "day/a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "day/a_p1.csv", PELLET_PASS);
    running_wait_told(running, "a_p1.csv");
    char *before = running_lines(running);
    assert_int_equal(chmod(running_path(running, "day"), 0700), 0);
    running_wait_said(running, "left as it is: day:");
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    running_save(running, "day/c_p1.csv", 4, 0.7, 5);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    running_sleep(4500);
    assert_int_equal(running_count_said(running, "left as it is: day:"), 1);
    assert_int_equal(chmod(running_path(running, "day"), 0777), 0);
    running_wait_told(running, "c_p1.csv");
    char *after = running_lines(running);
    assert_null(strstr(lines_after(after, before), "a_p1.csv"));
    free(before);
    free(after);
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(spectrum_denied_and_allowed),
        running_test(setgid_folder),
        running_test(umask_is_kept),
        running_test(default_acl),
        running_test(not_writable_for_a_while),
        running_test(folder_denied_and_allowed),
        running_test(sub_folder_denied_and_allowed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
