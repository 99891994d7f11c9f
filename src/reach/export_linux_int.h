/* export_linux_int.h - the parts of the folder for Linux gateways and access points, a source each. */
#ifndef RT_REACH_EXPORT_LINUX_INT_H
#define RT_REACH_EXPORT_LINUX_INT_H

#include "reach/export.h"
#include "reach/export_nft.h"

/* The packet filter's table, as the resolver must know it to fill sets of names. */
#define LINUX_TABLE "house"

/* The file's first lines: what it is, of which house. */
void linux_remark(struct buf *b, const struct export_house *x, const char *what, struct str of);

void linux_dnsmasq(const struct export_house *x, struct export_folder *out);       /* export_dnsmasq.c */
void linux_networkd(const struct export_house *x, struct export_folder *out);      /* export_networkd.c */
void linux_access_points(const struct export_house *x, struct export_folder *out); /* export_hostapd.c */

/* Name of a port's interface on a gateway, and of the cable's on an access point. */
#define LINUX_PORT "port%u"
#define LINUX_UPLINK "uplink"
/* Name of an SSID's interface on a radio, at most 15 characters: "wlan5", "wlan5_2". */
void linux_radio_name(char out[16], enum band band, uint32_t nth);
/* The nth SSID on this radio; false: there are not so many. */
bool linux_nth_ssid(const struct layer2 *l2, uint32_t equipment, enum band band, uint32_t nth, uint32_t *ssid);
/* Lines that set a bridge port: [BridgeVLAN] sections. */
void linux_bridge_vlans(struct buf *b, const struct export_house *x, uint32_t untagged, const index_list *tagged);

#endif
