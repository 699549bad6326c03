//! What the fasteners of a mount hold, against the pull of a crash.

use crate::judge::{Comparison, Figure, Input, Value, at_least};
use crate::plan::{FastenerKind, Mount, StrengthClass, Thread, word};
use crate::quantity::{Mass, Range};
use crate::solve::{Decided, Job, Known, Origin, Place, Thing, Undecided, holding};

/// More fasteners of a kind than this nobody fits.
const MOST: f64 = 12.0;
/// Bolts that do the work of any number of screws, from the usual ones up.
const BOLTS: [(u8, Thread); 3] = [(4, Thread::M6), (4, Thread::M8), (8, Thread::M10)];
/// Screws that only bite, beyond which more of them count nothing: they shake loose together (common practice, no published
/// source).
const MOST_SCREWS: f64 = 8.0;
const COMMON: &str = "common practice, no published source";
/// Classes that bolts of a workshop have; 10.9 has to be stated.
const CLASSES: [StrengthClass; 3] = [StrengthClass::C48, StrengthClass::C58, StrengthClass::C88];

/// What the fasteners of a mount hold.
pub struct Hold {
    /// The words in the plan that decide.
    pub place: Place,
    /// What they are.
    pub kind: FastenerKind,
    count: f64,
    /// Where they are counted.
    pub counted: Place,
    /// What one of them holds, in newtons, least and most.
    each: (f64, f64),
    /// Where that comes from.
    origin: Origin,
}

impl Hold {
    /// Whether they count nothing at all.
    pub fn holds_nothing(&self) -> bool {
        self.count * self.each.1 == 0.0
    }

    /// Whether it is just one, about which everything can turn.
    pub fn is_single(&self) -> bool {
        self.count < 2.0
    }

    /// Whether they bite into board or sheet and go through nothing.
    fn only_bites(&self) -> bool {
        matches!(self.kind, FastenerKind::WoodScrew | FastenerKind::SheetMetalScrew)
    }

    /// What they are, in words.
    pub fn said(&self) -> String {
        match (self.count == 0.0, self.kind) {
            (true, _) => "0 fasteners".to_owned(),
            (_, FastenerKind::HookAndLoop) => "hook-and-loop tape".to_owned(),
            (_, FastenerKind::Adhesive) => "glue".to_owned(),
            (_, kind) => word(&kind).replace('-', " "),
        }
    }

    /// What they hold, compared with a mass that the house's crash pulls at.
    pub fn against(&self, job: &Job<'_>, mass: &Known<Mass>) -> Comparison {
        let limit = job.house.limits.holding;
        let counting = if self.only_bites() { self.count.min(MOST_SCREWS) } else { self.count };
        let holds = |one: f64| holding::held_mass(one * counting, limit.base());
        let holds: Range<Mass> = Range::new(holds(self.each.0), holds(self.each.1));
        let (low, high) = self.each;
        let one = if low < high { format!("{low:.0} to {high:.0} N") } else { format!("{high:.0} N") };
        at_least(holds, mass.range)
            .formula("fasteners x load of one / (pull x 9.81 m/s2)")
            .given(Input::known("mass", mass))
            .given(Input::from(
                "fasteners",
                Figure::ratio(self.count, self.count),
                Origin::Stated(self.counted.clone()),
            ))
            .given_all((counting < self.count).then(|| {
                let origin = Origin::Computed("more screws that only bite shake loose together; common practice");
                Input::from("of which count", Figure::ratio(counting, counting), origin)
            }))
            .given(Input { name: "load of one", value: Value::Word(one), origin: self.origin.clone() })
            .given(Input::limit("pull", &limit))
            .limit_from(limit.source)
    }

    /// What would do: bolts right through in the place of screws that only bite, else how many of their kind, where that is a
    /// number anybody fits.
    pub fn enough(&self, job: &Job<'_>, mass: &Known<Mass>) -> String {
        let pull = mass.range.high() * job.house.limits.holding.base() * holding::GRAVITY;
        if self.only_bites() {
            let holds = |(count, thread): &(u8, Thread)| {
                f64::from(*count) * holding::bolt_load(*thread, StrengthClass::C88) >= pull
            };
            let bolts = BOLTS.iter().find(|bolts| holds(bolts));
            return bolts.map_or("stronger fasteners".to_owned(), |(count, thread)| {
                format!(
                    "bolts right through, {count} x {} of class 8.8 with wide washers, in place of the screws",
                    word(thread)
                )
            });
        }
        let many = (pull / self.each.0).ceil();
        if many <= MOST {
            format!("at least {many} of them, or stronger ones")
        } else {
            "stronger fasteners".to_owned()
        }
    }
}

/// What the fasteners of a mount hold together.
///
/// # Errors
/// The needs for their kind, count and thread.
pub fn hold(job: &Job<'_>, mount: &Thing<'_, Mount>) -> Decided<Hold> {
    let at = mount.at("fasteners.kind");
    let fasteners = mount.fasteners.as_ref().ok_or_else(|| Undecided::need(at.clone()))?;
    let kind = fasteners.kind.ok_or_else(|| Undecided::need(at.clone()))?;
    let counted = mount.at("fasteners.count");
    let one = holding::assumed_holding(kind);
    let assumed = Origin::Computed("what one of that kind is taken to hold; common practice, no published source");
    if one == Some(0.0) {
        return Ok(Hold { place: at, kind, count: 1.0, counted, each: (0.0, 0.0), origin: assumed });
    }
    let count = f64::from(fasteners.count.ok_or_else(|| Undecided::need(counted.clone()))?);
    if count == 0.0 {
        return Ok(Hold { place: counted.clone(), counted, kind, count, each: (0.0, 0.0), origin: assumed });
    }
    if let Some(one) = one {
        return Ok(Hold { place: counted.clone(), counted, kind, count, each: (one, one), origin: assumed });
    }
    let place = mount.at("fasteners.thread");
    let thread = fasteners.thread.ok_or_else(|| Undecided::need(place.clone()))?;
    let show = |step: f64| CLASSES.iter().rev().find(|class| step >= index(**class)).map(word).unwrap_or_default();
    let classes = job.assume_words(&mount.at("fasteners.class"), fasteners.class, &CLASSES, show, COMMON);
    let loads = classes.iter().map(|class| holding::bolt_load(thread, *class));
    let each = loads.fold((f64::INFINITY, 0.0_f64), |(low, high), load| (low.min(load), high.max(load)));
    let origin = Origin::Computed(
        "0.6 x stress area x proof stress of its thread and class, ISO 898-1 (from memory): across its axis it holds least",
    );
    Ok(Hold { place, kind, count, counted, each, origin })
}

/// The place of a class among [`CLASSES`].
fn index(class: StrengthClass) -> f64 {
    match class {
        StrengthClass::C48 => 0.0,
        StrengthClass::C58 => 1.0,
        StrengthClass::C88 | StrengthClass::C109 => 2.0,
    }
}
