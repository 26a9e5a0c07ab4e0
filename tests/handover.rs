//! What is handed over: links that hold everything and nothing private, hostile links, reports as files of their own, and
//! closed rows on every sheet. `TARSAL_FUZZ_S=600 cargo test --test handover -- fuzz --nocapture` runs the long fuzz.
#[path = "advice/cases.rs"]
#[allow(dead_code, reason = "the example uses the rest")]
mod cases;
#[path = "handover/clearance.rs"]
mod clearance;
#[path = "handover/sheet.rs"]
mod sheet;
#[path = "advice/squads.rs"]
#[allow(dead_code, reason = "the tests of advice use the rest")]
mod squads;

use std::time::{Duration, Instant};
use tarsal::advice::blocks::{Block, Edit, Target, Wanted, choices, plan};
use tarsal::advice::brief;
use tarsal::advice::exercises::EXERCISES;
use tarsal::advice::gates::{Before, CONDITIONS, GATES, InSession, Situation};
use tarsal::advice::qualities::QualityId;
use tarsal::advice::score::Answer;
use tarsal::charts::number::Locale;
use tarsal::cohort::{Draws as Draw, Scale};
use tarsal::people::{Athlete, Injury, InjuryKind, Side};
use tarsal::records::link::{Include, LONGEST, LinkError, PREFIX, decode, encode};
use tarsal::screen::judged::Aim;
use tarsal::views::report::{Paper, Reader, body, file};
use tarsal::views::{argument, block as block_view};

const ALL: Include = Include { name: true, injury_notes: true, coach_words: true };

#[test]
fn a_link_carries_the_summary_and_leaves_out_what_is_private() {
    for case in cases::all() {
        let link = encode(&case.brief, Include::default()).unwrap();
        println!("{}: {} letters", case.id, link.len());
        assert!(link.len() <= LONGEST && link.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)));
        let seen = decode(&format!("#{link}")).unwrap();
        assert_eq!(
            (&seen.name, seen.answer, &seen.sentence, seen.day),
            (&case.brief.name, case.brief.answer, &case.brief.sentence, case.brief.day)
        );
        assert_eq!(seen.standings.len(), case.brief.standings.len());
        for (a, b) in seen.standings.iter().zip(&case.brief.standings) {
            assert!((a.z - b.z).abs() < 1e-6 && a.quality == b.quality && a.n == b.n && a.others.is_empty());
        }
        assert!(seen.arguments.iter().all(|a| a.beside.is_empty()));
        let text = format!("{seen:?}");
        for word in ["surgery", "surgeon", "heavy squats; little", "clinician, by a dated"] {
            assert!(!text.contains(word), "{}: {word}", case.id);
        }
        // Closed rows stay closed for the receiver.
        let closed =
            |b: &brief::Brief| b.plan.as_ref().map_or(0, |p| p.rows.iter().filter(|r| !r.closed.is_empty() && r.doses.is_empty()).count());
        assert_eq!(closed(&seen), closed(&case.brief));
        let nameless = decode(&encode(&case.brief, Include { name: false, ..Include::default() }).unwrap()).unwrap();
        assert!(nameless.name.is_empty() && !body(&nameless, Reader::Coach, &Locale::default()).into_string().contains("Invented Athlete"));
        // Everything, when it is asked for.
        let whole = decode(&encode(&case.brief, ALL).unwrap()).unwrap();
        assert_eq!(whole.closed_tests, case.brief.closed_tests);
        assert_eq!(whole.arguments.first().map(|a| &a.beside), case.brief.arguments.first().map(|a| &a.beside));
        // The receiver's screen and reports are drawn from it.
        assert!(argument::screen(&seen, &Locale::default(), 400.0).into_string().contains(&maud::html! { (seen.sentence) }.into_string()));
    }
}

#[test]
fn a_full_summary_stays_under_eight_kilobytes_or_says_so() {
    let mut brief = cases::all().into_iter().find(|c| c.id == "closed").unwrap().brief;
    let mut draw = Draw::new(3);
    // Words that do not compress.
    let mut noise = |n: usize| (0..n).map(|_| char::from(b'a' + draw.place(26) as u8)).collect::<String>();
    for argument in &mut brief.arguments {
        for list in [&mut argument.speaks_for, &mut argument.against, &mut argument.otherwise] {
            list.extend((0..20).map(|_| tarsal::advice::argument::Statement { rule: noise(8), text: noise(150), source: noise(80) }));
        }
    }
    let link = encode(&brief, ALL).unwrap();
    assert!(link.len() <= LONGEST && decode(&link).is_ok(), "arguments give way");
    brief.next = (0..100).map(|_| noise(200)).collect();
    assert!(matches!(encode(&brief, ALL), Err(LinkError::TooLong(n)) if n > LONGEST));
}

#[test]
fn hostile_links_are_refused_within_bounds() {
    let good = encode(&cases::all()[0].brief, ALL).unwrap();
    assert_eq!(decode(""), Err(LinkError::NotALink));
    assert_eq!(decode("#trial-17"), Err(LinkError::NotALink));
    assert_eq!(decode("t2.abcdef"), Err(LinkError::Newer));
    assert_eq!(decode(PREFIX), Err(LinkError::Damaged));
    assert_eq!(decode(&format!("{PREFIX}{}", "A".repeat(1 << 20))), Err(LinkError::Damaged));
    for cut in [5, good.len() / 2, good.len() - 1] {
        assert_eq!(decode(&good[..cut]), Err(LinkError::Damaged), "cut at {cut}");
    }
    // A bomb: 20 MB of zeros in a few kB.
    let bomb = miniz_oxide::deflate::compress_to_vec(&vec![0_u8; 5 << 20], 9);
    assert_eq!(decode(&link_of(&bomb)), Err(LinkError::Damaged));
    // Counts and lengths that promise more than there is.
    for bytes in [&[0xff_u8, 0xff, 0xff, 0xff, 0x0f][..], &[0x05, b'a'], &[0x00, 0xff, 0xff, 0xff, 0xff, 0xff]] {
        let mut all = bytes.to_vec();
        all.extend(sum(bytes).to_le_bytes());
        assert_eq!(decode(&link_of(&miniz_oxide::deflate::compress_to_vec(&all, 6))), Err(LinkError::Damaged));
    }
}

fn link_of(packed: &[u8]) -> String {
    use base64::Engine;
    format!("{PREFIX}{}", base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(packed))
}

/// FNV-1a again, so that mutated bytes get past the sum and reach the reader.
fn sum(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0x811c_9dc5, |s, b| (s ^ u32::from(*b)).wrapping_mul(0x0100_0193))
}

/// The process's highest resident memory so far, kB; 0 where the system does not say.
fn peak_kb() -> u64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find(|l| l.starts_with("VmHWM"));
    line.and_then(|l| l.split_whitespace().nth(1)).and_then(|n| n.parse().ok()).unwrap_or(0)
}

#[test]
fn fuzz_the_link_decoder() {
    let seconds = std::env::var("TARSAL_FUZZ_S").ok().and_then(|s| s.parse().ok()).unwrap_or(2);
    let goods: Vec<Vec<u8>> = cases::all()
        .iter()
        .map(|c| {
            use base64::Engine;
            let link = encode(&c.brief, ALL).unwrap();
            let packed = base64::engine::general_purpose::URL_SAFE_NO_PAD.decode(&link[PREFIX.len()..]).unwrap();
            let bytes = miniz_oxide::inflate::decompress_to_vec(&packed).unwrap();
            bytes[..bytes.len() - 4].to_vec()
        })
        .collect();
    let (before, end, mut draw) = (peak_kb(), Instant::now() + Duration::from_secs(seconds), Draw::new(1));
    let (mut tried, mut read) = (0_u64, 0_u64);
    while Instant::now() < end {
        for _ in 0..50 {
            let mut bytes = goods[draw.place(goods.len())].clone();
            for _ in 0..=draw.place(6) {
                let at = draw.place(bytes.len());
                match draw.place(5) {
                    0 => bytes[at] = draw.place(256) as u8,
                    1 => bytes[at] ^= 1 << draw.place(8),
                    2 => bytes.truncate(at.max(1)),
                    3 => bytes.insert(at, draw.place(256) as u8),
                    _ => {
                        let piece = bytes[at..(at + draw.place(40)).min(bytes.len())].to_vec();
                        let to = draw.place(bytes.len());
                        bytes.splice(to..to, piece);
                    }
                }
            }
            let text = if draw.place(4) == 0 {
                // Mutated letters instead of mutated content.
                let packed = miniz_oxide::deflate::compress_to_vec(&bytes, 1);
                let mut letters: Vec<u8> = link_of(&packed).into_bytes();
                let at = draw.place(letters.len());
                letters[at] = draw.place(128) as u8;
                String::from_utf8_lossy(&letters).into_owned()
            } else {
                let check = sum(&bytes);
                bytes.extend(check.to_le_bytes());
                link_of(&miniz_oxide::deflate::compress_to_vec(&bytes, 1))
            };
            tried += 1;
            if let Ok(brief) = decode(&text) {
                read += 1;
                // What is let in can be drawn.
                let _ = argument::screen(&brief, &Locale::default(), 360.0).into_string();
                let _ = file(&brief, Reader::Coach, Paper::A4, &Locale::default());
                let _ = file(&brief, Reader::Athlete, Paper::Letter, &Locale::default());
            }
        }
    }
    let grown = peak_kb().saturating_sub(before);
    println!("{tried} links in {seconds} s, {read} read and drawn, no panic; memory grew by {grown} kB");
    assert!(tried > 100 && grown < 64 * 1024, "{grown} kB");
}

#[test]
fn reports_are_files_that_need_nothing_else() {
    for case in cases::all() {
        for reader in [Reader::Coach, Reader::Athlete] {
            for (paper, size) in [(Paper::A4, "size: A4"), (Paper::Letter, "size: letter")] {
                let html = file(&case.brief, reader, paper, &Locale { decimal: ',', ..Locale::default() });
                assert!(html.starts_with("<!DOCTYPE html>") && html.contains(size) && html.contains("<svg"));
                for word in ["<script", "http:", "https:", "<link", "<img", "url(", "@import", "NaN", "inf "] {
                    assert!(!html.contains(word), "{}: {word}", case.id);
                }
                assert!(!html.contains(" style="), "no style attributes, so the page may print it under its policy");
                assert!(html.contains("no diagnosis") && html.contains("Invented data"));
                assert!(html.contains("SD"));
            }
        }
        let coach = file(&case.brief, Reader::Coach, Paper::A4, &Locale::default());
        let plain = file(&case.brief, Reader::Athlete, Paper::A4, &Locale::default());
        assert!(coach.contains(&maud::html! { (case.brief.sentence) }.into_string()) && coach.contains("Stop the session when pain rises"));
        for word in ["typical error", "reactive strength", "P(", "Crawford", " kg</p>", "surgery"] {
            assert!(!plain.contains(word), "the athlete's page says {word:?}");
        }
    }
}

/// Without a group nothing is placed, and yet each figure stands with its days.
#[test]
fn a_report_of_somebody_alone_has_his_figures() {
    let case = cases::all().remove(0);
    let mut alone = case.tables.clone();
    alone.iter_mut().for_each(|t| t.rows.retain(|r| r.athlete == 0 && r.day <= squads::TODAY));
    let asked = squads::asked(&alone, 1);
    let situation = Situation::new(&case.athlete, squads::TODAY);
    let about = brief::About { name: "Invented Athlete", group: "nobody yet", invented: true, history: "" };
    let brief = brief::brief(&about, &asked, &tarsal::advice::score::read(&asked), None, &situation);
    let height = brief.figures.iter().find(|f| f.figure == "jump_height").expect("a jump height");
    assert!(height.value > 0.0 && !height.placed());
    let centimetres = Locale::default().fixed(100.0 * height.value, 1);
    for reader in [Reader::Coach, Reader::Athlete] {
        let report = body(&brief, reader, &Locale::default()).into_string();
        assert!(report.contains(&centimetres), "{centimetres}: {report}");
        assert!(!report.contains("SD from the group") && !report.contains("of the group: forces"), "nobody to be placed among: {report}");
    }
    // A link carries it.
    let read = decode(&encode(&brief, ALL).unwrap()).unwrap();
    assert!(read.figures.iter().all(|f| !f.placed() && f.value > 0.0));
}

/// An athlete for whom a gate stands, as in the tests of gates.
fn behind(gate: &str) -> (Athlete, Situation<'static>) {
    let day = squads::TODAY;
    let mut athlete = Athlete { birth_year: Some(1998), training_years: Some(5.0), ..Athlete::default() };
    let nobody: &'static Athlete = Box::leak(Box::default());
    let mut s = Situation::new(nobody, day);
    let mut injury = |kind| athlete.injuries.push(Injury { date: day.plus_days(-100), side: Side::Left, kind, note: String::new() });
    match gate {
        "pain_now" => s.before = Some(Before { date: day, pain: 5, swelling: false, giving_way: false, limited: false }),
        "knee_surgery" | "knee_entry" => injury(InjuryKind::KneeLigamentSurgery),
        "surgery" => injury(InjuryKind::OtherSurgery),
        "young_and_new" => athlete.birth_year = Some(2011),
        "too_soon" => s.last_impact = Some(day.plus_days(-1)),
        "slow_contact" => s.drop_contact_s = Some(0.3),
        "condition" => athlete.conditions.push(CONDITIONS[5].0.into()),
        "session_turned" => s.in_session = InSession { swelling: true, ..InSession::default() },
        other => panic!("no case for {other}"),
    }
    if gate == "young_and_new" {
        athlete.training_years = Some(0.3);
    }
    (athlete, s)
}

#[test]
fn every_gate_closes_every_row_on_screen_in_print_and_in_the_list() {
    let locale = Locale::default();
    let mut closed_cells = 0;
    for gate in GATES {
        let (athlete, with) = behind(gate.id);
        let s = Situation { athlete: &athlete, ..with };
        for e in EXERCISES {
            let should = e.demands.iter().any(|a| gate.closes.contains(a));
            let wanted = Wanted {
                id: "b",
                answer: Answer::NotEnough,
                starts: s.today.plus_days(2),
                tested_on: s.today,
                test_contacts: 0,
                targets: vec![],
            };
            let mut block: Block = plan(&wanted, vec![], &s);
            // The row was there before the gate stood.
            let free = Athlete { birth_year: Some(1998), training_years: Some(5.0), ..Athlete::default() };
            let before = Situation { drop_contact_s: Some(0.2), ..Situation::new(&free, s.today) };
            block.rows.clear();
            if gate.id == "too_soon" {
                // Two days later it would be open.
                block.starts = s.today;
            }
            let block = block.apply(&Edit::Add { exercise: e.id.into() }, &before).unwrap();
            let marked = block.apply(&Edit::Load { row: 0, load: "load-that-was-set".into() }, &before).unwrap();
            let print = block_view::sheet(&brief::plan(&marked, &s), &locale).into_string();
            let screen = block_view::editor(&marked, &marked.view(&s), &choices(&s), &[], None, &locale).into_string();
            assert_eq!(print.contains(gate.reason), should, "print: {} × {}", gate.id, e.id);
            if should {
                closed_cells += 1;
                assert!(!print.contains("load-that-was-set") && !screen.contains("load-that-was-set"), "{} × {}", gate.id, e.id);
                assert!(screen.contains(gate.reason) && !screen.contains("block-0-sets-0") && print.contains(gate.who));
                assert!(marked.apply(&Edit::Sets { row: 0, week: 0, sets: 3 }, &s).is_err());
            }
        }
    }
    println!(
        "{closed_cells} closed cells of {} gates × {} categories, on screen, in print and in the list to add from",
        GATES.len(),
        EXERCISES.len()
    );
}

#[test]
fn a_field_and_what_is_typed_make_an_edit() {
    let edit = |template: &str, field: &str, typed: &str| block_view::edit_with(template, field, typed);
    assert_eq!(edit(r#"{"edit":"sets","row":1,"week":0}"#, "sets", " 4 "), Some(Edit::Sets { row: 1, week: 0, sets: 4 }));
    assert_eq!(edit(r#"{"edit":"box","row":2}"#, "box_m", "30"), Some(Edit::Box { row: 2, box_m: 0.3 }));
    assert_eq!(edit(r#"{"edit":"row_note","row":0}"#, "note", "{\"x\":1}"), Some(Edit::RowNote { row: 0, note: "{\"x\":1}".into() }));
    assert_eq!(edit(r#"{"edit":"reduce","line":0}"#, "text", ""), Some(Edit::Reduce { line: 0, text: String::new() }));
    let day = tarsal::people::Date::parse("2026-03-01").unwrap();
    assert_eq!(edit(r#"{"edit":"starts"}"#, "day", "2026-03-01"), Some(Edit::Starts { day }));
    for (template, field, typed) in [
        (r#"{"edit":"sets","row":1,"week":0}"#, "sets", "-1"),
        (r#"{"edit":"sets","row":1,"week":0}"#, "sets", "1e99"),
        (r#"{"edit":"sets","row":-1,"week":0}"#, "sets", "1"),
        (r#"{"edit":"sets"}"#, "sets", "1"),
        (r#"{"edit":"starts"}"#, "day", "soon"),
        ("[]", "sets", "1"),
        ("", "", ""),
    ] {
        assert_eq!(edit(template, field, typed), None, "{template} {typed}");
    }
    // Every template and every button of an editor is an edit.
    let case = cases::all().into_iter().find(|c| c.id == "one").unwrap();
    let s = Situation::new(&case.athlete, squads::TODAY);
    let block = case.block.unwrap();
    let target = |figure: &str| Target { figure: figure.into(), ..block.targets[0].clone() };
    let aim = |target: Target| Aim { quality: QualityId::Rebound, target, scale: Scale::Log, worthwhile: Some(0.03) };
    let aims = [aim(block.targets[0].clone()), aim(target("jump_height")), aim(target("contact_time"))];
    let html = block_view::editor(&block, &block.view(&s), &choices(&s), &aims, None, &Locale::default()).into_string();
    let attributes = |name: &str, from: &str| -> Vec<String> {
        html.split(from)
            .skip(1)
            .filter_map(|rest| rest.split_once(&format!(" {name}=\""))?.1.split_once('"').map(|v| v.0.replace("&quot;", "\"")))
            .collect()
    };
    let buttons = attributes("data-id", "data-do=\"block-edit\"");
    assert!(buttons.len() > 20 && buttons.iter().all(|b| serde_json::from_str::<Edit>(b).is_ok()));
    let (names, templates) = (attributes("data-field", "data-do=\"block-field\""), attributes("data-id", "data-do=\"block-field\""));
    assert!(names.len() == templates.len() && names.len() > 20);
    for (name, template) in names.iter().zip(&templates) {
        let typed = match name.as_str() {
            "day" => "2026-12-01",
            "target" => "",
            _ => "3",
        };
        assert!(edit(template, name, typed).is_some(), "{template} {name}");
    }
    // What a target's choice offers is a target each, said with what would be worth the while before it is chosen; a figure that
    // is a target already is not offered again. Every row may be swapped.
    let (place, swap) = (r#"{"edit":"target","place":1}"#, r#"{"edit":"swap","row":0}"#);
    let select = |template: &str| {
        let from = html.split(&template.replace('"', "&quot;")).nth(1).unwrap_or_else(|| panic!("{template}"));
        let options: Vec<String> = from.split("</select>").next().unwrap().split("<option").skip(1).map(str::to_owned).collect();
        options.into_iter().map(|o| (o.split('"').nth(1).unwrap_or_default().replace("&quot;", "\""), o)).collect::<Vec<_>>()
    };
    let offered = select(place);
    let made: Vec<_> = offered.iter().filter_map(|o| edit(place, "target", &o.0)).collect();
    assert!(made.len() == offered.len() && made.contains(&Edit::Target { place: 1, target: Some(target("contact_time")) }), "{offered:?}");
    assert!(
        offered.iter().any(|o| o.1.contains("worthwhile from 3.0\u{a0}%") || o.1.contains("worthwhile from 3,0\u{a0}%")),
        "{offered:?}"
    );
    assert!(!made.contains(&Edit::Target { place: 1, target: Some(block.targets[0].clone()) }));
    assert!(select(swap).iter().all(|o| matches!(edit(swap, "exercise", &o.0), Some(Edit::Swap { row: 0, .. }))));
    assert_eq!(edit(place, "target", "no target"), None);
    // The same figure twice is refused.
    let twice = Edit::Target { place: 1, target: Some(block.targets[0].clone()) };
    assert!(block.apply(&twice, &s).is_err_and(|why| why.reason.contains("very figure")));
}
