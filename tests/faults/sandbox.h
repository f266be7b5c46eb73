// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What systemd/pelletd.service asks of systemd, done by the test itself: namespaces, a read-only tree in
 * which one folder may be written, no network, no capability, and the unit's own SystemCallFilter as a
 * seccomp filter. The sets of calls come from systemd-analyze, so that they are those of this machine.
 *
 * Not done here: ProtectKernel*, ProtectClock, ProtectHostname and RestrictRealtime (what they refuse needs a
 * capability or is outside the filter already), PrivateDevices, ProtectHome, RemoveIPC.
 */
#ifndef PELLET_TESTS_SANDBOX_H
#define PELLET_TESTS_SANDBOX_H

#include "daemon/running.h"

#include <linux/audit.h>
#include <linux/capability.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sched.h>
#include <sys/mman.h>
#include <sys/mount.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>

#define SANDBOX_FOLDER "/mnt" /* where the station is seen inside */
#define SANDBOX_CALLS  600

/* Which calls the unit allows, by number. */
struct sandbox {
    bool allowed[SANDBOX_CALLS];
    size_t count;
};

/* ---------------------------------------------------------------- the filter's sets */

static inline int sandbox_call_number(const char *name)
{
    static const char *const headers[] = {"/usr/include/x86_64-linux-gnu/asm/unistd_64.h",
                                          "/usr/include/asm/unistd_64.h"};
    char line[200];
    char found[100];
    int number = -1;
    int n = 0;
    FILE *file = NULL;
    for (size_t i = 0; !file && i < sizeof headers / sizeof headers[0]; i++)
        file = fopen(headers[i], "r");
    while (file && number < 0 && fgets(line, sizeof line, file)) {
        if (sscanf(line, "#define __NR_%99s %d", found, &n) == 2 && strcmp(found, name) == 0)
            number = n;
    }
    if (file)
        fclose(file);
    return number;
}

static inline void sandbox_allow(struct sandbox *sandbox, const char *word, bool allow)
{
    if (*word == '@') {
        char command[150];
        char line[200];
        snprintf(command, sizeof command, "systemd-analyze syscall-filter %s 2>/dev/null", word);
        FILE *pipe = popen(command, "r");
        while (pipe && fgets(line, sizeof line, pipe)) {
            char *name = line + strspn(line, " ");
            name[strcspn(name, "\n")] = '\0';
            if (name > line && *name && *name != '#')
                sandbox_allow(sandbox, name, allow);
        }
        if (pipe)
            pclose(pipe);
        return;
    }
    const int number = sandbox_call_number(word);
    if (number < 0 || number >= SANDBOX_CALLS || sandbox->allowed[number] == allow)
        return;
    sandbox->allowed[number] = allow;
    sandbox->count += allow ? 1 : (size_t)-1;
}

/* All SystemCallFilter= lines of a unit, in their order. */
static inline void sandbox_read_unit(struct sandbox *sandbox, const char *unit)
{
    static const char key[] = "SystemCallFilter=";
    char line[500];
    FILE *file = fopen(unit, "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file)) {
        if (strncmp(line, key, sizeof key - 1) != 0)
            continue;
        char *words = line + sizeof key - 1;
        const bool allow = *words != '~';
        words += !allow;
        char *rest = NULL;
        for (char *word = strtok_r(words, " \n", &rest); word; word = strtok_r(NULL, " \n", &rest))
            sandbox_allow(sandbox, word, allow);
    }
    fclose(file);
}

/* ---------------------------------------------------------------- the filter */

#define SANDBOX_LOAD(field)                                                                                  \
    (struct sock_filter) BPF_STMT(BPF_LD | BPF_W | BPF_ABS, (uint32_t)offsetof(struct seccomp_data, field))
#define SANDBOX_RETURN(value) (struct sock_filter) BPF_STMT(BPF_RET | BPF_K, (value))
#define SANDBOX_IF(test, value, yes, no)                                                                     \
    (struct sock_filter) BPF_JUMP(BPF_JMP | (test) | BPF_K, (value), (yes), (no))
#define SANDBOX_ERRNO(code) (SECCOMP_RET_ERRNO | (uint32_t)(code))
#define SANDBOX_FILTER_MAX  (2 * SANDBOX_CALLS + 64)

struct sandbox_filter {
    unsigned short n;
    struct sock_filter code[SANDBOX_FILTER_MAX];
};

static inline void sandbox_put(struct sandbox_filter *filter, struct sock_filter code)
{
    filter->code[filter->n++] = code;
}

/* A call that is answered with an error where its argument, masked, is not (or is) what is given. */
static inline void sandbox_refuse_all_but(struct sandbox_filter *filter, long call, uint32_t value, int code)
{
    sandbox_put(filter, SANDBOX_IF(BPF_JEQ, (uint32_t)call, 0, 4));
    sandbox_put(filter, SANDBOX_LOAD(args[0]));
    sandbox_put(filter, SANDBOX_IF(BPF_JEQ, value, 1, 0));
    sandbox_put(filter, SANDBOX_RETURN(SANDBOX_ERRNO(code)));
    sandbox_put(filter, SANDBOX_LOAD(nr));
}

/* MemoryDenyWriteExecute: no mapping that is written and run, and none that becomes runnable. */
static inline void sandbox_refuse_executable(struct sandbox_filter *filter)
{
    sandbox_put(filter, SANDBOX_IF(BPF_JEQ, SYS_mmap, 0, 5));
    sandbox_put(filter, SANDBOX_LOAD(args[2]));
    sandbox_put(filter, (struct sock_filter)BPF_STMT(BPF_ALU | BPF_AND | BPF_K, PROT_WRITE | PROT_EXEC));
    sandbox_put(filter, SANDBOX_IF(BPF_JEQ, PROT_WRITE | PROT_EXEC, 0, 1));
    sandbox_put(filter, SANDBOX_RETURN(SANDBOX_ERRNO(EPERM)));
    sandbox_put(filter, SANDBOX_LOAD(nr));
    sandbox_put(filter, SANDBOX_IF(BPF_JEQ, SYS_mprotect, 0, 4));
    sandbox_put(filter, SANDBOX_LOAD(args[2]));
    sandbox_put(filter, SANDBOX_IF(BPF_JSET, PROT_EXEC, 0, 1));
    sandbox_put(filter, SANDBOX_RETURN(SANDBOX_ERRNO(EPERM)));
    sandbox_put(filter, SANDBOX_LOAD(nr));
}

/* As systemd does: a call that is not allowed kills. clone3 cannot be looked into and counts as unknown. */
static inline bool sandbox_install_filter(const struct sandbox *sandbox)
{
    static struct sandbox_filter filter;
    filter.n = 0;
    sandbox_put(&filter, SANDBOX_LOAD(arch));
    sandbox_put(&filter, SANDBOX_IF(BPF_JEQ, AUDIT_ARCH_X86_64, 1, 0));
    sandbox_put(&filter, SANDBOX_RETURN(SECCOMP_RET_KILL_PROCESS));
    sandbox_put(&filter, SANDBOX_LOAD(nr));
    sandbox_put(&filter, SANDBOX_IF(BPF_JEQ, SYS_clone3, 0, 1));
    sandbox_put(&filter, SANDBOX_RETURN(SANDBOX_ERRNO(ENOSYS)));
    sandbox_put(&filter, SANDBOX_IF(BPF_JEQ, SYS_unshare, 0, 1));
    sandbox_put(&filter, SANDBOX_RETURN(SANDBOX_ERRNO(EPERM)));
    sandbox_refuse_all_but(&filter, SYS_socket, AF_UNIX, EAFNOSUPPORT);
    sandbox_refuse_executable(&filter);
    for (int call = 0; call < SANDBOX_CALLS; call++) {
        if (!sandbox->allowed[call])
            continue;
        sandbox_put(&filter, SANDBOX_IF(BPF_JEQ, (uint32_t)call, 0, 1));
        sandbox_put(&filter, SANDBOX_RETURN(SECCOMP_RET_ALLOW));
    }
    sandbox_put(&filter, SANDBOX_RETURN(SECCOMP_RET_KILL_PROCESS));
    const struct sock_fprog program = {filter.n, filter.code};
    return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

/* ---------------------------------------------------------------- the namespaces */

static inline bool sandbox_put_text(const char *path, const char *text)
{
    const int file = open(path, O_WRONLY | O_CLOEXEC);
    const bool good = file >= 0 && write(file, text, strlen(text)) == (ssize_t)strlen(text);
    if (file >= 0)
        close(file);
    return good;
}

/* Everything read-only, the station at SANDBOX_FOLDER, an empty /tmp. */
static inline bool sandbox_mount(const char *folder)
{
    struct mount_attr read_only = {.attr_set = MOUNT_ATTR_RDONLY};
    struct mount_attr writable = {.attr_clr = MOUNT_ATTR_RDONLY};
    return mount("", "/", "none", MS_REC | MS_PRIVATE, NULL) == 0 &&
           mount(folder, SANDBOX_FOLDER, "none", MS_BIND, NULL) == 0 &&
           mount("tmpfs", "/tmp", "tmpfs", MS_NOSUID | MS_NODEV, "mode=1777") == 0 &&
           syscall(SYS_mount_setattr, AT_FDCWD, "/", AT_RECURSIVE, &read_only, sizeof read_only) == 0 &&
           syscall(SYS_mount_setattr, AT_FDCWD, "/tmp", 0, &writable, sizeof writable) == 0 &&
           syscall(SYS_mount_setattr, AT_FDCWD, SANDBOX_FOLDER, 0, &writable, sizeof writable) == 0;
}

static inline bool sandbox_unshare(void)
{
    char map[64];
    const uid_t user = geteuid();
    const gid_t group = getegid();
    if (unshare(CLONE_NEWUSER | CLONE_NEWNS | CLONE_NEWNET | CLONE_NEWIPC) != 0)
        return false;
    (void)sandbox_put_text("/proc/self/setgroups", "deny");
    snprintf(map, sizeof map, "1000 %u 1", user);
    if (!sandbox_put_text("/proc/self/uid_map", map))
        return false;
    snprintf(map, sizeof map, "1000 %u 1", group);
    return sandbox_put_text("/proc/self/gid_map", map);
}

static inline bool sandbox_drop_capabilities(void)
{
    struct __user_cap_header_struct header = {.version = _LINUX_CAPABILITY_VERSION_3};
    struct __user_cap_data_struct none[2] = {{0}};
    for (int capability = 0; prctl(PR_CAPBSET_READ, capability) >= 0; capability++) {
        if (prctl(PR_CAPBSET_DROP, capability) != 0)
            return false;
    }
    return syscall(SYS_capset, &header, none) == 0;
}

/* Shut this process in. The name of what was refused, or NULL. */
static inline const char *sandbox_enter(const struct sandbox *sandbox, const char *folder)
{
    const struct rlimit files = {4096, 4096};
    if (!sandbox_unshare())
        return "namespaces";
    if (!sandbox_mount(folder))
        return "mounts";
    umask(0002);
    if (setrlimit(RLIMIT_NOFILE, &files) != 0)
        return "LimitNOFILE";
    if (!sandbox_drop_capabilities())
        return "capabilities";
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0)
        return "NoNewPrivileges";
    return sandbox_install_filter(sandbox) ? NULL : "seccomp";
}

#endif
