// SPDX-License-Identifier: GPL-3.0-or-later
/* An invented session, written into a folder as a spectrometer's computer writes it. */
#include "command.h"
#include "log.h"
#include "pellet/synth.h"
#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define PIECES 5

static void sleep_s(double seconds)
{
    struct timespec left = {(time_t)seconds, (long)((seconds - (double)(time_t)seconds) * 1e9)};
    while (nanosleep(&left, &left) < 0 && errno == EINTR)
        continue;
}

static bool write_all(int file, const char *bytes, size_t n)
{
    while (n > 0) {
        ssize_t done = write(file, bytes, n);
        if (done < 0 && errno == EINTR)
            continue;
        if (done <= 0)
            return false;
        bytes += done;
        n -= (size_t)done;
    }
    return true;
}

/* Some programs write under another name first and rename the file when it is whole. */
static bool write_then_rename(int folder, const char *name, const struct pellet_text *text)
{
    char temporary[300];
    snprintf(temporary, sizeof temporary, "%s.part", name);
    int file = openat(folder, temporary, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0)
        return false;
    bool good = write_all(file, text->data, text->length);
    good = close(file) == 0 && good;
    return good && renameat(folder, temporary, folder, name) == 0;
}

/* Others write in place, in pieces, with pauses. */
static bool write_in_place(int folder, const char *name, const struct pellet_text *text, double pause_s)
{
    int file = openat(folder, name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    bool good = file >= 0;
    for (size_t i = 0; good && i < PIECES; i++) {
        size_t from = text->length * i / PIECES;
        size_t to = text->length * (i + 1) / PIECES;
        good = write_all(file, text->data + from, to - from);
        if (i + 1 < PIECES)
            sleep_s(pause_s);
    }
    if (file >= 0)
        good = close(file) == 0 && good;
    return good;
}

static bool play_scene(struct pellet_synth *model, int folder, const struct pellet_synth_scene *scene,
                       size_t number, pellet_ns start, double pace_s, struct pellet_error *error)
{
    struct pellet_text text = {0};
    bool good = pellet_synth_scene_write(model, scene, start, &text, error) == PELLET_OK;
    if (good && pellet_text_status(&text) != PELLET_OK) {
        pellet_fail(error, PELLET_E_MEMORY, "no memory for %s", scene->file);
        good = false;
    }
    if (good) {
        printf("%s: %s\n", scene->file, scene->story);
        good = fflush(stdout) == 0;
        good = (number % 2 ? write_then_rename(folder, scene->file, &text)
                           : write_in_place(folder, scene->file, &text, pace_s / 20)) &&
               good;
        if (!good)
            pellet_fail_errno(error, errno, "cannot write %s", scene->file);
    }
    pellet_text_free(&text);
    return good;
}

/* The session lies in the hours before now, so that no file is measured at a time still to come. */
static pellet_ns start_of_session(void)
{
    double last_min = 0;
    for (size_t i = 0; i < pellet_synth_scene_count(); i++) {
        struct pellet_synth_scene scene;
        pellet_synth_scene_make(i, 1, &scene);
        if (scene.minute > last_min)
            last_min = scene.minute;
    }
    pellet_ns start = clock_now() - (pellet_ns)(last_min * 60) * PELLET_NS_PER_S;
    return start - start % PELLET_NS_PER_S;
}

static int play(int folder, const struct options *options)
{
    struct pellet_synth *model = NULL;
    struct pellet_error error = {0};
    const pellet_ns start = start_of_session();
    bool good = pellet_synth_new(&model, &error) == PELLET_OK;
    for (size_t i = 0; good && i < pellet_synth_scene_count(); i++) {
        struct pellet_synth_scene scene;
        pellet_synth_scene_make(i, options->seed, &scene);
        if (i > 0)
            sleep_s(options->pace_s);
        good = play_scene(model, folder, &scene, i, start, options->pace_s, &error);
    }
    pellet_synth_free(model);
    if (!good)
        log_failure(LOG_LEVEL_ERROR, "demo", &error);
    return good ? EXIT_PASSED : EXIT_TROUBLE;
}

int command_demo(const struct options *options, int count, char **arguments)
{
    (void)count;
    const char *path = arguments[0];
    if (mkdir(path, 0777) < 0 && errno != EEXIST) {
        log_say(LOG_LEVEL_ERROR, path, "cannot make the folder: %s", strerror(errno));
        return EXIT_TROUBLE;
    }
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0) {
        log_say(LOG_LEVEL_ERROR, path, "cannot open the folder: %s", strerror(errno));
        return EXIT_TROUBLE;
    }
    int code = play(folder, options);
    close(folder);
    return code;
}
