//! Bad files: each is refused in words that help, or gives a recording without an invented jump.
use super::super::truth::{Code, PLAIN, Print, Random, check_same_by_any_way, truth};
use tarsal::answer::{Options, TestKind, Verdict, analyze};
use tarsal::invented::Jump;
use tarsal::recording::ReadOptions;

/// What must become of a file.
#[derive(Clone, Copy)]
enum Must {
    /// Refused, with one of these codes.
    Refuse(&'static [&'static str]),
    /// Read or refused, but no trial in it.
    NoJump,
    /// Read or refused, but no trial of it sound.
    NotSound,
}
use Must::{NoJump, NotSound, Refuse};

struct Bad {
    name: String,
    bytes: Vec<u8>,
    must: Must,
    options: Options,
}

struct List(Vec<Bad>);

impl List {
    fn add(&mut self, name: impl Into<String>, bytes: impl AsRef<[u8]>, must: Must) {
        self.0.push(Bad { name: name.into(), bytes: bytes.as_ref().to_vec(), must, options: Options::default() });
    }
    fn with(&mut self, name: &str, bytes: impl AsRef<[u8]>, must: Must, options: Options) {
        self.0.push(Bad { name: name.into(), bytes: bytes.as_ref().to_vec(), must, options });
    }
}

const HEADER: &str = "time (s),left (N),right (N)\n";

/// A table at 1000 Hz of whatever the function prints behind the time.
fn table(header: &str, n: usize, row: impl Fn(usize) -> String) -> String {
    let rows: String = (0..n).map(|i| format!("{:.3},{}\n", i as f64 / 1000.0, row(i))).collect();
    format!("{header}{rows}")
}

fn both(n: usize, force: impl Fn(usize) -> f64) -> String {
    table(HEADER, n, |i| format!("{:.2},{:.2}", 0.5 * force(i), 0.5 * force(i)))
}

fn kinds(list: &mut List) {
    let mut noise = Random(4711);
    let mut random = |n: usize| -> Vec<u8> { (0..n).map(|_| noise.next() as u8).collect() };
    let mut kind =
        |name: &str, magic: &[u8], codes: &'static [&'static str]| list.add(name, [magic, &random(3000)].concat(), Refuse(codes));
    kind("PDF", b"%PDF-1.7\n", &["pdf"]);
    kind("PNG", b"\x89PNG\r\n\x1A\n", &["image"]);
    kind("JPEG", b"\xFF\xD8\xFF\xE0\0\x10JFIF\0", &["image"]);
    kind("GIF", b"GIF89a\0\0", &["image"]);
    kind("BMP", b"BM\x36\0\0\0\0\0\0\0", &["image"]);
    kind("TIFF", b"II*\0\x08\0\0\0", &["image"]);
    kind("big-endian TIFF", b"MM\0*\0\0\0\x08", &["image"]);
    kind("gzip", b"\x1F\x8B\x08\0\0\0\0\0", &["zip"]);
    kind("bzip2", b"BZh91AY&SY\0", &["zip"]);
    kind("xz", b"\xFD7zXZ\0\0", &["zip"]);
    kind("zstd", b"\x28\xB5\x2F\xFD\0", &["zip"]);
    kind("7z", b"7z\xBC\xAF\x27\x1C", &["zip"]);
    kind("rar", b"Rar!\x1A\x07\0", &["zip"]);
    kind("zip, damaged", b"PK\x03\x04\x14\0\0\0\x08\0", &["zip"]);
    kind("old office", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", &["binary"]);
    kind("HDF5", b"\x89HDF\r\n\x1A\n", &["binary"]);
    kind("MATLAB", b"MATLAB 5.0 MAT-file, Platform: GLNXA64\0\0", &["binary"]);
    kind("program", b"\x7FELF\x02\x01\x01\0", &["binary"]);
    kind("sound", b"RIFF\x24\x08\0\0WAVEfmt ", &["binary"]);
    kind("database", b"SQLite format 3\0", &["binary"]);
    kind("C3D, damaged", b"\x02\x50\x01\0\x10\0", &["damaged_c3d", "no_force_column"]);
    for seed in 0..5 {
        let mut random = Random(seed * 7919 + 3);
        let bytes: Vec<u8> = (0..5000).map(|_| random.next() as u8).collect();
        list.add(
            format!("noise {seed}"),
            bytes,
            Refuse(&["binary", "no_numbers", "header_only", "empty", "line_too_long", "too_short", "damaged_c3d"]),
        );
    }
    list.add("zip of text", b"PK\x03\x04\x0A\0\0\0\0\0\0\0\0\0\0\0\0\0\x01\0\0\0\x01\0\0\0\x01\0\0\0aaPK\x01\x02\x0A\0\x0A\0\0\0\0\0\0\0\0\0\0\0\0\0\x01\0\0\0\x01\0\0\0\x01\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0aPK\x05\x06\0\0\0\0\x01\0\x01\0\x2F\0\0\0\x20\0\0\0\0\0", Refuse(&["zip"]));
}

fn texts(list: &mut List) {
    let no_table: &[&str] = &["no_numbers", "header_only"];
    list.add("web page", "<!DOCTYPE html><html><body>Log in</body></html>", Refuse(&["html"]));
    list.add("web page in capitals", "<HTML><HEAD></HEAD><BODY>1,2,3</BODY></HTML>", Refuse(&["html"]));
    list.add("table of a web page", "<table><tr><td>0.001</td><td>700</td></tr></table>", Refuse(&["html"]));
    list.add("web page after a comment", "<!-- saved --><html><body>1</body></html>", Refuse(&["html", "xml"]));
    list.add("XML", "<?xml version=\"1.0\"?><trial><f>1</f></trial>", Refuse(&["xml"]));
    list.add("drawing", "<svg xmlns=\"x\"><path d=\"M0 0 L1 1\"/></svg>", Refuse(&["xml"]));
    list.add("JSON", "{\"force\": [1, 2, 3]}", Refuse(&["json"]));
    list.add("JSON list", "[[0.001, 700], [0.002, 701]]", Refuse(&["json"]));
    list.add("JSON lines", (0..50).map(|i| format!("{{\"t\": {i}, \"f\": 700}}\n")).collect::<String>(), Refuse(&["json"]));
    list.add("JSON of texts", "[\"a\", \"b\"]", Refuse(&["json"]));
    list.add("formatted text", "{\\rtf1\\ansi Hello 1 2 3}", Refuse(&["rtf"]));
    let log: String =
        (0..80).map(|i| format!("2024-05-01 10:00:{:02}.{i:03} INFO worker-{} started job {i} in 5 ms\n", i % 60, i % 4)).collect();
    list.add("log", log, Refuse(&["no_numbers", "header_only", "no_force_column", "too_short", "no_rate"]));
    list.add(
        "log with levels",
        (0..80).map(|i| format!("[{i}.{i:06}] usb 1-{i}: new device\n")).collect::<String>(),
        Refuse(&["no_numbers", "header_only", "no_force_column", "json", "too_short"]),
    );
    list.add("letter", "Dear coach,\n\nhere are the results. The plates were wet.\n\nYours\n", Refuse(no_table));
    list.add("German letter", "Liebe Trainerin,\nim Anhang die Kräfte von gestern.\n", Refuse(no_table));
    list.add("Japanese letter", "昨日の測定結果をお送りします。\n床反力のデータは別の紙にあります。\n", Refuse(no_table));
    list.add("program text", "fn main() {\n    let x = 1;\n    println!(\"{x}\");\n}\n", Refuse(&["no_numbers", "header_only"]));
    list.add("marked-up text", "# Title\n\n- one\n- two\n\n| a | b |\n|---|---|\n| x | y |\n", Refuse(no_table));
    list.add("settings", "[plate]\nrate=1000\nname=left\n[other]\nzero=true\n", Refuse(&["no_numbers", "header_only", "too_short"]));
    list.add(
        "another kind of settings",
        "plate:\n  rate: 1000\n  sides:\n    - left\n    - right\n",
        Refuse(&["no_numbers", "header_only", "too_short"]),
    );
    list.add(
        "database text",
        "INSERT INTO force VALUES (1, 2, 3);\nINSERT INTO force VALUES (2, 3, 4);\n",
        Refuse(&["no_numbers", "header_only", "too_short", "no_force_column"]),
    );
    list.add(
        "calendar",
        "BEGIN:VCALENDAR\nVERSION:2.0\nDTSTART:20240501T100000Z\nEND:VCALENDAR\n",
        Refuse(&["no_numbers", "header_only", "too_short"]),
    );
    list.add("names alone", (0..60).map(|i| format!("athlete {i},team,invented\n")).collect::<String>(), Refuse(no_table));
    list.add(
        "summary of heights",
        "Athlete,Height (cm),Power (W),Mass (kg)\nA,31.2,3100,70\nB,33.0,3300,72\nC,29.1,2900,69\nD,40,4000,80\n",
        Refuse(&["no_force_column", "too_short", "no_rate", "no_numbers", "header_only"]),
    );
}

fn emptiness(list: &mut List) {
    list.add("nothing", "", Refuse(&["empty"]));
    for (name, bytes) in [
        ("mark alone", &b"\xEF\xBB\xBF"[..]),
        ("UTF-16 mark alone", b"\xFF\xFE"),
        ("big-endian mark alone", b"\xFE\xFF"),
        ("blanks", b"   \t  \n \n"),
    ] {
        list.add(name, bytes, Refuse(&["empty"]));
    }
    list.add("a million empty lines", "\n".repeat(1_000_000), Refuse(&["empty", "no_numbers"]));
    list.add("a million empty lines, then words", "\n".repeat(1_000_000) + "end\n", Refuse(&["empty", "no_numbers", "header_only"]));
    list.add("delimiters alone", ",,,,\n".repeat(500), Refuse(&["no_numbers", "header_only", "empty"]));
    list.add("zeros of a broken disk", vec![0u8; 4096], Refuse(&["binary", "empty"]));
    list.add("one number", "7", Refuse(&["too_short", "no_numbers", "no_rate"]));
    for header in [
        "time,left,right\n",
        "Zeit;Links;Rechts\ns;N;N\n",
        "Temps\tForce gauche\tForce droite\n",
        "時間,左 (N),右 (N)\n",
        "\"time\",\"force\"\n",
    ] {
        list.add(format!("header alone: {}", header.trim()), header, Refuse(&["header_only"]));
    }
    list.add("UTF-16 header alone", Print { code: Code::Utf16Le, ..PLAIN }.bytes(&truth(0.0)), Refuse(&["header_only"]));
}

fn tables(list: &mut List) {
    list.add("every cell NaN", table(HEADER, 300, |_| "NaN,NaN".into()), Refuse(&["no_values", "no_force_column"]));
    list.add("every cell empty", table(HEADER, 300, |_| ",".into()), Refuse(&["no_values", "no_force_column"]));
    list.add("one plate NaN", table(HEADER, 300, |_| "350.1,NaN".into()), Refuse(&["no_values"]));
    list.add("all zero", both(3000, |_| 0.0), NoJump);
    list.add("all the same", both(3000, |_| 700.0), NoJump);
    list.add(
        "text for numbers",
        table(HEADER, 300, |_| "high,low".into()),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column"]),
    );
    list.add(
        "a word in the midst",
        table(HEADER, 300, |i| if i == 150 { "over,350".into() } else { "350.1,349.9".into() }),
        Refuse(&["bad_number"]),
    );
    list.add(
        "a line of words in the midst",
        table(HEADER, 300, |_| "350.1,349.9".into()).replacen("0.150,350.1,349.9", "pause", 1),
        Refuse(&["text_in_data"]),
    );
    list.add(
        "every third row short",
        table(HEADER, 300, |i| if i % 3 == 2 { "350.1".into() } else { "350.1,349.9".into() }),
        Refuse(&["ragged", "bad_number", "text_in_data"]),
    );
    list.add(
        "every second row short",
        table(HEADER, 300, |i| if i % 2 == 1 { "350.1".into() } else { "350.1,349.9".into() }),
        Refuse(&["ragged"]),
    );
    list.add("two rows", table(HEADER, 2, |_| "350.1,349.9".into()), Refuse(&["too_short"]));
    list.add("nine rows", table(HEADER, 9, |_| "350.1,349.9".into()), Refuse(&["too_short"]));
    list.add(
        "hexadecimal",
        table(HEADER, 300, |i| format!("0x{i:04X},0x{i:04X}")),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column", "no_rate"]),
    );
    list.add(
        "complex numbers",
        table(HEADER, 300, |i| format!("{i}+2i,{i}-1i")),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column", "no_rate"]),
    );
    list.add(
        "two points in each number",
        table(HEADER, 300, |i| format!("3.{}.7,3.1.2", i % 10)),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column", "no_rate"]),
    );
    list.add(
        "percent",
        table(HEADER, 300, |_| "50 %,50 %".into()),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column", "no_rate"]),
    );
    list.add("no force", table("time (s),angle (deg),speed (m/s)\n", 300, |_| "1.5,2.5".into()), Refuse(&["no_force_column"]));
    list.add(
        "markers alone",
        table("time (s),L heel X (mm),L heel Z (mm),R heel Z (mm)\n", 300, |i| format!("{i},1.5,2.5")),
        Refuse(&["no_force_column"]),
    );
    list.add(
        "markers without units",
        table("time,LHEE Z,RHEE Z,LTOE Z,RTOE Z\n", 300, |i| format!("{}.5,401,390,377", 400 + i % 3)),
        Refuse(&["no_force_column"]),
    );
    for header in [
        "time (s),left (V),right (V)\n",
        "time (s),Fz [mV],Fz2 [mV]\n",
        "Zeit;Links;Rechts\ns;V;V\n",
        "time (s),plate 1 (volts),plate 2 (volts)\n",
    ] {
        let text = table(header, 300, |i| format!("1.{:03},1.{:03}", i % 900, i % 800));
        let text = if header.contains(';') { text.replace(',', ";") } else { text };
        list.add(format!("volts: {}", header.trim()), text, Refuse(&["volts"]));
    }
    list.add("newtons that must be kilonewtons", both(3000, |i| if (1500..2000).contains(&i) { 0.0 } else { 0.7 }), NoJump);
    list.add(
        "numbers that read two ways",
        (0..400).map(|i| format!("{}.{:03}\n", 1 + i % 2, (i * 37) % 1000)).collect::<String>(),
        Refuse(&["number_two_ways", "no_rate"]),
    );
}

fn times(list: &mut List) {
    let stamped = |stamp: &dyn Fn(usize) -> String| -> String {
        format!("{HEADER}{}", (0..400).map(|i| format!("{},350.1,349.9\n", stamp(i))).collect::<String>())
    };
    list.add("time runs backwards", stamped(&|i| format!("{:.3}", 1.0 - i as f64 / 1000.0)), Refuse(&["time_backwards"]));
    list.add(
        "time falls once",
        stamped(&|i| format!("{:.3}", if i > 200 { i as f64 / 1000.0 - 0.1 } else { i as f64 / 1000.0 })),
        Refuse(&["time_backwards"]),
    );
    list.add("time stands still", stamped(&|_| "0.500".into()), Refuse(&["time_constant"]));
    list.add("clock stands still", stamped(&|_| "10:00:00.500".into()), Refuse(&["time_constant"]));
    list.add("clock to the second", stamped(&|i| format!("10:00:{:02}", i / 100)), NoJump);
    list.add(
        "no time at all in the time column",
        stamped(&|_| "NaN".into()),
        Refuse(&["time_missing", "no_rate", "no_values", "no_force_column"]),
    );
    list.add("time in words", stamped(&|_| "noon".into()), Refuse(&["no_rate", "time_missing", "no_numbers", "no_force_column"]));
    list.add(
        "a pause of a day",
        stamped(&|i| format!("{:.3}", i as f64 / 1000.0 + if i > 200 { 86_400.0 } else { 0.0 })),
        Refuse(&["gap_too_long"]),
    );
    list.add("one sample a second", stamped(&|i| i.to_string() + ".0"), Refuse(&["rate_too_low"]));
    list.add("five samples a second", stamped(&|i| format!("{:.1}", i as f64 * 0.2)), Refuse(&["rate_too_low"]));
    list.add("a rate of 1 Hz stated", format!("Rate: 1 Hz\nleft,right\n{}", "350.1,349.9\n".repeat(300)), Refuse(&["rate_too_low"]));
    list.add("no rate", format!("left,right\n{}", "350.1,349.9\n".repeat(300)), Refuse(&["no_rate"]));
    list.add("a million hertz", stamped(&|i| format!("{:.7}", i as f64 * 1e-6)), Refuse(&["rate_too_high", "time_uneven"]));
    let untimed = format!("left,right\n{}", "350.1,349.9\n".repeat(300));
    for (name, rate) in [("a rate below zero", -5.0), ("a rate of nothing", 0.0), ("an endless rate", f64::INFINITY)] {
        list.with(name, &untimed, Refuse(&["bad_rate", "rate_too_high"]), Options { rate_hz: Some(rate), ..Options::default() });
    }
}

fn monsters(list: &mut List) {
    list.add("ten megabytes in one line", vec![b'7'; 10_000_000], Refuse(&["line_too_long"]));
    list.add("ten megabytes of cells in one line", "7,".repeat(5_000_000), Refuse(&["line_too_long"]));
    list.add("ten megabytes within a quote", format!("\"{}", "a".repeat(10_000_000)), Refuse(&["line_too_long"]));
    list.add("a long line after rows", [both(3000, |_| 700.0).into_bytes(), vec![b'7'; 2 << 20]].concat(), Refuse(&["line_too_long"]));
    let long = "3".repeat(10_000);
    list.add("numbers of 10 000 digits", table(HEADER, 60, |_| format!("{long},{long}")), NoJump);
    list.add("numbers of 10 000 decimals", table(HEADER, 60, |_| format!("0.{long},0.{long}")), NoJump);
    list.add("huge exponents", table(HEADER, 300, |_| "1e999999999,-1e999999999".into()), NoJump);
    list.add("tiny exponents", table(HEADER, 300, |_| "1e-999999999,1e-400".into()), NoJump);
    list.add(
        "five thousand columns",
        table(&format!("time{}\n", ",x".repeat(5000)), 30, |_| ["1"; 5000].join(",")),
        Refuse(&["no_force_column"]),
    );
    list.add("a header of 300 kB", table(&format!("time,{}\n", "word ".repeat(60_000)), 300, |_| "350.1".into()), NoJump);
    list.add(
        "markup in the header",
        table("time,<script>alert(1)</script>,<img src=x onerror=alert(1)>\n", 300, |_| "350.1,349.9".into()),
        NoJump,
    );
    list.add("formulas in the header", table("=1+1,=HYPERLINK(\"x\"),@SUM(A1)\n", 300, |_| "350.1,349.9".into()), NoJump);
    list.add(
        "formulas in the cells",
        table(HEADER, 300, |_| "=A1+B1,=SUM(A1:B1)".into()),
        Refuse(&["no_numbers", "header_only", "no_values", "no_force_column", "no_rate"]),
    );
    list.add(
        "direction marks in the header",
        table("time,\u{202E}left\u{202C},\u{200F}right (N)\n", 300, |_| "350.1,349.9".into()),
        NoJump,
    );
    list.add("NUL in the header", table("time,le\0ft,right\n", 300, |_| "350.1,349.9".into()), Refuse(&["binary"]));
    list.add("escape codes in the header", table("\u{1B}[31mtime\u{1B}[0m,left,right\n", 300, |_| "350.1,349.9".into()), NoJump);
    list.add("pictures in the header", table("⏱,🦵👈,🦵👉\n", 300, |_| "350.1,349.9".into()), NoJump);
    list.add("nothing but quotes", "\"\"\"\"\"\"\n".repeat(400), Refuse(&["no_numbers", "header_only", "empty"]));
    list.add("a quote never closed", format!("\"time,left,right\n{}", "0.001,350.1,349.9\n".repeat(300)), NoJump);
    list.add("nested quotes", table(HEADER, 300, |_| "\"\"\"350.1\"\"\",\"\"\"349.9\"\"\"".into()), NoJump);
    let words = Print { code: Code::Utf16Le, ..PLAIN }.bytes(&truth(1.0));
    list.add("UTF-16 cut in a character", &words[..words.len() - 1], NoJump);
    list.add("UTF-16 shifted by a byte", &words[3..], NoJump);
    list.add("half a file", &both(4000, |_| 700.0).as_bytes()[..40_001], NoJump);
}

fn bodies(list: &mut List) {
    let mut noise = Random(99);
    let jitter: Vec<f64> = (0..12_000).map(|_| noise.unit() - 0.5).collect();
    let ramp = |i: usize, from: usize, to: usize| (i.saturating_sub(from) as f64 / (to - from) as f64).min(1.0);
    list.add("nobody on the plates", both(6000, |i| 2.0 * jitter[i]), NoJump);
    list.add("nobody, with drift", both(6000, |i| 2.0 * jitter[i] + i as f64 * 0.01), NoJump);
    list.add("standing still", both(6000, |i| 700.0 + 4.0 * jitter[i]), NoJump);
    list.add("stepping on", both(6000, |i| 720.0 * ramp(i, 2000, 2400) + jitter[i]), NoJump);
    list.add("stepping on and off", both(8000, |i| 720.0 * ramp(i, 2000, 2400) * (1.0 - ramp(i, 6000, 6300)) + jitter[i]), NoJump);
    list.add(
        "stepping on twice",
        both(12_000, |i| {
            let i = i % 6000;
            720.0 * ramp(i, 1000, 1400) * (1.0 - ramp(i, 4000, 4300)) + 2.0
        }),
        NoJump,
    );
    // A stance of 0.65 s with two humps, swings between: one plate under one foot of many steps.
    let step = |i: usize| {
        let t = (i % 1100) as f64 / 650.0;
        if t < 1.0 {
            720.0 * (3.9 * t * (1.0 - t) + 0.35 * (1.0 - (4.0 * t - 2.0) * (4.0 * t - 2.0)).clamp(-0.4, 0.0)).max(0.0)
        } else {
            0.0
        }
    };
    list.add("walking over one plate", both(11_000, |i| step(i) + jitter[i]), NoJump);
    list.add("walking on two plates", table(HEADER, 11_000, |i| format!("{:.2},{:.2}", step(i), step(i + 550))), NoJump);
    let record = |jump: &Jump| {
        let truth = jump.truth().expect("a default jump has a motion");
        let [l, r] = jump.record(&truth);
        let total: Vec<f64> = l.iter().zip(&r).map(|(l, r)| l + r).collect();
        (truth, total)
    };
    let jump = Jump { noise_n: 0.6, ..Jump::default() };
    let (truth, total) = record(&jump);
    let print = |force: &[f64]| table(HEADER, force.len(), |i| format!("{:.2},{:.2}", 0.52 * force[i], 0.48 * force[i]));
    let cut = |s: f64| print(&total[..(s * 1000.0) as usize]);
    list.add("cut in the flight", cut(truth.take_off_s + 0.2), NotSound);
    list.add("cut before take-off", cut(truth.take_off_s - 0.05), NoJump);
    for share in [0.55, 0.7, 0.9] {
        let top = total.iter().copied().fold(0.0, f64::max) * share;
        list.add(format!("saturated at {share} of the peak"), print(&total.iter().map(|f| f.min(top)).collect::<Vec<_>>()), NotSound);
    }
    let (_, second) = record(&Jump { mass_kg: 64.0, height_m: 0.28, quiet_s: 2.15, noise_n: 0.6, seed: 5, ..Jump::default() });
    let two: Vec<f64> = total.iter().zip(&second).map(|(a, b)| a + b).collect();
    list.add("two people jump", print(&two), NotSound);
    list.add("one jumps, one stands", print(&total.iter().map(|f| f + 640.0).collect::<Vec<_>>()), NoJump);
    list.add("jump without its standing", print(&total[(truth.lowest_point_s * 1000.0) as usize..]), NotSound);
}

fn all() -> Vec<Bad> {
    let mut list = List(Vec::new());
    for family in [kinds, texts, emptiness, tables, times, monsters, bodies] {
        family(&mut list);
    }
    list.0
}

#[test]
fn bad_files_are_refused_in_words_or_hold_no_invented_jump() {
    let files = all();
    assert!(files.len() >= 100, "{}", files.len());
    let mut faults = Vec::new();
    for bad in &files {
        let begin = std::time::Instant::now();
        let analysis = analyze(&bad.name, &bad.bytes, &bad.options);
        let took = begin.elapsed().as_secs_f64();
        let answer = &analysis.answer;
        let fault = match (&answer.error, bad.must) {
            (Some(e), _) if e.message.is_empty() || e.try_next.is_empty() || e.expected.is_none() => {
                Some(format!("says too little: {e:?}"))
            }
            (Some(e), _) if e.row.is_some() && e.found.is_none() => Some(format!("does not say what it found: {e:?}")),
            (Some(e), Refuse(codes)) if !codes.contains(&e.code.as_str()) => Some(format!("refused as {}: {e}", e.code)),
            (Some(_), _) => None,
            (None, Refuse(codes)) => Some(format!("read; expected {codes:?}; {:?}", answer.recording)),
            (None, NoJump) => {
                // Standing is a test of its own, and no jump.
                let jump = answer.trials.iter().find(|t| !matches!(t.test, TestKind::QuietStanding | TestKind::Unrecognised));
                jump.map(|t| format!("a trial: {:?}", t.test))
            }
            (None, NotSound) => answer.trials.iter().any(|t| t.verdict == Verdict::Sound).then(|| "a sound trial".to_string()),
        };
        let what = answer.error.as_ref().map_or_else(|| format!("read, {} trials", answer.trials.len()), |e| e.code.clone());
        println!("{}: {what}, {:.0} ms", bad.name, 1000.0 * took);
        faults.extend(fault.map(|f| format!("{}: {f}", bad.name)));
        if took > 3.0 {
            faults.push(format!("{}: took {took} s", bad.name));
        }
    }
    println!("{} bad files, {} not as they should be", files.len(), faults.len());
    assert!(faults.is_empty(), "{} of {}:\n{}", faults.len(), files.len(), faults.join("\n"));
}

#[test]
fn bad_files_read_the_same_by_any_way() {
    for bad in all().iter().filter(|b| b.bytes.len() < 3_000_000) {
        let options = ReadOptions { rate_hz: bad.options.rate_hz, ..ReadOptions::default() };
        if options.rate_hz.is_none_or(f64::is_finite) {
            check_same_by_any_way(&bad.name, &bad.bytes, &options, &[1000]);
        }
    }
}
