//! Whether the higher side stays the higher side: a squad's directions on two days, beyond what chance alone would agree.
use super::Table;
use super::days::{Day, Scale, days};
use super::distributions::chi_square_quantile;
use super::interval::{Interval, LEVEL};
use crate::force::math::{exp, ln};
use crate::people::Date;

/// People needed before agreement of directions is stated (methods.md §7).
pub const KAPPA_FROM: usize = 15;

/// Agreement of a squad's directions between two times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kappa {
    /// Athletes with both times.
    pub n: usize,
    /// Athletes with the same side higher both times.
    pub same: usize,
    /// How many more or fewer agree than chance lets, as a share of the most there could be: the same chances taken for both
    /// days [Scott 1955, Public Opin. Q. 19:321], with the 95 % interval of the common-correlation model by goodness of
    /// fit [Donner & Eliasziw 1992, Stat. Med. 11:1511]. The large-sample intervals [Cohen 1960, Educ. Psychol. Meas.
    /// 20:37; Fleiss, Cohen & Everitt 1969, Psychol. Bull. 72:323] have no width where all agree.
    pub kappa: Interval,
    /// Chance of as many or more agreeing if every athlete's second direction were another's: all permutations, as in
    /// Fisher's exact test.
    pub p: f64,
}

impl Kappa {
    /// Whether the sides persist beyond chance.
    pub fn persists(&self) -> bool {
        self.p < (1.0 - LEVEL) / 2.0
    }
}

/// Why there is no κ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoKappa {
    /// So many athletes have a direction both times; [`KAPPA_FROM`] are needed.
    TooFew(usize),
    /// All of so many have one and the same side higher: chance would agree as well.
    OneSide(usize),
}

/// κ of an index (positive: right higher) between two stretches of days, each athlete by the last of his days inside.
///
/// # Errors
/// Where it is withheld, with the reason.
pub fn kappa(index: &Table, first: (Date, Date), second: (Date, Date)) -> Result<Kappa, NoKappa> {
    let days = days(index, Scale::Raw);
    let last = |own: &[Day], span: (Date, Date)| {
        own.iter().rev().find(|d| span.0 <= d.day && d.day <= span.1 && d.mean != 0.0).map(|d| d.mean > 0.0)
    };
    let pairs: Vec<(bool, bool)> =
        days.chunk_by(|a, b| a.athlete == b.athlete).filter_map(|own| Some((last(own, first)?, last(own, second)?))).collect();
    of(&pairs)
}

/// The same of pairs (right higher first, right higher second).
///
/// # Errors
/// Where it is withheld, with the reason.
pub fn of(pairs: &[(bool, bool)]) -> Result<Kappa, NoKappa> {
    if pairs.len() < KAPPA_FROM {
        return Err(NoKappa::TooFew(pairs.len()));
    }
    let count = |f: fn(&(bool, bool)) -> bool| pairs.iter().filter(|p| f(p)).count();
    let (both_right, both_left) = (count(|p| p.0 && p.1), count(|p| !p.0 && !p.1));
    let seen = [both_right, pairs.len() - both_right - both_left, both_left].map(|n| n as f64);
    let n = pairs.len() as f64;
    let [right, apart, _] = seen;
    let share = (2.0 * right + apart) / (2.0 * n);
    let product = share * (1.0 - share);
    if !(product > 0.0) {
        return Err(NoKappa::OneSide(pairs.len()));
    }
    let value = 1.0 - apart / (2.0 * n * product);
    // The least κ with which no cell is expected below nothing.
    let least = -share.min(1.0 - share) / share.max(1.0 - share);
    let misfit = |kappa: f64| -> f64 {
        let expected = [share * share + product * kappa, 2.0 * product * (1.0 - kappa), (1.0 - share) * (1.0 - share) + product * kappa];
        expected
            .iter()
            .zip(seen)
            .map(|(e, s)| {
                if *e > 0.0 {
                    (s - n * e) * (s - n * e) / (n * e)
                } else if s > 0.0 {
                    f64::INFINITY
                } else {
                    0.0
                }
            })
            .sum()
    };
    let allowed = chi_square_quantile(LEVEL, 1.0);
    let limit = |mut outside: f64| {
        let mut inside = value;
        if misfit(outside) <= allowed {
            return outside;
        }
        for _ in 0..60 {
            let middle = (inside + outside) / 2.0;
            if misfit(middle) <= allowed { inside = middle } else { outside = middle }
        }
        inside
    };
    let kappa = Interval { value, low: limit(least), high: limit(1.0) };
    let p = permuted(count(|p| p.0), count(|p| p.1), both_right, pairs.len());
    Ok(Kappa { n: pairs.len(), same: both_right + both_left, kappa, p })
}

/// P(as many or more are right both times), the numbers right on either day given: the hypergeometric tail.
fn permuted(first: usize, second: usize, both: usize, n: usize) -> f64 {
    let choose = |n: usize, k: usize| (1..=k).map(|i| ln((n - k + i) as f64 / i as f64)).sum::<f64>();
    let fits = |k: &usize| *k <= first && second - *k <= n - first;
    let chance = |k: usize| exp(choose(first, k) + choose(n - first, second - k) - choose(n, second));
    (both..=first.min(second)).filter(fits).map(chance).sum::<f64>().min(1.0)
}
