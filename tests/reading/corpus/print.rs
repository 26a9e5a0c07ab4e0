//! A layout and a jump → the file's bytes, and what must be read from them.
use super::super::truth::{Code, Random};
use super::draw::{Below, LANGUAGES, Layout, Plates, Stamp, Units};
use tarsal::invented::{Jump, Random as Draw};

/// What must be read.
pub struct Expected {
    pub left: Vec<f64>,
    pub right: Vec<f64>,
    pub total: bool,
    pub rate_hz: f64,
    /// Rows whose cells are missing.
    pub holes: Vec<usize>,
    /// Newtons that printing may cost.
    pub tolerance_n: f64,
    /// The rate must be stated by the reader of the file.
    pub state_rate: bool,
    pub recordings: usize,
}

/// Four corners bear unlike parts of a plate's force.
const CORNERS: [f64; 4] = [0.31, 0.27, 0.22, 0.20];

fn group(digits: &str, thousands: char) -> String {
    let n = digits.len();
    digits.chars().enumerate().flat_map(|(i, c)| (i > 0 && (n - i).is_multiple_of(3)).then_some(thousands).into_iter().chain([c])).collect()
}

impl Layout {
    fn number(&self, x: f64, decimals: usize) -> String {
        if self.scientific {
            let text = format!("{x:.decimals$e}");
            return if self.mark == ',' { text.replace('.', ",") } else { text };
        }
        let text = format!("{x:.decimals$}");
        let (sign, rest) = text.strip_prefix('-').map_or(("", text.as_str()), |rest| ("-", rest));
        let (whole, fraction) = rest.split_once('.').unwrap_or((rest, ""));
        let whole = self.thousands.map_or_else(|| whole.to_string(), |t| group(whole, t));
        if fraction.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}{}{fraction}", self.mark) }
    }

    fn force(&self, newtons: f64) -> String {
        let sign = if self.negative { -1.0 } else { 1.0 };
        self.number(sign * newtons / self.unit.1, self.decimals)
    }

    fn plain(&self, x: f64, decimals: usize) -> String {
        let text = format!("{x:.decimals$}");
        if self.mark == ',' { text.replace('.', ",") } else { text }
    }

    fn stamp(&self, i: usize, random: &mut Random) -> String {
        let t = i as f64 / self.rate_hz;
        let clock = |start: f64| {
            let s = (start + t) % 86_400.0;
            let (h, m) = ((s / 3600.0) as u32, (s / 60.0) as u32 % 60);
            format!("{h:02}:{m:02}:{:09.6}", s - f64::from(h * 3600 + m * 60))
        };
        match self.stamp {
            Stamp::Seconds => self.plain(t, 6),
            Stamp::Milliseconds => self.plain(1000.0 * t, 3),
            Stamp::Microseconds => self.plain(1e6 * t, 0),
            Stamp::Offset => self.plain(37.25 + t, 6),
            Stamp::Counter => format!("{}", i + 1),
            Stamp::Clock => clock(36_000.0),
            Stamp::Iso => format!("2024-05-01T{}Z", clock(50_000.0)),
            Stamp::IsoNight => {
                format!("2024-05-{:02} {}", if t < 2.0 { 1 } else { 2 }, clock(86_398.0))
            }
            Stamp::EpochSeconds => self.plain(1_714_550_000.0 + t, 6),
            Stamp::EpochMilliseconds => self.plain(1_714_550_000_000.0 + 1000.0 * t, 3),
            Stamp::Jitter => self.plain(t + 0.3 / self.rate_hz * random.unit(), 6),
            Stamp::Packets => self.plain((i / 8 * 8) as f64 / self.rate_hz, 6),
            Stamp::Rounded => self.plain(t, 3),
            Stamp::Absent => String::new(),
        }
    }

    fn time_unit(&self) -> Option<&'static str> {
        match self.stamp {
            Stamp::Seconds | Stamp::Offset | Stamp::EpochSeconds | Stamp::Jitter | Stamp::Packets | Stamp::Rounded => Some("s"),
            Stamp::Milliseconds | Stamp::EpochMilliseconds => Some("ms"),
            Stamp::Microseconds => Some("µs"),
            _ => None,
        }
    }

    /// Header words and units, column by column, without time.
    fn columns(&self) -> Vec<(String, Option<&'static str>)> {
        let [_, _, left, right, force, _, total, _] = LANGUAGES[self.language];
        let f = Some(self.unit.0);
        let both = |name: &dyn Fn(&str) -> String| vec![(name(left), f), (name(right), f)];
        let six = |plate: &str| -> Vec<(String, Option<&'static str>)> {
            ["Fx", "Fy", "Fz", "Mx", "My", "Mz"]
                .iter()
                .map(|c| (format!("{plate} {c}"), if c.starts_with('F') { f } else { Some("Nm") }))
                .collect()
        };
        let mut columns = match self.plates {
            Plates::Sides => both(&|side| format!("{force} {side}")),
            Plates::SidesAndTotal => [vec![(format!("{force} {total}"), f)], both(&|side| format!("{force} {side}"))].concat(),
            Plates::Total => vec![(format!("{force} z"), f)],
            Plates::Numbered => vec![("Plate 1 Fz".into(), f), ("Plate 2 Fz".into(), f)],
            Plates::Cells => [left, right].iter().flat_map(|side| (1..=4).map(move |k| (format!("{force} {side} {k}"), f))).collect(),
            Plates::SixSided => [six(left), six(right)].concat(),
            Plates::SixNumbered => [six("Plate 1"), six("Plate 2")].concat(),
            Plates::BareTwo => vec![(String::new(), None); 2],
            Plates::BareEight => vec![(String::new(), None); 8],
            Plates::BareTwelve => vec![(String::new(), None); 12],
            Plates::Capture => {
                let marker = |k: usize| (format!("M{:02}_{}", k / 3, ["X", "Y", "Z"][k % 3]), Some("mm"));
                let before = (0..150).map(marker);
                let after = (150..192).map(marker);
                before.chain([(format!("{left} Fz"), f), (format!("{right} Fz"), f)]).chain(after).collect()
            }
        };
        for extra in &self.extras {
            columns.push(match extra {
                0 => ("EMG Muscle".into(), Some("mV")),
                1 => ("Trigger".into(), Some("V")),
                2 => ("CoP x".into(), Some("mm")),
                3 => ("Temperature".into(), Some("°C")),
                4 => ("Index".into(), None),
                5 => ("Velocity".into(), Some("m/s")),
                6 => ("Marker note".into(), None),
                _ => ("Battery".into(), Some("%")),
            });
        }
        columns
    }

    fn cells(&self, i: usize, l: f64, r: f64, random: &mut Random) -> Vec<String> {
        let corner = |f: f64, k: usize| self.force(f * CORNERS[k]);
        let small = |random: &mut Random, size: f64| self.plain(size * (random.unit() - 0.5), 3);
        let mut six = |f: f64| -> Vec<String> {
            let mut cells: Vec<String> = (0..2).map(|_| small(random, 20.0)).collect();
            cells.push(self.force(f));
            cells.extend((0..3).map(|_| small(random, 30.0)));
            cells
        };
        let mut cells = match self.plates {
            Plates::Sides | Plates::Numbered | Plates::BareTwo => vec![self.force(l), self.force(r)],
            Plates::SidesAndTotal => vec![self.force(l + r), self.force(l), self.force(r)],
            Plates::Total => vec![self.force(l + r)],
            Plates::Cells | Plates::BareEight => (0..4).map(|k| corner(l, k)).chain((0..4).map(|k| corner(r, k))).collect(),
            Plates::SixSided | Plates::SixNumbered | Plates::BareTwelve => [six(l), six(r)].concat(),
            Plates::Capture => {
                let mut marker = |k: usize| self.plain(800.0 + k as f64 + 5.0 * random.unit(), 2);
                let mut cells: Vec<String> = (0..150).map(&mut marker).collect();
                cells.extend([self.force(l), self.force(r)]);
                cells.extend((150..192).map(&mut marker));
                cells
            }
        };
        for extra in &self.extras {
            cells.push(match extra {
                0 => small(random, 0.8),
                1 => (if i.is_multiple_of(500) { "5" } else { "0" }).to_string(),
                2 => self.plain(120.0 + 9.0 * random.unit(), 2),
                3 => self.plain(23.1 + 0.1 * random.unit(), 1),
                4 => i.to_string(),
                5 => small(random, 3.0),
                6 => String::from(if self.delimiter.trim().is_empty() && self.delimiter.starts_with(' ') { "0" } else { "" }),
                _ => "88".to_string(),
            });
        }
        cells
    }

    fn join(&self, cells: &[String]) -> String {
        let cells: Vec<String> = cells.iter().map(|c| if self.quoted { format!("\"{c}\"") } else { c.clone() }).collect();
        cells.join(self.delimiter) + "\n"
    }

    fn header(&self) -> String {
        if matches!(self.plates, Plates::BareTwo | Plates::BareEight | Plates::BareTwelve) {
            return String::new();
        }
        let [_, time, _, _, _, sample, _, _] = LANGUAGES[self.language];
        let mut columns = self.columns();
        let stamp = match self.stamp {
            Stamp::Absent => None,
            Stamp::Counter => Some((sample.to_string(), None)),
            _ => Some((time.to_string(), self.time_unit())),
        };
        if let Some(stamp) = stamp {
            if self.time_last { columns.push(stamp) } else { columns.insert(0, stamp) }
        }
        let blank = self.delimiter.starts_with(' ');
        let name = |text: &str| if blank { text.replace(' ', "_") } else { text.to_string() };
        let with = |(text, unit): &(String, Option<&str>)| match (self.units, unit) {
            (Units::Brackets, Some(u)) => format!("{} [{u}]", name(text)),
            (Units::Parentheses, Some(u)) => format!("{} ({u})", name(text)),
            (Units::Underscore, Some(u)) => format!("{}_{u}", name(text)),
            (Units::None, Some("s" | "ms" | "µs")) | (Units::None, None) => name(text),
            // What is no force says so even where force has no unit.
            (Units::None, Some(u)) if *u != self.unit.0 => format!("{} ({u})", name(text)).replace(' ', if blank { "_" } else { " " }),
            _ => name(text),
        };
        let mut cells: Vec<String> = columns.iter().map(with).collect();
        if self.broken_header
            && let Some(last) = cells.last_mut()
        {
            *last = format!("\"{last}\nas exported\"");
        }
        match self.units {
            Units::Row => {
                let units: Vec<String> = columns.iter().map(|(_, u)| u.unwrap_or("-").to_string()).collect();
                let line = if self.broken_header { cells.join(self.delimiter) + "\n" } else { self.join(&cells) };
                line + &self.join(&units)
            }
            Units::TwoLines => {
                // The side stands in a line of its own, over the first of its columns; the unit in brackets below.
                let split: Vec<(String, String)> = columns
                    .iter()
                    .map(|(text, u)| {
                        let (group, rest) = match self.plates {
                            Plates::SixSided => text.split_once(' ').map_or(("", text.as_str()), |(a, b)| (a, b)),
                            _ => ("", text.as_str()),
                        };
                        (group.to_string(), u.map_or_else(|| rest.to_string(), |u| format!("{rest} [{u}]")))
                    })
                    .collect();
                let mut before = String::new();
                let groups: Vec<String> = split
                    .iter()
                    .map(|(g, _)| {
                        let shown = if *g == before { String::new() } else { g.clone() };
                        before.clone_from(g);
                        shown
                    })
                    .collect();
                let below: Vec<String> = split.into_iter().map(|(_, b)| b).collect();
                if groups.iter().any(|g| !g.is_empty()) { self.join(&groups) + &self.join(&below) } else { self.join(&below) }
            }
            _ if self.broken_header => cells.join(self.delimiter) + "\n",
            _ => self.join(&cells),
        }
    }

    fn preamble(&self) -> String {
        let rate_word = LANGUAGES[self.language][7];
        let mut text = match self.preamble {
            1 => "Athlete: Invented Person\nMass: 73.4 kg\nDate: 2024-05-01 10:00:00\n\n".to_string(),
            2 => "Name;Invented;\nMass;73,4;kg\nFile;3;\nNotes;first, second; third\n".to_string(),
            3 => "# exported by an invented program\n# channels 2, rows 5000, version 1.2.3\n# left plate 12-0041\n".to_string(),
            4 => (0..700).map(|k| format!("note {k}: nothing of interest, {}; {}\n", k * 3, k)).collect(),
            5 => "Report\n\n\n1\n2024\n\nTrial 4\n".to_string(),
            _ => String::new(),
        };
        if matches!(self.stamp, Stamp::Absent | Stamp::Counter) && self.preamble % 2 == 1 {
            text.push_str(&format!("{rate_word}: {} Hz\n", self.rate_hz));
        }
        text
    }

    /// The file and what must be read from it.
    pub fn print(&self) -> (Vec<u8>, Expected) {
        let mut draw = Draw::new(self.seed ^ 0x7A25A1);
        let mut jump = Jump::random(&mut draw);
        (jump.rate_hz, jump.noise_n, jump.quiet_s, jump.after_s) = (self.rate_hz, 0.6, 1.2, 1.2);
        jump.share_right = [(); 5].map(|()| draw.between(0.44, 0.56));
        let truth = jump.truth().expect("a random jump has a motion");
        let [left, right] = jump.record(&truth);
        let mut random = Random(self.seed | 1);
        let mut holes = Vec::new();
        let header = self.header();
        let mut table = String::new();
        for (i, (l, r)) in left.iter().zip(&right).enumerate() {
            let mut cells = self.cells(i, *l, *r, &mut random);
            if let Some(missing) = self.missing.filter(|_| i > 20 && i % 701 == 300) {
                holes.push(i);
                cells.iter_mut().for_each(|c| *c = missing.to_string());
            }
            if self.stamp != Stamp::Absent {
                let stamp = self.stamp(i, &mut random);
                if self.time_last { cells.push(stamp) } else { cells.insert(0, stamp) }
            }
            table.push_str(&self.join(&cells));
            if self.below == Below::Pages && i % 900 == 899 {
                table.push_str(&header);
            }
        }
        let preamble = self.preamble();
        let mut text = format!("{preamble}{header}{table}");
        let words = ["Peak", "End of recording"];
        match self.below {
            Below::Words => text.push_str(&format!("\n{}\n{}\n", words[0], words[1])),
            Below::Statistics => {
                let n = self.cells(0, 1.0, 1.0, &mut random).len();
                for (k, word) in ["mean", "sd", "min", "max"].iter().enumerate() {
                    let mut cells = vec![word.to_string()];
                    cells.extend((1..n).map(|_| self.plain(100.0 * k as f64, 1)));
                    text.push_str(&self.join(&cells));
                }
            }
            Below::Again => text.push_str(&format!("{preamble}{header}{table}")),
            Below::Nothing | Below::Pages => {}
        }
        let sums = if matches!(self.plates, Plates::Cells | Plates::BareEight) { 4.0 } else { 1.0 };
        let resolution = if self.scientific { 5e-6 * 3000.0 } else { (0..self.decimals).fold(1.0, |x, _| x / 10.0) * self.unit.1 };
        let expected = Expected {
            rate_hz: self.rate_hz,
            total: self.plates == Plates::Total,
            tolerance_n: 0.501 * resolution * sums + 0.002,
            state_rate: matches!(self.stamp, Stamp::Absent | Stamp::Counter) && self.preamble.is_multiple_of(2),
            recordings: if self.below == Below::Again { 2 } else { 1 },
            left,
            right,
            holes,
        };
        (self.encode(&text.replace('\n', self.end)), expected)
    }

    fn encode(&self, text: &str) -> Vec<u8> {
        let utf16 = |big: bool| text.encode_utf16().flat_map(|u| if big { u.to_be_bytes() } else { u.to_le_bytes() }).collect::<Vec<u8>>();
        match self.code {
            Code::Utf8 => text.as_bytes().to_vec(),
            Code::Utf8Bom => [b"\xEF\xBB\xBF", text.as_bytes()].concat(),
            Code::Utf16Le => [vec![0xFF, 0xFE], utf16(false)].concat(),
            Code::Utf16Be => [vec![0xFE, 0xFF], utf16(true)].concat(),
            Code::Utf16LeUnmarked => utf16(false),
            Code::Windows1252 => text.chars().map(|c| if c == '’' { 0x92 } else { u8::try_from(u32::from(c)).unwrap_or(b'?') }).collect(),
        }
    }
}
