// SPDX-License-Identifier: GPL-3.0-or-later
#include "workers.h"

#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <unistd.h>

struct queue {
    struct job *first, *last;
};

struct workers {
    pthread_mutex_t mutex;
    pthread_cond_t work;     /* something was submitted, or it is time to stop */
    pthread_cond_t finished; /* something can be collected */
    struct queue waiting, idle, done;
    size_t under_way; /* submitted and not yet done */
    bool stop;
    int fd;
    unsigned threads;
    pthread_t thread[];
};

static void push(struct queue *queue, struct job *job)
{
    job->next = NULL;
    if (queue->last)
        queue->last->next = job;
    else
        queue->first = job;
    queue->last = job;
}

static struct job *pop(struct queue *queue)
{
    struct job *job = queue->first;
    if (job) {
        queue->first = job->next;
        if (!queue->first)
            queue->last = NULL;
    }
    return job;
}

static void *work(void *argument)
{
    struct workers *workers = argument;
    pthread_mutex_lock(&workers->mutex);
    for (;;) {
        struct job *job = pop(workers->waiting.first ? &workers->waiting : &workers->idle);
        if (!job && workers->stop)
            break;
        if (!job) {
            pthread_cond_wait(&workers->work, &workers->mutex);
            continue;
        }
        pthread_mutex_unlock(&workers->mutex);
        job->run(job);
        pthread_mutex_lock(&workers->mutex);
        push(&workers->done, job);
        workers->under_way--;
        pthread_cond_signal(&workers->finished);
        /* The counter cannot overflow: it is read long before 2^64 jobs. */
        (void)eventfd_write(workers->fd, 1);
    }
    pthread_mutex_unlock(&workers->mutex);
    return NULL;
}

/* Signals are the main loop's business. */
static int start_thread(pthread_t *thread, struct workers *workers)
{
    sigset_t all;
    sigset_t before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    int failed = pthread_create(thread, NULL, work, workers);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return failed;
}

pellet_status workers_new(unsigned threads, struct workers **workers, struct pellet_error *error)
{
    struct workers *made = calloc(1, sizeof *made + threads * sizeof made->thread[0]);
    if (!made)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for threads");
    made->fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (made->fd < 0) {
        free(made);
        return pellet_fail_errno(error, errno, "cannot make an event descriptor");
    }
    pthread_mutex_init(&made->mutex, NULL);
    pthread_cond_init(&made->work, NULL);
    pthread_cond_init(&made->finished, NULL);
    int failed = 0;
    while (made->threads < threads && failed == 0) {
        failed = start_thread(&made->thread[made->threads], made);
        made->threads += failed == 0;
    }
    if (made->threads == 0) {
        workers_free(made);
        return pellet_fail_errno(error, failed, "cannot start a thread");
    }
    *workers = made;
    return PELLET_OK;
}

void workers_free(struct workers *workers)
{
    if (!workers)
        return;
    pthread_mutex_lock(&workers->mutex);
    workers->stop = true;
    pthread_cond_broadcast(&workers->work);
    pthread_mutex_unlock(&workers->mutex);
    for (unsigned i = 0; i < workers->threads; i++)
        pthread_join(workers->thread[i], NULL);
    pthread_cond_destroy(&workers->finished);
    pthread_cond_destroy(&workers->work);
    pthread_mutex_destroy(&workers->mutex);
    close(workers->fd);
    free(workers);
}

static void submit(struct workers *workers, struct queue *queue, struct job *job)
{
    pthread_mutex_lock(&workers->mutex);
    push(queue, job);
    workers->under_way++;
    pthread_cond_signal(&workers->work);
    pthread_mutex_unlock(&workers->mutex);
}

void workers_submit(struct workers *workers, struct job *job)
{
    submit(workers, &workers->waiting, job);
}

void workers_submit_idle(struct workers *workers, struct job *job)
{
    submit(workers, &workers->idle, job);
}

struct job *workers_collect(struct workers *workers)
{
    pthread_mutex_lock(&workers->mutex);
    struct job *job = pop(&workers->done);
    if (!workers->done.first) {
        eventfd_t count = 0;
        (void)eventfd_read(workers->fd, &count);
    }
    pthread_mutex_unlock(&workers->mutex);
    return job;
}

void workers_wait(struct workers *workers)
{
    pthread_mutex_lock(&workers->mutex);
    while (!workers->done.first && workers->under_way > 0)
        pthread_cond_wait(&workers->finished, &workers->mutex);
    pthread_mutex_unlock(&workers->mutex);
}

int workers_fd(const struct workers *workers)
{
    return workers->fd;
}

unsigned workers_threads(const struct workers *workers)
{
    return workers->threads;
}
