//! The units that a kind of quantity is written in, and a value in all of them.

use crate::quantity::{self, Dimension, Gauge, Quantity, Range, dimension as kind};

/// The units in which a kind of quantity is written, the most usual first.
pub fn units(kind: &str) -> Vec<&'static str> {
    match kind {
        "cross-section" => vec!["AWG", "mm2"],
        _ => dimension(kind).map(|dimension| dimension.units).unwrap_or_default(),
    }
}

/// A value of a kind of quantity, as it is written, in the other units that the kind has.
pub fn otherwise(kind: &str, written: &str) -> Vec<String> {
    match kind {
        "cross-section" => Gauge::read(written).map(gauges).unwrap_or_default(),
        _ => dimension(kind).map(|dimension| (dimension.otherwise)(written)).unwrap_or_default(),
    }
}

struct Kind {
    units: Vec<&'static str>,
    otherwise: fn(&str) -> Vec<String>,
}

fn dimension(name: &str) -> Option<Kind> {
    fn one<D: Dimension>() -> Kind {
        Kind { units: D::UNITS.iter().map(|unit| unit.symbol).collect(), otherwise: in_all::<D> }
    }
    // Both ends of a range are quantities.
    let name = name.strip_suffix(" range").or(name.strip_suffix(" window")).unwrap_or(name);
    Some(match name {
        "length" => one::<kind::Length>(),
        "current" => one::<kind::Current>(),
        "voltage" => one::<kind::Voltage>(),
        "resistance" => one::<kind::Resistance>(),
        "power" => one::<kind::Power>(),
        "temperature" => one::<kind::Temperature>(),
        "frequency" => one::<kind::Frequency>(),
        "volume" => one::<kind::Volume>(),
        "mass" => one::<kind::Mass>(),
        "duration" => one::<kind::Duration>(),
        "capacity" => one::<kind::Capacity>(),
        "capacitance" => one::<kind::Capacitance>(),
        "angle" => one::<kind::Angle>(),
        "level" => one::<kind::Level>(),
        "share" => one::<kind::Share>(),
        "slope" => one::<kind::Slope>(),
        "speed" => one::<kind::Speed>(),
        "acceleration" => one::<kind::Acceleration>(),
        "ratio" => one::<kind::Ratio>(),
        _ => return None,
    })
}

/// The value in every unit but its own.
fn in_all<D: Dimension>(written: &str) -> Vec<String> {
    let Ok(value) = Quantity::<D>::read(written) else { return Vec::new() };
    let own = written.trim().trim_start_matches(|c: char| c.is_ascii_digit() || "./-+".contains(c)).trim();
    let others = D::UNITS.iter().filter(|unit| unit.symbol != own);
    let told = others.map(|unit| {
        let value = (value.base() - unit.offset) / unit.scale;
        format!("{} {}", quantity::text::digits(value), unit.symbol)
    });
    // Three digits of a second in days say nothing.
    told.filter(|told| !told.starts_with("0 ")).collect()
}

/// A gauge in square millimetres; a metric size also between which gauges it lies.
fn gauges(size: Gauge) -> Vec<String> {
    let area = size.square_millimetres();
    match size {
        Gauge::Awg(_) => vec![Range::<kind::Area>::point(area).to_string()],
        Gauge::Metric(_) => {
            let thinner = (-3..=40).map(Gauge::Awg).find(|gauge| gauge.square_millimetres() <= area);
            thinner.map(|gauge| format!("at least {gauge}")).into_iter().collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{otherwise, units};

    /// The yard is 0.9144 m, so the foot is 0.3048 m and the inch 25.4 mm (international yard, 1959).
    #[test]
    fn a_value_is_told_in_the_other_units_of_its_kind() {
        assert_eq!(otherwise("length", "10 ft"), ["3.05 m", "305 cm", "3048 mm", "120 in"]);
        assert_eq!(otherwise("temperature", "100 C"), ["212 F"]);
        assert_eq!(otherwise("capacity", "60 Ah"), Vec::<String>::new());
        assert_eq!(otherwise("length", "4.9"), Vec::<String>::new());
    }

    /// 4 AWG has 21.15 mm2 (ASTM B258).
    #[test]
    fn a_gauge_is_told_in_square_millimetres_and_back() {
        assert_eq!(otherwise("cross-section", "4 AWG"), ["21.2 mm2"]);
        assert_eq!(otherwise("cross-section", "25 mm2"), ["at least 4 AWG"]);
        assert_eq!(units("cross-section"), ["AWG", "mm2"]);
        assert!(units("terminal").is_empty());
    }
}
