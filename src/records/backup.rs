//! The backup file, form 2. Open and documented here; written and read in pieces, so that its size never matters.
//!
//! ```text
//! file    = "tarsal-backup 2\n" frame…
//! frame   = kind (1 byte: H header, D data, E end) length (u32, little-endian) payload sha256(payload) (32 bytes)
//! header  = JSON {"format":2,"schema":2,"lock":null | {"kdf":"PBKDF2-HMAC-SHA-256","iterations":n,"salt":hex,"cipher":"AES-256-GCM","nonce":hex}}
//! data    = items, one after another: store (1 byte: T tombstone, R record, S samples) key (u32 length, UTF-8) value (u32 length, bytes)
//! end     = JSON {"frames":n,"items":n,"sha256":hex of sha256 over all payload hashes in order}
//! ```
//! Form 1 has no tombstones and is read like form 2; the number in the first line and in the header is the same.
//! With a lock, payloads of data frames are AES-256-GCM with the nonce followed by the frame's number (u64, big-endian);
//! hashes are of what stands in the file. Records and tombstones ([`super::tombstone`]) are JSON texts, samples as in [`super::samples`](super::pack). Items come in order of store
//! and key and no time is written, so the same store gives the same bytes.
use super::hex;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Version of the form that this build writes; it reads every one up to it.
pub const FORMAT: u32 = 2;
/// What every backup begins with; the number of its form and a line break follow.
const BEGINS: &[u8] = b"tarsal-backup ";
/// Bytes of the first line.
const FIRST_LINE: usize = BEGINS.len() + 2;
/// No frame is larger; one that claims to be is damaged. A frame holds at least one item whole, and the force of a long trial
/// is one: this leaves room for two plates over two hours at 1000 Hz. Memory grows only with bytes that have come.
pub const MOST_FRAME_BYTES: usize = 72 << 20;
/// A data frame is closed once it has this many bytes.
pub const FRAME_BYTES: usize = 1 << 20;

/// What the header says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// Version of this form.
    pub format: u32,
    /// Version of the records.
    pub schema: u32,
    /// How it is locked.
    pub lock: Option<Lock>,
}

/// How a backup is locked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lock {
    /// How the key comes from the passphrase.
    pub kdf: String,
    /// Its rounds.
    pub iterations: u32,
    /// Its salt, hexadecimal.
    pub salt: String,
    /// How payloads are locked.
    pub cipher: String,
    /// First bytes of each frame's nonce, hexadecimal.
    pub nonce: String,
}

#[derive(Debug, Serialize, Deserialize)]
struct End {
    frames: u64,
    items: u64,
    sha256: String,
}

/// Which store an item is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Store {
    /// A tombstone's text.
    Tombstone,
    /// A record's text.
    Record,
    /// A trial's force.
    Samples,
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Of which store.
    pub store: Store,
    /// Its key.
    pub key: String,
    /// Its text's UTF-8, or its bytes.
    pub value: Vec<u8>,
}

/// Why a backup cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BackupError {
    /// It is no backup of this program.
    Foreign,
    /// Written by a newer version.
    Newer,
    /// Damaged at this byte.
    Damaged(u64),
    /// It ends before its end.
    Cut(u64),
}

impl std::fmt::Display for BackupError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Foreign => f.write_str("This file is no Tarsal backup. Try: choose a file that ends in .tarsal-backup."),
            Self::Newer => {
                f.write_str("This backup was written by a newer version. Try: reload the page while online, then restore again.")
            }
            Self::Damaged(at) => {
                write!(f, "This backup is damaged at byte {at}. What comes before it is whole. Try: another copy of the file.")
            }
            Self::Cut(at) => {
                write!(f, "This backup ends too early, after {at} bytes. What it holds is whole. Try: another copy of the file.")
            }
        }
    }
}

impl std::error::Error for BackupError {}

/// Adds an item to a data payload.
pub fn put_item(payload: &mut Vec<u8>, store: Store, key: &str, value: &[u8]) {
    payload.push(match store {
        Store::Tombstone => b'T',
        Store::Record => b'R',
        Store::Samples => b'S',
    });
    payload.extend((key.len() as u32).to_le_bytes());
    payload.extend(key.as_bytes());
    payload.extend((value.len() as u32).to_le_bytes());
    payload.extend(value);
}

/// A data payload → its items; `None` where it is no such payload.
pub fn items(payload: &[u8]) -> Option<Vec<Item>> {
    let mut rest = payload;
    let mut out = Vec::new();
    while let Some((store, after)) = rest.split_first() {
        let store = match store {
            b'T' => Store::Tombstone,
            b'R' => Store::Record,
            b'S' => Store::Samples,
            _ => return None,
        };
        let (key, after) = sized(after)?;
        let (value, after) = sized(after)?;
        rest = after;
        out.push(Item { store, key: core::str::from_utf8(key).ok()?.to_owned(), value: value.to_vec() });
    }
    Some(out)
}

fn sized(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let (length, rest) = bytes.split_first_chunk::<4>()?;
    rest.split_at_checked(u32::from_le_bytes(*length) as usize)
}

/// Writes frames and keeps count of them.
#[derive(Debug, Clone, Default)]
pub struct Writer {
    frames: u64,
    items: u64,
    chain: Sha256,
}

impl Writer {
    /// The first bytes of the file.
    pub fn begin(&mut self, header: &Header) -> Vec<u8> {
        let mut out = BEGINS.to_vec();
        out.extend(format!("{}\n", header.format).bytes());
        out.append(&mut self.frame(b'H', &serde_json::to_vec(header).unwrap_or_default()));
        out
    }
    /// The number of the next frame, which a lock's nonce needs.
    pub fn next_frame(&self) -> u64 {
        self.frames
    }
    /// A data frame with this payload (locked already, if at all) of so many items.
    pub fn data(&mut self, payload: &[u8], items: u64) -> Vec<u8> {
        self.items += items;
        self.frame(b'D', payload)
    }
    /// The last bytes of the file.
    pub fn end(&mut self) -> Vec<u8> {
        let end = End { frames: self.frames, items: self.items, sha256: hex(&self.chain.clone().finalize()) };
        self.frame(b'E', &serde_json::to_vec(&end).unwrap_or_default())
    }
    fn frame(&mut self, kind: u8, payload: &[u8]) -> Vec<u8> {
        let digest = Sha256::digest(payload);
        self.chain.update(digest);
        self.frames += 1;
        let mut out = Vec::with_capacity(payload.len() + 37);
        out.push(kind);
        out.extend((payload.len() as u32).to_le_bytes());
        out.extend(payload);
        out.extend(digest);
        out
    }
}

/// What a reader finds.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// The header; always first.
    Header(Header),
    /// A data payload, locked if the header says so, with the frame's number.
    Data(u64, Vec<u8>),
    /// The end: everything was whole.
    End,
}

/// Reads frames from pieces of any size.
#[derive(Debug, Clone, Default)]
pub struct Reader {
    buffer: Vec<u8>,
    begun: bool,
    format: u32,
    ended: bool,
    frames: u64,
    bytes: u64,
    chain: Sha256,
}

impl Reader {
    /// Takes the next bytes; gives the frames that became whole.
    ///
    /// # Errors
    /// Where the bytes are no backup, or damaged.
    pub fn feed(&mut self, bytes: &[u8]) -> Result<Vec<Found>, BackupError> {
        self.buffer.extend_from_slice(bytes);
        let mut found = Vec::new();
        if !self.begun {
            let known = BEGINS.len().min(self.buffer.len());
            if self.buffer.get(..known) != BEGINS.get(..known) {
                return Err(BackupError::Foreign);
            }
            let Some(&[number, line]) = self.buffer.get(BEGINS.len()..FIRST_LINE) else { return Ok(found) };
            self.format = match (char::from(number).to_digit(10), line) {
                (Some(format), b'\n') if (1..=FORMAT).contains(&format) => format,
                _ => return Err(BackupError::Newer),
            };
            self.drop_front(FIRST_LINE);
            self.begun = true;
        }
        while let Some(frame) = self.frame()? {
            found.push(frame);
        }
        Ok(found)
    }
    /// Says whether the file was whole.
    ///
    /// # Errors
    /// Where it ended before its end.
    pub fn finish(&self) -> Result<(), BackupError> {
        match (self.ended, self.begun) {
            (true, _) if self.buffer.is_empty() => Ok(()),
            (true, _) => Err(BackupError::Damaged(self.bytes)),
            (false, true) => Err(BackupError::Cut(self.bytes)),
            (false, false) => Err(BackupError::Foreign),
        }
    }
    fn drop_front(&mut self, count: usize) {
        self.buffer.drain(..count.min(self.buffer.len()));
        self.bytes += count as u64;
    }
    fn frame(&mut self) -> Result<Option<Found>, BackupError> {
        let damaged = BackupError::Damaged(self.bytes);
        let Some((head, rest)) = self.buffer.split_first_chunk::<5>() else { return Ok(None) };
        let [kind, length @ ..] = *head;
        let length = u32::from_le_bytes(length) as usize;
        if self.ended || length > MOST_FRAME_BYTES || !matches!(kind, b'H' | b'D' | b'E') || (kind == b'H') != (self.frames == 0) {
            return Err(damaged);
        }
        let Some((payload, rest)) = rest.split_at_checked(length) else { return Ok(None) };
        let Some((digest, _)) = rest.split_first_chunk::<32>() else { return Ok(None) };
        if Sha256::digest(payload).as_slice() != digest {
            return Err(damaged);
        }
        let found = match kind {
            b'H' => {
                let header: Header = serde_json::from_slice(payload).map_err(|_| damaged)?;
                if header.format != self.format {
                    return Err(BackupError::Newer);
                }
                Found::Header(header)
            }
            // A digest does not hold its frame's kind, and one flipped bit makes an end into data.
            b'D' if serde_json::from_slice::<End>(payload).is_ok() => return Err(damaged),
            b'D' => Found::Data(self.frames, payload.to_vec()),
            _ => {
                let end: End = serde_json::from_slice(payload).map_err(|_| damaged.clone())?;
                if end.frames != self.frames || end.sha256 != hex(&self.chain.clone().finalize()) {
                    return Err(damaged);
                }
                self.ended = true;
                Found::End
            }
        };
        self.chain.update(digest);
        self.frames += 1;
        self.drop_front(length + 37);
        Ok(Some(found))
    }
}
