//! A calendar day (proleptic Gregorian), counted in days so that gaps between sessions are a subtraction.
use serde::{Deserialize, Serialize};

/// A day, counted from 1970-01-01; written and read as ISO 8601 `YYYY-MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Date(pub i32);

impl Date {
    /// The day of an ISO 8601 date or date-time (only its first ten characters count); `None` where it is no day.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.trim().get(..10)?.split('-');
        let (year, month, day) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
        let date = Self::from_ymd(year, month, day)?;
        (date.ymd() == (year, month, day)).then_some(date)
    }
    /// The day `year`-`month`-`day`; `None` outside the years 1–9999 or the months 1–12 or the days 1–31.
    pub fn from_ymd(year: i32, month: i32, day: i32) -> Option<Self> {
        if !((1..=9999).contains(&year) && (1..=12).contains(&month) && (1..=31).contains(&day)) {
            return None;
        }
        // Years from March, so that the leap day is the last; 400 years are 146 097 days.
        let y = if month <= 2 { year - 1 } else { year };
        let (era, of_era) = (y.div_euclid(400), y.rem_euclid(400));
        let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
        Some(Self(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468))
    }
    /// Year, month 1–12, day 1–31.
    pub fn ymd(self) -> (i32, i32, i32) {
        let z = self.0 + 719_468;
        let (era, doe) = (z.div_euclid(146_097), z.rem_euclid(146_097));
        let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
        let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
        let mp = (5 * doy + 2) / 153;
        let month = if mp < 10 { mp + 3 } else { mp - 9 };
        (yoe + era * 400 + i32::from(month <= 2), month, doy - (153 * mp + 2) / 5 + 1)
    }
    /// Days from `earlier` to this day.
    pub fn days_since(self, earlier: Self) -> i32 {
        self.0 - earlier.0
    }
    /// This many days later.
    pub fn plus_days(self, days: i32) -> Self {
        Self(self.0.saturating_add(days))
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (year, month, day) = self.ymd();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

impl From<Date> for String {
    fn from(date: Date) -> Self {
        date.to_string()
    }
}

impl TryFrom<String> for Date {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| format!("{text:?} is no date; expected YYYY-MM-DD"))
    }
}

#[cfg(test)]
mod tests {
    use super::Date;

    #[test]
    fn days_are_counted_as_the_calendar_does() {
        // Known by hand: the epoch, the day after a century's missing leap day, a leap day of a fourth century.
        assert_eq!(Date::parse("1970-01-01"), Some(Date(0)));
        assert_eq!(Date::parse("1900-03-01").map(|d| d.plus_days(-1).to_string()).as_deref(), Some("1900-02-28"));
        assert_eq!(Date::parse("2000-02-29").map(|d| d.0), Some(11_016));
        assert_eq!(Date::parse("2026-02-30"), None);
        for day in (-200_000..200_000).step_by(37) {
            assert_eq!(Date::parse(&Date(day).to_string()), Some(Date(day)));
        }
    }
}
