#!/usr/bin/env python3
"""The program as its users meet it: commands, exit statuses, messages, JSON, help in all forms.

Prints one line a test, 'ok NAME' or 'not ok NAME: why'.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.
"""
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
LARCH_END = "houses/larch_end.house.yaml"
# A coarse, cheap field: these tests look at the form of the answers, not at the waves.
CHEAP = ["--cell", "1", "--order", "0", "--no-diffraction"]
TESTS = []


def test(function):
    TESTS.append(function)
    return function


def run(*words, env=None, cwd=ROOT):
    full = dict(os.environ, COLUMNS="100", **(env or {}))
    done = subprocess.run([PROGRAM, *words], cwd=cwd, env=full, capture_output=True, stdin=subprocess.DEVNULL, timeout=900)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


def markdown():
    return run("help", "--form", "markdown")[1]


def namespaces_are_forbidden(words, code, err):
    return words[0] == "rehearse" and code == 2 and "namespace" in err


@test
def a_rehearsal_in_json():
    code, out, err = run("rehearse", "houses/quay_flat.house.yaml", "--json")
    if namespaces_are_forbidden(["rehearse"], code, err):
        print("skipped: a_rehearsal_in_json:", err.strip())
        return
    equal((code, err), (0, ""), "status and standard error")
    said = json.loads(out)
    equal(said["disagreed"], [], "disagreements")
    equal(said["agreed"], said["probes"], "agreed")
    equal(sum(zone["probes"] for zone in said["from"]), said["probes"], "probes of all zones")
    assert said["probes"] > 1000 and said["seconds"] > 0, said


def serves(words, folder):
    """The example on a copy, with a page of one line; a server ends when it is told to."""
    page = os.path.join(folder, "page")
    os.mkdir(page)
    with open(os.path.join(page, "index.html"), "w", encoding="utf-8") as f:
        f.write("<!doctype html><title>page</title>")
    house = shutil.copy(os.path.join(ROOT, words[1]), os.path.join(folder, "copy.house.yaml"))
    server = subprocess.Popen([PROGRAM, words[0], house, *words[2:], "--page", page, "--no-open"], cwd=ROOT,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    link = server.stdout.readline().decode()
    server.terminate()
    _, err = server.communicate(timeout=120)
    return server.returncode, link, err.decode()


@test
def every_example_of_the_help_works():
    examples = re.findall(r"^Example: `rooftree (.*)`$", markdown(), re.M)
    assert len(examples) >= 7, examples
    with tempfile.TemporaryDirectory() as folder:
        for example in examples:
            words = shlex.split(example)
            if words[0] == "draw":
                words[words.index("--out") + 1] = folder
                words += ["--floor", "loft", *CHEAP]
            if words[0] == "book":
                words[words.index("--out") + 1] = os.path.join(folder, "book.pdf")
            if words[0] == "export":
                words[words.index("--out") + 1] = os.path.join(folder, "network")
            if words[0] == "design":
                words[words.index("--out") + 1] = os.path.join(folder, "designed.house.yaml")
            if words[0] == "check":
                words += CHEAP
            code, out, err = serves(words, folder) if words[0] == "serve" else run(*words)
            if namespaces_are_forbidden(words, code, err):
                continue
            assert code in ((0, 1) if words[0] in ("check", "prove", "design") else (0,)), (example, code, err)
            assert out, example


@test
def docs_commands_is_the_help():
    with open(os.path.join(ROOT, "docs/commands.md"), encoding="utf-8") as f:
        equal(f.read(), markdown(), "docs/commands.md (renew it: rooftree help --form markdown)")


@test
def manual_page_is_clean_roff():
    code, page, _ = run("help", "--form", "man")
    equal(code, 0, "status")
    with tempfile.NamedTemporaryFile("w", suffix=".1") as f:
        f.write(page)
        f.flush()
        done = subprocess.run(["man", "--warnings=all", "-l", f.name], capture_output=True, text=True,
                              env=dict(os.environ, MANWIDTH="80", MANPAGER="cat"))
    equal((done.returncode, done.stderr), (0, ""), "man's own opinion")
    for command in re.findall(r"^## (\w+)$", markdown(), re.M):
        assert command in done.stdout, command


@test
def completion_offers_commands_options_and_words():
    script = run("help", "--form", "bash")[1]

    def complete(*words):
        line = " ".join(f"'{w}'" for w in words)
        code = f"{script}\nCOMP_WORDS=({line}); COMP_CWORD={len(words) - 1}; _rooftree; printf '%s\\n' \"${{COMPREPLY[@]}}\""
        return subprocess.run(["bash", "-c", code], capture_output=True, text=True, cwd=ROOT).stdout.split()

    equal(complete("rooftree", "che"), ["check"], "command")
    equal(complete("rooftree", "signal", "--fl"), ["--floor"], "option")
    equal(complete("rooftree", "check", "--estimate", "h"), ["hopeful"], "word")
    assert LARCH_END in complete("rooftree", "check", "houses/lar"), "file"


WRONG = [
    (["chek"], "there is no command `chek`\n    did you mean `rooftree check`?\n"),
    (["check"], "`check` needs a house file\n    for example: rooftree check houses/larch_end.house.yaml\n"),
    (["check", "a", "b"], "`check` takes one HOUSE, but got `b` too\n    rooftree help check shows its options\n"),
    (["check", LARCH_END, "--ordr=1"], "`check` has no option --ordr\n    did you mean --order?\n"),
    (["check", LARCH_END, "--order", "4"], "--order takes a whole number from 0 to 3, not `4`\n"),
    (["check", LARCH_END, "--order", "1.5"], "--order takes a whole number from 0 to 3, not `1.5`\n"),
    (["check", LARCH_END, "--cell", "nan"], "--cell takes a number from 0.05 to 2, not `nan`\n"),
    (["check", LARCH_END, "--estimate", "bold"], "--estimate takes careful|middle|hopeful, not `bold`\n"),
    (["check", LARCH_END, "--json=yes"], "--json takes no value\n"),
    (["check", LARCH_END, "--cell"], "--cell needs M\n    rooftree help check shows its options\n"),
    (["signal", LARCH_END, "--floor", "first", "--at", "2"],
     "--at takes X,Y[,Z] in metres, not `2`\n    for example --at 2.5,4 or --at 2.5,4,0.6\n"
     "`signal` needs --at X,Y[,Z]\n    for example: rooftree signal houses/larch_end.house.yaml --floor first --at 2.5,4\n"
     "2 mistakes\n"),
    (["signal", LARCH_END, "--floor", "frist", "--at", "2,3"],
     "the house has no floor `frist`\n    did you mean `first`?\n"),
    (["signal", LARCH_END, "--floor", "first", "--at", "2,3", "--device", "tosater"],
     "there is no kind of device `tosater`\n    take phone, tablet, laptop, television, camera ...\n"),
    (["ask", LARCH_END, "--from", "tom_tabelt", "--to", "internet"],
     "the house has no segment, group, device or person `tom_tabelt`\n    did you mean `tom_tablet`?\n"),
    (["ask", LARCH_END, "--from", "mia", "--to", "printer", "--service", "htpps"],
     "there is no service `htpps`\n    did you mean `https`?\n"),
    (["version", "x"], "`version` takes no argument, but got `x`\n    rooftree help version shows its options\n"),
    (["check", "houses/none.house.yaml"], "houses/none.house.yaml: there is no such file\n    give the path of a file that is there\n"),
    (["check", "nowhere/quay_flat.house.yaml"],
     "nowhere/quay_flat.house.yaml: there is no folder nowhere/\n    give the path of a file that is there\n"),
    (["design", "houses/quay_flat.house.yaml", "--compare", "houses/quay_flot.house.yaml"],
     "houses/quay_flot.house.yaml: there is no such file\n    did you mean houses/quay_flat.house.yaml?\n"),
    (["design", "houses/quay_flat.house.yaml", "--out", "/proc/x.house.yaml", "--own-mounts"],
     "/proc/x.house.yaml: cannot make a file there: the folder takes none\n    name another folder\n"),
    (["check", "houses"], "houses: this is a folder\n    name a file inside it\n"),
    (["draw", LARCH_END, "--what", "signal,sound"], "--what takes signal|rate|second|cable|cabinet|ports|week|load|spectrum|failures, not `signal,sound`\n"),
]


@test
def wrong_words_are_answered_with_what_to_do():
    for words, want in WRONG:
        code, out, err = run(*words)
        equal((code, out, err), (2, "", want), " ".join(words))


@test
def help_needs_no_house():
    for words in (["help"], ["--help"], [], ["-h"], ["check", "--help"], ["help", "check"]):
        code, out, err = run(*words)
        equal((code, err), (0, ""), f"{words}")
        assert "rooftree check" in out, words


def answer(*words):
    code, raw, err = run("ask", LARCH_END, "--json", *words)
    equal((code, err), (0, ""), " ".join(words))
    return json.loads(raw)


@test
def ask_names_rule_and_way():
    got = answer("--from", "tom_tablet", "--to", "internet", "--service", "https", "--when", "2026-12-01 21:05")
    equal((got["verdict"], got["rule"]["statement"]), ("refused", "kids_night"), "on a school night")
    assert got["way"][0] == "tom_tablet" and "no further" in got["way"][-1], got["way"]
    got = answer("--from", "tom_tablet", "--to", "internet", "--service", "https", "--when", "2026-12-22 21:05")
    equal((got["verdict"], got["rule"]["statement"]), ("allowed", "children_out"), "in the holidays")
    got = answer("--from", "anna_work_laptop", "--to", "printer", "--service", "ipps")
    equal((got["verdict"], got["way"][-1]), ("allowed", "printer"), "printing")
    equal(answer("--from", "doorbell", "--to", "recorder")["verdict"], "unfiltered", "one segment")
    got = answer("--from", "guests", "--to", "home_server", "--service", "smb")
    equal((got["verdict"], got["rule"] is None or got["rule"]["statement"] == ""), ("refused", True), "default")
    # for anything: what may be begun
    equal(answer("--from", "family", "--to", "things")["verdict"], "allowed", "all")
    equal(answer("--from", "lodger", "--to", "family")["verdict"], "refused", "nothing")
    got = answer("--from", "guests", "--to", "things")
    equal((got["verdict"], got["rule"]["statement"]), ("some", "guests_cast"), "casting, to the television")
    assert got["reason"].startswith("only casting; ") and "but a device in guests" in got["reason"], got["reason"]
    equal(answer("--from", "guests", "--to", "guests")["verdict"], "unfiltered", "a segment with itself")


@test
def prove_says_the_same_in_text_and_json():
    code, text, _ = run("prove", LARCH_END)
    code_json, raw, _ = run("prove", LARCH_END, "--json")
    equal(code, code_json, "status")
    report = json.loads(raw)
    kinds = {p["kind"] for p in report["promises"]}
    assert kinds == {"apart", "reach", "hours"}, kinds
    for promise in report["promises"]:
        assert promise["says"][:40] in text, promise["says"]
    cells = {(c["from"], c["to"], c["family"]): c for c in report["matrix"]}
    equal(cells["lodger", "family", "ipv4"]["verdict"], "none", "the lodger and the family")
    equal(cells["family", "things", "ipv6"]["verdict"], "all", "the family and the things")
    casting = cells["guests", "things", "ipv4"]
    equal((casting["verdict"], casting["services"]), ("some", ["casting"]), "visitors cast")
    for finding in report["findings"]:
        assert finding["kind"] in ("unreachable", "redundant", "shadowed", "correlated", "generalised"), finding


@test
def prove_names_what_a_changed_line_changes():
    with open(os.path.join(ROOT, LARCH_END), encoding="utf-8") as f:
        house = f.read()
    worse = house.replace("statements:\n", "statements:\n  - {from: segment:guests, to: home_server, services: [smb]}\n", 1)
    worse = worse.replace("../parts/", os.path.join(ROOT, "parts") + "/")
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "worse.house.yaml")
        with open(path, "w", encoding="utf-8") as f:
            f.write(worse)
        code, raw, err = run("prove", path, "--json", "--against", LARCH_END)
    equal(code, 1, err)
    report = json.loads(raw)
    before = {p["id"]: p["state"] for p in json.loads(run("prove", LARCH_END, "--json")[1])["promises"]}
    turned = [p["id"] for p in report["promises"] if p["state"] != before[p["id"]]]
    equal(turned, ["guests_apart"], "exactly the promise it touches")
    states = {p["id"]: p["state"] for p in report["promises"]}
    equal(states["guests_apart"], "broken", "which is broken now")
    changes = report["difference"]["changes"]
    equal({(c["from"], c["to"], c["now"]) for c in changes}, {("guests", "family", "allowed")}, "what differs")
    assert all(c["services"] == ["smb"] for c in changes), changes


@test
def the_common_policy_in_five_lines_is_proven():
    # known devices only; main reaches the others; things and guests neither main nor the gateway (common practice, no source)
    code, raw, err = run("prove", "tests/houses/five_lines.house.yaml", "--json")
    report = json.loads(raw)
    equal({p["id"]: p["state"] for p in report["promises"]}, {p["id"]: "kept" for p in report["promises"]}, "promises")
    equal(code, 0, err)
    cells = {(c["from"], c["to"], c["family"]): c for c in report["matrix"]}
    for family in ("ipv4", "ipv6"):
        equal(cells["main", "things", family]["verdict"], "all", "main reaches the things")
        equal(cells["things", "main", family]["verdict"], "none", "things do not reach main")
        assert "dns" in cells["guests", "gateway", family]["services"], "and still find names"


@test
def prove_judges_a_kernels_listing():
    # a gateway that lets everything through: every promise that parts anything is broken, what must work works
    open_gate = {"nftables": [
        {"table": {"family": "inet", "name": "t", "handle": 1}},
        {"chain": {"family": "inet", "table": "t", "name": "f", "handle": 1, "type": "filter", "hook": "forward", "prio": 0,
                   "policy": "accept"}}]}
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "rules.json")
        with open(path, "w", encoding="utf-8") as f:
            json.dump(open_gate, f)
        code, raw, err = run("prove", LARCH_END, "--ruleset", path, "--json")
        equal(code, 1, err)
        states = {(p["kind"], p["state"]) for p in json.loads(raw)["promises"]}
        equal(states, {("apart", "broken"), ("hours", "broken"), ("reach", "kept")}, "promises")
        with open(path, "w", encoding="utf-8") as f:
            f.write("not json")
        code, out, err = run("prove", LARCH_END, "--ruleset", path)
        equal((code, out), (2, ""), "exit status")
        assert path in err, err


@test
def check_says_the_same_in_text_and_json():
    code, text, _ = run("check", LARCH_END, *CHEAP)
    code_json, raw, _ = run("check", LARCH_END, "--json", *CHEAP)
    equal(code, code_json, "status")
    answer = json.loads(raw)
    counts = answer["counts"]
    states = [p["state"] for p in answer["promises"]]
    equal(counts, {s: states.count(s) for s in ("kept", "broken", "unknown")}, "counts")
    equal(code, 0 if counts["broken"] + counts["unknown"] == 0 else 1, "status against counts")
    head = text.splitlines()[0]
    for state in counts:
        assert f"{counts[state]} {state}" in head, head
    for promise in answer["promises"]:
        assert promise["says"][:40] in text, promise["says"]
        assert promise["state"] != "unknown" or promise["reason"], promise["id"]
    assert "\033" not in text, "no colour outside of a terminal"


def known_keys():
    with open(os.path.join(ROOT, "docs/json.md"), encoding="utf-8") as f:
        return set(re.findall(r"[a-z_0-9]+", " ".join(re.findall(r"`([^`]*)`", f.read()))))


@test
def every_kind_is_evaluated():
    answer = json.loads(run("check", LARCH_END, "--json", *CHEAP)[1])
    equal(len({p["kind"] for p in answer["promises"]}), 16, "kinds in the house")
    assert "not evaluated" not in json.dumps(answer), "a kind is left out"


@test
def failures_in_text_and_json():
    code, text, _ = run("check", LARCH_END, "--failures", *CHEAP)
    answer = json.loads(run("check", LARCH_END, "--failures", "--mend", "--json", *CHEAP)[1])
    equal(code, 1, "status")
    for failure in answer["failures"]:
        broken = [p["id"] for p in failure["promises"] if p["by_this"]]
        equal(len(broken), failure["broken"], failure["id"])
        head = f"Without {failure['says']}: {failure['broken']} broken"
        assert (head if broken else f"  {failure['says']}") in text.splitlines(), head
    assert not {k for k in keys_of([answer["failures"], answer["mends"]])} - known_keys()
    assert answer["mends"], "nothing to mend"


@test
def promises_to_survive_name_what_decides():
    for house, promise, state, failed in (("larch_end", "one_ap_down", "broken", ["a1", "a2", "a3", "a4"]),
                                          ("whin_farm", "line_down", "kept", ["line"])):
        answer = json.loads(run("check", f"houses/{house}.house.yaml", "--json", "--cell", "0.5", "--order", "1")[1])
        told = next(p for p in answer["promises"] if p["kind"] == "survive")
        equal((told["id"], told["state"]), (promise, state), house)
        evidence = told["evidence"]
        equal([f["id"] for f in evidence["failures"]], failed, house)
        assert evidence["worst_failure"] in told["reason"], told["reason"]
        worst = min(p["margin"] for f in evidence["failures"] for p in f["promises"] if p["unit"] == told["unit"])
        equal(told["margin"], worst, f"margin of {promise}")


def keys_of(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys_of(inner)
    if isinstance(value, list):
        for inner in value:
            yield from keys_of(inner)


@test
def every_json_key_is_documented():
    known = known_keys()
    for words in (["check", LARCH_END, *CHEAP], ["signal", LARCH_END, "--floor", "first", "--at", "2.5,4"],
                  ["parts", LARCH_END], ["version"]):
        answer = json.loads(run(*words, "--json")[1])
        missing = {k for k in keys_of(answer) if k not in known}
        assert not missing, (words[0], missing)


@test
def json_holds_no_number_that_is_none():
    for words in (["check", LARCH_END], ["signal", LARCH_END, "--floor", "first", "--at", "2.5,4"]):
        raw = run(*words, "--json", *([] if words[0] == "signal" else CHEAP))[1]
        json.loads(raw, parse_constant=lambda c: (_ for _ in ()).throw(AssertionError(c)))


@test
def same_bytes_for_any_number_of_threads():
    outs = {run("check", LARCH_END, "--json", "--cell", "1", "--threads", n)[1] for n in ("1", "2", "7")}
    equal(len(outs), 1, "different outputs")


@test
def signal_names_the_walls_on_the_way():
    code, raw, err = run("signal", LARCH_END, "--floor", "first", "--at", "2.5,4", "--json")
    equal((code, err), (0, ""), "status")
    answer = json.loads(raw)
    levels = [ap["level_dbm"] for ap in answer["access_points"]]
    equal(levels, sorted(levels, reverse=True), "strongest first")
    for ap in answer["access_points"]:
        assert ap["promised_level_dbm"] < ap["level_dbm"] <= ap["eirp_dbm"], ap["id"]
        assert any(p["kind"] == "direct" for p in ap["paths"]), ap["id"]
        for path in ap["paths"]:
            equal(sum(c["reflection"] for c in path["crossings"]), path["order"], "reflections")


@test
def files_that_cannot_be_written_are_told():
    code, out, err = run("draw", LARCH_END, "--out", "/dev/null/x", *CHEAP)
    equal((code, out), (2, ""), "status")
    assert "/dev/null/x" in err, err


@test
def where_drawings_go_is_judged_before_the_house_is_read():
    with tempfile.TemporaryDirectory() as folder:
        file, mine = os.path.join(folder, "file"), os.path.join(folder, "mine")
        os.mkdir(mine)
        for path in (file, os.path.join(mine, "letter.txt")):
            open(path, "w").close()
        for out, told in ((file, "this is not a folder"), (os.path.join(file, "x"), "cannot make a folder there"),
                          ("/proc/x", "cannot make a folder there")):  # in which nobody may write
            code, said, err = run("draw", "houses/nowhere.house.yaml", "--out", out)
            equal((code, said), (2, ""), out)
            assert told in err and out in err and "nowhere" not in err, err
        for out in (mine, os.path.join(mine, "deep", "er"), os.path.join(folder, "new") + "/"):  # other files may lie there
            code, _, err = run("draw", "houses/nowhere.house.yaml", "--out", out)
            equal(code, 2, out)
            assert "nowhere.house.yaml" in err, err
        equal(sorted(os.listdir(folder)), ["file", "mine"], "nothing is made")
        equal(os.listdir(mine), ["letter.txt"], "nothing is made")


@test
def a_full_disk_is_told():
    with open("/dev/full", "w") as full:
        done = subprocess.run([PROGRAM, "help"], stdout=full, stderr=subprocess.PIPE, text=True)
    equal(done.returncode, 2, "status")
    assert "cannot write" in done.stderr, done.stderr


@test
def schema_is_json():
    for words in (["schema"], ["schema", "--parts"]):
        answer = json.loads(run(*words)[1])
        equal(answer["$schema"], "https://json-schema.org/draft/2020-12/schema", "dialect")


def main():
    failed = 0
    for function in TESTS:
        try:
            function()
            print(f"ok {function.__name__}")
        except Exception as e:  # the next test still runs
            failed += 1
            print(f"not ok {function.__name__}: {type(e).__name__}: {e}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    if not shutil.which("man"):
        print("not ok man is not installed")
        sys.exit(1)
    main()
