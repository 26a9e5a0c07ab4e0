//! A link that is the data: one athlete's summary as bytes, compressed, written in letters that an address may hold after
//! its `#`, where no browser sends it to anyone.
//!
//! Form: `t1.` + base64url(deflate(fields in the order below)). Whoever has the link has the data: no key is involved. Names are
//! optional; injury notes — why a gate closed, who opened it, pain — are left out unless asked for; other people's values
//! never go along.
use super::wire::{Reader, Wire, wire_enum, wire_struct};
use crate::advice::argument::{Argument, Statement};
use crate::advice::blocks::{Dose, Target};
use crate::advice::brief::{Brief, ClosedTest, Plan, PlanRow, Shown, Standing};
use crate::advice::evidence::{Miss, SideRead};
use crate::advice::gates::{Activity, Closed, Opened};
use crate::advice::qualities::QualityId;
use crate::advice::score::Answer;
use crate::advice::waiting::{RETEST_WAITS, Waits};
use crate::people::Date;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

/// What every link of this version begins with.
pub const PREFIX: &str = "t1.";
/// Longest link made, letters: what mail programs and chats carry whole.
pub const LONGEST: usize = 8 * 1024;
/// Most bytes that a link may unpack to.
const UNPACKED: usize = 64 * 1024;

/// What goes along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Include {
    /// The athlete's name.
    pub name: bool,
    /// Why gates are closed and who opened them.
    pub injury_notes: bool,
    /// Training history and notes in the coach's words.
    pub coach_words: bool,
}

impl Default for Include {
    /// A name goes along, injuries and the coach's own words do not.
    fn default() -> Self {
        Self { name: true, injury_notes: false, coach_words: false }
    }
}

/// Why a link cannot be made or read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkError {
    /// Longer than [`LONGEST`] even without arguments; holds the length.
    TooLong(usize),
    /// Not a link of this page.
    NotALink,
    /// Made by a newer build.
    Newer,
    /// Cut or changed on its way.
    Damaged,
}

impl std::fmt::Display for LinkError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooLong(length) => {
                write!(f, "The summary makes a link of {length} letters; {LONGEST} is the most. Send the report as a file.")
            }
            Self::NotALink => f.write_str("This address holds no summary."),
            Self::Newer => f.write_str("This link was made by a newer build. Reload the page, then open the link again."),
            Self::Damaged => f.write_str("This link is cut or changed. Ask for it again, best as a file."),
        }
    }
}

impl std::error::Error for LinkError {}

/// A link's text after `#`. Sources and, where it is still too long, arguments stay behind before the link grows too long.
///
/// # Errors
/// [`LinkError::TooLong`].
pub fn encode(brief: &Brief, include: Include) -> Result<String, LinkError> {
    let mut sent = chosen(brief, include);
    let mut text = pack(&sent);
    if text.len() > LONGEST {
        for argument in &mut sent.arguments {
            argument.speaks_for.truncate(3);
            argument.against.truncate(3);
            argument.otherwise.truncate(3);
        }
        text = pack(&sent);
    }
    if text.len() > LONGEST {
        sent.arguments.clear();
        text = pack(&sent);
    }
    if text.len() > LONGEST { Err(LinkError::TooLong(text.len())) } else { Ok(text) }
}

/// Reads a link's text, with or without its `#`. Memory is bounded whatever is sent: [`LONGEST`] letters in, 64 kB
/// unpacked, counts checked against what is left.
///
/// # Errors
/// [`LinkError`], never a panic.
pub fn decode(text: &str) -> Result<Brief, LinkError> {
    let text = text.trim().trim_start_matches('#');
    let Some(body) = text.strip_prefix(PREFIX) else {
        let newer = text.strip_prefix('t').and_then(|t| t.split_once('.')).is_some_and(|(v, _)| v.parse::<u32>().is_ok_and(|v| v > 1));
        return Err(if newer { LinkError::Newer } else { LinkError::NotALink });
    };
    if text.len() > LONGEST {
        return Err(LinkError::Damaged);
    }
    let packed = URL_SAFE_NO_PAD.decode(body).map_err(|_| LinkError::Damaged)?;
    let bytes = miniz_oxide::inflate::decompress_to_vec_with_limit(&packed, UNPACKED).map_err(|_| LinkError::Damaged)?;
    let mut reader = Reader(&bytes);
    // The last four bytes are a sum over the rest: deflate alone does not notice a changed letter.
    let sum = bytes.len().checked_sub(4).and_then(|end| bytes.split_at_checked(end)).ok_or(LinkError::Damaged)?;
    if checksum(sum.0).to_le_bytes() != sum.1 {
        return Err(LinkError::Damaged);
    }
    reader.0 = sum.0;
    let brief = Brief::take(&mut reader).ok_or(LinkError::Damaged)?;
    if !reader.0.is_empty() || !finite(&brief) {
        return Err(LinkError::Damaged);
    }
    Ok(brief)
}

fn pack(brief: &Brief) -> String {
    let mut bytes = Vec::new();
    brief.put(&mut bytes);
    let sum = checksum(&bytes);
    bytes.extend_from_slice(&sum.to_le_bytes());
    let packed = miniz_oxide::deflate::compress_to_vec(&bytes, 9);
    format!("{PREFIX}{}", URL_SAFE_NO_PAD.encode(packed))
}

/// FNV-1a, 32 bits [Fowler, Noll & Vo]: against accidents, not against intent.
fn checksum(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0x811c_9dc5, |sum, byte| (sum ^ u32::from(*byte)).wrapping_mul(0x0100_0193))
}

/// What a clinician and the athlete know stays with them unless it is asked for.
fn chosen(brief: &Brief, include: Include) -> Brief {
    let mut sent = brief.clone();
    if !include.name {
        sent.name.clear();
    }
    for standing in &mut sent.standings {
        standing.others.clear();
    }
    let quiet = |closed: &mut Vec<Closed>| {
        // Gates of injury and health share one wording; limits of dose are no secret.
        let dose = ["contacts", "box", "unknown", "too_soon"];
        closed.retain(|c| dose.contains(&c.gate.as_str()) || include.injury_notes);
        if closed.is_empty() {
            closed.push(Closed {
                gate: "closed".into(),
                activity: Activity::MaximalJumps,
                reason: "Closed for now; ask the coach.".into(),
                who: String::new(),
                until: None,
                source: String::new(),
            });
        }
    };
    if !include.injury_notes {
        sent.opened.clear();
        sent.closed_tests.iter_mut().for_each(|t| quiet(&mut t.closed));
        sent.misses.retain(|m| m.id != "pain");
        sent.next.retain(|n| !n.contains("pain") && !n.contains("clinician"));
        for waits in sent.next.iter_mut().filter(|n| n.starts_with(RETEST_WAITS)) {
            *waits = format!("{RETEST_WAITS}: ask the coach again before it.");
        }
        for argument in &mut sent.arguments {
            argument.otherwise.retain(|s| !s.text.contains("Pain"));
        }
        if let Some(plan) = &mut sent.plan {
            plan.rows.iter_mut().filter(|r| !r.closed.is_empty()).for_each(|r| quiet(&mut r.closed));
            plan.rows.iter_mut().filter_map(|r| r.waits.as_mut()).for_each(|w| w.closed.clear());
        }
    }
    if !include.coach_words {
        sent.arguments.iter_mut().for_each(|a| a.beside.clear());
        if let Some(plan) = &mut sent.plan {
            plan.note.clear();
            plan.rows.iter_mut().for_each(|r| r.note.clear());
        }
    }
    // Sources are in the receiver's own build, by the rule's id.
    for argument in &mut sent.arguments {
        for list in [&mut argument.speaks_for, &mut argument.against, &mut argument.otherwise] {
            list.iter_mut().for_each(|s| s.source.clear());
        }
    }
    sent
}

/// Numbers that would draw nonsense are refused as damage.
fn finite(brief: &Brief) -> bool {
    let fine = |v: f64| v.is_finite() && v.abs() < 1e7;
    let shown = brief
        .figures
        .iter()
        .chain(&brief.manner)
        .all(|s| fine(s.value) && fine(s.z) && s.error.is_none_or(fine) && s.z_error.is_none_or(fine));
    let standings = brief.standings.iter().all(|s| {
        fine(s.z)
            && s.half_width.is_none_or(fine)
            && s.p_lowest.is_none_or(|p| (0.0..=1.0).contains(&p))
            && s.others.iter().all(|v| fine(*v))
    });
    let plan = brief.plan.as_ref().is_none_or(|p| {
        (1..=4).contains(&p.weeks) && p.rows.iter().all(|r| fine(r.box_m) && r.doses.len() <= 4) && p.targets.iter().all(|t| fine(t.before))
    });
    shown && standings && plan && brief.sides.iter().all(|s| fine(s.difference_percent)) && brief.gap.is_none_or(|g| fine(g.0) && fine(g.1))
}

impl Wire for Answer {
    fn put(&self, to: &mut Vec<u8>) {
        match self {
            Self::One(one) => (0_u8, *one).put(to),
            Self::Two(one, two) => (1_u8, (*one, *two)).put(to),
            Self::UniformlyLow => 2_u8.put(to),
            Self::UniformlyHigh => 3_u8.put(to),
            Self::Manner(one) => (4_u8, *one).put(to),
            Self::NotEnough => 5_u8.put(to),
        }
    }
    fn take(from: &mut Reader) -> Option<Self> {
        Some(match u8::take(from)? {
            0 => Self::One(QualityId::take(from)?),
            1 => Self::Two(QualityId::take(from)?, QualityId::take(from)?),
            2 => Self::UniformlyLow,
            3 => Self::UniformlyHigh,
            4 => Self::Manner(QualityId::take(from)?),
            5 => Self::NotEnough,
            _ => return None,
        })
    }
}

/// What stands in place of a gate's id where a row waits for a new clearance. Builds that do not know it show the row closed.
const WAITS: &str = "waits";

impl Wire for PlanRow {
    fn put(&self, to: &mut Vec<u8>) {
        let mut closed = self.closed.clone();
        if let Some(w) = &self.waits {
            closed.push(Closed {
                gate: WAITS.into(),
                activity: w.closed.first().map_or(Activity::MaximalJumps, |c| c.activity),
                reason: format!("Open until {}; ask the coach for the doses.", w.from.plus_days(-1)),
                who: String::new(),
                until: None,
                source: w.again.map_or_else(|| w.from.to_string(), |again| format!("{} {again}", w.from)),
            });
            closed.extend(w.closed.iter().cloned());
        }
        self.exercise.put(to);
        self.doses.put(to);
        self.load.put(to);
        self.box_m.put(to);
        self.note.put(to);
        closed.put(to);
    }
    fn take(from: &mut Reader) -> Option<Self> {
        let (exercise, doses, load) = (String::take(from)?, Vec::take(from)?, String::take(from)?);
        let (box_m, note, mut closed) = (f64::take(from)?, String::take(from)?, Vec::<Closed>::take(from)?);
        let waits = match closed.iter().position(|c| c.gate == WAITS) {
            Some(at) => {
                let mut rest = closed.split_off(at).into_iter();
                let days: Option<Vec<Date>> = rest.next()?.source.split(' ').map(Date::parse).collect();
                let days = days?;
                Some(Waits { from: *days.first()?, again: days.get(1).copied(), closed: rest.collect() })
            }
            None => None,
        };
        Some(Self { exercise, doses, load, box_m, note, closed, waits })
    }
}

wire_enum!(QualityId [
    BrakingForce, BrakingPower, PropulsionForce, PropulsionPower, Rebound, Landing, IsometricForce, IsometricRate, RepeatPower, LeftRight,
]);
wire_enum!(Activity [LowJumps, MaximalJumps, Rebounds, Drops, DepthJumps, OneLegJumps, MaximalIsometrics, HeavyLifts, CalfWork]);
wire_struct!(Brief {
    name,
    day,
    days,
    group,
    invented,
    body_mass_kg,
    figures,
    manner,
    standings,
    contrasts,
    sides,
    answer,
    sentence,
    gap,
    further_out_percent,
    misses,
    arguments,
    plan,
    closed_tests,
    opened,
    next,
});
wire_struct!(Shown { figure, test, value, unit, error, z, z_error, n });
wire_struct!(Standing { quality, z, half_width, p_lowest, n, others });
wire_struct!(SideRead { figure, difference_percent, of, beyond_noise, read_per_leg });
wire_struct!(Miss { id, sentence, settle });
wire_struct!(Statement { rule, text, source });
wire_struct!(Argument { quality, speaks_for, against, otherwise, settle, beside });
wire_struct!(Plan { aims, starts, weeks, sessions, rows, contacts, test_contacts, contacts_allowed, reduce, targets, retest, note });
wire_struct!(Dose { sets, reps });
wire_struct!(Target { figure, name, test, protocol, unit, before, smallest_percent });
wire_struct!(Closed { gate, activity, reason, who, until, source });
wire_struct!(ClosedTest { test, closed });
wire_struct!(Opened { gate, activity, by, date, until });
