//! The operating cases in which a supply is solved.

/// An operating case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Case {
    /// On the road, programme.
    CruiseProgramme,
    /// Engine idling, programme.
    IdleProgramme,
    /// Engine idling, full output.
    IdleFull,
    /// Engine off, programme.
    OffProgramme,
    /// Engine off, full output.
    OffFull,
}

impl Case {
    /// Every case.
    pub const ALL: [Self; 5] =
        [Self::CruiseProgramme, Self::IdleProgramme, Self::IdleFull, Self::OffProgramme, Self::OffFull];

    /// The case in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::CruiseProgramme => "on the road, programme",
            Self::IdleProgramme => "engine idling, programme",
            Self::IdleFull => "engine idling, full output",
            Self::OffProgramme => "engine off, programme",
            Self::OffFull => "engine off, full output",
        }
    }

    /// Whether the alternator charges.
    pub(super) const fn engine_runs(self) -> bool {
        matches!(self, Self::CruiseProgramme | Self::IdleProgramme | Self::IdleFull)
    }

    /// Whether amplifiers give all they can.
    pub(super) const fn is_full(self) -> bool {
        matches!(self, Self::IdleFull | Self::OffFull)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whoever reads a figure has to know whether the engine ran and how loud it played.
    #[test]
    fn the_words_of_a_case_tell_its_engine_and_its_output() {
        for case in Case::ALL {
            assert_eq!(case.words().contains("engine off"), !case.engine_runs(), "{}", case.words());
            assert_eq!(case.words().contains("full output"), case.is_full(), "{}", case.words());
            let same = Case::ALL.iter().filter(|other| other.words() == case.words());
            assert_eq!(same.count(), 1, "{}", case.words());
        }
    }
}
