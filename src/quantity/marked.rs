//! Numbers whose digits are parted by marks: `1,000`, `1 000`, `1'000`, `1_000`.

use super::dimension::Unit;
use super::unread::excerpt;

/// A number that is parted by one kind of mark.
#[derive(Debug, PartialEq)]
pub(crate) struct Marked {
    mark: char,
    /// The number without the marks.
    pub whole: String,
    /// The number that it is where the one comma in it parts decimals.
    pub decimal: Option<String>,
    /// What stands behind it.
    unit: String,
}

impl Marked {
    /// The number that a text begins with, if it is parted into groups of three. A comma before just one group may as
    /// well part decimals: `1,000 A`.
    pub fn begins(text: &str) -> Option<Self> {
        let text = text.trim();
        let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
        let first = digits(text);
        let mark = text[first..].chars().next()?;
        let parts = matches!(mark, ',' | '_' | '\'' | '\u{2019}') || mark.is_whitespace();
        // A whole number of thousands does not begin with nought.
        if !parts || !(1..=3).contains(&first) || text.starts_with('0') {
            return None;
        }
        // Nearly every text is no such number, and nothing is written down for it.
        if digits(&text[first + mark.len_utf8()..]) != 3 {
            return None;
        }
        let (mut whole, mut rest, mut groups) = (text[..first].to_owned(), &text[first..], 0);
        while let Some(group) = rest.strip_prefix(mark).filter(|group| digits(group) == 3) {
            whole.push_str(&group[..3]);
            rest = &group[3..];
            groups += 1;
        }
        let is_cut = rest.starts_with(|c: char| matches!(c, ',' | '/' | '\'' | '"') || c.is_ascii_digit());
        if groups == 0 || is_cut {
            return None;
        }
        let point = rest.strip_prefix('.').map(|rest| &rest[..digits(rest)]);
        let decimal = (mark == ',' && groups == 1 && point.is_none()).then(|| {
            let (before, behind) = (&text[..first], whole[first..].trim_end_matches('0'));
            format!("{before}.{}", if behind.is_empty() { "0" } else { behind })
        });
        if let Some(point) = point {
            whole = format!("{whole}.{point}");
            rest = &rest[1 + point.len()..];
        }
        Some(Self { mark, whole, decimal, unit: rest.trim().to_owned() })
    }

    /// What is told of a text that begins so.
    pub fn told(&self, text: &str, units: &[Unit]) -> String {
        let text = excerpt(text);
        let ways = self.ways(units);
        let write = crate::words::either(&ways.iter().map(|way| format!("`{way}`")).collect::<Vec<_>>());
        match (self.mark, &self.decimal) {
            (',', Some(decimal)) => {
                format!("`{text}` can be {} or {decimal}; write {write}", self.whole)
            }
            (mark, _) if mark.is_whitespace() => format!("`{text}` has a space among its digits; write {write}"),
            (mark, _) => format!("`{text}` has a `{mark}` among its digits; write {write}"),
        }
    }

    /// The ways in which it may be meant, as a plan writes them.
    pub fn ways(&self, units: &[Unit]) -> Vec<String> {
        let known = units.iter().find(|unit| unit.symbol == self.unit || unit.misspelt.contains(&self.unit.as_str()));
        let unit = known.map_or(self.unit.as_str(), |unit| unit.symbol);
        let numbers = std::iter::once(&self.whole).chain(&self.decimal);
        numbers.map(|number| format!("{number} {unit}").trim().to_owned()).collect()
    }

    /// The one way in which it can be meant. A space may have come between two numbers.
    pub fn sure(&self, units: &[Unit]) -> Option<String> {
        let is_sure = self.decimal.is_none() && !self.mark.is_whitespace();
        self.ways(units).into_iter().next().filter(|_| is_sure)
    }
}

#[cfg(test)]
mod tests {
    use super::super::dimension::{Current, Dimension as _};
    use super::Marked;

    #[test]
    fn a_comma_before_three_digits_can_be_either() {
        let ways = |text: &str| Marked::begins(text).map_or(Vec::new(), |marked| marked.ways(Current::UNITS));
        assert_eq!(ways("1,000 A"), ["1000 A", "1.0 A"]);
        assert_eq!(ways("12,345amps"), ["12345 A", "12.345 A"]);
        assert_eq!(ways("1,000,000 A"), ["1000000 A"]);
        assert_eq!(ways("1,000.5 A"), ["1000.5 A"]);
        for mark in [" ", "_", "'", "\u{a0}"] {
            assert_eq!(ways(&format!("1{mark}000 A")), ["1000 A"], "{mark}");
        }
        // These can only be decimals, or nothing.
        for text in ["0,500 A", "1,5 A", "1,50 A", "1,0000 A", "1234,500 A", "1 1/2 A", "1 100/2 A", "100 A", "1,000,5"]
        {
            assert_eq!(Marked::begins(text), None, "{text}");
        }
    }

    #[test]
    fn only_what_can_mean_one_thing_is_sure() {
        let sure = |text: &str| Marked::begins(text).and_then(|marked| marked.sure(Current::UNITS));
        assert_eq!(sure("1_000 A").as_deref(), Some("1000 A"));
        assert_eq!(sure("1,000,000 A").as_deref(), Some("1000000 A"));
        assert_eq!((sure("1,000 A"), sure("2 100 A")), (None, None));
    }
}
