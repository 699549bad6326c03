//! What an amplifier's maker states of some of its outputs: those of a section, or those that no section names.

use super::known::{Decided, Place, Thing, Undecided, all};
use crate::plan::{Amplifier, AmplifierClass, Bridged, BridgedRatings, Load, RatedPower, Section};
use crate::quantity::{Quantity, Resistance, Share};

/// What holds for outputs that are alike. Whoever asks an amplifier for a load, a power or a class asks this.
#[derive(Debug, Clone)]
pub struct Ratings<'a> {
    amplifier: Thing<'a, Amplifier>,
    /// The section by name; `None` for the outputs that no section names.
    pub section: Option<(&'a str, &'a Section)>,
    /// Rated power of one channel at each rated load.
    pub rated: &'a [RatedPower],
    /// The smallest load of one channel.
    pub minimum_load: Option<Quantity<Resistance>>,
    /// What two joined channels give.
    pub bridged: Option<&'a Bridged>,
}

/// The ratings of the outputs that no section names: of all, where there are no sections.
pub fn of_rest<'a>(amplifier: &Thing<'a, Amplifier>) -> Ratings<'a> {
    let is = amplifier.plan();
    Ratings {
        amplifier: amplifier.clone(),
        section: None,
        rated: &is.rated,
        minimum_load: is.minimum_load,
        bridged: is.bridged.as_ref(),
    }
}

/// The ratings of every section.
pub fn of_sections<'a>(amplifier: &Thing<'a, Amplifier>) -> impl Iterator<Item = Ratings<'a>> {
    let amplifier = amplifier.clone();
    amplifier.plan().sections.iter().map(move |(name, is)| Ratings {
        amplifier: amplifier.clone(),
        section: Some((name, is)),
        rated: &is.rated,
        minimum_load: is.minimum_load,
        bridged: is.bridged.as_ref(),
    })
}

/// The ratings of one output.
///
/// # Errors
/// The needs for the outputs of sections that might name it.
pub fn of_output<'a>(amplifier: &Thing<'a, Amplifier>, output: u8) -> Decided<Ratings<'a>> {
    if let Some(own) = of_sections(amplifier).find(|ratings| ratings.names(output)) {
        return Ok(own);
    }
    named(amplifier)?;
    Ok(of_rest(amplifier))
}

/// The outputs that sections name, each once.
///
/// # Errors
/// The needs for the outputs of sections that state none.
pub fn named(amplifier: &Thing<'_, Amplifier>) -> Decided<Vec<u8>> {
    let outputs = of_sections(amplifier).map(|ratings| match ratings.section {
        Some((_, section)) if !section.outputs.is_empty() => Ok(section.outputs.clone()),
        _ => Err(Undecided::need(ratings.at("outputs"))),
    });
    let mut outputs = all(outputs)?.concat();
    outputs.sort_unstable();
    outputs.dedup();
    Ok(outputs)
}

/// The ratings of the outputs of a load.
///
/// # Errors
/// The needs for the outputs of load and sections; not applicable to outputs of different sections.
pub fn of<'a>(load: &Thing<'_, Load>, amplifier: &Thing<'a, Amplifier>) -> Decided<Ratings<'a>> {
    if amplifier.sections.is_empty() {
        return Ok(of_rest(amplifier));
    }
    let ratings = all(load.outputs.iter().map(|output| of_output(amplifier, *output)))?;
    let is_one = ratings.windows(2).all(|pair| pair[0].name() == pair[1].name());
    match ratings.into_iter().next() {
        None => Err(Undecided::need(load.at("outputs"))),
        Some(first) if is_one => Ok(first),
        Some(_) => Err(Undecided::NotApplicable("outputs of different sections (LOAD-02 or LOAD-10 reports that)")),
    }
}

impl<'a> Ratings<'a> {
    /// The name of the section.
    pub fn name(&self) -> Option<&'a str> {
        self.section.map(|(name, _)| name)
    }

    /// The name of the amplifier.
    pub fn amplifier(&self) -> &'a str {
        self.amplifier.name
    }

    /// Where a key of them stands.
    pub fn at(&self, key: &'static str) -> Place {
        match self.section {
            Some((name, _)) => self.amplifier.at(format!("sections.{name}.{key}")),
            None => self.amplifier.at(key),
        }
    }

    /// Whether their section names an output.
    pub fn names(&self, output: u8) -> bool {
        self.section.is_some_and(|(_, section)| section.outputs.contains(&output))
    }

    /// The class of their output stage.
    ///
    /// # Errors
    /// The need for it.
    pub fn class(&self) -> Decided<AmplifierClass> {
        let own = self.section.and_then(|(_, section)| section.class);
        own.map_or_else(|| self.amplifier.need("class", &self.amplifier.class), Ok)
    }

    /// Their efficiency where it is stated, and where it stands or would stand: a section that states neither it nor a
    /// class has the amplifier's.
    pub fn efficiency(&self) -> (Place, Option<Quantity<Share>>) {
        match self.section {
            Some((_, section)) if section.efficiency.is_some() || section.class.is_some() => {
                (self.at("efficiency"), section.efficiency)
            }
            _ => (self.amplifier.at("efficiency"), self.amplifier.efficiency),
        }
    }

    /// The rated points for so many outputs on one load: one channel's, or those of two channels bridged.
    pub fn points(&self, outputs: usize) -> &'a [RatedPower] {
        match (self.bridged, outputs) {
            (Some(Bridged::Ratings(bridged)), 2) => &bridged.rated,
            _ => self.rated,
        }
    }

    /// Where those points stand.
    pub fn points_at(&self, outputs: usize) -> Place {
        self.at(if outputs == 2 { "bridged.rated" } else { "rated" })
    }

    /// The smallest load for so many outputs, in ohm: of one channel, or across two that are bridged; where its maker
    /// states none for two, each of them stands its own and sees half.
    ///
    /// # Errors
    /// The needs for what the maker states; outputs that cannot be joined do not apply.
    pub fn least_ohms(&self, outputs: usize) -> Decided<f64> {
        let one = self.minimum_load.map(Quantity::base).ok_or_else(|| Undecided::need(self.at("minimum_load")));
        match self.joined(outputs)? {
            Some(bridged) => bridged.minimum_load.map_or_else(|| one.map(|ohms| ohms * 2.0), |both| Ok(both.base())),
            None => one,
        }
    }

    /// What two joined outputs give; nothing for one output.
    ///
    /// # Errors
    /// The need for whether they can be joined; those that cannot do not apply.
    pub fn joined(&self, outputs: usize) -> Decided<Option<&'a BridgedRatings>> {
        match (outputs, self.bridged) {
            (1, _) => Ok(None),
            (2, Some(Bridged::Ratings(bridged))) => Ok(Some(bridged)),
            (2, None) => Err(Undecided::need(self.at("bridged"))),
            _ => Err(Undecided::NotApplicable("outputs that cannot be joined (LOAD-02 or LOAD-10 reports that)")),
        }
    }

    /// The place of an output among those with these ratings, from 0: makers join the first with the second, the third
    /// with the fourth.
    pub fn number_of(&self, output: u8) -> usize {
        let is_own = |other: &u8| match self.section {
            Some(_) => self.names(*other),
            None => !of_sections(&self.amplifier).any(|ratings| ratings.names(*other)),
        };
        (1..output).filter(is_own).count()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    fn of_amp<T>(sections: &str, look: impl FnOnce(&Thing<'_, Amplifier>) -> T) -> T {
        let plan = format!("plan: 1\namplifiers: {{amp: {{minimum_load: 4 ohm, sections: {{{sections}}}}}}}\n");
        of_job(&plan, |job| look(&job.amplifiers[0]))
    }

    #[test]
    fn an_output_is_of_its_section_or_of_the_rest() {
        of_amp("bass: {outputs: [5], minimum_load: 1 ohm}", |amp| {
            let least = |output: u8| of_output(amp, output).expect("stated").least_ohms(1);
            assert_eq!([least(1), least(4), least(5), least(6)], [Ok(4.0), Ok(4.0), Ok(1.0), Ok(4.0)]);
            let place = |output: u8| of_output(amp, output).expect("stated").points_at(2).path();
            assert_eq!(place(1), "amplifiers.amp.bridged.rated");
            assert_eq!(place(5), "amplifiers.amp.sections.bass.bridged.rated");
        });
    }

    /// Any output that no other section names may be one of those that are not stated.
    #[test]
    fn a_section_without_outputs_may_hold_any_that_no_other_names() {
        of_amp("bass: {outputs: [5]}, rear: {}", |amp| {
            assert_eq!(of_output(amp, 5).expect("named").name(), Some("bass"));
            let open = of_output(amp, 1).map(|ratings| ratings.name());
            assert_eq!(open, Err(Undecided::need(Place::of("amplifiers.amp.sections.rear.outputs"))));
        });
    }

    #[test]
    fn outputs_are_counted_among_those_that_are_alike() {
        of_amp("bass: {outputs: [3]}, rear: {outputs: [4, 5]}", |amp| {
            let number = |output: u8| of_output(amp, output).expect("stated").number_of(output);
            assert_eq!([1, 2, 3, 4, 5, 6, 7].map(number), [0, 1, 0, 0, 1, 2, 3]);
        });
    }
}
