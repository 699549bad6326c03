//! What fuzzing holds of any bytes, held here for those that are kept and for plans that a fixed seed spoils.

#[path = "fuzz/draw.rs"]
mod draw;
#[path = "fuzz/spoil.rs"]
mod spoil;
#[path = "fuzz/texts.rs"]
mod texts;

use std::fs;
use std::path::Path;

use draw::Draw;
use spoil::spoilt;
use testlamp::rules;

/// What is kept: anything that once went wrong, and some that go far.
fn kept() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus/plans");
    let mut files: Vec<_> =
        fs::read_dir(folder).expect("the folder").map(|file| file.expect("a file").path()).collect();
    files.sort();
    files.into_iter().map(|file| fs::read(file).expect("the bytes")).collect()
}

/// The plans on the pages of the rules.
fn pages() -> Vec<Vec<u8>> {
    let blocks = |page: &'static str| {
        page.split("```yaml ").skip(1).filter_map(|part| part.split_once('\n')?.1.split("```").next())
    };
    rules::all().iter().flat_map(|rule| blocks(rule.page)).map(|block| block.as_bytes().to_vec()).collect()
}

/// Holds what is kept, then some of it and of the pages, each spoilt a few times; more of them in a release build.
fn hold(target: &str, what: fn(&[u8]), rounds: usize) {
    let kept = kept();
    assert!(!kept.is_empty());
    let tell = |bytes: &[u8]| {
        println!("--- {target}\n{}", String::from_utf8_lossy(bytes));
        what(bytes);
    };
    for bytes in &kept {
        tell(bytes);
    }
    let seeds = [kept, pages()].concat();
    let mut draw = Draw::new(7);
    for _ in 0..if cfg!(debug_assertions) { rounds } else { rounds * 20 } {
        let mut bytes = seeds[draw.below(seeds.len())].clone();
        for _ in 0..=draw.below(4) {
            bytes = spoilt(&bytes, &mut draw);
        }
        tell(&bytes);
    }
}

#[test]
fn any_text_has_a_tree_that_lies_inside_it() {
    hold("parse", texts::parse, 500);
}

#[test]
fn any_bytes_are_reported_on() {
    hold("check", texts::check, 60);
}

#[test]
fn any_plan_is_mended_once_and_keeps_what_it_says() {
    hold("fix", texts::fix, 10);
}

#[test]
fn any_plan_has_a_whole_sheet() {
    hold("sheet", texts::sheet, 30);
}
