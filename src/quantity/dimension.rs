//! The kinds of quantity a plan states, and the units each is written in.

/// One unit as it is written on a tape, a meter or a data sheet.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// How it is written in a plan.
    pub symbol: &'static str,
    /// Other spellings that people try; they are refused with a pointer to `symbol`.
    pub misspelt: &'static [&'static str],
    /// One of this unit in the dimension's base unit.
    pub scale: f64,
    /// Added after scaling (only temperatures need it).
    pub offset: f64,
    /// Whether results may be shown in this unit (inches and feet are only echoed).
    pub shown: bool,
    /// From how many of this unit on a result is shown in it.
    pub least: f64,
}

const fn unit(symbol: &'static str, scale: f64, shown: bool, misspelt: &'static [&'static str]) -> Unit {
    Unit { symbol, misspelt, scale, offset: 0.0, shown, least: 1.0 }
}

/// A kind of quantity. The first unit of `UNITS` is the base unit in which values are kept.
pub trait Dimension: Copy + std::fmt::Debug + PartialEq + Send + Sync + 'static {
    /// What the quantity is called in a message: "length".
    const NAME: &'static str;
    /// The units taken; the first is the base unit (scale 1, offset 0).
    const UNITS: &'static [Unit];
    /// One value as it is written.
    const EXAMPLE: &'static str;
    /// A window of two values as it is written.
    const WINDOW: &'static str;
    /// Whether values under zero make sense.
    const SIGNED: bool = false;
    /// The most that makes sense of whatever it is said, in the base unit.
    const MOST: f64 = f64::INFINITY;
}

/// Declares a dimension: a marker type and its table of units.
macro_rules! dimension {
    ($(#[$doc:meta])* $name:ident, $word:literal, $example:literal, $window:literal, [$($unit:expr),+ $(,)?] $(, $signed:literal)? $(; $most:literal)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name;
        impl Dimension for $name {
            const NAME: &'static str = $word;
            const UNITS: &'static [Unit] = &[$($unit),+];
            const EXAMPLE: &'static str = $example;
            const WINDOW: &'static str = $window;
            $(const SIGNED: bool = $signed;)?
            $(const MOST: f64 = $most;)?
        }
    };
}

dimension!(
    /// Length, kept in metres.
    Length, "length", "5.2 m", "5.2 m .. 5.6 m", [
        unit("m", 1.0, true, &["metre", "metres", "meter", "meters", "M"]),
        // Studs, strips and clearances are in millimetres on every drawing: 10 mm, not 1 cm.
        Unit { least: 10.0, ..unit("cm", 0.01, true, &["centimetre", "centimeter"]) },
        unit("mm", 0.001, true, &["millimetre", "millimeter"]),
        unit("ft", 0.3048, false, &["foot", "feet", "'"]),
        unit("in", 0.0254, false, &["inch", "inches", "\""]),
    ]
);
dimension!(
    /// Cross-section, kept in square millimetres. Plans write it as a [`Gauge`](super::Gauge).
    Area, "cross-section", "21 mm2", "21 mm2 .. 25 mm2", [unit("mm2", 1.0, true, &["mm²", "sqmm", "qmm"])]
);
dimension!(
    /// Electric current, kept in amperes.
    Current, "current", "60 A", "60 A .. 80 A", [
        unit("A", 1.0, true, &["amp", "amps", "ampere", "a", "Amp", "Amps"]),
        unit("mA", 0.001, true, &["milliamp", "ma", "MA"]),
        unit("kA", 1000.0, true, &["ka", "KA"]),
    ]
);
dimension!(
    /// Voltage, kept in volts.
    Voltage, "voltage", "14.2 V", "10 V .. 16 V", [
        unit("V", 1.0, true, &["v", "volt", "volts", "VDC", "Volts"]),
        unit("mV", 0.001, true, &["mv", "millivolt"]),
    ]
);
dimension!(
    /// Resistance or nominal impedance, kept in ohms.
    Resistance, "resistance", "4 ohm", "4 ohm .. 8 ohm", [
        unit("ohm", 1.0, true, &["ohms", "Ω", "Ohm", "R"]),
        unit("mohm", 0.001, true, &["milliohm", "mΩ", "mohms", "mOhm"]),
    ]
);
dimension!(
    /// Power, kept in watts.
    Power, "power", "300 W", "300 W .. 500 W", [
        unit("W", 1.0, true, &["w", "watt", "watts", "Watts", "WRMS"]),
        unit("kW", 1000.0, true, &["kw", "KW"]),
    ]
);
dimension!(
    /// Temperature, kept in degrees Celsius.
    Temperature, "temperature", "105 C", "75 C .. 105 C", [
        unit("C", 1.0, true, &["°C", "degC", "celsius", "c"]),
        Unit { symbol: "F", misspelt: &["°F", "degF", "fahrenheit"], scale: 5.0 / 9.0, offset: -160.0 / 9.0, shown: false, least: 1.0 },
    ], true
);
dimension!(
    /// Frequency, kept in hertz.
    Frequency, "frequency", "80 Hz", "80 Hz .. 120 Hz", [
        unit("Hz", 1.0, true, &["hz", "HZ", "hertz"]),
        unit("kHz", 1000.0, true, &["khz", "KHz"]),
    ]
);
dimension!(
    /// Volume of a box, kept in litres.
    Volume, "volume", "32 L", "25 L .. 45 L", [
        unit("L", 1.0, true, &["l", "litre", "litres", "liter", "liters", "ltr"]),
        unit("cu ft", 28.316_846_592, false, &["cuft", "ft3", "cubic feet"]),
        unit("cu in", 0.016_387_064, false, &["cuin", "in3"]),
    ]
);
dimension!(
    /// Mass, kept in kilograms.
    Mass, "mass", "19 kg", "19 kg .. 25 kg", [
        unit("kg", 1.0, true, &["KG", "kilo", "kilos"]),
        unit("g", 0.001, true, &["gram", "grams"]),
        unit("lb", 0.453_592_37, false, &["lbs", "pound", "pounds"]),
    ]
);
dimension!(
    /// Duration, kept in seconds.
    Duration, "duration", "2 s", "2 s .. 5 s", [
        unit("s", 1.0, true, &["sec", "secs", "second", "seconds"]),
        unit("ms", 0.001, true, &["msec"]),
        unit("min", 60.0, true, &["mins", "minute", "minutes"]),
        // An hour and a bit is told in minutes: 74 min, not 1.24 h.
        Unit { least: 2.0, ..unit("h", 3600.0, true, &["hr", "hrs", "hour", "hours"]) },
        unit("days", 86_400.0, true, &["day", "d"]),
    ]
);
dimension!(
    /// Battery capacity, kept in ampere-hours.
    Capacity, "capacity", "60 Ah", "60 Ah .. 80 Ah", [unit("Ah", 1.0, true, &["ah", "AH", "amp hours"])]
);
dimension!(
    /// Capacitance, kept in farads.
    Capacitance, "capacitance", "1 F", "1 F .. 2 F", [
        unit("F", 1.0, true, &["farad", "farads", "Farad", "f"]),
        unit("mF", 0.001, true, &["millifarad", "mf"]),
        unit("uF", 0.000_001, true, &["µF", "μF", "microfarad", "uf", "mfd"]),
    ]
);
dimension!(
    /// Energy, kept in joules.
    Energy, "energy", "100 J", "100 J .. 120 J", [
        unit("J", 1.0, true, &["joule", "joules", "Ws"]),
        unit("kJ", 1000.0, true, &["kj"]),
    ]
);
dimension!(
    /// Angle, kept in degrees.
    Angle, "angle", "90 deg", "90 deg .. 120 deg", [unit("deg", 1.0, true, &["°", "degree", "degrees"])]
);
dimension!(
    /// A level or a gain, kept in decibels.
    Level, "level", "3 dB", "3 dB .. 6 dB", [unit("dB", 1.0, true, &["db", "DB"])], true
);
dimension!(
    /// How steep a filter is, kept in decibels per octave.
    Slope, "slope", "24 dB/oct", "24 dB/oct .. 48 dB/oct", [unit("dB/oct", 1.0, true, &["db/oct", "dB/octave", "dB per octave", "dB", "dB/Oct"])]
);
dimension!(
    /// A share of a whole, kept in per cent.
    Share, "share", "80 %", "80 % .. 90 %", [unit("%", 1.0, true, &["percent", "per cent", "pct"])]; 100.0
);
dimension!(
    /// A number without a unit, or a share of a whole.
    Ratio, "ratio", "1.5", "1.5 .. 2", [unit("", 1.0, true, &["times", "x"]), unit("%", 0.01, false, &["percent", "per cent", "pct"])]
);
dimension!(
    /// Acceleration, kept in multiples of that of free fall.
    Acceleration, "acceleration", "20 g", "20 g .. 30 g", [unit("g", 1.0, true, &["G", "gee"])]
);
dimension!(
    /// Speed, kept in metres per second.
    Speed, "speed", "17 m/s", "17 m/s .. 20 m/s", [unit("m/s", 1.0, true, &["mps", "metres per second"])]
);
