//! Items ↔ the bytes of one block of a backup; the form is described in [`super::backup`].
use super::backup::{Item, Store, TAG_BYTES};
use super::frames::MOST_PAYLOAD_BYTES;
use super::shuffle::{pays, shuffle, unshuffle};
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::{TINFLStatus, decompress_to_vec_with_limit};

/// A block unpacked is at most this long; as it is kept unpacked where packing does not pay, it also fits a frame.
pub const MOST_UNPACKED: usize = MOST_PAYLOAD_BYTES - TAG_BYTES - 1;
/// An item is at most this long: two plates for two hours at 1000 Hz.
pub const MOST_ITEM_BYTES: usize = 64 << 20;
/// 6 is the crate's own middle between time and size.
const LEVEL: u8 = 6;
const MORE: u8 = 1;
const SHUFFLED: u8 = 2;
const GOES_ON: u8 = 4;
/// Flags, key length and length.
const ITEM_HEAD: usize = 7;

/// What was found and what was expected.
pub type Wrong = (String, String);

fn wrong<T>(found: impl Into<String>, expected: impl Into<String>) -> Result<T, Wrong> {
    Err((found.into(), expected.into()))
}

/// An item as one or more parts, each short enough for a block.
pub fn parts(item: &Item) -> Result<Vec<Vec<u8>>, Wrong> {
    let Ok(key_length) = u16::try_from(item.key.len()) else {
        return wrong(format!("a key of {} bytes", item.key.len()), "at most 65 535");
    };
    if item.bytes.len() > MOST_ITEM_BYTES {
        return wrong(format!("{} bytes under {:?}", item.bytes.len(), item.key), format!("at most {MOST_ITEM_BYTES}"));
    }
    let turned = (item.store == Store::Force).then(|| shuffle(&item.bytes)).filter(|turned| pays(&item.bytes, turned));
    let shuffled = if turned.is_some() { SHUFFLED } else { 0 };
    let bytes = turned.as_deref().unwrap_or(&item.bytes);
    let room = MOST_UNPACKED - ITEM_HEAD - item.key.len();
    let part = |bytes: &[u8], more: u8| {
        let mut out = Vec::with_capacity(ITEM_HEAD + item.key.len() + bytes.len());
        out.push(more | shuffled);
        out.extend(key_length.to_le_bytes());
        out.extend(item.key.as_bytes());
        out.extend((bytes.len() as u32).to_le_bytes());
        out.extend(bytes);
        out
    };
    if bytes.is_empty() {
        return Ok(vec![part(bytes, 0)]);
    }
    let last = bytes.len().div_ceil(room) - 1;
    Ok(bytes
        .chunks(room)
        .enumerate()
        .map(|(i, bytes)| part(bytes, if i < last { MORE } else { 0 } | if i > 0 { GOES_ON } else { 0 }))
        .collect())
}

/// A block's payload.
pub fn pack(bytes: &[u8]) -> Vec<u8> {
    let packed = compress_to_vec(bytes, LEVEL);
    let (coding, bytes) = if packed.len() < bytes.len() { (1, packed.as_slice()) } else { (0, bytes) };
    let mut out = Vec::with_capacity(bytes.len() + 1);
    out.push(coding);
    out.extend(bytes);
    out
}

/// A block's bytes from its payload. What a packed block claims to become does not matter: unpacking stops at the limit.
pub fn unpack(payload: &[u8]) -> Result<Vec<u8>, Wrong> {
    match payload.split_first() {
        Some((0, bytes)) if bytes.len() <= MOST_UNPACKED => Ok(bytes.to_vec()),
        Some((1, bytes)) => decompress_to_vec_with_limit(bytes, MOST_UNPACKED).map_err(|error| {
            let found = match error.status {
                TINFLStatus::HasMoreOutput => "a packed block that grows without end",
                _ => "a packed block that cannot be unpacked",
            };
            (found.into(), format!("at most {MOST_UNPACKED} bytes"))
        }),
        Some((coding, _)) => wrong(format!("a block of coding {coding}"), "0 (as it is) or 1 (raw deflate)"),
        None => wrong("an empty block", "a coding and bytes"),
    }
}

/// An item of which more is to come.
#[derive(Debug, Clone)]
pub struct Part {
    store: Store,
    key: String,
    flags: u8,
    bytes: Vec<u8>,
}

impl Part {
    /// Bytes kept room for.
    pub fn held_bytes(&self) -> usize {
        self.bytes.capacity()
    }
}

/// A block's whole items; one cut at its end is left in `part`, and one cut at its start is taken from there. With
/// `headless`, the rest of an item whose start was lost is left out.
pub fn items(unpacked: &[u8], store: Store, part: &mut Option<Part>, headless: bool) -> Result<Vec<Item>, Wrong> {
    let mut rest = unpacked;
    let mut whole = Vec::new();
    while !rest.is_empty() {
        let place = unpacked.len() - rest.len();
        let Some((Raw { flags, key, bytes }, after)) = one(rest) else {
            return wrong(format!("an item cut short at byte {place} of the block"), "flags, a key and as many bytes as it says");
        };
        rest = after;
        if flags & !(MORE | SHUFFLED | GOES_ON) != 0 {
            return wrong(format!("flags {flags:#04x} at byte {place} of the block"), "0 to 7");
        }
        let Ok(key) = core::str::from_utf8(key) else {
            return wrong(format!("a key that is no UTF-8 at byte {place} of the block"), "UTF-8");
        };
        let mut now = match part.take() {
            None if flags & GOES_ON != 0 && headless => continue,
            None if flags & GOES_ON != 0 => {
                return wrong(format!("the rest of {key:?} at byte {place} of the block"), "its start before it");
            }
            None => Part { store, key: key.to_owned(), flags: flags & SHUFFLED, bytes: Vec::new() },
            Some(open) if open.store == store && open.key == key && open.flags == flags & SHUFFLED && flags & GOES_ON != 0 => open,
            Some(open) => return wrong(format!("{key:?} at byte {place} of the block"), format!("the rest of {:?}", open.key)),
        };
        if now.bytes.len() + bytes.len() > MOST_ITEM_BYTES {
            return wrong(format!("more than {MOST_ITEM_BYTES} bytes under {key:?}"), format!("at most {MOST_ITEM_BYTES}"));
        }
        now.bytes.extend_from_slice(bytes);
        if flags & MORE != 0 {
            *part = Some(now);
        } else {
            let bytes = if now.flags & SHUFFLED != 0 { unshuffle(&now.bytes) } else { now.bytes };
            whole.push(Item { store, key: now.key, bytes });
        }
    }
    Ok(whole)
}

/// An item as it stands in a block.
struct Raw<'a> {
    flags: u8,
    key: &'a [u8],
    bytes: &'a [u8],
}

/// The first item, and what comes after it.
fn one(rest: &[u8]) -> Option<(Raw<'_>, &[u8])> {
    let (flags, rest) = rest.split_first()?;
    let (length, rest) = rest.split_first_chunk::<2>()?;
    let (key, rest) = rest.split_at_checked(usize::from(u16::from_le_bytes(*length)))?;
    let (length, rest) = rest.split_first_chunk::<4>()?;
    let (bytes, rest) = rest.split_at_checked(u32::from_le_bytes(*length) as usize)?;
    Some((Raw { flags: *flags, key, bytes }, rest))
}
