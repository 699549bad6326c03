//! Names and lines that can stand in a plan.

use crate::words::{excerpt, is_unsafe};

/// Words that YAML takes for something else than a name, or that a plan has for parts of the vehicle.
const TAKEN: [&str; 12] =
    ["true", "false", "null", "yes", "no", "on", "off", "y", "n", "battery", "alternator", "grounds"];

/// The name of a thing.
///
/// # Errors
/// A sentence on what a name is.
pub fn name(word: &str) -> Result<String, String> {
    let word = word.trim();
    let is_plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !word.starts_with(|first: char| first.is_ascii_alphabetic()) || !word.chars().all(is_plain) || word.len() > 40 {
        let shown = excerpt(word, 40);
        return Err(format!(
            "`{shown}` cannot be a name; write up to 40 letters without accents, digits and hyphens, a letter first, like bass-amp"
        ));
    }
    if TAKEN.contains(&word.to_ascii_lowercase().as_str()) {
        return Err(format!("`{word}` means something else in a plan; take another name, like bass-amp"));
    }
    Ok(word.to_owned())
}

/// The word that somebody means: letters and digits count, whatever is between them, and so much of a word does that only
/// one begins so.
pub fn meant<'w>(written: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let bare = |word: &str| word.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
    let written = bare(written);
    let words: Vec<&str> = words.collect();
    let mut begun = words.iter().copied().filter(|word| !written.is_empty() && bare(word).starts_with(&written));
    let whole = words.iter().copied().find(|word| bare(word) == written);
    whole.or_else(|| begun.next().filter(|_| begun.next().is_none()))
}

/// One line of text for people.
///
/// # Errors
/// A sentence, when it is empty, too long or not a line.
pub fn one_line(text: &str) -> Result<String, String> {
    const MOST: usize = 200;
    let text = text.trim();
    if text.is_empty() {
        return Err("write a few words".into());
    }
    if text.chars().any(is_unsafe) {
        return Err(format!("`{}` holds characters that cannot be seen; write one plain line", excerpt(text, 40)));
    }
    if text.chars().count() > MOST {
        return Err(format!("{} characters are too long for one line; write at most {MOST}", text.chars().count()));
    }
    Ok(text.to_owned())
}
