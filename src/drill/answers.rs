//! What an apprentice writes down: a rule and a place, one pair a line.

use crate::judge::Rule;
use crate::words::nearest;

/// One accusation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The line it stands on, from 1 up.
    pub line: usize,
    /// The code of the rule.
    pub code: &'static str,
    /// Where.
    pub at: At,
}

/// A place as an apprentice names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum At {
    /// A line of the practice plan, from 1 up.
    Line(usize),
    /// A path like `wires.main.fuse.rating`.
    Path(String),
}

impl std::fmt::Display for At {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Line(line) => write!(out, "line {line}"),
            Self::Path(path) => out.write_str(path),
        }
    }
}

/// A line that says no rule and place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// Which line, from 1 up.
    pub line: usize,
    /// What is wrong with it.
    pub why: String,
}

/// Reads answers: `FUSE-01 wires.main.fuse.rating` or `37 FUSE-01`, as lines, as items of a list or with a colon between;
/// what stands behind `#` is a note.
///
/// # Errors
/// Every line that says no rule and place.
pub fn answers(text: &str, rules: &[&'static Rule]) -> Result<Vec<Answer>, Vec<Unreadable>> {
    let lines = text.trim_start_matches('\u{feff}').lines().enumerate();
    let read = lines.filter_map(|(at, line)| {
        let words = line.split('#').next().unwrap_or_default().trim();
        let words = words.strip_prefix("- ").unwrap_or(words);
        let parted = |letter: char| letter.is_whitespace() || ",:;\"'{}[]".contains(letter);
        let words: Vec<&str> =
            words.split(parted).filter(|word| !word.is_empty() && !word.eq_ignore_ascii_case("line")).collect();
        (!words.is_empty()).then(|| answer(&words, at + 1, rules))
    });
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for one in read {
        match one {
            Ok(answer) => good.push(answer),
            Err(unreadable) => bad.push(unreadable),
        }
    }
    if bad.is_empty() { Ok(good) } else { Err(bad) }
}

fn answer(words: &[&str], line: usize, rules: &[&'static Rule]) -> Result<Answer, Unreadable> {
    let wrong = |why: String| Err(Unreadable { line, why });
    let named = |word: &str| rules.iter().find(|rule| rule.is_called(word));
    let [one, other] = words else {
        return wrong("write a rule and a place, like FUSE-01 wires.main.fuse.rating or 37 FUSE-01; what else there is to say goes behind a #".into());
    };
    let (rule, place) = match (named(one), named(other)) {
        (Some(rule), _) => (rule, other),
        (None, Some(rule)) => (rule, one),
        (None, None) => {
            let names = rules.iter().flat_map(|rule| [rule.code, rule.name]);
            let near = [one, other].iter().find_map(|word| nearest(word, names.clone()));
            let near = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
            return wrong(format!("no rule is called `{one}` or `{other}`{near}"));
        }
    };
    let at = place.parse().map_or_else(|_| At::Path((*place).to_owned()), At::Line);
    Ok(Answer { line, code: rule.code, at })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::all;

    fn of(text: &str) -> Vec<(&'static str, String)> {
        let read = answers(text, &all()).expect("answers");
        read.into_iter().map(|answer| (answer.code, answer.at.to_string())).collect()
    }

    #[test]
    fn a_pair_is_read_however_it_is_written() {
        let path = [("FUSE-01", "wires.main.fuse.rating".to_owned())];
        assert_eq!(of("FUSE-01 wires.main.fuse.rating"), path);
        assert_eq!(of("# mine\n\n- fuse-01: wires.main.fuse.rating # too large\n"), path);
        assert_eq!(of("wires.main.fuse.rating, fuse-above-wire"), path);
        for line in ["37 FUSE-01\r\n", "FUSE-01 line 37", "Line 37: fuse-01"] {
            assert_eq!(of(line), [("FUSE-01", "line 37".to_owned())], "{line}");
        }
        assert_eq!(of(""), []);
    }

    #[test]
    fn every_line_that_says_nothing_is_told() {
        let told = answers("FUSE-01\nFUSE-1 37\n37 FUSE-01\n", &all()).expect_err("two lines");
        assert_eq!(told.iter().map(|line| line.line).collect::<Vec<_>>(), [1, 2]);
        assert!(told[1].why.contains("did you mean FUSE-"), "{}", told[1].why);
    }
}
