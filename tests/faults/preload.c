// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A library for LD_PRELOAD that makes the n-th call of one function of libc fail. The environment says which:
 *
 *   FAULTS_CALL    the function, by the name in the table below
 *   FAULTS_NTH     which call fails, from 1; 0 or none: no call
 *   FAULTS_CHAIN   "HASH SITE" of a chain of callers as listed below: count the calls through it alone
 *   FAULTS_PATH    of the calls of openat2, count those for this path alone
 *   FAULTS_ERRNO   with what; 0: reads and writes move one byte only
 *   FAULTS_REST    set: all calls after it as well
 *   FAULTS_ALSO    "CALL NTH ERRNO": one more that fails
 *   FAULTS_SLOW    this many ms for each fdopendir: a share that is slow to look through
 *   FAULTS_COUNTS  a file that gets, at the end, how often each function was called; "live", the number of
 *                  allocations that were not freed; "leaky", whether the allocation that failed stood in a
 *                  function of GSL that is known to lose what it has when it cannot have all (gsl_leaks); and
 *                  "struck", the chain of callers at the call that failed
 *   FAULTS_CHAINS  a file that gets each chain of callers that the function was called through, with the
 *                  number of its first and of its last call: "chain HASH FIRST LAST SITE"
 *
 * A chain is told by the return addresses, each from the start of its library, so that it is the same one in
 * every run of a program; its site is the last of them. openat2 has no function in glibc: it stands for
 * syscall().
 */
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <sys/random.h>
#include <sys/signalfd.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/vfs.h>
#include <unistd.h>

/* A list, which the formatter would not come to rest on. */
// clang-format off
#define CALLS(X) \
    X(open) X(openat) X(openat2) X(read) X(write) X(close) \
    X(fstat) X(stat) X(lstat) X(fstatat) X(fstatfs) X(fdopendir) \
    X(readdir) X(renameat) X(unlinkat) X(mkdir) X(mkdirat) X(syncfs) \
    X(fcntl) X(getrandom) X(realpath) X(fopen) X(fflush) X(inotify_init1) \
    X(inotify_add_watch) X(poll) X(eventfd) X(eventfd_write) X(eventfd_read) X(signalfd) \
    X(pthread_create) X(alloc)
// clang-format on

enum call {
#define CALL_ENUM(name) CALL_##name,
    CALLS(CALL_ENUM) CALL_COUNT
};

static const char *const names[CALL_COUNT] = {
#define CALL_NAME(name) #name,
    CALLS(CALL_NAME)};

static atomic_ulong counts[CALL_COUNT];
static atomic_long live;
static atomic_bool leaky;
static int chosen = -1;
static unsigned long nth;
static bool rest;
static int fault_errno;
static struct { /* one more that fails */
    int call;
    unsigned long nth;
    int sys_errno;
} also = {.call = -1};
static useconds_t slow_ms; /* see FAULTS_SLOW */
static bool listing;
static atomic_ulong struck;
static const char *only_path;               /* NULL: any */
static unsigned long only_chain, only_site; /* 0: any */
static atomic_ulong seen;                   /* calls through it */

/* Every chain that was seen, by its hash; 0 is a free place. */
#define CHAINS_MAX 16384
static struct chain {
    unsigned long hash, first, last, site;
} chains[CHAINS_MAX];
static pthread_mutex_t chains_mutex = PTHREAD_MUTEX_INITIALIZER;

/* glibc's own allocator under its second names: finding it through dlsym would allocate. */
void *__libc_malloc(size_t n);
void *__libc_calloc(size_t n, size_t size);
void *__libc_realloc(void *old, size_t n);
void __libc_free(void *block);

/*
 * Of GSL 2.7: the makers of method and solver inside gsl_multifit_nlinear_alloc() and the tridiagonal solver
 * behind a cubic spline return without freeing what they have had so far.
 */
static const char *const gsl_leaks[] = {"gsl_multifit_nlinear_alloc", "gsl_linalg_solve_symm_tridiag"};

static bool stands_in_leak(void)
{
    void *frame[32];
    const int n = backtrace(frame, sizeof frame / sizeof frame[0]);
    for (int i = 0; i < n; i++) {
        Dl_info found;
        if (!dladdr(frame[i], &found) || !found.dli_sname)
            continue;
        for (size_t k = 0; k < sizeof gsl_leaks / sizeof gsl_leaks[0]; k++) {
            if (strcmp(found.dli_sname, gsl_leaks[k]) == 0)
                return true;
        }
    }
    return false;
}

/* FNV-1a over the return addresses, our own left out: the compiler may make several of one call. */
static unsigned long chain_of_callers(void)
{
    static const char ours;
    void *frame[64];
    Dl_info self = {0};
    unsigned long hash = 14695981039346656037UL;
    (void)dladdr(&ours, &self);
    const int n = backtrace(frame, sizeof frame / sizeof frame[0]);
    for (int i = 0; i < n; i++) {
        Dl_info found;
        const bool known = dladdr(frame[i], &found) != 0;
        if (known && found.dli_fbase == self.dli_fbase)
            continue;
        const unsigned long at = (unsigned long)frame[i] - (known ? (unsigned long)found.dli_fbase : 0);
        hash = (hash ^ at) * 1099511628211UL;
    }
    return hash | 1;
}

/* Where it was called from, from the start of its library. */
static unsigned long site_of(const void *caller)
{
    Dl_info found;
    return (unsigned long)caller - (dladdr(caller, &found) ? (unsigned long)found.dli_fbase : 0);
}

static void list_chain(unsigned long hash, unsigned long site, unsigned long n)
{
    pthread_mutex_lock(&chains_mutex);
    size_t i = hash / 2 % CHAINS_MAX;
    while (chains[i].hash != 0 && chains[i].hash != hash)
        i = (i + 1) % CHAINS_MAX;
    if (chains[i].hash == 0)
        chains[i].first = n;
    chains[i].hash = hash;
    chains[i].site = site;
    chains[i].last = n;
    pthread_mutex_unlock(&chains_mutex);
}

#define NO_FAULT (-1)

/* Count the call; NO_FAULT, or what it shall fail with (0: move one byte). */
static int strikes(enum call call, const void *caller)
{
    unsigned long n = atomic_fetch_add(&counts[call], 1) + 1;
    unsigned long chain = 0;
    if ((int)call == also.call && n == also.nth)
        return also.sys_errno;
    if ((int)call != chosen)
        return NO_FAULT;
    if (only_chain) { /* few come from the same site, so only they are unwound */
        if (site_of(caller) != only_site || (chain = chain_of_callers()) != only_chain)
            return NO_FAULT;
        n = atomic_fetch_add(&seen, 1) + 1;
    }
    if (listing || n == nth) {
        chain = chain ? chain : chain_of_callers();
        atomic_store(&struck, chain);
        if (listing)
            list_chain(chain, site_of(caller), n);
    }
    return nth > 0 && (n == nth || (rest && n > nth)) ? fault_errno : NO_FAULT;
}

/* The same, and errno is set; where a short transfer is wanted it does not fail. */
static bool fails_from(enum call call, const void *caller)
{
    const int code = strikes(call, caller);
    if (code <= 0)
        return false;
    errno = code;
    return true;
}

static bool fails(enum call call)
{
    return fails_from(call, NULL);
}

static bool fails_allocation(const void *caller)
{
    if (!fails_from(CALL_alloc, caller))
        return false;
    const int code = errno;
    if (stands_in_leak())
        atomic_store(&leaky, true);
    errno = code;
    return true;
}

static void *next(const char *name)
{
    void *found = dlsym(RTLD_NEXT, name);
    if (!found)
        abort();
    return found;
}

__attribute__((constructor)) static void begin(void)
{
    void *frame[1];
    (void)backtrace(frame, 1); /* the first one allocates */
    const char *call = getenv("FAULTS_CALL");
    const char *n = getenv("FAULTS_NTH");
    const char *code = getenv("FAULTS_ERRNO");
    const char *chain = getenv("FAULTS_CHAIN");
    const char *more = getenv("FAULTS_ALSO");
    char also_call[32] = "";
    if (more)
        (void)sscanf(more, "%31s %lu %d", also_call, &also.nth, &also.sys_errno);
    for (int i = 0; i < CALL_COUNT; i++) {
        if (call && strcmp(names[i], call) == 0)
            chosen = i;
        if (strcmp(names[i], also_call) == 0)
            also.call = i;
    }
    nth = n ? strtoul(n, NULL, 10) : 0;
    if (chain)
        (void)sscanf(chain, "%lx %lx", &only_chain, &only_site);
    fault_errno = code ? atoi(code) : EIO;
    rest = getenv("FAULTS_REST") != NULL;
    const char *slow = getenv("FAULTS_SLOW");
    only_path = getenv("FAULTS_PATH");
    slow_ms = slow ? (useconds_t)strtoul(slow, NULL, 10) : 0;
    listing = getenv("FAULTS_CHAINS") != NULL;
    for (int i = 0; i < CALL_COUNT; i++)
        atomic_store(&counts[i], 0);
}

/* Without stdio, and without the functions above. */
static void save(const char *path, int flags, const char *text, int n)
{
    const long file = syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT | flags, 0666);
    (void)syscall(SYS_write, file, text, (size_t)n);
    (void)syscall(SYS_close, file);
}

static void save_chains(const char *path)
{
    listing = false;
    for (size_t i = 0; i < CHAINS_MAX; i++) {
        char line[100];
        if (chains[i].hash != 0)
            save(path, O_APPEND, line,
                 snprintf(line, sizeof line, "chain %lx %lu %lu %lx\n", chains[i].hash, chains[i].first,
                          chains[i].last, chains[i].site));
    }
}

__attribute__((destructor)) static void end(void)
{
    const char *path = getenv("FAULTS_COUNTS");
    const char *chains_path = getenv("FAULTS_CHAINS");
    const long blocks = atomic_load(&live);
    char text[2048];
    int n = 0;
    for (int i = 0; i < CALL_COUNT; i++)
        n += snprintf(text + n, sizeof text - (size_t)n, "%s %lu\n", names[i], atomic_load(&counts[i]));
    n += snprintf(text + n, sizeof text - (size_t)n, "live %ld\nleaky %d\nstruck %lx\n", blocks,
                  atomic_load(&leaky), atomic_load(&struck));
    if (path)
        save(path, O_TRUNC, text, n);
    if (chains_path)
        save_chains(chains_path);
}

/* ---------------------------------------------------------------- memory */

void *malloc(size_t n)
{
    void *block = fails_allocation(__builtin_return_address(0)) ? NULL : __libc_malloc(n);
    atomic_fetch_add(&live, block != NULL);
    return block;
}

void *calloc(size_t n, size_t size)
{
    void *block = fails_allocation(__builtin_return_address(0)) ? NULL : __libc_calloc(n, size);
    atomic_fetch_add(&live, block != NULL);
    return block;
}

void *realloc(void *old, size_t n)
{
    void *block = fails_allocation(__builtin_return_address(0)) ? NULL : __libc_realloc(old, n);
    atomic_fetch_add(&live, block != NULL && !old);
    return block;
}

void free(void *block)
{
    atomic_fetch_sub(&live, block != NULL);
    __libc_free(block);
}

/* ---------------------------------------------------------------- files */

/* The function of libc behind ours. */
#define REAL(type, name, ...)                                                                                \
    static type (*real)(__VA_ARGS__);                                                                        \
    if (!real)                                                                                               \
    *(void **)(&real) = next(name)

static mode_t mode_of(int flags, va_list arguments)
{
    return (flags & O_CREAT) != 0 ? va_arg(arguments, mode_t) : 0;
}

int open(const char *path, int flags, ...)
{
    va_list arguments;
    va_start(arguments, flags);
    const mode_t mode = mode_of(flags, arguments);
    va_end(arguments);
    return fails(CALL_open) ? -1 : (int)syscall(SYS_openat, AT_FDCWD, path, flags, mode);
}

int openat(int folder, const char *path, int flags, ...)
{
    va_list arguments;
    va_start(arguments, flags);
    const mode_t mode = mode_of(flags, arguments);
    va_end(arguments);
    return fails(CALL_openat) ? -1 : (int)syscall(SYS_openat, folder, path, flags, mode);
}

static bool is_meant(const char *path)
{
    return !only_path || strcmp(path, only_path) == 0;
}

long syscall(long number, ...)
{
    REAL(long, "syscall", long, ...);
    va_list arguments;
    long a[6];
    va_start(arguments, number);
    for (int i = 0; i < 6; i++)
        a[i] = va_arg(arguments, long);
    va_end(arguments);
    if (number == SYS_openat2 && is_meant((const char *)a[1]) && fails(CALL_openat2))
        return -1;
    return real(number, a[0], a[1], a[2], a[3], a[4], a[5]);
}

/* Only files are read in pieces: events come whole. */
static bool is_regular(int file)
{
    struct stat st;
    return syscall(SYS_fstat, file, &st) == 0 && S_ISREG(st.st_mode);
}

ssize_t read(int file, void *to, size_t n)
{
    REAL(ssize_t, "read", int, void *, size_t);
    const int code = strikes(CALL_read, NULL);
    if (code > 0) {
        errno = code;
        return -1;
    }
    return real(file, to, code == 0 && n > 0 && is_regular(file) ? 1 : n);
}

ssize_t write(int file, const void *from, size_t n)
{
    REAL(ssize_t, "write", int, const void *, size_t);
    const int code = strikes(CALL_write, NULL);
    if (code > 0) {
        errno = code;
        return -1;
    }
    return real(file, from, code == 0 && n > 0 ? 1 : n);
}

/* As on Linux: the descriptor is gone whatever close says. */
int close(int file)
{
    REAL(int, "close", int);
    const int result = real(file);
    return fails(CALL_close) ? -1 : result;
}

int fcntl(int file, int command, ...)
{
    REAL(int, "fcntl", int, int, ...);
    va_list arguments;
    va_start(arguments, command);
    void *argument = va_arg(arguments, void *);
    va_end(arguments);
    return fails(CALL_fcntl) ? -1 : real(file, command, argument);
}

/* What fails with -1 and a value in errno. */
#define PLAIN(name, parameters, arguments, ...)                                                              \
    int name parameters                                                                                      \
    {                                                                                                        \
        REAL(int, #name, __VA_ARGS__);                                                                       \
        return fails(CALL_##name) ? -1 : real arguments;                                                     \
    }

PLAIN(fstat, (int file, struct stat *st), (file, st), int, struct stat *)
PLAIN(stat, (const char *path, struct stat *st), (path, st), const char *, struct stat *)
PLAIN(lstat, (const char *path, struct stat *st), (path, st), const char *, struct stat *)
PLAIN(fstatat, (int folder, const char *path, struct stat *st, int flags), (folder, path, st, flags), int,
      const char *, struct stat *, int)
PLAIN(fstatfs, (int file, struct statfs *st), (file, st), int, struct statfs *)
PLAIN(renameat, (int from, const char *old, int to, const char *new), (from, old, to, new), int, const char *,
      int, const char *)
PLAIN(unlinkat, (int folder, const char *path, int flags), (folder, path, flags), int, const char *, int)
PLAIN(mkdir, (const char *path, mode_t mode), (path, mode), const char *, mode_t)
PLAIN(mkdirat, (int folder, const char *path, mode_t mode), (folder, path, mode), int, const char *, mode_t)
PLAIN(syncfs, (int file), (file), int)
PLAIN(fflush, (FILE * file), (file), FILE *)
PLAIN(inotify_init1, (int flags), (flags), int)
PLAIN(inotify_add_watch, (int file, const char *path, uint32_t mask), (file, path, mask), int, const char *,
      uint32_t)
PLAIN(poll, (struct pollfd * fds, nfds_t n, int ms), (fds, n, ms), struct pollfd *, nfds_t, int)
PLAIN(eventfd, (unsigned count, int flags), (count, flags), unsigned, int)
PLAIN(eventfd_write, (int file, eventfd_t value), (file, value), int, eventfd_t)
PLAIN(eventfd_read, (int file, eventfd_t *value), (file, value), int, eventfd_t *)
PLAIN(signalfd, (int file, const sigset_t *set, int flags), (file, set, flags), int, const sigset_t *, int)

ssize_t getrandom(void *to, size_t n, unsigned flags)
{
    REAL(ssize_t, "getrandom", void *, size_t, unsigned);
    return fails(CALL_getrandom) ? -1 : real(to, n, flags);
}

DIR *fdopendir(int file)
{
    REAL(DIR *, "fdopendir", int);
    if (slow_ms > 0)
        usleep(slow_ms * 1000);
    return fails(CALL_fdopendir) ? NULL : real(file);
}

struct dirent *readdir(DIR *folder)
{
    REAL(struct dirent *, "readdir", DIR *);
    return fails(CALL_readdir) ? NULL : real(folder);
}

char *realpath(const char *path, char *resolved)
{
    REAL(char *, "realpath", const char *, char *);
    return fails(CALL_realpath) ? NULL : real(path, resolved);
}

FILE *fopen(const char *path, const char *mode)
{
    REAL(FILE *, "fopen", const char *, const char *);
    return fails(CALL_fopen) ? NULL : real(path, mode);
}

/* It returns what went wrong. */
int pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *argument)
{
    REAL(int, "pthread_create", pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
    return fails(CALL_pthread_create) ? errno : real(thread, attributes, run, argument);
}
