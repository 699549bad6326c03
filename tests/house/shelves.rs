//! Shelves: found as the house is, taken from, and slips on them.

use std::fs;

use super::{GEAR, ONE_OHM, Ran, folder, run};
use serde_json::Value;

#[test]
fn shelf_files_are_found_and_told_as_the_house_is() {
    let house = "house: 1\nshelves: ['shelf/*.yaml', more.yaml]\n";
    let files = [
        ("house.yaml", house),
        ("shelf/a.yaml", "shelf: 1\namplifiers: {mono: {}}\n"),
        ("shelf/b.yaml", "shelf: 1\n"),
        ("more.yaml", "shelf: 1\n"),
        ("j.yaml", "plan: 1\n"),
    ];
    let folder = folder(&files);
    let Ran { status, out, err } = run(folder.path(), &["house", "--format", "json"], "");
    assert_eq!(status, 0, "{err}");
    let settings: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(settings["shelves"], serde_json::json!(["shelf/a.yaml", "shelf/b.yaml", "more.yaml"]));
    for (text, says) in [
        ("amplifiers: {}\n", "shelf/b.yaml:1:1: unreadable: the key `shelf:`"),
        ("shelf: 2\n", "shelf/b.yaml:1:8: unreadable: shelf format 2"),
        ("shelf: 1\na: [\n", "shelf/b.yaml:"),
    ] {
        fs::write(folder.path().join("shelf/b.yaml"), text).expect("a file");
        let Ran { status, err, .. } = run(folder.path(), &["check", "j.yaml"], "");
        assert_eq!(status, 2, "{text}");
        assert!(err.contains(says), "{err}");
    }
}

#[test]
fn a_plan_takes_from_the_shelf_what_it_refers_to() {
    let two_ohm = ONE_OHM.replace("1 ohm", "2 ohm");
    let files = [
        ("house.yaml", "house: 1\nshelves: [shelf/gear.yaml]\n"),
        ("shelf/gear.yaml", GEAR),
        ("jobs/a.yaml", ONE_OHM),
        ("jobs/b.yaml", &two_ohm),
    ];
    let folder = folder(&files);
    let Ran { status, out, err } = run(folder.path(), &["check", "jobs/a.yaml", "--format", "json"], "");
    assert_eq!(status, 1, "{err}");
    let report: Value = serde_json::from_str(&out).expect("JSON");
    let found = &report["plans"][0]["findings"][0];
    assert_eq!(found["rule"]["code"], "LOAD-01");
    let place = &found["also"][0];
    assert_eq!(
        (&place["path"], &place["shelf"]),
        (&"amplifiers.bass.minimum_load".into(), &"shelf/gear.yaml, line 3".into())
    );
    let byte = |end: &str| usize::try_from(place["at"][end].as_u64().expect("a place")).expect("a byte");
    assert_eq!(&ONE_OHM[byte("start")..byte("end")], "mono-500", "the plan's own words are the reference");
    let Ran { out, .. } = run(folder.path(), &["check", "jobs/a.yaml", "--color", "never"], "");
    assert!(out.contains("2 ohm at least (from shelf/gear.yaml, line 3)"), "{out}");
    // The other commands read it so too; without the shelf nothing would be known of the amplifier.
    let Ran { status, out, err } = run(folder.path(), &["figures", "jobs/b.yaml"], "");
    assert_eq!(status, 0, "{err}");
    assert!(out.lines().any(|line| line.contains("audio power") && line.ends_with(" 500 W")), "{out}");
    let Ran { out, .. } = run(folder.path(), &["explain", "LOAD-01", "--plan", "jobs/a.yaml"], "");
    assert!(out.contains("smallest load = 2 ohm (amplifiers.bass.minimum_load, line 3)"), "{out}");
    assert_eq!(run(folder.path(), &["fix", "jobs/b.yaml"], "").status, 0);
    assert_eq!(run(folder.path(), &["fix", "jobs/a.yaml"], "").status, 1);
}

#[test]
fn a_slip_on_the_shelf_is_told_where_the_plan_refers_and_is_not_mended_there() {
    let gear = GEAR.replace("minimum_load: 2 ohm", "minimum_load: 2ohm");
    let files =
        [("house.yaml", "house: 1\nshelves: [gear.yaml]\n"), ("gear.yaml", gear.as_str()), ("jobs/a.yaml", ONE_OHM)];
    let folder = folder(&files);
    let Ran { status, out, .. } = run(folder.path(), &["check", "jobs", "--format", "short"], "");
    assert_eq!(status, 1);
    assert!(out.contains("jobs/a.yaml:3:17: unreadable: ") && out.contains("(gear.yaml, line 3)"), "{out}");
    let Ran { out, .. } = run(folder.path(), &["fix", "jobs"], "");
    assert_eq!(out, "0 fixes made; 1 finding without a proved fix\n");
    assert_eq!(fs::read_to_string(folder.path().join("jobs/a.yaml")).expect("the plan"), ONE_OHM);
}

#[test]
fn shelves_that_are_not_there_are_told_at_their_place() {
    for (pattern, says) in [
        ("none.yaml", "house.yaml:2:11: unreadable: there is no file `none.yaml`"),
        ("'none/*.yaml'", "house.yaml:2:11: unreadable: no file below the folder of the house matches"),
    ] {
        let folder = folder(&[("house.yaml", &format!("house: 1\nshelves: [{pattern}]\n")), ("j.yaml", "plan: 1\n")]);
        let Ran { status, err, .. } = run(folder.path(), &["check", "j.yaml"], "");
        assert_eq!(status, 2);
        assert!(err.contains(says), "{err}");
    }
}

#[cfg(unix)]
#[test]
fn links_that_lead_out_of_the_house_are_refused() {
    let elsewhere = folder(&[("secret.yaml", "shelf: 1\n")]);
    for (pattern, link, target) in [
        ("a.yaml", "a.yaml", elsewhere.path().join("secret.yaml")),
        ("'*.yaml'", "a.yaml", elsewhere.path().join("secret.yaml")),
        ("'out/*.yaml'", "out", elsewhere.path().to_owned()),
        ("out/secret.yaml", "out", elsewhere.path().to_owned()),
    ] {
        let text = format!("house: 1\nshelves: [{pattern}]\n");
        let folder = folder(&[("w/house.yaml", &text), ("w/j.yaml", "plan: 1\n")]);
        std::os::unix::fs::symlink(&target, folder.path().join("w").join(link)).expect("a link");
        let Ran { status, err, .. } = run(folder.path(), &["check", "w/j.yaml"], "");
        assert_eq!(status, 2, "{pattern}: {err}");
        assert!(err.contains("w/house.yaml:2:11: unreadable: ") && err.contains("leads out"), "{pattern}: {err}");
    }
}
