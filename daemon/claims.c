// SPDX-License-Identifier: GPL-3.0-or-later
#include "claims.h"

#include "config.h"

#include <limits.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct claim {
    char *station, *folder, *output;
    struct claim *next;
};

struct claims {
    pthread_mutex_t mutex;
    struct claim *first;
};

struct claims *claims_new(void)
{
    struct claims *claims = calloc(1, sizeof *claims);
    if (claims)
        pthread_mutex_init(&claims->mutex, NULL);
    return claims;
}

static void claim_free(struct claim *claim)
{
    free(claim->station);
    free(claim->folder);
    free(claim->output);
    free(claim);
}

void claims_free(struct claims *claims)
{
    if (!claims)
        return;
    while (claims->first) {
        struct claim *claim = claims->first;
        claims->first = claim->next;
        claim_free(claim);
    }
    pthread_mutex_destroy(&claims->mutex);
    free(claims);
}

static struct claim *claim_new(const char *station, const char *folder, const char *output)
{
    struct claim *claim = calloc(1, sizeof *claim);
    if (!claim)
        return NULL;
    claim->station = strdup(station);
    claim->folder = strdup(folder);
    claim->output = strdup(output);
    if (claim->station && claim->folder && claim->output)
        return claim;
    claim_free(claim);
    return NULL;
}

/* Outputs may lie side by side or within each other: the lock sees to it that no two are the same. */
static bool clash(const struct claim *a, const struct claim *b)
{
    return path_within(a->folder, b->folder) || path_within(b->folder, a->folder) ||
           path_within(a->output, b->folder) || path_within(b->output, a->folder);
}

/* Where an open folder really is, as the kernel knows it: no link is followed and no share is asked. */
static bool real_path(int folder, char path[PATH_MAX])
{
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", folder);
    const ssize_t n = readlink(link, path, PATH_MAX - 1);
    path[n < 0 ? 0 : n] = '\0';
    return n > 0;
}

bool claims_take(struct claims *claims, const char *station, int folder, int output, char *why, size_t size)
{
    char folder_path[PATH_MAX];
    char output_path[PATH_MAX];
    /* Without /proc there is only what the configuration says, and that was checked. */
    if (!real_path(folder, folder_path) || !real_path(output < 0 ? folder : output, output_path))
        return true;
    struct claim *claim = claim_new(station, folder_path, output_path);
    if (!claim) {
        snprintf(why, size, "no memory for a station");
        return false;
    }
    pthread_mutex_lock(&claims->mutex);
    const struct claim *other = claims->first;
    while (other && !clash(claim, other))
        other = other->next;
    if (other) {
        snprintf(
            why, size,
            "its folder or output and the folder of '%s' lie within each other; each spectrum belongs to "
            "one station",
            other->station);
    } else {
        claim->next = claims->first;
        claims->first = claim;
    }
    pthread_mutex_unlock(&claims->mutex);
    if (other)
        claim_free(claim);
    return !other;
}

void claims_give_back(struct claims *claims, const char *station)
{
    pthread_mutex_lock(&claims->mutex);
    for (struct claim **link = &claims->first; *link; link = &(*link)->next) {
        if (strcmp((*link)->station, station) == 0) {
            struct claim *claim = *link;
            *link = claim->next;
            claim_free(claim);
            break;
        }
    }
    pthread_mutex_unlock(&claims->mutex);
}
