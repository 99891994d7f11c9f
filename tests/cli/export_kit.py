"""What tests of `rooftree export` share: a folder for the run with copies of the demo houses, exports made once, files read back.

A test is a function marked @test, and a file of tests ends in main(), which prints one line a test: 'ok NAME', 'skip NAME: why' or
'not ok NAME: why'.  Names of tests on the command line: those alone.
"""
import csv
import os
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
HOUSES = ["larch_end", "quay_flat", "whin_farm"]
COARSE = ["--cell", "2", "--order", "0", "--no-diffraction"]  # for tables that are not about waves
TESTS = []
MADE = {}
WORK = None


class Skip(Exception):
    pass


def test(function):
    TESTS.append(function)
    return function


def need(*programs):
    for program in programs:
        if not shutil.which(program):
            raise Skip(f"{program} is not installed")


def call(*words, cwd=None, timeout=600):
    done = subprocess.run(words, cwd=cwd, capture_output=True, stdin=subprocess.DEVNULL, timeout=timeout)
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


def work(*names):
    """A path in the folder of the run."""
    return os.path.join(WORK, *names)


def house_file(house):
    return work("houses", house + ".house.yaml")


def export(house, form, folder, *more):
    return call(PROGRAM, "export", house, "--to", form, "-o", folder, *more)


def coarse(form):
    return COARSE if form == "csv" else []  # no case here is about waves


def made(house, form, *more):
    """The folder of an export, made once."""
    key = (house, form) + more
    if key not in MADE:
        folder = work("-".join(key).replace("--", ""))
        code, out, err = export(house_file(house), form, folder, *more, *coarse(form))
        assert code == 0, (key, code, err)
        assert folder + "/" in out, out
        MADE[key] = folder
    return MADE[key]


def files_of(folder):
    found = []
    for top, _, names in os.walk(folder):
        found += [os.path.relpath(os.path.join(top, n), folder) for n in names]
    return sorted(found)


def read(*path):
    with open(os.path.join(*path), encoding="utf-8", newline="") as f:  # ends of lines as they stand in the file
        return f.read()


def table(folder, name):
    with open(os.path.join(folder, name), newline="", encoding="utf-8") as f:
        rows = list(csv.reader(f, strict=True))  # Python's reader, RFC 4180
    for row in rows:
        equal(len(row), len(rows[0]), f"{name}: fields of {row}")
    return [dict(zip(rows[0], row)) for row in rows[1:]]


def settings(house):
    """The rows of the sheet of settings."""
    return table(made(house, "sheet"), "settings.csv")


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


def refuses(function, *words):
    """A check that passes everything is none: it must find fault with what is wrong."""
    try:
        function(*words)
    except AssertionError:
        return
    raise AssertionError(f"{function.__name__} finds no fault with {words!r}"[:300])


def changed_house(name, *changes):
    """A copy of Larch End with texts replaced, each exactly once."""
    text = read(house_file("larch_end"))
    for old, new in changes:
        equal(text.count(old), 1, f"places of {old!r}")
        text = text.replace(old, new)
    with open(house_file(name), "w", encoding="utf-8") as f:
        f.write(text)
    return house_file(name)


def main():
    global WORK
    failed = 0
    with tempfile.TemporaryDirectory() as WORK:
        os.chmod(WORK, 0o755)  # for daemons that give up their rights
        for name in ("houses", "parts"):
            shutil.copytree(os.path.join(ROOT, name), work(name))
        for function in [f for f in TESTS if not sys.argv[1:] or f.__name__ in sys.argv[1:]]:
            try:
                function()
                print(f"ok {function.__name__}", flush=True)
            except Skip as why:
                print(f"skip {function.__name__}: {why}", flush=True)
            except Exception as e:  # the next test still runs
                failed += 1
                print(f"not ok {function.__name__}: {type(e).__name__}: {e}", flush=True)
    sys.exit(1 if failed else 0)
