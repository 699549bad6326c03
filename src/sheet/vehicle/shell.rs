//! What kind of vehicle it is, as far as the plan's words tell.

use crate::plan::Plan;

/// What the outline is drawn as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shell {
    /// A closed body on four wheels.
    Closed,
    /// Two wheels, one behind the other.
    TwoWheels,
    /// Something that the plan's words do not tell: no more than where its front is.
    #[default]
    Untold,
}

/// Words for vehicles, as trade and traffic law use them.
const WORDS: &[(Shell, &[&str])] = &[
    (
        Shell::Closed,
        &[
            "4x4",
            "bus",
            "cab",
            "cabriolet",
            "camper",
            "car",
            "carrier",
            "coach",
            "convertible",
            "coupe",
            "coupé",
            "crossover",
            "estate",
            "fastback",
            "hatchback",
            "limousine",
            "lorry",
            "minibus",
            "minivan",
            "motorhome",
            "mpv",
            "offroader",
            "pickup",
            "roadster",
            "saloon",
            "sedan",
            "suv",
            "taxi",
            "truck",
            "ute",
            "van",
            "wagon",
        ],
    ),
    (Shell::TwoWheels, &["bike", "moped", "motorbike", "motorcycle", "motorscooter", "scooter"]),
];

impl Shell {
    /// As the first word for a vehicle in its summary says.
    pub fn of(plan: &Plan) -> Self {
        let summary = plan.vehicle.as_ref().and_then(|vehicle| vehicle.summary.as_deref()).unwrap_or_default();
        let lower = summary.to_lowercase().replace('-', "");
        let mut words = lower.split(|c: char| !c.is_alphanumeric());
        words.find_map(Self::told_by).unwrap_or_default()
    }

    fn told_by(word: &str) -> Option<Self> {
        WORDS.iter().find(|(_, words)| words.contains(&word)).map(|(shell, _)| *shell)
    }

    /// The room that it takes at the nose and at the tail.
    pub const fn ends(self) -> f64 {
        match self {
            Self::TwoWheels => 66.0,
            Self::Closed | Self::Untold => 34.0,
        }
    }

    /// Whether it has a cabin, with doors, sills and seats side by side.
    pub fn has_cabin(self) -> bool {
        self == Self::Closed
    }
}

#[cfg(test)]
mod tests {
    use super::Shell;
    use crate::plan;

    fn told(summary: &str) -> Shell {
        Shell::of(&plan::read(format!("plan: 1\nvehicle: {{summary: \"{summary}\"}}\n")).plan)
    }

    #[test]
    fn the_first_word_for_a_vehicle_tells_what_is_drawn() {
        for words in [
            "estate car, diesel",
            "Hatchback",
            "panel van (carries a motorcycle)",
            "old pick-up",
            "hybrid people carrier",
        ] {
            assert_eq!(told(words), Shell::Closed, "{words}");
        }
        for words in ["touring motorcycle, two panniers", "Scooter", "motorbike with a car horn"] {
            assert_eq!(told(words), Shell::TwoWheels, "{words}");
        }
        for words in ["", "open boat, outboard", "carbon trailer", "caravan"] {
            assert_eq!(told(words), Shell::Untold, "{words}");
        }
        assert_eq!(Shell::of(&plan::read("plan: 1\n".to_owned()).plan), Shell::Untold);
    }
}
