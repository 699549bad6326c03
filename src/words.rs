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
    ("lifepo", "lithium-iron-phosphate"),
    ("lfp", "lithium-iron-phosphate"),
    ("fibreglass", "composite"),
    ("fiberglass", "composite"),
    ("grp", "composite"),
    ("cca", "copper-clad-aluminium"),
    ("ofc", "copper"),
    ("ported", "vented"),
    ("bass-reflex", "vented"),
    // What every maker's strip fuse is sold as (from memory). Names of blade fuses and of other strips are trade marks.
    ("anl", "bolt-down"),
];

/// Keys under which a plan holds what people call otherwise (common practice, no source).
const KEYS: &[(&str, &[&str])] = &[
    ("ah", &["capacity"]),
    ("amps", &["rated", "rating"]),
    ("awg", &["size"]),
    ("brand", &["note"]),
    ("cca", &["cold_cranking"]),
    ("cross_section", &["size"]),
    ("fuse", &["onboard_fuses", "maximum_fuse"]),
    ("fuses", &["onboard_fuses", "maximum_fuse"]),
    ("gauge", &["size"]),
    ("impedance", &["minimum_load", "coils", "speaker_load"]),
    ("make", &["note"]),
    ("maker", &["note"]),
    ("material", &["conductor"]),
    ("metal", &["conductor"]),
    ("model", &["note"]),
    ("ohm", &["minimum_load", "coils", "speaker_load"]),
    ("ohms", &["minimum_load", "coils", "speaker_load"]),
    ("place", &["location"]),
    ("port", &["vent"]),
    ("position", &["location"]),
    ("power", &["rated", "rms"]),
    ("remark", &["note"]),
    ("route", &["path"]),
    ("type", &["kind", "form"]),
    ("volume", &["net_volume", "gross_volume"]),
    ("watts", &["rated", "rms"]),
    ("weight", &["mass"]),
];

/// The keys, of those that are known at a place, under which stands what people call so.
pub fn called<'a>(key: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let key = key.to_lowercase().replace([' ', '-'], "_");
    let names = KEYS.iter().find(|(other, _)| *other == key).map_or(&[][..], |(_, names)| *names);
    known.into_iter().filter(|known| names.contains(known)).collect()
}

/// What may have been meant by a word that is none of a closed list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant<'a> {
    /// Another word of the trade for this one, or a slip in writing it.
    One(&'a str),
    /// Less than any of these says: a kind of which they are some, or as near to one as to another.
    Some(Vec<&'a str>),
    /// Nothing that is known.
    Nothing,
}

impl<'a> Meant<'a> {
    /// The only one that can have been meant.
    pub fn one(self) -> Option<&'a str> {
        if let Self::One(word) = self { Some(word) } else { None }
    }
}

/// The word of a closed list that was meant: by another word of the trade, or the nearest. A word that is a part of one
/// (`lithium`, `blade`) stands for others of its kind too, be they listed or not.
pub fn meant<'a>(name: &str, known: impl IntoIterator<Item = &'a str> + Clone) -> Meant<'a> {
    let other = SYNONYMS.iter().find(|(other, _)| other.eq_ignore_ascii_case(name.trim())).map(|(_, word)| *word);
    if let Some(listed) = other.and_then(|other| known.clone().into_iter().find(|known| *known == other)) {
        return Meant::One(listed);
    }
    let near = all_nearest(name, known);
    let is_part = |word: &&str| {
        let rest = word.get(name.len()..).filter(|_| word[..name.len()].eq_ignore_ascii_case(name));
        rest.is_some_and(|rest| rest.starts_with(['-', '_']))
    };
    match near.as_slice() {
        [] => Meant::Nothing,
        [only] if !is_part(only) => Meant::One(only),
        _ => Meant::Some(near),
    }
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

/// The known name nearest to a mistyped one, if any is near enough to be meant. The beginning of a name is near too.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    all_nearest(name, known).into_iter().next()
}

/// The known name nearest to a mistyped one, where no other is as near.
pub fn only_near<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let mut near = all_nearest(name, known).into_iter();
    near.next().filter(|_| near.next().is_none())
}

/// All known names that are as near as the nearest.
fn all_nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    const BEGINNING: usize = 4;
    let name = name.to_lowercase();
    let allowed = (name.chars().count() / 3).max(1);
    let steps = |candidate: &str| match candidate.to_lowercase() {
        candidate if candidate == name => 0,
        candidate if name.len() >= BEGINNING && candidate.starts_with(&name) => 1,
        candidate => distance(&name, &candidate),
    };
    let near = known.into_iter().map(|candidate| (steps(candidate), candidate)).filter(|(steps, _)| *steps <= allowed);
    let near: Vec<(usize, &str)> = near.collect();
    let least = near.iter().map(|(steps, _)| *steps).min();
    let mut names: Vec<&str> = Vec::new();
    for (_, candidate) in near.into_iter().filter(|(steps, _)| Some(*steps) == least) {
        if !names.contains(&candidate) {
            names.push(candidate);
        }
    }
    names
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
        assert_eq!((nearest("blade", blades), only_near("blade", blades)), (Some("blade-miniature"), None));
        assert_eq!(only_near("blade-r", blades), Some("blade-regular"));
        assert_eq!(nearest("Copper", ["copper-clad-aluminium", "copper"]), Some("copper"));
        assert_eq!(nearest("FUSE-1", ["FUSE-01", "FUSE-10", "FUSE-11"]), Some("FUSE-01"), "a sign short");
        assert_eq!(nearest("cargo", known), None);
        assert_eq!(only_near("front", known), Some("front-amp"));
        assert_eq!(only_near("ermote", ["remote", "remote"]), Some("remote"), "one name of two things");
        assert_eq!(
            (nearest("front", ["front-l", "front-r"]), only_near("front", ["front-l", "front-r"])),
            (Some("front-l"), None)
        );
    }

    /// A word of the trade counts only where the list holds what it stands for.
    #[test]
    fn words_of_the_trade_are_understood() {
        assert_eq!(meant("ANL", ["blade-regular", "bolt-down"]), Meant::One("bolt-down"));
        assert_eq!(meant("ANL", ["sealed", "vented"]), Meant::Nothing);
        let chemistries = ["flooded", "agm", "lithium-iron-phosphate"];
        assert_eq!(["LFP", "LiFePO4"].map(|word| meant(word, chemistries).one()), [Some("lithium-iron-phosphate"); 2]);
        assert_eq!(meant("GRP", ["steel", "composite"]), Meant::One("composite"));
    }

    /// Lithium iron phosphate is one lithium chemistry of several, and blades are made in more than one size.
    #[test]
    fn a_word_for_a_whole_kind_is_none_of_its_kind() {
        let some = |word: &str, known: &[&'static str]| meant(word, known.iter().copied());
        assert_eq!(some("lithium", &["agm", "lithium-iron-phosphate"]), Meant::Some(vec!["lithium-iron-phosphate"]));
        let blades = ["blade-miniature", "blade-regular"];
        assert_eq!(some("Blade", &["blade-miniature", "blade-regular", "bolt-down"]), Meant::Some(blades.to_vec()));
        assert_eq!(some("blade-regulr", &blades), Meant::One("blade-regular"));
        assert_eq!(some("alumin", &["copper", "aluminium"]), Meant::One("aluminium"));
        // One letter away from two.
        assert_eq!(some("lame", &["lane", "lamp"]), Meant::Some(vec!["lane", "lamp"]));
    }

    /// A key counts only where it is known: a driver has no rating, an amplifier no coils.
    #[test]
    fn what_people_call_otherwise_is_found_under_its_key() {
        assert_eq!(called("Power", ["class", "rated", "minimum_load"]), ["rated"]);
        assert_eq!(called("impedance", ["coils", "rms"]), ["coils"]);
        assert_eq!(called("fuse", ["onboard_fuses", "maximum_fuse", "mass"]), ["onboard_fuses", "maximum_fuse"]);
        assert!(called("power", ["size", "length"]).is_empty() && called("colour", ["size"]).is_empty());
    }

    #[test]
    fn control_characters_never_reach_a_sentence() {
        assert_eq!(excerpt("a\u{1b}[31mb\u{202e}", 40), "a\u{fffd}[31mb\u{fffd}");
        assert_eq!(excerpt("abcdef", 3), "abc…");
    }
}
