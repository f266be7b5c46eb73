// SPDX-License-Identifier: GPL-3.0-or-later
#include "journal.h"

#include "log.h"

#include <string.h>
#include <unistd.h>

int journal_priority(const struct pellet_verdict *verdict)
{
    if (verdict->outcome == PELLET_PASS)
        return LOG_LEVEL_INFO;
    return verdict->role == PELLET_SAMPLE ? LOG_LEVEL_NOTICE : LOG_LEVEL_WARNING;
}

#ifdef PELLET_HAVE_SYSTEMD

#define SD_JOURNAL_SUPPRESS_LOCATION
#include <sys/uio.h>
#include <systemd/sd-journal.h>

#define FIELDS_MAX 20

static const char *const message_ids[JOURNAL_EVENT_COUNT] = {
#define JOURNAL_EVENT_ID(code, id, meaning) [JOURNAL_##code] = (id),
    JOURNAL_EVENT_LIST(JOURNAL_EVENT_ID)
#undef JOURNAL_EVENT_ID
};

/* One entry being put together. */
struct entry_draft {
    size_t n;
    struct pellet_text field[FIELDS_MAX];
};

/* Values are shown as everywhere: what cannot be seen becomes \xNN. NULL adds nothing. */
static void add_field(struct entry_draft *draft, const char *name, const char *value)
{
    if (!value || draft->n == FIELDS_MAX)
        return;
    struct pellet_text *field = &draft->field[draft->n++];
    pellet_text_addf(field, "%s=", name);
    pellet_text_add_visible(field, value, strlen(value));
}

static void add_number(struct entry_draft *draft, const char *name, long long value)
{
    if (draft->n < FIELDS_MAX)
        pellet_text_addf(&draft->field[draft->n++], "%s=%lld", name, value);
}

static void add_event(struct entry_draft *draft, enum journal_event event, int priority, const char *message)
{
    add_field(draft, "MESSAGE", message);
    add_number(draft, "PRIORITY", priority);
    add_field(draft, "SYSLOG_IDENTIFIER", "pelletd");
    add_field(draft, "MESSAGE_ID", *message_ids[event] ? message_ids[event] : NULL);
}

/* Where the journal does not take it there is nobody left to tell. */
static void send_draft(struct entry_draft *draft)
{
    struct iovec part[FIELDS_MAX];
    bool good = true;
    for (size_t i = 0; i < draft->n; i++) {
        good = good && pellet_text_status(&draft->field[i]) == PELLET_OK;
        part[i] = (struct iovec){.iov_base = draft->field[i].data, .iov_len = draft->field[i].length};
    }
    if (good)
        (void)sd_journal_sendv(part, (int)draft->n);
    for (size_t i = 0; i < draft->n; i++)
        pellet_text_free(&draft->field[i]);
}

bool journal_takes_fields(void)
{
    return log_is_journal(STDERR_FILENO);
}

void journal_send(enum journal_event event, int priority, const char *message)
{
    struct entry_draft draft = {0};
    add_event(&draft, event, priority, message);
    send_draft(&draft);
}

void journal_verdict(const char *station, const struct pellet_verdict *verdict)
{
    struct entry_draft draft = {0};
    struct pellet_text message = {0};
    char measured[32];
    if (!journal_takes_fields())
        return;
    pellet_text_addf(&message, "%s: %s: ", station, pellet_outcome_id(verdict->outcome));
    pellet_text_adds(&message, verdict->file);
    pellet_text_addf(&message, ": %s", verdict->summary ? verdict->summary : "");
    pellet_time_format(verdict->measured, measured);
    add_event(&draft, JOURNAL_VERDICT, journal_priority(verdict), pellet_text_string(&message));
    add_field(&draft, "PELLETD_STATION", station);
    add_field(&draft, "PELLETD_FILE", verdict->file);
    add_field(&draft, "PELLETD_ROLE", pellet_role_id(verdict->role));
    add_field(&draft, "PELLETD_VERDICT", pellet_outcome_id(verdict->outcome));
    add_field(&draft, "PELLETD_SUMMARY", verdict->summary);
    add_field(&draft, "PELLETD_DO", verdict->instruction);
    add_field(&draft, "PELLETD_CHECK", verdict->reason_count > 0 ? verdict->reason[0].check->id : NULL);
    add_field(&draft, "PELLETD_SAMPLE", verdict->sample);
    if (verdict->pellet > 0)
        add_number(&draft, "PELLETD_PELLET", verdict->pellet);
    add_field(&draft, "PELLETD_SESSION", verdict->session);
    add_field(&draft, "PELLETD_MEASURED", measured);
    add_field(&draft, "PELLETD_RULES", verdict->rules_name);
    add_field(&draft, "PELLETD_SHA256", verdict->sha256);
    pellet_text_free(&message);
    send_draft(&draft);
}

#else

bool journal_takes_fields(void)
{
    return false;
}

void journal_send(enum journal_event event, int priority, const char *message)
{
    (void)event;
    (void)priority;
    (void)message;
}

void journal_verdict(const char *station, const struct pellet_verdict *verdict)
{
    (void)station;
    (void)verdict;
}

#endif
