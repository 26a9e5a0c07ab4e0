//! Segments ↔ bytes. Little-endian; every array one after the other, so that reading is copying. A check word ends each
//! record: what does not fit it, or is of another form, is no error but made again from the records.
//!
//! ```text
//! spine  = 'T' form count (u16) number of texts (u16) texts trials line… check (u64)
//! line   = athlete test protocol method side (u16 each: place in texts) day (i32) flags (u8) body mass (f64)
//! column = 'C' form count (u16) place… (u16) value… (f64) u… (f64) check (u64)
//! text   = length (u32) UTF-8
//! ```
use super::{Column, Line, SEGMENT, Segment};

/// Version of this form.
const FORM: u8 = 1;
const SPINE: u8 = b'T';
const COLUMN: u8 = b'C';

/// A word that changes with any byte or order: found changes are all that matter here, so it is quick rather than strong.
fn check(bytes: &[u8]) -> u64 {
    let (words, over) = bytes.as_chunks::<8>();
    let mix = |sum: u64, word: u64| (sum ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(29);
    let sum = words.iter().fold(bytes.len() as u64, |sum, word| mix(sum, u64::from_le_bytes(*word)));
    over.iter().fold(sum, |sum, byte| mix(sum, u64::from(*byte)))
}

fn sealed(mut out: Vec<u8>) -> Vec<u8> {
    let word = check(&out);
    out.extend(word.to_le_bytes());
    out
}

fn opened(bytes: &[u8], kind: u8) -> Option<From<'_>> {
    let (rest, word) = bytes.split_last_chunk::<8>()?;
    if check(rest) != u64::from_le_bytes(*word) {
        return None;
    }
    let (head, rest) = rest.split_first_chunk::<2>()?;
    (*head == [kind, FORM]).then_some(From { rest })
}

struct From<'a> {
    rest: &'a [u8],
}

impl<'a> From<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (some, rest) = self.rest.split_at_checked(count)?;
        self.rest = rest;
        Some(some)
    }
    fn short(&mut self) -> Option<u16> {
        self.take(2)?.first_chunk().map(|b| u16::from_le_bytes(*b))
    }
    fn text(&mut self) -> Option<String> {
        let length = self.take(4)?.first_chunk().map(|b| u32::from_le_bytes(*b))?;
        core::str::from_utf8(self.take(length as usize)?).ok().map(str::to_owned)
    }
    fn array<const N: usize>(&mut self, count: usize) -> Option<&'a [[u8; N]]> {
        Some(self.take(count.checked_mul(N)?)?.as_chunks::<N>().0)
    }
}

fn put_text(out: &mut Vec<u8>, text: &str) {
    out.extend((text.len() as u32).to_le_bytes());
    out.extend(text.as_bytes());
}

impl Segment {
    /// The spine's bytes.
    pub fn spine_bytes(&self) -> Vec<u8> {
        let mut out = vec![SPINE, FORM];
        out.extend((self.lines.len() as u16).to_le_bytes());
        // At most five texts a trial: they fit 16 bits.
        out.extend((self.texts.len() as u16).to_le_bytes());
        self.texts.iter().chain(&self.trials).for_each(|text| put_text(&mut out, text));
        out.extend(self.lines.iter().flat_map(line_bytes));
        sealed(out)
    }
    /// A segment without columns from its spine's bytes; none where they are not that.
    pub fn from_spine(bytes: &[u8]) -> Option<Self> {
        let mut from = opened(bytes, SPINE)?;
        let (count, names) = (usize::from(from.short()?), usize::from(from.short()?));
        if count > SEGMENT {
            return None;
        }
        let texts: Vec<String> = (0..names).map(|_| from.text()).collect::<Option<_>>()?;
        let trials: Vec<String> = (0..count).map(|_| from.text()).collect::<Option<_>>()?;
        let lines = from.array::<LINE>(count)?.iter().map(line_from).collect::<Option<_>>()?;
        from.rest.is_empty().then_some(Self { texts, trials, lines, ..Self::default() })
    }
}

/// Bytes of a line.
const LINE: usize = 23;

fn line_bytes(line: &Line) -> Vec<u8> {
    let names = [line.athlete, line.test, line.protocol, line.method, line.side];
    let mut out = Vec::with_capacity(LINE);
    out.extend(names.iter().flat_map(|name| name.to_le_bytes()));
    out.extend(line.day.to_le_bytes());
    out.push(line.flags);
    out.extend(line.body_mass_kg.to_le_bytes());
    out
}

fn line_from(bytes: &[u8; LINE]) -> Option<Line> {
    let mut from = From { rest: bytes };
    Some(Line {
        athlete: from.short()?,
        test: from.short()?,
        protocol: from.short()?,
        method: from.short()?,
        side: from.short()?,
        day: i32::from_le_bytes(*from.take(4)?.first_chunk()?),
        flags: *from.take(1)?.first()?,
        body_mass_kg: f64::from_le_bytes(*from.take(8)?.first_chunk()?),
    })
}

impl Column {
    /// The column's bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(12 + self.places.len() * 18);
        out.extend([COLUMN, FORM]);
        out.extend((self.places.len() as u16).to_le_bytes());
        out.extend(self.places.iter().flat_map(|place| place.to_le_bytes()));
        out.extend(self.values.iter().chain(&self.us).flat_map(|number| number.to_le_bytes()));
        sealed(out)
    }
    /// The column; none where the bytes are not one.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let mut from = opened(bytes, COLUMN)?;
        let count = usize::from(from.short()?);
        let places: Vec<u16> = from.array::<2>(count)?.iter().map(|b| u16::from_le_bytes(*b)).collect();
        let mut numbers = || Some(from.array::<8>(count)?.iter().map(|b| f64::from_le_bytes(*b)).collect());
        let (values, us) = (numbers()?, numbers()?);
        let ascending = places.windows(2).all(|pair| pair.first() < pair.last()) && places.last().is_none_or(|p| usize::from(*p) < SEGMENT);
        (from.rest.is_empty() && ascending).then_some(Self { places, values, us })
    }
}
