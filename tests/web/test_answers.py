"""What the server tells is what the command line tells: the same numbers, the same files."""
import json
import os
import subprocess
import sys
import tempfile
import time

from web import HOUSE, Served

PROGRAM = os.environ["RT_PROGRAM"]


def command(served, *words, house=True, ends=(0, 1)):
    """The JSON that a command prints about the house that is served."""
    args = [PROGRAM, words[0]] + ([served.path] if house else []) + list(words[1:])
    done = subprocess.run(args, capture_output=True, check=False, timeout=600)
    assert done.returncode in ends, done.stderr.decode()
    return done.stdout


def told(served, path):
    status, fields, body = served.ask("GET", f"/api/houses/{HOUSE}/{path}")
    assert status == 200, (path, status, body[:400])
    return fields, body


def same(served, path, *words):
    """Figure by figure, as JSON: only spaces and line ends may differ."""
    ours, theirs = json.loads(told(served, path)[1]), json.loads(command(served, *words, "--json"))
    assert ours == theirs, path
    return ours


def numbers(served):
    promises = same(served, "promises", "check")
    assert promises["promises"], "something is promised"
    same(served, "signal?floor=third&at=2,3", "signal", "--floor", "third", "--at", "2,3")
    same(served, "ask?from=anyone&to=internet&service=https&when=Tue%2021:05", "ask", "--from", "anyone", "--to",
         "internet", "--service", "https", "--when", "Tue 21:05")
    same(served, "matrix", "prove")
    same(served, "parts", "parts")
    assert json.loads(served.ask("GET", "/api/schema")[2]) == json.loads(command(served, "schema", house=False))


def files(served):
    """Drawings, exports: byte for byte what the command writes."""
    with tempfile.TemporaryDirectory() as folder:
        command(served, "draw", "-o", folder, "--what", "cable", "--format", "svg")
        names = json.loads(told(served, "drawings?what=cable")[1])["drawings"]
        assert sorted(n + ".svg" for n in names) == sorted(os.listdir(folder)), names
        for name in names:
            with open(os.path.join(folder, name + ".svg"), "rb") as f:
                assert told(served, f"drawings/{name}.svg")[1] == f.read(), name
    for form in ("csv", "acl", "linux"):
        with tempfile.TemporaryDirectory() as above:
            folder = os.path.join(above, "out")
            command(served, "export", "--to", form, "-o", folder)
            sent = json.loads(told(served, f"export?to={form}")[1])["files"]
            assert sent, form
            for file in sent:
                with open(os.path.join(folder, file["path"]), encoding="utf-8", newline="") as f:
                    assert f.read() == file["text"], file["path"]
    fields, book = told(served, "book.pdf?date=2026-11-25")
    assert fields["content-type"] == "application/pdf" and book.startswith(b"%PDF-"), fields


def week_and_ports(served):
    week = json.loads(told(served, "week")[1])
    if week["line"]:
        for way in ("down", "up"):
            assert len(week["line"][way]["hours"]) == 168
    for radio in week["radios"]:
        for hour in range(168):
            busy = sum(radio[part][hour] for part in ("own", "beacons", "own_radios", "neighbours", "mesh"))
            assert busy >= 0, radio
    ports = json.loads(told(served, "ports")[1])["ports"]
    table = command(served, "export", "--to", "csv", "-o", os.path.join(served.folder.name, "out"))
    assert table is not None
    with open(os.path.join(served.folder.name, "out", "port_map.csv"), encoding="utf-8") as f:
        rows = f.read().splitlines()[1:]
    assert [(p["equipment"], str(p["port"])) for p in ports] == [tuple(r.split(",")[:2]) for r in rows]


def compared(served):
    other = os.path.join(served.houses, "other.house.yaml")
    with open(served.path, "rb") as f, open(other, "wb") as g:
        g.write(f.read())
    ours = json.loads(told(served, "compare?with=other")[1])
    theirs = json.loads(command(served, "design", "--compare", other, "--json"))
    assert ours == theirs
    assert served.ask("GET", f"/api/houses/{HOUSE}/compare?with=nobody")[0] == 422
    assert ours["differences"] == []
    # a revision of this house: as if what the history gives of it were the other file
    edited = served.ask("POST", f"/api/houses/{HOUSE}/edits",
                        {"what": "turned", "edits": [{"op": "set", "path": "/north_deg", "value": 12}]})
    assert edited[0] == 200, edited
    then = json.loads(told(served, "revisions")[1])["revisions"][-1]["number"]
    with open(other, "wb") as f:
        f.write(told(served, f"revisions/{then}")[1])
    ours = json.loads(told(served, f"compare?revision={then}")[1])
    theirs = json.loads(command(served, "design", "--compare", other, "--json"))
    for answer in (ours, theirs):
        del answer["houses"][1]["file"]  # the house's own, as it was
    assert ours == theirs
    assert [(d["section"], [(m["member"], m["sides"][0]) for m in d["members"]]) for d in ours["differences"]] == \
        [("house", [("north_deg", "12")])], ours["differences"]
    for wrong in ("compare?revision=99", "compare?revision=0", "compare?revision=x", "compare", f"compare?with=other&revision={then}"):
        assert served.ask("GET", f"/api/houses/{HOUSE}/{wrong}")[0] in (400, 404, 422), wrong


def stopped_while_a_design_runs(served):
    """Who listens to a job is told that all ends, and the server ends."""
    status, _, body = served.ask("POST", f"/api/houses/{HOUSE}/design", {"seconds": 600})
    assert status == 202, body
    begun = time.monotonic()
    served.process.terminate()
    assert served.process.wait(60) == 0
    assert time.monotonic() - begun < 60


def main():
    with Served() as served:
        for test in (numbers, files, week_and_ports, compared, stopped_while_a_design_runs):
            test(served)
            print(test.__name__, "ok", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
