#!/usr/bin/env python3
"""The settings that `rooftree export --to sheet` writes: settings.csv.

They are held against the other exports of the same house (tables, hostapd's files), against the parts and house files as PyYAML reads
them, and against the country's rules as they stand in the system's regulatory.db, decoded here.
"""
import csv
import ipaddress
import math
import os
import re
import struct

import yaml

from export_kit import (HOUSES, PROGRAM, Skip, call, changed_house, equal, export, house_file, made, main, read, refuses, settings, table, test, work)


def values(house, **wanted):
    """Settings whose columns are so: {(item, setting): value}, each exactly once."""
    found = {}
    for s in settings(house):
        if all(s[k].startswith(v[:-1]) if v.endswith("*") else s[k] == v for k, v in wanted.items()):
            key = (s["thing"], s["item"], s["setting"])
            assert key not in found, (house, key, "stands twice")
            found[key] = s["value"]
    return found


def model(house):
    """The house file and its parts, as PyYAML reads them."""
    with open(house_file(house), encoding="utf-8") as f:
        h = yaml.safe_load(f)
    with open(work("houses", h["parts_file"]), encoding="utf-8") as f:
        return h, yaml.safe_load(f)["parts"]


# ---------------------------------------------------------------- the table of settings


@test
def the_table_is_one_row_a_setting():
    # RFC 4180: CR LF, the same number of fields in each row; fields with commas or quotes in quotes, which csv undoes.
    for house in HOUSES:
        raw = read(made(house, "sheet"), "settings.csv")
        assert raw.endswith("\r\n") and "\n" not in raw.replace("\r\n", "")
        with open(os.path.join(made(house, "sheet"), "settings.csv"), encoding="utf-8", newline="") as f:
            equal({len(r) for r in csv.reader(f, strict=True)}, {13}, "fields")
        listed = settings(house)
        equal([s["number"] for s in listed], [str(i + 1) for i in range(len(listed))], "numbers")
        steps = [int(s["step"]) for s in listed]
        equal(steps, sorted(steps), "order of the steps")
        equal(sorted(set(steps)), list(range(1, steps[-1] + 1)), "no step is empty")
        keys = [(s["step"], s["item"], s["setting"], s["value"]) for s in listed]
        equal(len(keys), len(set(keys)), "no setting twice")
        for s in listed:
            assert s["thing"] and s["block"] and s["where"] and s["setting"] and s["value"] and s["check"], s


@test
def work_goes_from_the_street_inwards():
    order = []
    for s in settings("larch_end"):
        if not order or order[-1] != s["thing"]:
            order.append(s["thing"])
    equal(len(order), len(set(order)), "each thing is set in one go")
    equal(order[:4], ["all", "line", "gateway", "switch"], "first things")
    assert order.index("switch") < order.index("a1") < order.index("pictures") < order.index("battery"), order
    first = [s["setting"] for s in settings("larch_end") if s["step"] == "1" and s["item"] == "gateway"]
    equal(first[:4], ["notes and back-up", "firmware", "administrator's password", "administration from outside"], "before anything")


# ---------------------------------------------------------------- against the other exports


@test
def every_port_stands_once():
    for house in HOUSES:
        leads = {}
        for s in settings(house):
            if s["setting"] == "leads to":
                item = s["item"] if s["thing"] == "through" else f"{s['thing']}, {s['item']}"
                assert item not in leads, item
                leads[item] = s
        ports = table(made(house, "csv"), "port_map.csv")
        equal(sorted(leads), sorted(f"{p['equipment']}, port {p['port']}" for p in ports), f"{house}: ports")
        for p in ports:
            item, thing = f"port {p['port']}", p["equipment"]
            one = {s["setting"]: s["value"] for s in settings(house) if s["thing"] == thing and s["item"] == item}
            if p["mode"] == "through":
                continue
            if p["mode"] == "empty":
                equal((one["state"], one["untagged VLAN (PVID)"], one["tagged VLANs"]), ("off", "none", "none"), item)
            elif p["mode"] != "line":
                equal(one["state"], "on", item)
                equal(re.findall(r"^\d+", one["untagged VLAN (PVID)"]), [p["untagged_vlan"]] if p["untagged_vlan"] else [], (house, thing, item))
                equal(re.findall(r"\d+(?= \w)", one["tagged VLANs"]), re.findall(r"\((\d+)\)", p["tagged"]), (house, thing, item))
            if p["leads_to"] and p["mode"] != "line":
                assert leads[f"{thing}, {item}"]["value"].split(",")[0] == p["leads_to"], (house, thing, item)
            power = one["power over the cable (PoE)"]
            equal(re.findall(r"class (\d)", power) if power.startswith("on") else [], [p["class_granted"]] if p["class_granted"] else [], (house, thing, item))


@test
def every_vlan_reservation_and_address_stands_once():
    for house in HOUSES:
        ids = values(house, setting="VLAN ID")
        segments = table(made(house, "csv"), "segments.csv")
        equal({item: v for (_, item, _), v in ids.items()}, {s["segment"]: s["vlan"] for s in segments}, "VLANs")
        for v in ids.values():  # IEEE 802.1Q: 0 and 4095 are reserved
            assert 1 <= int(v) <= 4094, v
        interfaces = values(house, block="Interfaces of the segments")
        for s in segments:
            got = ipaddress.ip_interface(interfaces["gateway", s["segment"], "IPv4 address"])
            equal((str(got.network), str(got.ip)), (s["ipv4"], s["ipv4_gateway"]), s["segment"])
            got = ipaddress.ip_interface(interfaces["gateway", s["segment"], "IPv6 local address"])
            equal((got.network, got.ip), (ipaddress.ip_network(s["ipv6_local"]), ipaddress.ip_address(s["ipv6_local_gateway"])), s["segment"])
        reserved = values(house, block="Reservations")
        devices = table(made(house, "csv"), "addresses.csv")
        equal(sorted({item for _, item, _ in reserved}), sorted(d["device"] for d in devices), "reservations")
        for d in devices:
            one = {setting: v for (_, item, setting), v in reserved.items() if item == d["device"]}
            equal(one["IPv4 address"], d["ipv4"], d["device"])
            equal(one["IPv6 local address"], d["ipv6_local"], d["device"])
            equal(one["name"], d["name"], d["device"])
            equal(one["MAC address"], d["mac"] if d["mac_known"] == "yes" else "from the device", d["device"])


@test
def ranges_are_handed_out_as_dnsmasq_would():
    for house in HOUSES:
        h, _ = model(house)
        for segment in h["segments"]:
            conf = read(made(house, "linux"), "gateway/dnsmasq", segment + ".conf")
            got = values(house, block="Addresses handed out (DHCP)", item=segment)
            start, end, mask, lease = re.search(r"^dhcp-range=([\d.]+),([\d.]+|static),([\d.]+),(\d+)h", conf, re.M).groups()
            equal(got["gateway", segment, "range"], "none: reservations only" if end == "static" else f"{start} to {end}", segment)
            equal(got["gateway", segment, "subnet mask (1)"], mask, segment)
            equal(got["gateway", segment, "lease (51)"], f"{lease} hours", segment)
            blocked = [n for n in re.findall(r"^address=/([^/]+)/", conf, re.M)]
            refused = values(house, block="Names (DNS)", item=segment)["gateway", segment, "refused names"]
            for name in blocked:
                assert name in refused, (segment, name)
            equal(refused == "none", not blocked, segment)


SECURITY = {"wpa3": "WPA3-Personal (SAE)", "wpa2_wpa3": "WPA2- and WPA3-Personal (PSK and SAE)", "wpa2": "WPA2-Personal (PSK)"}


@test
def every_ssid_is_on_its_radios_as_hostapd_has_it():
    for house in HOUSES:
        vlans = {s["segment"]: s["vlan"] for s in table(made(house, "csv"), "segments.csv")}
        want = {}
        for s in table(made(house, "csv"), "ssids.csv"):
            for ap, band in re.findall(r"(\w+) \(([\d.]+) GHz\)", s["access_points"]):
                want.setdefault((ap, s["name"]), [s, []])[1].append(band + " GHz")
        got = {}
        for s in settings(house):
            if s["block"] == "SSIDs":
                got.setdefault((s["thing"], s["item"]), {})[s["setting"]] = s["value"]
        equal(sorted(got), sorted(want), "SSIDs on access points")
        for key, (s, bands) in want.items():
            equal(got[key]["bands"], ", ".join(bands), key)
            equal(got[key]["VLAN"], f"{s['segment']} (VLAN {vlans[s['segment']]})", key)
            equal(got[key]["security"], SECURITY[s["security"]], key)
            equal(got[key]["client isolation"], "on" if s["clients_apart"] == "yes" else "off", key)
            equal(got[key]["passphrase"], "from the card of this SSID", key)
            conf = read(made(house, "linux"), "access_points", key[0], f"hostapd-{bands[0][:-4]}.conf")
            part = conf[conf.index("ssid=" + key[1] + "\n"):].split("\n\n")[0]
            # hostapd.conf: ieee80211w 0 disabled, 1 optional, 2 required
            pmf = re.search(r"ieee80211w=(\d)", part)
            if pmf and bands[0] != "6 GHz":
                equal(got[key]["protected management frames (PMF)"], {"1": "optional", "2": "required"}[pmf.group(1)], key)


# ---------------------------------------------------------------- radios


def regulatory(country):
    """The country's rules out of regulatory.db, version 20 (layout: kernel, net/wireless/reg.c): (from, to, width, EIRP, flags)."""
    for path in ("/lib/firmware/regulatory.db", "/usr/lib/firmware/regulatory.db"):
        if os.path.exists(path):
            with open(path, "rb") as f:
                b = f.read()
            break
    else:
        raise Skip("wireless-regdb is not installed")
    equal(b[:4], b"RGDB", "magic")
    at, found = 8, None
    while b[at:at + 2] != b"\0\0":
        if b[at:at + 2].decode() == country:
            found = struct.unpack_from(">H", b, at + 2)[0] << 2
        at += 4
    length, n = b[found], b[found + 1]
    out = []
    for i in range(n):
        rule = struct.unpack_from(">H", b, found + ((length + 3) & ~3) + 2 * i)[0] << 2
        flags, eirp, start, end, width = struct.unpack_from(">xBHIII", b, rule)
        out.append((start / 1e3, end / 1e3, width / 1e3, eirp / 100, flags))
    return out


def centre_mhz(band, channel):
    """IEEE 802.11-2020 annex E: starting frequencies 2407, 5000, 5950 MHz, 5 MHz a number."""
    return {"2.4": 2407, "5": 5000, "6": 5950}[band] + 5 * channel


def check_legal(rules, band, centre, width, eirp):
    low, high = centre_mhz(band, centre) - width / 2, centre_mhz(band, centre) + width / 2
    covers = [r for r in rules if r[0] < high and r[1] > low and not r[4] & 1]
    assert covers and min(r[0] for r in covers) <= low and max(r[1] for r in covers) >= high, (band, centre, width)
    assert eirp <= min(r[3] for r in covers) + 0.05, (band, centre, eirp, covers)
    return any(r[4] & 4 for r in covers)


@test
def channels_and_powers_are_legal_and_the_files_own():
    for house in HOUSES:
        h, parts = model(house)
        rules = regulatory(h["country"])
        for ap, e in h["equipment"].items():
            part = parts[e["part"]]
            if part["kind"] != "access_point":
                continue
            got = values(house, thing=ap, block="Radios")
            equal(sorted({item for _, item, s in got if s == "channel"}), sorted(f"{r['band']} GHz" for r in part["radios"]), ap)
            for r in part["radios"]:
                item, band = f"{r['band']} GHz", str(r["band"])
                one = {s: v for (_, i, s), v in got.items() if i == item}
                said = [s for s in e["radios"] if s["band"] == r["band"]][0]
                if said.get("off") or said.get(False):  # a key `off` is false in YAML 1.1
                    equal(one, {"channel": "off"}, (ap, item))
                    continue
                primary, centre = re.fullmatch(r"(\d+)(?: \(centre (\d+)\))?", one["channel"]).groups()
                width = int(one["width"][:-4])
                eirp = float(one["transmit power"].split()[0])
                equal((int(primary), width), (said["channel"], said["width_mhz"]), (ap, item))
                peak = max(r["antenna"]["elevation_dbi"])
                if "azimuth_dbi" in r["antenna"]:
                    peak = max(peak, max(r["antenna"]["azimuth_dbi"]))
                assert eirp <= said["power_dbm"] + peak + 0.051, (ap, item, eirp)
                radar = check_legal(rules, band, int(centre or primary), width, eirp)
                equal("radar detection (DFS)" in one, radar, (ap, item))
                otherwise = re.fullmatch(r"([\d.-]+) dBm at the antenna ports.*; ([\d.-]+) dBm at each of (\d+); .*: (\d+) %", one["power, said otherwise"])
                conducted, each, chains, share = map(float, otherwise.groups())
                assert abs(eirp - conducted - peak) < 0.11, (ap, item)
                assert abs(each - (conducted - 10 * math.log10(chains))) < 0.11, (ap, item)
                assert abs(share - 100 * 10 ** ((conducted - r["power_dbm"]) / 10)) < 2, (ap, item)
                conf = read(made(house, "linux"), "access_points", ap, f"hostapd-{band}.conf")
                equal(re.search(r"^channel=(\d+)", conf, re.M).group(1), primary, (ap, item))
                seg0 = re.search(r"(?:vht|he)_oper_centr_freq_seg0_idx=(\d+)", conf)
                if seg0:
                    equal(seg0.group(1), centre or primary, (ap, item))
    refuses(check_legal, regulatory("GB"), "5", 72, 20, 10)  # 5360 MHz: between the bands
    refuses(check_legal, regulatory("GB"), "5", 36, 20, 40)


# ---------------------------------------------------------------- rules


def spans(text, family):
    """A list of addresses, prefixes and ranges as merged (low, high) pairs."""
    out = []
    for word in [w for w in re.split(r",? ", text) if w]:
        if "/" in word:
            n = ipaddress.ip_network(word)
            pair = (n.version, int(n[0]), int(n[-1]))
        else:
            low, _, high = word.partition("-")
            low = ipaddress.ip_address(low)
            pair = (low.version, int(low), int(ipaddress.ip_address(high)) if high else int(low))
        if family in (None, pair[0]):
            out.append(pair[1:])
    out.sort()
    merged = []
    for low, high in out:
        if merged and low <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def others(pairs, top):
    out, at = [], 0
    for low, high in pairs:
        if low > at:
            out.append((at, low - 1))
        at = high + 1
    return out + ([(at, top)] if at <= top else [])


def check_addresses(words, plain, version):
    top = 2 ** (32 if version == 4 else 128) - 1
    got = others(spans(words[8:], version), top) if words.startswith("any but ") else spans(words, version)
    equal(got, spans(plain, version), words)


@test
def every_rule_stands_once_and_means_the_same():
    for house in HOUSES:
        got = {}
        for s in settings(house):
            if s["block"].startswith("Rules "):
                got.setdefault(s["item"], {}).setdefault(s["setting"], []).append(s["value"])
        rules = table(made(house, "csv"), "rules.csv")
        equal(list(got), [f"rule {r['rule']}" for r in rules], "rules in order")
        zones = len({s["segment"] for s in table(made(house, "csv"), "segments.csv")})
        for r in rules:
            one = got[f"rule {r['rule']}"]
            assert all(len(v) == 1 for v in one.values()), (r["rule"], one)
            one = {k: v[0] for k, v in one.items()}
            verbs = {"accept": "accept", "drop": "drop", "reject": "reject", "jump": "try Rules", "goto": "go on in Rules"}
            assert one["action"].startswith(verbs[r["action"]]), (r, one)
            equal(one.get("version", "both").lower(), r["family"], r["rule"])
            equal(one.get("state", ""), r["state"], r["rule"])
            equal(one.get("protocol", ""), r["protocol"], r["rule"])
            for setting, column in (("destination port", "destination_port"), ("source port", "source_port"), ("ICMP type", "icmp_type")):
                equal(one.get(setting, "").replace(",", ""), r[column], (r["rule"], setting))
            for setting, column in (("source address", "source"), ("destination address", "destination")):
                equal(setting in one, bool(r[column]), (r["rule"], setting))
                for version in (4, 6):
                    if setting in one and r["family"] == f"ipv{version}":
                        check_addresses(one[setting], r[column], version)
            equal(one.get("hours", "").split(" (")[0], r["hours"], r["rule"])
            for setting in ("from", "to"):
                if one[setting].startswith("any"):
                    assert not r[setting] or len(r[setting].split()) > zones / 2, (r, one)
                else:
                    equal([z.replace("the ", "") for z in one[setting].split(", ")], r[setting].split(), r["rule"])
    refuses(check_addresses, "any but 10.0.0.0/8", "0.0.0.0-9.255.255.255 11.0.0.1-255.255.255.255", 4)


@test
def marks_logs_and_reasons_come_along():
    rules = [s for s in settings("larch_end") if s["block"].startswith("Rules ")]
    bell = [s for s in rules if s["setting"] == "log"]
    equal([s["reason"] for s in bell], ["\u201cThe doorbell may ring Anna's and Joel's phones from away\u201d"], "logged")
    begun = [s["value"] for s in rules if s["setting"] == "conversations begun by"]
    assert any("tom_tablet" in v for v in begun), begun
    h, _ = model("larch_end")
    for s in h["statements"]:
        if s["from"] in h["segments"] and s["to"] in h["segments"]:
            assert any(s["says"] in r["reason"] for r in rules), s
    assert any("cut" in s["if_not_offered"] or "forget" in s["if_not_offered"] for s in settings("larch_end") if s["block"] == "Hours")


# ---------------------------------------------------------------- secrets, sameness, changes


@test
def no_secret_and_no_stand_in_is_told():
    for house in HOUSES:
        made(house, "linux", "--with-secrets")
        with open(house_file(house).replace(".house.yaml", ".secrets.yaml"), encoding="utf-8") as f:
            secrets = re.findall(r"[a-z]{4}(?:-[a-z]{4}){5}|(?<=: )\S{12,}", f.read())
        assert secrets, house
        again = work("sheet-again")
        code, _, err = export(house_file(house), "sheet", again)
        equal(code, 0, err)
        for name in ("settings.html", "settings.csv"):
            text = read(again, name)
            equal(text, read(made(house, "sheet"), name), "the same bytes again")
            for secret in secrets:
                assert secret.strip("\"'") not in text, (house, name)
            for d in table(made(house, "csv"), "addresses.csv"):
                if d["mac_known"] == "no":
                    assert d["mac"] not in text, (house, d["device"])
    code, _, err = export(house_file("quay_flat"), "sheet", again, "--with-secrets")
    equal(code, 2, "secrets")
    assert "linux" in err, err


@test
def the_forms_are_told_from_one_list():
    code, _, err = export(house_file("quay_flat"), "paper", work("none"))
    equal(code, 2, err)
    _, out, _ = call(PROGRAM, "export", "--help")
    for form in ("linux", "acl", "csv", "sheet"):
        assert form in err and form + ": " in out, (form, err, out)


def keyed(rows):
    out = {}
    for s in rows:
        key = (s["thing"], s["block"], s["item"], s["setting"])
        out[key] = out.get(key, "") + "|" + s["value"]
    return out


def changes(*pairs):
    """What differs in the sheet of Larch End once texts of its file are replaced, each exactly once."""
    house = changed_house("changed", *pairs)
    folder = work("changed")
    code, _, err = export(house, "sheet", folder)
    equal(code, 0, err)
    old, new = keyed(settings("larch_end")), keyed(table(folder, "settings.csv"))
    return {k for k in old.keys() | new.keys() if old.get(k) != new.get(k)}


@test
def a_changed_fact_changes_its_settings_alone():
    a1 = "- {band: 2.4, channel: 1, width_mhz: 20, power_dbm: 14}"
    equal(changes((a1, a1.replace("14", "13"))),
          {("a1", "Radios", "2.4 GHz", "transmit power"), ("a1", "Radios", "2.4 GHz", "power, said otherwise")}, "a radio's power")
    equal(changes((a1, a1.replace("channel: 1,", "channel: 2,"))), {("a1", "Radios", "2.4 GHz", "channel")}, "a radio's channel")
    got = changes(("vlan: 70,", "vlan: 71,"))
    assert {("gateway", "VLANs", "guests", "VLAN ID"), ("a1", "SSIDs", "Larch End guests", "VLAN")} <= got, got
    # the IPv6 subnet from the line bears the VLAN's digits: so do the interface and rules about that prefix
    for thing, block, item, setting in got:
        assert item == "guests" or "guests" in item or setting in ("tagged VLANs", "who looks") or block.startswith("Rules "), (thing, block, item, setting)
    ports = table(made("larch_end", "csv"), "port_map.csv")
    equal({(t, i) for t, b, i, s in got if s == "tagged VLANs"}, {(p["equipment"], f"port {p['port']}") for p in ports if "guests" in p["tagged"] and p["mode"] == "trunk"}, "trunks that carry it")
    equal(changes(("- {id: bell_out,", "- {id: bell_out2,")), set(), "the name of a statement is no setting")
    equal(changes((a1, a1 + " # said again")), set(), "a remark is no setting")
    got = changes(('    from: "20:30"', '    from: "20:00"'))
    assert ("gateway", "Hours", "school_nights", "days and times") in got, got
    assert all(s == "hours" or b == "Hours" for _, b, _, s in got), got
    got = changes(("    ipv4: 10.20.50.20\n", "    ipv4: 10.20.50.29\n"))
    equal({k for k in got if not k[1].startswith("Rules ")},
          {("gateway", "Reservations", "printer", "IPv4 address"), ("gateway", "Reservations", "printer", "IPv6 local address")}, "an address")
    equal({s for _, b, _, s in got if b.startswith("Rules ")}, {"destination address"}, "and the rules about it")


if __name__ == "__main__":
    main()
