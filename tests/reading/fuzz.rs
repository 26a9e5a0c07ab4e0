//! Files damaged at random, for as long as `TARSAL_FUZZ_S` says (10 s without it; CI gives it a minute): never a panic, never more
//! memory or time than the bytes are worth, always the same by any way. A finding is written to `target/fuzz` and goes into
//! `tests/hostile` with what it gives now in its name.
use super::corpus::draw::layout;
use super::truth::{Random, check_same_by_any_way, read};
use std::time::{Duration, Instant};
use tarsal::recording::{ReadOptions, explain};

/// What is put into files, beside random bytes and parts of other files.
const PIECES: &[&[u8]] = &[
    b",",
    b";",
    b"\n",
    b"\r",
    b"\r\n",
    b"\"",
    b"\"\"",
    b"\t",
    b" ",
    b"|",
    b"-",
    b"+",
    b".",
    b":",
    b"e9",
    b"NaN",
    b"1e308",
    b"-0",
    b"0x1F",
    b"\0",
    b"\x02",
    b"\xFF",
    b"\xFE",
    b"\xEF\xBB\xBF",
    b"\xA0",
    b"\xE2\x80\xAF",
    b"\x1A",
    b"99999999999999999999999999",
    b"0.0000000000000000000000000001",
    b"1.234",
    b"1,234",
    b"1.234,5",
    b"10:00:00.5",
    b"2024-05-01T10:00:00Z",
    b"time",
    b"left",
    b"Rate: 1000 Hz\n",
    b"(N)",
    b"[ms]",
    b"#",
    b"=",
    b"\"a\nb\"",
    b"\n\n\n",
    b"time,left,right\n",
    b"&#0;",
    b"<row r=\"99999999\">",
    b"<v>1</v>",
    b"number-columns-repeated=\"999999999\"",
    b"PK\x03\x04",
    b"PK\x05\x06",
];

fn damage(bytes: &mut Vec<u8>, other: &[u8], random: &mut Random) {
    for _ in 0..=random.below(6) {
        let at = random.below(bytes.len() + 1);
        match random.below(8) {
            0 if at < bytes.len() => bytes[at] = random.next() as u8,
            1 if random.below(4) == 0 => bytes.truncate(at),
            2 => drop(bytes.splice(at..at, PIECES[random.below(PIECES.len())].iter().copied())),
            3 => {
                let end = (at + random.below(40)).min(bytes.len());
                bytes.drain(at..end);
            }
            4 => {
                let end = (at + random.below(400)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = random.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            5 => {
                let from = random.below(other.len() + 1);
                let end = (from + random.below(300)).min(other.len());
                bytes.splice(at..at, other[from..end].iter().copied());
            }
            6 if at < bytes.len() => bytes[at] ^= 1 << random.below(8),
            _ => {
                let end = (at + random.below(30)).min(bytes.len());
                bytes[at..end].reverse();
            }
        }
    }
}

/// Files to begin with: the first rows of drawn layouts, the hostile ones, and the spreadsheets and motion-capture files.
fn seeds() -> Vec<Vec<u8>> {
    let mut seeds: Vec<Vec<u8>> = (0..80)
        .map(|seed| {
            let (mut bytes, _) = layout(seed).print();
            bytes.truncate(3000);
            bytes
        })
        .collect();
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    for folder in ["hostile", "reading/files"] {
        let mut files: Vec<_> =
            std::fs::read_dir(root.join(folder)).expect("the folder is there").map(|e| e.expect("readable").path()).collect();
        files.sort();
        seeds.extend(files.iter().map(|path| std::fs::read(path).expect("readable")).filter(|b| b.len() < 60_000));
    }
    seeds
}

#[test]
fn files_damaged_at_random_never_break_the_reader() {
    let seconds: u64 = std::env::var("TARSAL_FUZZ_S").ok().and_then(|s| s.parse().ok()).unwrap_or(10);
    let seeds = seeds();
    // Another stretch of the sequence by another seed; a short run is always the same.
    let seed: u64 = std::env::var("TARSAL_FUZZ_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(1);
    let mut random = Random(0x00F0_227E_57ED ^ seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let end = Instant::now() + Duration::from_secs(seconds);
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("fuzz");
    std::fs::create_dir_all(&folder).expect("a folder for findings");
    let (mut files, mut readable) = (0u64, 0u64);
    while Instant::now() < end {
        let mut bytes = seeds[random.below(seeds.len())].clone();
        let other = &seeds[random.below(seeds.len())];
        damage(&mut bytes, other, &mut random);
        let options = ReadOptions {
            rate_hz: (random.below(3) == 0).then_some(1000.0),
            columns: (random.below(12) == 0)
                .then(|| ["time,left,right", "-,left:-N,right", "left,-,total:kN", "time:ms,left:N"][random.below(4)].to_string()),
            decimal: (random.below(12) == 0).then(|| if random.below(2) == 0 { '.' } else { ',' }),
            known: Vec::new(),
        };
        // Where it stops, the file is already there.
        let path = folder.join("last.bin");
        std::fs::write(&path, &bytes).expect("room for one file");
        let begin = Instant::now();
        if let Ok(r) = read(&bytes, &options) {
            readable += 1;
            // Filled gaps are bounded by the rows that were read; a spreadsheet unpacks to at most what deflate can hold.
            assert!(r.len() <= 1100 * bytes.len() + 10_000, "{} samples of {} bytes", r.len(), bytes.len());
            assert!(r.channels.iter().all(|c| c.force_n.len() == r.len() && c.force_n.iter().all(|x| x.is_finite())));
            assert!(r.clock.rate_hz >= 10.0 && r.clock.rate_hz.is_finite());
        }
        let took = begin.elapsed();
        assert!(took < Duration::from_secs(5), "{took:?} for {} bytes: {}", bytes.len(), path.display());
        if let Ok(explained) = explain(&bytes, true, &options) {
            assert!(explained.columns.len() <= 256, "{} columns are explained", explained.columns.len());
        }
        check_same_by_any_way("damaged", &bytes, &options, &[1 + random.below(bytes.len() + 1)]);
        files += 1;
    }
    println!("{files} damaged files in {seconds} s, {readable} readable, no finding");
    assert!(readable > 0);
}
