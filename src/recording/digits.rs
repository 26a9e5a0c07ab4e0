//! Plain numbers out of bytes, eight at a time: one word holds a usual cell, and finding its ends in the word
//! takes no branch that a changing number of digits could mislead.
use super::cells::Dialect;

/// Powers of ten up to the most digits that are read here; all exact.
const POWERS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
/// The same for the digits of one word.
const WHOLE_POWERS: [u64; 8] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000];

/// One in every byte of a word.
const ONES: u64 = 0x0101_0101_0101_0101;
const HIGH: u64 = 0x80 * ONES;
const LOW: u64 = 0x7F * ONES;
const ZEROS: u64 = b'0' as u64 * ONES;

/// The eight bytes at `i`, the first one lowest.
#[inline(always)]
pub(super) fn word_at(b: &[u8], i: usize) -> Option<u64> {
    b.get(i..)?.first_chunk::<8>().map(|eight| u64::from_le_bytes(*eight))
}

/// Which bytes are no digits: their high bits. `values` are the bytes less `'0'`.
#[inline(always)]
fn others(values: u64) -> u64 {
    (((values & LOW) + (0x80 - 10) * ONES) | values) & HIGH
}

/// A word's digits as a number, noughts in front.
#[inline(always)]
fn digits(d: u64) -> u64 {
    let pairs = d.wrapping_mul(10).wrapping_add(d >> 8);
    let even = (pairs & 0xFF_0000_00FF).wrapping_mul((1_000_000 << 32) + 100);
    let odd = ((pairs >> 16) & 0xFF_0000_00FF).wrapping_mul((10_000 << 32) + 1);
    even.wrapping_add(odd) >> 32
}

/// The bytes before the one whose high bit is `end`, moved to the word's end. In two steps, because none shifts by all 64 bits.
#[inline(always)]
fn before(values: u64, end: u32) -> u64 {
    values << 1 << (70 - end)
}

/// How a number of known length, with its mark at a known place, is taken out of a word.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taken {
    /// High bits where digits must stand.
    digits: u64,
    /// The byte of the mark, and what must stand there.
    mark: u64,
    marks: u64,
    /// The bytes before the mark.
    below: u64,
    shift: u32,
    power: f64,
}

impl Taken {
    /// Of `size` bytes, 1 to 8, with `mark` at a place in them, if there is one.
    pub(super) fn new(size: usize, at: Option<usize>, mark: u8) -> Self {
        let byte = |k: usize| 0xFFu64 << (8 * k);
        let inside = u64::MAX >> (64 - 8 * size);
        let place = at.map_or(0, byte);
        let count = size - usize::from(at.is_some());
        Self {
            digits: inside & !place & HIGH,
            mark: place,
            marks: place & (u64::from(mark) * ONES),
            below: at.map_or(u64::MAX, |k| (1u64 << (8 * k)) - 1),
            shift: 64 - 8 * count as u32,
            power: POWERS.get(at.map_or(0, |k| size - 1 - k)).copied().unwrap_or(1.0),
        }
    }

    /// The number, and zero where the word has the shape.
    #[inline(always)]
    pub(super) fn number(&self, word: u64) -> (f64, u64) {
        let values = word ^ ZEROS;
        let wrong = (others(values) & self.digits) | ((word & self.mark) ^ self.marks);
        let joined = (values & self.below) | ((values >> 8) & !self.below);
        (digits(joined << (self.shift & 63)) as i64 as f64 / self.power, wrong)
    }
}

/// One plain number at `i`, blanks before it skipped, and where it ends; `None` for anything else. Correctly rounded:
/// up to 15 digits are a whole number below 2^53 and the power of ten is exact, so one division rounds once;
/// longer ones go through `str::parse`.
#[inline(always)]
pub(super) fn number<const BLANKS: bool>(b: &[u8], mut i: usize, mark: u8) -> Option<(f64, usize)> {
    let Some(mut word) = word_at(b, i) else { return careful::<BLANKS>(b, i, mark) };
    let mut negative = false;
    if (word as u8).wrapping_sub(b'0') > 9 {
        (i, negative) = lead::<BLANKS>(b, i)?;
        let Some(now) = word_at(b, i) else { return unsigned(b, i, mark, negative) };
        word = now;
    }
    let values = word ^ ZEROS;
    let ends = others(values);
    if ends == 0 {
        return unsigned(b, i, mark, negative);
    }
    // Places of high bits: 7 for the first byte, 15 for the second.
    let first = ends.trailing_zeros();
    if (word >> (first - 7)) as u8 != mark {
        let count = (first / 8) as usize;
        return if count == 0 { None } else { Some((signed(digits(before(values, first)), negative), i + count)) };
    }
    let second = ends & (ends - 1);
    if second != 0 {
        // All of it stands in this word: the mark is taken out and both parts are read as one.
        let second = second.trailing_zeros();
        let below = (1u64 << (first - 7)) - 1;
        let joined = (values & below) | ((values >> 8) & !below);
        let decimals = ((second - first) / 8) as usize - 1;
        if second == 15 {
            return None;
        }
        return Some((signed(digits(joined << (79 - second)), negative) / POWERS.get(decimals)?, i + (second / 8) as usize));
    }
    let fraction_at = i + (first / 8) as usize + 1;
    let Some(fraction) = word_at(b, fraction_at).map(|word| word ^ ZEROS) else { return unsigned(b, i, mark, negative) };
    let ends = others(fraction);
    if ends == 0 {
        return unsigned(b, i, mark, negative);
    }
    let last = ends.trailing_zeros();
    let decimals = (last / 8) as usize;
    let mantissa = digits(before(values, first)) * WHOLE_POWERS.get(decimals)? + digits(before(fraction, last));
    Some((signed(mantissa, negative) / POWERS.get(decimals)?, fraction_at + decimals))
}

/// Signed first, because the machine turns only signed whole numbers into floating ones in one step; zero loses its sign.
#[inline(always)]
fn signed(mantissa: u64, negative: bool) -> f64 {
    let whole = mantissa.cast_signed();
    (if negative { -whole } else { whole }) as f64
}

/// Behind the blanks and the sign at `i`, and whether the sign was a minus.
#[inline(always)]
fn lead<const BLANKS: bool>(b: &[u8], mut i: usize) -> Option<(usize, bool)> {
    while *b.get(i)? == b' ' || (BLANKS && *b.get(i)? == b'\t') {
        i += 1;
    }
    Some(match *b.get(i)? {
        b'-' => (i + 1, true),
        b'+' => (i + 1, false),
        _ => (i, false),
    })
}

/// [`number`] where the text ends within a word.
#[cold]
fn careful<const BLANKS: bool>(b: &[u8], i: usize, mark: u8) -> Option<(f64, usize)> {
    let (i, negative) = lead::<BLANKS>(b, i)?;
    unsigned(b, i, mark, negative)
}

/// The number at `i`, which has no sign of its own, byte by byte.
#[inline(never)]
fn unsigned(b: &[u8], from: usize, mark: u8, negative: bool) -> Option<(f64, usize)> {
    let (mut mantissa, mut i) = digits_at(b, from, 0)?;
    let mut count = i - from;
    let mut decimals = 0;
    if *b.get(i)? == mark {
        let fraction = i + 1;
        (mantissa, i) = digits_at(b, fraction, mantissa)?;
        decimals = i - fraction;
        count += decimals;
    }
    if count == 0 {
        return None;
    }
    if count >= POWERS.len() {
        return long_number(b.get(from..i)?, mark).map(|x| (if negative { -x } else { x }, i));
    }
    Some((signed(mantissa, negative) / POWERS.get(decimals)?, i))
}

/// Appends the digits at `i` to a whole number (which may overflow: the caller counts them); where they end.
#[inline(always)]
fn digits_at(b: &[u8], mut i: usize, mut number: u64) -> Option<(u64, usize)> {
    loop {
        let d = b.get(i)?.wrapping_sub(b'0');
        if d > 9 {
            return Some((number, i));
        }
        number = number.wrapping_mul(10).wrapping_add(u64::from(d));
        i += 1;
    }
}

#[cold]
fn long_number(text: &[u8], mark: u8) -> Option<f64> {
    let text = std::str::from_utf8(text).ok()?;
    let x = if mark == b'.' { long_decimal(text)? } else { long_decimal(&text.replace(mark as char, "."))? };
    x.is_finite().then_some(x)
}

/// A text of digits as a number, the same as the standard library's, which is asked where digits are many or there is an
/// exponent: the table it takes for those is large, and comes with the module's second half. `inf` and `nan` are none here.
pub(crate) fn decimal(text: &str) -> Option<f64> {
    let (digits, negative) = match text.as_bytes() {
        [b'-', rest @ ..] => (rest, true),
        [b'+', rest @ ..] => (rest, false),
        all => (all, false),
    };
    let (mut mantissa, mut count, mut decimals) = (0u64, 0, None::<usize>);
    for byte in digits {
        match byte {
            b'0'..=b'9' if count + 1 < POWERS.len() => {
                mantissa = mantissa * 10 + u64::from(byte - b'0');
                count += 1;
                decimals = decimals.map(|n| n + 1);
            }
            b'.' if decimals.is_none() => decimals = Some(0),
            b'0'..=b'9' | b'e' | b'E' => return long_decimal(text),
            _ => return None,
        }
    }
    let size = mantissa as f64 / POWERS.get(decimals.unwrap_or(0))?;
    (count > 0).then_some(if negative { -size } else { size })
}

/// Whatever the standard library takes for a number.
#[inline(never)]
fn long_decimal(text: &str) -> Option<f64> {
    text.parse().ok()
}

/// Where the cell begins that stands `cells` cells behind the one at `i`; `None` where the row ends before or holds a quote.
#[inline(always)]
pub(super) fn skip<const BLANKS: bool>(b: &[u8], mut i: usize, mut cells: usize, dialect: Dialect) -> Option<usize> {
    let delimiter = dialect.delimiter;
    if !BLANKS {
        let pattern = u64::from(delimiter) * ONES;
        while let Some(word) = word_at(b, i) {
            let differs = word ^ pattern;
            let mut ends = !(((differs & LOW) + LOW) | differs) & HIGH;
            // Line ends and quotes, and what else is no more than a quote.
            let low = !(((word & LOW) + (0x80 - 0x23) * ONES) | word) & HIGH;
            if low & !ends != 0 {
                break;
            }
            let count = ((ends >> 7).wrapping_mul(ONES) >> 56) as usize;
            if count >= cells {
                for _ in 1..cells {
                    ends &= ends.wrapping_sub(1);
                }
                return Some(i + (ends.trailing_zeros() / 8) as usize + 1);
            }
            cells -= count;
            i += 8;
        }
    }
    for _ in 0..cells {
        i = skip_one::<BLANKS>(b, i, delimiter)?;
    }
    Some(i)
}

/// Behind the delimiter that ends the cell at `i`.
#[inline(always)]
fn skip_one<const BLANKS: bool>(b: &[u8], mut i: usize, delimiter: u8) -> Option<usize> {
    while BLANKS && matches!(*b.get(i)?, b' ' | b'\t') {
        i += 1;
    }
    let from = i;
    loop {
        let c = *b.get(i)?;
        if c == delimiter || (BLANKS && c == b'\t') {
            return if BLANKS && i == from { None } else { Some(i + 1) };
        }
        if c == b'\n' || c == b'\r' || c == b'"' {
            return None;
        }
        i += 1;
    }
}
