//! What header, unit and values say about one column.
use super::look::Look;
use super::words::{self, ColumnUnit, Word};

/// What is known about a column.
#[derive(Debug, Default, Clone)]
pub(super) struct Evidence {
    pub words: Vec<Word>,
    pub unit: Option<ColumnUnit>,
    /// Numbers and single letters in the header, in order: plate 1, cell 3, plate B.
    pub numbers: Vec<String>,
    /// The header holds a bare `z`.
    pub bare_z: bool,
    pub facts: Facts,
}

/// What the first rows' values say.
#[derive(Debug, Default, Clone)]
pub(super) struct Facts {
    /// No value at all.
    pub empty: bool,
    /// One value throughout.
    pub constant: bool,
    /// At most three values, in many rows.
    pub switch: bool,
    pub largest: f64,
    /// Part of the values, away from zero, of the commoner sign.
    pub one_sided: f64,
    /// Largest value less smallest.
    pub range: f64,
    /// Part of the values within 3 % of the largest from zero.
    pub at_zero: f64,
    /// Median step from row to row as a part of the range.
    pub rough: f64,
    /// Steps of a column that never falls: mean step, and whether nearly all are one.
    pub rising: Option<(f64, bool)>,
    /// Rising in nearly equal steps.
    pub even: bool,
}

/// All columns' evidence.
pub(super) fn evidence(look: &Look) -> Vec<Evidence> {
    (0..look.sample.len())
        .map(|k| {
            let header = look.header.get(k).map_or("", String::as_str);
            let (parts, unit) = words::split(header);
            let mut words: Vec<Word> = parts.iter().flat_map(|w| words::meanings(w)).collect();
            // `der` is short for right in Spanish and an article in German.
            if words.contains(&Word::Left) && parts.iter().any(|w| w == "der") {
                words.retain(|w| *w != Word::Right);
            }
            let is_number = |w: &&String| w.bytes().all(|b| b.is_ascii_digit()) || matches!(w.as_str(), "a" | "b" | "c" | "d");
            let numbers = parts.iter().filter(is_number).cloned().collect();
            let bare_z = parts.iter().any(|w| w == "z");
            let facts = Facts::of(look.sample.get(k).map_or(&[][..], Vec::as_slice));
            let unit = look.in_newtons(unit.or(look.units.get(k).copied().flatten()), &words);
            Evidence { words, unit, numbers, bare_z, facts }
        })
        .collect()
}

impl Evidence {
    pub(super) fn says(&self, word: Word) -> bool {
        self.words.contains(&word)
    }
    /// Whether header or unit say anything that this reader understands.
    pub(super) fn speaks(&self) -> bool {
        self.unit.is_some() || self.bare_z || self.words.iter().any(|w| !matches!(w, Word::Cell | Word::NamesUnit | Word::Sample))
    }
    /// How much the header and unit speak for vertical force; 0 or less: not one.
    pub(super) fn force(&self) -> i32 {
        if matches!(self.unit, Some(ColumnUnit::Time(_) | ColumnUnit::Other | ColumnUnit::Volt | ColumnUnit::Millivolt)) {
            return -9;
        }
        let mut score = 0;
        let in_force_unit = matches!(self.unit, Some(ColumnUnit::Force(_)));
        if self.says(Word::Force) {
            score += 3;
        }
        if self.says(Word::Vertical) {
            score += 4;
        } else if self.bare_z {
            // A bare z is an axis of force where something else says force, and a marker's otherwise.
            score += if self.says(Word::Force) || in_force_unit { 4 } else { -4 };
        }
        if in_force_unit {
            score += 3;
        }
        if self.says(Word::Left) || self.says(Word::Right) || self.says(Word::Total) {
            score += 2;
        }
        if self.says(Word::Other) {
            score -= 8;
        }
        if (self.says(Word::Time) || self.says(Word::Sample)) && score < 5 {
            score -= 6;
        }
        if score < 3 && (self.facts.empty || self.facts.constant && self.facts.largest == 0.0) && !self.says_side() {
            score -= 6;
        }
        score
    }
    pub(super) fn says_side(&self) -> bool {
        self.says(Word::Left) || self.says(Word::Right)
    }
    /// Whether the values alone could be a plate's or a cell's vertical force.
    pub(super) fn could_be_force(&self) -> bool {
        let f = &self.facts;
        !f.empty && !f.constant && !f.switch && f.rising.is_none() && f.one_sided >= 0.9 && f.rough < 0.15 && f.range > 0.004 * f.largest
    }
}

impl Facts {
    pub(super) fn of(column: &[f64]) -> Self {
        let values: Vec<f64> = column.iter().copied().filter(|x| !x.is_nan()).collect();
        let n = values.len();
        if n == 0 {
            return Self { empty: true, ..Self::default() };
        }
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        let (low, high) = (sorted.first().copied().unwrap_or(0.0), sorted.last().copied().unwrap_or(0.0));
        let largest = low.abs().max(high.abs());
        let away = |x: &&f64| x.abs() > 0.05 * largest;
        let far = values.iter().filter(away).count();
        // Which sign a load has shows where the column is far from zero, not in its median: nobody may stand there yet.
        let positive = values.iter().filter(away).filter(|x| **x > 0.0).count();
        let one_sided = positive.max(far - positive) as f64 / far.max(1) as f64;
        let mut steps: Vec<f64> =
            values.windows(2).map(|w| (w.last().copied().unwrap_or(0.0) - w.first().copied().unwrap_or(0.0)).abs()).collect();
        steps.sort_by(f64::total_cmp);
        let range = high - low;
        let step = steps.get(steps.len() / 2).copied().unwrap_or(0.0);
        let mut distinct = sorted.clone();
        distinct.dedup();
        let rising = rising(column);
        let even = rising.is_some_and(|(mean, _)| {
            let near = values.windows(2).filter(|w| matches!(w, [a, b] if (b - a - mean).abs() <= 0.02 * mean)).count();
            near * 10 >= (n - 1) * 8
        });
        Self {
            empty: false,
            constant: range == 0.0,
            switch: n > 20 && distinct.len() <= 3,
            largest,
            one_sided,
            range,
            at_zero: values.iter().filter(|x| x.abs() <= 0.03 * largest).count() as f64 / n as f64,
            rough: if range > 0.0 { step / range } else { 0.0 },
            rising,
            even,
        }
    }
}

/// Steps of a column that never falls and mostly rises: (mean step, nearly all steps one).
pub(super) fn rising(column: &[f64]) -> Option<(f64, bool)> {
    let values: Vec<f64> = column.iter().copied().filter(|x| !x.is_nan()).collect();
    if values.len() < 3 {
        return None;
    }
    let steps: Vec<f64> = values.windows(2).map(|w| w.last().copied().unwrap_or(0.0) - w.first().copied().unwrap_or(0.0)).collect();
    if steps.iter().any(|d| *d < 0.0) {
        return None;
    }
    let span = values.last().copied()? - values.first().copied()?;
    if span <= 0.0 {
        return None;
    }
    let whole = steps.iter().filter(|d| **d == 1.0).count() * 10 >= steps.len() * 9;
    Some((span / steps.len() as f64, whole))
}

/// Whether one column is the sum of the others in nearly every row, with something on the plates.
pub(super) fn is_sum(whole: &[f64], parts: &[&[f64]]) -> bool {
    let (mut n, mut hit, mut size) = (0usize, 0usize, 0.0f64);
    for (i, t) in whole.iter().enumerate() {
        let sum: f64 = parts.iter().map(|p| p.get(i).copied().unwrap_or(f64::NAN)).sum();
        if sum.is_nan() || t.is_nan() {
            continue;
        }
        n += 1;
        size = size.max(t.abs());
        if (sum - t).abs() <= 0.02 * t.abs() + 0.3 {
            hit += 1;
        }
    }
    n > 3 && size > 20.0 && hit * 10 >= n * 9
}

/// Whether two columns are the same signal twice (raw and smoothed, say).
pub(super) fn are_twins(a: &[f64], b: &[f64]) -> bool {
    let rows = a.iter().zip(b).filter(|(a, b)| !a.is_nan() && !b.is_nan());
    let (mut n, mut near, mut size) = (0usize, 0usize, 0.0f64);
    for (a, b) in rows {
        n += 1;
        size = size.max(a.abs());
        near += usize::from((a - b).abs() <= 0.03 * a.abs() + 2.0);
    }
    n > 3 && size > 20.0 && near * 20 >= n * 19
}
