//! What is printed wherever somebody may go and do the work: on every sheet, in the rule book, in the README.

/// What the program is not.
pub const STANCE: &str =
    "testlamp reads plans; it does not see the vehicle. It takes no responsibility off the person who does the work.";

/// Something that can hurt, and what to do about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// What to do, in whole sentences.
    pub words: &'static str,
}

/// What the caution on the battery is about.
pub const BATTERY: &str = "Battery";
/// What the caution on airbags is about.
pub const AIRBAGS: &str = "Airbags";

/// What the caution on lithium batteries in frost is about.
pub const FROST: &str = "Frost";

/// The usual cautions of the trade (common practice, no published source). Vehicle maker, local codes and licensed
/// practice stand above them.
pub const CAUTIONS: &[Caution] = &[
    Caution {
        about: BATTERY,
        words: "Take the battery off before any work on its circuits, negative first; put it back last, and the main fuse after everything is connected and inspected.",
    },
    Caution {
        about: AIRBAGS,
        words: "Keep wires and screws away from airbags, belt tensioners and their harness. Work on them is for people trained for it, after the waiting time that the vehicle's maker gives.",
    },
    Caution {
        about: FROST,
        words: "A lithium battery is never charged while it is below 0 C: it is ruined inside and shows nothing. Its management or its charger has to stop that.",
    },
    Caution {
        about: "High voltage",
        words: "High voltage in hybrid and electric vehicles kills. Isolation is for qualified people, by the maker's procedure.",
    },
    Caution {
        about: "Drilling",
        words: "Look at what is behind before you drill: fuel and brake lines, tank, harness, glass.",
    },
    Caution {
        about: "Codes and practice",
        words: "Local codes, the vehicle maker's instructions and licensed practice stand above anything printed here.",
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    /// One wording in one place: the README says what every sheet says.
    #[test]
    fn the_readme_prints_the_same_cautions() {
        let readme: Vec<&str> = include_str!("../../README.md").split_whitespace().collect();
        let readme = readme.join(" ");
        for words in CAUTIONS.iter().map(|caution| caution.words).chain([STANCE]) {
            assert!(readme.contains(words), "{words}");
        }
    }
}
