#include "book/net_words.h"

#include <string.h>

struct str net_address(struct book *b, enum family family, axis_value address)
{
    struct buf text = { .arena = b->arena };
    if (address)
        address_write(&text, family, address);
    return buf_done(&text);
}

struct str net_prefix(struct book *b, struct prefix p)
{
    struct buf text = { .arena = b->arena };
    if (p.is_given)
        prefix_write(&text, p);
    return buf_done(&text);
}

struct str net_mac(struct book *b, axis_value mac)
{
    struct buf text = { .arena = b->arena };
    mac_write(&text, mac);
    return buf_done(&text);
}

/* "Mia, 13" is called Mia. */
static struct str first_name(const struct person *p)
{
    struct str name = p->says.n ? p->says : p->id;
    for (size_t i = 0; i < name.n; i++)
        if (name.p[i] == ',')
            name.n = i;
    return name;
}

/* What the id says behind its owner's: "anna_work_laptop" is Anna's work laptop.  Empty: it does not begin with it. */
static struct str behind_owner(struct book *b, const struct device *d)
{
    const struct str owner = d->owner.i == NO_REF ? STR("") : b->h->people.v[d->owner.i].id;
    const size_t n = owner.n;
    if (!n || d->id.n <= n + 1 || d->id.p[n] != '_' || !str_eq((struct str){ d->id.p, n }, owner))
        return STR("");
    return book_id_words(b, (struct str){ d->id.p + n + 1, d->id.n - n - 1 });
}

/* A list in words would not read as one thing. */
static bool has_name(const struct device *d) { return d->says.n && !memchr(d->says.p, ',', d->says.n); }

struct str net_device_words(struct book *b, uint32_t device)
{
    const struct device *d = &b->h->devices.v[device];
    const struct str behind = behind_owner(b, d);
    if (has_name(d))
        return d->says;
    if (!behind.n)
        return book_id_words(b, d->id);
    return book_text(b, "%.*s's %.*s", STR_ARG(first_name(&b->h->people.v[d->owner.i])), STR_ARG(behind));
}

struct str net_device_short(struct book *b, uint32_t device)
{
    const struct device *d = &b->h->devices.v[device];
    const struct str behind = behind_owner(b, d);
    return !has_name(d) && behind.n ? behind : net_device_words(b, device);
}

struct str net_person_words(struct book *b, uint32_t person) { return first_name(&b->h->people.v[person]); }

static bool is_of_word(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

static struct str word_words(struct book *b, struct str word, bool any_device)
{
    bool is_id = any_device;
    for (size_t i = 0; i < word.n; i++)
        is_id |= word.p[i] == '_';
    if (!is_id || word.p[0] == '_' || house_find_equipment(b->h, word) != NO_REF)
        return word; /* _ipp._tcp is no id; equipment is called so on its label and in its settings */
    const uint32_t device = house_find_device(b->h, word);
    if (device != NO_REF)
        return net_device_words(b, device);
    return any_device ? word : book_id_words(b, word);
}

/* What is quoted stays: ids and keys are to be looked for, or typed, in the file. */
static struct str in_words(struct book *b, struct str text, bool any_device)
{
    struct buf out = { .arena = b->arena };
    bool is_quoted = false;
    for (size_t i = 0; i < text.n;) {
        size_t k = i;
        while (k < text.n && is_of_word(text.p[k]))
            k++;
        if (k == i) {
            if (text.p[i] == '`')
                is_quoted = !is_quoted;
            else
                buf_char(&out, text.p[i]);
            i++;
            continue;
        }
        const struct str word = { text.p + i, k - i };
        buf_str(&out, is_quoted || (i && text.p[i - 1] == '\'') ? word : word_words(b, word, any_device));
        i = k;
    }
    return buf_done(&out);
}

struct str net_plain_words(struct book *b, struct str text) { return in_words(b, text, false); }
struct str net_devices_words(struct book *b, struct str ids) { return in_words(b, ids, true); }

struct str net_zone_words(struct book *b, uint32_t zone)
{
    if (zone == ZONE_INTERNET)
        return STR("the internet");
    if (zone == ZONE_GATEWAY)
        return STR("the gateway");
    return net_plain_words(b, zone_id(b->proof->policy->plan, zone));
}

const char *net_security_words(enum security s)
{
    static const char *const WORDS[] = { [SECURITY_WPA3] = "WPA3",
                                         [SECURITY_WPA2_WPA3] = "WPA2 and WPA3",
                                         [SECURITY_WPA2] = "WPA2",
                                         [SECURITY_OWE] = "encrypted, without a passphrase (OWE)",
                                         [SECURITY_OPEN] = "open, not encrypted" };
    return WORDS[s];
}

void net_list_word(struct buf *out, uint32_t i, uint32_t n, struct str word)
{
    buf_text(out, i == 0 ? "" : i + 1 == n ? " and " : ", ");
    buf_str(out, word);
}

struct str net_band_words(struct book *b, uint32_t bands)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (enum band band = 0; band < BAND_COUNT; band++)
        n += bands >> band & 1;
    for (enum band band = 0; band < BAND_COUNT; band++)
        if (bands >> band & 1)
            net_list_word(&text, k++, n, str_from(band_name(band)));
    buf_text(&text, " GHz");
    return buf_done(&text);
}

struct str net_hours_words(struct book *b, uint32_t hours)
{
    if (hours == NO_REF)
        return STR("always");
    return calendar_span_words(b->arena, b->proof->calendar->ordinary[hours]);
}

/* ---- who ---- */

static struct str end_words(struct book *b, const struct endpoint *e)
{
    const struct house *h = b->h;
    switch (e->kind) {
    case END_INTERNET:
        return STR("the internet");
    case END_GATEWAY:
        return STR("the gateway");
    case END_SEGMENT:
        return book_text(b, "the network %.*s", STR_ARG(net_plain_words(b, h->segments.v[e->i].id)));
    case END_GROUP:
        return h->groups.v[e->i].says.n ? h->groups.v[e->i].says : net_plain_words(b, h->groups.v[e->i].id);
    case END_DEVICE:
        return net_device_words(b, e->i);
    case END_PERSON:
        return net_person_words(b, e->i);
    case END_NAME:
        return e->name;
    default:
        return STR("anyone");
    }
}

struct str net_ends_words(struct book *b, const endpoint_list *ends)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < ends->n; i++)
        net_list_word(&text, i, ends->n, end_words(b, &ends->v[i]));
    return buf_done(&text);
}

struct str net_statement_words(struct book *b, const struct statement *s)
{
    if (s->says.n)
        return s->says;
    return book_text(b, "%.*s %s begin talk with %.*s", STR_ARG(net_ends_words(b, &s->from)),
                     s->verdict == VERDICT_ALLOW ? "may" : "may not", STR_ARG(net_ends_words(b, &s->to)));
}

struct str net_statement_sentence(struct book *b, const struct statement *s)
{
    struct buf text = { .arena = b->arena };
    if (s->says.n)
        return s->says;
    for (uint32_t i = 0; i < s->services.n; i++)
        net_list_word(&text, i, s->services.n, s->services.v[i]);
    const struct str words = book_capital(b, net_statement_words(b, s));
    return text.n ? book_text(b, "%.*s, for %.*s", STR_ARG(words), STR_ARG(buf_done(&text))) : words;
}

struct str net_days_words(struct book *b, const struct day_exception *e)
{
    return str_eq(e->from_date, e->to_date) || !e->to_date.n
               ? e->from_date
               : book_text(b, "%.*s to %.*s", STR_ARG(e->from_date), STR_ARG(e->to_date));
}

bool net_statement_is_of(struct book *b, const struct statement *s, uint32_t person)
{
    bool failed = false;
    for (uint32_t e = 0; e < s->from.n; e++) {
        const index_list devices = endpoint_devices(b->arena, b->h, &s->from.v[e], &failed);
        for (uint32_t i = 0; i < devices.n && !failed; i++)
            if (b->h->devices.v[devices.v[i]].owner.i == person)
                return true;
    }
    return false;
}
