//! The athlete's true standings, drawn: what the measured ones leave open.
//!
//! Each quality's group variance less the squared session error is the variance of what is true. The athlete's true
//! standing, in units of that, is drawn from `r·(own − mean) / σ_true + e`, where `r` is the reliability of his value
//! (shrinkage towards the group), the group is re-sampled with replacement (its mean and SD are uncertain), and `e` has
//! variance `1 − r` and the covariances between qualities that repeated days of the group show (random combinations of whole
//! difference vectors; trial and day noise are both in them).
//!
//! To see whether an answer hangs on one member, [`Sums`] hold for each draw what the group's figures add up to; one
//! member is taken off from those instead of adding everybody up again, so that all members cost a few times what one does.
use super::evidence::PAIRS;
use super::prepare::{Column, Prepared, Weights, typical_error};
use super::qualities::QualityId;
use super::sheet::{Figure, Sheet};
use crate::cohort::Draws;
use crate::force::stats::{mean, sd};

/// Draws of the Monte-Carlo: P is then known to ± 0.025 (k = 2).
pub const DRAWS: usize = 1000;
/// Least reliability that is scored (*ours*).
pub const RELIABLE: f64 = 0.50;

/// The numbers of a column against its group.
pub struct Place<'a> {
    /// The column.
    pub column: &'a Column,
    /// The group's mean.
    pub centre: f64,
    /// The group's standard deviation.
    pub spread: f64,
    /// Session-to-session error.
    pub error: f64,
    /// Repeated days behind it.
    pub repeats: usize,
    /// Members with a value.
    pub n: usize,
}

impl<'a> Place<'a> {
    /// Of a column.
    pub fn of(column: &'a Column) -> Self {
        let members: Vec<f64> = column.members.iter().flatten().copied().collect();
        let (error, repeats) = typical_error(&column.pairs);
        Place { column, centre: mean(&members), spread: sd(&members), error, repeats, n: members.len() }
    }
    /// Variance of what is true in the group; 0 where noise is all.
    fn true_variance(&self) -> f64 {
        (self.spread * self.spread - self.error * self.error).max(0.0)
    }
    /// Reliability of the athlete's mean over his days.
    pub fn reliability(&self) -> f64 {
        let noise = self.error * self.error / self.column.days.max(1) as f64;
        let all = self.true_variance() + noise;
        if all > 0.0 { self.true_variance() / all } else { 0.0 }
    }
    /// Whether it may be ranked.
    pub fn is_scored(&self) -> bool {
        self.repeats >= PAIRS && self.n >= 3 && self.spread > 0.0 && self.reliability() >= RELIABLE
    }
    /// One draw, from the re-sampled group's count, sum and sum of squares and the pairs' weighted sum.
    fn standing(&self, group: Resampled, noise: f64) -> f64 {
        let centre = if group.n > 0.0 { group.sum / group.n } else { self.centre };
        // Re-sampling shrinks a variance by (n − 1)/n: put back.
        let size = self.n.max(2) as f64;
        let variance =
            if group.n > 1.0 { (group.squares / group.n - centre * centre) * size / (size - 1.0) } else { self.spread * self.spread };
        // A re-sampled group may look all noise; half of the variance found stays the least.
        let true_sd = (variance - self.error * self.error).max(0.5 * self.true_variance()).sqrt();
        let unit_noise = noise / (2.0 * self.repeats as f64).sqrt() / self.error.max(1e-12);
        let r = self.reliability();
        r * (self.column.own - centre) / true_sd + (1.0 - r).sqrt() * unit_noise
    }
}

/// A re-sampled group in one quality.
#[derive(Debug, Clone, Copy, Default)]
struct Resampled {
    n: f64,
    sum: f64,
    squares: f64,
}

/// What is drawn, once a reading: every change of the jackknife is weighed with the same draws, so that only the change
/// can change the answer.
pub struct Dice {
    members: usize,
    pairs: usize,
    /// How often each member is in each draw's group; by draw, then member.
    counts: Vec<f64>,
    /// By draw, then pair.
    normals: Vec<f64>,
}

impl Dice {
    /// From a seed, for so many members and pairs.
    pub fn new(seed: u64, prepared: &Prepared) -> Self {
        let mut draw = Draws::new(seed);
        let (members, pairs) = (prepared.members.len().max(1), prepared.pairs.len().max(1));
        let mut counts = vec![0.0; DRAWS * members];
        for group in counts.chunks_exact_mut(members) {
            for _ in 0..members {
                if let Some(count) = group.get_mut(draw.place(members)) {
                    *count += 1.0;
                }
            }
        }
        let normals = (0..DRAWS * pairs).map(|_| draw.normal()).collect();
        Self { members, pairs, counts, normals }
    }
    /// For each draw, the members' counts and the pairs' weights.
    fn rows(&self) -> impl Iterator<Item = (&[f64], &[f64])> {
        self.counts.chunks_exact(self.members).zip(self.normals.chunks_exact(self.pairs))
    }
}

/// One row a draw: the true standings of the qualities used.
pub fn standings(used: &[Place], dice: &Dice) -> Vec<Vec<f64>> {
    let one = |(counts, weights): (&[f64], &[f64])| {
        let of = |p: &Place| {
            let mut group = Resampled::default();
            for (count, value) in counts.iter().zip(&p.column.members).filter_map(|(c, v)| Some((*c, (*v)?))) {
                group.n += count;
                group.sum += count * value;
                group.squares += count * value * value;
            }
            p.standing(group, p.column.pairs.iter().zip(weights).filter_map(|(d, w)| d.map(|d| d * w)).sum())
        };
        used.iter().map(of).collect()
    };
    dice.rows().map(one).collect()
}

/// One quality's figures added up over each draw's group: counts, sums, sums of products, and weighted sums of the pairs.
struct Quality {
    id: QualityId,
    figures: Vec<usize>,
    n: Vec<f64>,
    sums: Vec<f64>,
    products: Vec<f64>,
    noise: Vec<f64>,
}

/// Everything added up, in the order of [`Prepared::columns`].
pub struct Sums<'a> {
    sheet: &'a Sheet,
    dice: &'a Dice,
    qualities: Vec<Quality>,
}

impl<'a> Sums<'a> {
    /// Adds up.
    pub fn of(sheet: &'a Sheet, prepared: &Prepared, dice: &'a Dice) -> Self {
        let quality = |column: &Column| {
            let flat = figures(sheet, column);
            let kept: Vec<usize> = column.weights.of_figures.iter().enumerate().filter(|w| *w.1 != 0.0).map(|w| w.0).collect();
            let chosen: Vec<&Figure> = kept.iter().filter_map(|k| flat.get(*k).copied()).collect();
            let row = |of: fn(&Figure) -> &[Option<f64>], i: usize| -> Option<Vec<f64>> {
                chosen.iter().map(|f| of(f).get(i).copied().flatten()).collect()
            };
            let members: Vec<Option<Vec<f64>>> = (0..sheet.members.len()).map(|m| row(|f| &f.members, m)).collect();
            let pairs: Vec<Option<Vec<f64>>> = (0..sheet.pairs.len()).map(|p| row(|f| &f.pairs, p)).collect();
            let size = chosen.len();
            let mut made =
                Quality { id: column.quality, figures: kept, n: Vec::new(), sums: Vec::new(), products: Vec::new(), noise: Vec::new() };
            for (counts, weights) in dice.rows() {
                let (mut n, mut sums, mut products, mut noise) = (0.0, vec![0.0; size], vec![0.0; size * size], vec![0.0; size]);
                for (count, row) in counts.iter().zip(&members).filter_map(|(c, r)| Some((*c, r.as_ref()?))).filter(|(c, _)| *c > 0.0) {
                    n += count;
                    sums.iter_mut().zip(row).for_each(|(s, x)| *s += count * x);
                    for (of_x, x) in products.chunks_exact_mut(size.max(1)).zip(row) {
                        of_x.iter_mut().zip(row).for_each(|(s, y)| *s += count * x * y);
                    }
                }
                for (weight, row) in weights.iter().zip(&pairs).filter_map(|(w, r)| Some((*w, r.as_ref()?))) {
                    noise.iter_mut().zip(row).for_each(|(s, x)| *s += weight * x);
                }
                made.n.push(n);
                made.sums.extend(sums);
                made.products.extend(products);
                made.noise.extend(noise);
            }
            made
        };
        Self { sheet, dice, qualities: prepared.columns.iter().map(quality).collect() }
    }

    /// The draws of [`standings`], a member left out (his place among members) or nobody; `None` where a quality rests on
    /// other families without him.
    pub fn standings(&self, used: &[Place], gone: Option<usize>) -> Option<Vec<Vec<f64>>> {
        let who = gone.and_then(|place| self.sheet.members.get(place)).copied();
        let his: Vec<usize> = self.sheet.pairs.iter().enumerate().filter(|(_, p)| who == Some(p.0)).map(|(i, _)| i).collect();
        let mut rows: Vec<Vec<f64>> = (0..DRAWS).map(|_| Vec::with_capacity(used.len())).collect();
        for place in used {
            let quality = self.qualities.iter().find(|q| q.id == place.column.quality)?;
            let Weights { of_figures, offset } = &place.column.weights;
            let same = of_figures.iter().enumerate().filter(|w| *w.1 != 0.0).map(|w| w.0).eq(quality.figures.iter().copied());
            if !same {
                return None;
            }
            let weights: Vec<f64> = of_figures.iter().copied().filter(|w| *w != 0.0).collect();
            let flat = figures(self.sheet, place.column);
            let chosen: Vec<&Figure> = quality.figures.iter().filter_map(|k| flat.get(*k).copied()).collect();
            let composite = |of: fn(&Figure) -> &[Option<f64>], i: usize| {
                chosen.iter().zip(&weights).try_fold(0.0, |sum, (f, w)| Some(sum + w * of(f).get(i).copied().flatten()?))
            };
            let own = gone.and_then(|gone| composite(|f| &f.members, gone)).map(|v| v + offset);
            let pairs: Vec<(usize, f64)> = his.iter().filter_map(|p| Some((*p, composite(|f| &f.pairs, *p)?))).collect();
            let dot = |values: &[f64]| values.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>();
            let size = weights.len().max(1);
            let draws =
                quality.sums.chunks_exact(size).zip(quality.products.chunks_exact(size * size)).zip(quality.noise.chunks_exact(size));
            for ((((counts, normals), ((sums, products), noise)), n), row) in self.dice.rows().zip(draws).zip(&quality.n).zip(&mut rows) {
                let linear = dot(sums);
                let square: f64 = products.chunks_exact(size).zip(&weights).map(|(of_x, w)| w * dot(of_x)).sum();
                let mut group =
                    Resampled { n: *n, sum: linear + offset * n, squares: square + 2.0 * offset * linear + offset * offset * n };
                if let Some((value, count)) = own.zip(gone.and_then(|gone| counts.get(gone))) {
                    group.n -= count;
                    group.sum -= count * value;
                    group.squares -= count * value * value;
                }
                let off: f64 = pairs.iter().filter_map(|(p, d)| Some(normals.get(*p)? * d)).sum();
                row.push(place.standing(group, dot(noise) - off));
            }
        }
        Some(rows)
    }
}

/// A column's figures in the order of its weights.
fn figures<'a>(sheet: &'a Sheet, column: &Column) -> Vec<&'a Figure> {
    sheet.qualities.iter().filter(|q| q.0 == column.quality).flat_map(|q| &q.1).flat_map(|f| &f.figures).collect()
}
