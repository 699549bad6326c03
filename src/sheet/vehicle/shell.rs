//! The vehicle itself in general outline, as far as the plan's words tell what it is. All are of no make.

use std::f64::consts::FRAC_PI_2;

use super::super::drawing::{Anchor, Area, Ink, Point, Shape};
use super::frame::{BODY, WIDTH};
use super::outline::text;
use super::route::Levels;
use super::ways::Row;
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

    /// The outline, the lowest first.
    pub fn draw(self, levels: &Levels) -> Vec<Shape> {
        let mut shapes = match self {
            Self::Closed => closed(levels),
            Self::TwoWheels => two_wheels(levels),
            Self::Untold => vec![rounded(6.0, levels.tail() - 6.0, (28.0, 28.0), (28.0, 28.0))],
        };
        shapes.push(text("front", (WIDTH / 2.0, self.ends() - 12.0), Anchor::Middle, Ink::Faint));
        shapes
    }
}

/// A round nose, four wheels, two mirrors.
fn closed(levels: &Levels) -> Vec<Shape> {
    let (left, right) = BODY;
    let mut shapes = Vec::new();
    for top in [levels.top(Row::EngineBay) + 8.0, levels.top(Row::Cargo) + 6.0] {
        for x in [left - 14.0, right - 10.0] {
            shapes.push(block(Area { left: x, top, width: 24.0, height: 62.0 }));
        }
    }
    let mirror = levels.top(Row::Dash) + 6.0;
    for (x, out) in [(left + 2.0, -18.0), (right - 2.0, 18.0)] {
        let points = vec![(x, mirror), (x + out, mirror + 4.0), (x + out, mirror + 13.0), (x, mirror + 16.0)];
        shapes.push(Shape::Outline { points, ink: Ink::Faint });
    }
    shapes.push(rounded(6.0, levels.tail() - 6.0, (70.0, 28.0), (46.0, 26.0)));
    shapes
}

/// A wheel before and a wheel behind, grips to either side at the dash, foot rests below the seat. As wide as what is
/// drawn in it: nothing here is to scale.
fn two_wheels(levels: &Levels) -> Vec<Shape> {
    const TIRE: f64 = 84.0;
    let (left, right) = BODY;
    let tail = levels.tail();
    let mut shapes = Vec::new();
    for top in [2.0, tail - 82.0] {
        shapes.push(block(Area { left: (WIDTH - TIRE) / 2.0, top, width: TIRE, height: 80.0 }));
    }
    for (row, out, height) in [(Row::Dash, 22.0, 12.0), (Row::UnderSeat, 14.0, 9.0)] {
        let top = levels.top(row) + 6.0;
        for x in [left - out, right - 4.0] {
            shapes.push(block(Area { left: x, top, width: out + 4.0, height }));
        }
    }
    let most = (right - left) / 2.0;
    shapes.push(rounded(26.0, tail - 26.0, (most, 38.0), (most, 38.0)));
    shapes
}

fn block(at: Area) -> Shape {
    Shape::Block { at, round: 8.0, ink: Ink::Faint }
}

/// A body as wide as what is drawn in it, its corners quarters of ellipses: how far they reach inwards and along it.
fn rounded(top: f64, bottom: f64, nose: (f64, f64), tail: (f64, f64)) -> Shape {
    let (left, right) = BODY;
    let mut points = Vec::new();
    corner(&mut points, (left + nose.0, top + nose.1), nose, 2);
    corner(&mut points, (right - nose.0, top + nose.1), nose, 3);
    corner(&mut points, (right - tail.0, bottom - tail.1), tail, 0);
    corner(&mut points, (left + tail.0, bottom - tail.1), tail, 1);
    Shape::Outline { points, ink: Ink::Faint }
}

/// A quarter of an ellipse around a point, from a quarter of the compass on.
fn corner(points: &mut Vec<Point>, (x, y): Point, (wide, high): (f64, f64), quarter: u8) {
    const STEPS: u8 = 12;
    for step in 0..=STEPS {
        let angle = FRAC_PI_2 * (f64::from(quarter) + f64::from(step) / f64::from(STEPS));
        points.push((x + wide * angle.cos(), y + high * angle.sin()));
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
