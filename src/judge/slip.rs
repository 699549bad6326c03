//! How plans come to break a rule: what practice plans are made with.

/// One way in which somebody who writes a plan comes to break a rule.
///
/// A pattern is a path in which `*` stands for any one key or number, and `one|other` for either. Whatever it is, a slip
/// is only a proposal: it is taken where the plan, judged by all rules, then has exactly this finding more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// The key at a pattern, which need not be stated yet, comes to say one of these; `{}` is what it says.
    Say(&'static str, &'static [&'static str]),
    /// The number, size, rating or word at a pattern goes past where the rule turns in this plan: that value is searched.
    Past(&'static str),
    /// The key at a pattern comes to be another of these.
    Rename(&'static str, &'static [&'static str]),
    /// What stands at a pattern is left out, and the steps that install it with it.
    Drop(&'static str),
    /// The name at a pattern is written wrong by a letter.
    Misspell(&'static str),
    /// The place at a pattern comes to say what another place of the same pattern says.
    Mistake(&'static str),
    /// The list at a pattern gets one of these items more, at any place.
    Insert(&'static str, &'static [&'static str]),
    /// The item of the list, which is this key or this key with this word, comes to stand at another place.
    Move(&'static str, &'static str),
    /// Whatever says `NAME.one` at a pattern says `NAME.other` instead, and the other way round: two terminals of one thing.
    Swap(&'static str, &'static str, &'static str),
    /// The thing at a pattern is written once more under another name, and the steps that install it too.
    Repeat(&'static str),
    /// All of these, on the same thing as the first, or on one of another section where one of the two names the other.
    Together(&'static [Slip]),
}
