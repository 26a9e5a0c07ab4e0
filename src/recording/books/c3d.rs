//! Motion-capture files in C3D, the open standard [C3D File Format User Guide, Motion Lab Systems, 2008/2021]: analogue channels and
//! FORCE_PLATFORM parameters; whole numbers and floats, in Intel, DEC and MIPS byte order.
use super::damaged;
use super::sheet::MOST_COLUMNS;
use crate::recording::ReadError;
use crate::recording::words::{self, Word};

const BLOCK: usize = 512;
/// Loaded less than this, N, a plate among others was not stepped on.
const STEPPED_ON_N: f32 = 50.0;

/// How a file's processor writes numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Processor {
    Intel,
    Dec,
    Mips,
}

/// Numbers out of bytes.
#[derive(Clone, Copy)]
struct Bytes<'a>(&'a [u8], Processor);

impl Bytes<'_> {
    fn u16(&self, at: usize) -> Option<u16> {
        let pair = *self.0.get(at..)?.first_chunk::<2>()?;
        Some(if self.1 == Processor::Mips { u16::from_be_bytes(pair) } else { u16::from_le_bytes(pair) })
    }
    fn f32(&self, at: usize) -> Option<f32> {
        let [a, b, c, d] = *self.0.get(at..)?.first_chunk::<4>()?;
        Some(match self.1 {
            Processor::Intel => f32::from_le_bytes([a, b, c, d]),
            Processor::Mips => f32::from_be_bytes([a, b, c, d]),
            // The words are swapped and the exponent's bias is two more.
            Processor::Dec => f32::from_le_bytes([c, d, a, b]) / 4.0,
        })
    }
}

/// Whether the first bytes are those of a C3D file: a block number, then 80.
pub(super) fn is_c3d(head: &[u8]) -> bool {
    matches!(head, [block, 0x50, ..] if (1..=32).contains(block) && !matches!(block, b'\t' | b'\n' | b'\r' | b' '))
}

/// One parameter: its dimensions and where its values stand.
struct Parameter {
    group: i8,
    name: String,
    kind: i8,
    dimensions: Vec<usize>,
    at: usize,
}

struct Parameters<'a> {
    bytes: Bytes<'a>,
    groups: Vec<(i8, String)>,
    list: Vec<Parameter>,
}

/// How many values some dimensions hold; a damaged file may claim more than fit into a number.
fn product(dimensions: &[usize]) -> usize {
    dimensions.iter().fold(1, |n, d| n.saturating_mul(*d))
}

impl<'a> Parameters<'a> {
    fn read(bytes: &'a [u8]) -> Option<Self> {
        let start = usize::from(*bytes.first()?).checked_sub(1)? * BLOCK;
        let processor = match *bytes.get(start + 3)? {
            85 => Processor::Dec,
            86 => Processor::Mips,
            _ => Processor::Intel,
        };
        let bytes = Bytes(bytes, processor);
        let mut found = Self { bytes, groups: Vec::new(), list: Vec::new() };
        let mut at = start + 4;
        for _ in 0..20_000 {
            let length = usize::from(bytes.0.get(at)?.cast_signed().unsigned_abs());
            if length == 0 {
                break;
            }
            let group = bytes.0.get(at + 1)?.cast_signed();
            let name = String::from_utf8_lossy(bytes.0.get(at + 2..at + 2 + length)?).trim().to_uppercase();
            let offset_at = at + 2 + length;
            let offset = usize::from(bytes.u16(offset_at)?);
            if group < 0 {
                found.groups.push((group.checked_neg()?, name));
            } else {
                let kind = bytes.0.get(offset_at + 2)?.cast_signed();
                let count = usize::from(*bytes.0.get(offset_at + 3)?);
                let dimensions = bytes.0.get(offset_at + 4..offset_at + 4 + count)?.iter().map(|d| usize::from(*d)).collect();
                found.list.push(Parameter { group, name, kind, dimensions, at: offset_at + 4 + count });
            }
            if offset == 0 {
                break;
            }
            at = offset_at + offset;
        }
        Some(found)
    }

    fn find(&self, group: &str, name: &str) -> Option<&Parameter> {
        let id = self.groups.iter().find(|(_, n)| n == group)?.0;
        self.list.iter().find(|p| p.group == id && p.name == name)
    }

    /// Every value of a parameter of numbers; whole ones without sign.
    fn numbers(&self, group: &str, name: &str) -> Vec<f64> {
        let Some(p) = self.find(group, name) else { return Vec::new() };
        let count = product(&p.dimensions).min(1 << 20);
        let value = |k: usize| match p.kind {
            1 => self.bytes.0.get(p.at + k).map(|b| f64::from(*b)),
            2 => self.bytes.u16(p.at + 2 * k).map(f64::from),
            4 => self.bytes.f32(p.at + 4 * k).map(f64::from),
            _ => None,
        };
        (0..count).map_while(value).collect()
    }

    fn number(&self, group: &str, name: &str) -> Option<f64> {
        self.numbers(group, name).first().copied()
    }

    /// Texts: the first dimension is their length. `LABELS2` and so on follow `LABELS`, 255 each.
    fn texts(&self, group: &str, name: &str) -> Vec<String> {
        let mut texts = Vec::new();
        for suffix in 1..=40 {
            let name = if suffix == 1 { name.to_string() } else { format!("{name}{suffix}") };
            let Some(p) = self.find(group, &name).filter(|p| p.kind == -1) else { break };
            let length = p.dimensions.first().copied().unwrap_or(0).max(1);
            let count = product(p.dimensions.get(1..).unwrap_or_default()).min(10_000);
            let text = |k: usize| self.bytes.0.get(p.at + k * length..p.at + (k + 1) * length);
            texts.extend((0..count).map_while(text).map(|t| String::from_utf8_lossy(t).trim_matches(['\0', ' ']).to_string()));
        }
        texts
    }

    /// Numbers of every channel, `SCALE`, `SCALE2`, …
    fn per_channel(&self, name: &str) -> Vec<f64> {
        let more = |k: usize| self.numbers("ANALOG", &format!("{name}{k}"));
        self.numbers("ANALOG", name).into_iter().chain((2..=40).flat_map(more)).collect()
    }
}

/// The analogue channels, one sample after another, in their units.
struct Analogue {
    channels: Vec<Vec<f32>>,
    labels: Vec<String>,
    units: Vec<String>,
    rate_hz: f64,
}

/// The table of a C3D file: the vertical force of each plate, or every channel where no plate is described.
///
/// # Errors
/// Where it is damaged or holds no analogue channels.
pub(super) fn to_text(bytes: &[u8]) -> Result<String, ReadError> {
    let parameters = Parameters::read(bytes).ok_or_else(|| damaged("C3D file"))?;
    let analogue = analogue(bytes, &parameters)?;
    let mut columns = plates(&parameters, &analogue);
    if columns.is_empty() {
        let named = |k: usize| (analogue.labels.get(k).cloned().unwrap_or_default(), analogue.units.get(k).cloned().unwrap_or_default());
        columns = analogue.channels.iter().enumerate().take(MOST_COLUMNS).map(|(k, c)| (named(k), c.clone())).collect();
    }
    let mut text = format!("Rate: {} Hz\n", analogue.rate_hz);
    for (k, ((name, unit), _)) in columns.iter().enumerate() {
        let clean = |t: &str| t.replace(['\t', '\n', '\r', '"'], " ");
        let name = if name.is_empty() { format!("channel {}", k + 1) } else { clean(name) };
        text.push_str(&format!(
            "{}{name}{}",
            if k > 0 { "\t" } else { "" },
            if unit.is_empty() { String::new() } else { format!(" [{}]", clean(unit)) }
        ));
    }
    text.push('\n');
    let rows = columns.iter().map(|(_, c)| c.len()).min().unwrap_or(0);
    for row in 0..rows {
        for (k, (_, column)) in columns.iter().enumerate() {
            let value = column.get(row).copied().unwrap_or(f32::NAN);
            text.push_str(if k > 0 { "\t" } else { "" });
            text.push_str(&value.to_string());
        }
        text.push('\n');
    }
    Ok(text)
}

fn analogue(bytes: &[u8], parameters: &Parameters) -> Result<Analogue, ReadError> {
    let b = parameters.bytes;
    let broken = || damaged("C3D file");
    let header = |at: usize| b.u16(at).ok_or_else(broken);
    let points = usize::from(header(2)?);
    let a_frame = usize::from(header(4)?);
    let samples = usize::from(header(18)?);
    let frame_hz = f64::from(b.f32(20).ok_or_else(broken)?);
    let floats = b.f32(12).is_some_and(|scale| scale < 0.0) || parameters.number("POINT", "SCALE").is_some_and(|scale| scale < 0.0);
    let data = parameters.number("POINT", "DATA_START").map_or(0, |x| x as usize).max(usize::from(header(16)?)).saturating_sub(1) * BLOCK;
    if a_frame == 0 || samples == 0 {
        return Err(ReadError::new(
            "no_force_column",
            "This C3D file holds no analogue channels, so no force.",
            "Export it again with the force plates’ channels.",
        )
        .row(1)
        .found("no analogue channel")
        .expected("analogue channels"));
    }
    let channels = a_frame / samples;
    let width = if floats { 4 } else { 2 };
    let size = width * (4 * points + a_frame);
    // More than 65535 frames do not fit into the header; what the bytes hold is the bound.
    let claimed = (usize::from(header(8)?) + 1).saturating_sub(usize::from(header(6)?));
    let stated = parameters.number("POINT", "FRAMES").map_or(0, |f| f as usize);
    let long = |name: &str| {
        let words = parameters.numbers("TRIAL", name);
        words.first().copied().unwrap_or(0.0) + 65_536.0 * words.get(1).copied().unwrap_or(0.0)
    };
    let actual = (long("ACTUAL_END_FIELD") - long("ACTUAL_START_FIELD") + 1.0).max(0.0) as usize;
    let held = bytes.len().saturating_sub(data) / size.max(1);
    let frames = claimed.max(stated).max(if actual > 1 { actual } else { 0 });
    if channels == 0 || held * 10 < frames.min(65_535) * 9 {
        return Err(broken().found(&format!("{held} frames")).expected(format!("{frames} frames")));
    }
    let frames = frames.min(held);
    let offsets = parameters.per_channel("OFFSET");
    let scales = parameters.per_channel("SCALE");
    let general = parameters.number("ANALOG", "GEN_SCALE").unwrap_or(1.0);
    let unsigned = parameters.texts("ANALOG", "FORMAT").first().is_some_and(|f| f.eq_ignore_ascii_case("UNSIGNED"));
    let signed = |x: f64| if unsigned || x < 32_768.0 { x } else { x - 65_536.0 };
    let scale: Vec<(f64, f64)> =
        (0..channels).map(|k| (signed(offsets.get(k).copied().unwrap_or(0.0)), scales.get(k).copied().unwrap_or(1.0) * general)).collect();
    let mut out = vec![Vec::with_capacity(frames * samples); channels];
    for frame in 0..frames {
        let start = data + frame * size + width * 4 * points;
        for sample in 0..samples {
            for (k, (channel, (offset, scale))) in out.iter_mut().zip(&scale).enumerate() {
                let at = start + width * (sample * channels + k);
                let raw = if floats { b.f32(at).map(f64::from) } else { b.u16(at).map(|x| signed(f64::from(x))) };
                channel.push(((raw.unwrap_or(f64::NAN) - offset) * scale) as f32);
            }
        }
    }
    let rate = parameters.number("ANALOG", "RATE").filter(|r| *r > 0.0).unwrap_or(frame_hz * samples as f64);
    Ok(Analogue { channels: out, labels: parameters.texts("ANALOG", "LABELS"), units: parameters.texts("ANALOG", "UNITS"), rate_hz: rate })
}

type Named = ((String, String), Vec<f32>);

/// The vertical force of every plate that was stepped on.
fn plates(parameters: &Parameters, analogue: &Analogue) -> Vec<Named> {
    let used = parameters.number("FORCE_PLATFORM", "USED").unwrap_or(0.0) as usize;
    let types = parameters.numbers("FORCE_PLATFORM", "TYPE");
    let channels = parameters.numbers("FORCE_PLATFORM", "CHANNEL");
    let a_plate = parameters.find("FORCE_PLATFORM", "CHANNEL").and_then(|p| p.dimensions.first().copied()).unwrap_or(6);
    let matrices = parameters.numbers("FORCE_PLATFORM", "CAL_MATRIX");
    let mut out: Vec<Named> = Vec::new();
    for plate in 0..used.min(64) {
        let index = |k: usize| channels.get(plate * a_plate + k).map(|c| (*c as usize).wrapping_sub(1));
        let signal = |k: usize| index(k).and_then(|i| analogue.channels.get(i));
        let weighted = |parts: &[(usize, f64)]| -> Option<Vec<f32>> {
            let signals: Option<Vec<(&Vec<f32>, f64)>> = parts.iter().map(|(k, w)| signal(*k).map(|s| (s, *w))).collect();
            let signals = signals?;
            let n = signals.iter().map(|(s, _)| s.len()).min()?;
            Some(
                (0..n).map(|i| signals.iter().map(|(s, w)| s.get(i).map_or(f64::NAN, |x| f64::from(*x) * w)).sum::<f64>() as f32).collect(),
            )
        };
        let (force, named_by, in_newtons) = match types.get(plate).copied().unwrap_or(2.0) as u32 {
            // Four vertical cells.
            3 => (weighted(&[(4, 1.0), (5, 1.0), (6, 1.0), (7, 1.0)]), 4, false),
            // A calibration matrix makes force of volts; it stands column by column, and Fz is its third row.
            4 => {
                let row: Vec<(usize, f64)> = (0..6).map(|j| (j, matrices.get(plate * 36 + j * 6 + 2).copied().unwrap_or(0.0))).collect();
                (weighted(&row), 2, true)
            }
            _ => (weighted(&[(2, 1.0)]), 2, false),
        };
        let Some(force) = force else { continue };
        let label = index(named_by).and_then(|i| analogue.labels.get(i)).cloned().unwrap_or_default();
        let unit = index(named_by).and_then(|i| analogue.units.get(i)).cloned().unwrap_or_default();
        let sided = words::split(&label).0.iter().any(|w| words::meanings(w).iter().any(|m| matches!(m, Word::Left | Word::Right)));
        let name = if sided { label } else { format!("Plate {} Fz", plate + 1) };
        let unit = if in_newtons || unit.is_empty() { "N".into() } else { unit };
        out.push(((name, unit), force));
    }
    let loaded = |(_, force): &Named| force.iter().fold(0.0f32, |m, x| m.max(x.abs())) > STEPPED_ON_N;
    if out.iter().any(loaded) && out.iter().all(|((_, unit), _)| unit == "N") {
        out.retain(loaded);
    }
    out
}
