//! One invented signal and the many ways a file may print it.
use tarsal::recording::{ReadError, ReadOptions, Reader, Recording, twin};

/// Invented left and right force, N, whole hundredths so that every layout prints them exactly.
pub struct Truth {
    pub left: Vec<f64>,
    pub right: Vec<f64>,
    pub rate_hz: f64,
}

/// A small generator of its own, so that no layout depends on another crate's sequence.
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}

pub fn truth(seconds: f64) -> Truth {
    let rate_hz = 1000.0;
    let n = (seconds * rate_hz) as usize;
    let mut random = Random(0x5EED_1234);
    let mut side = |share: f64| -> Vec<f64> {
        (0..n)
            .map(|i| {
                let t = i as f64 / rate_hz;
                let shape = match t % 3.0 {
                    t if t < 1.2 => 1.0,
                    t if t < 1.5 => 0.6,
                    t if t < 1.8 => 2.1,
                    t if t < 2.2 => 0.0,
                    t if t < 2.3 => 3.4,
                    _ => 1.0,
                };
                let x = 720.0 * share * shape + 3.0 * (random.unit() - 0.5);
                (x * 100.0).round() / 100.0
            })
            .collect()
    };
    let left = side(0.52);
    let right = side(0.48);
    Truth { left, right, rate_hz }
}

#[derive(Clone, Copy, PartialEq)]
pub enum Time {
    Seconds,
    Milliseconds,
    Counter,
    Absent,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Code {
    Utf8,
    Utf8Bom,
    Utf16Le,
    Utf16Be,
    Utf16LeUnmarked,
    Windows1252,
}

/// One way to print the signal.
#[derive(Clone, Copy)]
pub struct Print {
    pub delimiter: &'static str,
    pub mark: char,
    /// Lines above the numbers, `\n` between them.
    pub above: &'static str,
    pub time: Time,
    /// What stands in a row, in order: `t`ime, `l`eft, `r`ight, `s`um, `x` something else.
    pub cells: &'static str,
    /// Newtons per printed unit, and decimals.
    pub unit: f64,
    pub decimals: usize,
    pub end: &'static str,
    pub code: Code,
    pub quoted: bool,
    pub negative: bool,
    pub below: &'static str,
}

pub const PLAIN: Print = Print {
    delimiter: ",",
    mark: '.',
    above: "time_s,left_N,right_N\n",
    time: Time::Seconds,
    cells: "tlr",
    unit: 1.0,
    decimals: 2,
    end: "\n",
    code: Code::Utf8,
    quoted: false,
    negative: false,
    below: "",
};

impl Print {
    pub fn bytes(&self, truth: &Truth) -> Vec<u8> {
        let mut text = self.above.replace('\n', self.end);
        for (i, (l, r)) in truth.left.iter().zip(&truth.right).enumerate() {
            for (k, kind) in self.cells.chars().enumerate() {
                if k > 0 {
                    text.push_str(self.delimiter);
                }
                let sign = if self.negative { -1.0 } else { 1.0 };
                let cell = match (kind, self.time) {
                    ('t', Time::Seconds) => format!("{:.4}", i as f64 / truth.rate_hz),
                    ('t', Time::Milliseconds) => format!("{:.1}", 1000.0 * i as f64 / truth.rate_hz),
                    ('t', _) => format!("{}", i + 1),
                    ('l', _) => format!("{:.*}", self.decimals, sign * l / self.unit),
                    ('r', _) => format!("{:.*}", self.decimals, sign * r / self.unit),
                    ('s', _) => format!("{:.*}", self.decimals, sign * (l + r) / self.unit),
                    _ => format!("{:.3}", (i % 7) as f64 / 10.0 - 0.3),
                };
                let cell = if self.mark == ',' { cell.replace('.', ",") } else { cell };
                if self.quoted {
                    text.push_str(&format!("\"{cell}\""));
                } else {
                    text.push_str(&cell);
                }
            }
            text.push_str(self.end);
        }
        text.push_str(&self.below.replace('\n', self.end));
        let utf16 = |big: bool| text.encode_utf16().flat_map(|u| if big { u.to_be_bytes() } else { u.to_le_bytes() }).collect::<Vec<u8>>();
        match self.code {
            Code::Utf8 => text.into_bytes(),
            Code::Utf8Bom => [b"\xEF\xBB\xBF".to_vec(), text.into_bytes()].concat(),
            Code::Utf16Le => [vec![0xFF, 0xFE], utf16(false)].concat(),
            Code::Utf16Be => [vec![0xFE, 0xFF], utf16(true)].concat(),
            Code::Utf16LeUnmarked => utf16(false),
            Code::Windows1252 => text.chars().map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?')).collect(),
        }
    }
}

pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Recording, ReadError> {
    read_in(bytes, options, bytes.len().max(1))
}

pub fn read_in(bytes: &[u8], options: &ReadOptions, piece: usize) -> Result<Recording, ReadError> {
    let mut reader = Reader::new(options);
    for piece in bytes.chunks(piece) {
        reader.feed(piece)?;
    }
    reader.finish()
}

/// Any pieces and the slow twin give the same.
pub fn check_same_by_any_way(name: &str, bytes: &[u8], options: &ReadOptions, pieces: &[usize]) {
    let whole = read(bytes, options);
    for piece in pieces {
        assert!(same(&whole, &read_in(bytes, options, *piece)), "{name}: pieces of {piece} bytes differ");
    }
    let slow = twin::read_slowly(bytes, options);
    let start = String::from_utf8_lossy(&bytes[bytes.len().saturating_sub(700)..]).into_owned();
    assert!(same(&whole, &slow), "{name}: the twin differs: {} | {} | {start:?}", short(&whole), short(&slow));
}

fn same(a: &Result<Recording, ReadError>, b: &Result<Recording, ReadError>) -> bool {
    a == b
}

pub fn short(r: &Result<Recording, ReadError>) -> String {
    match r {
        Ok(r) => format!("{} samples, {:?}, {:?}, {:?}", r.len(), r.clock, r.layout, r.notices),
        Err(e) => format!("{}: {e}", e.code),
    }
}
