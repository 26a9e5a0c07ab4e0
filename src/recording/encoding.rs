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
            Self::Windows1252 => encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(),
            _ => String::from_utf8_lossy(bytes).into_owned(),
        }
    }
}

/// Turns the file's bytes into ASCII-compatible bytes with `\n` line ends, in pieces of any size.
pub(super) struct Transcoder {
    decoder: Option<encoding_rs::Decoder>,
    skip: usize,
    bare_returns: bool,
    buffer: Vec<u8>,
}

impl Transcoder {
    /// For a file in `encoding` whose first bytes are `head`.
    pub(super) fn new(encoding: Encoding, head: &[u8]) -> Self {
        let (decoder, unit) = match encoding {
            Encoding::Utf16Le => (Some(encoding_rs::UTF_16LE.new_decoder_with_bom_removal()), [b'\r', 0, b'\n', 0]),
            Encoding::Utf16Be => (Some(encoding_rs::UTF_16BE.new_decoder_with_bom_removal()), [0, b'\r', 0, b'\n']),
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
                let needed = decoder.max_utf8_buffer_length(bytes.len()).unwrap_or(bytes.len().saturating_mul(3).saturating_add(16));
                let mut text = String::with_capacity(needed);
                // Enough room was reserved, so one call takes everything.
                let _ = decoder.decode_to_string(bytes, &mut text, last);
                self.buffer = text.into_bytes();
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
