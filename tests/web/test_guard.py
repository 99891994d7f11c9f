#!/usr/bin/env python3
"""The local server as an attacker, a careless client and a power cut meet it.

Sources: RFC 9110 (HTTP semantics), RFC 9112 (HTTP/1.1 messages), RFC 6265 (cookies), RFC 6454 (Origin), RFC 6585 (428), RFC 9512
(application/yaml).  Ways out of a folder: common practice, no source.
"""
import random
import socket
import sys
import threading
import time

from web import HOUSE, Served, run_tests

TESTS = []
FILE = f"/api/houses/{HOUSE}/file"


def test(function):
    TESTS.append(function)
    return function


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


# ---- ways out of the folder ----

STEPS = ["..", "%2e%2e", "%2E%2e", ".%2e", "..%2f", "..%5c", "..\\", "%252e%252e", "..;", "....//", "..%00", "%c0%ae%c0%ae",
         "%e0%80%ae%e0%80%ae", "%u002e%u002e", ". .", "..%20", "..%0a", "~", "//", "/."]
TARGETS = ["outside.txt", "etc/passwd", "parts/demo.parts.yaml", f"{HOUSE}.house.yaml"]
ATTACKS = [f"{head}{step}/{target}" for step in STEPS for target in TARGETS for head in ("/", "/assets/")]
NAMES = ["..", ".", "%2e%2e", "..%2foutside", f"..%2fhouses%2f{HOUSE}", f"{HOUSE}%00", f"{HOUSE}.house.yaml", f"{HOUSE}%2f..", HOUSE.upper(),
         "%2fetc%2fpasswd", "a" * 65, "a" * 5000, "", "%", "%zz", "-x", "_x", "quay flat", "quay%20flat", "qu\u00e4y".encode().decode("latin-1"),
         f"{HOUSE}%0d%0aX-Evil:1", "con", "*", "?", "[a]", "$(id)", "`id`", ";id", "|id", "'", "\"", "<script>", "\\\\host\\share"]


def answer_of(served, line, extra=b""):
    return served.raw(b"GET " + line.encode("latin-1") + b" HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nCookie: " % served.port +
                      served.cookie.encode() + b"\r\nConnection: close\r\n" + extra + b"\r\n")


@test
def no_path_leads_out_of_the_folder():
    assert len(ATTACKS) + len(NAMES) >= 60
    with Served() as s:
        for path in ATTACKS + [f"/api/houses/{n}/file" for n in NAMES] + [f"/api/houses/{n}/revisions/1" for n in NAMES]:
            got = answer_of(s, path)
            status = got.split(b" ", 2)[1] if got.startswith(b"HTTP/1.1 ") else b"none"
            assert status in (b"400", b"404", b"405", b"422", b"414", b"431", b"none"), (path, got[:200])
            for secret in (b"nobody may read this", b"root:", b"maker:"):
                assert secret not in got, (path, got[:300])
            assert b"X-Evil" not in got.split(b"\r\n\r\n")[0], path
        assert s.is_well()


@test
def a_link_in_the_folder_is_not_followed():
    import os
    with Served() as s:
        os.symlink(os.path.join(s.folder.name, "outside.txt"), os.path.join(s.houses, "linked.house.yaml"))
        os.mkdir(os.path.join(s.houses, "a_folder.house.yaml"))
        os.mkfifo(os.path.join(s.houses, "a_pipe.house.yaml"))
        for name in ("linked", "a_folder", "a_pipe"):
            equal(s.ask("GET", f"/api/houses/{name}/file")[0], 409, name)
        status, _, body = s.ask("GET", "/api/houses")
        equal(status, 200, "the list")
        assert b"nobody" not in body


@test
def a_parts_file_outside_cannot_be_named_from_the_browser():
    import os
    with Served() as s:
        text = s.file().decode()
        for target in ("../outside.txt", "/etc/passwd", os.path.join(s.folder.name, "outside.txt"), "../../../../etc/passwd"):
            status, fields, _ = s.ask("GET", FILE)
            lines = [f"parts_file: {target}" if line.startswith("parts_file:") else line for line in text.split("\n")]
            status, _, body = s.ask("PUT", FILE, "\n".join(lines), fields={"If-Match": fields["etag"]})
            equal(status, 200, "a change of the text is taken")
            assert b"outside the folder" in body, body[:400]
            for path in ("promises", "model", "signal?floor=third&at=1,1"):
                got = s.ask("GET", f"/api/houses/{HOUSE}/{path}")[2]
                assert b"nobody may read" not in got and b"root:" not in got, (path, got[:300])
            s.ask("POST", f"/api/houses/{HOUSE}/undo")


# ---- who may ask ----

@test
def the_link_works_once():
    with Served() as s:
        status, fields, body = s.ask("GET", f"/?token={s.token}", session=False)
        equal(status, 401, "the second time")
        assert fields["www-authenticate"], "RFC 9110, section 15.5.2: a 401 MUST name a challenge"
        assert b"used already" in body
        for wrong in ("", "0" * 32, s.token[:-1], s.token + "0", s.token.upper(), "%00" * 32):
            status = s.ask("GET", f"/?token={wrong}", session=False)[0]
            equal(status, 401, f"token {wrong}")
        equal(s.ask("GET", f"/api/houses?token={s.token}", session=False)[0], 401, "the token opens the front page alone")


@test
def the_session_is_a_cookie_no_script_and_no_other_site_can_use():
    served = Served()
    _, fields, _ = served.ask("GET", f"/?token={served.token}", session=False)
    attributes = [a.strip() for a in fields["set-cookie"].split(";")]
    for want in ("HttpOnly", "SameSite=Strict", "Path=/"):
        assert want in attributes, attributes
    assert fields["location"] == "/", fields
    served.cookie = attributes[0]
    served.__exit__(None, None, None)


@test
def without_a_session_nothing_is_told():
    with Served() as s:
        for path in ("/", "/assets/app-1.js", "/api/houses", FILE, "/api/nothing", "/nothing"):
            for cookie in (None, "rooftree_session=", "rooftree_session=" + "0" * 32, "other=" + s.cookie.split("=")[1],
                           "xrooftree_session=" + s.cookie.split("=")[1]):
                status, _, body = s.ask("GET", path, session=False, fields={"Cookie": cookie})
                equal(status, 401, (path, cookie))
                assert b"Quay" not in body
        equal(s.ask("GET", "/api/houses", session=False, fields={"Cookie": "a=b; " + s.cookie + "; c=d"})[0], 200, "among other cookies")


@test
def another_hosts_name_is_refused():
    with Served() as s:
        for host in ("evil.example", f"evil.example:{s.port}", "127.0.0.1", f"127.0.0.1:{s.port + 1}", f"127.0.0.2:{s.port}",
                     f"127.0.0.1.evil.example:{s.port}", f"localhost.evil.example:{s.port}", f"0.0.0.0:{s.port}", f"[::1]:{s.port}",
                     f"127.1:{s.port}", f"2130706433:{s.port}", f"127.0.0.1:{s.port}@evil.example", f" 127.0.0.1:{s.port} x", ""):
            for path in ("/", "/api/houses", FILE):
                status, _, body = s.ask("GET", path, fields={"Host": host})
                assert status in (421, 400), (host, status)
                assert b"Quay" not in body
        equal(s.ask("GET", "/api/houses", fields={"Host": f"LocalHost:{s.port}"})[0], 200, "localhost, in any case")
        got = s.raw(b"GET /api/houses HTTP/1.1\r\nCookie: " + s.cookie.encode() + b"\r\nConnection: close\r\n\r\n")
        assert got.split(b" ")[1] in (b"400", b"421"), got[:100]  # RFC 9112, section 3.2: a request without Host
        got = s.raw(b"GET /api/houses HTTP/1.0\r\nCookie: " + s.cookie.encode() + b"\r\n\r\n")
        assert got.split(b" ")[1] in (b"400", b"421"), got[:100]


@test
def a_page_of_another_site_is_refused():
    edit = {"what": "x", "edits": [{"op": "set", "path": "/name", "value": "Taken"}]}
    with Served() as s:
        before = s.file()
        for origin in ("http://evil.example", "null", "https://127.0.0.1:%d" % s.port, "http://127.0.0.1:%d" % (s.port + 1),
                       "http://127.0.0.1", "http://127.0.0.1:%d.evil.example" % s.port, "http://localhost.evil.example:%d" % s.port, "file://"):
            equal(s.ask("POST", f"/api/houses/{HOUSE}/edits", edit, fields={"Origin": origin})[0], 403, origin)
            equal(s.ask("GET", "/api/houses", fields={"Origin": origin})[0], 403, f"reading for {origin}")
        equal(s.ask("POST", f"/api/houses/{HOUSE}/edits", edit, origin=False)[0], 403, "a change without an origin")
        for site in ("cross-site", "same-site", "x"):
            equal(s.ask("GET", "/api/houses", fields={"Sec-Fetch-Site": site})[0], 403, site)
        for site in ("same-origin", "none"):
            equal(s.ask("GET", "/api/houses", fields={"Sec-Fetch-Site": site})[0], 200, site)
        equal(s.file(), before, "the file")


# ---- RFC 9110 ----

@test
def every_reply_carries_the_pages_rules():
    with Served() as s:
        for method, path in (("GET", "/"), ("GET", "/assets/app-1.js"), ("GET", "/api/houses"), ("GET", "/nothing"), ("POST", "/api/houses"),
                             ("OPTIONS", "/api/houses"), ("DELETE", "/api/houses")):
            _, fields, _ = s.ask(method, path)
            policy = fields["content-security-policy"]
            for want in ("default-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'none'"):
                assert want in policy, policy
            assert "unsafe" not in policy and "*" not in policy and "http" not in policy, policy
            equal(fields["x-content-type-options"], "nosniff", "type sniffing")
            equal(fields["referrer-policy"], "no-referrer", "referrer")
            assert "access-control-allow-origin" not in fields


@test
def methods_are_told_from_one_another():
    with Served() as s:
        status, fields, _ = s.ask("DELETE", FILE)
        equal(status, 405, "a method the path does not have")
        equal([m.strip() for m in fields["allow"].split(",")], ["GET", "HEAD", "PUT", "OPTIONS"], "Allow (RFC 9110, section 10.2.1)")
        equal(s.ask("BREW", FILE, fields={"Origin": s.origin})[0], 501, "an unknown method (section 15.6.2)")
        status, fields, body = s.ask("OPTIONS", FILE)
        equal((status, body), (204, b""), "OPTIONS")
        assert "PUT" in fields["allow"]
        equal(s.ask("GET", f"/api/houses/{HOUSE}/nothing")[0], 404, "no such question")
        equal(s.ask("POST", "/")[0], 405, "the page is only read")
        got = s.ask("GET", FILE)
        head = s.ask("HEAD", FILE)
        equal(head[2], b"", "HEAD has no body (section 9.3.2)")
        for name in ("etag", "content-type", "content-length"):
            equal(head[1][name], got[1][name], f"HEAD's {name}")
        equal(got[1]["content-type"], "application/yaml", "type")
        equal(got[1]["accept-ranges"], "none", "ranges are not offered")
        equal(s.ask("GET", FILE, fields={"Range": "bytes=0-3"})[0], 200, "a Range may be ignored (section 14.2)")


@test
def what_is_known_already_is_not_sent_again():
    with Served() as s:
        for path in (FILE, "/", "/assets/app-1.js", f"/api/houses/{HOUSE}/model"):
            _, fields, body = s.ask("GET", path)
            tag = fields["etag"]
            assert tag.startswith('"') and tag.endswith('"'), tag
            for known in (tag, "W/" + tag, f'"x", {tag}', "*"):
                status, again, nothing = s.ask("GET", path, fields={"If-None-Match": known})
                equal((status, nothing, again["etag"]), (304, b"", tag), f"{path} {known}")
            for other in ('"x"', tag.strip('"'), '"', ""):
                equal(s.ask("GET", path, fields={"If-None-Match": other})[0], 200, f"{path} {other}")
            assert body


@test
def a_change_says_what_it_is_a_change_of():
    with Served() as s:
        _, fields, text = s.ask("GET", FILE)
        equal(s.ask("PUT", FILE, text + b"# one\n")[0], 428, "without If-Match (RFC 6585, section 3)")
        equal(s.ask("PUT", FILE, text + b"# one\n", fields={"If-Match": fields["etag"]})[0], 200, "with it")
        status, _, body = s.ask("PUT", FILE, text + b"# two\n", fields={"If-Match": fields["etag"]})
        equal(status, 409, "a second one on the same")
        assert b"changed meanwhile" in body
        equal(s.file(), text + b"# one\n", "the first stays")


@test
def sizes_are_limited():
    with Served() as s:
        got = s.raw(b"PUT " + FILE.encode() + b" HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nOrigin: %s\r\nCookie: %s\r\nContent-Length: 5000000\r\n"
                    b"If-Match: \"r1\"\r\nConnection: close\r\n\r\n" % (s.port, s.origin.encode(), s.cookie.encode()))
        assert got.split(b" ")[1] == b"413", got[:100]
        big = b"x" * (5 << 20)
        try:
            chunked = s.raw(b"PUT " + FILE.encode() + b" HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nOrigin: %s\r\nCookie: %s\r\nTransfer-Encoding: chunked\r\n"
                            b"If-Match: \"r1\"\r\nConnection: close\r\n\r\n%x\r\n" % (s.port, s.origin.encode(), s.cookie.encode(), len(big)) + big +
                            b"\r\n0\r\n\r\n")
            assert chunked.split(b" ")[1] == b"413", chunked[:100]
        except (BrokenPipeError, ConnectionResetError):
            pass
        assert answer_of(s, "/" + "a" * 100000)[:12] in (b"HTTP/1.1 414", b"HTTP/1.1 431", b"HTTP/1.1 400", b""), "a long line"
        assert answer_of(s, "/api/houses", b"X: " + b"y" * 100000 + b"\r\n")[:12] in (b"HTTP/1.1 431", b"HTTP/1.1 413", b"HTTP/1.1 400", b"")
        assert s.is_well()


# ---- edits, back and forth, two tabs ----

def edit(s, path, value, base=None, op="set"):
    body = {"what": f"{op} {path}", "edits": [{"op": op, "path": path, "value": value}]}
    return s.ask("POST", f"/api/houses/{HOUSE}/edits", body, fields={"If-Match": base} if base else None)


@test
def edits_touch_their_bytes_and_can_be_undone_after_a_restart():
    with Served() as s:
        before = s.file()
        equal(edit(s, "/name", "Another Name")[0], 200, "an edit")
        after = s.file()
        equal([(a, b) for a, b in zip(before.split(b"\n"), after.split(b"\n")) if a != b], [(b"name: Quay Flat", b"name: Another Name")], "what changed")
        edit(s, "/currency", "GBP")
        s.stop()
        s.start()
        s.let_in()
        equal(s.ask("POST", f"/api/houses/{HOUSE}/undo")[0], 200, "undo after a restart")
        equal(s.file(), after, "one step back")
        s.ask("POST", f"/api/houses/{HOUSE}/undo")
        equal(s.file(), before, "two steps back")
        status, _, body = s.ask("POST", f"/api/houses/{HOUSE}/undo")
        equal(status, 409, "nothing is left to undo")
        s.ask("POST", f"/api/houses/{HOUSE}/redo")
        equal(s.file(), after, "and forth")
        edit(s, "/name", "A Third")
        equal(s.ask("POST", f"/api/houses/{HOUSE}/redo")[0], 409, "a new change has no way forth")


@test
def two_tabs_do_not_lose_each_others_edits():
    with Served() as s:
        base = s.ask("GET", FILE)[1]["etag"]
        equal(edit(s, "/name", "From One", base)[0], 200, "the first tab")
        equal(edit(s, "/north_deg", 12, base)[0], 200, "the second, elsewhere in the file")
        text = s.file()
        assert b"name: From One" in text and b"north_deg: 12" in text, text[:600]
        status, _, body = edit(s, "/name", "From Two", base)
        equal(status, 409, "the second, at the same place")
        assert b"changed meanwhile" in body
        assert b"name: From One" in s.file()


@test
def a_change_from_outside_is_noticed_and_kept():
    with Served() as s:
        base = s.ask("GET", FILE)[1]["etag"]
        with open(s.path, "wb") as f:
            f.write(b"rooftree: 1\nname: Written Outside\ncountry: DE\n")
        status, fields, body = s.ask("GET", FILE)
        assert b"Written Outside" in body and fields["etag"] != base
        equal(edit(s, "/name", "From The Old One", base)[0], 409, "an edit of what was written outside")
        equal(edit(s, "/currency", "EUR", base)[0], 409, "one of what is no longer there")
        assert b"Written Outside" in s.file()
        history = s.ask("GET", f"/api/houses/{HOUSE}/revisions")[2]
        assert b"changed outside" in history
        while s.ask("POST", f"/api/houses/{HOUSE}/undo")[0] == 200:
            pass
        assert b"Quay Flat" in s.file(), "what was there before can be had again"


# ---- power cuts, slow and many clients, noise ----

@test
def killed_at_any_moment_the_file_is_whole():
    with Served() as s:
        s.ask("GET", FILE)
        base = s.file()
        chance = random.Random(7)
        known = {base}
        n_saved = 0
        began = time.monotonic()
        edit(s, "/name", "Turn -1")
        takes_s = time.monotonic() - began  # kills fall before, in and after a save
        known.add(s.file())
        for n in range(200):
            new = base.replace(b"name: Quay Flat", b"name: Turn %d" % n)
            known.add(new)

            def save():
                try:
                    edit(s, "/name", f"Turn {n}")
                except OSError:
                    pass

            thread = threading.Thread(target=save)
            thread.start()
            time.sleep(chance.random() * 2.0 * takes_s)
            s.kill()
            thread.join()
            assert s.file() in known, f"turn {n}: a mixture"
            n_saved += s.file() == new
            s.start()
            s.let_in()
            status, _, body = s.ask("GET", FILE)
            equal((status, body), (200, s.file()), f"turn {n}: what is served")
        equal(s.ask("GET", f"/api/houses/{HOUSE}/revisions")[0], 200, "the history")
        assert 0 < n_saved < 200, f"{n_saved} of 200 kills came after the save: they are all on one side of it"


@test
def slow_clients_keep_nobody_waiting():
    with Served() as s:
        slow = []
        for _ in range(100):
            c = socket.create_connection(("127.0.0.1", s.port))
            c.sendall(b"GET /api/houses HTTP/1.1\r\nHost: 127.")
            slow.append(c)
        for _ in range(5):
            for c in slow:
                c.sendall(b"0")
            equal(s.ask("GET", "/api/houses")[0], 200, "somebody else")
        for c in slow:
            c.close()
        assert s.is_well()


@test
def two_hundred_at_once_are_all_answered():
    with Served() as s:
        want = s.ask("GET", FILE)[2]
        wrong = []

        def ask():
            try:
                for _ in range(3):
                    status, _, body = s.ask("GET", FILE)
                    if (status, body) != (200, want):
                        wrong.append(status)
            except OSError as e:
                wrong.append(e)

        threads = [threading.Thread(target=ask) for _ in range(200)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        equal(wrong, [], "answers that were not the file")


@test
def edits_from_many_tabs_at_once_are_all_in_the_history():
    with Served() as s:
        s.ask("GET", FILE)
        done = []
        threads = [threading.Thread(target=lambda n=n: done.append(edit(s, "/north_deg", n)[0])) for n in range(40)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        equal(done, [200] * 40, "edits")
        steps = 0
        while s.ask("POST", f"/api/houses/{HOUSE}/undo")[0] == 200:
            steps += 1
        equal(steps, 40, "steps back")


@test
def noise_is_answered_or_dropped_and_harms_nothing():
    chance = random.Random(11)
    good = b"POST /api/houses/%s/edits HTTP/1.1\r\nHost: 127.0.0.1:%%d\r\nOrigin: %%s\r\nCookie: %%s\r\nContent-Length: 80\r\nConnection: close\r\n\r\n" % HOUSE.encode()
    with Served() as s:
        before = s.file()
        whole = good % (s.port, s.origin.encode(), s.cookie.encode()) + b'{"edits": [{"op": "set", "path": "/nowhere/at/all", "value": 1}]}             '
        for n in range(400):
            data = bytearray(whole)
            for _ in range(chance.randrange(1, 12)):
                at = chance.randrange(len(data))
                what = chance.randrange(4)
                if what == 0:
                    data[at] = chance.randrange(256)
                elif what == 1:
                    del data[at:at + chance.randrange(1, 20)]
                elif what == 2:
                    data[at:at] = bytes(chance.randrange(256) for _ in range(chance.randrange(1, 20)))
                else:
                    data[at:at] = data[at:at + chance.randrange(1, 60)]
                if not data:
                    data = bytearray(b"\r\n")
            got = s.raw(bytes(data))
            assert not got or got.startswith(b"HTTP/1.1 "), got[:60]
            assert got[9:12] not in (b"500",), got[:400]
        assert s.is_well()
        equal(s.file(), before, "the file")


BODIES = [b"", b"{", b"[]", b"null", b"1", b'"x"', b"{}", b'{"edits": 1}', b'{"edits": []}', b'{"edits": [1]}', b'{"edits": [{}]}',
          b'{"edits": [{"op": "set"}]}', b'{"edits": [{"op": "burn", "path": "/name", "value": 1}]}',
          b'{"edits": [{"op": "set", "path": "name", "value": 1}]}', b'{"edits": [{"op": "set", "path": "/name"}]}',
          b'{"edits": [{"op": "rename", "path": "/devices/x", "value": 7}]}', b'{"edits": [{"op": "set", "path": "/~2", "value": 1}]}',
          b'{"a": 1, "a": 2}', b'{"edits": [{"op": "set", "path": "/name", "value": "\\ud800"}]}', b"\xff\xfe", b'{"edits": ' + b"[" * 3000]


@test
def bodies_that_are_wrong_are_told_so():
    with Served() as s:
        before = s.file()
        for body in BODIES:
            status, _, answer = s.ask("POST", f"/api/houses/{HOUSE}/edits", body)
            assert 400 <= status < 500, (body[:60], status, answer[:200])
            assert b'"problems":[{' in answer, (body[:60], answer[:200])
        equal(s.file(), before, "the file")


@test
def a_new_house_has_a_name_of_its_own():
    new = {"name": "hillside", "title": "Hill: \"Side\" # 1", "country": "DE", "time_zone": "Europe/Berlin", "currency": "EUR"}
    with Served() as s:
        status, fields, _ = s.ask("POST", "/api/houses", new)
        equal((status, fields["location"]), (201, "/api/houses/hillside/file"), "made")
        equal(s.ask("POST", "/api/houses", new)[0], 409, "twice")
        assert b'"title"' in s.ask("GET", "/api/houses")[2]
        for name in ("../x", "", "Up", "a/b", "x" * 65, "."):
            status = s.ask("POST", "/api/houses", dict(new, name=name))[0]
            assert 400 <= status < 500, (name, status)
        equal(s.ask("POST", "/api/houses", {"name": "copied", "from": HOUSE})[0], 201, "a copy")
        equal(s.ask("GET", "/api/houses/copied/file")[2], s.file(), "its bytes")
    alone = Served(only=True)
    with alone as s:
        equal(s.fragment, f"house={HOUSE}", "its link opens the one house")
        equal(s.ask("POST", "/api/houses", new)[0] >= 400, True, "where one house is served no other is made")
        assert b"hillside" not in s.ask("GET", "/api/houses")[2]


if __name__ == "__main__":
    sys.exit(run_tests(TESTS))
