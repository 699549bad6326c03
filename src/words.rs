//! Small helpers for sentences: lists, excerpts, nearest names.

/// "a", "a or b", "a, b or c".
pub fn either<S: AsRef<str>>(items: &[S]) -> String {
    list(items, "or")
}

/// "a", "a and b", "a, b and c".
pub fn all<S: AsRef<str>>(items: &[S]) -> String {
    list(items, "and")
}

fn list<S: AsRef<str>>(items: &[S], link: &str) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} {link} {}", first.join(", "), last.as_ref())
        }
    }
}

/// "1 wire", "2 wires".
pub fn count(number: usize, noun: &str) -> String {
    if number == 1 { format!("1 {noun}") } else { format!("{number} {noun}s") }
}

/// "a 30 A", "an 80 A": the words with the article that goes before them when they are read out.
pub fn a(words: impl std::fmt::Display) -> String {
    let words = words.to_string();
    let digits = words.bytes().take_while(u8::is_ascii_digit).count();
    let is_open = words.starts_with('8')
        || digits == 2 && words.starts_with(['1']) && words[1..].starts_with(['1', '8'])
        || words.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {words}", if is_open { "an" } else { "a" })
}

/// Units that stay on the line of their number.
pub const UNITS: &[&str] = &[
    "A", "mA", "kA", "V", "mV", "W", "kW", "ohm", "mohm", "AWG", "mm2", "cm2", "m", "cm", "mm", "ft", "in", "Hz",
    "kHz", "C", "F", "%", "L", "kg", "g", "N", "kN", "dB", "dB/oct", "s", "ms", "min", "h", "days", "Ah", "deg", "m/s",
    "×",
];

/// Whether a line may not end between two words: a number keeps its unit.
pub fn stay_together(before: &str, after: &str) -> bool {
    let unit = after.trim_end_matches([',', ';', ':', ')', '.', '?']);
    before.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&unit)
}

/// A short piece of somebody's text without control characters, safe to put into a sentence.
pub fn excerpt(text: &str, most: usize) -> String {
    let mut short: String = text.chars().take(most).map(|c| if is_unsafe(c) { '\u{fffd}' } else { c }).collect();
    if text.chars().nth(most).is_some() {
        short.push('…');
    }
    short
}

/// Whether a character could move the cursor, ring a bell, turn text around or break a line, or is none at all.
pub fn is_unsafe(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        || matches!(c, '\u{61c}' | '\u{fffe}' | '\u{ffff}')
}

/// Words of the trade for what closed lists call otherwise.
const SYNONYMS: &[(&str, &str)] = &[
    ("boot", "cargo"),
    ("trunk", "cargo"),
    ("bonnet", "engine-bay"),
    ("hood", "engine-bay"),
    ("efb", "enhanced-flooded"),
    ("lifepo4", "lithium-iron-phosphate"),
    ("cca", "copper-clad-aluminium"),
    ("ofc", "copper"),
    // What every maker's strip fuse is sold as (from memory). Names of blade fuses and of other strips are trade marks.
    ("anl", "bolt-down"),
];

/// The word of a closed list that was meant: by another word of the trade, or the nearest.
pub fn meant<'a>(name: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> Option<&'a str> {
    let other = SYNONYMS.iter().find(|(other, _)| other.eq_ignore_ascii_case(name.trim())).map(|(_, word)| *word);
    let listed = other.and_then(|other| known.clone().into_iter().find(|known| *known == other));
    listed.or_else(|| nearest(name, known))
}

/// A text without what only looks like plain signs, and what that was: hard spaces, the quotation marks of text programs.
pub fn plainly(text: &str) -> Option<(String, &'static str)> {
    let quoted =
        text.trim().trim_matches(|c| matches!(c, '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{2018}' | '\u{2019}'));
    let plain = quoted.replace(['\u{a0}', '\u{202f}', '\u{2007}', '\u{2009}'], " ");
    match (plain == quoted, quoted == text.trim()) {
        (true, true) => None,
        (true, false) => Some((plain, "stands in quotation marks of a text program")),
        (false, _) => Some((plain, "holds a hard space, which only looks like a space")),
    }
}

/// The known name nearest to a mistyped one, if any is near enough to be meant. The beginning of a name is near too, unless
/// several begin so: then nobody knows which was meant.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const BEGINNING: usize = 4;
    let name = name.to_lowercase();
    let allowed = (name.chars().count() / 3).max(1);
    let known: Vec<&str> = known.into_iter().collect();
    let steps = known.iter().map(|candidate| (distance(&name, &candidate.to_lowercase()), *candidate));
    let near = steps.filter(|(steps, _)| *steps <= allowed).min_by_key(|(steps, _)| *steps);
    let begins = |candidate: &&&str| name.len() >= BEGINNING && candidate.to_lowercase().starts_with(&name);
    let mut begun = known.iter().filter(begins);
    let only = begun.next().filter(|_| begun.next().is_none()).copied();
    match near {
        Some((0 | 1, near)) => Some(near),
        near => only.or(near.map(|(_, near)| near)),
    }
}

/// Edit distance with neighbouring letters exchanged counted once.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    rows[0] = (0..=b.len()).collect();
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let same = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + same);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_article_is_the_one_that_is_spoken() {
        let of = |words: &str| a(words);
        let said = ["30 A", "80 A", "8 mm", "11 A", "18 AWG", "110 A", "180 A", "aftermarket radio"].map(of);
        assert_eq!(
            said,
            ["a 30 A", "an 80 A", "an 8 mm", "an 11 A", "an 18 AWG", "a 110 A", "a 180 A", "an aftermarket radio"]
        );
    }

    #[test]
    fn the_nearest_name_is_the_one_meant() {
        let known = ["bass-amp", "front-amp", "remote"];
        assert_eq!(nearest("bas-amp", known), Some("bass-amp"));
        assert_eq!(nearest("ermote", known), Some("remote"));
        assert_eq!(nearest("front", known), Some("front-amp"));
        let blades = ["blade-miniature", "blade-regular", "bolt-down"];
        assert_eq!(nearest("blade", blades), None, "two begin so");
        assert_eq!(nearest("blade-r", blades), Some("blade-regular"));
        assert_eq!(nearest("Copper", ["copper-clad-aluminium", "copper"]), Some("copper"));
        assert_eq!(nearest("FUSE-1", ["FUSE-01", "FUSE-10", "FUSE-11"]), Some("FUSE-01"), "a sign short");
        assert_eq!(nearest("cargo", known), None);
    }

    /// A word of the trade counts only where the list holds what it stands for.
    #[test]
    fn words_of_the_trade_are_understood() {
        assert_eq!(meant("ANL", ["blade-regular", "bolt-down"]), Some("bolt-down"));
        assert_eq!(meant("ANL", ["sealed", "vented"]), None);
    }

    #[test]
    fn control_characters_never_reach_a_sentence() {
        assert_eq!(excerpt("a\u{1b}[31mb\u{202e}", 40), "a\u{fffd}[31mb\u{fffd}");
        assert_eq!(excerpt("abcdef", 3), "abc…");
    }
}
