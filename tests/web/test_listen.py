#!/usr/bin/env python3
"""The server where it listens beyond this machine: who gets in, who does not, and what of it is told.

Sources: RFC 9110 (421, 429 of RFC 6585, Retry-After), RFC 6265 (cookies), RFC 6454 (Origin), WHATWG URL (forms).  A second machine is
a network namespace of its own with a pair of virtual interfaces, both made here and gone with this process; where the kernel allows
none the test is skipped (77).  Run without words it starts itself again in namespaces; `inside` is what runs there.
"""
import json
import os
import re
import socket
import subprocess
import sys
import tempfile
import urllib.parse

from web import Served, run_tests

TESTS = []
HERE, THERE = "10.77.0.1", "10.77.0.2"
NAME, PASSWORD = "desk.home.arpa", "tea & 4 biscuits=100%+"
PROGRAM = os.environ["RT_PROGRAM"]
OTHER = None  # the process that holds the other machine's namespace

ASKER = r"""
import http.client, json, sys
q = json.load(sys.stdin)
c = http.client.HTTPConnection(q["to"], q["port"], timeout=60)
c.putrequest(q["method"], q["path"], skip_host=True, skip_accept_encoding=True)
body = q["body"].encode() if q["body"] is not None else None
for k, v in q["fields"].items():
    c.putheader(k, v)
if body is not None:
    c.putheader("Content-Length", str(len(body)))
c.endheaders(body)
r = c.getresponse()
json.dump([r.status, {k.lower(): v for k, v in r.getheaders()}, r.read().decode("latin-1")], sys.stdout)
"""


def test(function):
    TESTS.append(function)
    return function


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


class Opened(Served):
    """Served, and open beyond this machine."""

    def start(self):
        self.process = subprocess.Popen([os.environ["RT_SERVER"], self.houses, self.page, HERE, PASSWORD, NAME],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        link = self.process.stdout.readline().decode().strip()
        assert link, self.process.stderr.read().decode()
        parts = urllib.parse.urlsplit(link)
        self.port, self.token = parts.port, urllib.parse.parse_qs(parts.query)["token"][0]
        self.beyond = self.process.stdout.readline().decode().strip()
        self.origin = f"http://127.0.0.1:{self.port}"
        self.cookie = self.far_cookie = None

    def far(self, method, path, body=None, host=HERE, fields=None, cookie=None, to=HERE):
        """Asked by the other machine."""
        sent = {"Host": f"{host}:{self.port}"}
        if method not in ("GET", "HEAD"):
            sent["Origin"] = f"http://{host}:{self.port}"
        if cookie:
            sent["Cookie"] = cookie
        sent.update(fields or {})
        question = {"to": to, "port": self.port, "method": method, "path": path, "body": body,
                    "fields": {k: v for k, v in sent.items() if v is not None}}
        done = subprocess.run(["nsenter", "--net", "--target", str(OTHER.pid), sys.executable, "-c", ASKER],
                              input=json.dumps(question).encode(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
        if done.returncode:
            raise ConnectionError(done.stderr.decode()[-400:])
        return json.loads(done.stdout)

    def sign_in(self, password=PASSWORD, **more):
        return self.far("POST", "/sign-in", urllib.parse.urlencode({"password": password}), **more)


@test
def a_telephone_signs_in_and_works():
    with Opened() as s:
        equal(s.beyond, f"http://{HERE}:{s.port}/", "its link has no token")
        status, fields, page = s.far("GET", "/")
        equal(status, 200, "the form")
        for want in ('<form method="post" action="/sign-in">', 'type="password"', "not encrypted"):
            assert want in page, page
        assert "<script" not in page and "Quay" not in page, page
        policy = fields["content-security-policy"]
        assert "default-src 'none'" in policy and "script-src" not in policy and "form-action 'self'" in policy, policy
        equal(s.far("GET", "/sign-in.css")[0], 200, "its style")
        status, fields, _ = s.sign_in()
        equal((status, fields["location"]), (303, "/"), "let in")
        attributes = [a.strip() for a in fields["set-cookie"].split(";")]
        for want in ("HttpOnly", "SameSite=Strict", "Path=/"):
            assert want in attributes, attributes
        cookie = attributes[0]
        assert re.fullmatch(r"rooftree_session=[0-9a-f]{32}", cookie), cookie
        equal(s.far("GET", "/", cookie=cookie)[2], "<!doctype html><title>page</title>", "the page")
        equal(s.far("GET", "/api/houses", cookie=cookie)[0], 200, "reads")
        equal(s.far("POST", "/api/houses/quay_flat/undo", cookie=cookie)[0], 409, "may change: there is nothing to undo")
        equal(s.far("GET", "/api/houses", cookie=cookie, host=NAME)[0], 200, "by its name")


@test
def without_the_password_nothing_is_told():
    with Opened() as s:
        for path in ("/assets/app-1.js", "/api/houses", "/api/houses/quay_flat/file", "/nothing"):
            status, _, body = s.far("GET", path)
            equal(status, 401, path)
            assert "Quay" not in body
        for token in (s.token, "0" * 32):
            status, fields, body = s.far("GET", f"/?token={token}")
            assert status == 200 and "set-cookie" not in fields and "<form" in body, "a token is of no use out there"
        equal(s.is_well(), True, "and it was not spent here")
        for body in ("", "password=", "Password=" + urllib.parse.quote(PASSWORD), "password=%00", "password=%zz",
                     urllib.parse.urlencode({"x": PASSWORD})):
            status, fields, page = s.far("POST", "/sign-in", body)
            assert status in (403, 429) and "set-cookie" not in fields, (body, status)
        equal(s.far("POST", "/sign-in", "password=" + "x" * 5000)[0], 413, "a long one is not read")
        # RFC 9110, section 15.5.2: 401 MUST name a challenge (section 11.6.1: auth-scheme, a token)
        assert re.fullmatch(r"[!#$%&'*+.^_`|~0-9A-Za-z-]+", s.far("GET", "/api/houses")[1]["www-authenticate"])


@test
def the_form_stands_where_it_was_sent_to():
    with Opened() as s:
        status, _, page = s.sign_in("wrong")
        assert status == 403 and "<form" in page, status
        status, fields, page = s.far("GET", "/sign-in")  # the page was loaded anew
        assert status == 200 and "<form" in page and "Quay" not in page and "set-cookie" not in fields, status
        equal(s.far("HEAD", "/sign-in")[0], 200, "RFC 9110, section 9.3.2: as GET")
        equal(s.far("PUT", "/sign-in", "x")[0], 401, "nothing else is done there")
        cookie = s.sign_in()[1]["set-cookie"].split(";")[0]
        status, fields, _ = s.far("GET", "/sign-in", cookie=cookie)
        equal((status, fields["location"]), (303, "/"), "who is in goes on")


@test
def wrong_ones_wait():
    with Opened() as s:
        statuses = [s.sign_in(f"wrong number {i}")[0] for i in range(3)]
        equal(statuses, [403, 403, 403], "three are looked at")
        status, fields, page = s.sign_in()
        if status != 303:  # the wait of a second may be over on a slow machine
            equal(status, 429, "then one waits, even with the right one")
            assert 1 <= int(fields["retry-after"]) <= 2 and "Wait" in page, fields
        for i in range(4):
            s.sign_in(f"wrong number {i}")
        status, fields, _ = s.sign_in("another")
        assert status in (403, 429) and int(fields["retry-after"]) >= 1, (status, fields)


@test
def another_hosts_name_is_refused():
    with Opened() as s:
        cookie = s.sign_in()[1]["set-cookie"].split(";")[0]
        for host in ("evil.example", "127.0.0.1", "localhost", THERE, "0.0.0.0", f"{NAME}.evil.example", "[::1]"):
            for path in ("/", "/api/houses", "/sign-in.css"):
                status, _, body = s.far("GET", path, host=host, cookie=cookie)
                equal(status, 421, (host, path))
                assert "Quay" not in body and "<form" not in body
            equal(s.sign_in(host=host)[0], 421, host)
        equal(s.ask("GET", "/api/houses", fields={"Host": f"{HERE}:{s.port}"})[0], 421, "by the door of this machine")


@test
def another_sites_page_is_refused():
    with Opened() as s:
        cookie = s.sign_in()[1]["set-cookie"].split(";")[0]
        for origin in ("http://evil.example", "null", None, f"https://{HERE}:{s.port}", f"http://{HERE}", f"http://127.0.0.1:{s.port}"):
            equal(s.sign_in(fields={"Origin": origin})[0], 403, ("sign in", origin))
            assert "set-cookie" not in s.sign_in(fields={"Origin": origin})[1]
            equal(s.far("POST", "/api/houses/quay_flat/undo", cookie=cookie, fields={"Origin": origin})[0], 403, origin)
        equal(s.far("GET", "/api/houses", cookie=cookie, fields={"Sec-Fetch-Site": "cross-site"})[0], 403, "the browser says so")


@test
def on_this_machine_nothing_changes():
    with Opened() as s:
        assert s.is_well()
        equal(s.ask("GET", "/", session=False)[0], 401, "no form here")
        equal(s.ask("POST", "/sign-in", "password=" + PASSWORD)[0], 404, "and no password")
        equal(s.ask("GET", "/sign-in.css")[0], 404, "nor its style")
    with Served() as s:
        try:
            socket.create_connection((HERE, s.port), timeout=5).close()
            raise AssertionError("without an address it listens on this machine alone")
        except ConnectionRefusedError:
            pass


def started(*words):
    """What `serve` says when it does not start."""
    with tempfile.TemporaryDirectory() as page:
        with open(os.path.join(page, "index.html"), "w", encoding="utf-8") as f:
            f.write("<!doctype html>")
        done = subprocess.run([PROGRAM, "serve", page, "--page", page, "--no-open", *words], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, timeout=120, check=False)
        return done.returncode, done.stderr.decode()


@test
def it_does_not_start_without_a_password_or_an_address():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "password")

        def holding(text):
            with open(path, "w", encoding="utf-8") as f:
                f.write(text)
            os.chmod(path, 0o600)
            return path
        for words, says in ((["--listen", HERE, "--password-file", holding("")], "no password"),
                            (["--listen", HERE, "--password-file", os.path.join(folder, "none")], "none"),
                            (["--listen", "0.0.0.0"], HERE), (["--listen", "::"], HERE), (["--listen", "127.0.0.1"], HERE),
                            (["--listen", "desk"], HERE), (["--listen", "10.77.0.9"], HERE), (["--listen", "224.0.0.1"], HERE),
                            (["--listen", HERE, "--name", "a b"], "no name"), (["--password-file", path], "--listen"),
                            (["--name", "desk"], "--listen")):
            code, err = started(*words)
            equal(code, 2, words)
            assert says in err, (words, err)
        code, err = started("--listen", HERE, "--password-file", holding("elevenchars\n"))
        assert code == 2 and "12" in err, err


@test
def a_made_password_is_told_once():
    with tempfile.TemporaryDirectory() as page:
        with open(os.path.join(page, "index.html"), "w", encoding="utf-8") as f:
            f.write("<!doctype html>")
        server = subprocess.Popen([PROGRAM, "serve", page, "--page", page, "--no-open", "--listen", HERE], stdout=subprocess.PIPE,
                                  stderr=subprocess.PIPE)
        links = [server.stdout.readline().decode().strip() for _ in range(2)]
        server.terminate()
        out, err = (b.decode() for b in server.communicate(timeout=120))
        equal(server.returncode, 0, err)
        made = re.findall(r"^password: (\S{24})$", err, re.M)
        equal(len(made), 1, err)
        assert made[0] not in out + links[0] + links[1]
        assert "encrypted" in err and "Ctrl-C" in err, err
        equal(urllib.parse.urlsplit(links[1]).query, "", "no token in the link")


def inside():
    global OTHER
    subprocess.run(["ip", "link", "set", "lo", "up"], check=True)
    OTHER = subprocess.Popen(["unshare", "--net", "--kill-child", "sh", "-c", "echo; exec sleep infinity"], stdout=subprocess.PIPE)
    try:
        OTHER.stdout.readline()
        far = ["nsenter", "--net", "--target", str(OTHER.pid)]
        for words in (["ip", "link", "add", "name", "here", "type", "veth", "peer", "name", "there", "netns", str(OTHER.pid)],
                      ["ip", "address", "add", f"{HERE}/24", "dev", "here"], ["ip", "link", "set", "here", "up"],
                      far + ["ip", "address", "add", f"{THERE}/24", "dev", "there"], far + ["ip", "link", "set", "there", "up"]):
            subprocess.run(words, check=True)
        return run_tests(TESTS)
    finally:
        OTHER.kill()
        OTHER.wait()


def main():
    if sys.argv[1:] == ["inside"]:
        return inside()
    alone = ["unshare", "--user", "--map-root-user", "--net"]
    probe = subprocess.run([*alone, "sh", "-c", "ip link add name a type veth peer name b && unshare --net true"], stderr=subprocess.PIPE, check=False)
    if probe.returncode:
        print(f"skipped: no network namespaces here: {probe.stderr.decode().strip()}")
        return 77
    return subprocess.run([*alone, sys.executable, os.path.abspath(__file__), "inside"], check=False).returncode


sys.exit(main())
