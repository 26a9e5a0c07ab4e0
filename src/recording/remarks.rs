//! What is said of a recording that is not quite as it should be, and why some are refused: functions of their own, none of
//! them part of [`super::finish`] once compiled, so that a first visit can do without them (`site/rooms`).
use super::columns::Sink;
use super::look::Look;
use super::rows::Rows;
use super::{Channel, Clock, Gap, Notice, ReadError, Role};

/// Gaps told one by one before they are only counted.
const TOLD_GAPS: usize = 20;
/// Samples that show roughly what stands on the plates.
const LOOKED_AT: usize = 4000;

#[inline(never)]
pub(super) fn several(count: usize, left_out: usize) -> Notice {
    let mut message = format!("The file holds {count} recordings one behind another; each was read for itself.");
    if left_out > 0 {
        message.push_str(&format!(" {left_out} of them could not be read."));
    }
    Notice::new("several_recordings", message)
}

/// Why rows that were read are no recording; `valueless` is a channel without any value.
#[inline(never)]
pub(super) fn no_recording(rows: &Rows, read: usize, look: &Look, valueless: Option<&Sink>) -> ReadError {
    if let Some((line, cells)) = rows.first_ragged.filter(|_| rows.ragged > (read as u64 / 10).max(5)) {
        return ReadError::new("ragged", "Too many rows have too few cells.", "Export again with every column in every row.")
            .row(line)
            .column(cells + 1)
            .found(&format!("{cells} cells"))
            .expected(format!("{} cells", rows.plan.wanted.len()));
    }
    if read < 10 {
        return ReadError::new("too_short", "There are fewer than ten rows of numbers.", "Export the whole recording, one row a sample.")
            .row(look.first_row)
            .found(&format!("{read} rows"))
            .expected("at least ten rows of numbers");
    }
    ReadError::new("no_values", "A force column holds no value at all.", "Export again, or state which columns hold force.")
        .row(look.first_row)
        .column(valueless.and_then(|sink| sink.columns.first()).map_or(1, |(k, _)| *k as u64 + 1))
        .found("cells without a value")
        .expected("numbers")
}

/// A rate that no plate has: of the stamps, or as stated (then no row of numbers is to blame).
#[inline(never)]
pub(super) fn no_rate_of_a_plate(clock: &Clock, look: &Look) -> ReadError {
    let low = clock.rate_hz < 10.0;
    let (code, message) = if low {
        ("rate_too_low", "Fewer than ten samples a second are no force recording.")
    } else {
        ("rate_too_high", "No force plate samples that fast.")
    };
    let stated = clock.source.starts_with("stated");
    let advice = match (stated, low) {
        (true, _) => "State the rate in hertz as set on the plate, for example 1000.",
        (_, true) => "Export the recording at its full sampling rate; if time is in milliseconds, state time:ms.",
        (_, false) => "State the unit of time, for example time:s.",
    };
    let found = if low { format!("{:.3} Hz", clock.rate_hz) } else { format!("{} Hz", shown(clock.rate_hz)) };
    let mut error = ReadError::new(code, message, advice).found(&found).expected(if low { "at least 10 Hz" } else { "at most 200000 Hz" });
    error.row = if !stated {
        Some(look.first_row)
    } else if clock.source.ends_with("file") {
        look.stated_rate_row
    } else {
        None
    };
    error
}

/// A rate to be read: no thirty digits.
fn shown(rate_hz: f64) -> String {
    if rate_hz < 1e9 { format!("{rate_hz:.0}") } else { "more than 1000000000".into() }
}

/// Tells of rows that were left out or filled.
#[inline(never)]
pub(super) fn tell_rows(rows: &Rows, cut: Option<u64>, notices: &mut Vec<Notice>) {
    if let Some(stop) = &rows.stop {
        notices.push(Notice::new("footer", format!("The table ends at line {}; what follows is text and was left out.", stop.row)));
    }
    if rows.repeats > 0 && rows.parts.is_empty() {
        let mut message = format!("The header comes again {} times and was left out.", rows.repeats);
        let untimed = rows.plan.time.is_none();
        if untimed {
            message =
                format!("Is this one recording? {message} Without a time column the rows around it were taken to follow one another.");
        }
        notices.push(Notice::new(if untimed { "joined_guessed" } else { "header_repeated" }, message));
    }
    if let Some(line) = cut {
        notices.push(
            Notice::new("cut_row", format!("The file ends in the midst of line {line}; that row was left out."))
                .next_time("Let the export finish before the file is copied."),
        );
    }
    if rows.ragged > 0 {
        notices.push(Notice::new(
            "ragged_rows",
            format!("{} rows have too few cells; what was missing was filled with a straight line.", rows.ragged),
        ));
    }
}

/// Nearly every row stands twice: the rate that the rows give is not the plate's.
#[inline(never)]
pub(super) fn rows_doubled(rows: usize, rate_hz: f64) -> Notice {
    let message = format!(
        "{rows} rows repeat time and force of the row above: if the export doubled each, the plate ran at half of {rate_hz:.0} Hz."
    );
    Notice::new("rows_doubled", message).next_time("Export each sample once, at the rate the plate was set to.")
}

/// Leaves out rows that say again what the row before said.
#[inline(never)]
pub(super) fn drop_rows(channels: &mut [Vec<f32>], drop: &[u32]) {
    for channel in channels {
        let mut skip = drop.iter().peekable();
        let mut row = 0usize;
        channel.retain(|_| {
            let gone = skip.next_if(|r| **r as usize == row).is_some();
            row += 1;
            !gone
        });
    }
}

/// Makes room for `total` samples that are missing.
#[inline(never)]
pub(super) fn open_gaps(channels: &mut [Vec<f32>], gaps: &[Gap], total: usize) {
    for channel in channels.iter_mut() {
        let mut filled = Vec::with_capacity(channel.len() + total);
        let mut from = 0;
        for gap in gaps {
            filled.extend_from_slice(channel.get(from..gap.start).unwrap_or_default());
            filled.extend(std::iter::repeat_n(f32::NAN, gap.len));
            from = gap.start;
        }
        filled.extend_from_slice(channel.get(from..).unwrap_or_default());
        *channel = filled;
    }
}

/// Gaps of all channels, in order and joined where they touch; tells of them.
#[inline(never)]
pub(super) fn told_gaps(mut gaps: Vec<Gap>, rate_hz: f64, notices: &mut Vec<Notice>) -> Vec<Gap> {
    gaps.sort_by_key(|g| (g.start, g.len));
    let mut merged: Vec<Gap> = Vec::new();
    for gap in gaps {
        match merged.last_mut() {
            Some(last) if gap.start <= last.start + last.len => last.len = last.len.max(gap.start + gap.len - last.start),
            _ => merged.push(gap),
        }
    }
    let missing: usize = merged.iter().map(|gap| gap.len).sum();
    let long: Vec<&Gap> = merged.iter().filter(|g| g.len > 2).collect();
    for gap in long.iter().take(TOLD_GAPS) {
        let length_ms = 1000.0 * gap.len as f64 / rate_hz;
        notices.push(
            Notice::new("gap", format!("{} samples ({length_ms:.0} ms) are missing and were filled with a straight line.", gap.len))
                .at(gap.start as f64 / rate_hz)
                .next_time("Use the cable, or close other programs while recording."),
        );
    }
    if missing > 0 && (long.len() > TOLD_GAPS || long.is_empty()) {
        notices.push(Notice::new(
            "gaps",
            format!("{missing} samples in {} places are missing and were filled with straight lines.", merged.len()),
        ));
    }
    merged
}

/// What those on the plates weigh, roughly, N, where that is no person: the mean of what is more than a seventh of the largest
/// force, if that lasts. (Sorting for a median would be the one long sort of a first visit.)
#[inline(never)]
pub(super) fn odd_weight(channels: &[Channel], peak: f64) -> Option<f64> {
    let n = channels.first().map_or(0, |c| c.force_n.len());
    let all = channels.iter().any(|c| c.report.role == Role::Total);
    let (mut looked, mut loaded, mut sum) = (0, 0, 0.0);
    for i in (0..n).step_by(n / LOOKED_AT + 1) {
        let mut total = 0.0;
        for c in channels.iter().filter(|c| !all || c.report.role == Role::Total) {
            total += f64::from(c.force_n.get(i).copied().unwrap_or(0.0));
        }
        looked += 1;
        if total * 7.0 > peak {
            loaded += 1;
            sum += total;
        }
    }
    let weight = sum / f64::from(loaded.max(1));
    (loaded * 20 > looked && ((15.0..200.0).contains(&weight) || weight > 10_000.0)).then_some(weight)
}

/// The question about it (methods §1.3: never silently scaled).
#[inline(never)]
pub(super) fn weight_unclear(weight_n: f64, stated: bool) -> Notice {
    let guess = if weight_n < 200.0 { "Kilograms or pounds, perhaps?" } else { "Millinewtons, perhaps?" };
    let by = if stated { "By the stated unit" } else { "No unit is stated; as newtons" };
    Notice::new("unit_unclear", format!("Which unit is this? {by} about {weight_n:.0} N stand on the plates: no person does. {guess}"))
        .next_time("Confirm the columns once with the right unit (kgf, lbf, kN), or export with it in the header.")
}

/// Which unit is it? `stated`: the file says newtons or kilonewtons.
#[inline(never)]
pub(super) fn unit_unclear(peak: f32, stated: bool) -> Notice {
    let (message, advice) = if stated {
        (
            format!("Are these kilonewtons? By the stated unit the largest force is {peak:.1} N: nobody weighs so little."),
            "Confirm the columns once with the right unit.",
        )
    } else {
        (
            format!("Which unit is this? The largest force is {peak:.1} and no unit is stated: newtons were assumed."),
            "Export with the unit in the header, or confirm the columns once.",
        )
    };
    Notice::new("unit_unclear", message).next_time(advice)
}
