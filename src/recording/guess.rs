//! Which columns are force, and whose: every reading of the table that makes sense, the most telling first.
use super::columns::{Columns, Sink, TimeColumn};
use super::evidence::{Evidence, are_twins, is_sum};
use super::letters::Letters as _;
use super::look::Look;
use super::words::{ColumnUnit, Word};
use super::{Notice, ReadError, ReadOptions, Role, Unit};

/// One way to read the table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reading {
    pub sinks: Vec<Sink>,
    pub confidence: f64,
    /// What a person would have to ask.
    pub question: Option<Notice>,
}

struct Table<'a> {
    look: &'a Look,
    seen: &'a [Evidence],
    time: Option<usize>,
}

/// Decides what every column is, where nobody stated it.
///
/// # Errors
/// Where no column can be taken for force.
pub(super) fn guess(look: &Look, seen: &[Evidence], options: &ReadOptions) -> Result<Columns, ReadError> {
    let (time, time_question) = super::columns::time_column(look, seen, options);
    let time_index = match time {
        TimeColumn::Stamps { column, .. } | TimeColumn::Counter { column } => Some(column),
        TimeColumn::Absent => None,
    };
    let table = Table { look, seen, time: time_index };
    let mut readings = table.by_words().into_iter().chain(table.by_values());
    let Some(first) = readings.next() else { return Err(table.nothing()) };
    let runner_up = readings.find(|r| r.sinks != first.sinks);
    let differs = if seen.iter().any(is_total) { table.total_differs(&first.sinks) } else { None };
    let notices = first.question.clone().into_iter().chain(time_question).chain(differs).collect();
    Ok(Columns { time, sinks: first.sinks, confidence: first.confidence, notices, runner_up: runner_up.map(|r| r.sinks) })
}

fn ask_sides(message: String) -> Notice {
    Notice::new("sides_guessed", message).next_time("Export with a header that names left and right, or confirm the columns once.")
}

/// Whether a header names a total.
fn is_total(column: &Evidence) -> bool {
    column.says(Word::Total) && !column.says_side()
}

impl Table<'_> {
    fn column(&self, k: usize) -> &[f64] {
        self.look.sample.get(k).map_or(&[][..], Vec::as_slice)
    }
    fn score(&self, k: usize) -> i32 {
        self.seen.get(k).map_or(-9, Evidence::force)
    }
    fn sink(&self, columns: &[usize], role: Role, why: impl Into<String>) -> Sink {
        let stated = |k: &usize| match self.seen.get(*k).and_then(|s| s.unit).or(self.look.stated_unit) {
            Some(ColumnUnit::Force(u)) => Some(u),
            _ => None,
        };
        Sink {
            columns: columns.iter().map(|k| (*k, stated(k).unwrap_or(Unit::Newton))).collect(),
            role,
            why: why.into(),
            unit_stated: columns.iter().all(|k| stated(k).is_some()),
            sign: None,
        }
    }
    /// The best of the columns that a header speaks of: all with the highest score.
    fn best(&self, pick: impl Fn(&Evidence) -> bool) -> Option<(i32, Vec<usize>)> {
        let fit: Vec<(i32, usize)> = self
            .seen
            .iter()
            .enumerate()
            .filter(|(k, s)| Some(*k) != self.time && s.force() > 0 && pick(s))
            .map(|(k, s)| (s.force(), k))
            .collect();
        let top = fit.iter().map(|(score, _)| *score).max()?;
        Some((top, fit.into_iter().filter(|(score, _)| *score == top).map(|(_, k)| k).collect()))
    }

    /// Several columns of one plate: their own sum, one signal twice, or cells to be summed.
    fn one_plate(&self, columns: &[usize], role: Role, named: &str) -> Option<Sink> {
        if let [k] = columns[..] {
            return Some(self.sink(&[k], role, named));
        }
        let others = |k: usize| -> Vec<&[f64]> { columns.iter().filter(|o| **o != k).map(|o| self.column(*o)).collect() };
        if let Some(k) = columns.iter().find(|k| columns.len() > 2 && is_sum(self.column(**k), &others(**k))) {
            return Some(self.sink(&[*k], role, format!("{named}; it is the sum of the {} other columns so named", columns.len() - 1)));
        }
        let first = *columns.first()?;
        if let Some(k) = self.twice(columns) {
            return Some(self.sink(
                &[k],
                role,
                format!("{named}; one of {} columns that hold the same signal, raw and smoothed", columns.len()),
            ));
        }
        let live: Vec<usize> = columns.iter().copied().filter(|k| self.seen.get(*k).is_some_and(|s| !s.facts.empty)).collect();
        if live.is_empty() {
            return Some(self.sink(&[first], role, named));
        }
        (live.len() <= 16).then(|| self.sink(&live, role, format!("{named}; {} load cells of one plate, summed", live.len())))
    }

    /// The raw one of columns that hold one signal twice; two plates under an even stance look alike, so a word must say so too.
    fn twice(&self, columns: &[usize]) -> Option<usize> {
        let said = |k: &usize| self.seen.get(*k).is_some_and(|s| s.says(Word::Treated));
        let first = *columns.first()?;
        let alike = columns.iter().skip(1).all(|k| are_twins(self.column(first), self.column(*k)));
        (columns.iter().any(said) && alike).then(|| {
            let header = |k: &usize| self.look.header.get(*k).map(|h| h.lower()).unwrap_or_default();
            columns.iter().copied().find(|k| !header(k).contains("filt") && !header(k).contains("smooth")).unwrap_or(first)
        })
    }

    /// Told where the file's own total is not what the two plates that were read add up to.
    #[inline(never)]
    fn total_differs(&self, read: &[Sink]) -> Option<Notice> {
        let (_, columns) = self.best(is_total)?;
        let total = self.one_plate(&columns, Role::Total, "")?;
        if read.len() != 2 || read.iter().any(|s| s.role == Role::Total) {
            return None;
        }
        let newtons = |sinks: &[Sink], row: usize| -> f64 {
            let cells = sinks.iter().flat_map(|s| &s.columns);
            cells.map(|(k, unit)| self.column(*k).get(row).copied().unwrap_or(f64::NAN) * unit.newtons()).sum()
        };
        let rows = 0..self.look.sample.first().map_or(0, Vec::len);
        let mut ratios: Vec<f64> = rows
            .map(|row| (newtons(read, row), newtons(std::slice::from_ref(&total), row)))
            .filter(|(parts, whole)| parts.abs() > 100.0 && !whole.is_nan())
            .map(|(parts, whole)| whole / parts)
            .collect();
        ratios.sort_by(f64::total_cmp);
        let off = ratios.get(ratios.len() / 2)? - 1.0;
        let message = format!(
            "The file’s total is {:.0} % {} than left and right together: left and right were read.",
            100.0 * off.abs(),
            if off > 0.0 { "more" } else { "less" }
        );
        (off.abs() > 0.03).then(|| {
            Notice::new("total_differs", message).next_time("Check the gain and the zero of each plate, and what the total column holds.")
        })
    }

    fn by_words(&self) -> Vec<Reading> {
        let mut readings = Vec::new();
        let mut push = |sinks: Vec<Option<Sink>>, confidence: f64, question: Option<Notice>| {
            if let Some(sinks) = sinks.into_iter().collect::<Option<Vec<Sink>>>() {
                readings.push(Reading { sinks, confidence, question });
            }
        };
        let strong = |score: i32| if score >= 5 { 1.0 } else { 0.85 };
        let left = self.best(|s| s.says(Word::Left) && !s.says(Word::Right));
        let right = self.best(|s| s.says(Word::Right) && !s.says(Word::Left));
        if let (Some((a, l)), Some((b, r))) = (&left, &right) {
            push(
                vec![
                    self.one_plate(l, Role::Left, "the header names the left side"),
                    self.one_plate(r, Role::Right, "the header names the right side"),
                ],
                strong(*a.min(b)),
                None,
            );
        }
        let sided = left.is_some() || right.is_some();
        let plain = self.best(|s| !s.says_side() && !s.says(Word::Total));
        let total = self.best(|s| s.says(Word::Total) && !s.says_side());
        if let (Some((_, columns)), false) = (&plain, sided && left.is_some() && right.is_some()) {
            for (sinks, confidence, question) in self.unsided(columns) {
                if !sided {
                    push(sinks.into_iter().map(Some).collect(), confidence, Some(question));
                }
            }
        }
        if let Some((score, columns)) = &total {
            push(vec![self.one_plate(columns, Role::Total, "the header names the total")], strong(*score), None);
        }
        if let Some((score, columns)) = &plain {
            // Several: two plates by number were tried above; what is left are cells of one plate.
            let question = (columns.len() > 1).then(|| {
                Notice::new("cells_guessed", format!("{} force columns were taken for load cells of one plate and summed.", columns.len()))
                    .next_time("Confirm the columns once, or export one column a plate.")
            });
            push(vec![self.one_plate(columns, Role::Total, "the header names one vertical force")], strong(*score), question);
        }
        for (side, role, name) in [(&left, Role::Left, "left"), (&right, Role::Right, "right")] {
            if let Some((score, columns)) = side {
                push(vec![self.one_plate(columns, role, &format!("the header names the {name} side alone"))], strong(*score) * 0.9, None);
            }
        }
        readings
    }

    /// Two plates that are numbered, lettered or only repeated.
    fn unsided(&self, columns: &[usize]) -> Vec<(Vec<Sink>, f64, Notice)> {
        if columns.len() < 2 || self.twice(columns).is_some() {
            return Vec::new();
        }
        // One that holds the sum of all others is no plate; nor is a plate that nobody stood on.
        let others = |k: usize| -> Vec<&[f64]> { columns.iter().filter(|o| **o != k).map(|o| self.column(*o)).collect() };
        let live: Vec<usize> = columns
            .iter()
            .copied()
            .filter(|k| columns.len() < 3 || !is_sum(self.column(*k), &others(*k)))
            .filter(|k| columns.len() < 3 || self.seen.get(*k).is_some_and(|s| !s.facts.empty && s.facts.largest > 0.0))
            .collect();
        let first_number = |k: &usize| self.seen.get(*k).and_then(|s| s.numbers.first().cloned());
        let mut names: Vec<String> = live.iter().filter_map(first_number).collect();
        names.dedup();
        let mut distinct = names.clone();
        distinct.sort();
        distinct.dedup();
        if let ([a, b], true) = (&distinct[..], live.iter().all(|k| first_number(k).is_some())) {
            let plate = |name: &String| -> Vec<usize> { live.iter().copied().filter(|k| first_number(k).as_ref() == Some(name)).collect() };
            let (one, two) = (plate(a), plate(b));
            let sinks = (
                self.one_plate(&one, Role::Left, &format!("plate {a}, taken for left")),
                self.one_plate(&two, Role::Right, &format!("plate {b}, taken for right")),
            );
            if let ((Some(l), Some(r)), true) = (sinks, one.len() == two.len()) {
                let notice = ask_sides(format!(
                    "Which plate is left? The plates are numbered, not named: {a} was taken for left and {b} for right."
                ));
                return vec![(vec![l, r], 0.5, notice)];
            }
        }
        self.halves(&live, "so headed")
    }

    /// Columns in order, the first half one plate and the second the other; not for an odd number.
    fn halves(&self, columns: &[usize], which: &str) -> Vec<(Vec<Sink>, f64, Notice)> {
        let n = columns.len();
        if n % 2 == 1 || !matches!(n, 2 | 6 | 8 | 12 | 16) {
            return Vec::new();
        }
        let (first, second) = columns.split_at(n / 2);
        let (words, message) = if n == 2 {
            (
                ["the first of two columns", "the second of two columns"].map(String::from),
                "Which plate is left? The columns are not named: the first was taken for left, the second for right.".to_string(),
            )
        } else {
            let half = n / 2;
            (
                [
                    format!("the first {half} of {n} load cells {which}, summed"),
                    format!("the last {half} of {n} load cells {which}, summed"),
                ],
                format!(
                    "Which plate is left? {n} load cells are not named: the first {half} were taken for the left plate, the last {half} for the right."
                ),
            )
        };
        let [a, b] = words;
        vec![(vec![self.sink(first, Role::Left, a), self.sink(second, Role::Right, b)], if n == 2 { 0.6 } else { 0.5 }, ask_sides(message))]
    }

    /// Where no header helps: by the values and the number of columns.
    fn by_values(&self) -> Vec<Reading> {
        let free: Vec<usize> = (0..self.seen.len())
            .filter(|k| Some(*k) != self.time && self.score(*k) > -5 && self.seen.get(*k).is_some_and(|s| !s.facts.empty))
            .collect();
        // A header that speaks of every column and of no force is to be believed.
        if free.iter().all(|k| self.seen.get(*k).is_some_and(|s| s.speaks() && s.force() <= 0)) {
            return Vec::new();
        }
        let reading = |sinks: Vec<Sink>, confidence: f64, question: Option<Notice>| vec![Reading { sinks, confidence, question }];
        if let [k] = free[..] {
            return reading(vec![self.sink(&[k], Role::Total, "the only column that can be force")], 0.8, None);
        }
        let six = self.six_components(&free);
        let mut force: Vec<usize> = match &six {
            Some(verticals) => verticals.clone(),
            None => free.iter().copied().filter(|k| self.seen.get(*k).is_some_and(Evidence::could_be_force)).collect(),
        };
        if force.is_empty() && free.len() <= 2 {
            force.clone_from(&free);
        }
        // Where somebody leaves the plates, every force falls to zero; what never does is something else.
        let empties = |k: &usize| self.seen.get(*k).is_some_and(|s| (0.02..0.98).contains(&s.facts.at_zero));
        if force.iter().any(empties) {
            force.retain(empties);
        }
        // A cell bears a part of the load that can be told from nothing.
        let size = force.iter().filter_map(|k| self.seen.get(*k)).map(|s| s.facts.largest).fold(0.0, f64::max);
        force.retain(|k| self.seen.get(*k).is_some_and(|s| s.facts.largest > 0.03 * size));
        let n = force.len();
        let others = |k: usize| -> Vec<&[f64]> { force.iter().filter(|o| **o != k).map(|o| self.column(*o)).collect() };
        if let Some(sum) = force.iter().copied().find(|k| n > 2 && is_sum(self.column(*k), &others(*k))) {
            force.retain(|k| *k != sum);
            if let [l, r] = force[..] {
                let sinks = vec![
                    self.sink(&[l], Role::Left, format!("column {} is the sum of this and the next", sum + 1)),
                    self.sink(&[r], Role::Right, format!("column {} is the sum of this and the one before", sum + 1)),
                ];
                let message = "Which plate is left? The columns are not named: the first was taken for left, the second for right.";
                return reading(sinks, 0.7, Some(ask_sides(message.into())));
            }
        }
        let vertical = if six.is_some() { ", the vertical one of each plate’s components" } else { "" };
        if let [k] = force[..] {
            let why = format!("the only column whose values can be vertical force{vertical}");
            let question = (free.len() > 1).then(|| {
                Notice::new(
                    "columns_guessed",
                    format!("The columns are not named: column {} was taken for the force by its values.", k + 1),
                )
                .next_time("Confirm the columns once, or export with a header.")
            });
            return reading(vec![self.sink(&[k], Role::Total, why)], 0.6, question);
        }
        let halves = self.halves(&force, "told by their values");
        let mut readings: Vec<Reading> =
            halves.into_iter().map(|(sinks, confidence, question)| Reading { sinks, confidence, question: Some(question) }).collect();
        if (2..=16).contains(&force.len()) {
            let why = format!("{} load cells of one plate, told by their values, summed", force.len());
            let message = format!("{} unnamed columns were taken for load cells and summed. Which belong to which plate?", force.len());
            let question = Notice::new("cells_guessed", message).next_time("Confirm the columns once, or export with a header.");
            readings.push(Reading { sinks: vec![self.sink(&force, Role::Total, why)], confidence: 0.4, question: Some(question) });
        }
        readings
    }

    /// Unnamed columns in blocks of three or six (three forces, perhaps three moments): the third of each, where it outweighs the others.
    fn six_components(&self, free: &[usize]) -> Option<Vec<usize>> {
        for block in [6, 3] {
            let n = free.len() / block;
            if n == 0 || n > 4 || free.len() != n * block {
                continue;
            }
            let typical = |k: &usize| {
                let mut sizes: Vec<f64> = self.column(*k).iter().filter(|x| !x.is_nan()).map(|x| x.abs()).collect();
                sizes.sort_by(f64::total_cmp);
                sizes.get(sizes.len() * 3 / 4).copied().unwrap_or(0.0)
            };
            let outweighs = free.chunks(block).all(|c| {
                let third = c.get(2).map_or(0.0, typical);
                c.iter().enumerate().filter(|(i, _)| *i != 2).all(|(_, k)| typical(k) * 3.0 < third)
            });
            if outweighs {
                return Some(free.chunks(block).filter_map(|c| c.get(2).copied()).collect());
            }
        }
        None
    }

    fn nothing(&self) -> ReadError {
        let look = self.look;
        let volts = self
            .seen
            .iter()
            .any(|s| matches!(s.unit, Some(ColumnUnit::Volt | ColumnUnit::Millivolt)) && (!s.says(Word::Other) || self.seen.len() <= 10));
        let error = if volts {
            ReadError::new(
                "volts",
                "The columns are in volts: how many newtons a volt is, this file does not say.",
                "Export the recording after calibration, in newtons, or write the sensitivity above the table, for example \"Sensitivity: 500 N/V\".",
            )
            .expected("a column of force")
        } else {
            ReadError::new(
                "no_force_column",
                "No column can be told to be vertical force.",
                "State the columns, for example \"time,left,right\" with \"-\" for a column to leave out.",
            )
            .expected("a column headed as force, left, right or total")
        };
        let header = look.header.join(" | ");
        error.row(look.header_row.unwrap_or(look.first_row)).found(if header.trim().is_empty() {
            "columns without a name"
        } else {
            &header
        })
    }
}
