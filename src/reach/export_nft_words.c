#include "reach/export_nft_int.h"

enum { LINE_COLUMNS = 120, COMMENT_BYTES = 120, SET_NAME_BYTES = 200 }; /* the kernel takes names of sets up to 255 */

static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* A word with a _ is none of nft's own: others get an end. */
struct str nft_word(struct arena *a, struct str text)
{
    struct buf out = { .arena = a };
    if (text.n == 0 || !is_letter(text.p[0]))
        buf_text(&out, "x_");
    bool has_bar = text.n == 0 || !is_letter(text.p[0]);
    for (size_t i = 0; i < text.n; i++) {
        const bool plain = is_letter(text.p[i]) || is_digit(text.p[i]);
        buf_char(&out, plain ? text.p[i] : '_');
        has_bar |= !plain;
    }
    if (!has_bar)
        buf_text(&out, "_rules");
    return buf_done(&out);
}

struct str nft_quotable(struct arena *a, struct str text, size_t max)
{
    struct buf out = { .arena = a };
    for (size_t i = 0; i < text.n;) {
        const size_t n = str_letter(text, i);
        const bool plain = n > 0 && (unsigned char)text.p[i] >= ' ' && text.p[i] != '"' && text.p[i] != 0x7f;
        if (out.n + (plain ? n : 1) > max)
            break;
        if (plain)
            buf_add(&out, text.p + i, n);
        else
            buf_char(&out, text.p[i] == '"' ? '\'' : ' ');
        i += n ? n : 1;
    }
    return buf_done(&out);
}

static struct str id_or(struct str id, const char *other) { return id.n ? id : str_from(other); }

struct str nft_rule_source(const struct nft_writer *w, const struct rule *r)
{
    const struct house *h = w->policy->h;
    if (!h || (r->which == NO_REF && r->origin != ORIGIN_STANDARD))
        return STR("");
    switch (r->origin) {
    case ORIGIN_STATEMENT:
        return r->which < h->statements.n ? id_or(h->statements.v[r->which].id, "statement") : STR("");
    case ORIGIN_PORT_OPENING:
        return r->which < h->port_openings.n ? id_or(h->port_openings.v[r->which].id, "opening") : STR("");
    case ORIGIN_RELAY:
        return r->which < h->relays.n ? id_or(h->relays.v[r->which].id, "relay") : STR("");
    case ORIGIN_REMOTE_ACCESS:
        return r->which < h->remote_access.n ? id_or(h->remote_access.v[r->which].id, "tunnel") : STR("");
    case ORIGIN_SEGMENT:
        return r->which < h->segments.n ? h->segments.v[r->which].id : STR("");
    case ORIGIN_STANDARD:
        return STR("standard");
    case ORIGIN_FOREIGN:
        break;
    }
    return STR("");
}

struct str nft_rule_comment(const struct nft_writer *w, const struct rule *r)
{
    struct buf out = { .arena = w->run->arena };
    buf_printf(&out, "rule %u", (unsigned)r->number);
    const struct str source = nft_quotable(w->run->arena, nft_rule_source(w, r), 80);
    if (source.n)
        buf_printf(&out, ", %.*s", STR_ARG(source));
    if (r->at.line)
        buf_printf(&out, ", line %u", (unsigned)r->at.line);
    return nft_quotable(w->run->arena, buf_done(&out), COMMENT_BYTES);
}

uint32_t nft_rule_number(struct str comment)
{
    const struct str word = STR("rule ");
    if (comment.n <= word.n || !str_eq((struct str){ comment.p, word.n }, word))
        return 0;
    uint32_t number = 0;
    for (size_t i = word.n; i < comment.n && is_digit(comment.p[i]); i++) {
        if (number > UINT32_MAX / 10 - 1)
            return 0;
        number = number * 10 + (uint32_t)(comment.p[i] - '0');
    }
    return number;
}

/* As names of sets are cut. */
static bool reads_alike(struct arena *a, struct str x, struct str y)
{
    struct str one = nft_word(a, x), other = nft_word(a, y);
    const size_t most = SET_NAME_BYTES - (sizeof "name_" - 1);
    one.n = one.n < most ? one.n : most;
    other.n = other.n < most ? other.n : most;
    return str_eq(one, other);
}

struct str nft_set_name(struct arena *a, const struct table *t, uint32_t k, enum family family)
{
    struct buf out = { .arena = a };
    struct buf name = { .arena = a };
    buf_text(&name, "name_");
    buf_str(&name, t->named.v[k]);
    struct str word = nft_word(a, buf_done(&name));
    if (word.n > SET_NAME_BYTES)
        word.n = SET_NAME_BYTES;
    buf_str(&out, word);
    /* dots and hyphens look alike in words: an earlier name that reads the same gets its own number */
    uint32_t same = 0;
    for (uint32_t i = 0; i < k; i++)
        same += reads_alike(a, t->named.v[i], t->named.v[k]);
    if (same)
        buf_printf(&out, "_%u", (unsigned)same + 1);
    buf_text(&out, family == FAMILY_IPV4 ? "_ipv4" : "_ipv6");
    return buf_done(&out);
}

void nft_put_remark(struct buf *out, unsigned indent, struct str text)
{
    size_t column = 0;
    for (size_t i = 0; i < text.n;) {
        while (i < text.n && (unsigned char)text.p[i] <= ' ')
            i++;
        size_t end = i;
        while (end < text.n && (unsigned char)text.p[end] > ' ')
            end++;
        if (end == i)
            break;
        const struct str word = { text.p + i, end - i };
        const size_t columns = str_columns(word);
        if (column == 0 || column + 1 + columns > LINE_COLUMNS) {
            if (column)
                buf_char(out, '\n');
            buf_fill(out, ' ', indent);
            buf_char(out, '#');
            column = indent + 1;
        }
        buf_char(out, ' ');
        buf_str(out, word);
        column += 1 + columns;
        i = end;
    }
    if (column)
        buf_char(out, '\n');
}

/* Where the line may be broken: behind the last comma inside braces that fits; n: nowhere. */
static size_t break_at(struct str line, size_t from, size_t columns)
{
    bool quoted = false;
    unsigned depth = 0;
    size_t best = line.n;
    for (size_t i = 0; i < line.n; i++) {
        const char c = line.p[i];
        if (c == '"')
            quoted = !quoted;
        depth += !quoted && c == '{';
        depth -= !quoted && c == '}' && depth > 0;
        if (quoted || depth == 0 || c != ',' || i < from)
            continue;
        if (i - from >= columns && best < line.n)
            break;
        best = i + 1;
    }
    return best;
}

void nft_put_line(struct buf *out, unsigned indent, struct str line)
{
    buf_fill(out, ' ', indent);
    unsigned deeper = indent;
    for (size_t from = 0; from < line.n;) {
        const size_t room = LINE_COLUMNS - deeper;
        const size_t end = line.n - from <= room ? line.n : break_at(line, from, room);
        buf_add(out, line.p + from, end - from);
        buf_char(out, '\n');
        for (from = end; from < line.n && line.p[from] == ' ';)
            from++;
        deeper = indent + 8;
        if (from < line.n)
            buf_fill(out, ' ', deeper);
    }
}

/* ---- values ---- */

/* How a span is written: as single values while they are few, as prefixes while these are few, else as a range. */
enum { SINGLE_MACS_MAX = 16, SINGLE_ADDRESSES_MAX = 4, PREFIXES_MAX = 3 };

static bool is_address(uint32_t axis) { return axis == AXIS_SOURCE || axis == AXIS_DESTINATION; }

/* The largest block of a prefix that begins at lo and ends within hi. */
static axis_value block_end(axis_value lo, axis_value hi)
{
    axis_value less_1 = 0; /* its size less 1 */
    for (;;) {
        const axis_value next = less_1 << 1 | 1;
        if (next == less_1 || (lo & next) != 0 || hi - lo < next)
            return lo + less_1;
        less_1 = next;
    }
}

static bool few_prefixes(struct span s)
{
    for (unsigned n = 1; n <= PREFIXES_MAX; n++) {
        const axis_value end = block_end(s.lo, s.hi);
        if (end == s.hi)
            return true;
        s.lo = end + 1;
    }
    return false;
}

static bool is_prefix(struct span s) { return block_end(s.lo, s.hi) == s.hi; }

void nft_put_plain_span(struct buf *out, enum family family, struct span s)
{
    if (s.lo != s.hi && is_prefix(s)) {
        unsigned len = family == FAMILY_IPV4 ? 32 : 128;
        for (axis_value rest = s.hi - s.lo; rest; rest >>= 1)
            len--;
        prefix_write(out, (struct prefix){ .family = family, .base = s.lo, .len = len, .is_given = true });
        return;
    }
    address_write(out, family, s.lo);
    if (s.lo == s.hi)
        return;
    buf_char(out, '-');
    address_write(out, family, s.hi);
}

static void put_one(struct nft_writer *w, struct buf *out, uint32_t axis, axis_value value)
{
    switch (axis) {
    case AXIS_SOURCE_MAC:
        mac_write(out, value);
        break;
    case AXIS_FROM:
    case AXIS_TO:
        buf_str(out, w->zones[value]);
        break;
    default:
        buf_printf(out, "%llu", (unsigned long long)value);
    }
}

static void put_span(struct nft_writer *w, struct buf *out, uint32_t axis, enum family family, struct span s)
{
    if (is_address(axis)) {
        nft_put_plain_span(out, family, s);
        return;
    }
    put_one(w, out, axis, s.lo);
    if (s.lo == s.hi)
        return;
    buf_char(out, '-');
    put_one(w, out, axis, s.hi);
}

/* The longest definition that begins at lo and ends within hi; else where the next one begins. */
static const struct nft_definition *definition_at(const struct nft_writer *w, axis_value lo, axis_value hi,
                                                  axis_value *next)
{
    const struct nft_definition *best = NULL;
    *next = hi;
    for (uint32_t i = 0; i < w->globals.n; i++) {
        const struct nft_definition *d = &w->globals.v[i];
        if (d->is.lo == lo && d->is.hi <= hi && (!best || d->is.hi > best->is.hi))
            best = d;
        if (d->is.lo > lo && d->is.lo <= hi && d->is.hi <= hi && d->is.lo - 1 < *next)
            *next = d->is.lo - 1;
    }
    return best;
}

/* Does the span hold addresses of the provider's prefix (the first definition), and is it right to write them by their names?
 * Not where it holds so much more that the prefix is in it by chance, as in "all of the internet". */
static bool holds_globals(const struct nft_writer *w, uint32_t axis, enum family family, struct span s)
{
    const struct span documentation = { (axis_value)0x20010db8 << 96, ((axis_value)0x20010db9 << 96) - 1 };
    return family == FAMILY_IPV6 && is_address(axis) && w->globals.n && s.lo >= documentation.lo &&
           s.hi <= documentation.hi;
}

/* Where the next element of the span ends that begins at lo, and its definition. */
static axis_value element_end(const struct nft_writer *w, uint32_t axis, enum family family, axis_value lo,
                              struct span s, const struct nft_definition **definition)
{
    axis_value hi = s.hi;
    *definition = NULL;
    if (holds_globals(w, axis, family, s) && (*definition = definition_at(w, lo, s.hi, &hi)))
        return (*definition)->is.hi;
    const axis_value size_less_1 = hi - lo;
    if ((axis == AXIS_SOURCE_MAC && size_less_1 < SINGLE_MACS_MAX) ||
        (is_address(axis) && size_less_1 < SINGLE_ADDRESSES_MAX))
        return lo;
    if (is_address(axis) && few_prefixes((struct span){ lo, hi }))
        return block_end(lo, hi);
    return hi;
}

static void put_elements(struct nft_writer *w, struct buf *list, uint32_t *n, uint32_t axis, enum family family,
                         struct span s)
{
    for (axis_value lo = s.lo;;) {
        const struct nft_definition *d;
        const axis_value end = element_end(w, axis, family, lo, s, &d);
        if ((*n)++)
            buf_text(list, ", ");
        if (d)
            buf_printf(list, "$%.*s", STR_ARG(d->name));
        else
            put_span(w, list, axis, family, (struct span){ lo, end });
        if (end == s.hi)
            return;
        lo = end + 1;
    }
}

/* How hard the list is to read: ranges are harder than what else it is made of. */
static uint32_t effort(const struct nft_writer *w, uint32_t axis, enum family family, span_list in)
{
    uint32_t sum = 0;
    for (uint32_t i = 0; i < in.n; i++)
        for (axis_value lo = in.v[i].lo;;) {
            const struct nft_definition *d;
            const axis_value end = element_end(w, axis, family, lo, in.v[i], &d);
            sum += d || lo == end || (is_address(axis) && is_prefix((struct span){ lo, end })) ? 1 : 3;
            if (end == in.v[i].hi)
                break;
            lo = end + 1;
        }
    return sum;
}

static span_list known_zones(struct nft_writer *w, span_list in)
{
    span_list out = { ARENA_ARRAY(w->run->arena, struct span, w->n_zones), 0 };
    w->failed |= out.v == NULL;
    for (uint32_t z = 0; out.v && z < w->n_zones; z++)
        if (spans_hold(in, z))
            out.v[out.n++] = (struct span){ z, z };
    return out;
}

void nft_put_values(struct nft_writer *w, struct buf *line, uint32_t axis, enum family family, span_list in)
{
    const axis_value max = axis_max(axis, family);
    const struct span all = { 0, max };
    in = spans_common(w->run->arena, in, spans_tidy(w->run->arena, &all, 1, &w->failed), &w->failed);
    span_list others = spans_others(w->run->arena, in, max, &w->failed);
    bool negate = others.n > 0 && effort(w, axis, family, others) < effort(w, axis, family, in);
    if (axis == AXIS_FROM || axis == AXIS_TO) {
        negate = spans_hold(in, max); /* zones that are not of this house too: all but some */
        in = known_zones(w, in);
        others = known_zones(w, others);
    }
    const span_list *put = negate ? &others : &in;
    struct buf list = { .arena = w->run->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < put->n; i++)
        put_elements(w, &list, &n, axis, family, put->v[i]);
    w->failed |= list.failed;
    buf_text(line, negate ? "!= " : "");
    buf_text(line, n == 1 ? "" : "{ ");
    buf_str(line, buf_done(&list));
    buf_text(line, n == 1 ? "" : " }");
}
