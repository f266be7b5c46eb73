// SPDX-License-Identifier: GPL-3.0-or-later
#include "alerts.h"

#include "place.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char waiting[] = ".event";
static const char taken[] = ".taken";

bool alerts_folder(const struct config *config, char path[PATH_MAX])
{
    const char *state = getenv("STATE_DIRECTORY");
    const char *xdg = getenv("XDG_STATE_HOME");
    const char *home = getenv("HOME");
    int n = -1;
    if (config->spool)
        n = snprintf(path, PATH_MAX, "%s", config->spool);
    else if (state && *state == '/')
        n = snprintf(path, PATH_MAX, "%.*s/alerts", (int)strcspn(state, ":"), state);
    else if (xdg && *xdg == '/')
        n = snprintf(path, PATH_MAX, "%s/pelletd/alerts", xdg);
    else if (home && *home == '/')
        n = snprintf(path, PATH_MAX, "%s/.local/state/pelletd/alerts", home);
    return n > 0 && n < PATH_MAX;
}

/* With what leads to it. Who may write here has commands run, so nobody else may even look. */
static void make_folders(const char *path)
{
    char part[PATH_MAX];
    for (const char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        snprintf(part, sizeof part, "%.*s", (int)(slash - path), path);
        (void)mkdir(part, 0700);
    }
    (void)mkdir(path, 0700);
}

int alerts_open(const char *path, struct pellet_error *error)
{
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0 && errno == ENOENT) {
        make_folders(path);
        folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    }
    if (folder < 0)
        pellet_fail_errno(error, errno, "cannot open the spool of alerts, %s", path);
    return folder;
}

/* ---------------------------------------------------------------- putting in */

bool alerts_wanted(const struct station_config *station, const struct pellet_verdict *verdict, pellet_ns now)
{
    const double age_min = ((double)now - (double)verdict->mtime_ns) / (60.0 * (double)PELLET_NS_PER_S);
    return station->alert.n > 0 && verdict->outcome != PELLET_PASS && age_min <= station->alert.max_age_min;
}

/* Nobody's name or sentence is longer, and one variable cannot take the room of all. */
#define VALUE_MAX 4096

static void add_variable(struct pellet_text *out, const char *name, const char *value)
{
    const size_t n = value ? strlen(value) : 0;
    pellet_text_addf(out, "PELLETD_%s=", name);
    pellet_text_add(out, value ? value : "", n < VALUE_MAX ? n : VALUE_MAX);
    pellet_text_addc(out, '\0');
}

static void describe(const struct station_config *station, const struct pellet_verdict *verdict,
                     struct pellet_text *out)
{
    char measured[32];
    char pellet[16];
    char landed[32];
    struct pellet_text path = {0};
    pellet_time_format(verdict->measured, measured);
    snprintf(pellet, sizeof pellet, "%d", verdict->pellet);
    snprintf(landed, sizeof landed, "%lld", (long long)verdict->mtime_ns);
    pellet_text_addf(&path, "%s/%s", station->folder, verdict->file);
    add_variable(out, "STATION", station->name);
    add_variable(out, "LANDED_NS", landed);
    add_variable(out, "VERDICT", pellet_outcome_id(verdict->outcome));
    add_variable(out, "FILE", verdict->file);
    add_variable(out, "PATH", pellet_text_string(&path));
    add_variable(out, "ROLE", pellet_role_id(verdict->role));
    add_variable(out, "SAMPLE", verdict->sample);
    add_variable(out, "PELLET", verdict->pellet > 0 ? pellet : "");
    add_variable(out, "CHECK", verdict->reason_count > 0 ? verdict->reason[0].check->id : "");
    add_variable(out, "SUMMARY", verdict->summary);
    add_variable(out, "DO", verdict->instruction);
    add_variable(out, "MEASURED", measured);
    add_variable(out, "SESSION", verdict->session);
    out->failed = out->failed || path.failed;
    pellet_text_free(&path);
}

static bool ends_in(const char *name, const char *ending)
{
    const size_t n = strlen(name);
    const size_t m = strlen(ending);
    return n > m && *name != '.' && strcmp(name + n - m, ending) == 0;
}

/* Call `act` for each file with this ending; how many there are. */
static size_t for_each(int spool, const char *ending, void (*act)(void *context, const char *name),
                       void *context)
{
    int again = openat(spool, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *directory = again >= 0 ? fdopendir(again) : NULL;
    size_t n = 0;
    if (!directory) {
        if (again >= 0)
            close(again);
        return 0;
    }
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        if (!ends_in(item->d_name, ending))
            continue;
        n++;
        if (act)
            act(context, item->d_name);
    }
    closedir(directory);
    return n;
}

pellet_status alerts_spool(const char *spool, const struct station_config *station,
                           const struct pellet_verdict *verdict, struct pellet_error *error)
{
    char name[PELLET_SHA256_HEX + 64];
    struct pellet_text variables = {0};
    int folder = alerts_open(spool, error);
    if (folder < 0)
        return error->status;
    describe(station, verdict, &variables);
    /* In the order of time; two stations never share a name. */
    snprintf(name, sizeof name, "%020lld-%s-%.16s%s", (long long)clock_now(), station->name, verdict->sha256,
             waiting);
    pellet_status status = pellet_text_status(&variables);
    if (status == PELLET_OK && for_each(folder, waiting, NULL, NULL) >= ALERT_EVENTS_MAX)
        status = pellet_fail(error, PELLET_E_LIMIT,
                             "%d alerts wait in %s and nobody runs them; start pelletd-alerts",
                             ALERT_EVENTS_MAX, spool);
    if (status == PELLET_OK)
        status = pellet_write_atomic(folder, name, variables.data, variables.length, error);
    pellet_text_free(&variables);
    close(folder);
    return status;
}

/* ---------------------------------------------------------------- taking out */

static void keep_oldest(void *context, const char *name)
{
    char *oldest = context;
    if (!*oldest || strcmp(name, oldest) < 0)
        snprintf(oldest, NAME_MAX + 1, "%s", name);
}

static pellet_status read_event(int spool, const char *name, struct alert_event *event,
                                struct pellet_error *error)
{
    struct pellet_bytes bytes = {0};
    static const char station[] = "PELLETD_STATION=";
    static const char landed[] = "PELLETD_LANDED_NS=";
    pellet_status status = pellet_read_file(spool, name, ALERT_BYTES_MAX, &bytes, NULL, error);
    if (status != PELLET_OK)
        return status;
    *event = (struct alert_event){.variables = bytes, .landed = PELLET_NO_TIME};
    for (const char *at = bytes.data; at < bytes.data + bytes.n; at += strlen(at) + 1) {
        if (strncmp(at, "PELLETD_", 8) != 0 || !strchr(at, '='))
            status = PELLET_E_FORMAT;
        else if (strncmp(at, station, sizeof station - 1) == 0)
            event->station = at + sizeof station - 1;
        else if (strncmp(at, landed, sizeof landed - 1) == 0)
            event->landed = strtoll(at + sizeof landed - 1, NULL, 10);
    }
    if (status == PELLET_OK && event->station)
        return PELLET_OK;
    alert_event_clear(event);
    return pellet_fail(error, PELLET_E_FORMAT, "this is no alert");
}

pellet_status alerts_take(int spool, struct alert_event *event, struct pellet_error *error)
{
    char name[NAME_MAX + 1] = "";
    char mine[NAME_MAX + 8];
    (void)for_each(spool, waiting, keep_oldest, name);
    if (!*name)
        return pellet_fail(error, PELLET_E_MISSING, "no alert waits");
    snprintf(mine, sizeof mine, "%.*s%s", (int)(strlen(name) - (sizeof waiting - 1)), name, taken);
    if (renameat(spool, name, spool, mine) < 0 || fsync(spool) < 0)
        return pellet_fail_errno(error, errno, "cannot take %s", name);
    pellet_status status = read_event(spool, mine, event, error);
    pellet_error_set_file(error, status == PELLET_OK ? "" : name);
    /* The event is ours alone now: without this file nothing of it is left to be run again. */
    (void)unlinkat(spool, mine, 0);
    return status;
}

void alert_event_clear(struct alert_event *event)
{
    pellet_bytes_free(&event->variables);
    *event = (struct alert_event){0};
}

static void remove_taken(void *context, const char *name)
{
    (void)unlinkat(*(const int *)context, name, 0);
}

size_t alerts_forget_taken(int spool)
{
    return for_each(spool, taken, remove_taken, &spool);
}
