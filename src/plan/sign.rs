//! What people write for a terminal: the sign of a pole, a word for the body.

use super::reference::is_name;
use crate::text::Tree;

/// What a word says that is no terminal.
pub(super) enum Sign {
    /// A pole by its sign, of a thing that the plan or the vehicle has.
    Terminal(String),
    /// The body of the vehicle, wherever on it.
    Body,
    /// Nothing that is known.
    Nothing,
}

/// `battery+`, `amp-`, `chassis`.
pub(super) fn of_sign(text: &str, tree: &Tree) -> Sign {
    const BODY: [&str; 7] = ["body", "chassis", "earth", "frame", "ground", "gnd", "mass"];
    if BODY.iter().any(|word| word.eq_ignore_ascii_case(text.trim())) {
        return Sign::Body;
    }
    let pole = |sign: char| text.trim().strip_suffix(sign).map(|thing| thing.trim_end_matches([' ', '.']));
    let Some((thing, is_positive)) = pole('+').map(|it| (it, true)).or_else(|| pole('-').map(|it| (it, false))) else {
        return Sign::Nothing;
    };
    let is_in = |section: &str| tree.node(&format!("{section}.{thing}")).is_some();
    if thing == "battery" || is_in("batteries") {
        return Sign::Terminal(format!("{thing}.{}", if is_positive { "positive" } else { "negative" }));
    }
    if is_name(thing) && (is_in("amplifiers") || is_in("capacitors")) {
        return Sign::Terminal(format!("{thing}.{}", if is_positive { "power" } else { "ground" }));
    }
    Sign::Nothing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::{Limits, parse};

    #[test]
    fn a_pole_is_that_of_a_thing_that_is_there() {
        let (tree, _) = parse("amplifiers: {amp: {}}\nbatteries: {rear: {}}\n", Limits::default());
        let meant = |text: &str| match of_sign(text, &tree) {
            Sign::Terminal(meant) => meant,
            Sign::Body => "body".to_owned(),
            Sign::Nothing => String::new(),
        };
        let said = ["battery+", "battery -", "rear+", "amp+", "amp-", "lamp+", "Chassis", "GND", "amp"].map(meant);
        let poles = ["battery.positive", "battery.negative", "rear.positive", "amp.power", "amp.ground"];
        assert_eq!(said, [&poles[..], &["", "body", "body", ""]].concat()[..]);
    }
}
