//! What the squad's figures say about one athlete: standing, change, legs, what is least developed, the block. Made in one
//! go from the pool of figures and the records at hand, whenever one of them changes.
use super::judged::{Aim, LeftRight, Of, left_right};
use super::rows::{LEG_ALONE, his, latest, per_kg, recent};
use super::{State, situation};
use crate::advice::after::{Outcome, drifts_to, outcome};
use crate::advice::asked::Asked;
use crate::advice::blocks::{self, Block as Plan};
use crate::advice::brief::{About, Brief, FIRST_VIEW, MANNER_VIEW, brief};
use crate::advice::evidence::{Flags, ONE_TRIAL, SideRead};
use crate::advice::qualities::QUALITIES;
use crate::advice::score::{Reading, read};
use crate::answer::{METHOD_VERSION, Verdict};
use crate::cohort::change::Question;
use crate::cohort::components::{Block as Training, Repeats};
use crate::cohort::kappa::{Kappa, NoKappa, kappa};
use crate::cohort::sides::{Against, Directions, Leg, SideDifference, difference, directions, legs};
use crate::cohort::targets::{Sorted, sort};
use crate::cohort::{Chart, Gravities, Group, Noise, Observation, Repeatability, Standing, Table, WITHIN_DAYS, change, chart, standing};
use crate::people::{Athlete, Date, Side};
use crate::records::Pool;
use crate::records::table::{DIFFERENCE, LEFT, RIGHT};
use std::collections::BTreeMap;

/// Differences between the sides that are looked at, of a two-leg jump.
const SIDES: [&str; 4] = ["braking_impulse", "propulsion_impulse", "peak_braking_force", "landing_impulse"];
/// The figure of each leg's own history, per kg of body mass.
pub const LEG: &str = "peak_propulsion_force";
/// The test of the first view.
pub const CMJ: &str = "countermovement_jump";
/// What the reader chose to compare.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Choice {
    /// Whom with; everybody where none. Its days are [`Self::tested`].
    pub group: Option<Group>,
    /// First and last day on which the others were tested: the twelve months up to the last, and the athlete's own last day,
    /// where none is chosen.
    pub tested: (Option<Date>, Option<Date>),
    /// The earlier days; chosen for the reader where none.
    pub before: Vec<Date>,
    /// The later days; the last where none.
    pub after: Vec<Date>,
    /// At most two figures to judge.
    pub targets: Vec<String>,
}

impl Choice {
    /// The group of an athlete last tested on a day.
    fn group(&self, last: Date) -> Group {
        let (from, to) = self.tested;
        let on = to.or(from.filter(|from| *from > last)).unwrap_or(last);
        let within_days = from.map_or(WITHIN_DAYS, |from| on.days_since(from).max(0));
        Group { on, within_days, ..self.group.clone().unwrap_or_else(|| Group::everybody(on)) }
    }
}

/// Everything about one athlete.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// Whose.
    pub athlete: String,
    /// His days with trials, oldest first.
    pub days: Vec<Date>,
    /// Whom he is compared with.
    pub group: Group,
    /// Standing of the first view's figures, with the noise each rests on.
    pub standings: Vec<(Standing, Option<Noise>)>,
    /// Changes between the two days, sorted.
    pub sorted: Sorted,
    /// Sessions in time: figure and chart.
    pub charts: Vec<(String, Chart)>,
    /// More repeated test days that would help.
    pub days_wanted: Option<usize>,
    /// Where trials of the days compared, or of the sessions in time, were read with different gravity.
    pub gravity: Option<Gravities>,
    /// Each leg's history.
    pub legs: Vec<Leg>,
    /// Differences of the last day, that day, with directions over sessions.
    pub sides: Vec<(String, Date, SideDifference, Directions)>,
    /// Whether the squad's higher sides stay the higher ones between two days, figure by figure.
    pub kappas: Vec<(String, Result<Kappa, NoKappa>)>,
    /// Those days: the last of either side of the comparison.
    pub kappa_between: Option<(Date, Date)>,
    /// The summary, block included.
    pub brief: Brief,
    /// The reading behind it.
    pub reading: Reading,
    /// Latest block: its record's key and the plan.
    pub block: Option<(String, Plan)>,
    /// What came of it, once there is a day of tests after it began.
    pub outcome: Option<Outcome>,
    /// How far the first view's figures repeat.
    pub repeatability: Vec<Repeatability>,
    /// What a block could be judged by: the first figure of each quality, and once there is a block every figure of the day
    /// before it.
    pub aims: Vec<Aim>,
    /// Left against right as an aim.
    pub left_right: LeftRight,
    /// What the block's targets are proposed from: tables of this athlete.
    pub tables: Vec<Table>,
    /// His place in the tables.
    pub place: usize,
    /// Everybody's blocks, between which days are no repeats.
    pub trainings: Vec<Training>,
}

/// Figures of the countermovement jump whose standing, change and repeatability are told: the first view's and the manner's.
pub fn shown_figures() -> impl Iterator<Item = &'static str> {
    FIRST_VIEW.iter().chain(MANNER_VIEW).copied()
}

/// Columns of the derived table that a study reads.
pub fn columns() -> Vec<String> {
    let mut ids: Vec<String> = shown_figures().map(str::to_owned).collect();
    for quality in QUALITIES {
        ids.extend(quality.evidence.iter().map(|e| e.figure.to_owned()));
        ids.extend(quality.manner.iter().map(|m| m.figure.to_owned()));
    }
    ids.extend(SIDES.map(|id| format!("{DIFFERENCE}{id}")));
    ids.extend([format!("{LEFT}{LEG}"), format!("{RIGHT}{LEG}")]);
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// Makes the study; `None` where the athlete is unknown or has no trial in the pool.
pub fn study(state: &State, pool: &Pool, id: &str) -> Option<Study> {
    let athletes: Vec<(&String, &Athlete)> = state.athletes.iter().filter(|(_, a)| !a.removed).map(|(key, a)| (key, &a.body)).collect();
    let places: BTreeMap<&str, usize> = athletes.iter().enumerate().map(|(i, (key, _))| (key.as_str(), i)).collect();
    let people: Vec<Athlete> = athletes.iter().map(|(_, a)| (*a).clone()).collect();
    let place = *places.get(id)?;
    let athlete = people.get(place)?;
    // Invented people never stand beside real ones.
    let invented = state.heads.values().any(|h| !h.removed && &*h.athlete_id == id && h.invented);
    // Both lists are in order of their keys as a rule: they are walked side by side, and only a stray head is looked up.
    let mut walk = state.heads.iter().peekable();
    let at = |head: &crate::records::Head| {
        while walk.next_if(|(key, _)| **key < head.id).is_some() {}
        let now = match walk.peek() {
            Some((key, now)) if **key == head.id => *now,
            _ => state.heads.get(&head.id)?,
        };
        (!now.removed && now.invented == invented).then_some(())?;
        Some((*places.get(&*now.athlete_id)?, state.day_of(now)?))
    };
    let all = pool.tables(METHOD_VERSION, at);
    let mut first: BTreeMap<usize, Date> = BTreeMap::new();
    // A table's rows are in order of athlete, then day.
    for row in all.iter().flat_map(|t| t.rows.chunk_by(|a, b| a.athlete == b.athlete)).filter_map(<[_]>::first) {
        first.entry(row.athlete).and_modify(|d| *d = (*d).min(row.day)).or_insert(row.day);
    }
    let newcomers: Vec<(usize, Date)> = first.into_iter().collect();
    let tables = his(all, place);
    let mut days: Vec<Date> = tables.iter().flat_map(|t| &t.rows).filter(|r| r.athlete == place).map(|r| r.day).collect();
    days.sort_unstable();
    days.dedup();
    let last = *days.last()?;

    let (plan_key, plan) = plan_of(state, id).unzip();
    let plan: Option<Plan> = plan;
    let trainings = trainings(state, &places);
    let rule = Repeats { blocks: &trainings, first_counts: false };
    let group = state.choice.group(last);
    let members = group.members(&people);
    let find = |figure: &str| tables.iter().find(|t| t.figure == figure && t.test == CMJ && !t.protocol.contains(LEG_ALONE));

    let shown: Vec<&Table> = shown_figures().filter_map(find).collect();
    let repeatability: Vec<Repeatability> = shown.iter().map(|t| Repeatability::of(t, rule, Some(&members))).collect();
    let noises: Vec<Option<Noise>> = repeatability.iter().map(|r| r.noise).collect();
    let standings: Vec<(Standing, Option<Noise>)> = shown
        .iter()
        .zip(&noises)
        .filter_map(|(t, noise)| Some((standing(t, &group, &members, place, Some(latest(t, place, last)?), noise.as_ref())?, *noise)))
        .collect();

    let mut after: Vec<Date> = state.choice.after.iter().filter(|d| days.contains(d)).copied().collect();
    if after.is_empty() {
        after.push(last);
    }
    let first_after = after.iter().min().copied().unwrap_or(last);
    let mut before: Vec<Date> = state.choice.before.iter().filter(|d| days.contains(d) && **d < first_after).copied().collect();
    if before.is_empty() {
        let tested_on = plan.as_ref().map(|p| p.tested_on).filter(|d| *d < first_after && days.contains(d));
        before.extend(tested_on.or(days.iter().rfind(|d| **d < first_after).copied()));
    }
    // A block's targets are judged across the block alone: from the day they were picked on to days after its first.
    let across = plan.as_ref().filter(|p| before == [p.tested_on] && first_after > p.starts);
    let both = |t: &&blocks::Target| !t.protocol.contains(LEG_ALONE);
    let targets: Vec<String> = if state.choice.targets.is_empty() {
        across.iter().flat_map(|p| &p.targets).filter(both).map(|t| t.figure.clone()).collect()
    } else {
        state.choice.targets.clone()
    };
    let mut changes = Vec::new();
    let mut days_wanted = None;
    if !before.is_empty() {
        // A figure that several tests have is looked at in the test that the block names, else in the first.
        let named = |id: &String| plan.iter().flat_map(|p| &p.targets).filter(both).find(|t| t.figure == *id).map(|t| t.test.as_str());
        let targeted = targets.iter().filter(|id| !shown.iter().any(|s| s.figure == **id)).filter_map(|id| {
            let of = |t: &&Table| t.figure == *id && !t.protocol.contains(LEG_ALONE);
            tables.iter().filter(of).find(|t| named(id) == Some(t.test.as_str())).or_else(|| tables.iter().find(of))
        });
        for table in shown.iter().copied().chain(targeted) {
            let known = match repeatability.iter().find(|r| r.figure == table.figure).filter(|_| table.test == CMJ) {
                Some(known) => known.clone(),
                None => Repeatability::of(table, rule, Some(&members)),
            };
            days_wanted = days_wanted.max(known.days_wanted);
            let picked_in = across
                .filter(|p| p.targets.iter().filter(both).any(|t| t.figure == table.figure))
                .and_then(|p| drifts_to(&tables, table, place, p.tested_on));
            let question = Question { athlete: place, before: &before, after: &after, picked_in };
            changes.extend(change(table, question, known.noise.as_ref(), known.smallest_worthwhile));
        }
    }
    let sorted = sort(changes, &targets);
    let history = targets
        .iter()
        .filter_map(|id| tables.iter().find(|t| t.figure == *id))
        .chain(find("jump_height").filter(|_| !targets.iter().any(|t| t == "jump_height")));
    let charts: Vec<(String, Chart)> = history
        .filter_map(|t| Some((t.figure.clone(), chart(t, place, before.iter().max().copied(), Noise::of(t, rule).as_ref())?)))
        .collect();

    let sides: Vec<(String, Date, SideDifference, Directions)> = SIDES
        .iter()
        .filter_map(|id| {
            let index = find(&format!("{DIFFERENCE}{id}"))?;
            let on = index.rows.iter().filter(|r| r.athlete == place).map(|r| r.day).max()?;
            Some(((*id).to_owned(), on, difference(index, place, on, Noise::of(index, rule).as_ref())?, directions(index, place)))
        })
        .collect();
    let kappa_between = before.iter().max().copied().zip(after.iter().max().copied());
    let kappas = kappa_between.map_or_else(Vec::new, |(first, second)| {
        let counts = |r: &&Observation| r.athlete == place || members.get(r.athlete) == Some(&true);
        let of = |id: &&str| {
            let index = find(&format!("{DIFFERENCE}{id}"))?;
            let group = Table { rows: index.rows.iter().filter(counts).copied().collect(), ..Table::default() };
            let spans = ((first.plus_days(-WITHIN_DAYS), first), (first.plus_days(1), second));
            Some(((**id).to_owned(), kappa(&group, spans.0, spans.1)))
        };
        SIDES.iter().filter_map(of).collect()
    });
    let operated = athlete.injuries.iter().filter(|i| i.side != Side::Both).max_by_key(|i| i.date).map(|i| i.side);
    let legs = match (find(&format!("{LEFT}{LEG}")).map(per_kg), find(&format!("{RIGHT}{LEG}")).map(per_kg)) {
        (Some(left), Some(right)) => {
            let noise = [Noise::of(&left, rule), Noise::of(&right, rule)];
            legs(&left, &right, place, operated, [noise[0].as_ref(), noise[1].as_ref()], None)
        }
        _ => Vec::new(),
    };

    let alone = |leg: &str| tables.iter().any(|t| t.protocol.ends_with(&format!("{LEG_ALONE}{leg}")));
    let one_leg = alone("left") && alone("right");
    let side_reads: Vec<SideRead> = sides
        .iter()
        .map(|(id, _, d, _)| SideRead {
            figure: format!("{}{}", side_name(id), if d.against == Against::Measurement { ONE_TRIAL } else { "" }),
            difference_percent: d.percent,
            of: "total".into(),
            beyond_noise: d.higher.is_some() && d.against != Against::Measurement,
            read_per_leg: one_leg,
        })
        .collect();
    let situation = situation::today(state, id, athlete);
    let flags = state.answers(id, last).map_or_else(Flags::default, |a| Flags { pain: a.in_pain(), fatigue: a.fatigue, effort: a.effort });
    // The reading compares with the same group as the standings do.
    let of_group = recent(&tables, place, &members, last.max(group.on));
    let of_group = |t: &Table| Table { rows: t.rows.iter().filter(|r| of_group(r)).copied().collect(), ..t.clone() };
    let evidence: Vec<Table> = tables.iter().filter(|t| !t.figure.contains(':')).map(of_group).collect();
    let asked = Asked {
        tables: &evidence,
        athlete: place,
        day: last,
        compared: group.span(),
        newcomers: &newcomers,
        flags,
        sides: &side_reads,
        seed: u64::from(last.0.unsigned_abs()),
    };
    let reading = read(&asked);
    let begun = plan.as_ref().filter(|p| last > p.tested_on && last >= p.starts);
    let gravity = |on: &dyn Fn(Date) -> bool| {
        let his = state.heads.values().filter(|h| !h.removed && &*h.athlete_id == id && h.invented == invented);
        let his = his.filter(|h| h.verdict != Verdict::Unusable);
        Gravities::of(his.filter_map(|h| Some((h.gravity, Some(state.day_of(h).filter(|day| on(*day))?)))))
    };
    let outcome =
        begun.map(|p| Outcome { gravity: gravity(&|day| day == p.tested_on || day == last), ..outcome(p, &evidence, place, last, rule) });
    let compared: Vec<Date> =
        before.iter().chain(&after).copied().chain(charts.iter().flat_map(|c| c.1.points.iter().map(|p| p.day))).collect();
    let gravity = gravity(&|day| compared.contains(&day));
    let words = group.words();
    let about = About { name: &athlete.name, group: &words, invented, history: &athlete.training_history };
    // Before a block's aim is chosen it is said what would judge it; afterwards, what else could.
    let left_right = left_right(&sides);
    let day = plan.as_ref().map_or(last, |p| p.tested_on);
    let of = Of { tables: &evidence, place, day, rule };
    let aims = match &plan {
        None => of.first(left_right.lower, &members, &repeatability),
        Some(plan) => of.every(&plan.aims, &members, &repeatability),
    };
    let brief = brief(&about, &asked, &reading, plan.as_ref(), &situation);
    Some(Study {
        athlete: id.to_owned(),
        days,
        group,
        standings,
        sorted,
        charts,
        days_wanted,
        gravity,
        legs,
        sides,
        kappas,
        kappa_between,
        brief,
        reading,
        block: plan_key.zip(plan),
        outcome,
        repeatability,
        aims,
        left_right,
        tables: evidence,
        place,
        trainings,
    })
}

/// Name of a figure of both sides.
pub fn side_name(id: &str) -> &str {
    crate::figures::SIDES.iter().find(|s| s.0 == id).map_or(id, |s| s.1)
}

/// The latest block of an athlete: its record's key and the plan.
pub fn plan_of(state: &State, id: &str) -> Option<(String, Plan)> {
    let of = state.blocks.iter().filter(|(_, b)| !b.removed && b.body.get("athlete_id").and_then(|a| a.as_str()) == Some(id));
    let plans = of.filter_map(|(key, b)| Some((key.clone(), serde_json::from_value::<Plan>(b.body.get("plan")?.clone()).ok()?)));
    plans.max_by_key(|(_, plan)| plan.starts)
}

/// Everybody's blocks as stretches between which days are no repeats.
pub fn trainings(state: &State, places: &BTreeMap<&str, usize>) -> Vec<Training> {
    let plan = |b: &serde_json::Value| serde_json::from_value::<Plan>(b.get("plan")?.clone()).ok();
    let whose = |b: &serde_json::Value| places.get(b.get("athlete_id")?.as_str()?).copied();
    let live = state.blocks.values().filter(|b| !b.removed).map(|b| &b.body);
    // A block of somebody who is not in the list is nobody's: without an athlete it would count as everybody's.
    live.filter_map(|b| plan(b).zip(whose(b)).map(|(p, who)| Training { athlete: Some(who), from: p.starts, to: p.ends() })).collect()
}
