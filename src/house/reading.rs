//! From the text of a house file to the settings of a house, with every error at its place.

use std::collections::BTreeMap;
use std::ops::Range as Span;
use std::sync::{Arc, LazyLock};

use globset::{GlobBuilder, GlobSet, GlobSetBuilder};
use serde_json::Value;

use super::assumptions::HOT_AIR;
use super::file::{DemandFile, GateFile, HouseFile, OwnRuleFile, RuleChange, StockFile};
use super::gate::OpenChecks;
use super::own::{Each, Expression, OwnRule};
use super::setting::{Usual, keep};
use super::{Changed, House, RuleSettings, Severity};
use crate::plan::{Format, HOUSE_SHAPE, Lookup, Shelf, Stage, Taken, checked_in, derived, take, word};
use crate::quantity::{Dimension, Quantity, Temperature};
use crate::text::{Limits, Lines, Misread, Tree, parse};
use crate::words;

/// The version of the format of house files that this program reads.
pub const FORMAT: u32 = 1;

/// The format of house files; its schema is read as it is checked in.
static HOUSE: Format = Format {
    key: "house",
    version: FORMAT,
    like: "a list of keys like `house:`, `limits:` and `stock:`",
    most_things: usize::MAX,
    schema: LazyLock::new(|| checked_in(include_str!("../../schema/house.schema.json"))),
    shape: &HOUSE_SHAPE,
};

/// The JSON Schema of a house file, from its types.
pub fn schema() -> Value {
    derived::<HouseFile>("house")
}

/// What the schema of a house file says.
pub fn lookup() -> Lookup {
    Lookup(&HOUSE.schema)
}

/// What the key at a path of a house file means: the first sentence of its description.
pub fn about(path: &str) -> Option<String> {
    lookup().about(path)
}

/// The degrees that the air in a vehicle reaches, in C.
const AIR: (f64, f64) = (20.0, 150.0);
/// What to do about a hot place that a house calls cool.
const HOTTER: &str = "engine spaces are counted at 50 C (33 CFR 183.425): a house may only count a hot place hotter";

/// A house file as far as it could be read.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The text.
    pub text: String,
    /// Its tree.
    pub tree: Tree,
    /// The settings, with everything that could be read.
    pub house: House,
    /// Patterns of shelf files, each where it stands.
    pub shelves: Vec<(Span<usize>, String)>,
    /// What could not be read or taken.
    pub misreads: Vec<Misread>,
    rules: BTreeMap<String, RuleChange>,
    name: String,
    lines: Lines,
}

/// What a house has to know of a rule to change how it counts.
#[derive(Debug, Clone, Copy)]
pub struct KnownRule {
    /// Its code.
    pub code: &'static str,
    /// Its name.
    pub name: &'static str,
    /// How much harm its findings stand for.
    pub severity: Severity,
    /// Whether it watches over what the other rules found.
    pub watches: bool,
}

/// Reads a house file. `name` is what it is called in sources.
pub fn read(text: String, name: &str, rules: &[KnownRule]) -> Reading {
    let Taken { tree, value, misreads, .. } = take::<HouseFile>(&HOUSE, &text, None);
    let lines = Lines::new(&text);
    let mut reading = Reading {
        house: House { name: value.name.clone(), ..House::default() },
        shelves: Vec::new(),
        rules: value.rules.clone(),
        name: name.to_owned(),
        text,
        tree,
        misreads,
        lines,
    };
    reading.figures(&value);
    reading.zones(&value);
    reading.gate(&value.gate.unwrap_or_default());
    reading.stock(value.stock.unwrap_or_default());
    reading.rules(rules);
    reading.own_rules(&value.own_rules, rules);
    let plans = value.plans.unwrap_or_default();
    reading.house.plans.include = reading.patterns("plans.include", &plans.include);
    reading.house.plans.exclude = reading.patterns("plans.exclude", &plans.exclude);
    for (at, pattern) in value.shelves.iter().enumerate() {
        let span = reading.span(&format!("shelves.{at}"));
        if reading.glob(&format!("shelves.{at}"), pattern).is_some() {
            reading.shelves.push((span, pattern.clone()));
        }
    }
    reading.in_order();
    reading
}

impl Reading {
    /// Puts misreads into the order of the text.
    pub fn in_order(&mut self) {
        self.misreads.sort_by_key(|misread| (misread.span.start, misread.span.end));
    }

    fn span(&self, path: &str) -> Span<usize> {
        self.tree.locate(path).span
    }

    fn line(&self, path: &str) -> usize {
        self.lines.position(&self.text, self.tree.locate_key(path).start).0
    }

    fn refuse(&mut self, path: &str, what: impl Into<String>, mend: impl Into<String>) {
        self.misreads.push(Misread::new(self.span(path), what, mend));
    }

    /// A source or reason of the file: said, and with its place. `None`, and told, where it says nothing.
    fn sourced(&mut self, path: &str, key: &str, source: Option<&str>) -> Option<&'static str> {
        let source = source?.trim();
        if source.is_empty() {
            self.refuse(
                &format!("{path}.{key}"),
                format!("the {key} says nothing"),
                "write where it comes from, or why",
            );
            return None;
        }
        self.house.stated.insert(path.to_owned(), self.line(path));
        Some(keep(&format!("{}, line {}: {source}", self.name, self.line(path))))
    }

    /// Limits and assumptions, by name.
    fn figures(&mut self, file: &HouseFile) {
        let stated = |section, name: &String, value: &Option<String>, source: &Option<String>| {
            (section, name.clone(), value.clone(), source.clone())
        };
        let limits = file.limits.iter().map(|(name, is)| stated(("limits", "value"), name, &is.value, &is.source));
        let ranges =
            file.assumptions.iter().map(|(name, is)| stated(("assumptions", "range"), name, &is.range, &is.source));
        for ((section, key), name, written, source) in limits.chain(ranges) {
            let path = format!("{section}.{name}");
            let (Some(written), Some(source)) = (written, self.sourced(&path, "source", source.as_deref())) else {
                continue;
            };
            let House { limits, assumptions, .. } = &mut self.house;
            let all = if section == "limits" { limits.all() } else { assumptions.all() };
            let setting = all.into_iter().find(|setting| setting.name() == name);
            if let Some(Err(what)) = setting.map(|setting| setting.set(&written, source)) {
                self.refuse(&format!("{path}.{key}"), what, "");
            }
        }
    }

    fn zones(&mut self, file: &HouseFile) {
        for (zone, stated) in &file.zones {
            let path = format!("zones.{}", word(zone));
            let source = self.sourced(&path, "source", stated.source.as_deref());
            let (Some(temperature), Some(source)) = (stated.temperature, source) else { continue };
            let degrees = (temperature.base(), temperature.base());
            let (taken, mend) = if zone.is_hot() { (HOT_AIR, HOTTER) } else { (AIR, "") };
            let is = Usual::<Temperature>::new(keep(&path), degrees, taken, source);
            match is.possible(&temperature.to_string()) {
                Ok(()) => drop(self.house.zones.insert(*zone, is)),
                Err(what) => self.refuse(&format!("{path}.temperature"), what, mend),
            }
        }
    }

    fn gate(&mut self, file: &GateFile) {
        let stages =
            [(Stage::Draft, &file.draft), (Stage::Planned, &file.planned), (Stage::Installed, &file.installed)];
        for (stage, stated) in stages {
            let Some(DemandFile { findings, open }) = *stated else { continue };
            let path = format!("gate.{}", word(&stage));
            self.house.stated.insert(path.clone(), self.line(&path));
            let demand = self.house.gate.at_mut(stage);
            demand.findings = findings.unwrap_or(demand.findings);
            demand.open = open.unwrap_or(demand.open);
            if stage != Stage::Draft && open == Some(OpenChecks::None) {
                let what = format!("an open danger always shuts the gate of a job that is {}", word(&stage));
                self.refuse(&format!("{path}.open"), what, "write danger or all");
            }
        }
    }

    fn stock(&mut self, file: StockFile) {
        let StockFile { wires, fuses } = file;
        for (path, is_stated) in [("stock.wires", !wires.is_empty()), ("stock.fuses", !fuses.is_empty())] {
            if is_stated {
                self.house.stated.insert(path.to_owned(), self.line(path));
            }
        }
        let stock = &mut self.house.stock;
        (stock.wires, stock.fuses) = (wires, fuses);
        stock.wires.sort_by(|one, other| one.square_millimetres().total_cmp(&other.square_millimetres()));
        for ratings in stock.fuses.values_mut() {
            sort(ratings);
        }
        for (form, ratings) in self.house.stock.fuses.clone() {
            if let Some(nothing) = ratings.first().filter(|rating| rating.base() <= 0.0) {
                self.refuse(&format!("stock.fuses.{}", word(&form)), format!("no fuse is rated {nothing}"), "");
            }
        }
    }

    /// Rules that are off or count otherwise.
    fn rules(&mut self, known: &[KnownRule]) {
        for (key, change) in std::mem::take(&mut self.rules) {
            let path = format!("rules.{key}");
            let called =
                |rule: &&KnownRule| rule.code.eq_ignore_ascii_case(&key) || rule.name.eq_ignore_ascii_case(&key);
            let Some(rule) = known.iter().find(called) else {
                let names = known.iter().flat_map(|rule| [rule.code, rule.name]);
                let near = words::nearest(&key, names).map(|near| format!("did you mean {near}?"));
                let what = format!("no rule is called `{}`", words::excerpt(&key, 40));
                let mend = near.unwrap_or_else(|| "`testlamp rulebook` lists them all".into());
                self.misreads.push(Misread::new(self.tree.locate_key(&path), what, mend));
                continue;
            };
            let reason = self.sourced(&path, "reason", change.reason.as_deref());
            self.house.stated.insert(format!("rules.{}", rule.code), self.line(&path));
            match refused(rule, &change) {
                Some((key, what, mend)) => self.refuse(&format!("{path}{key}"), what, mend),
                None => self.house.rules.change(rule, &change, reason.unwrap_or_default()),
            }
        }
    }

    /// Rules of the house's own: each tried as it is read; one that cannot be worked does not stop the others.
    fn own_rules(&mut self, stated: &BTreeMap<String, OwnRuleFile>, known: &[KnownRule]) {
        for (code, file) in stated {
            let path = format!("own_rules.{code}");
            let key = self.tree.locate_key(&path);
            if let Some(what) = no_code(code, known) {
                self.misreads.push(Misread::new(key, what, "call it like HOUSE-01"));
                continue;
            }
            let source = self.sourced(&path, "source", file.source.as_deref());
            let (Some(each), Some(must), Some(says), Some(source)) = (file.each, &file.must, &file.says, source) else {
                continue;
            };
            let when = file.when.as_ref().map(|text| self.expression(&format!("{path}.when"), text, each));
            let must_hold = self.expression(&format!("{path}.must"), must, each);
            let (Some(when), Some(must_hold)) = (when.map_or(Some(None), |is| is.map(Some)), must_hold) else {
                continue;
            };
            let written = match &file.when {
                Some(when) => format!("where {when}: {must}"),
                None => must.clone(),
            };
            self.house.own.push(OwnRule {
                code: keep(code),
                severity: file.severity.unwrap_or(Severity::Advice),
                each,
                when,
                must: must_hold,
                says: keep(says.trim()),
                mend: keep(file.mend.as_deref().unwrap_or_default().trim()),
                source,
                written: keep(&written),
            });
        }
    }

    fn expression(&mut self, path: &str, text: &str, each: Each) -> Option<Arc<Expression>> {
        match Expression::new(text, each) {
            Ok(expression) => Some(Arc::new(expression)),
            Err(what) => {
                self.refuse(path, what, "");
                None
            }
        }
    }

    /// Some patterns as one matcher; `None` where none is stated.
    fn patterns(&mut self, path: &str, patterns: &[String]) -> Option<GlobSet> {
        if patterns.is_empty() {
            return None;
        }
        self.house.stated.insert(path.to_owned(), self.line(path));
        let mut set = GlobSetBuilder::new();
        for (at, pattern) in patterns.iter().enumerate() {
            if let Some(glob) = self.glob(&format!("{path}.{at}"), pattern) {
                set.add(glob);
            }
        }
        set.build().ok()
    }

    /// A pattern below the folder of the house; what is none, or leads out, is told.
    fn glob(&mut self, path: &str, pattern: &str) -> Option<globset::Glob> {
        if let Some(what) = leads_out(pattern) {
            self.refuse(path, what, "name files below the folder of the house file");
            return None;
        }
        let wanted = pattern.strip_prefix("./").unwrap_or(pattern);
        match GlobBuilder::new(wanted).literal_separator(true).build() {
            Ok(glob) => Some(glob),
            Err(error) => {
                let what = format!("`{}` is no pattern of files: {}", words::excerpt(pattern, 40), error.kind());
                self.refuse(path, words::excerpt(&what, 200), "write it like jobs/**/*.yaml");
                None
            }
        }
    }
}

/// Why a word cannot be the code of a rule of the house's own.
fn no_code(code: &str, known: &[KnownRule]) -> Option<String> {
    let shown = words::excerpt(code, 40);
    let family = code.split('-').next().unwrap_or_default();
    let is_code = code.split_once('-').is_some_and(|(family, number)| {
        let letters = family.len() >= 2 && family.bytes().all(|byte| byte.is_ascii_uppercase());
        letters && number.len() == 2 && number.bytes().all(|byte| byte.is_ascii_digit())
    });
    if !is_code {
        return Some(format!("`{shown}` is no code of a rule"));
    }
    let taken = known.iter().any(|rule| rule.code.split('-').next() == Some(family));
    taken.then(|| format!("`{shown}`: {family} is a family that testlamp has itself"))
}

impl RuleSettings {
    fn change(&mut self, rule: &KnownRule, change: &RuleChange, reason: &'static str) {
        if change.off == Some(true) {
            self.off.insert(rule.code, reason);
        } else if let Some(severity) = change.severity.filter(|severity| *severity != rule.severity) {
            self.counts_as.insert(rule.code, Changed { severity, reason });
        }
    }
}

/// Why a rule cannot be changed so: the key, what is wrong and what would do.
fn refused(rule: &KnownRule, change: &RuleChange) -> Option<(&'static str, String, String)> {
    let KnownRule { code, severity, watches, .. } = *rule;
    let is_off = change.off == Some(true);
    match change.severity {
        _ if watches && (is_off || change.severity.is_some_and(|to| to < severity)) => {
            let key = if is_off { ".off" } else { ".severity" };
            Some((
                key,
                format!("{code} watches over waivers and open checks and stays as it is"),
                "take this out".into(),
            ))
        }
        _ if is_off && severity == Severity::Danger => {
            let what = format!("{code} is about danger and cannot be off");
            Some((".off", what, "waive what it finds, job by job".into()))
        }
        Some(to) if to < severity && severity == Severity::Danger => {
            let what = format!("{code} is about danger and cannot count as {}", with_article(to));
            Some((".severity", what, "waive what it finds, job by job".into()))
        }
        Some(_) if is_off => {
            Some((".severity", format!("{code} is off and cannot count"), "keep one of the two".into()))
        }
        None if !is_off => {
            Some(("", format!("this changes nothing about {code}"), "write `off: true` or a severity".into()))
        }
        Some(to) if severity.steps_to(to) > 1 => {
            let what = format!("{code} is {}, and {} is more than one step away", with_article(severity), to.word());
            Some((".severity", what, "write fault".into()))
        }
        _ => None,
    }
}

fn with_article(severity: Severity) -> &'static str {
    match severity {
        Severity::Advice => "advice",
        Severity::Fault => "a fault",
        Severity::Danger => "a danger",
    }
}

fn sort<D: Dimension>(values: &mut [Quantity<D>]) {
    values.sort_by(|one, other| one.base().total_cmp(&other.base()));
}

/// Why a path or pattern is not one below the folder of the house.
fn leads_out(pattern: &str) -> Option<String> {
    let shown = words::excerpt(pattern, 40);
    let parts = || pattern.split(['/', '\\']);
    let drive = pattern.as_bytes().get(1) == Some(&b':');
    if pattern.trim().is_empty() {
        return Some("nothing stands here".into());
    }
    if pattern.starts_with(['/', '\\', '~']) || drive {
        return Some(format!("`{shown}` leads out of the folder of the house"));
    }
    // A pattern like {..,x} leads out as well.
    let up = parts().any(|part| part.split(['{', ',', '}']).any(|part| part == ".."));
    up.then(|| format!("`{shown}` leads out of the folder of the house with `..`"))
}

/// Reads a shelf file as far as it goes: that it is YAML and says which version it is. `path` is below the folder of the
/// house, with slashes.
pub fn read_shelf(path: String, text: String) -> (Shelf, Vec<Misread>) {
    let (tree, mut misreads) = parse(&text, Limits::default());
    let version = tree.node("shelf");
    let says = version.and_then(|node| tree.text(node));
    if misreads.is_empty() && says != Some("1") {
        let span = version.map_or_else(|| tree.root().map_or(0..0, |_| 0..0), |node| tree.span(node));
        let what = match says {
            Some(other) => format!("shelf format {} is not known to this version", words::excerpt(other, 40)),
            None => "the key `shelf:` with the format version is missing (it is 1)".into(),
        };
        misreads.push(Misread::new(span, what, "write `shelf: 1` on the first line"));
    }
    (Shelf { path, text, tree }, misreads)
}
