#!/usr/bin/env python3
"""What `rooftree export --to linux` writes, judged by the programs that the files are for.

nft, dnsmasq, hostapd and systemd-networkd read the files in namespaces of their own.  Each of them is also shown a file that is wrong, so
that none can pass for want of looking.
"""
import ipaddress
import json
import os
import re
import shutil
import socket
import struct
import subprocess
import sys
import time

from export_kit import HOUSES, Skip, call, equal, made, main, need, read, test, work

# A network of its own, without a way out; as root of it.
ALONE = ["unshare", "--user", "--map-root-user", "--net"]


# ---------------------------------------------------------------- packet filter


@test
def nft_takes_the_rules():
    need("nft", "unshare")
    if call(*ALONE, "nft", "list", "ruleset")[0] != 0:
        raise Skip("the kernel gives no packet filter to a namespace")
    for house in HOUSES:
        path = os.path.join(made(house, "linux"), "gateway/house.nft")
        code, _, err = call(*ALONE, "nft", "-c", "-f", path)
        equal(code, 0, err)
    wrong = work("wrong.nft")
    with open(wrong, "w") as f:
        f.write(read(path) + "\ntable inet house { chain forward { ip daddr nonsense accept } }\n")
    assert call(*ALONE, "nft", "-c", "-f", wrong)[0] != 0


# ---------------------------------------------------------------- addresses and names


def dnsmasq_files(house):
    folder = os.path.join(made(house, "linux"), "gateway/dnsmasq")
    return [os.path.join(folder, n) for n in sorted(os.listdir(folder))]


@test
def dnsmasq_takes_its_files():
    need("dnsmasq")
    for house in HOUSES:
        for path in dnsmasq_files(house):
            code, _, err = call("dnsmasq", "--test", "-C", path)
            assert code == 0 and "OK" in err, (path, err)
    wrong = work("wrong.conf")
    for line in ("dhcp-range=10.20.40.9,10.20.40.x", "no-such-word"):
        with open(wrong, "w") as f:
            f.write(read(path) + line + "\n")
        assert call("dnsmasq", "--test", "-C", wrong)[0] != 0, line


@test
def dnsmasq_files_say_what_the_house_says():
    folder = os.path.join(made("larch_end", "linux"), "gateway/dnsmasq")
    children, guests, things = (read(folder, n + ".conf").split("\n") for n in ("children", "guests", "things"))
    # From the house file: known_only, a MAC address, the printer's fixed address, ranges; the /24 of each segment.
    assert "dhcp-ignore=tag:!known" in children and "dhcp-range=10.20.40.0,static,255.255.255.0,12h" in children
    assert "dhcp-range=::,static,constructor:lan.40,slaac,64,12h" in children
    assert any(l.startswith("dhcp-host=9a:3c:51:07:20:11,10.20.40.") for l in children)
    assert "dhcp-ignore=tag:!known" not in guests
    assert "dhcp-range=10.20.70.20,10.20.70.250,255.255.255.0,12h" in guests
    assert any(l.startswith("#dhcp-host=WRITE-ITS-MAC-HERE,10.20.50.20,") for l in things)
    # A visitor may cast to the television (statement guests_cast), and has no business with the rest.
    names = [l.split("=")[1].split(",")[0] for l in guests if l.startswith("host-record=")]
    equal(names, ["front-television.home.arpa"], "names that guests are told")


def ask(name, kind, server, wait_s=5):
    """One question to a resolver (RFC 1035): (answer code, addresses)."""
    question = b"".join(bytes([len(p)]) + p.encode() for p in name.split(".")) + b"\0" + struct.pack(">HH", kind, 1)
    s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    s.settimeout(wait_s)
    s.sendto(struct.pack(">HHHHHH", 7, 0x100, 1, 0, 0, 0) + question, (server, 53))
    data = s.recv(1500)
    count, at, found = struct.unpack(">H", data[6:8])[0], 12 + len(question), []
    for _ in range(count):
        size = struct.unpack(">H", data[at + 10:at + 12])[0]
        found.append(str(ipaddress.ip_address(data[at + 12:at + 12 + size])))
        at += 12 + size
    return data[3] & 15, found


def checksum(data):
    """Of an IPv4 header (RFC 791, RFC 1071)."""
    total = sum(struct.unpack(f">{len(data) // 2}H", data))
    total = (total & 0xffff) + (total >> 16)
    return ~((total & 0xffff) + (total >> 16)) & 0xffff


def discover(mac, interface):
    """Asks for an address as a device with this MAC address does (RFC 2131): the offer, or None."""
    address = bytes.fromhex(mac.replace(":", ""))
    head = struct.pack(">BBBBIHH16s", 1, 1, 6, 0, 0x1234, 0, 0x8000, b"") + address.ljust(16, b"\0")
    asks = bytes([53, 1, 1, 55, 3, 3, 6, 42, 255])  # discover; router, name servers, time servers (RFC 2132)
    dhcp = head + bytes(192) + b"\x63\x82\x53\x63" + asks
    udp = struct.pack(">HHHH", 68, 67, 8 + len(dhcp), 0) + dhcp
    ip = struct.pack(">BBHHHBBH4s4s", 0x45, 0, 20 + len(udp), 0, 0, 64, 17, 0, bytes(4), b"\xff" * 4)
    ip = ip[:10] + struct.pack(">H", checksum(ip)) + ip[12:]
    s = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.htons(0x0800))
    s.bind((interface, 0))
    s.settimeout(4)
    s.send(b"\xff" * 6 + address + b"\x08\x00" + ip + udp)
    data = b""
    try:
        while data[36:38] != b"\x00\x44":  # to port 68
            data = s.recv(2000)
    except TimeoutError:
        return None
    data = data[42:]
    options, at = {}, 240
    while at < len(data) and data[at] != 255:
        size = data[at + 1] if data[at] else -1
        options[data[at]] = data[at + 2:at + 2 + size]
        at += 2 + size
    return {"address": socket.inet_ntoa(data[16:20]), "router": socket.inet_ntoa(options[3][:4]),
            "names": socket.inet_ntoa(options[6][:4]), "time": socket.inet_ntoa(options[42][:4])}


@test
def dnsmasq_does_as_planned():
    """Runs in a network of its own, with the rules of the house, on an interface called as in the file; a resolver beside it
    stands for the line's."""
    need("dnsmasq", "ip", "nft", "unshare")
    if os.geteuid() != 0:
        raise Skip("dnsmasq changes its group, which only root may do in a namespace")
    top = made("larch_end", "linux")
    text = re.sub(r"^(pid-file|dhcp-leasefile|user|resolv-file)=.*$", "", read(top, "gateway/dnsmasq/children.conf"), flags=re.M)
    conf = work("children.conf")
    with open(conf, "w") as f:
        f.write(text + f"user=root\ngroup=root\nno-resolv\nserver=127.0.0.1#5300\nno-ping\npid-file=\ndhcp-leasefile={work('leases')}\n")
    code, out, err = call("unshare", "--net", sys.executable, __file__, "--answers", conf, os.path.join(top, "gateway/house.nft"))
    if "cannot make" in out:
        raise Skip(out.strip())
    equal(code, 0, out + err)
    answers = json.loads(out.split("\n")[-2])
    equal(answers["printer.home.arpa"], [0, ["10.20.50.20"]], "the printer")
    equal(answers["nobody.home.arpa"], [3, []], "no such name (RFC 1035: 3)")
    equal(answers["casino.example"], [3, []], "blocked")
    equal(answers["www.casino.example"], [3, []], "what is below a blocked name")
    equal(answers["joel-desk-phone.home.arpa"], [3, []], "a name of another segment that children may not use")
    assert answers["mia-tablet.home.arpa"][1][0].startswith("10.20.40."), answers
    equal(answers["backup.example"], [0, ["11.22.33.44"]], "asked of the line's resolver")
    equal(answers["inner.example"], [0, []], "a name outside that claims to be inside the house")
    equal(answers["watched"], True, "what backup.example answers with is in the packet filter's set")
    equal(answers["offer"], {"address": answers["mia-tablet.home.arpa"][1][0], "router": "10.20.40.1", "names": "10.20.40.1",
                             "time": "10.20.40.1"}, "what the tablet is offered")
    equal(answers["stranger"], None, "what a stranger is offered where only known devices may join")


def answers(conf, rules):
    make = "ip link add lan.40 type veth peer name other && ip link set other up && ip link set lan.40 up && " \
           "ip addr add 10.20.40.1/24 dev lan.40 && ip link set lo up"
    if subprocess.run(["sh", "-c", make]).returncode or subprocess.run(["nft", "-f", rules]).returncode:
        print("cannot make an interface or load rules in a namespace")
        return 0
    line = ["--no-hosts", "--no-resolv", "--port=5300", "--listen-address=127.0.0.1", "--bind-interfaces", "--user=root", "--group=root",
            "--pid-file=", "--address=/backup.example/11.22.33.44", "--address=/inner.example/10.20.10.10"]
    servers = [subprocess.Popen(["dnsmasq", "--keep-in-foreground", "--conf-file=/dev/null", *line]),
               subprocess.Popen(["dnsmasq", "--keep-in-foreground", "-C", conf])]
    try:
        names = ["printer.home.arpa", "nobody.home.arpa", "casino.example", "www.casino.example", "joel-desk-phone.home.arpa",
                 "mia-tablet.home.arpa", "backup.example", "inner.example"]
        for _ in range(50):
            try:
                ask(names[-2], 1, "10.20.40.1", 0.2)
                break
            except OSError:
                time.sleep(0.1)
        found = {n: ask(n, 1, "10.20.40.1") for n in names}
        sets = subprocess.run(["nft", "list", "set", "inet", "house", "name_backup_example_ipv4"], capture_output=True, text=True)
        found["watched"] = "11.22.33.44" in sets.stdout
        found["offer"] = discover("9a:3c:51:07:20:11", "other")
        found["stranger"] = discover("02:00:00:00:00:99", "other")
        print(json.dumps(found))
    finally:
        for server in servers:
            server.terminate()
            server.wait()
    return 0


# ---------------------------------------------------------------- interfaces


def networkd(folder):
    """Complaints of systemd-networkd about the files of a folder: it looks at all of them when it starts."""
    script = """
mount -t tmpfs none /run && mkdir -p /run/systemd/netif/links /run/systemd/network /etc/systemd/network &&
mount -t tmpfs none /etc/systemd/network && cp "$1"/* /etc/systemd/network/ && chmod 644 /etc/systemd/network/* &&
ip link set lo up || exit 99
SYSTEMD_LOG_LEVEL=info SYSTEMD_LOG_TARGET=console exec /usr/lib/systemd/systemd-networkd
"""
    if os.geteuid() != 0:
        raise Skip("systemd-networkd gives up its rights, so only root can start it in a namespace")
    if not os.path.exists("/usr/lib/systemd/systemd-networkd"):
        raise Skip("systemd-networkd is not installed")
    said = []
    daemon = subprocess.Popen(["unshare", "--net", "--mount", "sh", "-c", script, "sh", folder], stdin=subprocess.DEVNULL,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace")
    for line in daemon.stdout:
        said.append(line.rstrip())
        if "Enumeration completed" in line:  # by now it has read its files
            daemon.terminate()
    daemon.wait()
    if not any("Enumeration completed" in line for line in said):
        raise Skip("systemd-networkd does not start in a namespace here")
    return [line for line in said if re.search(r"/etc/systemd/network/\S+?(:\d+)?: ", line)]


@test
def networkd_takes_the_interfaces():
    for house in HOUSES:
        top = made(house, "linux")
        for folder in ["gateway"] + ["access_points/" + n for n in os.listdir(top + "/access_points")]:
            for line in networkd(os.path.join(top, folder, "systemd/network")):
                # Keys are the one thing that is not in the files.
                assert "PublicKey=" in line, line
    wrong = work("wrong_network")
    shutil.copytree(os.path.join(top, "gateway/systemd/network"), wrong)
    with open(wrong + "/40-house.network", "a") as f:
        f.write("\n[BridgeVLAN]\nVLAN=4095\n\n[Network]\nAddress=10.61.10.1/33\nNoSuchKey=yes\n")
    complaints = "\n".join(networkd(wrong))
    for word in ("4095", "/33", "NoSuchKey"):
        assert word in complaints, (word, complaints)


@test
def systemd_takes_the_unit():
    need("systemd-analyze")
    path = work("house-names@family.service")
    shutil.copy(os.path.join(made("larch_end", "linux"), "gateway/systemd/house-names@.service"), path)
    code, out, err = call("systemd-analyze", "verify", path)
    if "Failed to" in err and "house-names" not in err:
        raise Skip(err.strip().split("\n")[0])
    bad = [l for l in err.split("\n") if "house-names" in l]
    equal(bad, [], "complaints")


# ---------------------------------------------------------------- access points


def radios(folder):
    return sorted(os.path.join(t, n) for t, _, names in os.walk(folder + "/access_points") for n in names if n.startswith("hostapd-"))


def hostapd(path):
    """The daemon reads its file before it looks for the radio, which is not there."""
    need("hostapd", "unshare")
    code, out, err = call(*ALONE, "timeout", "20", "hostapd", path)
    return out + err


@test
def hostapd_takes_its_files():
    for house in HOUSES:
        files = radios(made(house, "linux", "--with-secrets"))
        assert files, house
        for path in files:
            said = hostapd(path)
            assert "errors found in configuration" not in said and not re.search(r"^Line \d+:", said, re.M), (path, said)
            assert "nl80211" in said, said  # it came as far as the radio
    wrong = work("wrong_hostapd.conf")
    for old, new in (("wpa_passphrase=", "wpa_passphrase=short\n#"), ("wpa_key_mgmt=", "wpa_key_mgmt=XAE\n#"), ("hw_mode=", "hw_mode=z\n#")):
        with open(wrong, "w") as f:
            f.write(read(path).replace(old, new))
        assert "errors found in configuration" in hostapd(wrong), (new, hostapd(wrong))


@test
def hostapd_does_not_start_without_a_passphrase():
    for house in HOUSES:
        for path in radios(made(house, "linux")):
            assert "passphrase_is_missing" in hostapd(path), path


@test
def radios_are_set_as_the_house_says():
    top = made("larch_end", "linux", "--with-secrets")

    def words(path):
        return [l for l in read(top, "access_points", path).split("\n") if l and not l.startswith("#")]

    # Centres and operating classes: IEEE Std 802.11-2020 Table E-4 (from memory): 80 MHz from channel 36 is centred on 42; in the
    # 6 GHz band 80 MHz from channel 5 on 7, class 133; 40 MHz from 132 reaches up.
    five, six, narrow = words("a1/hostapd-5.conf"), words("a3/hostapd-6.conf"), words("a3/hostapd-5.conf")
    for line in ("channel=36", "vht_oper_centr_freq_seg0_idx=42", "he_oper_centr_freq_seg0_idx=42", "country_code=GB", "hw_mode=a"):
        assert line in five, line
    for line in ("channel=5", "op_class=133", "he_oper_centr_freq_seg0_idx=7", "sae_pwe=1"):
        assert line in six, line
    for line in ("channel=132", "ht_capab=[HT40+]", "vht_oper_chwidth=0"):
        assert line in narrow, line
    # WPA3 alone wants protected management frames (2), with WPA2 beside it they are offered (1): WPA3 Specification (from memory).
    cells = re.split(r"\n# ", read(top, "access_points/a1/hostapd-2.4.conf"))
    by_name = {re.search(r"^ssid=(.*)$", c, re.M).group(1): c for c in cells if "\nssid=" in c}
    equal(sorted(by_name), sorted(["Larch End", "Back Room", "Treehouse", "Larch End things", "Larch End guests"]), "SSIDs at 2.4 GHz")
    assert "wpa_key_mgmt=SAE\n" in by_name["Larch End"] and "ieee80211w=2" in by_name["Larch End"]
    assert "SAE WPA-PSK" in by_name["Treehouse"] and "ieee80211w=1" in by_name["Treehouse"]
    assert "SAE" not in re.sub("ssid=.*", "", by_name["Larch End things"])
    assert "ap_isolate=1" in by_name["Larch End things"] and "ap_isolate" not in by_name["Larch End"]
    assert not any("hostapd-2.4" in p for p in radios(top) if "/a3/" in p), "its radio at 2.4 GHz is off"
    # The things' interface: VLAN 50, apart from other radios.
    port = read(top, "access_points/a1/systemd/network/30-wlan24_4.network")
    assert "PVID=50\nEgressUntagged=50" in port and "Isolated=yes" in port, port
    # The cable: the network's own equipment (core, VLAN 5) without a tag, the rest with one.
    cable = read(top, "access_points/a1/systemd/network/30-uplink.network")
    equal(sorted(int(v) for v in re.findall(r"^VLAN=(\d+)$", cable, re.M)), [10, 20, 30, 40, 50, 70], "tagged")
    assert "PVID=5\nEgressUntagged=5\n" in cable


if __name__ == "__main__":
    if sys.argv[1:2] == ["--answers"]:
        sys.exit(answers(*sys.argv[2:4]))
    main()
