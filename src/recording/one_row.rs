//! One line's wanted cells into one row of a batch: the inner part of the loop in [`super::rows`], always compiled into it.
use super::cells::Dialect;
use super::digits;
use super::rows::BATCH;

/// Reads the wanted cells of the line at `i` into row `to` of the batch; returns where the next line begins, or `None`
/// for a line it does not know.
#[inline(always)]
pub(super) fn row<const BLANKS: bool>(
    b: &[u8],
    mut i: usize,
    dialect: Dialect,
    skips: &[usize],
    cells: &mut [[f64; BATCH]],
    to: usize,
) -> Option<usize> {
    let Dialect { delimiter, mark, .. } = dialect;
    for (k, (skip, column)) in skips.iter().zip(cells).enumerate() {
        if k > 0 {
            let c = *b.get(i)?;
            if c != delimiter && !(BLANKS && c == b'\t') {
                return None;
            }
            i += 1;
        }
        if *skip > 0 {
            i = digits::skip::<BLANKS>(b, i, *skip, dialect)?;
        }
        let (x, next) = digits::number::<BLANKS>(b, i, mark)?;
        *column.get_mut(to)? = x;
        i = next;
    }
    next_line::<BLANKS>(b, i, delimiter)
}

/// The same for a line whose cells may stand in quotes.
#[inline(always)]
pub(super) fn quoted_row(
    b: &[u8],
    mut i: usize,
    dialect: Dialect,
    skips: &[usize],
    cells: &mut [[f64; BATCH]],
    to: usize,
) -> Option<usize> {
    let Dialect { delimiter, mark, .. } = dialect;
    for (k, (skip, column)) in skips.iter().zip(cells).enumerate() {
        if k > 0 {
            if *b.get(i)? != delimiter {
                return None;
            }
            i += 1;
        }
        for _ in 0..*skip {
            i = if *b.get(i)? == b'"' { behind_quotes(b, i)? } else { digits::skip::<false>(b, i, 1, dialect)?.checked_sub(1)? };
            if *b.get(i)? != delimiter {
                return None;
            }
            i += 1;
        }
        let quoted = *b.get(i)? == b'"';
        let (x, next) = digits::number::<false>(b, i + usize::from(quoted), mark)?;
        if quoted && *b.get(next)? != b'"' {
            return None;
        }
        *column.get_mut(to)? = x;
        i = next + usize::from(quoted);
    }
    next_line::<false>(b, i, delimiter)
}

/// Where the line after the one at `i` begins, behind its last wanted cell; `None` where that cell goes on.
#[inline(always)]
fn next_line<const BLANKS: bool>(b: &[u8], i: usize, delimiter: u8) -> Option<usize> {
    match *b.get(i)? {
        b'\n' => Some(i + 1),
        b'\r' if *b.get(i + 1)? == b'\n' => Some(i + 2),
        c if c == delimiter || (BLANKS && c == b'\t') => memchr::memchr(b'\n', b.get(i..)?).map(|k| i + k + 1),
        _ => None,
    }
}

/// Behind the quoted cell that begins at `i`; `None` where the line ends in it or it holds quotes of its own.
#[inline(always)]
fn behind_quotes(b: &[u8], i: usize) -> Option<usize> {
    let mut end = i + 1;
    loop {
        match *b.get(end)? {
            b'"' => return if b.get(end + 1) == Some(&b'"') { None } else { Some(end + 1) },
            b'\n' => return None,
            _ => end += 1,
        }
    }
}
