//! Values that things are made in: nobody buys a stud of 8.6 mm or a coil of 4.1 ohm.

use crate::plan::FuseForm;
use crate::text::fits;

/// What is made in a few values only.
struct Series {
    /// Where such a thing is stated.
    paths: &'static [&'static str],
    /// The unit of the values.
    unit: &'static str,
    /// The values, rising; the ratings of fuses where there are none.
    values: &'static [f64],
}

const SERIES: [Series; 6] = [
    // Metric threads from M4 to M12 (ISO 261 coarse, from memory).
    Series { paths: &["wires.*.ends.*.stud"], unit: "mm", values: &[4.0, 5.0, 6.0, 8.0, 10.0, 12.0] },
    // Nominal impedances of voice coils and of what amplifiers are made for (common practice, no published source).
    Series {
        paths: &[
            "drivers.*.coils.*",
            "amplifiers.*.minimum_load",
            "amplifiers.*.bridged.minimum_load",
            "amplifiers.*.rated.*.load",
            "amplifiers.*.sections.*.minimum_load",
            "amplifiers.*.sections.*.bridged.minimum_load",
            "amplifiers.*.sections.*.rated.*.load",
            "sources.*.speaker_load",
        ],
        unit: "ohm",
        values: &[1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 16.0],
    },
    // Thirds of an octave as test discs have them (ISO 266, from memory).
    Series {
        paths: &["settings.*.tone"],
        unit: "Hz",
        values: &[
            20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0,
            800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10_000.0,
        ],
    },
    // 32 V and 58 V (ISO 8820-3:2015 scope, read); parts marked for the system's name (common practice, no published
    // source).
    Series {
        paths: &["wires.*.fuse|far_fuse.voltage", "blocks.*.outputs.*.fuse.voltage"],
        unit: "V",
        values: &[12.0, 24.0, 32.0, 58.0],
    },
    // As sheets state it (common practice, no published source).
    Series {
        paths: &["wires.*.fuse|far_fuse.breaking_capacity", "blocks.*.outputs.*.fuse.breaking_capacity"],
        unit: "A",
        values: &[500.0, 1000.0, 2000.0, 2500.0, 3000.0, 4000.0, 5000.0, 6000.0, 10_000.0],
    },
    // What carries a fuse is rated as fuses are.
    Series {
        paths: &[
            "amplifiers.*.maximum_fuse",
            "wires.*.fuse|far_fuse.holder.rated",
            "blocks.*.outputs.*.fuse.holder.rated",
            "measured.wires.*.fuse",
        ],
        unit: "A",
        values: &[],
    },
];

/// The values that what is stated at a path is made in; nothing where any number may be. In the base unit.
pub(super) fn series(path: &str, unit: &str) -> Option<Vec<f64>> {
    let of_path = |series: &&Series| series.unit == base(unit).0 && series.paths.iter().any(|like| fits(like, path));
    let series = SERIES.iter().find(of_path)?;
    Some(if series.values.is_empty() { ratings() } else { series.values.to_vec() })
}

/// The forms that fuses are made in.
pub(super) const FORMS: [FuseForm; 4] =
    [FuseForm::BladeMiniature, FuseForm::BladeRegular, FuseForm::BladeLarge, FuseForm::BoltDown];

/// Every rating that fuses are made with, in A, rising.
pub(super) fn ratings() -> Vec<f64> {
    let mut made: Vec<f64> = FORMS.into_iter().flat_map(|form| form.ratings().iter().copied()).collect();
    made.sort_by(f64::total_cmp);
    made.dedup();
    made
}

/// Units of which people write the smaller one below one of them, and how many of those it has.
const SMALLER: [(&str, &str, f64); 3] = [("m", "cm", 100.0), ("kHz", "Hz", 1000.0), ("kA", "A", 1000.0)];

/// The unit that a series is in, and how many of it a unit has.
pub(super) fn base(unit: &str) -> (&str, f64) {
    let smaller = SMALLER.iter().find(|(larger, _, count)| *larger == unit && *count > 100.0);
    smaller.map_or((unit, 1.0), |(_, smaller, count)| (*smaller, *count))
}

/// A number with its unit as people write it.
pub(super) fn written(value: f64, unit: &str) -> String {
    let smaller = SMALLER.iter().find(|(larger, ..)| *larger == unit && value < 1.0);
    let (value, unit) = smaller.map_or((value, unit), |(_, smaller, count)| (value * count, *smaller));
    let digits = format!("{value:.6}");
    format!("{} {unit}", digits.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_in_few_values_has_a_series() {
        assert_eq!(series("wires.main.ends.to.stud", "mm"), Some(vec![4.0, 5.0, 6.0, 8.0, 10.0, 12.0]));
        assert!(series("settings.amp.tone", "kHz").is_some_and(|tones| tones.contains(&1000.0)));
        assert!(series("amplifiers.amp.maximum_fuse", "A").is_some_and(|ratings| ratings.contains(&80.0)));
        assert_eq!(series("wires.main.length", "m"), None);
        assert_eq!(series("wires.main.ends.to.stud", "in"), None);
        assert!(SERIES.iter().all(|series| series.values.is_sorted()));
    }

    #[test]
    fn below_one_the_smaller_unit_is_written() {
        let words =
            [written(0.29, "m"), written(0.125, "kHz"), written(0.5, "kA"), written(0.19, "V"), written(2.5, "m")];
        assert_eq!(words, ["29 cm", "125 Hz", "500 A", "0.19 V", "2.5 m"]);
    }
}
