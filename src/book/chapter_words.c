/* The words of the book: those of the program and those of the trade, in plain ones.  Only those that were used stand here. */
#include "book/book_int.h"

struct word {
    const char *word, *means;
    const char *forms[5]; /* as which it may stand in the text, besides itself */
};

/* In the order of a dictionary; a test looks that they are. */
static const struct word WORDS[] = {
    { "802.15.4", "the standard for small things that send little and rarely on the 2.4 GHz band", { 0 } },
    { "access point", "what sends and receives Wi-Fi, and passes it on to a cable", { "access points" } },
    { "address", "the number by which a device is found on the network", { "addresses" } },
    { "airtime", "the share of the time that somebody sends on a channel; when it is used up, all wait", { 0 } },
    { "antenna gain", "how much stronger an antenna sends in its best direction than evenly all round", { "gain" } },
    { "band", "a stretch of radio frequencies: 2.4 GHz reaches far, 5 and 6 GHz carry more", { "bands" } },
    { "battery", "what feeds the network for a while when there is no mains", { "batteries" } },
    { "budget", "the most that may be spent, or the most watts that a switch may give to all its ports", { 0 } },
    { "busy hour",
      "the fullest hour of the week, for which line and airtime must be enough",
      { "busiest hour", "fullest hour", "fullest hours", "busy hours" } },
    { "cabinet", "the box in which equipment is built", { "cabinets" } },
    { "category", "how fast a cable may be used: 6 carries 10 Gb/s over short ways, 6A over all", { 0 } },
    { "channel", "the part of a band on which an access point sends", { "channels" } },
    { "channel width", "how much of the band a channel takes: wider is faster and meets more neighbours", { "MHz" } },
    { "construct", "what a wall, door, window or floor is made of, layer by layer", { "constructs" } },
    { "cord", "the short loose cable between a socket or panel and a thing", { "cords" } },
    { "dB", "decibel: a ratio; 3 dB less is half the power, 10 dB less a tenth", { "decibel", "decibels" } },
    { "dBm", "a radio level: 0 dBm is one thousandth of a watt, \u221267 dBm good, \u221280 dBm poor", { 0 } },
    { "DHCP", "how a device is given its address by the gateway", { "DHCPv6" } },
    { "DNS", "how a name such as printer.example becomes an address", { 0 } },
    { "downlink", "from the house to the device; the other way is the uplink", { "uplink", "uplinks" } },
    { "EIRP", "what an access point really sends in its best direction; the law limits it", { 0 } },
    { "equipment", "the parts of the network, placed in the house: each with its place, settings and cables", { 0 } },
    { "estimate", "how much radio the walls are taken to swallow: careful, middle or hopeful", { 0 } },
    { "evidence", "the figure, picture, packet or cable that shows why a promise is kept or not", { 0 } },
    { "fibre", "a cable of glass that carries light: far, fast, and no lightning", { 0 } },
    { "field", "the drawing of a level or rate all over a floor", { "fields" } },
    { "gateway", "what joins the house to the line, and lets pass only what the statements allow", { "gateways" } },
    { "Gb/s", "gigabits a second: a thousand Mb/s", { 0 } },
    { "GHz", "gigahertz: a thousand million swings a second", { 0 } },
    { "growth", "how many times the devices of today the network must carry", { 0 } },
    { "ICMP", "the messages by which the network says that something cannot be reached, or is there", { "ICMPv6" } },
    { "injector", "a small box that puts power onto a data cable", { "injectors" } },
    { "interference", "what others send on the same channel, and drowns the rest", { 0 } },
    { "IPv4", "addresses such as 192.168.10.5", { 0 } },
    { "IPv6", "addresses such as fd12:3456:789a:10::5, of which there are enough for all", { 0 } },
    { "level", "how strong the radio is at a place", { "levels" } },
    { "line", "what joins the house to the provider and the internet", { 0 } },
    { "load", "how much of a cable, a channel or the line is used", { 0 } },
    { "MAC address", "the number a device's maker gave its network port or radio", { "MAC", "MAC addresses" } },
    { "margin", "how far a promise is from breaking, or from being kept", { "margins" } },
    { "Mb/s", "megabits a second: a film takes about 5 to 25", { 0 } },
    { "mDNS", "how printers and screens tell their neighbours on the same network what they offer", { 0 } },
    { "mesh", "small things that pass each other's messages on by radio", { 0 } },
    { "mount", "a place where an access point, camera or outlet may be fixed", { "mounts" } },
    { "multicast", "one packet for all who listen", { 0 } },
    { "NAT", "many devices behind the one IPv4 address of the line", { 0 } },
    { "outage", "the time without mains", { "outages" } },
    { "packet", "a piece of a conversation on the network", { "packets" } },
    { "panel", "a row of sockets where the cables of the house end", { "patch panel", "panels" } },
    { "passphrase", "the words that let a device onto a Wi-Fi name", { "passphrases" } },
    { "permanent link",
      "the fixed cable from socket to socket, without its cords; by the standard at most 90 m",
      { 0 } },
    { "phase", "what is bought and built together, by one date", { "phases" } },
    { "PoE",
      "power over Ethernet: watts over the data cable, in classes from 1 to 8",
      { "power over Ethernet", "PoE class" } },
    { "port", "a socket of a switch; or the number by which a service of a device is asked for", { "ports" } },
    { "prefix", "the beginning of addresses that all devices of a network share", { "prefixes" } },
    { "promise",
      "something the household was told it will have; kept, broken, or unknown where a fact is missing",
      { "promises", "promised" } },
    { "proof",
      "a promise was judged for every packet and every minute of the week, not by trying some",
      { "proven", "proved" } },
    { "provider", "the company at the other end of the line", { "provider's" } },
    { "QR code", "a square of dots from which a phone reads a Wi-Fi name and passphrase", { "QR codes" } },
    { "rack unit", "44.45 mm of height in a cabinet", { "rack units", "HE" } },
    { "radar", "on some channels of 5 GHz it goes first: the access point must hear it and leave", { 0 } },
    { "rate", "how many Mb/s a device gets", { "rates" } },
    { "recorder", "the machine that keeps the pictures of the cameras", { "recorders" } },
    { "rehearsal", "the rules were loaded into a real kernel and real packets sent", { "rehearsed", "rehearse" } },
    { "roaming", "a device that moves changes from one access point to the next", { 0 } },
    { "run", "a space in which cable may be laid: riser, void, skirting, duct, trench", { "runs" } },
    { "segment", "a network kept apart from the others: its own VLAN and addresses", { "segments" } },
    { "service", "what one device offers to others: printing, files, pictures", { "services" } },
    { "SNR", "by how much the signal is stronger than the noise", { 0 } },
    { "spanning tree", "how switches let a second way rest until the first fails", { 0 } },
    { "SSID", "the name of a Wi-Fi network, as devices list it", { "SSIDs", "Wi-Fi name", "Wi-Fi names" } },
    { "statement", "one line of who may begin a conversation with whom, for what, at which hours", { "statements" } },
    { "subnet", "the range of addresses of a segment", { "subnets" } },
    { "surge protector",
      "what leads away the high voltage that lightning drives into a cable",
      { "surge protectors" } },
    { "switch", "the box that joins cables, and sends each packet to the right one", { "switches" } },
    { "T568A", "one of the two orders of the eight wires in a plug; T568B is the other. All ends alike", { "T568B" } },
    { "tagged",
      "each packet says to which VLAN it belongs; untagged ones belong to the port's own",
      { "untagged", "tag", "tags" } },
    { "TCP", "a conversation in which nothing is lost; UDP is quicker and may lose", { "UDP" } },
    { "trunk", "a cable that carries several VLANs", { "trunks" } },
    { "UTC", "the time without zones and summer time, by which the gateway counts", { 0 } },
    { "VLAN", "a number that keeps the packets of segments apart on one cable", { "VLANs" } },
    { "VPN", "a tunnel into the house from away, for those who hold its key", { 0 } },
    { "watt-hour", "what a battery holds: 60 Wh feed 30 W for two hours", { "Wh", "watt-hours" } },
    { "witness", "a packet, a spot or a minute that breaks a promise", { "witnesses" } },
    { "WPA2, WPA3", "how Wi-Fi is encrypted; 3 is the newer", { "WPA2", "WPA3" } },
    { "zone", "segments, groups or devices that the rules treat alike", { "zones" } },
};

static bool is_used(const struct book *b, const struct word *w)
{
    if (flow_says(b->flow, w->word))
        return true;
    for (size_t i = 0; i < RT_COUNT(w->forms) && w->forms[i]; i++)
        if (flow_says(b->flow, w->forms[i]))
            return true;
    return false;
}

enum rt_code chapter_words(struct book *b, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = {
        { .share = 0.75 }, { .share = 2.6 }, { .share = 0.75 }, { .share = 2.6 }
    };
    bool used[RT_COUNT(WORDS)];
    (void)p;
    for (size_t i = 0; i < RT_COUNT(WORDS); i++) /* before the chapter itself uses any */
        used[i] = is_used(b, &WORDS[i]);
    flow_chapter(b->flow, "words", "Words");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    struct flow_cell cells[RT_COUNT(COLUMNS)] = { { .text = STR("") } };
    size_t n = 0;
    for (size_t i = 0; i < RT_COUNT(WORDS); i++) {
        if (!used[i])
            continue;
        cells[n++] = (struct flow_cell){ .text = str_from(WORDS[i].word), .is_strong = true };
        cells[n++] = (struct flow_cell){ .text = str_from(WORDS[i].means) };
        if (n == RT_COUNT(cells))
            flow_row(b->flow, cells);
        n %= RT_COUNT(cells);
    }
    if (n) { /* the last one stands alone */
        cells[2] = cells[3] = (struct flow_cell){ .text = STR("") };
        flow_row(b->flow, cells);
    }
    return RT_OK;
}
