//! Colours of a stylesheet, and how far they stand out from each other (WCAG 2.2).

use std::collections::BTreeMap;

/// The colours that a part of a stylesheet sets, by name, each as its relative luminance.
pub fn colours(style: &str) -> BTreeMap<String, f64> {
    let each = style.split("--").skip(1).filter_map(|part| part.split_once(": #"));
    each.filter_map(|(name, rest)| Some((name.to_owned(), luminance(rest.get(..6)?)?))).collect()
}

/// Relative luminance of a colour (WCAG 2.2, "relative luminance"); nothing where it is none.
pub fn luminance(hex: &str) -> Option<f64> {
    let channel = |at: usize| {
        let value = f64::from(u8::from_str_radix(hex.get(at..at + 2)?, 16).ok()?) / 255.0;
        Some(if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) })
    };
    Some(0.2126 * channel(0)? + 0.7152 * channel(2)? + 0.0722 * channel(4)?)
}

/// The contrast ratio of two luminances.
pub fn contrast(one: f64, other: f64) -> f64 {
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}
