//! What a list says about a trial: enough to show, filter and sort sixty thousand of them without opening one.
use super::SavedTrial;
use crate::answer::{BY_DAY, TYPED, TestKind, Verdict};
use crate::people::Date;
use std::collections::BTreeMap;
use std::rc::Rc;

/// One trial in a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Its key.
    pub id: Rc<str>,
    /// Its saves, counted from 1.
    pub rev: u64,
    /// Its file's name.
    pub file: Rc<str>,
    /// When it came to this device, ISO 8601, UTC.
    pub added: Rc<str>,
    /// Its athlete's key; empty while unfiled.
    pub athlete_id: Rc<str>,
    /// Its session's key; empty while it has none.
    pub session_id: Rc<str>,
    /// What it may be pooled with.
    pub protocol_key: Rc<str>,
    /// Version of the methods behind its figures.
    pub method: Rc<str>,
    /// Its test.
    pub test: TestKind,
    /// `l`, `r` or `b`.
    pub side: u8,
    /// Whether to trust it.
    pub verdict: Verdict,
    /// Whether it is invented demo data.
    pub invented: bool,
    /// Whether it was taken off the list.
    pub removed: bool,
    /// Whether events were moved by hand.
    pub edited: bool,
    /// Which trial of its test that day; 0 where nothing says so.
    pub number: u32,
    /// Where it starts in its file, s.
    pub start_s: f64,
    /// The figure that stands for it in a list; empty where it has none.
    pub figure: Rc<str>,
    /// Its value, SI, and standard uncertainty; NaN where it has none.
    pub value: (f64, f64),
    /// Whether its mass was not weighed in it: another trial of its day gave it, or somebody typed it in.
    pub by_day: bool,
    /// Body mass, kg; NaN where unknown.
    pub body_mass_kg: f64,
    /// Gravity that it was read with, m/s².
    pub gravity: f64,
}

/// The figures that may stand for a trial of a kind in a list, the first that is given.
pub fn main_figures(test: TestKind) -> &'static [&'static str] {
    match test {
        TestKind::DropJump => &["reactive_strength_index", "jump_height", "jump_height_flight_time"],
        TestKind::DropLanding => &["peak_landing_force_per_kg", "peak_landing_force"],
        TestKind::ReboundJumps => &["mean_reactive_strength_index", "best_reactive_strength_index"],
        TestKind::Isometric => &["peak_force"],
        TestKind::QuietStanding => &["standing_weight"],
        _ => &["jump_height", "jump_height_flight_time"],
    }
}

impl Head {
    /// The head of a trial.
    pub fn of(saved: &SavedTrial) -> Self {
        let main = main_figures(saved.trial.test).iter().find_map(|id| {
            let figure = saved.trial.figures.get(*id)?;
            Some((*id, figure.value.filter(|v| v.is_finite())?, figure.u.unwrap_or(f64::NAN)))
        });
        let (figure, value, u) = main.unwrap_or(("", f64::NAN, f64::NAN));
        Self {
            id: saved.envelope.id.as_str().into(),
            rev: saved.envelope.rev,
            file: saved.file.as_str().into(),
            added: saved.added.as_str().into(),
            athlete_id: saved.athlete_id.as_deref().unwrap_or_default().into(),
            session_id: saved.session_id.as_deref().unwrap_or_default().into(),
            protocol_key: saved.protocol_key.as_str().into(),
            method: saved.envelope.method.as_str().into(),
            test: saved.trial.test,
            side: match saved.trial.side.as_str() {
                "left" => b'l',
                "right" => b'r',
                _ => b'b',
            },
            verdict: saved.trial.verdict,
            invented: saved.invented,
            removed: saved.removed,
            edited: !saved.trial.edited_events.is_empty(),
            by_day: saved.trial.weighing.as_ref().is_some_and(|w| w.source == BY_DAY || w.source == TYPED),
            number: saved.number.unwrap_or(0),
            start_s: saved.trial.start_s,
            figure: figure.into(),
            value: (value, u),
            body_mass_kg: saved.trial.body_mass_kg.unwrap_or(f64::NAN),
            gravity: saved.options.local_gravity(),
        }
    }
    /// What trials of one file share.
    pub fn file_key(&self) -> &str {
        self.id.rsplit_once('-').map_or(&self.id, |(file, _)| file)
    }
    /// The load, kg; 0 for none. It is a part of what trials may be pooled by.
    pub fn load_kg(&self) -> f64 {
        let after = self.protocol_key.rsplit_once(";load=").map_or("", |(_, rest)| rest);
        after.split(';').next().filter(|kg| *kg != "0.0").and_then(|kg| kg.parse().ok()).filter(|kg: &f64| kg.is_finite()).unwrap_or(0.0)
    }
    /// The day it came to this device.
    pub fn added_on(&self) -> Option<Date> {
        Date::parse(&self.added)
    }
}

/// Tests in the order of their numbers in the bytes; new ones only at the end.
const TESTS: [TestKind; 9] = [
    TestKind::Unrecognised,
    TestKind::CountermovementJump,
    TestKind::SquatJump,
    TestKind::DropJump,
    TestKind::CountermovementReboundJump,
    TestKind::DropLanding,
    TestKind::ReboundJumps,
    TestKind::Isometric,
    TestKind::QuietStanding,
];
const VERDICTS: [Verdict; 3] = [Verdict::Sound, Verdict::Doubtful, Verdict::Unusable];
/// First byte: the version of this form. Another version is no error: the heads are made again from the records.
const FORM: u8 = 3;

/// Heads → bytes: texts that repeat are written once.
pub fn heads_to_bytes<'a>(heads: impl Iterator<Item = &'a Head>) -> Vec<u8> {
    let mut names: BTreeMap<Rc<str>, u32> = BTreeMap::new();
    let (mut table, mut rows) = (Vec::new(), Vec::new());
    let mut count = 0_u32;
    for head in heads {
        count += 1;
        for text in [&head.id, &head.file] {
            put_text(&mut rows, text);
        }
        for text in [&head.added, &head.athlete_id, &head.session_id, &head.protocol_key, &head.method, &head.figure] {
            let next = names.len() as u32;
            let number = *names.entry(Rc::clone(text)).or_insert_with(|| {
                put_text(&mut table, text);
                next
            });
            rows.extend(number.to_le_bytes());
        }
        let place = |found: Option<usize>| found.unwrap_or(0) as u8;
        rows.push(place(TESTS.iter().position(|t| *t == head.test)));
        rows.push(place(VERDICTS.iter().position(|v| *v == head.verdict)));
        rows.push(head.side);
        rows.push(u8::from(head.invented) | u8::from(head.removed) << 1 | u8::from(head.edited) << 2 | u8::from(head.by_day) << 3);
        rows.extend(head.number.to_le_bytes());
        rows.extend(head.rev.to_le_bytes());
        for number in [head.start_s, head.value.0, head.value.1, head.body_mass_kg, head.gravity] {
            rows.extend(number.to_le_bytes());
        }
    }
    let mut out = vec![FORM];
    out.extend((names.len() as u32).to_le_bytes());
    out.append(&mut table);
    out.extend(count.to_le_bytes());
    out.append(&mut rows);
    out
}

fn put_text(out: &mut Vec<u8>, text: &str) {
    out.extend((text.len() as u32).to_le_bytes());
    out.extend(text.as_bytes());
}

/// Bytes → heads; `None` where they are of another form or not whole.
pub fn heads_from_bytes(bytes: &[u8]) -> Option<Vec<Head>> {
    let (form, rest) = bytes.split_first()?;
    if *form != FORM {
        return None;
    }
    let mut from = From { rest };
    // Nothing is reserved from a count that the bytes claim.
    let mut names: Vec<Rc<str>> = Vec::new();
    for _ in 0..from.number()? {
        names.push(from.text()?.into());
    }
    let count = from.number()? as usize;
    let mut heads = Vec::with_capacity(count.min(bytes.len() / 50));
    for _ in 0..count {
        let (id, file) = (from.text()?.into(), from.text()?.into());
        let mut name = || names.get(from.number()? as usize).cloned();
        let (added, athlete_id, session_id, protocol_key, method, figure) = (name()?, name()?, name()?, name()?, name()?, name()?);
        let [test, verdict, side, flags] = from.take()?;
        heads.push(Head {
            id,
            file,
            added,
            athlete_id,
            session_id,
            protocol_key,
            method,
            test: *TESTS.get(usize::from(test))?,
            verdict: *VERDICTS.get(usize::from(verdict))?,
            side,
            invented: flags & 1 != 0,
            removed: flags & 2 != 0,
            edited: flags & 4 != 0,
            by_day: flags & 8 != 0,
            number: from.number()?,
            rev: from.take().map(u64::from_le_bytes)?,
            start_s: from.float()?,
            figure,
            value: (from.float()?, from.float()?),
            body_mass_kg: from.float()?,
            gravity: from.float()?,
        });
    }
    from.rest.is_empty().then_some(heads)
}

struct From<'a> {
    rest: &'a [u8],
}

impl<'a> From<'a> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (head, rest) = self.rest.split_first_chunk::<N>()?;
        self.rest = rest;
        Some(*head)
    }
    fn number(&mut self) -> Option<u32> {
        self.take().map(u32::from_le_bytes)
    }
    fn float(&mut self) -> Option<f64> {
        self.take().map(f64::from_le_bytes)
    }
    fn text(&mut self) -> Option<&'a str> {
        let length = self.number()? as usize;
        let (text, rest) = self.rest.split_at_checked(length)?;
        self.rest = rest;
        core::str::from_utf8(text).ok()
    }
}
