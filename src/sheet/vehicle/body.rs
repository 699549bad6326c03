//! The vehicle itself in general outline. All are of no make.

use std::f64::consts::FRAC_PI_2;

use super::super::drawing::{Anchor, Area, Ink, Point, Shape};
use super::frame::{BODY, WIDTH};
use super::route::Levels;
use super::shell::Shell;
use super::tile::{SIZE, words};
use super::ways::Row;

/// The outline, the lowest first.
pub fn draw(shell: Shell, levels: &Levels) -> Vec<Shape> {
    let mut shapes = match shell {
        Shell::Closed => closed(levels),
        Shell::TwoWheels => two_wheels(levels),
        Shell::Untold => vec![rounded(6.0, levels.tail() - 6.0, (28.0, 28.0), (28.0, 28.0))],
    };
    shapes.push(words("front", (WIDTH / 2.0, shell.ends() - 12.0), SIZE, Anchor::Middle, Ink::Faint));
    shapes
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
