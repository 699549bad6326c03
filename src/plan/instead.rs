//! What was probably meant where a value of another type stands: one value for a list, words for a group, `yes`.

use super::kind::Kind;
use super::reference::is_name;
use super::shape::{Count, Shape, Type};
use crate::text::{self, NodeId, Tree};
use crate::words;

/// What may have been meant.
pub(super) struct Instead {
    /// As a plan writes it.
    pub words: String,
    /// Whether it can have been nothing else.
    pub is_sure: bool,
}

/// What may have been meant by a single value, or by a list where a single value belongs.
pub(super) fn instead(shape: &Shape, tree: &Tree, node: NodeId) -> Option<Instead> {
    let sure = |words: String| Instead { words, is_sure: true };
    if let (Shape::Quantity(kind), text::Kind::Seq(items)) = (shape, tree.kind(node)) {
        let ends: Vec<&str> = items.iter().filter_map(|item| tree.text(*item)).collect();
        let [from, to] = ends.as_slice() else { return None };
        let window = format!("{from} .. {to}");
        return fitting(kind, &window).filter(|_| items.len() == 2 && is_window(kind)).map(sure);
    }
    let text = tree.text(node)?.trim();
    match shape {
        Shape::List(each) => counted(each, text).map(sure).or_else(|| {
            // A way is written with arrows too.
            let parts = text.split([',', '>', '\u{2192}']).map(|part| part.trim().trim_end_matches([' ', '-']));
            let parts: Option<Vec<String>> = parts.map(|part| part_of(each, part)).collect();
            // There may be several that are alike: `20 A` may stand for two fuses.
            let is_sure = !matches!(each, Shape::Quantity(kind) if *kind != "terminal") && !is_group(each);
            parts.map(|parts| Instead { words: format!("[{}]", parts.join(", ")), is_sure })
        }),
        Shape::Group { keys, count: Count::OneWith(_), .. } => {
            let (key, value) = text.split_once([' ', ':'])?;
            let (_, shape) = keys.iter().find(|(known, _)| *known == key)?;
            Some(sure(format!("{key}: {}", part_of(shape, value.trim())?)))
        }
        Shape::Group { .. } => part_of(shape, text).map(|words| Instead { words, is_sure: false }),
        Shape::Value { types, .. } if types.contains(&Type::YesNo) => {
            let is = |words: [&str; 3]| words.iter().any(|word| word.eq_ignore_ascii_case(text));
            let yes = is(["yes", "y", "on"]).then_some("true");
            yes.or_else(|| is(["no", "n", "off"]).then_some("false")).map(|word| sure(word.to_owned()))
        }
        _ => None,
    }
}

fn is_group(shape: &Shape) -> bool {
    match shape {
        Shape::Either(ways) => ways.iter().any(|way| is_group(way)),
        other => matches!(other, Shape::Group { .. }),
    }
}

/// Whether a kind of quantity can be written as a window.
pub(super) fn is_window(kind: &str) -> bool {
    kind.ends_with(" window") || kind.ends_with(" range")
}

/// A text as it can stand where one of a shape belongs.
fn part_of(shape: &Shape, text: &str) -> Option<String> {
    match shape {
        Shape::Words { words, .. } => words::meant(text, words.iter().copied()).one().map(str::to_owned),
        Shape::Quantity(kind) => fitting(kind, text),
        Shape::Either(ways) => ways.iter().find_map(|way| part_of(way, text)),
        Shape::Group { keys, needs, .. } => of_words(keys, needs, text),
        Shape::Value { types, .. } if types.contains(&Type::Text) => is_name(text).then(|| text.to_owned()),
        Shape::Value { types, .. } if types.contains(&Type::Whole) => {
            text.parse::<u8>().is_ok().then(|| text.to_owned())
        }
        _ => None,
    }
}

/// A quantity as a plan writes it.
fn fitting(kind: &str, text: &str) -> Option<String> {
    let Kind { read, respelt, .. } = Kind::of(kind);
    if read(text).is_ok() { Some(text.to_owned()) } else { respelt(text) }
}

/// A group of the quantities that it needs, where each is said once: `75 W at 4 ohm`.
fn of_words(keys: &[(&str, &Shape)], needs: &[&str], text: &str) -> Option<String> {
    let said: Vec<&str> = text.split_whitespace().collect();
    let said = || said.windows(2).map(|pair| pair.join(" "));
    let value = |need: &&str| {
        let (_, shape) = keys.iter().find(|(key, _)| key == need)?;
        let Shape::Quantity(kind) = shape else { return None };
        let mut fits = said().filter_map(|words| fitting(kind, &words));
        let value = fits.next().filter(|_| fits.next().is_none())?;
        Some(format!("{need}: {value}"))
    };
    let values: Vec<String> = needs.iter().map(value).collect::<Option<_>>()?;
    (!values.is_empty()).then(|| format!("{{{}}}", values.join(", ")))
}

/// `2x4 ohm`, as it is printed on boxes, for a list of equal values.
fn counted(each: &Shape, text: &str) -> Option<String> {
    let Shape::Quantity(kind) = each else { return None };
    let (count, value) = text.split_once(['x', 'X', '\u{d7}', '*'])?;
    let count = count.trim().parse::<usize>().ok().filter(|count| (1..=8).contains(count))?;
    Some(format!("[{}]", vec![fitting(kind, value.trim())?; count].join(", ")))
}

/// More keys that a value would fit are not listed.
const MOST_FITTING: usize = 4;

/// How a value of another type is written, where nothing says what was meant; `key` is the one it stands behind, and a list
/// may stand between brackets.
pub(super) fn how(shape: &Shape, tree: &Tree, node: NodeId, (key, is_flow): (&str, bool)) -> String {
    match (tree.kind(node), shape) {
        (text::Kind::Seq(items), Shape::Group { keys, .. }) if is_flow => {
            let each = items.iter().map(|item| tree.text(*item)).chain(std::iter::repeat(None));
            let keys = keys.iter().filter(|(key, _)| *key != "shelf").take(items.len().clamp(1, 2)).zip(each);
            let keys = keys.map(|((key, shape), text)| {
                let text = text.filter(|_| matches!(shape, Shape::Quantity(_) | Shape::Words { .. }));
                format!("{key}: {}", text.map_or("\u{2026}".to_owned(), |text| words::excerpt(text, 40)))
            });
            format!("write what each is, between braces, like `{{{}}}`", keys.collect::<Vec<_>>().join(", "))
        }
        (text::Kind::Seq(_), Shape::Named { .. }) if is_flow => {
            "write each by its name, with a colon, between braces".to_owned()
        }
        (text::Kind::Seq(_), Shape::Group { .. } | Shape::Named { .. }) => {
            "write each as a key with a colon, without a dash".to_owned()
        }
        (text::Kind::Map(_), Shape::List(_)) => "begin each item with a dash and a space".to_owned(),
        (text::Kind::Seq(items), Shape::Value { .. }) if is_name(key) => {
            let each = items.iter().filter_map(|item| tree.text(*item));
            let each: Vec<String> = each.map(|text| format!("`{key}: {}`", words::excerpt(text, 40))).take(3).collect();
            if each.is_empty() { String::new() } else { format!("write each for itself: {}", words::all(&each)) }
        }
        (text::Kind::Scalar { .. }, Shape::Group { keys, .. }) => {
            let said = tree.text(node).unwrap_or_default().trim();
            let fits = |shape: &Shape| matches!(shape, Shape::Quantity(kind) if (Kind::of(kind).read)(said).is_ok());
            let fitting: Vec<String> =
                keys.iter().filter(|(_, shape)| fits(shape)).map(|(key, _)| format!("`{{{key}: {said}}}`")).collect();
            match fitting.as_slice() {
                [] => {}
                [only] => return format!("write {only}"),
                some if some.len() <= MOST_FITTING => return format!("write which it is: {}", words::either(some)),
                _ => {}
            }
            let keys = keys.iter().filter(|(key, _)| *key != "shelf").take(2);
            let keys: Vec<String> = keys.map(|(key, _)| format!("{key}: \u{2026}")).collect();
            format!("write what is known of it by keys, like `{{{}}}`", keys.join(", "))
        }
        (text::Kind::Scalar { .. }, Shape::Named { .. }) => "write each by its name, with a colon".to_owned(),
        _ => String::new(),
    }
}
