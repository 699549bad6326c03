//! Words that fit.

use super::drawing::width_of;
use crate::words::excerpt;

/// The size of the smallest type on a drawing.
pub const SMALL: f64 = 10.0;
/// The size of names.
pub const NAMES: f64 = 11.0;

/// Words cut to a width, without characters that could break a line or turn text around.
pub fn fitted(text: &str, size: f64, width: f64) -> String {
    let clean = excerpt(text, 200);
    if width_of(&clean, size) <= width {
        return clean;
    }
    let mut short: Vec<char> = clean.chars().collect();
    while !short.is_empty() && width_of("…", size) + width_of(&short.iter().collect::<String>(), size) > width {
        short.pop();
    }
    format!("{}…", short.into_iter().collect::<String>().trim_end())
}

/// Words in lines no wider than this; a single word that is wider is cut.
pub fn wrapped(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = fitted(word, size, width);
        match lines.last_mut() {
            Some(line) if width_of(line, size) + width_of(" ", size) + width_of(&word, size) <= width => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
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
        assert_eq!(fitted("bass-amplifier", 10.0, 60.0), "bass-ampl…".chars().take(8).collect::<String>() + "…");
        let lines = wrapped("two words and a few more", 10.0, 62.0);
        assert_eq!(lines, ["two words", "and a few", "more"]);
        assert!(lines.iter().all(|line| width_of(line, 10.0) <= 62.0));
    }

    #[test]
    fn names_that_are_no_ids_are_counted() {
        assert_eq!(ident("coils", "bass", 0), "coils-bass");
        assert_eq!(ident("coils", "a b\"", 4), "coils.5");
    }
}
