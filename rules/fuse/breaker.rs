//! Circuit breakers in the heat of their place, where they carry less than their rating; a part of FUSE-04.

use crate::judge::Input;
use crate::quantity::{Current, Quantity, Range, Temperature};
use crate::solve::breaker::RATED_AT;
use crate::solve::protection::FuseSite;
use crate::solve::{Job, Known};

/// How hot it gets where a circuit breaker sits, and what it still carries there.
pub struct Heat {
    ambient: Known<Temperature>,
    /// What it carries there for good.
    pub carries: Known<Current>,
    is_stated: bool,
}

impl Heat {
    /// Of a breaker of a rating at its place.
    pub fn of(site: &FuseSite, rating: Quantity<Current>, job: &Job<'_>) -> Self {
        let is_stated = site.fuse.carries.is_some();
        Self { ambient: job.heat_of_fuse(site), carries: job.breaker_carries(site, rating), is_stated }
    }

    /// Whether the place may take something of the rating.
    pub fn is_hot(&self) -> bool {
        self.ambient.range.high() > RATED_AT
    }

    /// What its working shows.
    pub fn inputs(&self, job: &Job<'_>) -> Vec<Input> {
        let carries = Input::known("carries where it sits", &self.carries);
        if self.is_stated {
            return vec![carries];
        }
        let loss = job.house.assumptions.breaker_heat;
        vec![
            Input::known("heat where it sits", &self.ambient),
            Input::known("lost for each degree above 25 C", &Known::table(loss.range, loss.source)),
            carries,
        ]
    }

    /// The rating of which as much is left in this heat as is asked; nothing where nothing is left.
    pub fn rating_for(&self, asked: Range<Current>, rating: Quantity<Current>) -> Option<Range<Current>> {
        let left = self.carries.range.low() / rating.base();
        (left > 0.0).then(|| asked / left)
    }
}

#[cfg(test)]
mod tests {
    use crate::house::Setting;
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, check_by, finding, outcome};

    /// A breaker in front of some 40 A; its resistance is stated, as it follows the rating.
    fn breaker(rating: &str, path: &str, more: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\namplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, \
             idle_current: 1 A, rated: [{{load: 2 ohm, power: 400 W}}]}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, size: 2 AWG, length: 3 m, conductor: copper, path: [{path}], \
             fuse: {{form: circuit-breaker, resistance: 1 mohm, rating: {rating}, distance: 10 cm{more}}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}}\n"
        )
    }

    fn of_breaker(rating: &str, path: &str, more: &str) -> Outcome {
        outcome(&breaker(rating, path, more), "FUSE-04", "wires.main.fuse")
    }

    /// At 50 C, 25 above room temperature, 7.5 to 20 % are lost, at 30 C 1.5 to 4 %.
    #[test]
    fn a_breaker_carries_less_in_the_heat_of_its_place() {
        let limit = check(&breaker("90 A", "cargo", ""), "FUSE-04", "wires.main.fuse").working.map(|is| is.limit);
        let (low, high) = limit.map(|limit| (limit.low, limit.high)).unwrap_or_default();
        let of = |amperes: f64, path: &str| of_breaker(&format!("{amperes} A"), path, "");
        for (path, most, least) in [("engine-bay", 0.8, 0.925), ("cargo", 0.96, 0.985)] {
            assert_eq!(of(high / most + 0.05, path), Outcome::Pass, "{path}");
            assert_eq!(of(high / most - 0.05, path), Outcome::Open, "{path}");
            assert_eq!(of(low / least - 0.05, path), Outcome::Fail, "{path}");
            assert_eq!(of(low / least + 0.05, path), Outcome::Open, "{path}");
        }
    }

    #[test]
    fn what_the_maker_says_of_a_breaker_in_that_heat_comes_first() {
        assert_eq!(of_breaker("50 A", "engine-bay", ""), Outcome::Open);
        assert_eq!(of_breaker("50 A", "engine-bay", ", carries: 50 A"), Outcome::Pass);
        assert_eq!(of_breaker("50 A", "engine-bay", ", carries: 30 A"), Outcome::Fail);
        let open = check(&breaker("50 A", "engine-bay", ""), "FUSE-04", "wires.main.fuse");
        assert!(open.turns.iter().any(|turn| turn.place.path() == "wires.main.fuse.carries"), "{:?}", open.turns);
    }

    #[test]
    fn a_breaker_of_which_the_place_is_not_known_may_sit_in_the_heat() {
        let unplaced = breaker("50 A", "cargo", "").replace("path: [cargo], ", "");
        let open = check(&unplaced, "FUSE-04", "wires.main.fuse");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "wires.main.path"), "{:?}", open.turns);
    }

    /// What is asked is what is left of it in that heat.
    #[test]
    fn a_larger_or_a_cooler_breaker_is_proposed_and_a_fuse_keeps_its_rating() {
        let hot = breaker("30 A", "engine-bay", "");
        let finding = finding(&hot, "FUSE-04", "wires.main.fuse");
        assert!(
            finding.title.starts_with("30 A breaker that carries 24 to 27.8 A under a load of"),
            "{}",
            finding.title
        );
        assert!(finding.mend.ends_with(", or set it where it stays cooler"), "{}", finding.mend);
        for after in after(&hot, "FUSE-04", "wires.main.fuse") {
            assert_eq!(outcome(&after, "FUSE-04", "wires.main.fuse"), Outcome::Pass, "{after}");
        }
        let fuse = hot.replace("circuit-breaker", "bolt-down");
        let working = check(&fuse, "FUSE-04", "wires.main.fuse").working.expect("worked");
        assert_eq!((working.result.low, working.result.high), (30.0, 30.0));
    }

    /// A house whose breakers lose so much that nothing is left is told to move it, not to fit an endless one.
    #[test]
    fn where_nothing_is_left_no_rating_is_named() {
        let mut house = crate::house::House::default();
        house.assumptions.hot_zone.set("100 C", "").expect("hot");
        house.assumptions.breaker_heat.set("1.5 %", "").expect("lost");
        let text = breaker("30 A", "engine-bay", "");
        let failed = check_by(&house, &text, "FUSE-04", "wires.main.fuse");
        let finding = failed.finding.expect("it fails");
        assert_eq!((finding.mend.as_str(), finding.offers.len()), ("set it where it stays cooler", 0));
    }

    /// In a place that stays at room temperature nothing is lost, so no cooler one is asked for.
    #[test]
    fn a_breaker_in_a_cool_place_has_only_to_be_larger() {
        let of = |heat: &str| {
            let mut house = crate::house::House::default();
            house.assumptions.zone.set(heat, "").expect("cool");
            let failed = check_by(&house, &breaker("30 A", "cargo", ""), "FUSE-04", "wires.main.fuse");
            failed.finding.expect("it fails").mend.contains("cooler")
        };
        assert_eq!((of("20 C"), of("25 C"), of("26 C")), (false, false, true));
    }

    /// The working shows what the breaker still carries, and what that was made from where the maker does not say it.
    #[test]
    fn what_a_breaker_carries_is_shown_with_its_heat() {
        let names = |more: &str| {
            let worked = check(&breaker("50 A", "engine-bay", more), "FUSE-04", "wires.main.fuse").working;
            let inputs = worked.expect("worked").inputs;
            inputs.into_iter().map(|input| input.name).filter(|name| !name.contains("current")).collect::<Vec<_>>()
        };
        let carries = "carries where it sits";
        assert_eq!(
            names(""),
            ["fuse rating", "heat where it sits", "lost for each degree above 25 C", carries, "loading"]
        );
        assert_eq!(names(", carries: 50 A"), ["fuse rating", carries, "loading"]);
    }
}
