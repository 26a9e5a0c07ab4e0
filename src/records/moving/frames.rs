//! Framed bytes: what a backup file is made of, before anything is known of its contents.
//!
//! ```text
//! file   = "tarsal-backup 2\n" frame…
//! frame  = kind (1 byte) length (u32) payload (length bytes) digest (32 bytes)
//! digest = SHA-256( number of the frame from 0 (u64) ‖ kind ‖ length ‖ payload )
//! kind   = H header, first and once · R records · F force · E end, last and once
//! ```
//! Numbers are little-endian. A frame with its head and digest is at most 1 MiB. Because the digest covers the frame's
//! number, frames that were swapped, doubled or left out are found where it happened, not only at the end.
//!
//! The reader takes pieces of any size, gives one frame at a time and holds no more than that. A length is compared with
//! the limit and never reserved: memory grows only with bytes that have come.
use super::fault::{BackupError, Fault};
use sha2::{Digest, Sha256};

/// The file's first line.
pub const MAGIC: &[u8] = b"tarsal-backup 2\n";
/// Everything but the number: what a file of any version begins with.
const FAMILY: &[u8] = b"tarsal-backup ";
const HEAD: usize = 5;
const DIGEST: usize = 32;
/// A frame is at most this long, head and digest included.
pub const MOST_FRAME_BYTES: usize = 1 << 20;
/// Hence a payload is at most this long.
pub const MOST_PAYLOAD_BYTES: usize = MOST_FRAME_BYTES - HEAD - DIGEST;

/// What a frame holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FrameKind {
    /// How the rest is written.
    Header,
    /// Records.
    Records,
    /// The force beside trials.
    Force,
    /// Counts and digest of all that came before.
    End,
}

impl FrameKind {
    /// Its byte in the file.
    pub fn byte(self) -> u8 {
        match self {
            Self::Header => b'H',
            Self::Records => b'R',
            Self::Force => b'F',
            Self::End => b'E',
        }
    }
    fn of(byte: u8) -> Option<Self> {
        [Self::Header, Self::Records, Self::Force, Self::End].into_iter().find(|kind| kind.byte() == byte)
    }
}

/// One frame as read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// Counted from 0, the header.
    pub number: u64,
    /// Where it begins in the file.
    pub byte: u64,
    /// What it holds.
    pub kind: FrameKind,
    /// Its bytes.
    pub payload: Vec<u8>,
    /// Whether the digest fits. Always so, unless the reader was told to go on past damage.
    pub whole: bool,
}

fn digest(number: u64, kind: u8, payload: &[u8]) -> [u8; DIGEST] {
    let mut hash = Sha256::new();
    hash.update(number.to_le_bytes());
    hash.update([kind]);
    hash.update((payload.len() as u32).to_le_bytes());
    hash.update(payload);
    hash.finalize().into()
}

/// Bytes as lower-case hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    let digit = |nibble: u8| char::from(if nibble < 10 { b'0' + nibble } else { b'a' + nibble - 10 });
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

/// Writes frames and keeps count of them.
#[derive(Debug, Clone, Default)]
pub struct FrameWriter {
    number: u64,
    chain: Sha256,
}

impl FrameWriter {
    /// The number of the next frame.
    pub fn number(&self) -> u64 {
        self.number
    }
    /// SHA-256 over the digests of all frames so far, in order.
    pub fn chain(&self) -> [u8; DIGEST] {
        self.chain.clone().finalize().into()
    }
    /// A frame's bytes.
    ///
    /// # Errors
    /// Where the payload is longer than a frame may be.
    pub fn frame(&mut self, kind: FrameKind, payload: &[u8]) -> Result<Vec<u8>, BackupError> {
        if payload.len() > MOST_PAYLOAD_BYTES {
            return Err(BackupError::new(Fault::TooLarge, self.number, 0)
                .because(format!("{} bytes in one frame", payload.len()), format!("at most {MOST_PAYLOAD_BYTES}")));
        }
        let digest = digest(self.number, kind.byte(), payload);
        let mut out = Vec::with_capacity(payload.len() + HEAD + DIGEST);
        out.push(kind.byte());
        out.extend((payload.len() as u32).to_le_bytes());
        out.extend(payload);
        out.extend(digest);
        self.chain.update(digest);
        self.number += 1;
        Ok(out)
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Magic,
    Head,
    Body(FrameKind, usize),
    After,
}

/// Reads frames from pieces of any size.
#[derive(Debug, Clone)]
pub struct FrameReader {
    held: Vec<u8>,
    stage: Stage,
    number: u64,
    /// Bytes taken so far.
    bytes: u64,
    chain: Sha256,
    go_on: bool,
    failed: Option<BackupError>,
}

impl FrameReader {
    /// A reader at the file's first byte. With `go_on`, a frame whose digest does not fit is given with `whole: false`
    /// instead of ending the reading.
    pub fn new(go_on: bool) -> Self {
        Self { held: Vec::new(), stage: Stage::Magic, number: 0, bytes: 0, chain: Sha256::new(), go_on, failed: None }
    }
    /// SHA-256 over the digests of all frames but the end, in order.
    pub fn chain(&self) -> [u8; DIGEST] {
        self.chain.clone().finalize().into()
    }
    /// Bytes that the reader keeps room for now.
    pub fn held_bytes(&self) -> usize {
        self.held.capacity()
    }
    /// Where the next frame begins, or the one being read.
    pub fn byte(&self) -> u64 {
        self.bytes - self.held.len() as u64
    }
    /// The number of the next frame.
    pub fn number(&self) -> u64 {
        self.number
    }
    fn fail(&mut self, fault: Fault, found: String, expected: String) -> BackupError {
        let error = BackupError::new(fault, self.number, self.byte()).because(found, expected);
        self.failed = Some(error.clone());
        error
    }
    /// Takes bytes up to the end of one frame. Returns how many were taken and the frame, if one became whole; call
    /// again with the rest.
    ///
    /// # Errors
    /// Where the bytes are no backup, or damaged. The same error comes back from then on.
    pub fn feed(&mut self, piece: &[u8]) -> Result<(usize, Option<Frame>), BackupError> {
        if let Some(error) = &self.failed {
            return Err(error.clone());
        }
        let mut taken = 0;
        loop {
            let rest = piece.get(taken..).unwrap_or_default();
            let want = match self.stage {
                Stage::Magic => MAGIC.len(),
                Stage::Head => HEAD,
                Stage::Body(_, length) => HEAD + length + DIGEST,
                Stage::After if rest.is_empty() => return Ok((taken, None)),
                Stage::After => {
                    return Err(self.fail(
                        Fault::Damaged,
                        format!("{} more bytes after the end", rest.len()),
                        "nothing after the end frame".into(),
                    ));
                }
            };
            let some = rest.get(..(want - self.held.len()).min(rest.len())).unwrap_or_default();
            self.held.extend_from_slice(some);
            taken += some.len();
            self.bytes += some.len() as u64;
            if self.held.len() < want {
                return Ok((taken, None));
            }
            match self.stage {
                Stage::Magic => self.magic()?,
                Stage::Head => self.head()?,
                Stage::Body(kind, length) => return Ok((taken, Some(self.body(kind, length)?))),
                Stage::After => {}
            }
        }
    }
    fn magic(&mut self) -> Result<(), BackupError> {
        if self.held != MAGIC {
            let older = self.held.starts_with(b"tarsal-backup 1\n");
            let fault = if self.held.starts_with(FAMILY) && !older { Fault::Newer } else { Fault::Foreign };
            let found: String = String::from_utf8_lossy(&self.held).escape_debug().take(40).collect();
            return Err(self.fail(fault, format!("“{found}” as the first bytes"), "“tarsal-backup 2” and a line end".into()));
        }
        self.held.clear();
        self.stage = Stage::Head;
        Ok(())
    }
    fn head(&mut self) -> Result<(), BackupError> {
        let Some(([kind, length @ ..], _)) = self.held.split_first_chunk::<HEAD>() else { return Ok(()) };
        let (byte, length) = (*kind, u32::from_le_bytes(*length) as usize);
        let fits = FrameKind::of(byte).filter(|kind| (*kind == FrameKind::Header) == (self.number == 0));
        let Some(kind) = fits else {
            let expected = if self.number == 0 { "a header frame (H)" } else { "a frame of records (R), force (F) or the end (E)" };
            return Err(self.fail(Fault::Damaged, format!("a frame of kind {:?}", char::from(byte)), expected.into()));
        };
        if length > MOST_PAYLOAD_BYTES {
            return Err(self.fail(
                Fault::Damaged,
                format!("a frame that says it holds {length} bytes"),
                format!("at most {MOST_PAYLOAD_BYTES}"),
            ));
        }
        self.stage = Stage::Body(kind, length);
        Ok(())
    }
    fn body(&mut self, kind: FrameKind, length: usize) -> Result<Frame, BackupError> {
        let byte = self.byte();
        let said = self.held.split_off(HEAD + length);
        let payload = self.held.split_off(HEAD);
        let whole = digest(self.number, kind.byte(), &payload) == said.as_slice();
        let passable = self.go_on && kind != FrameKind::Header;
        if !whole && !passable {
            self.held.clear();
            self.bytes = byte;
            return Err(self.fail(
                Fault::Damaged,
                "bytes that are not those that were written".into(),
                "the digest at the frame's end".into(),
            ));
        }
        self.held.clear();
        if kind == FrameKind::End {
            self.stage = Stage::After;
        } else {
            self.chain.update(&said);
            self.stage = Stage::Head;
        }
        let frame = Frame { number: self.number, byte, kind, payload, whole };
        self.number += 1;
        Ok(frame)
    }
    /// Says whether the file ended where it should.
    ///
    /// # Errors
    /// Where it ended before its end frame, or reading had failed.
    pub fn finish(&mut self) -> Result<(), BackupError> {
        if let Some(error) = &self.failed {
            return Err(error.clone());
        }
        match self.stage {
            Stage::After => Ok(()),
            Stage::Magic if !MAGIC.starts_with(&self.held) || self.held.is_empty() => {
                let found = format!("{} bytes that begin otherwise", self.held.len());
                Err(self.fail(Fault::Foreign, found, "“tarsal-backup 2” and a line end".into()))
            }
            _ => {
                let found = format!("the file's end after {} bytes", self.bytes);
                Err(self.fail(Fault::Cut, found, "more frames, and an end frame as the last".into()))
            }
        }
    }
}
