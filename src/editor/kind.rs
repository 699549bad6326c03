//! The kinds of texts, and what is known of each.

use crate::house::{self, Assumptions, Limits};
use crate::plan::{self, Lookup};

/// What a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A plan, or something that may become one.
    Plan,
    /// A house file.
    House,
    /// A shelf file.
    Shelf,
}

/// What the schema of a kind of text says.
pub fn lookup(kind: Kind) -> Lookup {
    match kind {
        Kind::Plan => plan::lookup(),
        Kind::House => house::lookup(),
        Kind::Shelf => plan::shelf_lookup(),
    }
}

/// What testlamp ships a figure of the house with.
pub fn shipped(path: &str) -> Option<(String, &'static str)> {
    let (section, rest) = path.split_once('.')?;
    let name = rest.split('.').next()?;
    let (mut limits, mut assumptions) = (Limits::default(), Assumptions::default());
    let all = match section {
        "limits" => limits.all(),
        "assumptions" => assumptions.all(),
        _ => return None,
    };
    let setting = all.into_iter().find(|setting| setting.name() == name)?;
    Some((setting.value(), setting.source()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_of_the_house_says_what_testlamp_ships() {
        let names = |section: &str| lookup(Kind::House).keys(section);
        for (section, most) in [("limits", 20), ("assumptions", 10)] {
            let names = names(section);
            assert!(names.len() > most, "{section}: {names:?}");
            for (name, _) in names {
                assert!(shipped(&format!("{section}.{name}.source")).is_some(), "{section}.{name}");
            }
        }
        assert_eq!(shipped("stock.wires"), None);
    }
}
