//! The backup file, version 2: every record and all force of a store in one open file, in pieces both ways. What it adds to
//! version 1 ([`crate::records::backup`]): it is packed, an item may be longer than a frame, a frame cannot change places,
//! a locked end cannot be forged, and what is whole in a damaged file can be read.
//!
//! Frames are as in [`super::frames`]. Their payloads:
//!
//! ```text
//! H      JSON {"format": 2, "schema": newest form of a record inside, "lock": null | lock}
//! lock   {"kdf": "PBKDF2-HMAC-SHA-256", "iterations": n, "salt": hex, "cipher": "AES-256-GCM", "nonce": 8 hex digits}
//! R, F   block = coding (1 byte: 0 as it is, 1 raw deflate) bytes; unpacked at most 1 MiB: items, one after another
//! item   flags (1 byte; 1: more of it follows, 2: shuffled, 4: it began before) key length (u16) key (UTF-8) length (u32) bytes
//! E      JSON {"frames": n, "records": n, "force": n, "bytes": n, "sha256": hex of SHA-256 over all digests before it}
//! ```
//! A record's bytes are its text exactly as stored, known or not, damaged or not. Force is shuffled ([`super::shuffle`])
//! where that pays. Something longer than a block is cut; its parts follow one another in blocks of one kind. The counts
//! in E are of frames before it, whole items and their bytes. Neither time nor program is written: the same items in the
//! same order give the same bytes, and so export → import → export gives the same file.
//!
//! **Locked**, the payloads of all frames but H are AES-256-GCM under a key from the passphrase (UTF-8, as typed) by
//! PBKDF2: nonce = the lock's four bytes ‖ frame number (u64, big-endian), the tag behind the bytes, and bound to the
//! frame by the associated data = first line ‖ SHA-256(H's payload) ‖ kind ‖ frame number (u64, big-endian). Salt and
//! nonce are random for each file, so no key and nonce ever meet twice. The cipher itself is the browser's: a
//! [`Block`] is handed out, and its bytes come back sealed or opened. The end is sealed too: a cut cannot be dressed up.
use super::block::{self, Part};
use super::fault::{BackupError, Fault};
use super::frames::{Frame, FrameKind, FrameReader, FrameWriter, MAGIC, hex};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// How one thing in the file is told from another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Store {
    /// A record's text.
    Record,
    /// A trial's force.
    Force,
}

/// One thing to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Which sort.
    pub store: Store,
    /// Its key on the device.
    pub key: String,
    /// A record's text as UTF-8, or force as stored.
    pub bytes: Vec<u8>,
}

/// How a file is locked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lock {
    /// How the key comes from the passphrase.
    pub kdf: String,
    /// Its rounds.
    pub iterations: u32,
    /// Its salt, hexadecimal.
    pub salt: String,
    /// How payloads are locked.
    pub cipher: String,
    /// First four bytes of every nonce, hexadecimal.
    pub nonce: String,
}

const KDF: &str = "PBKDF2-HMAC-SHA-256";
const CIPHER: &str = "AES-256-GCM";
/// Rounds for new files: what OWASP's Password Storage Cheat Sheet (2023) asks of PBKDF2 with SHA-256.
pub const ITERATIONS: u32 = 600_000;
/// A file that asks for more would only keep the reader waiting.
const MOST_ITERATIONS: u32 = 20_000_000;
/// What the tag adds to a payload.
pub const TAG_BYTES: usize = 16;

impl Lock {
    /// A lock for a new file; both arguments fresh from the browser's random source.
    pub fn new(salt: [u8; 16], nonce: [u8; 4]) -> Self {
        Self { kdf: KDF.into(), iterations: ITERATIONS, salt: hex(&salt), cipher: CIPHER.into(), nonce: hex(&nonce) }
    }
    /// The salt; `None` where it is no hexadecimal text of 8 to 64 bytes.
    pub fn salt_bytes(&self) -> Option<Vec<u8>> {
        unhex(&self.salt).filter(|salt| (8..=64).contains(&salt.len()))
    }
    fn nonce_head(&self) -> Option<[u8; 4]> {
        unhex(&self.nonce)?.try_into().ok()
    }
    fn known(&self) -> bool {
        self.kdf == KDF && self.cipher == CIPHER && (1..=MOST_ITERATIONS).contains(&self.iterations)
    }
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    let digit = |c: &u8| char::from(*c).to_digit(16).map(|d| d as u8);
    let (pairs, over) = text.as_bytes().as_chunks::<2>();
    if !over.is_empty() {
        return None;
    }
    pairs.iter().map(|[high, low]| Some(digit(high)? << 4 | digit(low)?)).collect()
}

/// The first frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Version of the file's form.
    pub format: u32,
    /// Newest form of a record inside.
    pub schema: u32,
    /// How it is locked, if it is.
    pub lock: Option<Lock>,
}

impl Header {
    /// The header of a new file.
    pub fn new(schema: u32, lock: Option<Lock>) -> Self {
        Self { format: 2, schema, lock }
    }
}

/// What a file holds, counted; also the last frame's text.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Counts {
    /// Frames before the end.
    pub frames: u64,
    /// Records.
    pub records: u64,
    /// Trials' force.
    pub force: u64,
    /// Bytes of both.
    pub bytes: u64,
    /// SHA-256 over all digests before the end, hexadecimal.
    pub sha256: String,
}

impl Counts {
    fn add(&mut self, item: &Item) {
        match item.store {
            Store::Record => self.records += 1,
            Store::Force => self.force += 1,
        }
        self.bytes += item.bytes.len() as u64;
    }
}

/// One frame's payload, before it is sealed or before it is opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// The frame, counted from 0.
    pub number: u64,
    /// Where the frame begins; 0 while writing.
    pub byte: u64,
    /// What it holds.
    pub kind: FrameKind,
    /// The nonce, where the file is locked.
    pub nonce: Option<[u8; 12]>,
    /// What the cipher binds beside the payload.
    pub associated: Vec<u8>,
    /// The payload.
    pub payload: Vec<u8>,
}

/// What nonces and associated data are made of.
#[derive(Debug, Clone, Default)]
struct Binding {
    head: Option<[u8; 4]>,
    header: Vec<u8>,
}

impl Binding {
    fn new(header: &Header, text: &[u8]) -> Self {
        Self { head: header.lock.as_ref().and_then(Lock::nonce_head), header: Sha256::digest(text).to_vec() }
    }
    fn block(&self, number: u64, byte: u64, kind: FrameKind, payload: Vec<u8>) -> Block {
        let count = number.to_be_bytes();
        let nonce = self.head.map(|head| {
            let mut nonce = [0; 12];
            for (to, from) in nonce.iter_mut().zip(head.iter().chain(&count)) {
                *to = *from;
            }
            nonce
        });
        let associated = [MAGIC, self.header.as_slice(), &[kind.byte()], &count].concat();
        Block { number, byte, kind, nonce, associated, payload }
    }
}

/// Writes a backup. [`begin`](Self::begin), [`add`](Self::add) every item, [`flush`](Self::flush), [`end`](Self::end);
/// each block goes through [`frame`](Self::frame), sealed before if the file is locked, in the order they were given.
#[derive(Debug, Clone)]
pub struct Writer {
    header: Header,
    binding: Binding,
    frames: FrameWriter,
    next: u64,
    open: Option<(FrameKind, Vec<u8>)>,
    counts: Counts,
}

impl Writer {
    /// A writer; nothing is written yet.
    pub fn new(header: Header) -> Self {
        Self { header, binding: Binding::default(), frames: FrameWriter::default(), next: 0, open: None, counts: Counts::default() }
    }
    /// The file's first bytes.
    ///
    /// # Errors
    /// Never in practice: a header is short.
    pub fn begin(&mut self) -> Result<Vec<u8>, BackupError> {
        let text = serde_json::to_vec(&self.header).unwrap_or_default();
        self.binding = Binding::new(&self.header, &text);
        let mut out = MAGIC.to_vec();
        out.append(&mut self.frames.frame(FrameKind::Header, &text)?);
        self.next = self.frames.number();
        Ok(out)
    }
    /// Takes an item; gives the blocks that became full.
    ///
    /// # Errors
    /// Where a key is longer than 65 535 bytes or an item than [`block::MOST_ITEM_BYTES`].
    pub fn add(&mut self, item: &Item) -> Result<Vec<Block>, BackupError> {
        let parts =
            block::parts(item).map_err(|(found, expected)| BackupError::new(Fault::TooLarge, self.next, 0).because(found, expected))?;
        let kind = match item.store {
            Store::Record => FrameKind::Records,
            Store::Force => FrameKind::Force,
        };
        let mut full = Vec::new();
        for part in parts {
            let other = self.open.as_ref().is_some_and(|(open, bytes)| *open != kind || bytes.len() + part.len() > block::MOST_UNPACKED);
            if other {
                full.extend(self.flush());
            }
            self.open.get_or_insert_with(|| (kind, Vec::new())).1.extend(part);
        }
        self.counts.add(item);
        Ok(full)
    }
    /// The block that is not yet full, if there is one.
    pub fn flush(&mut self) -> Option<Block> {
        let (kind, bytes) = self.open.take()?;
        let number = self.next;
        self.next += 1;
        Some(self.binding.block(number, 0, kind, block::pack(&bytes)))
    }
    /// The last block. Every other one must have been framed.
    ///
    /// # Errors
    /// Where a block was not framed yet.
    pub fn end(&mut self) -> Result<Block, BackupError> {
        if self.open.is_some() || self.frames.number() != self.next {
            return Err(self.order(self.next));
        }
        let counts = Counts { frames: self.next, sha256: hex(&self.frames.chain()), ..self.counts.clone() };
        self.next += 1;
        Ok(self.binding.block(counts.frames, 0, FrameKind::End, serde_json::to_vec(&counts).unwrap_or_default()))
    }
    /// A block's bytes in the file: with `sealed` in place of its payload where the file is locked.
    ///
    /// # Errors
    /// Where an earlier block was not framed yet, a locked file's block comes unsealed, or it is too long.
    pub fn frame(&mut self, block: &Block, sealed: Option<&[u8]>) -> Result<Vec<u8>, BackupError> {
        if block.number != self.frames.number() || sealed.is_some() != self.header.lock.is_some() {
            return Err(self.order(block.number));
        }
        self.frames.frame(block.kind, sealed.unwrap_or(&block.payload))
    }
    fn order(&self, number: u64) -> BackupError {
        BackupError::new(Fault::Order, number, 0)
            .because(format!("block {number}"), format!("block {} in its turn, sealed if the file is locked", self.frames.number()))
    }
}

/// Seals or opens a block's payload; the error is told to the reader.
pub type Cipher<'a> = &'a mut dyn FnMut(&Block) -> Result<Vec<u8>, BackupError>;

/// Writes a whole backup in one go; `out` gets the file in pieces of at most 1 MiB and a line.
///
/// # Errors
/// As [`Writer`], and whatever `seal` refuses.
pub fn write<'i>(
    header: Header,
    items: impl IntoIterator<Item = &'i Item>,
    mut seal: Option<Cipher<'_>>,
    out: &mut dyn FnMut(Vec<u8>),
) -> Result<(), BackupError> {
    let mut writer = Writer::new(header);
    out(writer.begin()?);
    let mut give = |writer: &mut Writer, block: Block| {
        let sealed = seal.as_mut().map(|seal| seal(&block)).transpose()?;
        out(writer.frame(&block, sealed.as_deref())?);
        Ok(())
    };
    for item in items {
        for block in writer.add(item)? {
            give(&mut writer, block)?;
        }
    }
    if let Some(block) = writer.flush() {
        give(&mut writer, block)?;
    }
    let end = writer.end()?;
    give(&mut writer, end)
}

/// What a reader finds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// The header; always first.
    Header(Header),
    /// A block: give it to [`Reader::open`] (its payload opened before, if the file is locked), or to [`Reader::pass`].
    Block(Block),
    /// A frame that is not what was written, passed over.
    Lost(BackupError),
}

/// How a reading ended.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Outcome {
    /// What was read.
    pub counts: Counts,
    /// Whether that is everything that was written.
    pub complete: bool,
}

/// Reads a backup from pieces of any size.
#[derive(Debug, Clone)]
pub struct Reader {
    frames: FrameReader,
    binding: Binding,
    go_on: bool,
    part: Option<Part>,
    counts: Counts,
    passed: [bool; 2],
    lost: bool,
    said: Option<Counts>,
}

impl Reader {
    /// A reader at the first byte. With `go_on`, what is damaged is passed over and told, and the rest is read.
    pub fn new(go_on: bool) -> Self {
        Self {
            frames: FrameReader::new(go_on),
            binding: Binding::default(),
            go_on,
            part: None,
            counts: Counts::default(),
            passed: [false; 2],
            lost: false,
            said: None,
        }
    }
    /// Bytes that the reader keeps room for now, those of an item in parts included.
    pub fn held_bytes(&self) -> usize {
        self.frames.held_bytes() + self.part.as_ref().map_or(0, Part::held_bytes)
    }
    /// Takes bytes up to the end of one frame. Returns how many were taken and what was found; call again with the rest.
    ///
    /// # Errors
    /// Where the bytes are no backup, damaged, or of a newer version.
    pub fn feed(&mut self, piece: &[u8]) -> Result<(usize, Option<Found>), BackupError> {
        let (taken, frame) = self.frames.feed(piece)?;
        let found = match frame {
            None => None,
            Some(frame) if !frame.whole => {
                self.lost = true;
                self.part = None;
                let error = BackupError::new(Fault::Damaged, frame.number, frame.byte);
                Some(Found::Lost(
                    error.because("bytes that are not those that were written".into(), "the digest at the frame's end".into()),
                ))
            }
            Some(frame) if frame.kind == FrameKind::Header => Some(Found::Header(self.header(&frame)?)),
            Some(frame) => Some(Found::Block(self.binding.block(frame.number, frame.byte, frame.kind, frame.payload))),
        };
        Ok((taken, found))
    }
    fn header(&mut self, frame: &Frame) -> Result<Header, BackupError> {
        let wrong =
            |fault, found: String, expected: &str| BackupError::new(fault, frame.number, frame.byte).because(found, expected.into());
        let header: Header = serde_json::from_slice(&frame.payload)
            .map_err(|e| wrong(Fault::Damaged, format!("a header that cannot be read ({e})"), "JSON with format, schema and lock"))?;
        if header.format != 2 {
            return Err(wrong(Fault::Newer, format!("form {}", header.format), "form 2"));
        }
        if header.lock.as_ref().is_some_and(|lock| !lock.known()) {
            return Err(wrong(Fault::Newer, "a lock of another sort".into(), "PBKDF2-HMAC-SHA-256 with AES-256-GCM"));
        }
        if header.lock.as_ref().is_some_and(|lock| lock.nonce_head().is_none() || lock.salt_bytes().is_none()) {
            return Err(wrong(Fault::Damaged, "a lock without salt or nonce".into(), "8 to 64 and 4 bytes, hexadecimal"));
        }
        self.binding = Binding::new(&header, &frame.payload);
        Ok(header)
    }
    /// A block's items, whole ones only; `payload` is the block's own or what the cipher made of it.
    ///
    /// # Errors
    /// Where they are not what a block holds, or the end's counts are not what was read. With `go_on`, reading may continue.
    pub fn open(&mut self, block: &Block, payload: &[u8]) -> Result<Vec<Item>, BackupError> {
        let opened = self.items(block, payload);
        if opened.is_err() {
            self.lost = true;
            self.part = None;
        }
        opened
    }
    fn items(&mut self, block: &Block, payload: &[u8]) -> Result<Vec<Item>, BackupError> {
        let wrong =
            |(found, expected): (String, String)| BackupError::new(Fault::Damaged, block.number, block.byte).because(found, expected);
        let store = match block.kind {
            FrameKind::Records => Store::Record,
            FrameKind::Force => Store::Force,
            _ => return self.check_end(block, payload).map(|()| Vec::new()),
        };
        let unpacked = block::unpack(payload).map_err(wrong)?;
        let items = block::items(&unpacked, store, &mut self.part, self.lost).map_err(wrong)?;
        items.iter().for_each(|item| self.counts.add(item));
        Ok(items)
    }
    /// Passes a block over, unopened; its items are then not counted against the end.
    pub fn pass(&mut self, block: &Block) {
        match block.kind {
            FrameKind::Records => self.passed[0] = true,
            FrameKind::Force => self.passed[1] = true,
            _ => {}
        }
        self.part = None;
    }
    fn check_end(&mut self, block: &Block, payload: &[u8]) -> Result<(), BackupError> {
        let wrong = |found: String, expected: String| BackupError::new(Fault::Damaged, block.number, block.byte).because(found, expected);
        let said: Counts = serde_json::from_slice(payload)
            .map_err(|e| wrong(format!("an end that cannot be read ({e})"), "JSON with counts and the whole file's digest".into()))?;
        self.counts.frames = block.number;
        self.counts.sha256 = hex(&self.frames.chain());
        let [records, force] = self.passed;
        let same = said.frames == self.counts.frames
            && said.sha256 == self.counts.sha256
            && (records || said.records == self.counts.records)
            && (force || said.force == self.counts.force)
            && (records || force || said.bytes == self.counts.bytes);
        let done = self.part.is_none();
        let read =
            format!("{} records and the force of {} trials in {} frames", self.counts.records, self.counts.force, self.counts.frames);
        let written = format!("{} and {} in {}, and their digest", said.records, said.force, said.frames);
        self.said = Some(said);
        if self.go_on && self.lost || same && done { Ok(()) } else { Err(wrong(read, written)) }
    }
    /// How it ended.
    ///
    /// # Errors
    /// Where the file ended early or its end was not opened; with `go_on` that is told by [`Outcome::complete`].
    pub fn finish(mut self) -> Result<Outcome, BackupError> {
        let ended = self.frames.finish();
        if !self.go_on {
            ended.clone()?;
            if self.said.is_none() {
                return Err(BackupError::new(Fault::Damaged, self.frames.number(), self.frames.byte())
                    .because("an end that was not opened".into(), "counts and the whole file's digest".into()));
            }
        }
        Ok(Outcome { complete: ended.is_ok() && self.said.is_some() && !self.lost, counts: self.counts })
    }
}

/// Reads a whole backup from pieces; `each` gets every item.
///
/// # Errors
/// As [`Reader`], and whatever `open` refuses.
pub fn read<'p>(
    pieces: impl IntoIterator<Item = &'p [u8]>,
    mut open: Option<Cipher<'_>>,
    each: &mut dyn FnMut(Item),
) -> Result<Outcome, BackupError> {
    let mut reader = Reader::new(false);
    for piece in pieces {
        let mut rest = piece;
        loop {
            let (taken, found) = reader.feed(rest)?;
            rest = rest.get(taken..).unwrap_or_default();
            match found {
                Some(Found::Block(block)) => {
                    let opened = open.as_mut().map(|open| open(&block)).transpose()?;
                    reader.open(&block, opened.as_deref().unwrap_or(&block.payload))?.into_iter().for_each(&mut *each);
                }
                Some(Found::Header(_) | Found::Lost(_)) => {}
                None if rest.is_empty() => break,
                None => {}
            }
        }
    }
    reader.finish()
}
