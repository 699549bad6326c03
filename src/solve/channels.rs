//! The outputs of an amplifier that share one setting: all of them, or those that a setting names.

use std::borrow::Cow;

use super::facts::Facts;
use super::known::{Decided, Place, Thing, Undecided};
use crate::plan::{Amplifier, Load, Setting};
use crate::quantity::{Quantity, Voltage};

/// The outputs of an amplifier that share one setting.
#[derive(Debug, Clone)]
pub struct Channels<'a> {
    /// The amplifier.
    pub amplifier: Thing<'a, Amplifier>,
    /// What they are set to, where that is stated.
    pub setting: Option<Thing<'a, Setting>>,
    /// The name of their setting; where none is stated, the one it would have.
    pub name: Cow<'a, str>,
    /// What hangs on them.
    pub loads: Vec<Thing<'a, Load>>,
}

/// The amplifier that a setting is for: the one it names, else the one it is called like.
pub fn amplifier_of<'p>(name: &'p str, setting: &'p Setting) -> &'p str {
    setting.amplifier.as_deref().unwrap_or(name)
}

/// Whether a setting is for some of the outputs of its amplifier, or has a name of its own.
pub fn is_own(setting: &Setting) -> bool {
    setting.amplifier.is_some() || !setting.outputs.is_empty()
}

/// The channels of every amplifier.
pub fn each<'a>(facts: &Facts<'a>) -> Vec<Channels<'a>> {
    facts.amplifiers.iter().flat_map(|amplifier| of(facts, amplifier)).collect()
}

/// The channels of an amplifier: a group for each of its settings, and one for what no setting holds for.
pub fn of<'a>(facts: &Facts<'a>, amplifier: &Thing<'a, Amplifier>) -> Vec<Channels<'a>> {
    let settings = facts.plan.settings.iter().filter(|(name, is)| amplifier_of(name, is) == amplifier.name);
    let settings: Vec<(&String, &Setting)> = settings.collect();
    let loads: Vec<&Thing<'a, Load>> =
        facts.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name)).collect();
    let on = |load: &Load, is: &Setting| load.outputs.iter().any(|output| is.outputs.contains(output));
    let claimed = |load: &Load| settings.iter().any(|(_, is)| on(load, is));
    let mut found: Vec<Channels<'a>> = Vec::new();
    for (name, is) in &settings {
        let own = loads.iter().filter(|load| if is.outputs.is_empty() { !claimed(load) } else { on(load, is) });
        found.push(Channels {
            amplifier: amplifier.clone(),
            setting: Some(Thing::new("settings", name, is)),
            name: Cow::Borrowed(name.as_str()),
            loads: own.copied().cloned().collect(),
        });
    }
    let rest: Vec<Thing<'a, Load>> = loads.iter().filter(|load| !claimed(load)).copied().cloned().collect();
    let whole = settings.iter().any(|(_, is)| is.outputs.is_empty());
    if settings.is_empty() || (!whole && !rest.is_empty()) {
        let taken = facts.plan.settings.contains_key(amplifier.name);
        let name = if taken { format!("{}-rest", amplifier.name).into() } else { Cow::Borrowed(amplifier.name) };
        found.push(Channels { amplifier: amplifier.clone(), setting: None, name, loads: rest });
    }
    found
}

/// The channels that a load hangs on.
pub fn of_load<'a>(facts: &Facts<'a>, load: &Thing<'_, Load>) -> Option<Channels<'a>> {
    let amplifier = facts.amplifier(load.amplifier.as_deref()?)?;
    of(facts, amplifier).into_iter().find(|channels| channels.loads.iter().any(|other| other.address == load.address))
}

impl<'a> Channels<'a> {
    /// What a verdict about them is about: the amplifier, or the setting that is for some of its outputs.
    pub fn place(&self) -> Place {
        match &self.setting {
            Some(setting) if is_own(setting) => setting.place(),
            _ => self.amplifier.place(),
        }
    }

    /// The place of their setting, whether it is stated or not.
    pub fn set(&self) -> Place {
        Place::of(format!("settings.{}", self.name))
    }

    /// The place of a key of their setting, whether it is stated or not.
    pub fn at(&self, key: &str) -> Place {
        Place::of(format!("settings.{}.{key}", self.name))
    }

    /// Their setting.
    ///
    /// # Errors
    /// Not applicable without one.
    pub fn stated(&self) -> Decided<&Thing<'a, Setting>> {
        self.setting.as_ref().ok_or(Undecided::NotApplicable("no setting is stated"))
    }

    /// Their setting with the voltage that their gain is set to.
    ///
    /// # Errors
    /// Not applicable without one.
    pub fn target(&self) -> Decided<(&Thing<'a, Setting>, Quantity<Voltage>)> {
        let setting = self.stated()?;
        let target = setting.gain_target.ok_or(Undecided::NotApplicable("no voltage is stated for the gain"))?;
        Ok((setting, target))
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::each;

    /// Subject, setting and loads of each group.
    fn groups(settings: &str) -> Vec<String> {
        let plan = format!(
            "plan: 1\namplifiers: {{quad: {{channels: 4}}}}\nloads:\n  fl: {{amplifier: quad, outputs: [1]}}\n  \
             fr: {{amplifier: quad, outputs: [2]}}\n  sub: {{amplifier: quad, outputs: [3, 4]}}\n{settings}"
        );
        let of = |channels: super::Channels<'_>| {
            let loads: Vec<_> = channels.loads.iter().map(|load| load.name).collect();
            format!("{} {} {}", channels.place(), channels.set(), loads.join(","))
        };
        of_job(&plan, |job| each(job).into_iter().map(of).collect())
    }

    #[test]
    fn one_setting_holds_for_all_outputs_unless_another_names_them() {
        assert_eq!(groups(""), ["amplifiers.quad settings.quad fl,fr,sub"]);
        assert_eq!(groups("settings: {quad: {tone: 50 Hz}}\n"), ["amplifiers.quad settings.quad fl,fr,sub"]);
        assert_eq!(
            groups("settings: {quad: {tone: 1 kHz}, rear: {amplifier: quad, outputs: [3, 4]}}\n"),
            ["amplifiers.quad settings.quad fl,fr", "settings.rear settings.rear sub"]
        );
        assert_eq!(
            groups("settings: {front: {amplifier: quad, outputs: [1, 2]}, rear: {amplifier: quad, outputs: [3, 4]}}\n"),
            ["settings.front settings.front fl,fr", "settings.rear settings.rear sub"]
        );
    }

    #[test]
    fn what_no_setting_holds_for_is_a_group_of_its_own() {
        assert_eq!(
            groups("settings: {rear: {amplifier: quad, outputs: [3, 4]}}\n"),
            ["settings.rear settings.rear sub", "amplifiers.quad settings.quad fl,fr"]
        );
        assert_eq!(
            groups("settings: {quad: {outputs: [3, 4]}}\n"),
            ["settings.quad settings.quad sub", "amplifiers.quad settings.quad-rest fl,fr"]
        );
        assert_eq!(groups("settings: {all: {amplifier: quad}}\n"), ["settings.all settings.all fl,fr,sub"]);
    }
}
