#!/usr/bin/env python3
"""What `rooftree export` writes: the folder as a whole, secrets, tables, access lists.

yanglint reads the access lists with the modules of RFC 8519 and RFC 8343 (below ROOFTREE_REFERENCE), and is also shown lists that are
wrong, so that it cannot pass for want of looking.
"""
import ipaddress
import json
import os
import re
import stat
import subprocess
from decimal import Decimal

from export_kit import (COARSE, HOUSES, PROGRAM, ROOT, Skip, call, changed_house, coarse, equal, export, files_of, house_file, made, main, need,
                        read, table, test, work)

REFERENCE = os.environ.get("ROOFTREE_REFERENCE", os.path.join(ROOT, "../shared/reference"))


def need_module(name):
    try:
        __import__(name)
    except ImportError:
        raise Skip(f"python3-{name} is not installed")


# ---------------------------------------------------------------- the folder


@test
def every_form_of_every_house():
    for house in HOUSES:
        for form in ("linux", "acl", "csv", "sheet"):
            folder = made(house, form)
            listed = read(folder, ".rooftree_export").split("\n")[:-1]
            equal(sorted(listed + [".rooftree_export"]), files_of(folder), "listed files")


@test
def json_names_the_files():
    folder = work("json")
    code, out, err = export(house_file("quay_flat"), "csv", folder, "--json")
    equal(code, 0, err)
    answer = json.loads(out)
    equal(list(answer), ["folder", "files", "secrets_file", "passphrases_made"], "keys")
    equal(sorted(answer["files"] + [".rooftree_export"]), files_of(folder), "files")
    equal(answer["secrets_file"], None, "no secrets")


@test
def the_same_bytes_again():
    again = work("again")
    for form in ("linux", "acl", "csv", "sheet"):
        equal(export(house_file("whin_farm"), form, again, *coarse(form))[0], 0, form)
        for name in files_of(again):
            assert read(again, name) == read(made("whin_farm", form), name), name


@test
def an_earlier_export_is_replaced_whole():
    folder = work("replaced")
    equal(export(house_file("quay_flat"), "linux", folder)[0], 0, "linux")
    equal(export(house_file("quay_flat"), "csv", folder, *coarse("csv"))[0], 0, "csv in its place")
    equal(files_of(folder), files_of(made("quay_flat", "csv")), "nothing of the old one is left")


@test
def what_is_somebody_elses_stays():
    folder = work("theirs")
    os.mkdir(folder)
    with open(os.path.join(folder, "letter.txt"), "w") as f:
        f.write("dear")
    code, out, err = export(house_file("quay_flat"), "csv", folder)
    equal(code, 2, "status")
    assert "letter.txt" in err and "was not written here by this program" in err, err
    equal(files_of(folder), ["letter.txt"], "the folder")
    equal([n for n in os.listdir(work()) if "saving" in n], [], "left beside it")


@test
def a_failure_leaves_nothing():
    blocker = work("a_file")
    with open(blocker, "w") as f:
        f.write("x")
    code, _, err = export(house_file("quay_flat"), "csv", os.path.join(blocker, "below"))
    equal(code, 2, err)
    code, _, err = export(house_file("quay_flat"), "csv", blocker)
    equal(code, 2, err)
    bad = changed_house("bad", ('c_hub: {from: "switch:4"', 'c_hub: {from: "switch:40"'))
    folder = work("never")
    code, _, err = export(bad, "csv", folder)
    equal(code, 2, err)
    assert "port 40 of switch, which has 18" in err, err
    assert not os.path.exists(folder)
    equal([n for n in os.listdir(work()) if "saving" in n], [], "left beside it")


# ---------------------------------------------------------------- secrets


def mode(path):
    return stat.S_IMODE(os.stat(path).st_mode)


@test
def secrets_are_kept_and_kept_close():
    house, folder = changed_house("secret"), work("secret-linux")
    store = house.replace(".house.yaml", ".secrets.yaml")
    said = [export(house, "linux", folder), export(house, "acl", folder), export(house, "csv", folder, "--json")]
    assert not os.path.exists(store), "no secrets unless asked for"
    said.append(export(house, "linux", folder, "--with-secrets", "--json"))
    equal(said[-1][0], 0, said[-1][2])
    equal(json.loads(said[-1][1])["passphrases_made"], 6, "made")
    equal(mode(store), 0o600, "mode of the store")
    passphrases = re.findall(r"^  \w+: (\S+)$", read(store), re.M)
    equal(len(set(passphrases)), 6, "each its own")
    for name in files_of(folder):
        holds = any(p in read(folder, name) for p in passphrases)
        equal(holds, "/hostapd-" in name, f"passphrases in {name}")
        if holds:
            equal(mode(os.path.join(folder, name)), 0o600, name)
    before = read(store)
    said.append(export(house, "linux", folder, "--with-secrets"))
    equal(read(store), before, "kept")
    equal(said[-1][0], 0, said[-1][2])
    folder = work("secret-none")
    said.append(export(house, "linux", folder))
    assert not any(p in read(folder, n) for n in files_of(folder) for p in passphrases), "left out again"
    os.chmod(store, 0o640)
    said.append(export(house, "linux", folder, "--with-secrets"))
    equal(said[-1][0], 2, "readable by others")
    assert "0640" in said[-1][2] and "chmod 600" in said[-1][2], said[-1][2]
    said.append(export(house, "csv", folder, "--with-secrets"))
    equal(said[-1][0], 2, "no place for them")
    for _, out, err in said:
        assert not any(p in out + err for p in passphrases), "never printed"


# ---------------------------------------------------------------- tables


@test
def tables_read_back():
    for house in HOUSES:
        folder = made(house, "csv")
        for name in ("segments.csv", "addresses.csv", "ssids.csv", "rules.csv", "matrix.csv", "port_map.csv", "labels.csv", "acceptance.csv"):
            assert table(folder, name), name
        segments = {r["segment"]: r for r in table(folder, "segments.csv")}
        for row in table(folder, "addresses.csv"):
            net = ipaddress.ip_network(segments[row["segment"]]["ipv4"])
            assert ipaddress.ip_address(row["ipv4"]) in net, row
            assert ipaddress.ip_address(row["ipv6_local"]) in ipaddress.ip_network(segments[row["segment"]]["ipv6_local"])
            assert row["name"].endswith(".home.arpa"), row  # RFC 8375
        numbers = [int(r["rule"]) for r in table(folder, "rules.csv")]
        equal(sorted(numbers), list(range(1, len(numbers) + 1)), "rules")


# Which figure of `check --json` (docs/json.md) a box of a kind is read against, wherever it has one.
OWN_FIGURE = {"signal": "wanted_level_dbm", "roaming": "wanted_level_dbm", "rate": "wanted_mbps", "outage": "wanted_minutes", "recording": "wanted_days"}


@test
def tests_of_the_day_read_against_the_figures_of_check():
    for house in HOUSES:
        done = subprocess.run([PROGRAM, "check", house_file(house), "--json", *COARSE], capture_output=True, text=True, timeout=900)
        assert done.returncode in (0, 1), done.stderr
        rows = {}
        for row in table(made(house, "csv"), "acceptance.csv"):
            rows.setdefault(row["promise"], []).append(row)
        for promise in json.loads(done.stdout)["promises"]:
            boxes, evidence = rows[promise["id"]], promise["evidence"]
            equal({b["says"] for b in boxes}, {promise["says"]}, promise["id"])
            equal({b["state"] for b in boxes}, {promise["state"]}, promise["id"])
            key = OWN_FIGURE.get(promise["kind"])
            if key:
                assert any(b["at_least"] and float(b["at_least"]) == evidence[key] for b in boxes), (promise["id"], key, evidence[key])
            spots = [s for room in evidence.get("rooms", []) for s in room["spots"]]
            assert len(boxes) >= len(spots), promise["id"]
            if promise["kind"] == "line":
                needed = [w["worst_hour"]["needed_mbps"] for w in evidence["ways"]]
                equal([float(b["at_least"]) for b in boxes if b["unit"] == "Mb/s"], needed, promise["id"])
            if promise["kind"] == "cost":
                equal([float(b["at_most"]) for b in boxes], [x["most"] for x in evidence["limits"]], promise["id"])


@test
def bill_and_cables():
    for house, n_cables in (("larch_end", 18), ("whin_farm", 16), ("quay_flat", 2)):  # counted in the house files
        lines = table(made(house, "csv"), "bill.csv")
        total = lines.pop()
        equal(total["kind"], "total", "last row")
        equal(sum(Decimal(r["total"]) for r in lines), Decimal(total["total"]), "sum of the rows")
        for row in lines:
            assert row["owned"] == "no" or Decimal(row["total"]) == 0, row
        cables = table(made(house, "csv"), "cable_schedule.csv")
        equal(len(cables), n_cables, "cables")
        for row in cables:
            assert row["label_at_from"].startswith(row["cable"] + " to " + row["to"]), row
            assert row["label_at_to"].startswith(row["cable"] + " to " + row["from"]), row
            assert float(row["fixed_m"]) > 0, row
    # From the house file and its parts file, by hand: a gateway and a cord, and a tenth for what was not foreseen.
    equal(total["total"], "182.03", "163.00 + 2.48 = 165.48, and 16.55")


@test
def ports_of_larch_end():
    ports = {(r["equipment"], int(r["port"])): r for r in table(made("larch_end", "csv"), "port_map.csv")}
    # From the cables of the house file, by hand.
    for key, far, untagged, tagged in ((("switch", 8), "doorbell", "cameras", ""), (("switch", 13), "home_server", "family", ""),
                                       (("switch", 6), "game_console", "children", ""), (("switch", 14), "", "", "")):
        equal((ports[key]["leads_to"], ports[key]["untagged_segment"], ports[key]["tagged"]), (far, untagged, tagged), key)
    equal(ports["gateway", 1]["mode"], "line", "the line's port")
    equal(ports["switch", 3]["tagged"], "family (10) work (20) lodger (30) children (40) guests (70)", "a3 has no 2.4 GHz: no things")


@test
def labels_of_every_end():
    """Against the house file as a YAML library reads it: two labels for each cable, one for each port, each its own."""
    need_module("yaml")
    import yaml
    for house in HOUSES:
        cables = yaml.safe_load(read(house_file(house)))["cables"]
        rows = table(made(house, "csv"), "labels.csv")
        ends = [r for r in rows if r["what"] == "cable"]
        schedule = {r["cable"]: r for r in table(made(house, "csv"), "cable_schedule.csv")}
        equal([r["first_line"] for r in ends], [c for c in cables for _ in range(2)], "both ends of each, in the file's order")
        for i, row in enumerate(ends):
            cable = cables[row["first_line"]]
            here, there = (cable["from"], cable["to"]) if i % 2 == 0 else (cable["to"], cable["from"])
            equal(row["at"], here.split(":")[0], row)
            assert row["second_line"].startswith("to " + there), (row, there)
            assert "," in row["second_line"], f"{row}: in which room"
            said = schedule[row["first_line"]]["label_at_from" if i % 2 == 0 else "label_at_to"]
            equal(row["first_line"] + " " + row["second_line"], said, "the schedule's label")
        for row in [r for r in rows if r["what"] == "outlet"]:
            assert {**row, "what": "cable"} in ends, f"{row}: an outlet bears the label of its cable's end"
        ports = [r for r in rows if r["what"] == "port"]
        mapped = table(made(house, "csv"), "port_map.csv")
        equal([r["first_line"] for r in ports], [f"{r['equipment']}:{r['port']}" for r in mapped], "a label for each port")
        for label, port in zip(ports, mapped):
            assert label["second_line"].startswith(port["cable"] + " to ") if port["cable"] else label["second_line"] in (
                "free", "to the internet line"), label
        lines = [(r["what"], r["first_line"], r["second_line"]) for r in rows]
        equal(len(set(lines)), len(lines), "no two alike")
    # Larch End, by hand: 14 fixed cables, of which one ends in a switch; gateway_to_switch, c_server, c_recorder are cords.
    equal(sum(r["what"] == "outlet" for r in table(made("larch_end", "csv"), "labels.csv")), 13, "outlets")


@test
def power_of_the_ports():
    ports = {(r["equipment"], int(r["port"])): r for r in table(made("larch_end", "csv"), "port_map.csv")}
    # Classes of the parts by hand from the parts file (camera 3, switch_5_fed 6 behind an injector of class 6, three-band disc 4).
    for key, asked, port in ((("switch", 9), "3", "4"), (("switch", 11), "", "4"), (("injector", 2), "6", "6"), (("switch", 3), "4", "4"), (("switch", 14), "", "4"),
                             (("switch", 17), "", "")):
        equal((ports[key]["class_asked"], ports[key]["port_class"]), (asked, port), key)
    # IEEE 802.3 tables 33-7 and 145-11: a source of class 4 gives 30 W, of class 6 60 W; whatever is drawn there cannot be more.
    for row in ports.values():
        assert not row["drawn_w"] or float(row["drawn_w"]) <= {"4": 30.0, "6": 60.0}[row["port_class"]], row
    equal((ports["switch", 16]["towards_gateway"], ports["gateway", 3]["towards_gateway"]), ("yes", "no"), "uplink")
    equal((ports["gateway", 3]["leads_to"], ports["gateway", 3]["leads_to_port"]), ("switch", "16"), "the other end")


@test
def matrix_of_larch_end():
    rows = table(made("larch_end", "csv"), "matrix.csv")

    def cells(start, end):
        return [r for r in rows if (r["from"], r["to"], r["family"]) == (start, end, "ipv4")]

    # From the statements of the house file, by hand.
    equal([r["verdict"] for r in cells("things", "family")], ["none"], "things and the family")
    equal([r["verdict"] for r in cells("lodger", "internet")], ["all"], "lodger_out")
    cast = cells("guests", "things")
    equal([(r["verdict"], r["to_devices"]) for r in cast], [("some", "front_television")], "guests_cast")
    assert "casting" in cast[0]["services"], cast
    lines = read(house_file("larch_end")).split("\n")
    assert "id: guests_cast" in lines[int(cast[0]["line"]) - 1], cast


@test
def a_table_runs_nothing():
    house = changed_house("formula", ("work: {says: work from home,", 'work: {says: "=HYPERLINK(1), \\"quoted\\"",'))
    folder = work("formula-csv")
    equal(export(house, "csv", folder)[0], 0, "export")
    says = {r["segment"]: r["says"] for r in table(folder, "segments.csv")}["work"]
    equal(says, "'=HYPERLINK(1), \"quoted\"", "a formula is text")


# ---------------------------------------------------------------- access lists


def yanglint(path):
    need("yanglint")
    folder = os.path.join(REFERENCE, "policy/yang")
    if not os.path.isdir(folder):
        raise Skip("the YANG modules are not there: set ROOFTREE_REFERENCE")
    return call("yanglint", "-p", ".", "-F", "ietf-access-control-list:*", "-F", "ietf-interfaces:*", "-t", "config",
                "ietf-access-control-list@2019-03-04.yang", "iana-if-type@2023-01-26.yang", path, cwd=folder)


@test
def yanglint_takes_the_lists():
    samples = os.path.join(REFERENCE, "policy/rfc8519_acl")
    for house in HOUSES:
        code, out, err = yanglint(os.path.join(made(house, "acl"), "acl.json"))
        equal(code, 0, out + err)
    equal(yanglint(os.path.join(samples, "rfc8519_sec4_3_example.json"))[0], 0, "the RFC's example")
    for name in ("bad_range.xml", "bad_action.xml", "bad_family_mix.xml"):
        assert yanglint(os.path.join(samples, name))[0] != 0, name
    text = read(made("quay_flat", "acl"), "acl.json")
    wrong = work("wrong.json")
    for old, new in (('"forwarding": "accept"', '"forwarding": "deny"'), ('"egress-interface": "wan"', '"egress-interface": "nowhere"'),
                     ('"name": "from-home-ipv4"', '"name": "from-nobody-ipv4"')):
        assert old in text, old
        with open(wrong, "w") as f:
            f.write(text.replace(old, new, 1))
        assert yanglint(wrong)[0] != 0, new


def judge(lists, interface, packet):
    """The verdict of the interface's lists on a packet: the first entry that fits, as RFC 8519 section 4.1 says."""
    attached = {i["interface-id"]: i for i in lists["attachment-points"]["interface"]}[interface]
    names = [s["name"] for s in attached["ingress"]["acl-sets"]["acl-set"]]
    version = "ipv4" if "." in packet["from"] else "ipv6"
    acl = [a for a in lists["acl"] if a["name"] in names and a["name"].endswith(version)][0]
    for ace in acl["aces"]["ace"]:
        m = ace["matches"]
        ip, ports = m.get(version, {}), m.get("tcp", m.get("udp", {}))
        eth = m.get("eth", {})
        if "source-mac-address" in eth:
            mask = int(eth.get("source-mac-address-mask", "ff:ff:ff:ff:ff:ff").replace(":", ""), 16)
            if (int(eth["source-mac-address"].replace(":", ""), 16) ^ int(packet["mac"].replace(":", ""), 16)) & mask:
                continue
        for side, key in (("from", f"source-{version}-network"), ("to", f"destination-{version}-network")):
            if key in ip and ipaddress.ip_address(packet[side]) not in ipaddress.ip_network(ip[key]):
                break
        else:
            if ip.get("protocol", packet["protocol"]) != packet["protocol"]:
                continue
            if ("tcp" in m and packet["protocol"] != 6) or ("udp" in m and packet["protocol"] != 17) or "icmp" in m:
                continue
            want = ports.get("destination-port")
            if want and not want.get("port", want.get("lower-port")) <= packet["port"] <= want.get("port", want.get("upper-port")):
                continue
            if m.get("egress-interface", packet["out"]) != packet["out"]:
                continue
            return ace["actions"]["forwarding"]
    return "none"


@test
def lists_say_what_the_statements_say():
    folder = made("larch_end", "acl")
    lists = json.loads(read(folder, "acl.json"))["ietf-access-control-list:acls"]
    devices = {r["device"]: r for r in table(made("larch_end", "csv"), "addresses.csv")}

    def verdict(interface, device, to, out, protocol=6, port=443, source=None):
        return judge(lists, interface, {"from": source or devices[device]["ipv4"], "mac": devices[device]["mac"], "to": to, "out": out,
                                        "protocol": protocol, "port": port})

    tv, printer, server = (devices[d]["ipv4"] for d in ("front_television", "printer", "home_server"))
    # The verdicts follow from the statements of the house file, by hand.
    equal(verdict("lan.10", "anna_phone", "11.22.33.44", "wan"), "accept", "family_out")
    equal(verdict("lan.10", "anna_phone", tv, "lan.50", port=8009), "accept", "family_things")
    equal(verdict("lan.50", "printer", server, "lan.10"), "reject", "nothing lets things start talk with the family")
    equal(verdict("lan.30", "ravi_phone", "11.22.33.44", "wan"), "accept", "lodger_out")
    equal(verdict("lan.30", "ravi_phone", server, "lan.10"), "reject", "nothing else")
    equal(verdict("lan.20", "anna_work_laptop", printer, "lan.50", port=631), "accept", "print_from_work")
    equal(verdict("lan.20", "anna_work_laptop", tv, "lan.50", port=631), "reject", "the printer only")
    equal(verdict("lan.20", "joel_desk_phone", printer, "lan.50", port=631), "reject", "the two laptops only")
    equal(verdict("lan.20", "ravi_phone", "11.22.33.44", "wan", source=devices["anna_work_laptop"]["ipv4"]), "reject", "known devices only")
    equal(verdict("lan.10", "anna_phone", "11.22.33.44", "wan", source="198.51.100.1"), "reject", "honest sources only")
    equal(verdict("lan.10", "anna_phone", "10.20.10.1", "lan.10", protocol=17, port=53), "accept", "the gateway's resolver")
    equal(verdict("lan.10", "anna_phone", "10.20.10.1", "lan.10", port=22), "reject", "nothing else of the gateway")
    equal(verdict("wan", "anna_phone", server, "lan.10", source="11.22.33.44"), "drop", "from the internet")
    six = devices["anna_phone"]["ipv6_local"]
    equal(verdict("lan.10", "anna_phone", devices["printer"]["ipv6_local"], "lan.50", source=six, port=631), "accept", "by IPv6 too")
    equal(verdict("lan.50", "printer", six, "lan.10", source=devices["printer"]["ipv6_local"]), "reject", "by IPv6 neither")


@test
def what_the_lists_cannot_say_is_said():
    said = read(made("larch_end", "acl"), "not_said.txt")
    # Hours (kids_night, kids_homework) and a name (server_backup) have no words in RFC 8519.
    for line in ("On school nights the children's screens have no internet\n    LEFT OUT: the model has no hours",
                 "Play stops for homework\n    LEFT OUT: the model has no hours", "The server sends its copies away\n    left out: the model has no names"):
        assert line in said, (line, said)


if __name__ == "__main__":
    main()
