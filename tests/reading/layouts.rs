//! One signal in many layouts: every one reads as the same recording.
use super::truth::{Code, PLAIN, Print, Time, check_same_by_any_way, read, short, truth};
use tarsal::recording::{ReadOptions, Role};

struct Case {
    name: &'static str,
    print: Print,
    rate_hz: Option<f64>,
    columns: Option<&'static str>,
}

const fn case(name: &'static str, print: Print) -> Case {
    Case { name, print, rate_hz: None, columns: None }
}

const KGF: f64 = 9.806_65;
const LBF: f64 = 4.448_221_615_260_5;

/// The layouts; words of several languages, all marks, delimiters, encodings and units.
const CASES: &[Case] = &[
    case("plain", PLAIN),
    case("Windows line ends", Print { end: "\r\n", ..PLAIN }),
    case("old line ends", Print { end: "\r", ..PLAIN }),
    case("byte order mark", Print { code: Code::Utf8Bom, ..PLAIN }),
    case("UTF-16 LE", Print { code: Code::Utf16Le, end: "\r\n", ..PLAIN }),
    case("UTF-16 BE", Print { code: Code::Utf16Be, ..PLAIN }),
    case(
        "UTF-16 LE without mark",
        Print { code: Code::Utf16LeUnmarked, delimiter: "\t", above: "Time (s)\tLeft (N)\tRight (N)\n", ..PLAIN },
    ),
    case("German", Print { delimiter: ";", mark: ',', above: "Zeit [s];Kraft links [N];Kraft rechts [N]\n", ..PLAIN }),
    case(
        "German, Windows-1252",
        Print {
            delimiter: ";",
            mark: ',',
            code: Code::Windows1252,
            above: "Prüfling: Müller\nZeit [s];Kräfte links [N];Kräfte rechts [N]\n",
            ..PLAIN
        },
    ),
    case(
        "French, ms",
        Print { delimiter: ";", mark: ',', time: Time::Milliseconds, above: "Temps (ms);Force gauche (N);Force droite (N)\n", ..PLAIN },
    ),
    case("Spanish", Print { delimiter: "\t", mark: ',', above: "Tiempo (s)\tFuerza izquierda (N)\tFuerza derecha (N)\n", ..PLAIN }),
    case("Italian", Print { delimiter: ";", above: "Tempo [s];Forza sinistra [N];Forza destra [N]\n", ..PLAIN }),
    case("Portuguese", Print { delimiter: ";", mark: ',', above: "Tempo (s);Força esquerda (N);Força direita (N)\n", ..PLAIN }),
    case("Dutch", Print { delimiter: ";", above: "Tijd (s);Kracht links (N);Kracht rechts (N)\n", ..PLAIN }),
    case("Swedish", Print { delimiter: ";", mark: ',', above: "Tid (s);Kraft vänster (N);Kraft höger (N)\n", ..PLAIN }),
    case("Polish", Print { delimiter: ";", mark: ',', above: "Czas [s];Siła lewa [N];Siła prawa [N]\n", ..PLAIN }),
    case("sides swapped", Print { cells: "trl", above: "time,right,left\n", ..PLAIN }),
    case("camel case", Print { above: "Time,FzLeft,FzRight\n", ..PLAIN }),
    case("short forms", Print { above: "t,LFz,RFz\n", ..PLAIN }),
    case("unit row", Print { above: "Time,Left,Right\ns,N,N\n", ..PLAIN }),
    case(
        "unit row in brackets and kN",
        Print { delimiter: "\t", unit: 1000.0, decimals: 5, above: "Time\tLeft\tRight\n[s]\t[kN]\t[kN]\n", ..PLAIN },
    ),
    case("kN", Print { unit: 1000.0, decimals: 5, above: "Time (s),Left (kN),Right (kN)\n", ..PLAIN }),
    case("mN", Print { unit: 0.001, decimals: 0, above: "Time (s),Left (mN),Right (mN)\n", ..PLAIN }),
    case("kgf", Print { unit: KGF, decimals: 6, above: "Time (s),Left (kgf),Right (kgf)\n", ..PLAIN }),
    case("lbf", Print { unit: LBF, decimals: 6, above: "time_s,left_lbf,right_lbf\n", ..PLAIN }),
    case("two header lines", Print { delimiter: ";", above: ";Left;Right\nTime (s);Fz (N);Fz (N)\n", ..PLAIN }),
    case(
        "preamble",
        Print { above: "Athlete: Invented Person\nDate: 2024-05-01\nDevice: two plates\n\ntime (s),left (N),right (N)\n", ..PLAIN },
    ),
    case(
        "preamble in cells",
        Print { delimiter: ";", mark: ',', above: "Name;Invented\nMass;73,4\nFile;3\n\nZeit;Links;Rechts\n", ..PLAIN },
    ),
    case("rate in preamble, no time", Print { cells: "lr", time: Time::Absent, above: "Sampling rate: 1000 Hz\nleft,right\n", ..PLAIN }),
    case(
        "interval in preamble, no time",
        Print { cells: "lr", delimiter: "\t", time: Time::Absent, above: "Interval = 1 ms\nleft\tright\n", ..PLAIN },
    ),
    case(
        "German rate in preamble",
        Print { cells: "lr", delimiter: ";", mark: ',', time: Time::Absent, above: "Abtastrate;1000 Hz\nlinks;rechts\n", ..PLAIN },
    ),
    Case {
        name: "rate stated by the reader",
        print: Print { cells: "lr", time: Time::Absent, above: "left,right\n", ..PLAIN },
        rate_hz: Some(1000.0),
        columns: None,
    },
    Case {
        name: "sample numbers",
        print: Print { time: Time::Counter, above: "Sample,Left (N),Right (N)\n", ..PLAIN },
        rate_hz: Some(1000.0),
        columns: None,
    },
    case("total beside the sides", Print { cells: "tslr", above: "time (s),total (N),left (N),right (N)\n", ..PLAIN }),
    case(
        "other columns",
        Print { cells: "txlxrxx", above: "Time (s),Left Fx (N),Left Fz (N),Right Fx (N),Right Fz (N),Left Mx (Nm),CoP x (mm)\n", ..PLAIN },
    ),
    case("sample number and time", Print { cells: "xtlr", above: "Frame,Time (s),Left (N),Right (N)\n", ..PLAIN }),
    case("quoted", Print { quoted: true, above: "\"time\",\"left\",\"right\"\n", ..PLAIN }),
    case("quoted with decimal commas", Print { quoted: true, mark: ',', above: "\"time\",\"left\",\"right\"\n", ..PLAIN }),
    case("pipes", Print { delimiter: "|", above: "time|left|right\n", ..PLAIN }),
    case("blanks", Print { delimiter: "   ", above: "time left right\n", ..PLAIN }),
    case("comma and blank", Print { delimiter: ", ", above: "time, left, right\n", ..PLAIN }),
    case("blanks and decimal comma", Print { delimiter: " ", mark: ',', above: "Zeit links rechts\n", ..PLAIN }),
    case("no header", Print { above: "", ..PLAIN }),
    case("no header, tab, comma", Print { above: "", delimiter: "\t", mark: ',', ..PLAIN }),
    case("negative under load", Print { negative: true, ..PLAIN }),
    case("numbered plates", Print { above: "time,plate 1 Fz,plate 2 Fz\n", ..PLAIN }),
    case("footer", Print { below: "\nMean;is not a row\nEnd of file\n", ..PLAIN }),
    Case {
        name: "columns stated",
        print: Print { cells: "xrlt", above: "a,b,c,d\n", ..PLAIN },
        rate_hz: None,
        columns: Some("-,right:N,left:N,time:s"),
    },
    case("twenty columns", Print { cells: "txxxxxxxxxxxxxxxxxlr", above: "time,a,b,c,d,e,f,g,h,i,j,k,a,b,c,d,e,f,left,right\n", ..PLAIN }),
];

#[test]
fn every_layout_reads_as_the_truth() {
    let truth = truth(3.5);
    let mut faults = Vec::new();
    for case in CASES {
        let options = ReadOptions { rate_hz: case.rate_hz, columns: case.columns.map(str::to_string), ..ReadOptions::default() };
        let bytes = case.print.bytes(&truth);
        let r = match read(&bytes, &options) {
            Ok(r) => r,
            Err(e) => {
                faults.push(format!("{}: {}: {e}", case.name, e.code));
                continue;
            }
        };
        let roles: Vec<Role> = r.channels.iter().map(|c| c.report.role).collect();
        // A printed unit has its own rounding; newtons come back exactly.
        let tolerance = if case.print.unit == 1.0 { 0.0 } else { 2e-4 };
        let near = |side: Option<&[f32]>, truth: &[f64]| {
            side.is_some_and(|s| {
                s.len() == truth.len() && s.iter().zip(truth).all(|(a, b)| (f64::from(*a) - f64::from(*b as f32)).abs() <= tolerance)
            })
        };
        let right = roles == [Role::Left, Role::Right]
            && r.clock.rate_hz == truth.rate_hz
            && r.clock.gaps.is_empty()
            && near(r.channel(Role::Left), &truth.left)
            && near(r.channel(Role::Right), &truth.right);
        if !right {
            faults.push(format!(
                "{}: {roles:?} {} first {:?}",
                case.name,
                short(&Ok(r.clone())),
                r.channels.iter().map(|c| c.force_n.first()).collect::<Vec<_>>()
            ));
        }
        assert!(r.channels.iter().all(|c| !c.report.why.is_empty()), "{}", case.name);
    }
    assert!(faults.is_empty(), "{} of {} layouts:\n{}", faults.len(), CASES.len(), faults.join("\n"));
    assert!(CASES.len() >= 30);
}

#[test]
fn pieces_and_the_twin_change_nothing() {
    let short = truth(0.4);
    let long = truth(6.0);
    for case in CASES {
        let options = ReadOptions { rate_hz: case.rate_hz, columns: case.columns.map(str::to_string), ..ReadOptions::default() };
        check_same_by_any_way(case.name, &case.print.bytes(&short), &options, &[1, 7, 64 * 1024]);
        check_same_by_any_way(case.name, &case.print.bytes(&long), &options, &[997, 64 * 1024]);
    }
}

#[test]
fn single_plates_and_single_columns() {
    let truth = truth(3.5);
    let total: Vec<f32> = truth.left.iter().zip(&truth.right).map(|(l, r)| format!("{:.2}", l + r).parse().unwrap()).collect();
    let prints = [
        ("one column", Print { cells: "s", time: Time::Absent, above: "", ..PLAIN }),
        ("one column, decimal comma", Print { cells: "s", mark: ',', time: Time::Absent, above: "", ..PLAIN }),
        ("one column with header", Print { cells: "s", time: Time::Absent, above: "Fz [N]\n", ..PLAIN }),
        ("time and force", Print { cells: "ts", above: "Time,Force\n", ..PLAIN }),
        ("time and force without header", Print { cells: "ts", above: "", ..PLAIN }),
        ("ms and force without header", Print { cells: "ts", above: "", delimiter: "\t", time: Time::Milliseconds, ..PLAIN }),
        ("one plate of three axes", Print { cells: "txxs", above: "time (s),Fx (N),Fy (N),Fz (N)\n", ..PLAIN }),
    ];
    for (name, print) in prints {
        let rate_hz = (print.time == Time::Absent).then_some(1000.0);
        let r = read(&print.bytes(&truth), &ReadOptions { rate_hz, ..ReadOptions::default() }).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(r.channels.len(), 1, "{name}");
        assert_eq!(r.channels[0].report.role, Role::Total, "{name}");
        assert_eq!(r.channels[0].force_n, total, "{name}");
        assert_eq!(r.clock.rate_hz, 1000.0, "{name}");
    }
}
