//! Words that fit.

use crate::words::excerpt;

/// The size of the smallest type on a drawing.
pub const SMALL: f64 = 10.0;
/// The size of names.
pub const NAMES: f64 = 11.0;

/// How wide words are in a size of type, in a wide font.
pub fn width_of(text: &str, size: f64) -> f64 {
    text.chars().map(share_of).sum::<f64>() * size
}

/// How wide a letter is, as a share of the size of the type: as in `DejaVu Sans` (the advance widths in the font's own
/// tables, rounded up), one of the widest of the fonts in which systems show a page. East Asian letters stand on a square
/// from the first of them in Unicode on, and so, a little wider, do pictures.
fn share_of(letter: char) -> f64 {
    match letter {
        '\'' | 'i' | 'j' | 'l' => 0.28,
        'I' | 'J' => 0.3,
        ' ' | '\u{a0}' | '.' | ',' | '·' => 0.32,
        ':' | ';' | '/' | '|' | '\\' => 0.34,
        'f' | '-' | '(' | ')' | '[' | ']' => 0.4,
        't' | 'r' | '!' => 0.42,
        '"' => 0.46,
        '_' | '–' | '°' => 0.5,
        'c' | 's' | 'z' | '?' => 0.55,
        'k' | 'v' | 'x' | 'y' | 'F' | 'L' => 0.6,
        'a' | 'e' | 'o' | 'P' | 'T' | 'Y' => 0.62,
        'A' | 'B' | 'C' | 'E' | 'K' | 'R' | 'S' | 'V' | 'X' | 'Z' => 0.7,
        'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | '&' => 0.79,
        'w' | '+' | '=' | '<' | '>' | '#' | '~' | '×' | '−' => 0.84,
        'M' => 0.87,
        'm' | '%' | 'W' | '@' | '…' | 'æ' | 'œ' | 'Æ' | 'Œ' => 1.03,
        '\0'..='\u{7f}' => 0.64,
        '\u{1f000}'.. => 1.4,
        '\u{1100}'.. if !matches!(letter, '\u{2000}'..='\u{206f}') => 1.05,
        _ if letter.is_lowercase() && letter < '\u{370}' => 0.64,
        _ => 1.1,
    }
}

/// Whether words are no wider than this; widths that were shared out are not exact.
fn fits(text: &str, size: f64, width: f64) -> bool {
    const HAIR: f64 = 1e-6;
    width_of(text, size) <= width + HAIR
}

/// Words cut to a width, with an ellipsis where something is left out, and without what could turn text around;
/// nothing where not even that has room.
pub fn fitted(text: &str, size: f64, width: f64) -> String {
    let whole = excerpt(text, 200);
    if fits(&whole, size, width) {
        return whole;
    }
    let mut room = width - width_of("…", size);
    if room < 0.0 {
        return String::new();
    }
    let has_room = |letter: &char| {
        room -= share_of(*letter) * size;
        room >= 0.0
    };
    let mut short: String = whole.chars().take_while(has_room).collect();
    short.truncate(short.trim_end().len());
    short.push('…');
    short
}

/// Words in lines no wider than this. A line ends between words, or behind a hyphen of a word that is wider than a line;
/// a part that is wider still is cut.
pub fn wrapped(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(text) {
        let parts = if fits(word, size, width) { vec![word] } else { parts(word).collect() };
        for (at, part) in parts.into_iter().enumerate() {
            let part = fitted(part, size, width);
            let space = if at == 0 { " " } else { "" };
            match lines.last_mut() {
                Some(line) if fits(&format!("{line}{space}{part}"), size, width) => {
                    line.push_str(space);
                    line.push_str(&part);
                }
                _ => lines.push(part),
            }
        }
    }
    lines.retain(|line| !line.is_empty());
    lines
}

/// Words between which a line may end; a number and its unit are one, joined by a space that does not break.
pub fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() && c != WITH_UNIT).filter(|word| !word.is_empty())
}

/// What joins a number and its unit, so that no line ends between them.
pub const WITH_UNIT: char = '\u{a0}';

/// The parts of a word behind which a line may end if it must.
pub fn parts(word: &str) -> impl Iterator<Item = &str> {
    word.split_inclusive('-')
}

/// The same words as the beginning of a sentence.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A name for a drawing that no other of its kind has and that may stand in an id: the plan's own where it is plain
/// letters, otherwise its number behind a point, which no plain name holds.
pub fn ident(kind: &str, name: &str, at: usize) -> String {
    let plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_'));
    if plain { format!("{kind}-{name}") } else { format!("{kind}.{}", at + 1) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_cut_and_wrapped_to_their_width() {
        assert_eq!(fitted("bass-amp", 10.0, 60.0), "bass-amp");
        assert_eq!(fitted("bass-amplifier", 10.0, 60.0), "bass-am…");
        let lines = wrapped("two words and a few more", 10.0, 62.0);
        assert_eq!(lines, ["two words", "and a few", "more"]);
        assert!(lines.iter().all(|line| width_of(line, 10.0) <= 62.0));
    }

    #[test]
    fn a_line_ends_behind_a_hyphen_only_where_a_word_is_too_wide_for_it() {
        assert_eq!(wrapped("left front-right", 10.0, 70.0), ["left", "front-right"]);
        assert_eq!(wrapped("left front-right-and-rear", 10.0, 70.0), ["left front-", "right-and-", "rear"]);
        assert_eq!(wrapped("4\u{a0}AWG 40\u{a0}cm", 10.0, 50.0), ["4\u{a0}AWG", "40\u{a0}cm"]);
        assert_eq!(wrapped("incomprehensibilities", 10.0, 70.0), ["incompreh…"]);
    }

    #[test]
    fn names_that_are_no_ids_are_counted() {
        assert_eq!(ident("coils", "bass", 0), "coils-bass");
        assert_eq!(ident("coils", "a b\"", 4), "coils.5");
    }
}
