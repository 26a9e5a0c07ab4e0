//! What the qualities are made from, gathered once a question: every figure's value of the athlete, of each member of the
//! group, and the differences of members' near days, all in units of the group, better upwards. What is asked again
//! without a trial or a member is made from this and not from the tables.
use super::asked::Asked;
use super::qualities::{Evidence, QUALITIES, QualityId, position_fits};
use crate::cohort::Line;
use crate::cohort::standing::MASS_MATTERS;
use crate::cohort::{Day, Scale, Table, WITHIN_DAYS, days};
use crate::force::math;
use crate::force::stats::{mean, sd};
use crate::people::Date;

/// Days closer than this are repeats of one state.
pub const REPEAT_DAYS: i32 = crate::cohort::components::REPEAT_WITHIN_DAYS;
/// Below so many in the group not even a first number is made.
pub const FEWEST: usize = 5;

/// Where a trial of the athlete stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrialPlace {
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// Day.
    pub day: Date,
    /// Which of that day's trials, from 0.
    pub place: usize,
}

/// One figure of a family.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its id.
    pub id: &'static str,
    /// The athlete's days in it.
    pub own: Vec<(Date, f64)>,
    /// Each of [`Sheet::members`].
    pub members: Vec<Option<f64>>,
    /// Second less first day of each of [`Sheet::pairs`].
    pub pairs: Vec<Option<f64>>,
    /// Correlation with body mass in the group.
    pub mass_r: f64,
    /// How a value on its scale becomes one of these: less the first, times the second.
    units: (f64, f64),
    /// Where it is from, in the question's tables.
    table: usize,
}

/// A family of one test under one protocol: what counts as one observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Family {
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// Name.
    pub name: &'static str,
    /// Its figures; never empty.
    pub figures: Vec<Figure>,
}

/// All that is read from the tables.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// The athlete's days used, oldest first.
    pub days: Vec<Date>,
    /// The group, without the athlete.
    pub members: Vec<usize>,
    /// Near days of members: who, first, second.
    pub pairs: Vec<(usize, Date, Date)>,
    /// Families of each quality that the athlete's tests speak of.
    pub qualities: Vec<(QualityId, Vec<Family>)>,
}

impl Sheet {
    /// Gathers; `mass_adjusted` takes out what body mass explains where |r| > 0.3 [after Jaric 2002, Sports Med. 32:615].
    pub fn of(asked: &Asked, mass_adjusted: bool) -> Self {
        let first_ever = asked.newcomers.iter().find(|n| n.0 == asked.athlete).map(|n| n.1);
        let days = usable_days(asked.tables, asked.athlete, asked.day, first_ever);
        let mut members: Vec<usize> =
            asked.tables.iter().flat_map(|t| &t.rows).map(|r| r.athlete).filter(|a| *a != asked.athlete).collect();
        members.sort_unstable();
        members.dedup();
        let mut sheet = Self { days, members, pairs: near_days(asked), qualities: Vec::new() };
        for quality in QUALITIES {
            let mut families: Vec<Family> = Vec::new();
            for row in quality.evidence {
                let fits = |t: &Table| t.test == row.test && t.figure == row.figure && position_fits(row, &t.protocol);
                for (place, table) in asked.tables.iter().enumerate().filter(|(_, t)| fits(t)) {
                    let Some(figure) = sheet.figure(asked, place, table, row, mass_adjusted) else { continue };
                    let same = |f: &Family| f.test == table.test && f.protocol == table.protocol && f.name == row.family;
                    match families.iter_mut().find(|f| same(f)) {
                        Some(family) => family.figures.push(figure),
                        None => families.push(Family {
                            test: table.test.clone(),
                            protocol: table.protocol.clone(),
                            name: row.family,
                            figures: vec![figure],
                        }),
                    }
                }
            }
            if !families.is_empty() {
                sheet.qualities.push((quality.id, families));
            }
        }
        sheet
    }

    fn figure(&self, asked: &Asked, place: usize, table: &Table, row: &Evidence, mass_adjusted: bool) -> Option<Figure> {
        let all = asked.days(table);
        let group = asked.others(&all);
        if group.len() < FEWEST {
            return None;
        }
        let known = group.iter().filter(|d| d.body_mass_kg > 0.0);
        let (masses, values): (Vec<f64>, Vec<f64>) = known.map(|d| (math::ln(d.body_mass_kg), d.mean)).unzip();
        let line = Line::of(&masses, &values);
        let slope = if mass_adjusted && line.r.abs() > MASS_MATTERS { line.slope } else { 0.0 };
        let mass = line.x_mean;
        let value = |d: &Day| d.mean - if d.body_mass_kg > 0.0 { slope * (math::ln(d.body_mass_kg) - mass) } else { 0.0 };
        let values: Vec<f64> = group.iter().map(value).collect();
        let spread = sd(&values);
        if !(spread > 0.0) || self.varies_too_much(asked.athlete, table) {
            return None;
        }
        let units = (mean(&values), if row.lower { -1.0 } else { 1.0 } / spread);
        let of = |d: &Day| (value(d) - units.0) * units.1;
        let at = |who: usize, day: Date| {
            let found = all.binary_search_by_key(&(who, day), |d| (d.athlete, d.day)).ok()?;
            all.get(found).map(of)
        };
        let own: Vec<(Date, f64)> = self.days.iter().filter_map(|d| Some((*d, at(asked.athlete, *d)?))).collect();
        let member = |who: &usize| group.get(group.binary_search_by_key(who, |d| d.athlete).ok()?).map(of);
        let pair = |(who, first, second): &(usize, Date, Date)| Some(at(*who, *second)? - at(*who, *first)?);
        (!own.is_empty()).then(|| Figure {
            id: row.figure,
            own,
            members: self.members.iter().map(member).collect(),
            pairs: self.pairs.iter().map(pair).collect(),
            mass_r: line.r,
            units,
            table: place,
        })
    }

    /// Whether the athlete's own trials of a rate differ so much within his days that it is shown and not scored
    /// ([`crate::figures::Definition::scored_up_to_cv`]). One trial a day tells nothing of it.
    fn varies_too_much(&self, athlete: usize, table: &Table) -> bool {
        let Some(most) = crate::figures::definition(&table.figure).and_then(crate::figures::Definition::scored_up_to_cv) else {
            return false;
        };
        let cv_squared = |day: &Date| {
            let of_day = table.rows.iter().filter(|r| r.athlete == athlete && r.day == *day && r.value.is_finite());
            let values: Vec<f64> = of_day.map(|r| r.value).collect();
            let cv = 100.0 * sd(&values) / mean(&values).abs();
            (values.len() > 1 && cv.is_finite()).then_some(cv * cv)
        };
        let days: Vec<f64> = self.days.iter().filter_map(cv_squared).collect();
        !days.is_empty() && mean(&days).sqrt() > most
    }

    /// The same with one trial of the athlete left out, in every figure read from it. Only his own values can change.
    pub fn without_trial(&self, asked: &Asked, gone: &TrialPlace) -> Self {
        let mut sheet = self.clone();
        let families = sheet.qualities.iter_mut().flat_map(|q| &mut q.1).filter(|f| f.test == gone.test && f.protocol == gone.protocol);
        for figure in families.flat_map(|f| &mut f.figures) {
            let Some(table) = asked.tables.get(figure.table) else { continue };
            let of_day = table.rows.iter().filter(|r| r.athlete == asked.athlete && r.day == gone.day && r.value.is_finite());
            let rows = of_day.enumerate().filter(|(i, _)| *i != gone.place).map(|(_, r)| *r).collect();
            let left = days(&Table { rows, ..Table::default() }, Scale::of(table));
            figure.own.retain(|o| o.0 != gone.day);
            figure.own.extend(left.first().map(|d| (d.day, (d.mean - figure.units.0) * figure.units.1)));
        }
        sheet
    }
}

/// The athlete's days that count: within [`REPEAT_DAYS`] of his latest, his first-ever session apart where another follows.
pub fn usable_days(tables: &[Table], athlete: usize, day: Date, first_ever: Option<Date>) -> Vec<Date> {
    let rows = tables.iter().flat_map(|t| &t.rows).filter(|r| r.athlete == athlete && r.day <= day && day.days_since(r.day) <= WITHIN_DAYS);
    let mut days: Vec<Date> = rows.map(|r| r.day).collect();
    days.sort();
    days.dedup();
    if days.len() > 1 {
        days.retain(|d| Some(*d) != first_ever);
    }
    let Some(last) = days.last().copied() else { return days };
    days.retain(|d| last.days_since(*d) < REPEAT_DAYS);
    days
}

/// Days of members less than [`REPEAT_DAYS`] apart, each with the next; a first-ever session is not one of them.
fn near_days(asked: &Asked) -> Vec<(usize, Date, Date)> {
    let rows = asked.tables.iter().flat_map(|t| &t.rows).map(|r| (r.athlete, r.day));
    let mut days: Vec<(usize, Date)> = rows.filter(|d| d.0 != asked.athlete && d.1 <= asked.until()).collect();
    days.sort_unstable();
    days.dedup();
    days.retain(|d| !asked.newcomers.contains(d));
    let next = days.iter().skip(1);
    days.iter().zip(next).filter(|(a, b)| a.0 == b.0 && b.1.days_since(a.1) < REPEAT_DAYS).map(|(a, b)| (a.0, a.1, b.1)).collect()
}
