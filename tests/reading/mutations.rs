//! Thousands of damaged files: never a panic, never more samples than the bytes can hold, always the same by any way.
use super::truth::{Code, PLAIN, Print, Random, Time, check_same_by_any_way, read, truth};
use tarsal::recording::ReadOptions;

fn damage(bytes: &mut Vec<u8>, random: &mut Random) {
    let pieces: [&[u8]; 16] = [
        b",",
        b";",
        b"\n",
        b"\r",
        b"\"",
        b"\t",
        b" ",
        b"-",
        b"e9",
        b"NaN",
        b"99999999999999999999999999",
        b"\0",
        b"\xFF",
        b"time",
        b"1e308",
        b"0.0000000000000000000000000001",
    ];
    for _ in 0..=random.below(4) {
        let at = random.below(bytes.len() + 1);
        match random.below(6) {
            0 if at < bytes.len() => bytes[at] = random.next() as u8,
            1 => bytes.truncate(at),
            2 => {
                bytes.splice(at..at, pieces[random.below(pieces.len())].iter().copied());
            }
            3 => {
                let end = (at + random.below(40)).min(bytes.len());
                bytes.drain(at..end);
            }
            4 => {
                let end = (at + random.below(200)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = random.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            _ => {
                let end = (at + random.below(30)).min(bytes.len());
                bytes[at..end].reverse();
            }
        }
    }
}

#[test]
fn damaged_files_never_break_the_reader() {
    let truth = truth(0.06);
    let prints = [
        PLAIN,
        Print { delimiter: ";", mark: ',', above: "Rate: 1000 Hz\nZeit [ms];Links [N];Rechts [N]\n", time: Time::Milliseconds, ..PLAIN },
        Print { code: Code::Utf16Le, delimiter: "\t", above: "Time\tLeft\tRight\n", ..PLAIN },
        Print { quoted: true, above: "\"time\",\"left\",\"right\"\n", ..PLAIN },
        Print { delimiter: "  ", above: "", ..PLAIN },
        Print { cells: "s", above: "", ..PLAIN },
    ];
    let mut random = Random(0xDA_4A6E);
    let mut readable = 0;
    for k in 0..2400 {
        let mut bytes = prints[k % prints.len()].bytes(&truth);
        damage(&mut bytes, &mut random);
        let options = ReadOptions { rate_hz: (k % 3 == 0).then_some(1000.0), ..ReadOptions::default() };
        if let Ok(r) = read(&bytes, &options) {
            readable += 1;
            // Filled gaps are bounded by the rows that were read.
            assert!(r.len() <= 5 * bytes.len() + 10_000);
            assert!(r.channels.iter().all(|c| c.force_n.len() == r.len()));
            assert!(r.clock.rate_hz >= 10.0 && r.clock.rate_hz.is_finite());
            assert!(r.channels.iter().all(|c| c.force_n.iter().all(|x| !x.is_nan())));
        }
        check_same_by_any_way("damaged", &bytes, &options, &[1 + random.below(50)]);
    }
    assert!(readable > 300, "{readable}");
}
