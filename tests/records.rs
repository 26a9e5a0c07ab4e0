//! What is stored comes back as it was, and what cannot be read says so and is left alone.
mod fixture;

use indexmap::IndexMap;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use tarsal::answer::{Options, analyze};
use tarsal::invented::{Random, demo_files};
use tarsal::people::{Athlete, Date, Session};
use tarsal::records::backup::{BackupError, FORMAT, Found, Header, Reader, Store, Writer, items, put_item};
use tarsal::records::merge::{Fate, Graves, gather, take_theirs};
use tarsal::records::tidy::{self, Flavour};
use tarsal::records::tombstone::{Tombstone, Tombstones, mark};
use tarsal::records::{
    Envelope, Head, Kept, Record, RecordError, SavedTrial, WindowHead, decode, decode_trial, heads_from_bytes, heads_to_bytes, migrate,
    pack, table, trial_id, unpack,
};

type Outcome = Result<(), Box<dyn std::error::Error>>;

#[test]
fn a_trial_comes_back_bit_for_bit() -> Outcome {
    let (mut saved, window) = (fixture::moved(), fixture::window());
    saved.trial.start_s = 0.1 + 0.2;
    saved.athlete_id = Some("athlete-1".into());
    for (head, bytes) in
        [WindowHead::packed(&window), (WindowHead::of(&window), pack(window.channels.iter().map(|c| c.force_n.as_slice())))]
    {
        saved.window = head;
        let text = saved.to_text();
        let back = decode_trial(&text)?;
        assert_eq!(back, saved);
        assert_eq!(back.window.join(&bytes)?, window);
        assert_eq!(back.to_text(), text);
    }
    Ok(())
}

#[test]
fn a_real_window_packs_to_a_quarter() {
    let demo = demo_files();
    let analysis = analyze("a.csv", demo[0].text.as_bytes(), &Options::default());
    let (mut samples, mut bytes) = (0, 0);
    for window in &analysis.windows {
        let (head, packed) = WindowHead::packed(window);
        assert_eq!(head.join(&packed).as_ref(), Ok(window));
        samples += window.len() * window.channels.len();
        bytes += packed.len();
    }
    println!("{bytes} bytes for {samples} samples: {:.3} each", bytes as f64 / samples as f64);
    assert!(bytes * 10 < samples * 13);
}

#[test]
fn fields_of_another_version_are_kept() -> Outcome {
    let text = fixture::saved().to_text().replacen('{', "{\"shoe\":\"barefoot\",", 1);
    assert!(decode_trial(&text)?.to_text().contains("\"shoe\":\"barefoot\""));
    let athlete = Record::Athlete(Kept::new("athlete", "a-1", Athlete { id: "a-1".into(), name: "A".into(), ..Athlete::default() }, "now"));
    let mut value: Value = serde_json::from_str(&athlete.to_text())?;
    value["body"]["favourite_shoe"] = json!("left");
    value["ribbon"] = json!({ "red": [1, 2] });
    let back = decode(&value.to_string())?;
    assert_eq!(serde_json::from_str::<Value>(&back.to_text())?, value);
    Ok(())
}

#[test]
fn an_athletes_conditions_come_back_with_their_days_and_older_ones_without() -> Outcome {
    let body = Athlete { id: "a-1".into(), name: "A".into(), conditions: vec!["illness".into()], ..Athlete::default() };
    let mut athlete = Kept::new("athlete", "a-1", body, "now");
    let older = Record::Athlete(athlete.clone()).to_text();
    assert!(!older.contains("conditions_noted"), "what was never dated is written as before");
    assert_eq!(decode(&older)?, Record::Athlete(athlete.clone()));
    athlete.body.conditions_noted.insert("illness".into(), Date(20_000));
    assert_eq!(decode(&Record::Athlete(athlete.clone()).to_text())?, Record::Athlete(athlete));
    Ok(())
}

#[test]
fn every_kind_comes_back() -> Outcome {
    let session = Kept::new("session", "s-1", Session::on(Date(20_000)), "now");
    let block = Kept::new("block", "b-1", json!({ "athlete_id": "a-1", "weeks": 3 }), "now");
    for record in [Record::Session(session), Record::Block(block), Record::Trial(Rc::new(fixture::saved()))] {
        assert_eq!(decode(&record.to_text())?, record);
    }
    Ok(())
}

#[test]
fn damaged_foreign_newer_and_short_records_say_so() {
    let text = fixture::saved().to_text();
    assert!(matches!(decode(text.get(..40).unwrap_or_default()), Err(RecordError::Damaged(_))));
    assert!(matches!(decode(&text.replace("\"kind\":\"trial\"", "\"kind\":\"song\"")), Err(RecordError::Kind(_))));
    assert!(matches!(decode(&text.replacen("\"schema\":2", "\"schema\":99", 1)), Err(RecordError::Newer(_))));
    let head = fixture::saved().window;
    assert_eq!(head.join(&[0; 12]), Err(RecordError::Samples));
    assert_eq!(unpack(&[], usize::MAX, usize::MAX), None);
}

#[test]
fn the_same_trial_has_the_same_key() {
    assert_eq!(trial_id("0123456789abcdef99", 1.5), "0123456789abcdef-1500");
    assert_eq!(trial_id("", -1.0), "-0");
}

/// The text that form 1 wrote for the fixture's trial.
fn form_1(name: Option<&str>) -> String {
    let mut value: Value = serde_json::from_str(&fixture::saved().to_text()).unwrap();
    let map = value.as_object_mut().unwrap();
    for new in ["athlete_id", "session_id", "protocol", "protocol_key"] {
        map.remove(new);
    }
    map["window"].as_object_mut().unwrap().remove("packing");
    map.insert("schema".into(), json!(1));
    map.insert("athlete".into(), json!(name));
    value.to_string()
}

#[test]
fn form_1_becomes_form_2_the_same_way_each_time() -> Outcome {
    let old = form_1(Some("Jo  O’Hara"));
    assert_eq!(migrate::name_in(&old).as_deref(), Some("Jo  O’Hara"));
    let trial = decode_trial(&old)?;
    let athlete = migrate::athlete("jo o hara", "2026-01-01T00:00:00Z");
    assert_eq!(trial.athlete_id.as_ref(), Some(&athlete.envelope.id));
    assert_eq!((trial.envelope.schema, trial.other.is_empty()), (2, true));
    assert_eq!(decode_trial(&trial.to_text())?, trial);
    let unfiled = decode_trial(&form_1(None))?;
    assert_eq!(unfiled, fixture::saved());
    // The second form is never taken for the first.
    assert_eq!(migrate::name_in(&trial.to_text()), None);
    Ok(())
}

fn many(count: u64) -> Vec<SavedTrial> {
    let mut random = Random::new(11);
    let trial = |i| {
        let mut saved = fixture::saved();
        saved.envelope = Envelope { rev: i + 1, ..Envelope::new("trial", &format!("{:016x}-{i}", random.bits()), "1.0", "now") };
        saved.athlete_id = (i % 3 > 0).then(|| format!("athlete-{}", i % 3));
        saved.trial.figures["jump_height"].value = (i % 5 > 0).then(|| random.between(0.2, 0.5));
        saved
    };
    (0..count).map(trial).collect()
}

#[test]
fn heads_come_back_and_a_cut_is_noticed() {
    let heads: Vec<Head> = many(40).iter().map(Head::of).collect();
    let bytes = heads_to_bytes(heads.iter());
    let back = heads_from_bytes(&bytes).unwrap();
    // NaN is not equal to itself, so the texts are compared.
    assert_eq!(format!("{back:?}"), format!("{heads:?}"));
    for cut in 0..bytes.len() {
        assert!(heads_from_bytes(&bytes[..cut]).is_none(), "{cut}");
    }
    assert!(heads_from_bytes(&[1, 255, 255, 255, 255]).is_none());
}

/// Random saves and erasures: the table brought up to date equals the table made from nothing.
#[test]
fn a_renewed_table_equals_one_made_from_nothing() {
    let mut random = Random::new(3);
    let pool = many(60);
    let (mut heads, mut column): (Vec<Head>, Vec<f64>) = (Vec::new(), Vec::new());
    let mut truth: IndexMap<String, SavedTrial> = IndexMap::new();
    for _ in 0..50 {
        let mut pick = |n: u64| (random.bits() % n) as usize;
        let (mut changed, mut gone): (Vec<SavedTrial>, BTreeSet<String>) = (Vec::new(), BTreeSet::new());
        for _ in 0..pick(8) {
            let mut trial = pool[pick(60)].clone();
            trial.trial.figures["jump_height"].value = Some(pick(1000) as f64);
            if pick(4) == 0 {
                gone.insert(trial.envelope.id.clone());
            } else if !changed.iter().any(|c| c.envelope.id == trial.envelope.id) {
                changed.push(trial);
            }
        }
        changed.retain(|t| !gone.contains(&t.envelope.id));
        gone.iter().for_each(|id| drop(truth.shift_remove(id)));
        truth.extend(changed.iter().map(|t| (t.envelope.id.clone(), t.clone())));
        let renewal = table::renew(&heads, &changed, &gone);
        column = renewal.column("jump_height", &column, &changed);
        heads = renewal.heads;
        let all: Vec<SavedTrial> = truth.values().cloned().collect();
        let fresh = table::renew(&[], &all, &BTreeSet::new());
        assert_eq!(format!("{heads:?}"), format!("{:?}", fresh.heads));
        assert_eq!(format!("{column:?}"), format!("{:?}", fresh.column("jump_height", &[], &all)));
    }
}

/// The fate of an incoming record where nothing was ever erased.
fn compare(mine: Option<&str>, theirs: &str) -> Fate {
    tarsal::records::merge::compare("key", mine, theirs, NOTHING_ERASED)
}

static NO_STONES: Tombstones = Tombstones(BTreeMap::new());
static NOBODY: BTreeSet<String> = BTreeSet::new();
const NOTHING_ERASED: Graves<'static> = Graves { stones: &NO_STONES, back: &NOBODY };

#[test]
fn merging_takes_the_new_leaves_the_same_and_shows_what_differs() -> Outcome {
    let mine = fixture::saved();
    let text = mine.to_text();
    assert!(matches!(compare(None, &text), Fate::New(taken) if taken == text));
    let mut copy = mine.clone();
    copy.envelope.rev = 7;
    copy.envelope.updated = "later".into();
    assert_eq!(compare(Some(&text), &copy.to_text()), Fate::Same);
    assert_eq!(compare(Some(&text), &form_1(None)), Fate::Same);
    copy.athlete_id = Some("athlete-9".into());
    let Fate::Differs(conflict) = compare(Some(&text), &copy.to_text()) else { return Err("no conflict".into()) };
    assert_eq!((conflict.fields.as_slice(), conflict.theirs.as_str()), (["athlete_id".to_owned()].as_slice(), "later"));
    assert_eq!(decode(&take_theirs(&copy.to_text(), 4, NOTHING_ERASED)?)?.envelope().rev, 5);
    // What is damaged or newer is kept where nothing is lost by it, and else left out.
    let newer = text.replacen("\"schema\":2", "\"schema\":99", 1);
    assert!(matches!(compare(None, &newer), Fate::New(taken) if taken == newer));
    assert!(matches!(compare(Some(&text), &newer), Fate::LeftOut(_)));
    Ok(())
}

#[test]
fn what_was_erased_stays_erased_unless_it_is_chosen_back() -> Outcome {
    let ada =
        Record::Athlete(Kept::new("athlete", "a-1", Athlete { id: "a-1".into(), name: "Ada".into(), ..Athlete::default() }, "2026-01-05"));
    let mut trial = fixture::saved();
    trial.athlete_id = Some("a-1".into());
    trial.envelope.updated = "2026-03-03T00:00:00Z".into();
    let trial = Record::Trial(Rc::new(trial));
    let mut day = Kept::new("session", "s-1", Session::on(Date(20_000)), "now");
    day.body.athletes = vec!["a-1".into(), "a-2".into()];
    let stone = Tombstone { day: Date::parse("2026-02-01").ok_or("a day")?, rev: 6 };
    assert_eq!(Tombstone::of_text(&stone.to_text()), Some(stone));
    // Neither the key nor anything of the record is in it.
    assert!(mark("a-1").len() == 32 && !mark("a-1").contains("a-1"), "{}", mark("a-1"));
    let stones = Tombstones([(mark("a-1"), stone)].into());
    let (nobody, ada_back) = (BTreeSet::new(), BTreeSet::from(["a-1".to_owned()]));
    let fate = |mine: Option<&str>, record: &Record, back| {
        tarsal::records::merge::compare(record.id(), mine, &record.to_text(), Graves { stones: &stones, back })
    };
    let mut erased = Vec::new();
    for record in [&ada, &trial] {
        let Fate::Erased(one) = fate(None, record, &nobody) else { return Err("taken".into()) };
        gather(&mut erased, *one);
    }
    // One line for the athlete and everything of his; a trial was changed after the day.
    assert_eq!((erased.len(), erased[0].what.as_str(), erased[0].records, erased[0].later), (1, "athlete Ada", 2, true));
    assert_eq!((erased[0].owner.as_str(), erased[0].day), ("a-1", stone.day));
    // Chosen back, both come, and count on from where they were erased.
    for record in [&ada, &trial] {
        let Fate::New(text) = fate(None, record, &ada_back) else { return Err("not taken".into()) };
        assert_eq!(decode(&text)?.envelope().rev, 7);
    }
    // A test day comes without him, and is then the same as the one here.
    let Fate::New(text) = fate(None, &Record::Session(day.clone()), &nobody) else { return Err("not taken".into()) };
    let Record::Session(here) = decode(&text)? else { return Err("no session".into()) };
    assert_eq!(here.body.athletes, ["a-2"]);
    assert_eq!(fate(Some(&text), &Record::Session(day), &nobody), Fate::Same);
    // What cannot be opened but was erased is not let in either.
    let damaged = tarsal::records::merge::compare("a-1", None, "{", Graves { stones: &stones, back: &nobody });
    assert!(matches!(damaged, Fate::LeftOut(_)));
    Ok(())
}

#[test]
fn a_backup_of_form_1_is_still_read() -> Outcome {
    let mut writer = Writer::default();
    let mut payload = Vec::new();
    put_item(&mut payload, Store::Record, "key", fixture::saved().to_text().as_bytes());
    let mut old = writer.begin(&Header { format: 1, schema: 2, lock: None });
    old.extend(writer.data(&payload, 1));
    old.extend(writer.end());
    assert!(old.starts_with(b"tarsal-backup 1\n"));
    assert_eq!(read(&old, 7), (vec![payload], Ok(())));
    // A file whose header and first line do not agree is of no form.
    let mut mixed = Writer::default().begin(&Header { format: 1, schema: 2, lock: None });
    mixed[14] = b'2';
    assert_eq!(read(&mixed, 7).1, Err(BackupError::Newer));
    Ok(())
}

fn backup() -> Vec<u8> {
    let mut writer = Writer::default();
    let mut file = writer.begin(&Header { format: FORMAT, schema: 2, lock: None });
    let mut stones = Vec::new();
    put_item(&mut stones, Store::Tombstone, &mark("gone"), Tombstone { day: Date(20_000), rev: 3 }.to_text().as_bytes());
    file.extend(writer.data(&stones, 1));
    for i in 0..5_u8 {
        let mut payload = Vec::new();
        let (head, samples) = WindowHead::packed(&fixture::window());
        let saved = SavedTrial { window: head, ..fixture::saved() };
        put_item(&mut payload, Store::Record, &format!("key-{i}"), saved.to_text().as_bytes());
        put_item(&mut payload, Store::Samples, &format!("key-{i}"), &if i == 0 { Vec::new() } else { samples });
        file.extend(writer.data(&payload, 2));
    }
    file.extend(writer.end());
    file
}

/// Reads in pieces of one size; the payloads found, and the verdict.
fn read(file: &[u8], piece: usize) -> (Vec<Vec<u8>>, Result<(), BackupError>) {
    let mut reader = Reader::default();
    let mut payloads = Vec::new();
    for bytes in file.chunks(piece) {
        match reader.feed(bytes) {
            Ok(found) => {
                payloads.extend(found.into_iter().filter_map(|f| if let Found::Data(_, payload) = f { Some(payload) } else { None }))
            }
            Err(error) => return (payloads, Err(error)),
        }
    }
    (payloads, reader.finish())
}

#[test]
fn a_backup_is_read_in_any_pieces_and_written_again_the_same() {
    let file = backup();
    let (whole, verdict) = read(&file, file.len());
    assert_eq!((whole.len(), verdict), (6, Ok(())));
    for piece in [1, 3, 37, 1000] {
        assert_eq!(read(&file, piece), (whole.clone(), Ok(())));
    }
    let mut writer = Writer::default();
    let mut again = writer.begin(&Header { format: FORMAT, schema: 2, lock: None });
    for payload in &whole {
        let items = items(payload).unwrap();
        let mut out = Vec::new();
        items.iter().for_each(|i| put_item(&mut out, i.store, &i.key, &i.value));
        again.extend(writer.data(&out, items.len() as u64));
    }
    again.extend(writer.end());
    assert_eq!(again, file);
}

#[test]
fn a_cut_changed_or_foreign_backup_says_so() {
    let file = backup();
    for cut in (17..file.len()).step_by(101) {
        assert!(matches!(read(&file[..cut], 64).1, Err(BackupError::Cut(_))), "{cut}");
    }
    assert_eq!(read(b"time,left,right\n1,2,3\n", 8).1, Err(BackupError::Foreign));
    assert_eq!(read(b"tarsal-backup 3\nxxxx", 8).1, Err(BackupError::Newer));
    // Found by the fuzz below (seed 9304724): one bit makes the end's kind data's.
    let end = file.windows(10).rposition(|w| w == br#"{"frames":"#).unwrap() - 5;
    let mut flipped = file.clone();
    flipped[end] = b'D';
    let (payloads, verdict) = read(&flipped, 64);
    assert!(payloads.len() == 6 && matches!(verdict, Err(BackupError::Damaged(_))), "{verdict:?}");
    let mut longer = file.clone();
    longer.push(0);
    assert!(matches!(read(&longer, 64).1, Err(BackupError::Damaged(_))));
}

/// Seeded damage for a second, or for `TARSAL_FUZZ_S` seconds: whatever comes out is a true prefix of what was written. Every
/// second time the damage is done before the frames get their digests, so that it reaches what reads items, records and
/// samples. Neither may ask for much more memory than the file is long.
#[test]
fn damage_never_gets_through() {
    let seconds = std::env::var("TARSAL_FUZZ_S").ok().and_then(|s| s.parse().ok()).unwrap_or(1.0);
    let from = std::env::var("TARSAL_FUZZ_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(0);
    let (file, began, mut seed) = (backup(), std::time::Instant::now(), from);
    let (whole, _) = read(&file, 4096);
    let (before, mut records, mut windows) = (peak_kb(), 0_u64, 0_u64);
    while began.elapsed().as_secs_f64() < seconds {
        seed += 1;
        let mut random = Random::new(seed);
        let piece = 1 + (random.bits() % 5000) as usize;
        if seed % 2 == 0 {
            let mut bad = file.clone();
            spoil(&mut bad, &mut random);
            let (payloads, verdict) = read(&bad, piece);
            assert!(payloads.iter().zip(&whole).all(|(a, b)| a == b) && payloads.len() <= whole.len(), "seed {seed}");
            assert!(verdict.is_err() || bad == file, "seed {seed}: {verdict:?}, {} against {} bytes", bad.len(), file.len());
            continue;
        }
        let mut payload = whole[(random.bits() % whole.len() as u64) as usize].clone();
        if seed % 4 == 1 {
            spoil(&mut payload, &mut random);
        } else {
            // Within whole items, so that what they hold is read.
            let mut held = items(&payload).expect("as written");
            held.iter_mut()
                .filter(|_| !random.bits().is_multiple_of(3))
                .collect::<Vec<_>>()
                .into_iter()
                .for_each(|i| spoil(&mut i.value, &mut random));
            payload.clear();
            held.iter().for_each(|i| put_item(&mut payload, i.store, &i.key, &i.value));
        }
        let mut writer = Writer::default();
        let mut signed = writer.begin(&Header { format: 1, schema: 2, lock: None });
        signed.extend(writer.data(&payload, 2));
        signed.extend(writer.end());
        for payload in read(&signed, piece).0 {
            let Some(items) = items(&payload) else { continue };
            let samples: Vec<&[u8]> = items.iter().filter(|i| i.store == Store::Samples).map(|i| &i.value[..]).collect();
            for text in items.iter().filter(|i| i.store == Store::Record).filter_map(|i| std::str::from_utf8(&i.value).ok()) {
                let Ok(record) = decode(text) else { continue };
                records += 1;
                let _ = compare(None, text);
                if let Record::Trial(saved) = record {
                    windows += samples.iter().filter(|s| saved.window.join(s).is_ok()).count() as u64;
                }
            }
        }
    }
    let grown = peak_kb().saturating_sub(before);
    println!("{} damaged files in {seconds} s, {records} records and {windows} windows read; memory grew by {grown} kB", seed - from);
    assert!(grown < 64 * 1024, "{grown} kB");
}

/// One to four flipped bits, cuts, insertions and deletions.
fn spoil(bad: &mut Vec<u8>, random: &mut Random) {
    for _ in 0..1 + random.bits() % 4 {
        let at = (random.bits() % bad.len().max(1) as u64) as usize;
        if bad.is_empty() {
            break;
        }
        match random.bits() % 5 {
            0 => bad[at] ^= 1 << (random.bits() % 8),
            1 => bad.truncate(at.max(1)),
            2 => drop(bad.splice(at..at, (0..random.bits() % 40).map(|i| i as u8))),
            // Digits in JSON are counts and lengths as often as not.
            3 => drop(bad.splice(at..at, (0..random.bits() % 12).map(|_| b'9'))),
            _ => drop(bad.drain(at..(at + 1 + (random.bits() % 50) as usize).min(bad.len()))),
        }
    }
}

/// The process's highest resident memory so far, kB; 0 where the system does not say.
fn peak_kb() -> u64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find(|l| l.starts_with("VmHWM"));
    line.and_then(|l| l.split_whitespace().nth(1)).and_then(|n| n.parse().ok()).unwrap_or(0)
}

#[test]
fn tables_guard_formulas_and_speak_both_decimal_marks() {
    let mut saved = fixture::saved();
    saved.file = "=cmd|'/c calc'!A1".into();
    let mut plain = String::new();
    tidy::rows(&mut plain, &saved, "@SUM(1,2)", "2026-01-02", Flavour::Plain);
    let first = plain.lines().next().unwrap_or_default();
    assert!(first.starts_with("\"'@SUM(1,2)\",2026-01-02,countermovement_jump,both,"), "{first}");
    assert!(first.contains(",'=cmd|'/c calc'!A1,doubtful,false,false,jump_height,0.3123,0.003,m"), "{first}");
    let mut comma = String::new();
    tidy::rows(&mut comma, &saved, "A", "", Flavour::DecimalComma);
    assert!(comma.lines().next().unwrap_or_default().ends_with(";jump_height;0,3123;0,003;m"), "{comma}");
    let columns = tidy::header(Flavour::Plain).trim_end().split(',').count();
    let description = tidy::description("a.csv", Flavour::DecimalComma);
    assert_eq!(description["schema"]["fields"].as_array().map(Vec::len), Some(columns));
    assert_eq!(tidy::cells(&saved, "A", "").first().map(Vec::len), Some(columns));
    // The csv crate reads every row back with as many fields.
    let text = tidy::header(Flavour::Plain) + &plain;
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(rows.records().filter_map(Result::ok).filter(|r| r.len() == columns).count(), saved.trial.figures.len());
}
