//! Sheet → one number a quality, for the athlete and for everybody in the group, and the session-to-session differences of
//! the group that say how far such a number wanders when nothing has changed.
use super::qualities::QualityId;
use super::sheet::{FEWEST, Family, Figure, Sheet};
use crate::force::stats::{mean, sd};
use crate::people::Date;

/// What a family says of the athlete.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Test kind.
    pub test: String,
    /// Protocol key.
    pub protocol: String,
    /// Family.
    pub family: &'static str,
    /// Figures used.
    pub figures: Vec<&'static str>,
    /// The athlete's standing, in the group's SD.
    pub z: f64,
    /// Session-to-session typical error in the same unit; NaN where the group has no repeated days.
    pub error: f64,
    /// Days of the athlete in it.
    pub days: usize,
    /// Members compared with.
    pub n: usize,
    /// Largest |r| of its figures with body mass in the group.
    pub mass_r: f64,
}

/// A composite as a sum over the figures of its quality, in their order: `offset + Σ weight · figure`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weights {
    /// One a figure, over all families; 0 for a family that could not be used.
    pub of_figures: Vec<f64>,
    /// What is added.
    pub offset: f64,
}

/// One quality's numbers, before they are weighed against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Which.
    pub quality: QualityId,
    /// What it was made of.
    pub seen: Vec<Seen>,
    /// The athlete's composite: the mean of his families' standings.
    pub own: f64,
    /// Composite of each member of [`Prepared::members`].
    pub members: Vec<Option<f64>>,
    /// Difference of two near days of a member, for each of [`Prepared::pairs`].
    pub pairs: Vec<Option<f64>>,
    /// Days behind `own`.
    pub days: usize,
    /// How it was made from the sheet's figures.
    pub weights: Weights,
}

/// All that scoring needs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prepared {
    /// The athlete's days used, oldest first.
    pub days: Vec<Date>,
    /// The group, without the athlete.
    pub members: Vec<usize>,
    /// Near days of members: who, first, second.
    pub pairs: Vec<(usize, Date, Date)>,
    /// Qualities that the athlete's tests speak of.
    pub columns: Vec<Column>,
}

/// Everything from a sheet.
pub fn prepare(sheet: &Sheet) -> Prepared {
    let columns = sheet.qualities.iter().filter_map(|(id, families)| column(*id, families, sheet, None)).collect();
    Prepared { days: sheet.days.clone(), members: sheet.members.clone(), pairs: sheet.pairs.clone(), columns }
}

/// One quality; `without` is the place of a member who is left out, and his pairs with him.
pub fn column(quality: QualityId, families: &[Family], sheet: &Sheet, without: Option<usize>) -> Option<Column> {
    let gone = without.and_then(|place| sheet.members.get(place)).copied();
    let mut made: Vec<Made> = Vec::new();
    let mut weights = Weights::default();
    for family in families {
        let standings = standings(family, without)?;
        let count = family.figures.len() as f64;
        // A mean of several standings has a smaller SD than 1: each family is put back on the group's scale, so that
        // a family of two figures weighs as much as one of a single figure.
        let value = |of: &dyn Fn(&Figure) -> Option<f64>| -> Option<f64> {
            let sum = family.figures.iter().zip(&standings).try_fold(0.0, |sum, (f, s)| Some(sum + (of(f)? - s.centre) / s.spread))?;
            Some(sum / count)
        };
        let values: Vec<Option<f64>> = (0..sheet.members.len())
            .map(|m| if Some(m) == without { None } else { value(&|f| f.members.get(m).copied().flatten()) })
            .collect();
        let present: Vec<f64> = values.iter().flatten().copied().collect();
        let (centre, spread) = (mean(&present), sd(&present));
        if present.len() < FEWEST || !(spread > 0.0) {
            weights.of_figures.extend(family.figures.iter().map(|_| 0.0));
            continue;
        }
        let own = value(&|f| (!f.own.is_empty()).then(|| f.own.iter().map(|o| o.1).sum::<f64>() / f.own.len() as f64))?;
        let difference = |p: usize| {
            let figures = family.figures.iter().zip(&standings);
            let sum = figures.clone().try_fold(0.0, |sum, (f, s)| Some(sum + f.pairs.get(p).copied().flatten()? / s.spread))?;
            Some(sum / count / spread)
        };
        let pairs: Vec<Option<f64>> =
            sheet.pairs.iter().enumerate().map(|(p, pair)| if Some(pair.0) == gone { None } else { difference(p) }).collect();
        weights.of_figures.extend(standings.iter().map(|s| 1.0 / (count * s.spread * spread)));
        weights.offset -= (centre + standings.iter().map(|s| s.centre / s.spread).sum::<f64>() / count) / spread;
        let strongest = family.figures.iter().map(|f| f.mass_r).fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
        made.push(Made {
            seen: Seen {
                test: family.test.clone(),
                protocol: family.protocol.clone(),
                family: family.name,
                figures: family.figures.iter().map(|f| f.id).collect(),
                z: (own - centre) / spread,
                error: typical_error(&pairs).0,
                days: family.figures.iter().map(|f| f.own.len()).min().unwrap_or(1),
                n: present.len(),
                mass_r: strongest,
            },
            members: values.iter().map(|v| v.map(|v| (v - centre) / spread)).collect(),
            pairs,
        });
    }
    if made.is_empty() {
        return None;
    }
    let count = made.len() as f64;
    weights.of_figures.iter_mut().for_each(|w| *w /= count);
    weights.offset /= count;
    let own = made.iter().map(|m| m.seen.z).sum::<f64>() / count;
    let gather = |len: usize, of: fn(&Made) -> &[Option<f64>]| -> Vec<Option<f64>> {
        let all = |i: usize| made.iter().try_fold(0.0, |sum, m| Some(sum + of(m).get(i).copied().flatten()?)).map(|sum| sum / count);
        (0..len).map(all).collect()
    };
    let (members, pairs) = (gather(sheet.members.len(), |m| &m.members), gather(sheet.pairs.len(), |m| &m.pairs));
    let days = made.iter().map(|m| m.seen.days).min().unwrap_or(1);
    Some(Column { quality, own, members, pairs, days, weights, seen: made.into_iter().map(|m| m.seen).collect() })
}

/// A family brought to the group's scale.
struct Made {
    seen: Seen,
    members: Vec<Option<f64>>,
    pairs: Vec<Option<f64>>,
}

/// Where the group's mean lies in a figure, and how wide it is.
struct Standing {
    centre: f64,
    spread: f64,
}

/// Each figure's; `None` where a member's leaving leaves too few or no spread.
fn standings(family: &Family, without: Option<usize>) -> Option<Vec<Standing>> {
    let of = |figure: &Figure| {
        let kept = figure.members.iter().enumerate().filter(|(m, _)| Some(*m) != without).filter_map(|(_, v)| *v);
        let kept: Vec<f64> = kept.collect();
        let (centre, spread) = (mean(&kept), sd(&kept));
        (kept.len() >= FEWEST && spread > 0.0).then_some(Standing { centre, spread })
    };
    family.figures.iter().map(of).collect()
}

/// Typical error `√(Σd²/2m)` of session differences whose mean is no shift of interest, and m [Hopkins 2000, Sports Med. 30:1,
/// there SD(diff)/√2; here about zero, so that one pair counts one degree of freedom]. NaN for none.
pub fn typical_error(differences: &[Option<f64>]) -> (f64, usize) {
    let (sum, known) = differences.iter().flatten().fold((0.0, 0_usize), |(sum, n), d| (sum + d * d, n + 1));
    if known == 0 { (f64::NAN, 0) } else { ((sum / (2.0 * known as f64)).sqrt(), known) }
}
