//! Columns and stamps → [`Recording`]: clock, gaps filled, signs, notices, and the last refusals.
use super::clock;
use super::columns::{Columns, TimeColumn};
use super::encoding::Encoding;
use super::look::Look;
use super::remarks::{
    drop_rows, no_rate_of_a_plate, no_recording, odd_weight, open_gaps, rows_doubled, several, tell_rows, told_gaps, unit_unclear,
    weight_unclear,
};
use super::rows::Rows;
use super::wander::bent;
use super::{Channel, ChannelReport, Clock, Gap, Layout, Notice, ReadError, ReadOptions, Recording};

/// What was decided before the rows were read.
pub(super) struct Head {
    pub encoding: Encoding,
    /// Where the text was made from a spreadsheet or a motion-capture file: which.
    pub format: Option<&'static str>,
    pub look: Look,
    pub columns: Columns,
}

/// Makes the recordings: one, or as many as were exported into the file one behind another.
pub(super) fn recordings(head: &Head, mut rows: Rows, cut: Option<u64>, options: &ReadOptions) -> Result<Vec<Recording>, ReadError> {
    if let Some(error) = rows.fault() {
        return Err(error);
    }
    if rows.channels.first().is_some_and(|c| !c.is_empty()) || rows.parts.is_empty() {
        rows.part();
    }
    let parts = std::mem::take(&mut rows.parts);
    let count = parts.len();
    let mut out: Vec<Recording> = Vec::new();
    let mut left_out = 0;
    for (k, part) in parts.into_iter().enumerate() {
        (rows.channels, rows.stamps) = (part.channels, part.stamps);
        let last = k + 1 == count;
        match recording(head, &mut rows, cut.filter(|_| last), options) {
            Ok(mut recording) => {
                recording.start_s = out.last().map_or(0.0, |r| r.start_s + r.duration_s() + 1.0 / r.clock.rate_hz);
                out.push(recording);
            }
            Err(error) if out.is_empty() && last => return Err(error),
            Err(_) => left_out += 1,
        }
    }
    if let (Some(first), true) = (out.first_mut(), count > 1) {
        first.notices.push(several(count, left_out));
    }
    Ok(out)
}

/// Makes the recording that stands in `rows`.
fn recording(head: &Head, rows: &mut Rows, cut: Option<u64>, options: &ReadOptions) -> Result<Recording, ReadError> {
    let Head { encoding, look, columns, .. } = head;
    let mut notices = columns.notices.clone();
    let read = rows.channels.first().map_or(0, Vec::len);
    let valueless = rows.channels.iter().zip(&columns.sinks).find(|(channel, _)| channel.iter().all(|x| x.is_nan()));
    if rows.ragged > (read as u64 / 10).max(5) || read < 10 || valueless.is_some() {
        return Err(no_recording(rows, read, look, valueless.map(|(_, sink)| sink)));
    }
    let clock = fit_clock(rows, head, options, &mut notices)?;
    let mut channels = std::mem::take(&mut rows.channels);
    drop(rows.stamps.take());
    let (gaps, ranges) = apply(&mut channels, &clock, &mut notices);
    if clock.rate_hz < 10.0 || clock.rate_hz > 200_000.0 {
        return Err(no_rate_of_a_plate(&clock, look));
    }
    if let Some(stated) = look.stated_rate_hz.filter(|r| clock.source == "time column" && (r - clock.rate_hz).abs() > 0.01 * clock.rate_hz)
    {
        notices.push(
            Notice::new(
                "rate_differs",
                format!("The file states {stated} Hz, its time column runs at {:.2} Hz: the time column was used.", clock.rate_hz),
            )
            .next_time("Check the sampling rate and the unit of time in the export."),
        );
    }
    if rows.stop.is_some() || rows.repeats > 0 || cut.is_some() || rows.ragged > 0 {
        tell_rows(rows, cut, &mut notices);
    }
    let mut peak = 0.0f32;
    let out = channels.into_iter().zip(ranges).zip(&columns.sinks).map(|((mut force_n, range), sink)| {
        let (sign, high) = upward(&mut force_n, range, sink.sign);
        peak += high;
        let (column, unit) = sink.columns.first().copied().unwrap_or((0, super::Unit::Newton));
        let mut why = sink.why.clone();
        if !sink.unit_stated {
            why.push_str("; no unit is stated, newtons were assumed");
        }
        if sign < 0.0 {
            why.push_str("; it reads negative under load and was turned round");
        }
        Channel {
            report: ChannelReport {
                column: column + 1,
                header: look.header.get(column).cloned().unwrap_or_default(),
                role: sink.role,
                unit,
                sign,
                why,
            },
            force_n,
        }
    });
    let channels: Vec<Channel> = out.collect();
    let stated = columns.sinks.iter().all(|s| s.unit_stated);
    if peak < 100.0 && !stated || stated && (0.3..15.0).contains(&peak) {
        notices.push(unit_unclear(peak, stated));
    } else if let Some(weight_n) = odd_weight(&channels, f64::from(peak)) {
        notices.push(weight_unclear(weight_n, stated));
    }
    let shown = |b: u8| match b {
        b'\t' => "tab".to_string(),
        b' ' => "blanks".to_string(),
        b => (b as char).to_string(),
    };
    Ok(Recording {
        start_s: 0.0,
        clock: Clock { gaps, ..clock },
        channels,
        layout: Layout {
            delimiter: shown(rows.plan.dialect.delimiter),
            decimal: (rows.plan.dialect.mark as char).to_string(),
            encoding: head.format.map_or(encoding.name(), |f| f).into(),
            header_row: look.header_row,
            first_data_row: look.first_row,
            confidence: columns.confidence,
        },
        notices,
    })
}

/// The clock with gaps still to be filled (`gaps` holds row and samples missing before it), duplicates dropped.
fn fit_clock(rows: &mut Rows, head: &Head, options: &ReadOptions, notices: &mut Vec<Notice>) -> Result<Clock, ReadError> {
    let Head { look, columns, .. } = head;
    let stated = options.rate_hz.map(|r| (r, "stated by the reader")).or(look.stated_rate_hz.map(|r| (r, "stated in the file")));
    let valid = |(rate, source): (f64, &'static str)| {
        if rate.is_finite() && rate > 0.0 {
            return Ok((rate, source));
        }
        let error =
            ReadError::new("bad_rate", "The stated sampling rate is no positive number.", "State the rate in hertz, for example 1000.")
                .found(&rate.to_string())
                .expected("a rate of at least 10 Hz");
        Err(ReadError { row: look.stated_rate_row.filter(|_| source.ends_with("file")), ..error })
    };
    let Some(stamps) = rows.stamps.as_mut() else {
        let Some(stated) = stated else {
            return Err(ReadError::new(
                "no_rate",
                "The file has no time column and states no sampling rate.",
                "State the sampling rate in hertz, as set on the plate.",
            )
            .row(look.header_row.unwrap_or(look.first_row))
            .found("columns of force alone")
            .expected("a time column, or a line such as \"Rate: 1000 Hz\" above the numbers"));
        };
        let (rate_hz, source) = valid(stated)?;
        return Ok(Clock { rate_hz, jitter_s: 0.0, gaps: Vec::new(), duplicates: 0, source: source.into() });
    };
    let counted = matches!(columns.time, TimeColumn::Counter { .. });
    let time_column = rows.plan.time.map_or(0, |(k, _)| k);
    let quantum = if counted {
        0.0
    } else {
        rows.plan.time.map_or(0.0, |(k, scale)| scale * ten_to_minus(look.decimals.get(k).copied().unwrap_or(9)))
    };
    let known = if counted { stated.map(valid).transpose()? } else { None };
    let place = |mut e: ReadError| {
        // Where the rate changes is known by rows of numbers.
        e.row = if e.code == "rate_changes" { e.row.map(|row| row + look.first_row) } else { e.row.or(Some(look.first_row)) };
        e.column = e.column.or(Some(time_column as u64 + 1));
        e
    };
    let fitted = clock::fit(stamps, quantum, known.map(|(r, _)| r)).map_err(place)?;
    if stamps.doubled * 5 > stamps.len() * 2 {
        notices.push(rows_doubled(stamps.doubled, fitted.rate_hz));
    }
    if let Some(by_s) = fitted.bend_s {
        notices.push(bent(by_s, fitted.rate_hz));
    }
    if !fitted.drop.is_empty() {
        drop_rows(&mut rows.channels, &fitted.drop);
    }
    let source = match known {
        Some((_, source)) => format!("sample numbers; rate {source}"),
        None => "time column".into(),
    };
    let gaps = fitted.missing.iter().map(|&(start, len)| Gap { start, len }).collect();
    Ok(Clock { rate_hz: fitted.rate_hz, jitter_s: fitted.jitter_s, gaps, duplicates: fitted.drop.len(), source })
}

/// Fills what is missing with straight lines; tells it; returns the gaps in sample indices and the channels' extremes.
fn apply(channels: &mut [Vec<f32>], clock: &Clock, notices: &mut Vec<Notice>) -> (Vec<Gap>, Vec<Extremes>) {
    if clock.duplicates > 0 {
        notices.push(Notice::new("duplicates", format!("{} rows repeat the one before and were dropped.", clock.duplicates)));
    }
    let total: usize = clock.gaps.iter().map(|g| g.len).sum();
    if total > 0 {
        open_gaps(channels, &clock.gaps, total);
    }
    let mut gaps: Vec<Gap> = Vec::new();
    let mut ranges = Vec::new();
    for channel in channels.iter_mut() {
        ranges.push(fill(channel, &mut gaps));
    }
    if gaps.is_empty() {
        return (gaps, ranges);
    }
    (told_gaps(gaps, clock.rate_hz, notices), ranges)
}

/// Puts a straight line where a channel has no value; ends hold the nearest value.
fn fill(channel: &mut [f32], gaps: &mut Vec<Gap>) -> Extremes {
    // The sum is finite only where every value is; most files need no more than this quick pass.
    let whole = extremes(channel);
    if whole.2.is_finite() {
        return whole;
    }
    // A number too large for a sample is no force.
    channel.iter_mut().filter(|x| x.is_infinite()).for_each(|x| *x = f32::NAN);
    let n = channel.len();
    let mut i = 0;
    while i < n {
        if channel.get(i).is_none_or(|x| !x.is_nan()) {
            i += 1;
            continue;
        }
        let start = i;
        while channel.get(i).is_some_and(|x| x.is_nan()) {
            i += 1;
        }
        let before = start.checked_sub(1).and_then(|k| channel.get(k)).copied();
        let after = channel.get(i).copied();
        let (a, b) = (before.or(after).unwrap_or(0.0), after.or(before).unwrap_or(0.0));
        let steps = (i - start + 1) as f64;
        for (k, x) in channel.iter_mut().skip(start).take(i - start).enumerate() {
            *x = (f64::from(a) + (f64::from(b) - f64::from(a)) * (k + 1) as f64 / steps) as f32;
        }
        gaps.push(Gap { start, len: i - start });
    }
    extremes(channel)
}

/// Smallest, largest, sum of a channel's values.
type Extremes = (f32, f32, f64);

/// One pass, many values at a time.
fn extremes(force_n: &[f32]) -> Extremes {
    const LANES: usize = 16;
    let (mut low, mut high, mut sum) = ([f32::INFINITY; LANES], [f32::NEG_INFINITY; LANES], [0.0f64; LANES]);
    let (blocks, rest) = force_n.as_chunks::<LANES>();
    let mut take = |block: &[f32]| {
        for (((x, l), h), s) in block.iter().zip(&mut low).zip(&mut high).zip(&mut sum) {
            *l = if *x < *l { *x } else { *l };
            *h = if *x > *h { *x } else { *h };
            *s += f64::from(*x);
        }
    };
    blocks.iter().for_each(|b| take(b));
    take(rest);
    (low.iter().copied().fold(f32::INFINITY, f32::min), high.iter().copied().fold(f32::NEG_INFINITY, f32::max), sum.iter().sum())
}

/// Turns a channel round that reads negative under load; returns the sign and the largest value.
fn upward(force_n: &mut [f32], (low, high, sum): Extremes, stated: Option<f64>) -> (f64, f32) {
    if stated.map_or(sum < 0.0 && low < -50.0 && -low > 2.0 * high, |sign| sign < 0.0) {
        force_n.iter_mut().for_each(|x| *x = -*x);
        return (-1.0, -low);
    }
    (1.0, high)
}

/// 10⁻ⁿ, rounded once; the same on both targets.
fn ten_to_minus(decimals: u32) -> f64 {
    1.0 / (0..decimals.min(18)).fold(1.0, |power, _| power * 10.0)
}
