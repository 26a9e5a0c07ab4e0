//! The rules that a trial is judged by: rows of data, each with what is looked at, how bad it is, what to say and what to do next
//! time.
mod any_kind;
mod one_kind;
mod remarks;

use super::Verdict;
use super::doubts;
use super::facts::Facts;

/// A sentence and its place, when the rule applies.
type Found = Option<(String, Option<f64>)>;

/// One rule.
pub(in crate::answer) struct Rule {
    pub code: &'static str,
    pub severity: Verdict,
    pub next_time: &'static str,
    pub applies: fn(&Facts<'_>) -> Found,
}

/// Every rule, in the order in which equally bad ones are told.
pub(super) fn all() -> impl Iterator<Item = &'static Rule> {
    any_kind::RULES.iter().chain(one_kind::RULES).chain(remarks::RULES).chain(doubts::rules::RULES)
}
