//! Which encoding a file's text is in, and its transcoding in pieces.
//!
//! Numbers are ASCII in UTF-8 and in Windows-1252 alike, so those two are read as bytes; only
//! UTF-16 is transcoded, and only header words care about the rest.
use super::ReadError;
use super::letters::Letters as _;

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
    joiner: Option<Joiner>,
    buffer: Vec<u8>,
}

/// Takes line breaks out of quoted cells, byte by byte, so that a line is a row; what it does never hangs on the pieces.
#[derive(Debug, Clone, Default)]
struct Joiner {
    /// Within a cell, behind its start.
    begun: bool,
    inside: bool,
    /// A quote inside was seen last: the end, or the first of two.
    closing: bool,
    breaks: u32,
}

/// A quoted cell of more lines than this is a quote that was never closed.
const MOST_BREAKS: u32 = 20;

/// What a head shows about quotes.
#[derive(Default)]
struct Quotes {
    broken_cells: u32,
    wrong: bool,
}

impl Joiner {
    fn push(&mut self, bytes: &mut [u8], seen: &mut Quotes) {
        for b in bytes {
            if self.inside {
                if self.closing {
                    self.closing = false;
                    if *b == b'"' {
                        continue;
                    }
                    self.inside = false;
                    seen.broken_cells += u32::from(self.breaks > 0);
                    seen.wrong |= !matches!(*b, b',' | b';' | b'\t' | b'|' | b' ' | b'\r' | b'\n');
                } else {
                    match *b {
                        b'"' => self.closing = true,
                        b'\n' | b'\r' if self.breaks >= MOST_BREAKS => {
                            *self = Self::default();
                            seen.wrong = true;
                        }
                        b'\n' | b'\r' => {
                            self.breaks += 1;
                            *b = b' ';
                        }
                        _ => {}
                    }
                    continue;
                }
            }
            match *b {
                b'"' if !self.begun => (self.inside, self.begun, self.breaks) = (true, true, 0),
                b'\n' | b',' | b';' | b'\t' | b'|' => self.begun = false,
                b' ' => {}
                _ => self.begun = true,
            }
        }
    }
}

/// Whether line breaks stand within quoted cells of this text, and its quotes are sound; `whole` when it is all there is.
pub(super) fn breaks_within_quotes(plain: &[u8], whole: bool) -> bool {
    if memchr::memchr(b'"', plain).is_none() {
        return false;
    }
    let (mut joiner, mut seen) = (Joiner::default(), Quotes::default());
    joiner.push(&mut plain.to_vec(), &mut seen);
    seen.broken_cells > 0 && !seen.wrong && !(whole && joiner.inside && !joiner.closing)
}

/// The whole text with line breaks taken out of quoted cells.
pub(super) fn join_quoted(text: &str) -> String {
    let mut bytes = text.as_bytes().to_vec();
    Joiner::default().push(&mut bytes, &mut Quotes::default());
    String::from_utf8_lossy(&bytes).into_owned()
}

impl Transcoder {
    /// Whether it joins lines that are broken within quotes.
    pub(super) fn joins(&self) -> bool {
        self.joiner.is_some()
    }

    /// The same, joining lines that are broken within quotes.
    pub(super) fn joining(mut self, join: bool) -> Self {
        self.joiner = join.then(Joiner::default);
        self
    }

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
        Self { decoder, skip: if encoding == Encoding::Utf8Bom { 3 } else { 0 }, bare_returns, joiner: None, buffer: Vec::new() }
    }

    /// The next bytes, transcoded; `last` flushes a cut character.
    pub(super) fn push<'a>(&'a mut self, mut bytes: &'a [u8], last: bool) -> Result<&'a [u8], ReadError> {
        let skipped = self.skip.min(bytes.len());
        self.skip -= skipped;
        bytes = bytes.get(skipped..).unwrap_or_default();
        if self.decoder.is_none() && !self.bare_returns && self.joiner.is_none() {
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
        if let Some(joiner) = &mut self.joiner {
            joiner.push(&mut self.buffer, &mut Quotes::default());
        }
        Ok(&self.buffer)
    }
}

/// Recognises what is certainly not a table of text, by its first bytes.
pub(super) fn refuse_other_kinds(head: &[u8]) -> Result<(), ReadError> {
    let kinds: [(&[u8], &str, &str); 16] = [
        (b"%PDF", "pdf", "a PDF document"),
        (b"\x1F\x8B", "zip", "a compressed file"),
        (b"7z\xBC\xAF", "zip", "a compressed archive"),
        (b"Rar!", "zip", "a compressed archive"),
        (b"\x89PNG", "image", "a picture"),
        (b"\xFF\xD8\xFF", "image", "a picture"),
        (b"GIF8", "image", "a picture"),
        (b"BM", "image", "a picture"),
        (b"II*\0", "image", "a picture"),
        (b"MM\0*", "image", "a picture"),
        (b"BZh", "zip", "a compressed file"),
        (b"\xFD7zXZ", "zip", "a compressed file"),
        (b"\x28\xB5\x2F\xFD", "zip", "a compressed file"),
        (b"\x89HDF", "binary", "a binary data file"),
        (b"MATLAB 5.0", "binary", "a binary data file"),
        (b"\xD0\xCF\x11\xE0", "binary", "an old binary office document"),
    ];
    let advice = "Export the force-time data as text (CSV or TXT) and open that file.";
    for (magic, code, what) in kinds {
        if head.starts_with(magic) && (magic.len() > 2 || head.iter().take(64).any(|b| *b == 0)) {
            return Err(ReadError::new(code, format!("This is {what}, not a text table."), advice)
                .row(1)
                .found(what)
                .expected("rows of numbers as text"));
        }
    }
    Ok(())
}

/// Recognises documents that are text but no table, by their first characters.
pub(super) fn refuse_other_texts(text: &str) -> Result<(), ReadError> {
    let start: String = text.trim_start_matches('\u{FEFF}').trim_start().chars().take(200).collect::<String>().lower();
    let advice = "Export the force-time data as text (CSV or TXT) and open that file.";
    let found = |code: &str, what: &str| {
        let line = text.lines().next().unwrap_or_default();
        Err(ReadError::new(code, format!("This is {what}, not a table of numbers."), advice)
            .row(1)
            .found(line)
            .expected("rows of numbers as text"))
    };
    if start.starts_with("<!doctype html") || start.starts_with("<html") || start.contains("<html") || start.starts_with("<table") {
        return found("html", "a web page");
    }
    if start.starts_with('<') {
        return found("xml", "an XML document");
    }
    if start.starts_with("{\\rtf") {
        return found("rtf", "a formatted document");
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
            .found("characters that no text has")
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
