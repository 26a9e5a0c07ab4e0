//! Standing, change, repeatability and left/right as tables for other programs: of the athlete on show, or of everybody.
use super::overlay::compared;
use super::plan;
use super::rows::per_kg;
use super::study::{CMJ, LEG, Study, shown_figures, trainings};
use super::{Effect, Fields, Overlay, Pair, State};
use crate::answer::METHOD_VERSION;
use crate::cohort::change::Question;
use crate::cohort::components::Repeats;
use crate::cohort::export::{CHANGE, CURVES, Column, Context, Curve, HISTORY, REPEATABILITY, SIDES, STANDING};
use crate::cohort::export::{change_rows, curve_rows, history_rows, repeatability_row, sides_row, standing_row};
use crate::cohort::sides::difference;
use crate::cohort::targets::{Sorted, sort};
use crate::cohort::{Change, Group, Repeatability, Table, change, chart, standing};
use crate::people::{Athlete, Date, Side};
use crate::records::Pool;
use crate::records::table::{DIFFERENCE, LEFT, RIGHT};
use crate::records::tidy::{Flavour, resource_csv, resource_json};
use std::collections::{BTreeMap, BTreeSet};

/// Which table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Standing in the group.
    Standing,
    /// What changed between two days.
    Change,
    /// How far figures repeat.
    Repeatability,
    /// Left against right.
    Sides,
    /// Days in time with their limits, each leg's own too.
    History,
    /// Two days' force over each other, with bands: of the athlete on show, once days were compared.
    Curves,
}

/// A table of the squad that waits for its figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Which.
    pub what: What,
    /// How numbers are written.
    pub flavour: Flavour,
    /// JSON instead of CSV.
    pub json: bool,
}

impl What {
    /// The table of a form's word.
    pub fn of(word: &str) -> Option<Self> {
        [Self::Standing, Self::Change, Self::Repeatability, Self::Sides, Self::History, Self::Curves].into_iter().find(|w| w.word() == word)
    }
    /// Its word in forms and file names.
    pub fn word(self) -> &'static str {
        match self {
            Self::Standing => "standing",
            Self::Change => "change",
            Self::Repeatability => "repeatability",
            Self::Sides => "sides",
            Self::History => "history",
            Self::Curves => "curves",
        }
    }
    /// Its columns.
    pub fn columns(self) -> &'static [Column] {
        match self {
            Self::Standing => STANDING,
            Self::Change => CHANGE,
            Self::Repeatability => REPEATABILITY,
            Self::Sides => SIDES,
            Self::History => HISTORY,
            Self::Curves => CURVES,
        }
    }
}

/// Takes a form in; `None` where it is another's.
pub fn sent(state: &mut State, form: &str, fields: &Fields) -> Option<Vec<Effect>> {
    if form != "export-study" {
        return None;
    }
    let (Some(what), Some(study)) = (What::of(fields.raw("table")), state.study.as_deref()) else { return Some(vec![]) };
    let flavour = if fields.raw("flavour") == "comma" { Flavour::DecimalComma } else { Flavour::Plain };
    let wanted = Wanted { what, flavour, json: fields.raw("form") == "json" };
    Some(vec![hand_over(state, wanted, &of_study(state, study, what))])
}

/// Asks for the squad's figures, of which the table is made once they are here.
pub fn squad(state: &mut State, what: What, flavour: Flavour, json: bool) -> Vec<Effect> {
    state.storage.busy = Some("Reading the squad’s figures …".into());
    state.storage.outcome = None;
    state.storage.wanted = Some(Wanted { what, flavour, json });
    vec![plan::pool()]
}

/// The squad's figures are here.
pub fn pooled(state: &mut State) -> Vec<Effect> {
    let (Some(wanted), Some(pool)) = (state.storage.wanted.take(), &state.pool) else { return vec![] };
    let rows = of_squad(state, pool, wanted.what);
    let effect = hand_over(state, wanted, &rows);
    state.storage.busy = None;
    state.storage.outcome = Some(Ok(format!("The table holds {} rows.", rows.len())));
    vec![effect]
}

fn hand_over(state: &State, wanted: Wanted, rows: &[Vec<String>]) -> Effect {
    let Wanted { what, flavour, json } = wanted;
    let name = format!("tarsal-{}-{}.{}", what.word(), state.today, if json { "json" } else { "csv" });
    let text = if json { resource_json(what.word(), &name, what.columns(), rows) } else { resource_csv(what.columns(), rows, flavour) };
    Effect::Download(name, text)
}

/// Rows of the athlete on show, as the page shows them.
pub fn of_study(state: &State, study: &Study, what: What) -> Vec<Vec<String>> {
    let name = state.athlete_name(&study.athlete);
    let context = |figure: &str| {
        let of = |t: &&Table| t.figure == figure;
        let table = study.tables.iter().filter(of).find(|t| t.test == CMJ).or_else(|| study.tables.iter().find(of));
        let table = table.or_else(|| study.tables.iter().find(|t| t.test == CMJ));
        Context {
            athlete: name.to_owned(),
            test: table.map_or_else(|| CMJ.to_owned(), |t| t.test.clone()),
            protocol: table.map(|t| t.protocol.clone()).unwrap_or_default(),
            group: study.group.words(),
        }
    };
    match what {
        What::Standing => study.standings.iter().map(|(s, noise)| standing_row(&context(&s.figure), s, noise.as_ref())).collect(),
        What::Change => {
            let targets = study.sorted.targets.iter().map(|c| Sorted { targets: vec![c.clone()], ..Sorted::default() });
            let others = study.sorted.also_seen.iter().map(|s| Sorted { also_seen: vec![s.clone()], ..Sorted::default() });
            let figure = |one: &Sorted| {
                let change = one.targets.first().or(one.also_seen.first().map(|s| &s.change));
                change.map(|c| c.figure.clone()).unwrap_or_default()
            };
            targets.chain(others).flat_map(|one| change_rows(&context(&figure(&one)), &one)).collect()
        }
        What::Repeatability => study.repeatability.iter().map(|r| repeatability_row(&context(&r.figure), r)).collect(),
        What::Sides => {
            let kappa = |id: &str| {
                let known = study.kappas.iter().find(|k| k.0 == id)?.1.as_ref().ok()?;
                Some((study.kappa_between?, known))
            };
            study.sides.iter().map(|(id, day, d, _)| sides_row(&context(id), id, *day, d, kappa(id))).collect()
        }
        What::History => {
            let charted = study.charts.iter().flat_map(|(id, chart)| history_rows(&context(id), id, None, chart));
            let legs = study.legs.iter().flat_map(|leg| history_rows(&context(""), LEG_PER_KG, Some(leg.side), &leg.chart));
            charted.chain(legs).collect()
        }
        What::Curves => overlay_shown(state, study).map_or_else(Vec::new, |overlay| curves(&context(""), overlay)),
    }
}

/// The force of the days that the page shows over each other.
pub fn overlay_shown<'a>(state: &'a State, study: &Study) -> Option<&'a Overlay> {
    state.overlay.as_ref().filter(|o| o.athlete == study.athlete && compared(study).as_ref() == Some(&o.days))
}

fn curves(context: &Context, overlay: &Overlay) -> Vec<Vec<String>> {
    let pairs = [&overlay.by_phase, &overlay.in_time].into_iter().flatten();
    let of = |pair: &Pair| {
        let curve = |name, days, band| curve_rows(context, Curve { name, days, x: &pair.x, phases: &pair.phases, band });
        let mut rows = curve("before", &overlay.days.0, &pair.before);
        rows.extend(curve("after", &overlay.days.1, &pair.after));
        rows.extend(pair.difference.iter().flat_map(|band| curve("difference", &[], band)));
        rows
    };
    pairs.flat_map(of).collect()
}

/// Rows of everybody under every protocol, each athlete beside all others: his latest day, and for change his last two.
/// Invented athletes stand among themselves.
pub fn of_squad(state: &State, pool: &Pool, what: What) -> Vec<Vec<String>> {
    let people: Vec<(&str, &Athlete)> = state.athletes.iter().filter(|(_, a)| !a.removed).map(|(id, a)| (id.as_str(), &a.body)).collect();
    let places: BTreeMap<&str, usize> = people.iter().enumerate().map(|(i, (id, _))| (*id, i)).collect();
    let blocks = trainings(state, &places);
    let rule = Repeats { blocks: &blocks, first_counts: false };
    let mut rows = Vec::new();
    for invented in [false, true] {
        let tables = pool.tables(METHOD_VERSION, |head| {
            let now = state.heads.get(&head.id).filter(|h| h.invented == invented)?;
            Some((*places.get(&*now.athlete_id)?, state.day_of(now)?))
        });
        let mut changes: BTreeMap<(usize, String), Vec<Change>> = BTreeMap::new();
        for table in tables.iter().filter(|t| wanted(t, what)) {
            let leg = leg(table);
            let of_leg = leg.map(|_| per_kg(table));
            let table = of_leg.as_ref().unwrap_or(table);
            let known = Repeatability::of(table, rule, None);
            let context = |who: usize, group: String| Context {
                athlete: people.get(who).map(|(_, a)| a.name.clone()).unwrap_or_default(),
                test: table.test.clone(),
                protocol: table.protocol.clone(),
                group,
            };
            if what == What::Repeatability {
                rows.push(repeatability_row(&context(usize::MAX, String::new()), &known));
                continue;
            }
            for own in table.rows.chunk_by(|a, b| a.athlete == b.athlete) {
                let days: Vec<Date> = own.iter().map(|r| r.day).collect::<BTreeSet<Date>>().into_iter().collect();
                let (Some(who), Some(last)) = (own.first().map(|r| r.athlete), days.last().copied()) else { continue };
                let noise = known.noise.as_ref();
                match what {
                    What::Standing => {
                        let group = Group::everybody(last);
                        let members = vec![true; people.len()];
                        let row = standing(table, &group, &members, who, None, noise);
                        rows.extend(row.map(|s| standing_row(&context(who, group.words()), &s, noise)));
                    }
                    What::Sides => {
                        let index = table.figure.strip_prefix(DIFFERENCE).unwrap_or(&table.figure);
                        let row = difference(table, who, last, noise);
                        rows.extend(row.map(|d| sides_row(&context(who, String::new()), index, last, &d, None)));
                    }
                    What::History => {
                        let figure = if leg.is_some() { LEG_PER_KG } else { table.figure.as_str() };
                        let days = chart(table, who, None, noise);
                        rows.extend(days.iter().flat_map(|c| history_rows(&context(who, String::new()), figure, leg, c)));
                    }
                    _ => {
                        let Some(before) = days.iter().rev().nth(1).copied() else { continue };
                        let question = Question { athlete: who, before: &[before], after: &[last], picked_in: None };
                        let made = change(table, question, noise, known.smallest_worthwhile);
                        changes.entry((who, table.protocol.clone())).or_default().extend(made);
                    }
                }
            }
        }
        for ((who, protocol), changes) in changes {
            let athlete = people.get(who).map(|(_, a)| a.name.clone()).unwrap_or_default();
            let context = Context { athlete, test: CMJ.into(), protocol, group: String::new() };
            rows.extend(change_rows(&context, &sort(changes, &[])));
        }
    }
    rows
}

/// The figure of a leg's own history.
const LEG_PER_KG: &str = "peak_propulsion_force_per_kg";

/// Which leg's own history a table is.
fn leg(table: &Table) -> Option<Side> {
    let of = |prefix| table.figure.strip_prefix(prefix) == Some(LEG);
    of(LEFT).then_some(Side::Left).or(of(RIGHT).then_some(Side::Right))
}

/// The figures of the first view and the manner; for left and right, the differences; for days in time, each leg's too. Curves
/// are of the athlete on show alone: they need the force itself.
fn wanted(table: &Table, what: What) -> bool {
    let shown = shown_figures().any(|id| id == table.figure);
    let asked = match what {
        What::Sides => table.figure.starts_with(DIFFERENCE),
        What::History => shown || leg(table).is_some(),
        What::Curves => false,
        What::Standing | What::Change | What::Repeatability => shown,
    };
    table.test == CMJ && asked
}
