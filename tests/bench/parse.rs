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

/// The same table in another dress: every cell in quotes.
fn quoted(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes);
    text.lines().map(|l| format!("\"{}\"\n", l.replace(',', "\",\""))).collect::<String>().into_bytes()
}

/// A workbook with that table: as spreadsheets write it, deflated.
fn workbook(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes);
    let mut sheet = String::from("<worksheet><sheetData>");
    for (i, line) in text.lines().enumerate() {
        let _ = write!(sheet, "<row r=\"{}\">", i + 1);
        for (k, cell) in line.split(',').enumerate() {
            let reference = format!("{}{}", (b'A' + k as u8) as char, i + 1);
            if i == 0 {
                let _ = write!(sheet, "<c r=\"{reference}\" t=\"inlineStr\"><is><t>{cell}</t></is></c>");
            } else {
                let _ = write!(sheet, "<c r=\"{reference}\"><v>{cell}</v></c>");
            }
        }
        sheet.push_str("</row>");
    }
    sheet.push_str("</sheetData></worksheet>");
    let files = [("xl/workbook.xml", "<workbook/>".to_string()), ("xl/worksheets/sheet1.xml", sheet)];
    let (mut out, mut directory) = (Vec::new(), Vec::new());
    for (name, text) in &files {
        let packed = miniz_oxide::deflate::compress_to_vec(text.as_bytes(), 6);
        let at = out.len() as u32;
        let head = |extra: &[u8]| {
            let mut h = vec![20, 0, 0, 0, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0];
            h.extend((packed.len() as u32).to_le_bytes());
            h.extend((text.len() as u32).to_le_bytes());
            h.extend((name.len() as u16).to_le_bytes());
            h.extend(extra);
            h
        };
        out.extend(b"PK\x03\x04");
        out.extend(head(&[0, 0]));
        out.extend(name.as_bytes());
        out.extend(&packed);
        directory.extend(b"PK\x01\x02\x14\0");
        directory.extend(head(&[0; 12]));
        directory.extend(at.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let (at, length) = (out.len() as u32, directory.len() as u32);
    out.extend(directory);
    out.extend(b"PK\x05\x06\0\0\0\0\x02\0\x02\0");
    out.extend(length.to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0, 0]);
    out
}

/// A C3D file of floats: two plates of six channels, 20 markers, 1000 samples a second for as many seconds.
fn capture(seconds: usize) -> Vec<u8> {
    let (mut parameters, labels) = (vec![1, 0x50, 4, 84], 12u8);
    let mut group = |id: i8, name: &str, list: &[(&str, i8, &[u8], Vec<u8>)]| {
        parameters.extend([name.len() as u8, (-id) as u8]);
        parameters.extend(name.as_bytes());
        parameters.extend([3, 0, 0]);
        for (name, kind, dimensions, data) in list {
            parameters.extend([name.len() as u8, id as u8]);
            parameters.extend(name.as_bytes());
            parameters.extend(((5 + dimensions.len() + data.len()) as u16).to_le_bytes());
            parameters.extend([*kind as u8, dimensions.len() as u8]);
            parameters.extend(*dimensions);
            parameters.extend(data);
            parameters.push(0);
        }
    };
    let float = |x: f32| x.to_le_bytes().to_vec();
    let word = |x: u16| x.to_le_bytes().to_vec();
    group(1, "POINT", &[("SCALE", 4, &[], float(-1.0)), ("RATE", 4, &[], float(200.0)), ("DATA_START", 2, &[], word(6))]);
    group(2, "ANALOG", &[("RATE", 4, &[], float(1000.0)), ("UNITS", -1, &[1, labels], b"N".repeat(12))]);
    let channels: Vec<u8> = (1..=12u16).flat_map(u16::to_le_bytes).collect();
    group(3, "FORCE_PLATFORM", &[("USED", 2, &[], word(2)), ("TYPE", 2, &[2], [2, 0, 2, 0].to_vec()), ("CHANNEL", 2, &[6, 2], channels)]);
    parameters.resize(2048, 0);
    let frames = seconds * 200;
    let mut out = vec![2, 0x50];
    for x in [20, 60, 1, frames.min(65_535) as u16, 10] {
        out.extend(word(x));
    }
    out.extend(float(-1.0));
    out.extend([word(6), word(5), float(200.0)].concat());
    out.resize(512, 0);
    out.extend(parameters);
    for i in 0..frames {
        out.extend((0..80).flat_map(|k| (k as f32 + i as f32).to_le_bytes()));
        out.extend((0..60).flat_map(|k| (if k % 6 == 2 { -350.0 - (i % 90) as f32 } else { 0.5 }).to_le_bytes()));
    }
    out
}

/// Best of three of each, in turns, so that a busy machine slows both.
fn row(name: &str, bytes: &[u8], compare: &[u8]) {
    let (mut reader_s, mut raw_s) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..5 {
        let (seconds, samples) = timed(|| reader(bytes));
        reader_s = reader_s.min(seconds);
        if !compare.is_empty() {
            let (seconds, records) = timed(|| raw(compare));
            raw_s = raw_s.min(seconds);
            assert_eq!(samples, records, "both read every row");
        }
    }
    let size = bytes.len() as f64 / 1e6;
    print!("{name:18} {size:7.1} {:14.0}", size / reader_s);
    if compare.is_empty() {
        println!();
    } else {
        println!(" {:19.0} {:7.2}", compare.len() as f64 / 1e6 / raw_s, raw_s / reader_s);
    }
}

fn main() {
    let sizes: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    println!("file                    MB    reader MB/s   raw csv pass MB/s   ratio");
    for (k, (columns, megabytes)) in [(3, 100), (9, 30), (13, 30)].into_iter().enumerate() {
        let bytes = table(columns, sizes.get(k).copied().unwrap_or(megabytes));
        row(&format!("{columns} columns"), &bytes, &bytes);
    }
    let bytes = quoted(&table(3, 30));
    row("3 columns, quoted", &bytes, &bytes);
    let plain = table(3, 5);
    row("xlsx, 3 columns", &workbook(&plain), &plain);
    row("C3D, two plates", &capture(300), &[]);
}
