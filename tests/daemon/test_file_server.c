// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Through a real file server: samba on the loopback, started by this test with a configuration of its own,
 * and files written with smbclient, as the spectrometer's PC would; judged on the server's side. Needs root
 * (the server changes users) and the packages samba and smbclient.
 */
#include "daemon/running.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

/* A port that nobody has now. */
static int free_port(void)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr = {htonl(INADDR_LOOPBACK)}};
    socklen_t size = sizeof address;
    const int probe = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_true(probe >= 0);
    assert_int_equal(bind(probe, (struct sockaddr *)&address, size), 0);
    assert_int_equal(getsockname(probe, (struct sockaddr *)&address, &size), 0);
    close(probe);
    return ntohs(address.sin_port);
}

static bool is_installed(const char *program)
{
    char path[64];
    snprintf(path, sizeof path, "/usr/bin/%s", program);
    if (access(path, X_OK) == 0)
        return true;
    snprintf(path, sizeof path, "/usr/sbin/%s", program);
    return access(path, X_OK) == 0;
}

static void configure(const struct running *running, int port, char path[PATH_MAX])
{
    static const char *const own_folders[] = {"private dir",    "state directory", "cache directory",
                                              "lock directory", "pid directory",   "ncalrpc dir"};
    struct pellet_text text = {0};
    char state[PATH_MAX + 20];
    snprintf(state, sizeof state, "%s/smb", running->around);
    assert_int_equal(mkdir(state, 0755), 0);
    pellet_text_addf(&text,
                     "[global]\nserver role = standalone server\nsmb ports = %d\ninterfaces = 127.0.0.1\n"
                     "bind interfaces only = yes\nmap to guest = Bad User\nload printers = no\n"
                     "disable spoolss = yes\nlog file = %s/log\n",
                     port, state);
    for (size_t i = 0; i < sizeof own_folders / sizeof own_folders[0]; i++)
        pellet_text_addf(&text, "%s = %s\n", own_folders[i], state);
    pellet_text_addf(&text,
                     "[bench]\npath = %s\nguest ok = yes\nread only = no\nforce user = root\n"
                     "store dos attributes = no\nmap archive = no\n",
                     running->folder);
    snprintf(path, PATH_MAX, "%.*s/smb.conf", PATH_MAX - 20, state);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

/* One line of smbclient's own commands; its exit code. */
static int client(const struct running *running, int server_port, const char *command)
{
    char port[12];
    char out[PATH_MAX + 20];
    int status = 0;
    snprintf(port, sizeof port, "%d", server_port);
    snprintf(out, sizeof out, "%s/smbclient", running->around);
    const pid_t pid = fork();
    if (pid == 0) {
        const int file = open(out, O_WRONLY | O_CREAT | O_TRUNC, 0666);
        dup2(file, STDOUT_FILENO);
        dup2(file, STDERR_FILENO);
        execlp("smbclient", "smbclient", "--no-pass", "--port", port, "//127.0.0.1/bench", "--command",
               command, (char *)NULL);
        _exit(127);
    }
    assert_int_equal(waitpid(pid, &status, 0), pid);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 127;
}

static void send_to(const struct running *running, int server, const char *command)
{
    char path[PATH_MAX + 20];
    if (client(running, server, command) == 0)
        return;
    snprintf(path, sizeof path, "%s/smbclient", running->around);
    char *said = running_read(path);
    print_error("%s: %s\n", command, said ? said : "");
    free(said);
    fail();
}

/* The port it listens on; 0 where it cannot run. */
static int start_server(struct running *running)
{
    char path[PATH_MAX];
    if (geteuid() != 0 || !is_installed("smbd") || !is_installed("smbclient")) {
        printf("skipped: needs root, samba and smbclient\n");
        return 0;
    }
    assert_int_equal(chmod(running->around, 0755), 0);
    assert_int_equal(chmod(running->folder, 0777), 0);
    const int port = free_port();
    configure(running, port, path);
    running->helper = fork();
    if (running->helper == 0) {
        /* When it ends it signals its whole group. */
        setsid();
        const int null = open("/dev/null", O_RDWR);
        dup2(null, STDIN_FILENO);
        dup2(null, STDOUT_FILENO);
        dup2(null, STDERR_FILENO);
        execlp("smbd", "smbd", "--foreground", "--no-process-group", "--configfile", path, (char *)NULL);
        _exit(127);
    }
    for (int tries = 0; tries < 200; tries++) {
        if (client(running, port, "ls") == 0)
            return port;
        if (waitpid(running->helper, NULL, WNOHANG) != 0)
            break;
        running_sleep(100);
    }
    printf("skipped: the file server does not start here\n");
    return 0;
}

/* A file beside the station, to be sent. */
static void make_local(struct running *running, const char *name, double minute, double dose,
                       unsigned long seed)
{
    char path[PATH_MAX + 60];
    struct pellet_text text = {0};
    running_spectrum(running, minute, dose, seed, &text);
    snprintf(path, sizeof path, "%s/%s", running->around, name);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

static void put(struct running *running, int server, const char *name, double minute, double dose,
                unsigned long seed)
{
    char command[PATH_MAX + 200];
    make_local(running, name, minute, dose, seed);
    snprintf(command, sizeof command, "lcd %s; put %s", running->around, name);
    send_to(running, server, command);
}

static void written_by_clients(void **state)
{
    struct running *running = *state;
    char command[PATH_MAX + 200];
    const int server = start_server(running);
    if (server == 0)
        skip();
    running_watch(running);
    put(running, server, "open-beam.csv", 0, -1, 1);
    put(running, server, "blank.csv", 1, 0, 2);
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
    put(running, server, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    /* Exported again, over the same name. */
    put(running, server, "a_p1.csv", 3, 3.0, 4);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    /* Under a temporary name, then renamed by the client. */
    make_local(running, "b_p1.csv", 4, 0.7, 5);
    snprintf(command, sizeof command, "lcd %s; put b_p1.csv b.tmp; rename b.tmp b_p1.csv", running->around);
    send_to(running, server, command);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    /* People delete a verdict from their desk: it is given anew. */
    send_to(running, server, "del b_p1.csv.verdict.yaml");
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    running_stop(running);
    running_verify(running);
}

/* A day's work copied over at once. */
static void many_at_once(void **state)
{
    struct running *running = *state;
    char command[PATH_MAX + 200];
    const int files = 30;
    const int server = start_server(running);
    if (server == 0)
        skip();
    make_local(running, "open-beam.csv", 0, -1, 1);
    make_local(running, "blank.csv", 1, 0, 2);
    for (int i = 2; i < files; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%02d_p1.csv", i);
        make_local(running, name, i, 0.7, (unsigned long)i + 1);
    }
    running_watch(running);
    snprintf(command, sizeof command, "prompt; lcd %s; mput *.csv", running->around);
    send_to(running, server, command);
    for (int i = 2; i < files; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%02d_p1.csv", i);
        running_wait_outcome(running, name, PELLET_PASS);
    }
    running_stop(running);
    running_verify(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(written_by_clients),
        running_test(many_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
