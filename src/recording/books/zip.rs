//! The directory and the entries of a zip archive [PKWARE, APPNOTE.TXT 6.3]: stored and deflated entries, no encryption.
//! Nothing is reserved by a size that the archive claims.
use miniz_oxide::inflate::decompress_to_vec_with_limit;

/// Most bytes one entry may unpack to.
const LARGEST: usize = 400 << 20;
/// Most entries looked at.
const MOST_ENTRIES: usize = 10_000;

pub(super) struct Archive<'a> {
    bytes: &'a [u8],
    entries: Vec<Entry>,
}

struct Entry {
    name: String,
    method: u16,
    packed: usize,
    /// Where its local header stands.
    at: usize,
}

fn u16_at(b: &[u8], i: usize) -> Option<u16> {
    b.get(i..)?.first_chunk::<2>().map(|c| u16::from_le_bytes(*c))
}

fn u32_at(b: &[u8], i: usize) -> Option<usize> {
    b.get(i..)?.first_chunk::<4>().and_then(|c| usize::try_from(u32::from_le_bytes(*c)).ok())
}

impl<'a> Archive<'a> {
    /// Reads the directory at the archive's end.
    pub(super) fn open(bytes: &'a [u8]) -> Option<Self> {
        let tail = bytes.len().saturating_sub(65_557);
        let end = tail + memchr::memmem::rfind(bytes.get(tail..)?, b"PK\x05\x06")?;
        let count = usize::from(u16_at(bytes, end + 10)?).min(MOST_ENTRIES);
        let mut at = u32_at(bytes, end + 16)?;
        let mut entries = Vec::new();
        for _ in 0..count {
            if bytes.get(at..at + 4)? != b"PK\x01\x02" {
                return None;
            }
            let lengths = [u16_at(bytes, at + 28)?, u16_at(bytes, at + 30)?, u16_at(bytes, at + 32)?].map(usize::from);
            let name = String::from_utf8_lossy(bytes.get(at + 46..at + 46 + lengths[0])?).into_owned();
            entries.push(Entry { name, method: u16_at(bytes, at + 10)?, packed: u32_at(bytes, at + 20)?, at: u32_at(bytes, at + 42)? });
            at += 46 + lengths.iter().sum::<usize>();
        }
        Some(Self { bytes, entries })
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.entries.iter().any(|e| e.name == name)
    }

    /// Names in the archive's order.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        self.entries.iter().map(|e| e.name.as_str())
    }

    /// An entry's text; none where it is missing, damaged, too large or packed otherwise.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        let entry = self.entries.iter().find(|e| e.name == name)?;
        let begin = entry.at + 30 + usize::from(u16_at(self.bytes, entry.at + 26)?) + usize::from(u16_at(self.bytes, entry.at + 28)?);
        let packed = self.bytes.get(begin..begin.checked_add(entry.packed)?)?;
        let plain = match entry.method {
            0 => packed.to_vec(),
            8 => decompress_to_vec_with_limit(packed, LARGEST).ok()?,
            _ => return None,
        };
        Some(String::from_utf8(plain).unwrap_or_else(|e| String::from_utf8_lossy(e.as_bytes()).into_owned()))
    }
}
