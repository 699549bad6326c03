//! What of lines and areas lies inside a frame.

use crate::sheet::drawing::{Area, Point};

/// The part of a straight line inside an area, by shares of its length (Liang and Barsky).
fn inside(from: Point, to: Point, area: Area) -> Option<(f64, f64)> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let edges = [
        (-dx, from.0 - area.left),
        (dx, area.right() - from.0),
        (-dy, from.1 - area.top),
        (dy, area.bottom() - from.1),
    ];
    let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
    for (slope, room) in edges {
        if slope == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if slope < 0.0 {
            enters = enters.max(room / slope);
        } else {
            leaves = leaves.min(room / slope);
        }
    }
    (enters <= leaves).then_some((enters, leaves))
}

/// Whether a straight line comes into an area.
pub fn crosses(from: Point, to: Point, area: Area) -> bool {
    inside(from, to, area).is_some()
}

/// The pieces of a line that lie inside an area.
pub fn cut(points: &[Point], area: Area) -> Vec<Vec<Point>> {
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    for pair in points.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let Some((enters, leaves)) = inside(from, to, area) else { continue };
        let at = |share: f64| (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
        let (start, end) = (at(enters), at(leaves));
        match pieces.last_mut() {
            Some(piece) if enters == 0.0 && piece.last() == Some(&start) => piece.push(end),
            _ => pieces.push(vec![start, end]),
        }
    }
    pieces
}

/// One side of an area: how far a point lies along its normal, and from where on it is inside.
type Side = (fn(Point) -> f64, f64);

/// The part of an area with straight sides that lies inside another (Sutherland and Hodgman).
pub fn cut_area(points: Vec<Point>, area: Area) -> Vec<Point> {
    let sides: [Side; 4] =
        [(|p| p.0, area.left), (|p| -p.0, -area.right()), (|p| p.1, area.top), (|p| -p.1, -area.bottom())];
    sides.into_iter().fold(points, |points, (measure, least)| {
        let mut kept = Vec::new();
        for (at, to) in points.iter().enumerate() {
            let from = points[(at + points.len() - 1) % points.len()];
            let (before, after) = (measure(from) - least, measure(*to) - least);
            if (before < 0.0) != (after < 0.0) {
                let share = before / (before - after);
                kept.push((from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share));
            }
            if after >= 0.0 {
                kept.push(*to);
            }
        }
        kept
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Area = Area { left: 0.0, top: 0.0, width: 10.0, height: 10.0 };

    #[test]
    fn a_line_is_cut_where_it_leaves_the_frame() {
        let pieces = cut(&[(-5.0, 5.0), (5.0, 5.0), (5.0, 15.0), (8.0, 15.0), (8.0, 5.0)], FRAME);
        assert_eq!(pieces, [vec![(0.0, 5.0), (5.0, 5.0), (5.0, 10.0)], vec![(8.0, 10.0), (8.0, 5.0)]]);
    }

    #[test]
    fn an_area_is_cut_to_the_frame() {
        let cut = cut_area(vec![(5.0, 5.0), (15.0, 5.0), (15.0, 8.0), (5.0, 8.0)], FRAME);
        assert_eq!(cut, [(5.0, 5.0), (10.0, 5.0), (10.0, 8.0), (5.0, 8.0)]);
        assert!(cut_area(vec![(11.0, 1.0), (12.0, 1.0), (12.0, 2.0)], FRAME).is_empty());
    }
}
