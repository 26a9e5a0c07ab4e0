//! Which encoding a file's text is in, and its transcoding in pieces.
//!
//! Numbers are ASCII in UTF-8 and in Windows-1252 alike, so those two are read as bytes; only
//! UTF-16 is transcoded, and only header words care about the rest.
use super::ReadError;

/// How the file's bytes spell its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Utf8,
    Utf8Bom,
    Utf16Le,
    Utf16Be,
    Windows1252,
}

impl Encoding {
    /// Decides from the first bytes; `whole` when they are all there is.
    pub(super) fn of(head: &[u8], whole: bool) -> Self {
        match head {
            [0xEF, 0xBB, 0xBF, ..] => return Self::Utf8Bom,
            [0xFF, 0xFE, ..] => return Self::Utf16Le,
            [0xFE, 0xFF, ..] => return Self::Utf16Be,
            _ => {}
        }
        // ASCII text in UTF-16 without a mark has a zero in every second byte.
        let zeros = |offset: usize| head.iter().skip(offset).step_by(2).filter(|b| **b == 0).count();
        let half = head.len() / 2;
        if half >= 4 {
            let (even, odd) = (zeros(0), zeros(1));
            if odd * 10 >= half * 8 && even * 10 <= half {
                return Self::Utf16Le;
            }
            if even * 10 >= half * 8 && odd * 10 <= half {
                return Self::Utf16Be;
            }
        }
        match std::str::from_utf8(head) {
            Ok(_) => Self::Utf8,
            // The head may end inside a character.
            Err(e) if e.error_len().is_none() && !whole => Self::Utf8,
            Err(_) => Self::Windows1252,
        }
    }

    /// Its name for the layout report.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Utf8 => "UTF-8",
            Self::Utf8Bom => "UTF-8 with byte order mark",
            Self::Utf16Le => "UTF-16 LE",
            Self::Utf16Be => "UTF-16 BE",
            Self::Windows1252 => "Windows-1252",
        }
    }

    /// Header and message text from bytes that [`Transcoder`] let through.
    pub(super) fn text(self, bytes: &[u8]) -> String {
        match self {
            Self::Windows1252 => bytes.iter().map(|b| windows_1252(*b)).collect(),
            _ => String::from_utf8_lossy(bytes).into_owned(),
        }
    }
}

/// One byte of Windows-1252 as a character [WHATWG Encoding Standard, index windows-1252]. By hand, because the tables
/// of the general crate make a third of the page's first load (measured: 185 of 577 kB) for these 32 entries and UTF-16.
fn windows_1252(byte: u8) -> char {
    const HIGH: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8D}', 'Ž', '\u{8F}', '\u{90}', '‘', '’', '“', '”', '•',
        '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9D}', 'ž', 'Ÿ',
    ];
    byte.checked_sub(0x80).and_then(|i| HIGH.get(usize::from(i)).copied()).unwrap_or(char::from(byte))
}

/// UTF-16 in pieces: a cut unit or surrogate pair waits for the next piece, what is no character becomes U+FFFD.
struct Utf16 {
    big_endian: bool,
    started: bool,
    waiting: Vec<u8>,
}

impl Utf16 {
    fn new(big_endian: bool) -> Self {
        Self { big_endian, started: false, waiting: Vec::new() }
    }

    fn push(&mut self, bytes: &[u8], last: bool, out: &mut Vec<u8>) {
        self.waiting.extend_from_slice(bytes);
        let pairs = self.waiting.chunks_exact(2);
        let odd = pairs.remainder().first().copied();
        let mut units: Vec<u16> = pairs
            .map(|pair| match *pair {
                [a, b] if self.big_endian => u16::from_be_bytes([a, b]),
                [a, b] => u16::from_le_bytes([a, b]),
                _ => 0,
            })
            .collect();
        self.waiting.clear();
        if !last && units.last().is_some_and(|unit| (0xD800..0xDC00).contains(unit)) {
            let high = units.pop().unwrap_or_default();
            self.waiting.extend(if self.big_endian { high.to_be_bytes() } else { high.to_le_bytes() });
        }
        self.waiting.extend(odd.filter(|_| !last));
        let mut encoded = [0; 4];
        for unit in char::decode_utf16(units) {
            let character = unit.unwrap_or(char::REPLACEMENT_CHARACTER);
            // The mark at the start is no text.
            if self.started || character != '\u{FEFF}' {
                out.extend_from_slice(character.encode_utf8(&mut encoded).as_bytes());
            }
            self.started = true;
        }
        if last && odd.is_some() {
            out.extend_from_slice(char::REPLACEMENT_CHARACTER.encode_utf8(&mut encoded).as_bytes());
        }
    }
}

/// A whole file's text at once.
pub(super) fn decode(encoding: Encoding, bytes: &[u8]) -> String {
    match encoding {
        Encoding::Utf16Le | Encoding::Utf16Be => {
            let mut out = Vec::new();
            Utf16::new(encoding == Encoding::Utf16Be).push(bytes, true, &mut out);
            String::from_utf8_lossy(&out).into_owned()
        }
        Encoding::Utf8Bom => String::from_utf8_lossy(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)).into_owned(),
        other => other.text(bytes),
    }
}

/// Turns the file's bytes into ASCII-compatible bytes with `\n` line ends, in pieces of any size.
pub(super) struct Transcoder {
    decoder: Option<Utf16>,
    skip: usize,
    bare_returns: bool,
    buffer: Vec<u8>,
}

impl Transcoder {
    /// For a file in `encoding` whose first bytes are `head`.
    pub(super) fn new(encoding: Encoding, head: &[u8]) -> Self {
        let (decoder, unit) = match encoding {
            Encoding::Utf16Le => (Some(Utf16::new(false)), [b'\r', 0, b'\n', 0]),
            Encoding::Utf16Be => (Some(Utf16::new(true)), [0, b'\r', 0, b'\n']),
            _ => (None, [b'\r', 0, b'\n', 0]),
        };
        let has = |byte: u8| match &decoder {
            None => memchr::memchr(byte, head).is_some(),
            Some(_) => {
                let pair = if byte == b'\r' { [unit[0], unit[1]] } else { [unit[2], unit[3]] };
                head.chunks_exact(2).any(|c| c == pair)
            }
        };
        let bare_returns = has(b'\r') && !has(b'\n');
        Self { decoder, skip: if encoding == Encoding::Utf8Bom { 3 } else { 0 }, bare_returns, buffer: Vec::new() }
    }

    /// The next bytes, transcoded; `last` flushes a cut character.
    pub(super) fn push<'a>(&'a mut self, mut bytes: &'a [u8], last: bool) -> Result<&'a [u8], ReadError> {
        let skipped = self.skip.min(bytes.len());
        self.skip -= skipped;
        bytes = bytes.get(skipped..).unwrap_or_default();
        if self.decoder.is_none() && !self.bare_returns {
            return Ok(bytes);
        }
        self.buffer.clear();
        match &mut self.decoder {
            None => self.buffer.extend_from_slice(bytes),
            Some(decoder) => {
                let mut text = core::mem::take(&mut self.buffer);
                decoder.push(bytes, last, &mut text);
                self.buffer = text;
            }
        }
        if self.bare_returns {
            self.buffer.iter_mut().filter(|b| **b == b'\r').for_each(|b| *b = b'\n');
        }
        Ok(&self.buffer)
    }
}

/// Recognises what is certainly not a table of text, by its first bytes.
pub(super) fn refuse_other_kinds(head: &[u8]) -> Result<(), ReadError> {
    let kinds: [(&[u8], &str, &str); 9] = [
        (b"%PDF", "pdf", "a PDF document"),
        (b"PK\x03\x04", "zip", "a zip archive or a spreadsheet workbook"),
        (b"\x1F\x8B", "zip", "a compressed file"),
        (b"7z\xBC\xAF", "zip", "a compressed archive"),
        (b"Rar!", "zip", "a compressed archive"),
        (b"\x89PNG", "image", "a picture"),
        (b"\xFF\xD8\xFF", "image", "a picture"),
        (b"GIF8", "image", "a picture"),
        (b"\xD0\xCF\x11\xE0", "binary", "an old binary office document"),
    ];
    let advice = "Export the force-time data as text (CSV or TXT) and open that file.";
    for (magic, code, what) in kinds {
        if head.starts_with(magic) {
            return Err(ReadError::new(code, format!("This is {what}, not a text table."), advice)
                .row(1)
                .expected("rows of numbers as text"));
        }
    }
    Ok(())
}

/// Recognises documents that are text but no table, by their first characters.
pub(super) fn refuse_other_texts(text: &str) -> Result<(), ReadError> {
    let start: String = text.trim_start_matches('\u{FEFF}').trim_start().chars().take(200).collect::<String>().to_lowercase();
    let advice = "Export the force-time data as text (CSV or TXT) and open that file.";
    let found = |code: &str, what: &str| {
        let line = text.lines().next().unwrap_or_default();
        Err(ReadError::new(code, format!("This is {what}, not a table of numbers."), advice)
            .row(1)
            .found(line)
            .expected("rows of numbers as text"))
    };
    if start.starts_with("<!doctype html") || start.starts_with("<html") {
        return found("html", "a web page");
    }
    if start.starts_with('<') {
        return found("xml", "an XML document");
    }
    if start.starts_with('{') || start.starts_with("[{") || start.starts_with("[[") || start.starts_with("[\n") || start.starts_with("[\"")
    {
        return found("json", "a JSON document");
    }
    let head: Vec<char> = text.chars().take(4096).collect();
    let odd =
        head.iter().filter(|c| (c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{C}' | '\u{1A}')) || **c == '\u{FFFD}').count();
    if head.contains(&'\0') || odd * 20 > head.len() {
        return Err(ReadError::new("binary", "This is a binary file, not a text table.", advice)
            .row(1)
            .expected("rows of numbers as text"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the general crate, `encoding_rs`, which implements the WHATWG Encoding Standard.
    #[test]
    fn decoders_agree_with_the_standard_in_pieces_of_any_size() {
        let all: Vec<u8> = (0..=255).collect();
        assert_eq!(Encoding::Windows1252.text(&all), encoding_rs::WINDOWS_1252.decode_without_bom_handling(&all).0);
        // Marks, a pair beyond the first plane, lone surrogates, an odd byte at the end.
        let units: [u16; 10] = [0xFEFF, 0x41, 0xFEFF, 0xD83D, 0xDE00, 0xD800, 0x42, 0xDC00, 0x20AC, 0xD801];
        for big in [false, true] {
            let mut bytes: Vec<u8> = units.iter().flat_map(|u| if big { u.to_be_bytes() } else { u.to_le_bytes() }).collect();
            bytes.push(7);
            let standard = if big { encoding_rs::UTF_16BE } else { encoding_rs::UTF_16LE };
            let expected = standard.decode_with_bom_removal(&bytes).0.into_owned();
            for size in 1..=bytes.len() {
                let (mut decoder, mut out) = (Utf16::new(big), Vec::new());
                for piece in bytes.chunks(size) {
                    decoder.push(piece, false, &mut out);
                }
                decoder.push(&[], true, &mut out);
                let found = String::from_utf8(out).unwrap();
                // How many marks stand for the cut end together is not settled alike; what is text must be.
                assert_eq!(found.trim_end_matches('\u{FFFD}'), expected.trim_end_matches('\u{FFFD}'), "size {size}");
            }
        }
    }
}
