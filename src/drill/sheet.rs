//! The head of a practice plan: what is to be done, and what it was made with.

use super::Level;
use crate::text::new_line;

/// What a practice plan was made with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet<'a> {
    /// SHA-256 of the clean plan.
    pub source: &'a str,
    /// SHA-256 of what the house decides.
    pub house: &'a str,
    /// The seed.
    pub seed: u64,
    /// How many faults were planted.
    pub faults: usize,
    /// How hard they are.
    pub level: Level,
    /// The families that they were taken from; empty where from all.
    pub families: &'a [String],
}

/// What marks the line that says what a practice plan was made with.
const MARK: &str = "# practice plan: ";

/// The comment that goes at the top.
pub fn headline(sheet: &Sheet<'_>) -> String {
    let Sheet { source, house, seed, faults, level, families } = sheet;
    let (things, them) = if *faults == 1 { ("fault was", "it") } else { ("faults were", "each") };
    let families = if families.is_empty() { "all".to_owned() } else { families.join(" ") };
    format!(
        "# Once this plan was sound. {faults} {things} planted in it: find {them} by reading and reckoning, and write down\n\
         # for each, on a line of its own, the rule that it breaks and where:\n\
         #   FUSE-01 wires.main.fuse.rating        or with the number of its line: 37 FUSE-01\n\
         # Only what is the cause counts, not what merely follows from it. Then ask how you did:\n\
         #   testlamp drill --grade ANSWERS THIS-FILE\n\
         {MARK}faults {faults}, level {}, seed {seed}, families {families}, testlamp {}\n\
         # source sha256 {source}\n\
         # house sha256 {house}\n",
        level.number(),
        env!("CARGO_PKG_VERSION"),
    )
}

/// A plan with a comment at its top, lines ending as the others do.
pub fn headed(comment: &str, text: &str) -> String {
    let mark = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let (mark, rest) = text.split_at(mark);
    let comment = comment.replace('\n', new_line(text));
    format!("{mark}{comment}{rest}")
}

/// How many faults a practice plan says were planted in it.
pub fn planted(text: &str) -> Option<usize> {
    let line = text.lines().find_map(|line| line.strip_prefix(MARK))?;
    line.strip_prefix("faults ")?.split(',').next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_says_how_many_faults_there_are() {
        let sheet = Sheet { source: "0", house: "1", seed: 7, faults: 3, level: Level::Near, families: &[] };
        let text = headed(&headline(&sheet), "\u{feff}plan: 1\r\n");
        assert!(text.starts_with("\u{feff}# Once") && text.ends_with("# house sha256 1\r\nplan: 1\r\n"), "{text}");
        assert_eq!(planted(&text), Some(3));
        assert_eq!(planted("plan: 1\n"), None);
    }
}
