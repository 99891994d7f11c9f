#!/usr/bin/python3
"""The JSON Schema of house and parts files, judged by a validator that knows nothing of this program.

- The schema is valid itself (JSON Schema, draft 2020-12, meta-schema; validator: python3-jsonschema).
- The demo houses and the demo parts are valid.
- What the reader refuses for its shape or for a number out of range, the schema refuses too, and what the reader takes the
  schema takes: for every file of tests/golden/wrong, and for the demo files with one thing changed at random
  (RT_SCHEMA_CHANGES times).

usage: test_schema.py HOUSE_REPORT PROJECT_ROOT
"""

import copy
import glob
import json
import os
import random
import re
import subprocess
import sys
import tempfile

import jsonschema
import yaml

# Refused by the reader for shape, but beyond what a schema can say of a file.  Each with its reason.
BEYOND_A_SCHEMA = {
    "yaml_same_key_twice": "a schema sees the file after the parser has merged the two",
    "yaml_same_id_twice": "likewise",
    "parts_id_twice": "likewise",
    "format_date_that_is_not": "a pattern knows no months of 28 days",
    "format_ipv6_subnet": "the pattern of all IPv6 addresses would fill a page",
    "format_subnet_with_host_bits": "the bits of an address are beyond a pattern",
    "format_time_zone": "the names are those of the system's time zone database",
    "format_time_zone_offset": "likewise",
    "type_leading_zero": "a schema sees the number, not how it was written",
    "type_not_a_number": "JSON has no such number to be refused",
    "promise_cost_of_nothing": "figures may stand in the house's budget or a phase's instead",
}


class Loader(yaml.SafeLoader):
    """YAML 1.2's core schema (section 10.3.2) in place of PyYAML's 1.1 rules."""


Loader.yaml_implicit_resolvers = {}
for tag, pattern, first in (
    ("null", r"(?:~|null|Null|NULL|)", ["~", "n", "N", ""]),
    ("bool", r"(?:true|True|TRUE|false|False|FALSE)", list("tTfF")),
    ("int", r"(?:[-+]?[0-9]+)", list("-+0123456789")),
    ("float", r"(?:[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)", list("-+.0123456789")),
    ("float", r"(?:[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN))", list("-+.")),
):
    Loader.add_implicit_resolver("tag:yaml.org,2002:" + tag, re.compile("^" + pattern + "$"), first)
Loader.add_constructor("tag:yaml.org,2002:int", lambda l, n: int(n.value))
Loader.add_constructor("tag:yaml.org,2002:float", lambda l, n: float(n.value.replace(".inf", "inf").replace(".nan", "nan").lower()))


def load(text):
    return yaml.load(text, Loader)


class Reader:
    def __init__(self, program):
        self.program = program

    def run(self, *words):
        return subprocess.run([self.program, *words], check=True, capture_output=True, text=True).stdout

    def schema(self, kind):
        return json.loads(self.run("schema", kind))

    def codes(self, kind, path):
        return set(self.run("codes", kind, path).split())

    def codes_of(self, kind, data, folder):
        path = os.path.join(folder, "changed.yaml")
        with open(path, "w", encoding="utf-8") as f:
            json.dump(data, f)  # JSON is YAML
        return self.codes(kind, path)


def check_wrong_files(reader, validators, root, failures):
    n_shape = 0
    for path in sorted(glob.glob(os.path.join(root, "tests/golden/wrong/*.yaml"))):
        name = os.path.basename(path)[: -len(".yaml")]
        kind = "parts" if name.startswith("parts_") else "house"
        text = open(path, encoding="utf-8").read().split("--- expect\n")[0]
        codes = reader.codes(kind, path)
        if "SYNTAX" in codes:
            continue
        is_valid = validators[kind].is_valid(load(text))
        is_shape = bool(codes & {"SHAPE", "RANGE"})
        n_shape += is_shape
        if is_shape and is_valid and name not in BEYOND_A_SCHEMA:
            failures.append(f"{name}: the reader refuses it ({', '.join(sorted(codes))}), the schema takes it")
        if not is_shape and not is_valid:
            error = next(iter(validators[kind].iter_errors(load(text))))
            failures.append(f"{name}: the schema refuses it ({error.message[:120]}), the reader has {codes}")
        if name in BEYOND_A_SCHEMA and not is_valid:
            failures.append(f"{name}: is listed as beyond a schema, but the schema refuses it")
    print(f"{n_shape} files refused for shape or range")
    if n_shape < 40:
        failures.append("too few wrong files to show anything")


def spots(data, path=()):
    """Every value in the tree, as the way to it."""
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield path + (key,)
        yield from spots(value, path + (key,))


OTHER_VALUES = (None, True, -1, 0, 1.5, 1e9, "", "x", "two words", "20:30", "#", [], [[]], [1, 2], {}, {"x": 1})


def change(rng, data):
    """The data with one thing changed: a key dropped, added or renamed, a value replaced."""
    data = copy.deepcopy(data)
    way = rng.choice(list(spots(data)))
    holder = data
    for step in way[:-1]:
        holder = holder[step]
    what = rng.randrange(4)
    if what == 0:
        del holder[way[-1]]
        return data, f"without {way}"
    if what == 1 and isinstance(holder, dict):
        holder["x" + str(way[-1])] = holder.pop(way[-1])
        return data, f"{way} renamed"
    if what == 2 and isinstance(holder, dict):
        holder["surplus"] = rng.choice(OTHER_VALUES)
        return data, f"surplus beside {way}"
    value = rng.choice(OTHER_VALUES)
    holder[way[-1]] = value
    return data, f"{way} = {value!r}"


def check_changed_files(reader, validators, files, n, failures):
    rng = random.Random(20261125)
    counts = {"both refuse": 0, "both take": 0}
    with tempfile.TemporaryDirectory() as folder:
        for i in range(n):
            kind, path, good = files[rng.randrange(len(files))]
            data, what = change(rng, good)
            data = {**data, **({"parts_file": os.path.abspath(os.path.join(os.path.dirname(path), good["parts_file"]))}
                               if "parts_file" in data and data["parts_file"] == good.get("parts_file") else {})}
            codes = reader.codes_of(kind, data, folder)
            is_shape = bool(codes & {"SHAPE", "RANGE"})
            is_valid = validators[kind].is_valid(data)
            if is_shape and is_valid:
                failures.append(f"{os.path.basename(path)}, {what}: the reader refuses it, the schema takes it")
            elif not codes and not is_valid:
                error = next(iter(validators[kind].iter_errors(data)))
                failures.append(f"{os.path.basename(path)}, {what}: the reader takes it, the schema refuses it: "
                                f"{error.message[:120]}")
            else:
                counts["both refuse" if is_shape else "both take"] += 1
    print(counts)


def main():
    reader, root = Reader(sys.argv[1]), sys.argv[2]
    failures, files, validators = [], [], {}
    for kind in ("house", "parts"):
        schema = reader.schema(kind)
        if schema.get("$schema") != "https://json-schema.org/draft/2020-12/schema":
            failures.append(f"{kind}: $schema is not draft 2020-12's")
        jsonschema.Draft202012Validator.check_schema(schema)
        validators[kind] = jsonschema.Draft202012Validator(schema)
        folder = "houses" if kind == "house" else "parts"
        for path in sorted(glob.glob(os.path.join(root, folder, "*.yaml"))):
            data = load(open(path, encoding="utf-8").read())
            files.append((kind, path, data))
            for error in validators[kind].iter_errors(data):
                failures.append(f"{path}: {'/'.join(map(str, error.absolute_path))}: {error.message[:200]}")
    if not files:
        failures.append("no demo files")
    check_wrong_files(reader, validators, root, failures)
    check_changed_files(reader, validators, files, int(os.environ.get("RT_SCHEMA_CHANGES", "150")), failures)
    for failure in failures:
        print("FAIL", failure)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
