"""Pictures of plans over HTTP: sizes, who may send, names that lead elsewhere, two at once, killed between, nothing outside the folder.

From outside: RFC 9110 (statuses, conditional requests, HEAD); PNG written here by zlib after the W3C's specification."""
import json
import os
import struct
import sys
import threading
import zlib

from web import HOUSE, Served, run_tests

PATH = f"/api/houses/{HOUSE}/pictures"
MOST = 20 * 1024 * 1024


def png(width, height, extra=b""):
    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    rows = b"".join(b"\0" + b"\x80" * width for _ in range(height))
    text = chunk(b"tEXt", b"Comment\0" + extra) if extra else b""
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)) + text +
            chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))


def listed(s):
    return json.loads(s.ask("GET", PATH)[2])["pictures"]


def it_is_given_back_as_what_it_is():
    with Served() as s:
        sent = png(30, 20)
        status, fields, _ = s.ask("POST", PATH + "?floor=third", sent, fields={"Content-Type": "text/html"})
        assert status == 201 and fields["location"] == PATH + "/1", (status, fields)
        status, fields, body = s.ask("GET", PATH + "/1")
        assert (status, body) == (200, sent)
        assert fields["content-type"] == "image/png" and fields["x-content-type-options"] == "nosniff"
        assert "script-src 'self'" in fields["content-security-policy"]
        tag = fields["etag"]
        assert s.ask("GET", PATH + "/1", fields={"If-None-Match": tag})[0] == 304
        status, fields, body = s.ask("HEAD", PATH + "/1")
        assert status == 200 and body == b"" and fields["content-length"] == str(len(sent))


def what_is_too_large_is_not_read():
    with Served() as s:
        large = png(30, 20, b"x" * (MOST - 400))
        assert len(large) < MOST and s.ask("POST", PATH + "?floor=third", large)[0] == 201
        more = png(30, 20, b"x" * MOST)
        head = (f"POST {PATH}?floor=third HTTP/1.1\r\nHost: 127.0.0.1:{s.port}\r\nOrigin: {s.origin}\r\n"
                f"Cookie: {s.cookie}\r\nContent-Length: {len(more)}\r\nConnection: close\r\n\r\n")
        assert b" 413 " in s.raw(head.encode() + more[:1000]).split(b"\r\n")[0]
        assert len(listed(s)) == 1 and s.is_well()


def strangers_send_nothing():
    with Served() as s:
        for how in ({"session": False}, {"origin": False}, {"fields": {"Origin": "http://example.org"}},
                    {"fields": {"Sec-Fetch-Site": "cross-site"}}, {"fields": {"Host": "example.org"}}):
            for method, path in (("POST", PATH + "?floor=third"), ("PUT", PATH + "/1"), ("DELETE", PATH + "/1")):
                status = s.ask(method, path, png(3, 3), **how)[0]
                assert status in (401, 403, 421), (how, method, status)
        assert listed(s) == []


def names_lead_nowhere_else():
    with Served() as s:
        before = sorted(os.listdir(s.houses)), s.file()
        ways = ["..", "%2e%2e", "..%2f..%2fetc%2fpasswd", "....//", "1/../../file", "C:%5C", "~", "1%20", "%31%2f",
                "file:%2f%2f%2fetc%2fpasswd", "-", "1e0", "0x1", "%EF%BC%91", "1?floor=third", "*"]
        assert s.ask("POST", PATH + "?floor=third", png(3, 3))[0] == 201
        for way in ways:
            for method in ("PUT", "DELETE"):
                status, _, body = s.ask(method, f"{PATH}/{way}", {"opacity": 1})
                if way == "1?floor=third":
                    continue  # that is the picture 1
                assert status in (400, 404, 405, 422), (method, way, status)
                assert b"root:" not in body
        for floor in ("..", "../x", "%2e%2e%2f", "third%2f..", "'; DROP TABLE picture; --", "%27%20OR%201=1"):
            assert s.ask("POST", f"{PATH}?floor={floor.replace(' ', '%20')}", png(3, 3))[0] == 422, floor
        for house in ("..", "%2e%2e", "other", ".rooftree"):
            assert s.ask("POST", f"/api/houses/{house}/pictures?floor=third", png(3, 3))[0] in (404, 422), house
        assert (sorted(os.listdir(s.houses)), s.file()) == before
        assert all(n.startswith("revisions.sqlite") for n in os.listdir(os.path.join(s.houses, ".rooftree")))
        assert s.is_well()


def many_at_once_lose_nothing():
    with Served() as s:
        got = []
        def send(i):
            got.append(s.ask("POST", PATH + "?floor=third", png(10 + i, 5))[0])
        threads = [threading.Thread(target=send, args=(i,)) for i in range(20)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert got == [201] * 20, got
        assert sorted(p["width_px"] for p in listed(s)) == list(range(10, 30))
        assert len({p["picture"] for p in listed(s)}) == 20


def it_outlives_the_server():
    with Served() as s:
        sent = png(44, 33)
        assert s.ask("POST", PATH + "?floor=third", sent)[0] == 201
        at = {"m_per_px": 0.0123, "turn_deg": 1.5, "x_m": -2.5, "y_m": 9.25}
        assert s.ask("PUT", PATH + "/1", at)[0] == 200
        s.kill()
        s.start()
        s.let_in()
        (p,) = listed(s)
        assert {k: p[k] for k in at} == at and s.ask("GET", PATH + "/1")[2] == sent


if __name__ == "__main__":
    sys.exit(run_tests([it_is_given_back_as_what_it_is, what_is_too_large_is_not_read, strangers_send_nothing,
                        names_lead_nowhere_else, many_at_once_lose_nothing, it_outlives_the_server]))
