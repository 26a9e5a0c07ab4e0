//! What a block could be judged by: figures of an athlete's tests of a day, each with what would be worth the while and with what
//! a retest can show; and left against right, which is an aim with a rule of its own.
use super::rows::LEG_ALONE;
use super::study::{CMJ, Study, side_name};
use crate::advice::after::smallest_change;
use crate::advice::blocks::Target;
use crate::advice::qualities::{QUALITIES, QualityId, position_fits};
use crate::cohort::components::Repeats;
use crate::cohort::sides::{Against, Directions, SideDifference};
use crate::cohort::{Repeatability, Scale, Table};
use crate::figures::{PER_KG, definition};
use crate::force::stats::mean;
use crate::people::{Date, Side};

/// A quality that a block may aim at, with a figure that would judge it.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// The quality.
    pub quality: QualityId,
    /// Its figure, with what a retest can show.
    pub target: Target,
    /// The scale of the next.
    pub scale: Scale,
    /// Smallest worthwhile change; none where it is not known.
    pub worthwhile: Option<f64>,
}

/// Left against right as an aim. It is never "the lowest": two legs of one athlete are compared, so no group says anything of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeftRight {
    /// The leg that is lower beyond noise, where one is: the aim then has evidence.
    pub lower: Option<Side>,
    /// The evidence, or what is missing, in a sentence.
    pub sentence: String,
}

/// A day's difference of a figure, with directions over all days.
type Read = (String, Date, SideDifference, Directions);

/// The rule (*ours*, from `methods.md` §7): a difference lies beyond the index's own noise between days, else beyond the trials'
/// spread; one trial alone decides nothing; all that do point to the same leg; and it was so in more than half of the sessions.
pub fn left_right(sides: &[Read]) -> LeftRight {
    let counted: Vec<(&Read, Side)> =
        sides.iter().filter(|s| s.2.against != Against::Measurement).filter_map(|s| Some((s, s.2.higher?))).collect();
    let nobody = |sentence: &str| LeftRight { lower: None, sentence: sentence.into() };
    let Some((first, higher)) = counted.first().copied() else {
        return nobody("No evidence: left and right do not differ beyond their noise.");
    };
    if counted.iter().any(|(_, other)| *other != higher) {
        return nobody("No evidence: one figure is higher on the left, another on the right.");
    }
    let (id, _, difference, directions) = first;
    let times = if higher == Side::Right { directions.right } else { directions.left };
    if 2 * times <= directions.sessions {
        return nobody("No evidence: the higher side changes from session to session.");
    }
    let (higher_word, lower, lower_word) =
        if higher == Side::Right { ("right", Side::Left, "left") } else { ("left", Side::Right, "right") };
    let than = if difference.against == Against::Days { "days" } else { "trials of that day" };
    let sentence = format!(
        "{}: {higher_word} higher by {:.1} % of the total, more than {than} differ by, and in {times} of {} sessions. The {lower_word} leg comes first.",
        side_name(id),
        difference.percent.abs(),
        directions.sessions
    );
    LeftRight { lower: Some(lower), sentence }
}

/// What judges a leg alone, the first that there is (*ours*: each leg's own values per kg, not the ratio, which shrinks just as
/// well when the better leg gets worse).
const LEG_FIGURES: &[(&str, &str)] = &[
    (CMJ, "peak_propulsion_force_per_kg"),
    (CMJ, "jump_height"),
    ("isometric", "peak_force_per_kg"),
    ("rebound_jumps", "mean_reactive_strength_index"),
];

/// Where an athlete and a day stand in the tables.
#[derive(Debug, Clone, Copy)]
pub struct Of<'a> {
    /// His tables.
    pub tables: &'a [Table],
    /// His place.
    pub place: usize,
    /// The day whose values are the ones before.
    pub day: Date,
    /// Which days are repeats.
    pub rule: Repeats<'a>,
}

impl<'a> Of<'a> {
    fn tested(&self, table: &Table) -> bool {
        table.rows.iter().any(|r| r.athlete == self.place && r.day == self.day)
    }
    /// Tables of that day that speak of a quality, the most telling first; of left against right those of a leg alone.
    fn judging(&self, aim: QualityId, leg: Option<Side>) -> impl Iterator<Item = &'a Table> {
        let of = *self;
        let two: &[_] = QUALITIES.iter().find(|q| q.id == aim).map_or(&[], |q| q.evidence);
        let both = two.iter().flat_map(move |e| {
            let fits = move |t: &&Table| t.figure == e.figure && t.test == e.test && position_fits(e, &t.protocol);
            of.tables.iter().filter(fits).filter(|t| !t.protocol.contains(LEG_ALONE))
        });
        let word = match leg {
            Some(Side::Left) => "left",
            Some(Side::Right) => "right",
            _ => "",
        };
        let one: &[_] = if aim == QualityId::LeftRight && !word.is_empty() { LEG_FIGURES } else { &[] };
        let alone = one.iter().flat_map(move |(test, figure)| {
            let fits = move |t: &&Table| t.test == *test && t.figure == *figure && t.protocol.ends_with(&format!("{LEG_ALONE}{word}"));
            of.tables.iter().filter(fits)
        });
        both.chain(alone).filter(move |t| of.tested(t))
    }
    fn target(&self, table: &Table) -> Target {
        let own: Vec<f64> = table.rows.iter().filter(|r| r.athlete == self.place && r.day == self.day).map(|r| r.value).collect();
        let unit = definition(&table.figure).map_or("", |d| d.unit);
        Target {
            figure: table.figure.clone(),
            name: definition(&table.figure).map_or_else(|| table.figure.clone(), |d| d.name.to_owned()),
            test: table.test.clone(),
            protocol: table.protocol.clone(),
            unit: if table.figure.ends_with(PER_KG) { format!("{unit}/kg") } else { unit.to_owned() },
            before: mean(&own),
            smallest_percent: smallest_change(table, self.place, self.day, self.rule),
        }
    }
    fn aim(&self, quality: QualityId, table: &Table, members: &[bool], known: &[Repeatability]) -> Aim {
        let two_legs = table.test == CMJ && !table.protocol.contains(LEG_ALONE);
        let worthwhile = match known.iter().find(|r| r.figure == table.figure).filter(|_| two_legs) {
            Some(known) => known.smallest_worthwhile,
            None => Repeatability::of(table, self.rule, Some(members)).smallest_worthwhile,
        };
        Aim { quality, target: self.target(table), scale: Scale::of(table), worthwhile }
    }
    /// The first figure of each quality: what is said before a block's aim is chosen.
    pub fn first(&self, lower: Option<Side>, members: &[bool], known: &[Repeatability]) -> Vec<Aim> {
        let all = QUALITIES.iter().map(|q| q.id).chain([QualityId::LeftRight]);
        all.filter_map(|id| Some(self.aim(id, self.judging(id, lower).next()?, members, known))).collect()
    }
    /// Every figure that a block may be judged by, those of its aims first.
    pub fn every(&self, aims: &[QualityId], members: &[bool], known: &[Repeatability]) -> Vec<Aim> {
        let all = || QUALITIES.iter().map(|q| q.id).chain([QualityId::LeftRight]);
        let ids = all().filter(|id| aims.contains(id)).chain(all().filter(|id| !aims.contains(id)));
        let legs = [None, Some(Side::Left), Some(Side::Right)];
        let of = |id: QualityId| legs.iter().filter(move |leg| leg.is_some() == (id == QualityId::LeftRight)).map(move |leg| (id, *leg));
        ids.flat_map(of)
            .flat_map(|(id, leg)| self.judging(id, leg).map(move |t| (id, t)))
            .map(|(id, t)| self.aim(id, t, members, known))
            .collect()
    }
}

/// Targets for a block that aims at some qualities: their first figures with what the retest could show.
pub fn targets(study: &Study, aims: &[QualityId]) -> Vec<Target> {
    let rule = Repeats { blocks: &study.trainings, first_counts: false };
    let day = study.days.last().copied().unwrap_or(Date(0));
    let of = Of { tables: &study.tables, place: study.place, day, rule };
    let lower = study.left_right.lower;
    aims.iter().filter_map(|aim| of.judging(*aim, lower).next()).map(|table| of.target(table)).take(2).collect()
}
