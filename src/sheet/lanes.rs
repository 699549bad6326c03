//! Lanes: lines that share a channel lie side by side.

/// A stretch of a line along a channel, with the weight of the line.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// How thick the line is.
    pub weight: f64,
}

/// Free room between two lines of a channel.
const BETWEEN: f64 = 4.0;
/// How far two lines in one lane stay from each other, end to end.
const APART: f64 = 10.0;

/// Where lines lie across a channel, and how wide that makes it.
#[derive(Debug, Clone, Default)]
pub struct Lanes {
    /// How far each line's middle lies from the channel's first side, in the order of the stretches.
    pub offsets: Vec<f64>,
    /// How wide the channel is.
    pub width: f64,
}

/// Puts stretches into lanes in their order: one lies beyond every earlier one that it runs beside, and no farther out
/// than that.
pub fn lay(stretches: &[Stretch]) -> Lanes {
    let mut lanes: Vec<usize> = Vec::new();
    let mut widths: Vec<f64> = Vec::new();
    for (at, stretch) in stretches.iter().enumerate() {
        let beside = |other: &usize| are_beside(*stretch, stretches[*other]);
        let lane = (0..at).filter(beside).map(|other| lanes[other] + 1).max().unwrap_or(0);
        lanes.push(lane);
        if lane == widths.len() {
            widths.push(0.0);
        }
        widths[lane] = widths[lane].max(stretch.weight);
    }
    let middle = |lane: usize| {
        let before: f64 = widths[..lane].iter().map(|width| width + BETWEEN).sum();
        BETWEEN + before + widths[lane] / 2.0
    };
    let width = widths.iter().map(|width| width + BETWEEN).sum::<f64>() + BETWEEN;
    Lanes { offsets: lanes.into_iter().map(middle).collect(), width }
}

fn are_beside(one: Stretch, other: Stretch) -> bool {
    let ends = |stretch: Stretch| (stretch.from.min(stretch.to), stretch.from.max(stretch.to));
    let ((a, b), (c, d)) = (ends(one), ends(other));
    a < d + APART && c < b + APART
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_lines_that_run_beside_each_other_take_lanes_of_their_own() {
        let stretch = |from, to| Stretch { from, to, weight: 2.0 };
        let lanes = lay(&[stretch(0.0, 50.0), stretch(100.0, 70.0), stretch(40.0, 80.0)]);
        assert_eq!((lanes.offsets, lanes.width), (vec![5.0, 5.0, 11.0], 16.0));
    }
}
