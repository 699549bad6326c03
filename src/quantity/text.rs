//! How numbers are read from a plan and written for people.

use super::dimension::{Dimension, Unit};
use super::marked::Marked;
use super::unread::{Unread, excerpt};

/// Reads `17 ft` as a value in the base unit and the unit it was written in.
///
/// # Errors
/// A sentence for the person who wrote it: what was found, what is taken.
pub fn read<D: Dimension>(text: &str) -> Result<(f64, &'static Unit), Unread> {
    let slip = |sentence| Err(Unread::Slip(sentence));
    let (digits, rest) = number_and_unit(text.trim());
    let symbol = rest.trim_start();
    if digits.is_empty() {
        return Err(Unread::Other(format!("`{}` is not a {}; write {}", excerpt(text), D::NAME, form::<D>())));
    }
    if let Some(marked) = Marked::begins(text) {
        return slip(marked.told(text, D::UNITS));
    }
    if symbol.starts_with(',') {
        return slip(format!("`{}` has a comma; write decimals with a point, like {}", excerpt(text), D::EXAMPLE));
    }
    let Some(number) = number(digits) else {
        return slip(format!("`{}` does not start with a number; write it like {}", excerpt(text), D::EXAMPLE));
    };
    if symbol.is_empty() && !is_plain::<D>() {
        return slip(format!(
            "`{}` has no unit; a {} is written in {}, like {}",
            excerpt(text),
            D::NAME,
            choices::<D>(),
            D::EXAMPLE
        ));
    }
    let Some(unit) = D::UNITS.iter().find(|u| u.symbol == symbol) else {
        let meant = D::UNITS.iter().find(|u| u.misspelt.contains(&symbol));
        return Err(match meant {
            Some(Unit { symbol, .. }) => {
                Unread::Slip(format!("`{}`: the unit is written {symbol}, like `{digits} {symbol}`", excerpt(text)))
            }
            None => Unread::Other(format!("`{}` is not a unit of {}; write {}", excerpt(symbol), D::NAME, form::<D>())),
        });
    };
    if rest.len() == symbol.len() && !symbol.is_empty() {
        return slip(format!("`{}` needs a space between number and unit: `{digits} {symbol}`", excerpt(text)));
    }
    if number < 0.0 && !D::SIGNED {
        return slip(format!("`{}` is below zero; a {} cannot be", excerpt(text), D::NAME));
    }
    let base = number * unit.scale + unit.offset;
    if base > D::MOST {
        let most = ends(D::MOST, D::MOST, Some(unit));
        return slip(format!("`{}` is above {most}; a {} cannot be", excerpt(text), D::NAME));
    }
    Ok((base, unit))
}

/// Where the number of a text ends: `3 1/2 ft` is a whole number, a fraction and a unit.
pub(super) fn number_and_unit(text: &str) -> (&str, &str) {
    let first = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/' | '-' | '+'))).unwrap_or(text.len());
    let rest = text[first..].trim_start_matches(' ');
    let second = rest.find(|c: char| !(c.is_ascii_digit() || c == '/')).unwrap_or(rest.len());
    let is_whole = first > 0 && text[..first].bytes().all(|byte| byte.is_ascii_digit());
    let is_mixed = is_whole && rest.len() < text.len() - first && rest[..second].contains('/');
    text.split_at(if is_mixed { text.len() - rest.len() + second } else { first })
}

/// Reads `4`, `0.25`, `-3`, `3/8` or `3 1/2`. Nothing that is not finite comes back.
pub(super) fn number(digits: &str) -> Option<f64> {
    let value = match (digits.split_once(' '), digits.split_once('/')) {
        (Some((whole, part)), _) => f64::from(whole.parse::<u32>().ok()?) + fraction(part.trim_start())?,
        (None, Some(_)) => fraction(digits)?,
        (None, None) => digits.parse::<f64>().ok()?,
    };
    (value.is_finite() && value.abs() < 1e12).then_some(value)
}

/// Reads `3/8`.
fn fraction(digits: &str) -> Option<f64> {
    let (over, under) = digits.split_once('/')?;
    let under: u32 = under.parse().ok().filter(|under| *under > 0)?;
    Some(f64::from(over.parse::<u32>().ok()?) / f64::from(under))
}

/// Whether a quantity is written as a plain number.
pub fn is_plain<D: Dimension>() -> bool {
    D::UNITS[0].symbol.is_empty()
}

/// How a quantity is written: "a number, a space and m, cm, mm, ft or in".
pub fn form<D: Dimension>() -> String {
    if is_plain::<D>() {
        return format!("a plain number like {}, or a share like 80 %", D::EXAMPLE);
    }
    format!("a number, a space and {}", choices::<D>())
}

/// "m, cm, mm, ft or in".
pub fn choices<D: Dimension>() -> String {
    let symbols: Vec<&str> = D::UNITS.iter().map(|u| u.symbol).collect();
    crate::words::either(&symbols)
}

/// The pattern for editors that know only JSON Schema.
pub fn pattern<D: Dimension>() -> String {
    let sign = if D::SIGNED { "-?" } else { "" };
    let symbols: Vec<&str> = D::UNITS.iter().map(|u| u.symbol).filter(|symbol| !symbol.is_empty()).collect();
    let unit = format!(" +({})", symbols.join("|"));
    let unit = if is_plain::<D>() { format!("({unit})?") } else { unit };
    format!("^{sign}([0-9]+(\\.[0-9]+)?|([0-9]+ +)?[0-9]+/[0-9]+){unit}$")
}

/// So many significant digits a number is told in.
pub const DIGITS: u8 = 3;

/// Three significant digits, no trailing zeros, no exponent: 0.313, 4.08, 52.7, 1234.
pub fn digits(value: f64) -> String {
    digits_to(value, DIGITS)
}

/// The same with another number of significant digits, from three up.
fn digits_to(value: f64, count: u8) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".into() } else { "unlimited".into() };
    }
    let magnitude = value.abs().log10().floor();
    let most = f64::from(count) + 3.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful first")]
    let places = (f64::from(count) - 1.0 - magnitude).clamp(0.0, most) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The value that three significant digits can show without being above the real one: 28.28 is 28.2.
pub fn rounded_down(value: f64) -> f64 {
    to_three_digits(value, |digits| (digits * (1.0 + 1e-9)).floor())
}

/// The value that three significant digits can show without being below the real one: 28.21 is 28.3.
pub fn rounded_up(value: f64) -> f64 {
    to_three_digits(value, |digits| (digits * (1.0 - 1e-9)).ceil())
}

/// The least part in the two above allows for rounding: the root of 900 is 30, not 29.9.
fn to_three_digits(value: f64, whole: impl Fn(f64) -> f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    // From 1000 up, figures are shown to the last whole unit.
    let digit = 10.0_f64.powf((value.log10().floor() - 2.0).min(0.0));
    whole(value / digit) * digit
}

/// The unit in which a value in base units reads best: 0.0031 ohm is 3.1 mohm. There is none among no units.
pub fn best_unit(units: &'static [Unit], base: f64) -> Option<&'static Unit> {
    let magnitude = base.abs();
    let shown = units.iter().filter(|u| u.shown);
    let fits = shown.clone().filter(|u| magnitude >= u.scale * u.least * 0.9995);
    fits.max_by(|a, b| a.scale.total_cmp(&b.scale))
        .filter(|_| magnitude > 0.0)
        .or_else(|| shown.clone().filter(|_| magnitude > 0.0).min_by(|a, b| a.scale.total_cmp(&b.scale)))
        .or_else(|| units.first())
}

/// Two ends in base units as they read in one unit: `38.4 to 39.6 A`, `60 A` where both read the same, `60 A and more` where
/// nothing bounds it above.
pub fn ends(low: f64, high: f64, unit: Option<&Unit>) -> String {
    ends_to(low, high, unit, DIGITS)
}

/// The same in so many significant digits.
pub fn ends_to(low: f64, high: f64, unit: Option<&Unit>, count: u8) -> String {
    let (offset, scale) = unit.map_or((0.0, 1.0), |unit| (unit.offset, unit.scale));
    let show = |base: f64| digits_to((base - offset) / scale, count);
    if !high.is_finite() {
        let least = || unit.map_or_else(|| show(low), |unit| with_unit(&show(low), unit));
        return if low.is_finite() { format!("{} and more", least()) } else { "unlimited".to_owned() };
    }
    let (low, high) = (show(low), show(high));
    let number = if low == high { high } else { format!("{low} to {high}") };
    unit.map_or_else(|| number.clone(), |unit| with_unit(&number, unit))
}

/// A number with its unit.
pub fn with_unit(number: &str, unit: &Unit) -> String {
    if unit.symbol.is_empty() { number.to_owned() } else { format!("{number} {}", unit.symbol) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nothing_bounds_has_no_unit_of_its_own() {
        let days = Unit { symbol: "days", misspelt: &[], scale: 86_400.0, offset: 0.0, least: 1.0, shown: true };
        let told = |low: f64, high: f64| ends(low * 86_400.0, high * 86_400.0, Some(&days));
        assert_eq!(told(229.0, 300.0), "229 to 300 days");
        assert_eq!(told(229.0, f64::INFINITY), "229 days and more");
        assert_eq!(told(f64::INFINITY, f64::INFINITY), "unlimited");
    }

    #[test]
    fn three_digits_never_say_too_much_or_too_little() {
        for (is, down, up) in [
            (28.284, 28.2, 28.3),
            (30.0, 30.0, 30.0),
            (900.0_f64.sqrt(), 30.0, 30.0),
            (0.099_91, 0.0999, 0.1),
            (101.57, 101.0, 102.0),
            (1234.5, 1234.0, 1235.0),
            (0.0, 0.0, 0.0),
        ] {
            assert!((rounded_down(is) - down).abs() < 1e-9, "{is}: {}", rounded_down(is));
            assert!((rounded_up(is) - up).abs() < 1e-9, "{is}: {}", rounded_up(is));
        }
    }
}
