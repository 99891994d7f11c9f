#include "book/wifi_uri.h"

/* The percent sign stands for itself only when encoded; the backslash is read as something else by older readers. */
static bool stands_for_itself(char c) { return c >= 0x20 && c <= 0x7e && c != ';' && c != '%' && c != '\\'; }

bool wifi_uri_encodes(struct str value)
{
    for (size_t i = 0; i < value.n; i++)
        if (!stands_for_itself(value.p[i]))
            return true;
    return false;
}

static void add_value(struct buf *out, struct str value)
{
    for (size_t i = 0; i < value.n; i++) {
        if (stands_for_itself(value.p[i]))
            buf_char(out, value.p[i]);
        else
            buf_printf(out, "%%%02X", (unsigned)(unsigned char)value.p[i]);
    }
}

struct str wifi_uri(struct arena *a, struct str name, enum security security, struct str passphrase)
{
    const bool takes_passphrase = security != SECURITY_OPEN && security != SECURITY_OWE;
    struct buf out = { .arena = a };
    buf_text(&out, "WIFI:");
    if (takes_passphrase)
        buf_text(&out, "T:WPA;");
    if (security == SECURITY_WPA3)
        buf_text(
            &out,
            "R:1;"); /* bit 0: no WPA2 any more for this name (WPA3 Specification, Transition Disable; from memory) */
    buf_text(&out, "S:");
    add_value(&out, name);
    buf_char(&out, ';');
    if (takes_passphrase) {
        buf_text(&out, "P:");
        add_value(&out, passphrase);
        buf_char(&out, ';');
    }
    buf_char(&out, ';');
    return out.failed ? (struct str){ 0 } : buf_done(&out);
}
