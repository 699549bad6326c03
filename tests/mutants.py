#!/usr/bin/env python3
"""Which mutants no test notices: tests/mutants.py [--since COMMIT] [--again] [--jobs COUNT] PATH...

A mutant is the program with one thing changed. Those that `cargo mutants` names below PATH (with --since only in functions
that have changed since COMMIT) are all written into one copy of the sources, each behind a switch of its own, so that one
build serves them all. Each test then runs once with none of them on, and the switches note which of them it comes upon;
each mutant runs against only those tests, the library's own first, until one fails. What takes twenty times as long as
without it has failed too. Tests that take over --longest seconds stay out; --jobs mutants run at a time.

Everything lies below target/mutants. `results.json` says what became of each: killed, survives, unviable (does not
compile), not run (stands in a constant, or gives a type without a name). --again runs what survived there once more.

Needs Python with venv; cargo-mutants and a parser of Rust are put below target/mutants.
"""

import argparse
import collections
import json
import os
import re
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
AT = ROOT / "target" / "mutants"
COPY = AT / "copy"
TOOL = AT / "bin" / "cargo-mutants"
CARGO_MUTANTS = "27.1.0"
PARSER = ["tree-sitter==0.26.1", "tree-sitter-rust==0.24.2"]
# Integration tests that hold figures and verdicts; the others look at what is printed, drawn or typed.
TESTS = "rules words examples networks published_* house stable fixes sizes what_if".split()
SWITCH = """
//! Which mutant is on, and which are come upon.

use std::io::Write;
use std::sync::LazyLock;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};

static MUTANT: LazyLock<usize> =
    LazyLock::new(|| std::env::var("MUTANT").ok().and_then(|number| number.parse().ok()).unwrap_or(usize::MAX));
static LOG: LazyLock<Option<String>> = LazyLock::new(|| std::env::var("MUTANT_LOG").ok());
static REACHED: [AtomicBool; MOST] = [const { AtomicBool::new(false) }; MOST];

/// Whether this mutant is on.
#[inline(never)]
pub fn is_on(mutant: usize) -> bool {
    if let Some(log) = &*LOG && !REACHED[mutant].swap(true, Relaxed) {
        let mut file = std::fs::OpenOptions::new().append(true).create(true).open(log).unwrap();
        file.write_all(format!("{mutant}\\n").as_bytes()).unwrap();
    }
    mutant == *MUTANT
}
"""


def install():
    """Puts in place what lists mutants and what parses Rust."""
    venv = AT / "venv"
    if not (venv / "bin" / "pip").exists():
        subprocess.run([sys.executable, "-m", "venv", venv], check=True)
        subprocess.run([venv / "bin" / "pip", "install", "--quiet", *PARSER], check=True)
    if not TOOL.exists():
        line = ["cargo", "install", "--locked", "--quiet", "cargo-mutants", "--version", CARGO_MUTANTS, "--root", AT]
        subprocess.run(line, check=True)
    sys.path += map(str, venv.glob("lib/python*/site-packages"))


def listed(paths, since):
    """The mutants below paths, as cargo-mutants tells them, each with its number and a key that outlives other lines."""
    # Rules are reached from `src`, so that is how cargo-mutants names them.
    globs = [f"{'src/../' if path.startswith('rules') else ''}{path}{'' if path.endswith('.rs') else '/**'}" for path in paths]
    chosen = [word for glob in globs for word in ("-f", glob)]
    told = subprocess.run([TOOL, "mutants", "--list", "--json", *chosen], cwd=ROOT, check=True, capture_output=True, text=True)
    changed = changed_lines(since) if since else None
    mutants, seen = [], collections.Counter()
    for mutant in json.loads(told.stdout):
        mutant["file"] = mutant["file"].replace("src/../", "")
        function = mutant["function"]
        if changed is not None:
            span = (function or mutant)["span"]
            if changed[mutant["file"]].isdisjoint(range(span["start"]["line"], span["end"]["line"] + 1)):
                continue
        what = f"{mutant['file']}: " + re.sub(r"^\S+:\d+:\d+: ", "", mutant["name"])
        seen[what] += 1
        mutant |= {"number": len(mutants), "key": f"{what} ({seen[what]})", "fate": None}
        mutants.append(mutant)
    return mutants


def changed_lines(since):
    """The lines of each file that are new or changed since a commit; where lines are gone, the one before them."""
    diff = subprocess.run(["git", "diff", "-U0", since, "--", "src", "rules"], cwd=ROOT, check=True, capture_output=True, text=True)
    lines, file = collections.defaultdict(set), None
    for line in diff.stdout.splitlines():
        if line.startswith("+++ "):
            file = line[6:]
        elif hunk := re.match(r"@@ -\S+ \+(\d+)(?:,(\d+))? @@", line):
            first, count = int(hunk[1]), int(hunk[2] or 1)
            lines[file] |= set(range(first, first + max(count, 1)))
    return lines


def write(mutants):
    """Writes the mutants that are not out into the copy; those for which no place is found are not run."""
    import tree_sitter, tree_sitter_rust
    parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_rust.language()))
    for file in {mutant["file"] for mutant in mutants}:
        source = (ROOT / file).read_bytes()
        tree, starts = parser.parse(source), [0]
        for line in source.splitlines(keepends=True):
            starts.append(starts[-1] + len(line))
        at = collections.defaultdict(list)
        for mutant in mutants:
            if mutant["file"] == file and mutant["fate"] is None:
                line, column = mutant["span"]["start"]["line"], mutant["span"]["start"]["column"]
                before = source[starts[line - 1]:starts[line]].decode()[:column - 1]
                node = place(tree.root_node, starts[line - 1] + len(before.encode()), mutant["genre"])
                if node is None or is_nameless(mutant):
                    mutant["fate"] = "not run"
                elif node.type == "let_chain" or mutant["genre"] == "MatchArm" and not has_rest(node.parent.parent):
                    mutant["fate"] = "unviable"
                else:
                    at[node.id].append(mutant)
        put(COPY / file, rendered(tree.root_node, source, at).encode())


def put(path, content):
    """Writes what is not there yet: what stays as it is is not built anew."""
    if not path.exists() or path.read_bytes() != content:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


PLACES = {
    "FnValue": ["block"],
    "BinaryOperator": ["binary_expression", "compound_assignment_expr", "let_chain"],
    "UnaryOperator": ["unary_expression"],
    "MatchArm": ["match_arm"],
    "MatchArmGuard": ["match_pattern"],
    "StructField": ["field_initializer", "shorthand_field_initializer"],
}


def place(root, start, genre):
    """The smallest part of the source around a place that a mutant of this kind changes."""
    node = root.descendant_for_byte_range(start, start + 1)
    while node is not None and node.type not in PLACES.get(genre, []):
        node = node.parent
    return node.child_by_field_name("pattern") if node is not None and node.type == "match_arm" else node


def is_nameless(mutant):
    """Whether a function gives a type that has no name: what is given early would have to be of the same."""
    return mutant["genre"] == "FnValue" and "impl " in (mutant["function"]["return_type"] or "")


def has_rest(arms):
    """Whether the last arms of a match take what the others leave, so that it is whole without any of them."""
    patterns = (arm.child_by_field_name("pattern") for arm in arms.named_children if arm.type == "match_arm")
    return any(pattern.text == b"_" for pattern in patterns)


def rendered(node, source, at):
    """The source of a part with all mutants in it."""
    text, end = [], node.start_byte
    for child in node.children:
        text += [source[end:child.start_byte].decode(), rendered(child, source, at)]
        end = child.end_byte
    text = "".join(text) + source[end:node.end_byte].decode()
    return switched(node, source, text, at[node.id]) if node.id in at else text


def switched(node, source, text, mutants):
    """A part with the mutants of itself around it. What a mutant does instead stands between marks with its number, and has
    no mutants in it, for only one is on at a time."""
    def said(part):
        return source[part.start_byte:part.end_byte].decode()

    def on(mutant):
        return f"crate::mutant::is_on({mutant['number']})"

    def instead(mutant, code):
        return f"if {on(mutant)} {{/*{mutant['number']}*/ {code} /*{mutant['number']}*/}}"

    if node.type == "block":
        return "{ " + " ".join(instead(mutant, f"return {mutant['replacement']};") for mutant in mutants) + text[1:]
    if node.type == "match_pattern":
        guard = node.child_by_field_name("condition")
        gone = "".join(f"!{on(mutant)} && " for mutant in mutants if mutant["genre"] == "MatchArm")
        if guard is None:
            return f"{text} if {gone}true"
        # The guard with the mutants in it is all that follows its `if`.
        pattern = said(node.child(0))
        kept = text[text.index("if", len(pattern)) + 2:]
        for mutant in mutants:
            if mutant["genre"] == "MatchArmGuard":
                kept = f"({on(mutant)} || ({kept}))" if mutant["replacement"] == "true" else f"(!{on(mutant)} && ({kept}))"
        return f"{pattern} if {gone}({kept})"
    if node.type.endswith("field_initializer"):
        base = next(part for part in node.parent.children if part.type == "base_field_initializer")
        name, _, value = text.partition(":")
        (mutant,) = mutants
        return f"{name}: {instead(mutant, f'({said(base)[2:]}).{name}')} else {{ {value or name} }}"
    if node.type == "unary_expression":
        changed = [f"({said(node.child(1))})" for _ in mutants]
    else:
        left, right = said(node.child_by_field_name("left")), said(node.child_by_field_name("right"))
        changed = [f"({left}) {mutant['replacement']} ({right})" for mutant in mutants]
    return "(" + " else ".join(map(instead, mutants, changed)) + f" else {{ {text} }})"


def build(mutants):
    """Builds the copy with its tests, without those that do not compile: the programs that run tests."""
    files = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, check=True, capture_output=True, text=True)
    kept = {"src/mutant.rs", *files.stdout.splitlines()}
    # What is gone or lies elsewhere now would be built as well, and its errors are of no mutant.
    for path in [path for path in COPY.rglob("*.rs") if str(path.relative_to(COPY)) not in kept]:
        path.unlink()
    for name in kept - {"src/lib.rs", "src/mutant.rs"} - {mutant["file"] for mutant in mutants}:
        if (ROOT / name).exists():
            put(COPY / name, (ROOT / name).read_bytes())
    put(COPY / "src" / "lib.rs", (ROOT / "src" / "lib.rs").read_bytes() + b"pub mod mutant;\n")
    put(COPY / "src" / "mutant.rs", SWITCH.replace("MOST", str(len(mutants))).encode())
    tests = [f"--test={test}" for test in TESTS]
    while True:
        write(mutants)
        told = cargo(["test", "--no-run", "--lib", *tests])
        refused = [message for message in told if message.get("level") == "error" and message["spans"]]
        if not refused:
            return {a["target"]["name"]: a["executable"] for a in told if a.get("executable") and a["profile"]["test"]}
        out = {number: error for error in refused for number in blamed(error)}
        if not out:
            sys.exit("These errors are of no mutant:\n" + "\n".join(error["rendered"] for error in refused))
        for number, error in out.items():
            mutant = mutants[number]
            mutant["fate"] = "not run" if (error["code"] or {}).get("code") == "E0015" else "unviable"
        print(f"{len(out)} do not compile", flush=True)


def cargo(words):
    """What cargo tells of a build of the copy: the compiler's messages, and what is made."""
    environment = os.environ | {"CARGO_TARGET_DIR": str(AT / "build")}
    ran = subprocess.run(["cargo", *words, "--message-format=json"], cwd=COPY, env=environment, stdout=subprocess.PIPE, text=True)
    told = [json.loads(line) for line in ran.stdout.splitlines() if line.startswith("{")]
    return [line.get("message", line) for line in told]


def blamed(error):
    """The mutants in whose own code an error lies, or that it points at; of none the ones on its lines."""
    found, beside = set(), set()
    for span in [*error["spans"], *(span for child in error["children"] for span in child["spans"])]:
        if span["file_name"].startswith("/"):
            continue  # The standard library's.
        text = (COPY / span["file_name"]).read_bytes()
        start, end = span["byte_start"], span["byte_end"]
        for mark in re.finditer(rb"/\*(\d+)\*/.*?/\*\1\*/", text, re.S):
            if mark.start() < end and start < mark.end():
                found.add(int(mark[1]))
        if call := re.match(rb"crate::mutant::is_on\((\d+)\)", text[start:end]):
            found.add(int(call[1]))
        lines = b"".join(text.splitlines(keepends=True)[span["line_start"] - 1:span["line_end"]])
        beside |= {int(number) for number in re.findall(rb"is_on\((\d+)\)", lines)}
    return found or beside


def run(program, tests, limit, **environment):
    """Whether these tests of a program pass within so many seconds."""
    line = ["prlimit", f"--as={8 << 30}", "nice", "-n", "10", program, "--exact", "--test-threads=1", *tests]
    environment = os.environ | {"INSTA_UPDATE": "no", "RAYON_NUM_THREADS": "1", "CARGO_MANIFEST_DIR": str(COPY)} | environment
    child = subprocess.Popen(line, cwd=COPY, env=environment, start_new_session=True,
                             stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        return child.wait(limit) == 0
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, 9)
        child.wait()
        return False


def come_upon(programs, longest):
    """For each mutant the tests that come upon it, as (program, name), and how long each takes."""
    reach, seconds, log = collections.defaultdict(list), {}, AT / "log"
    for name, program in programs.items():
        told = subprocess.run([program, "--list", "--format=terse"], cwd=COPY, capture_output=True, text=True).stdout
        for test in re.findall(r"^(.*): test$", told, re.M):
            log.write_text("")
            started = time.monotonic()
            if not run(program, [test], 60 * longest, MUTANT_LOG=str(log)):
                print(f"fails, or takes too long, without any mutant: {name} {test}", flush=True)
                continue
            seconds[name, test] = time.monotonic() - started
            if seconds[name, test] <= longest:
                for number in set(log.read_text().split()):
                    reach[int(number)].append((name, test))
    return reach, seconds


def fate(mutant, tests, seconds, programs):
    """Whether a mutant survives its tests, and what kills it. Those of its own module come first, then the quick ones; few
    at first, for most are killed by few."""
    module = re.sub(r"^src/|(/mod)?\.rs$", "", mutant["file"]).replace("/", "::")
    tests = sorted(tests, key=lambda test: (test[0] != "testlamp", not test[1].startswith(module), seconds[test]))
    for name in dict.fromkeys(test[0] for test in tests):
        left, size = [test for test in tests if test[0] == name], 4
        while left:
            batch, left, size = left[:size], left[size:], size * 4
            limit = 1 + 20 * sum(seconds[test] for test in batch)
            if not run(programs[name], [test for _, test in batch], limit, MUTANT=str(mutant["number"])):
                return "killed"
    return "survives"


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("paths", nargs="+", metavar="PATH")
    words.add_argument("--since", metavar="COMMIT")
    words.add_argument("--again", action="store_true")
    words.add_argument("--jobs", type=int, default=1, metavar="COUNT")
    words.add_argument("--longest", type=float, default=2.0, metavar="SECONDS")
    words = words.parse_args()
    install()
    results = AT / "results.json"
    known = {m["key"]: m["fate"] for m in json.loads(results.read_text())} if words.again else {}
    mutants = listed(words.paths, words.since)
    for mutant in mutants:
        mutant["fate"] = None if known.get(mutant["key"]) in (None, "survives") else known[mutant["key"]]
    programs = build(mutants)
    results.write_text(json.dumps(mutants, indent=1))
    reach, seconds = come_upon(programs, words.longest)
    open_ = [mutant for mutant in mutants if mutant["fate"] is None]
    print(f"{len(open_)} of {len(mutants)} to run", flush=True)
    with ThreadPoolExecutor(words.jobs) as pool:
        fates = pool.map(lambda mutant: fate(mutant, reach[mutant["number"]], seconds, programs), open_)
        for count, (mutant, became) in enumerate(zip(open_, fates), 1):
            mutant |= {"fate": became, "tests": len(reach[mutant["number"]])}
            if became == "survives":
                print(f"{count}: {mutant['name']} ({mutant['tests']} tests)", flush=True)
            if count % 25 == 0:
                results.write_text(json.dumps(mutants, indent=1))
    results.write_text(json.dumps(mutants, indent=1))
    for folder in sorted({str(Path(m["file"]).parent) for m in mutants}):
        fates = collections.Counter(m["fate"] for m in mutants if str(Path(m["file"]).parent) == folder)
        print(folder, dict(fates))


if __name__ == "__main__":
    main()
