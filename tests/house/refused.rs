//! What cannot be taken, and what is said of it.

use std::fs;

use super::{RETURN, Ran, folder, refused, run};
use serde_json::Value;

#[test]
fn slips_are_refused_at_their_place_with_what_is_taken() {
    let cases = [
        ("house: 2\n", "2", "house format 2 is not known"),
        ("name: x\n", "name", "`house:` with the format version is missing"),
        ("house: 1\nlimit: {}\n", "limit", "did you mean `limits`?"),
        (
            "house: 1\nlimits: {return-lenght: {value: 1 m, source: x}}\n",
            "return-lenght",
            "did you mean `return-length`?",
        ),
        ("house: 1\nlimits: {return-length: {value: 36, source: x}}\n", "36", "has no unit"),
        ("house: 1\nlimits: {return-length: {value: 2 kg, source: x}}\n", "2 kg", "not a unit of length"),
        ("house: 1\nlimits: {return-length: {value: -1 m, source: x}}\n", "-1 m", "below zero"),
        ("house: 1\nlimits: {return-length: {value: 40 m, source: x}}\n", "40 m", "taken: 0.05 to 3 m"),
        ("house: 1\nlimits: {return-length: {value: 1 m}}\n", "return-length", "the key `source` is missing"),
        ("house: 1\nlimits: {return-length: {value: 1 m, source: ' '}}\n", "' '", "says nothing"),
        ("house: 1\nlimits: {fuse-loading: {value: 3, source: x}}\n", "3", "taken: 0.5 to 1"),
        ("house: 1\nlimits: {fuse-loading: {value: much, source: x}}\n", "much", "a plain number like 1.5"),
        ("house: 1\nlimits: [a]\n", "limits", "a list stands where a group of keys belongs"),
        ("house: 1\nassumptions: {joint: {range: 1 V, source: x}}\n", "1 V", "not a unit of resistance"),
        (
            "house: 1\nassumptions: {zone: {range: 40 C .. 30 C, source: x}}\n",
            "40 C .. 30 C",
            "runs from the larger end to the smaller",
        ),
        ("house: 1\nassumptions: {zone: {range: 30 C .. 300 C, source: x}}\n", "30 C .. 300 C", "taken: 20 to 80 C"),
        ("house: 1\nzones: {engine: {temperature: 60 C, source: x}}\n", "engine", "did you mean `engine-bay`?"),
        ("house: 1\nzones: {roof: {temperature: 600 C, source: x}}\n", "600 C", "taken: 20 to 150 C"),
        // Measured in winter: a fuse would be judged against what a wire carries on that day.
        (
            "house: 1\nzones: {engine-bay: {temperature: 20 C, source: x}}\n",
            "20 C",
            "a house may only count a hot place hotter",
        ),
        ("house: 1\nzones: {underbody: {temperature: 49 C, source: x}}\n", "49 C", "taken: 50 to 150 C"),
        ("house: 1\nassumptions: {hot-zone: {range: 30 C .. 60 C, source: x}}\n", "30 C .. 60 C", "taken: 50 to 150 C"),
        ("house: 1\nstock: {fuses: {bolt: [60 A]}}\n", "bolt", "did you mean `bolt-down`?"),
        ("house: 1\nstock: {wires: [4AWG]}\n", "4AWG", "4 AWG"),
        ("house: 1\ngate: {planned: {open: none}}\n", "none", "write danger or all"),
        ("house: 1\ngate: {planned: {findings: bad}}\n", "bad", "danger"),
        ("house: 1\nrules: {FUSE-99: {off: true, reason: x}}\n", "FUSE-99", "no rule is called"),
        (
            "house: 1\nrules: {fuse-above-wir: {off: true, reason: x}}\n",
            "fuse-above-wir",
            "did you mean fuse-above-wire?",
        ),
        ("house: 1\nrules: {FUSE-01: {off: true, reason: x}}\n", "true", "about danger and cannot be off"),
        (
            "house: 1\nrules: {FUSE-03: {severity: fault, reason: x}}\n",
            "fault",
            "about danger and cannot count as a fault",
        ),
        ("house: 1\nrules: {ROUTE-07: {severity: advice, reason: x}}\n", "advice", "cannot count as advice"),
        ("house: 1\nrules: {WIRE-13: {severity: danger, reason: x}}\n", "danger", "more than one step"),
        ("house: 1\nrules: {PLAN-06: {off: true, reason: x}}\n", "true", "stays as it is"),
        ("house: 1\nrules: {PLAN-09: {severity: advice, reason: x}}\n", "advice", "stays as it is"),
        ("house: 1\nrules: {WIRE-13: {off: true}}\n", "WIRE-13", "the key `reason` is missing"),
        ("house: 1\nrules: {WIRE-13: {off: true, reason: ''}}\n", "''", "says nothing"),
        ("house: 1\nrules: {WIRE-13: {reason: x}}\n", "WIRE-13", "changes nothing"),
        ("house: 1\nrules: {WIRE-13: {off: true, severity: fault, reason: x}}\n", "fault", "keep one of the two"),
        ("house: 1\nplans: {include: ['jobs/[']}\n", "'jobs/['", "no pattern of files"),
        ("house: 1\nplans: {exclude: ['../*.yaml']}\n", "'../*.yaml'", "leads out"),
        ("house: 1\nplans: {exclude: ['{a,..}/x']}\n", "'{a,..}/x'", "leads out"),
        ("house: 1\nshelves: [/etc/shelf.yaml]\n", "/etc/shelf.yaml", "leads out"),
        ("house: 1\nshelves: ['C:\\x']\n", "'C:\\x'", "leads out"),
        ("- a\n", "- a\n", "this is not a house"),
        ("", "", "empty"),
    ];
    for (text, at, says) in cases {
        let found = refused(text);
        let is_told = |(words, said): &(String, String)| words.trim() == at.trim() && said.contains(says);
        assert!(found.iter().any(is_told), "{text}: expected {at:?} with {says:?}, found {found:#?}");
        assert_eq!(found.len(), 1, "{text}: {found:#?}");
    }
}

#[test]
fn a_broken_house_is_status_2_and_judges_nothing() {
    let files = [("a/house.yaml", "house: 1\nlimits: {x: 1}\nname: [\n"), ("a/b/j.yaml", RETURN), ("c/k.yaml", RETURN)];
    let folder = folder(&files);
    let Ran { status, out, err } = run(folder.path(), &["check", ".", "--format", "json"], "");
    assert_eq!(status, 2, "{out}{err}");
    assert!(err.contains("a/house.yaml:2:10: unreadable: `x` is not a key that is known here"), "{err}");
    let report: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(report["plans"].as_array().map(Vec::len), Some(1), "{out}");
    assert_eq!(report["plans"][0]["path"], "c/k.yaml");
    assert_eq!(report["summary"]["not_judged"], 1);
    assert_eq!(report["summary"]["status"], 2);
    assert!(report["not_read"][0]["path"] == "a/house.yaml", "{out}");
    for arguments in
        [&["figures", "a/b/j.yaml"][..], &["explain", "GROUND-02", "--plan", "a/b/j.yaml"], &["house", "a/b"]]
    {
        let Ran { status, out, err } = run(folder.path(), arguments, "");
        assert_eq!((status, out.as_str()), (2, ""), "{arguments:?}");
        assert!(err.contains("a/house.yaml:2:10"), "{err}");
    }
}

#[test]
fn a_house_that_cannot_be_read_says_why() {
    let folder = folder(&[("j.yaml", RETURN), ("deep/x", "")]);
    let huge = fs::File::create(folder.path().join("huge.yaml")).expect("a file");
    huge.set_len(1 << 30).expect("a sparse file");
    fs::write(folder.path().join("utf16.yaml"), b"\xff\xfeh\0").expect("a file");
    fs::write(folder.path().join("latin.yaml"), b"house: 1\nname: caf\xe9\n").expect("a file");
    for (name, says) in [
        ("none.yaml", "there is no such file"),
        ("deep", "it is a folder"),
        ("huge.yaml", "larger than 4 MB"),
        ("utf16.yaml", "utf16.yaml:1:1: unreadable: the file is written in UTF-16"),
        ("latin.yaml", "latin.yaml:2:10: unreadable: byte 18"),
    ] {
        let Ran { status, out, err } = run(folder.path(), &["check", "j.yaml", "--house", name], "");
        assert_eq!((status, out.as_str()), (2, ""), "{name}: {err}");
        assert!(err.contains(says), "{name}: {err}");
    }
}

#[cfg(unix)]
#[test]
fn links_and_pipes_are_told() {
    let folder = folder(&[("j.yaml", RETURN), ("in/j.yaml", RETURN)]);
    std::os::unix::fs::symlink("nowhere", folder.path().join("in/house.yaml")).expect("a link");
    let Ran { status, err, .. } = run(folder.path(), &["check", "in/j.yaml"], "");
    assert_eq!(status, 2, "{err}");
    assert!(err.contains("in/house.yaml could not be read: there is no such file"), "{err}");
    let Ran { status, err, .. } = run(folder.path(), &["check", "j.yaml", "--house", "/dev/null"], "");
    assert_eq!(status, 2, "{err}");
    assert!(err.contains("it is no file"), "{err}");
}

#[test]
fn hostile_text_is_told_and_never_steers_the_terminal() {
    use std::fmt::Write as _;
    let mut bomb = String::from("house: 1\na0: &a0 [x, x, x, x, x, x, x, x, x]\n");
    for at in 1..12 {
        let part = format!("*a{}", at - 1);
        let _ = writeln!(bomb, "a{at}: &a{at} [{}]", [part.as_str(); 9].join(", "));
    }
    let many: String = (0..5_000).fold("house: 1\n".into(), |mut text, at| {
        let _ = writeln!(text, "k{at}: 1");
        text
    });
    let texts = [
        bomb,
        many,
        format!("house: 1\nlimits: {}", "[".repeat(10_000)),
        "house: 1\nlimits: &l {return-length: *l}\n".into(),
        "house: 1\nname: \"\\e[2J\"\n\u{202e}k\u{200b}: 1\nrules: {\"A\\e[31m\": {off: true, reason: \"\\a\"}}\n"
            .into(),
        "house: 1\nlimits: {return-length: {value: \"1\\e[2J m\", source: x}}\nshelves: [\"../\\e[2J\"]\n".into(),
        "house: 1\nlimits: {fuse-loading: {value: .nan, source: x}, lead-loss: {value: 1e400, source: x}}\n".into(),
        "house: 1\nzones: {ma\0in: {}}\n".into(),
        "house: 1\n---\nhouse: 1\n".into(),
    ];
    for text in texts {
        let folder = folder(&[("house.yaml", &text), ("j.yaml", RETURN)]);
        let Ran { status, out, err } = run(folder.path(), &["check", "."], "");
        let start: String = text.chars().take(60).collect();
        assert_eq!(status, 2, "{start}: {out}{err}");
        let place = err.lines().next().unwrap_or_default().split(':').skip(2).take(2).map(str::parse::<usize>);
        assert!(place.flatten().count() == 2, "{start}: no place in {err}");
        let bad = err.chars().chain(out.chars()).find(|c| *c != '\n' && testlamp::words::is_unsafe(*c));
        assert_eq!(bad, None, "{start}");
        assert!(err.lines().count() < 40, "{start}: too much is told");
    }
}
