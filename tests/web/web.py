"""A server of its own for each test, and raw HTTP to it."""
import http.client
import json
import os
import shutil
import socket
import subprocess
import tempfile
import urllib.parse

ROOT = os.environ["RT_TEST_ROOT"]
SERVER = os.environ["RT_SERVER"]
HOUSE = "quay_flat"


class Served:
    """A folder with the flat in it, served; ends with the `with`."""

    def __init__(self, only=False):
        self.folder = tempfile.TemporaryDirectory()
        self.houses = os.path.join(self.folder.name, "houses")
        self.page = os.path.join(self.folder.name, "page")
        os.makedirs(os.path.join(self.page, "assets"))
        os.makedirs(self.houses)
        shutil.copytree(os.path.join(ROOT, "parts"), os.path.join(self.folder.name, "parts"))
        self.path = os.path.join(self.houses, f"{HOUSE}.house.yaml")
        shutil.copyfile(os.path.join(ROOT, "houses", f"{HOUSE}.house.yaml"), self.path)
        with open(os.path.join(self.page, "index.html"), "w", encoding="utf-8") as f:
            f.write("<!doctype html><title>page</title>")
        with open(os.path.join(self.page, "assets", "app-1.js"), "w", encoding="utf-8") as f:
            f.write("1;")
        with open(os.path.join(self.folder.name, "outside.txt"), "w", encoding="utf-8") as f:
            f.write("nobody may read this")
        self.only = only
        self.start()

    def start(self):
        served = self.path if self.only else self.houses
        self.process = subprocess.Popen([SERVER, served, self.page], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        link = self.process.stdout.readline().decode().strip()
        assert link, self.process.stderr.read().decode()
        parts = urllib.parse.urlsplit(link)
        self.fragment = parts.fragment
        self.port, self.token = parts.port, urllib.parse.parse_qs(parts.query)["token"][0]
        self.origin = f"http://127.0.0.1:{self.port}"
        self.cookie = None

    def let_in(self):
        status, fields, _ = self.ask("GET", f"/?token={self.token}", session=False)
        assert status == 303, status
        self.cookie = fields["set-cookie"].split(";")[0]
        return self

    def ask(self, method, path, body=None, session=True, fields=None, origin=True):
        """Status, fields by their small names, body."""
        sent = {"Host": f"127.0.0.1:{self.port}"}
        if session and self.cookie:
            sent["Cookie"] = self.cookie
        if origin and method not in ("GET", "HEAD"):
            sent["Origin"] = self.origin
        sent.update(fields or {})
        sent = {k: v for k, v in sent.items() if v is not None}
        if isinstance(body, (dict, list)):
            body = json.dumps(body)
        if isinstance(body, str):
            body = body.encode()
        c = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        c.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for k, v in sent.items():
            c.putheader(k, v)
        if body is not None:
            c.putheader("Content-Length", str(len(body)))
        c.endheaders(body)
        r = c.getresponse()
        data = r.read()
        c.close()
        return r.status, {k.lower(): v for k, v in r.getheaders()}, data

    def raw(self, data, timeout=30):
        """Whatever comes back for these bytes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=timeout) as s:
            s.sendall(data)
            s.shutdown(socket.SHUT_WR)
            got = b""
            try:
                while block := s.recv(65536):
                    got += block
            except (ConnectionResetError, TimeoutError):
                pass
            return got

    def is_well(self):
        return self.process.poll() is None and self.ask("GET", "/api/houses")[0] == 200

    def kill(self):
        self.process.kill()
        self.process.communicate()

    def stop(self):
        self.process.terminate()
        _, err = self.process.communicate(timeout=120)
        assert self.process.returncode == 0, (self.process.returncode, err.decode())

    def file(self):
        with open(self.path, "rb") as f:
            return f.read()

    def __enter__(self):
        return self.let_in()

    def __exit__(self, kind, value, trace):
        if self.process.poll() is None:
            if kind is None:
                self.stop()
            else:
                self.kill()
        self.folder.cleanup()


def run_tests(tests):
    """One line a test, as tests/cli."""
    import sys
    import traceback
    failed = 0
    for t in tests:
        try:
            t()
            print(f"ok {t.__name__}")
        except Exception:  # a test that breaks is told like one that fails
            failed += 1
            traceback.print_exc()
            print(f"not ok {t.__name__}")
        sys.stdout.flush()
    return 1 if failed else 0
