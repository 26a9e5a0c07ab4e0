//! How fast the reader is, beside the csv crate's raw pass (cells found, no number read) over the same bytes in the same run.
//! `cargo bench --bench parse`; best of three each. Sizes in MB may be given: `cargo bench --bench parse -- 100 30 30`.
use std::fmt::Write as _;
use std::time::Instant;
use tarsal::recording::{ReadOptions, Reader};

/// An invented table of about `megabytes`, left and right in the second and last column.
fn table(columns: usize, megabytes: usize) -> Vec<u8> {
    let bytes = megabytes * 1_000_000;
    let mut text = String::with_capacity(bytes + 4096);
    text.push_str("time_s,left_N");
    for k in 3..columns {
        let _ = write!(text, ",moment {k} (Nm)");
    }
    text.push_str(",right_N\n");
    let mut seed = 0x2545_F491_4F6C_DD1Du64;
    let mut row = 0u64;
    while text.len() < bytes {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        let _ = write!(text, "{}.{:03},{}.{:03}", row / 1000, row % 1000, 300 + seed % 400, seed % 1000);
        for k in 3..columns {
            let _ = write!(text, ",{}.{:03}", (seed >> k) % 200, (seed >> (k + 3)) % 1000);
        }
        let _ = writeln!(text, ",{}.{:03}", 300 + (seed >> 20) % 400, (seed >> 30) % 1000);
        row += 1;
    }
    text.into_bytes()
}

/// Seconds of one run and what it returned.
fn timed(run: impl FnOnce() -> usize) -> (f64, usize) {
    let start = Instant::now();
    let rows = run();
    (start.elapsed().as_secs_f64(), rows)
}

/// Reads the whole table in pieces, as the page does.
fn reader(bytes: &[u8]) -> usize {
    let mut reader = Reader::new(&ReadOptions::default());
    for piece in bytes.chunks(256 * 1024) {
        reader.feed(piece).expect("an invented table reads");
    }
    reader.finish().expect("an invented table reads").len()
}

/// Finds the cells of the whole table and reads none.
fn raw(bytes: &[u8]) -> usize {
    let mut reader = csv::ReaderBuilder::new().from_reader(bytes);
    let mut record = csv::ByteRecord::new();
    let mut rows = 0;
    while reader.read_byte_record(&mut record).expect("an invented table is CSV") {
        rows += 1;
    }
    rows
}

fn main() {
    let sizes: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    println!("columns      MB    reader MB/s   raw csv pass MB/s   ratio");
    for (k, (columns, megabytes)) in [(3, 100), (9, 30), (13, 30)].into_iter().enumerate() {
        let bytes = table(columns, sizes.get(k).copied().unwrap_or(megabytes));
        let (mut reader_s, mut raw_s) = (f64::INFINITY, f64::INFINITY);
        // In turns, so that a busy machine slows both.
        for _ in 0..3 {
            let (seconds, samples) = timed(|| reader(&bytes));
            reader_s = reader_s.min(seconds);
            let (seconds, records) = timed(|| raw(&bytes));
            raw_s = raw_s.min(seconds);
            assert_eq!(samples, records, "both read every row");
        }
        let size = bytes.len() as f64 / 1e6;
        println!("{columns:7} {size:7.1} {:14.0} {:19.0} {:7.2}", size / reader_s, size / raw_s, raw_s / reader_s);
    }
}
