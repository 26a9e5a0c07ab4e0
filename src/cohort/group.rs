//! Whom an athlete is compared with: chosen by the coach, and said at every use.
use crate::people::{Athlete, Date, Sex};
use serde::{Deserialize, Serialize};

/// Values older than this do not stand for an athlete (methods.md §8: twelve months).
pub const WITHIN_DAYS: i32 = 365;

/// A choice of athletes. What is empty does not restrict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Labels a member bears, every one of them.
    pub labels: Vec<String>,
    /// Sex.
    pub sex: Option<Sex>,
    /// Youngest and oldest age, in years, on the day.
    pub age: Option<(i32, i32)>,
    /// Sport; upper and lower case are the same.
    pub sport: Option<String>,
    /// The day of the comparison: nothing later counts.
    pub on: Date,
    /// How many days back a value may lie; everyone counts by the latest.
    pub within_days: i32,
}

impl Group {
    /// Everybody, over the twelve months up to a day.
    pub fn everybody(on: Date) -> Self {
        Self { labels: Vec::new(), sex: None, age: None, sport: None, on, within_days: WITHIN_DAYS }
    }
    /// Whether an athlete belongs. Where the choice asks for what is not known of him, he does not.
    pub fn holds(&self, athlete: &Athlete) -> bool {
        let alike = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
        self.labels.iter().all(|wanted| athlete.labels.iter().any(|own| alike(own, wanted)))
            && self.sex.is_none_or(|sex| athlete.sex == Some(sex))
            && self.age.is_none_or(|(from, to)| athlete.age_on(self.on).is_some_and(|age| (from..=to).contains(&age)))
            && self.sport.as_deref().is_none_or(|wanted| athlete.sport.as_deref().is_some_and(|own| alike(own, wanted)))
    }
    /// One flag an athlete, in the order of the list that a table's rows point into.
    pub fn members(&self, athletes: &[Athlete]) -> Vec<bool> {
        athletes.iter().map(|a| self.holds(a)).collect()
    }
    /// Whether a day counts.
    pub fn counts(&self, day: Date) -> bool {
        day <= self.on && self.on.days_since(day) <= self.within_days
    }
    /// First and last day that count.
    pub fn span(&self) -> (Date, Date) {
        (self.on.plus_days(-self.within_days), self.on)
    }
    /// The choice in words: "women, 17–23 years, rowing, labelled first team, tested in the 12 months to 2026-03-01".
    pub fn words(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        match self.sex {
            Some(Sex::Female) => parts.push("women".into()),
            Some(Sex::Male) => parts.push("men".into()),
            None => parts.push("athletes".into()),
        }
        if let Some((from, to)) = self.age {
            parts.push(format!("{from}–{to} years"));
        }
        parts.extend(self.sport.iter().cloned());
        if !self.labels.is_empty() {
            parts.push(format!("labelled {}", self.labels.join(" and ")));
        }
        parts.push(match self.within_days {
            WITHIN_DAYS => format!("tested in the 12 months to {}", self.on),
            0 => format!("tested on {}", self.on),
            _ => format!("tested from {} to {}", self.span().0, self.on),
        });
        parts.join(", ")
    }
}
