#!/usr/bin/env python3
"""Times `check` beside general-purpose checkers of YAML and of JSON Schema on the same plans, and looks which of them say
where a slip stands: tests/benches/compare.py [PLANS [RUNS]].

They do a part of the work only, syntax or the schema of a plan; none of them knows a rule. They are installed below
target/compare, and one that cannot be is named and left out. Each runs once on all plans, as often as RUNS says, in turn
with the others; the median counts.
"""

import os
import re
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
AT = ROOT / "target" / "compare"
SCHEMA = "schema/plan.schema.json"
# Each slip: the words before and after, and how a program without lines would name the place; syntax has none.
SYNTAX = ("    path: [engine-bay, firewall, left-sill, cargo]\n", "    path: [engine-bay, firewall, left-sill, cargo\n", None)
KEY = ("    cold_cranking: 850 A\n", "    cold_crankign: 850 A\n", r"vehicle[./]battery")


def tools():
    """What is compared: its name, what it checks, the command on a list of files."""
    venv = AT / "venv" / "bin"
    ajv = AT / "npm" / "node_modules" / ".bin" / "ajv"
    duplicates = "{rules: {key-duplicates: enable}}"
    return [
        ("testlamp", "syntax, schema, rules", lambda files: ["target/release/testlamp", "check", "--format", "short", *files]),
        ("ryl", "syntax", lambda files: [venv / "ryl", "check", "--no-cache", "--enable", "key-duplicates", *files]),
        ("yamllint", "syntax", lambda files: [venv / "yamllint", "-d", duplicates, *files]),
        ("check-jsonschema", "syntax, schema", lambda files: [venv / "check-jsonschema", "--schemafile", SCHEMA, *files]),
        ("ajv-cli", "syntax, schema", lambda files: [
            ajv, "validate", "--spec=draft2020", "--strict=false", "--all-errors", "-s", SCHEMA,
            *(part for file in files for part in ("-d", file)),
        ]),
    ]


def install():
    """Puts the others in place; the names of those that cannot be had."""
    AT.mkdir(parents=True, exist_ok=True)
    if not (AT / "venv" / "bin" / "pip").exists():
        subprocess.run([sys.executable, "-m", "venv", AT / "venv"], check=True)
    pip = [AT / "venv" / "bin" / "pip", "install", "--quiet", "--disable-pip-version-check"]
    npm = ["npm", "install", "--silent", "--no-fund", "--no-audit", "--prefix", AT / "npm"]
    missing = []
    for name, line in [
        ("ryl", [*pip, "ryl==0.26.1"]),
        ("yamllint", [*pip, "yamllint==1.38.0"]),
        ("check-jsonschema", [*pip, "check-jsonschema==0.39.0"]),
        ("ajv-cli", [*npm, "ajv-cli@5.0.0"]),
    ]:
        try:
            subprocess.run(line, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except (OSError, subprocess.CalledProcessError):
            missing.append(name)
    return missing


def timed(line):
    """Seconds on the wall, seconds of all processors, and MB at the peak, of one run."""
    started = time.monotonic()
    child = subprocess.Popen(line, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, used = os.wait4(child.pid, 0)
    child.returncode = 0
    return time.monotonic() - started, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def says(line, number, path):
    """How near a program comes to a slip: its line, the one after it, its path, no place, or nothing at all."""
    ran = subprocess.run(line, cwd=ROOT, text=True, capture_output=True)
    if ran.returncode == 0:
        return "nothing"
    # A path of a file may hold digits as well.
    words = re.sub(r"\S*target/compare/\S*?\.yaml", "FILE", ran.stdout + ran.stderr)
    for line, name in [(number, "line"), (number + 1, "line after")]:
        if re.search(rf"(FILE:|line |line: |^ +){line}[:,)]", words, re.MULTILINE):
            return name
    return "path" if path and re.search(path, words) else "no place"


def main():
    plans, runs = (int(words) for words in (sys.argv[1:] + ["1000", "3"][len(sys.argv) - 1:])[:2])
    build = ["cargo", "build", "--release", "--locked", "--quiet", "--bin", "testlamp", "--example", "generate"]
    subprocess.run(build, cwd=ROOT, check=True)
    missing = install()
    folder = AT / "plans"
    subprocess.run(["rm", "-rf", folder], check=True)
    subprocess.run(["target/release/examples/generate", folder, str(plans)], cwd=ROOT, check=True)
    files = sorted(str(file.relative_to(ROOT)) for file in folder.iterdir())

    whole = (ROOT / files[0]).read_text()
    slips = {}
    for name, made in [("syntax", [SYNTAX]), ("key", [KEY]), ("both", [SYNTAX, KEY])]:
        text = whole
        for before, after, _ in made:
            assert text.count(before) == 1, f"a generated plan does not hold one line {before!r} any more"
            text = text.replace(before, after)
        slips[name] = AT / f"{name}.yaml"
        slips[name].write_text(text)
    line_of = {words: whole[: whole.index(words[0])].count("\n") + 1 for words in (SYNTAX, KEY)}

    there = [tool for tool in tools() if tool[0] not in missing]
    times = {name: [] for name, _, _ in there}
    for _ in range(runs):
        for name, _, command in there:
            times[name].append(timed(command(files)))
    print(f"{plans} plans of {whole.count(chr(10))} lines; median of {runs}, least and most in brackets")
    if missing:
        print("could not be installed: " + ", ".join(missing))
    print("\n| program | checks | wall s | CPU s | peak MB | an open bracket | an unknown key | both at once |")
    print("|---|---|---|---|---|---|---|---|")
    for name, checks, command in there:
        wall, cpu, peak = zip(*times[name])
        spread = lambda all: f"{statistics.median(all):.2f} ({min(all):.2f} to {max(all):.2f})"
        at = lambda file, slip: says(command([str(slips[file].relative_to(ROOT))]), line_of[slip], slip[2])
        print(f"| {name} | {checks} | {spread(wall)} | {spread(cpu)} | {statistics.median(peak):.0f} | {at('syntax', SYNTAX)} "
              f"| {at('key', KEY)} | {at('both', SYNTAX)}, {at('both', KEY)} |")


if __name__ == "__main__":
    main()
