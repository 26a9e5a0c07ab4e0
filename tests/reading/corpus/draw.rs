//! What a layout is: every feature on its own, drawn at random, and then made to agree with the others.
use super::super::truth::{Code, Random};

/// What the force columns are.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Plates {
    /// Left and right by name.
    Sides,
    /// Left and right by name, their sum beside them.
    SidesAndTotal,
    /// One plate.
    Total,
    /// Plate 1 and plate 2.
    Numbered,
    /// Four load cells a side, by name.
    Cells,
    /// Six components a side, by name.
    SixSided,
    /// Six components a plate, numbered; down is positive in none, up in none: vertical is negative.
    SixNumbered,
    /// Two columns without header.
    BareTwo,
    /// Eight load cells without header.
    BareEight,
    /// Twelve components without header.
    BareTwelve,
    /// Two hundred columns of motion capture around two plates.
    Capture,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Stamp {
    Seconds,
    Milliseconds,
    Microseconds,
    Offset,
    Counter,
    Clock,
    Iso,
    IsoNight,
    EpochSeconds,
    EpochMilliseconds,
    Absent,
    Jitter,
    Packets,
    Rounded,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Units {
    None,
    Brackets,
    Parentheses,
    Underscore,
    Row,
    TwoLines,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Below {
    Nothing,
    Words,
    Statistics,
    /// The header again every so many rows, time going on.
    Pages,
    /// The whole export once more, time starting again.
    Again,
}

#[derive(Clone, Debug)]
pub struct Layout {
    pub seed: u64,
    pub language: usize,
    pub plates: Plates,
    pub stamp: Stamp,
    pub time_last: bool,
    pub rate_hz: f64,
    pub units: Units,
    /// Name and newtons of the unit of force.
    pub unit: (&'static str, f64),
    pub decimals: usize,
    pub scientific: bool,
    pub delimiter: &'static str,
    pub mark: char,
    pub thousands: Option<char>,
    pub quoted: bool,
    pub code: Code,
    pub end: &'static str,
    pub preamble: usize,
    pub extras: Vec<usize>,
    pub missing: Option<&'static str>,
    pub below: Below,
    pub negative: bool,
    pub broken_header: bool,
}

/// Language, time, left, right, force, sample, total, rate.
pub const LANGUAGES: &[[&str; 8]] = &[
    ["en", "Time", "Left", "Right", "Force", "Sample", "Total", "Sampling rate"],
    ["de", "Zeit", "links", "rechts", "Kraft", "Messpunkt", "Gesamt", "Abtastrate"],
    ["fr", "Temps", "gauche", "droite", "Force", "Échantillon", "Somme", "Fréquence"],
    ["es", "Tiempo", "izquierda", "derecha", "Fuerza", "Muestra", "Suma", "Frecuencia"],
    ["it", "Tempo", "sinistra", "destra", "Forza", "Campione", "Somma", "Frequenza"],
    ["pt", "Tempo", "esquerda", "direita", "Força", "Amostra", "Soma", "Frequência"],
    ["nl", "Tijd", "links", "rechts", "Kracht", "Meetpunt", "Totaal", "Meetfrequentie"],
    ["sv", "Tid", "vänster", "höger", "Kraft", "Mätpunkt", "Summa", "Frekvens"],
    ["pl", "Czas", "lewa", "prawa", "Siła", "Próbka", "Suma", "Częstotliwość"],
    ["ja", "時間", "左", "右", "床反力", "サンプル", "合計", "サンプリング周波数"],
    ["zh", "时间", "左", "右", "力", "序号", "合计", "采样率"],
];

fn pick<T: Copy>(random: &mut Random, of: &[T]) -> T {
    of[random.below(of.len())]
}

/// The layout of a seed.
pub fn layout(seed: u64) -> Layout {
    use Below::*;
    use Plates::*;
    use Stamp::*;
    let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..8 {
        random.next();
    }
    let r = &mut random;
    let mut l = Layout {
        seed,
        language: r.below(LANGUAGES.len()),
        plates: pick(
            r,
            &[
                Sides,
                Sides,
                Sides,
                SidesAndTotal,
                Total,
                Total,
                Numbered,
                Cells,
                SixSided,
                SixNumbered,
                BareTwo,
                BareEight,
                BareTwelve,
                Capture,
            ],
        ),
        stamp: pick(
            r,
            &[
                Seconds,
                Seconds,
                Seconds,
                Milliseconds,
                Microseconds,
                Offset,
                Counter,
                Clock,
                Iso,
                IsoNight,
                EpochSeconds,
                EpochMilliseconds,
                Absent,
                Jitter,
                Packets,
                Rounded,
            ],
        ),
        time_last: r.below(6) == 0,
        rate_hz: pick(r, &[100.0, 200.0, 250.0, 500.0, 960.0, 1000.0, 1000.0, 1200.0, 2000.0, 5000.0]),
        units: pick(r, &[Units::None, Units::Brackets, Units::Parentheses, Units::Underscore, Units::Row, Units::TwoLines]),
        unit: pick(
            r,
            &[("N", 1.0), ("N", 1.0), ("N", 1.0), ("kN", 1000.0), ("lbf", 4.448_221_615_260_5), ("kgf", 9.806_65), ("mN", 0.001)],
        ),
        decimals: pick(r, &[0, 1, 2, 3, 4]),
        scientific: r.below(12) == 0,
        delimiter: pick(r, &[",", ",", ";", ";", "\t", "\t", "|", "  ", " ", ", "]),
        mark: if r.below(2) == 0 { '.' } else { ',' },
        thousands: (r.below(3) == 0).then(|| pick(r, &[',', '.', ' ', '\u{A0}', '\u{202F}', '\'', '’'])),
        quoted: r.below(6) == 0,
        code: pick(r, &[Code::Utf8, Code::Utf8, Code::Utf8, Code::Utf8Bom, Code::Utf16Le, Code::Utf16Be, Code::Windows1252]),
        end: pick(r, &["\n", "\n", "\r\n", "\r\n", "\r"]),
        preamble: r.below(7),
        extras: (0..r.below(4)).map(|_| r.below(8)).collect(),
        missing: (r.below(5) == 0).then(|| pick(r, &["", "NaN", "-", "n/a", "#N/A", "null", "—", "1.#QNAN"])),
        below: pick(r, &[Nothing, Nothing, Nothing, Words, Statistics, Pages, Again]),
        negative: r.below(6) == 0,
        broken_header: r.below(10) == 0,
    };
    agree(&mut l);
    l
}

/// Makes the features agree: a file that no program would write tells nothing about the reader.
fn agree(l: &mut Layout) {
    let bare = matches!(l.plates, Plates::BareTwo | Plates::BareEight | Plates::BareTwelve);
    if bare {
        // Without a header nothing says units, pages or what else there is; newtons and plain columns are what can be asked for.
        l.unit = ("N", 1.0);
        l.extras.clear();
        l.preamble = l.preamble.min(3);
        l.broken_header = false;
        l.missing = None;
        if matches!(l.below, Below::Pages | Below::Again) {
            l.below = Below::Nothing;
        }
        if matches!(l.stamp, Stamp::Counter | Stamp::Jitter | Stamp::Packets | Stamp::Rounded) {
            l.stamp = Stamp::Seconds;
        }
    }
    if l.units == Units::None {
        l.unit = ("N", 1.0);
    }
    if l.plates == Plates::Capture {
        l.rate_hz = 200.0;
        l.quoted = false;
        l.extras.clear();
    }
    if l.plates == Plates::SixNumbered {
        l.negative = true;
    }
    l.decimals = match l.unit.0 {
        "kN" => 5,
        "mN" => 0,
        "N" => l.decimals,
        _ => l.decimals.max(3),
    };
    if l.scientific {
        l.thousands = None;
        l.decimals = 6;
    }
    if matches!(l.stamp, Stamp::Jitter | Stamp::Packets | Stamp::Rounded) {
        l.rate_hz = l.rate_hz.clamp(200.0, 2000.0);
    }
    if l.delimiter.trim().is_empty() && l.delimiter.starts_with(' ') {
        // Blanks between cells: none inside, no quotes, nothing missing without a word.
        l.quoted = false;
        l.missing = l.missing.filter(|m| !m.is_empty());
        l.thousands = None;
        l.time_last = false;
        l.broken_header = false;
        l.units = match l.units {
            Units::None | Units::Row => l.units,
            _ => Units::Underscore,
        };
        if matches!(l.stamp, Stamp::Iso | Stamp::IsoNight) {
            l.stamp = Stamp::Clock;
        }
    }
    if l.delimiter.starts_with(',') && l.mark == ',' {
        if l.delimiter == "," && l.scientific {
            l.mark = '.';
        } else {
            (l.delimiter, l.quoted) = (",", true);
        }
    }
    if l.thousands.is_some_and(|t| t == l.mark || t == ',' && l.delimiter.starts_with(',') && !l.quoted) {
        l.thousands = None;
    }
    if l.thousands == Some(' ') && l.delimiter == ", " {
        l.thousands = None;
    }
    let latin = !matches!(l.language, 8..=10);
    if l.code == Code::Windows1252 && (!latin || matches!(l.thousands, Some('\u{202F}')) || l.missing == Some("—")) {
        l.code = Code::Utf8;
    }
    if l.plates == Plates::Numbered && l.units == Units::TwoLines {
        l.units = Units::Parentheses;
    }
    if l.broken_header && l.end == "\r" {
        l.broken_header = false;
    }
}
