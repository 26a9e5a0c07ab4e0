//! Forms about people, days and plates → records.
use super::filing::{Batch, new_athlete};
use super::keep::keep;
use super::stated::side_of;
use super::update::{erase_here, go};
use super::{Effect, Fields, Message, Screen, State};
use crate::answer::TestKind;
use crate::people::naming::name_key;
use crate::people::{
    Answers, Athlete, BodyMass, Clearance, ClearedClass, Consent, Injury, InjuryKind, PLACES, PlannedTest, PlateCheck, PlateReading,
    Session, Sex, Side,
};
use crate::records::{Kept, Record};

/// Tests that can be planned, with the word that forms use for them.
pub const TESTS: [(TestKind, &str); 7] = [
    (TestKind::CountermovementJump, "countermovement_jump"),
    (TestKind::SquatJump, "squat_jump"),
    (TestKind::DropJump, "drop_jump"),
    (TestKind::CountermovementReboundJump, "countermovement_rebound_jump"),
    (TestKind::DropLanding, "drop_landing"),
    (TestKind::ReboundJumps, "rebound_jumps"),
    (TestKind::Isometric, "isometric"),
];

/// Takes a form in.
pub fn sent(state: &mut State, form: &str, id: String, fields: &Fields) -> Vec<Effect> {
    match form {
        "new-athletes" => new_athletes(state, fields),
        "athlete" => {
            let today = state.today;
            with_athlete(state, &id, "Athlete’s record changed.", |a| athlete_fields(a, fields, today))
        }
        "body-mass" => with_athlete(state, &id, "Body mass noted.", |a| {
            let mass = fields.number("mass_kg").filter(|kg| (10.0..=400.0).contains(kg));
            let new = fields.date("date").zip(mass).map(|(date, mass_kg)| BodyMass { date, mass_kg, from_plate: false });
            a.body_mass.extend(new);
            a.body_mass.sort_by_key(|m| m.date);
        }),
        "injury" => with_athlete(state, &id, "Injury or operation noted.", |a| {
            let kind = match fields.raw("kind") {
                "knee_ligament_surgery" => InjuryKind::KneeLigamentSurgery,
                "other_surgery" => InjuryKind::OtherSurgery,
                _ => InjuryKind::Injury,
            };
            let side = side_of(fields.raw("side")).unwrap_or(Side::Both);
            a.injuries.extend(fields.date("date").map(|date| Injury { date, side, kind, note: fields.text("note") }));
        }),
        "clearance" => with_athlete(state, &id, "Clearance noted.", |a| {
            let dates = fields.date("date").zip(fields.date("until")).filter(|(date, until)| date <= until);
            let by = fields.text("by");
            if let (Some((date, until)), Some(class), false) = (dates, class_of(fields.raw("class")), by.is_empty()) {
                a.clearances.push(Clearance { by, date, class, until });
            }
        }),
        "new-session" => {
            let date = fields.date("date").unwrap_or(state.today);
            let id = state.new_id("session");
            // Whom he tested last is whom he tests next, more often than not.
            let last = state.days().first().map(|s| s.body.clone());
            let body = Session {
                place: fields.text("place"),
                athletes: last.as_ref().map(|s| s.athletes.clone()).unwrap_or_default(),
                tests: last.map_or_else(|| Session::on(date).tests, |s| s.tests),
                ..Session::on(date)
            };
            let session = Kept::new("session", &id, body, &state.now);
            let mut effects = keep(state, Some(format!("Session of {} opened.", state.locale.day(date))), vec![Record::Session(session)]);
            effects.extend(go(state, Screen::Session(id)));
            effects
        }
        "session" => about_session(state, &id, fields),
        "session-tests" => with_session(state, &id, "Plan changed.", |s| {
            let planned = |(test, word): &(TestKind, &str)| {
                [("both", None), ("left", Some(Side::Left)), ("right", Some(Side::Right))]
                    .into_iter()
                    .filter_map(|(name, side)| {
                        let trials = fields.number(&format!("{word}:{name}")).filter(|n| (1.0..=20.0).contains(n))?;
                        Some(PlannedTest { test: *test, side, trials: trials as u32 })
                    })
                    .collect::<Vec<_>>()
            };
            s.tests = TESTS.iter().flat_map(planned).collect();
        }),
        "session-athletes" => session_athletes(state, &id, fields),
        "questions" => questions(state, &id, fields),
        "plate-check" => plate_check(state, fields),
        _ => vec![],
    }
}

/// Takes a button in.
pub fn pressed(state: &mut State, what: &str, id: String) -> Vec<Effect> {
    match what {
        "erase" => {
            state.erasing = state.athletes.contains_key(&id).then_some(id);
            vec![]
        }
        "erase-no" => {
            state.erasing = None;
            vec![]
        }
        "erase-yes" => erase(state, &id),
        "drop-body-mass" => drop_row(state, &id, "Body mass taken out.", |a, row| drop_at(&mut a.body_mass, row)),
        "drop-injury" => drop_row(state, &id, "Injury taken out.", |a, row| drop_at(&mut a.injuries, row)),
        "drop-clearance" => drop_row(state, &id, "Clearance taken out.", |a, row| drop_at(&mut a.clearances, row)),
        "remove-session" => match state.sessions.get(&id).cloned() {
            Some(mut session) => {
                session.removed = true;
                let mut effects =
                    keep(state, Some("Session removed; its trials stay with their athletes.".into()), vec![Record::Session(session)]);
                effects.extend(go(state, Screen::Sessions));
                effects
            }
            None => vec![],
        },
        "remove-check" => match state.checks.get(&id).cloned() {
            Some(mut check) => {
                check.removed = true;
                keep(state, Some("Plate check removed.".into()), vec![Record::PlateCheck(check)])
            }
            None => vec![],
        },
        _ => vec![],
    }
}

fn with_athlete(state: &mut State, id: &str, words: &str, edit: impl FnOnce(&mut Athlete)) -> Vec<Effect> {
    let Some(mut athlete) = state.athletes.get(id).cloned() else { return vec![] };
    edit(&mut athlete.body);
    keep(state, Some(words.into()), vec![Record::Athlete(athlete)])
}

fn with_session(state: &mut State, id: &str, words: &str, edit: impl FnOnce(&mut Session)) -> Vec<Effect> {
    let Some(mut session) = state.sessions.get(id).cloned() else { return vec![] };
    edit(&mut session.body);
    keep(state, Some(words.into()), vec![Record::Session(session)])
}

/// Day, place and note of a session. Its trials move to its new day, and with them what their athletes weighed.
fn about_session(state: &mut State, id: &str, fields: &Fields) -> Vec<Effect> {
    let Some(mut session) = state.sessions.get(id).cloned() else { return vec![] };
    let before = session.body.date;
    session.body.date = fields.date("date").unwrap_or(before);
    session.body.place = fields.text("place");
    session.body.note = fields.text("note");
    let mut batch = Batch::default();
    if session.body.date != before {
        let tested: std::collections::BTreeSet<String> =
            state.heads.values().filter(|h| *h.session_id == *id && !h.athlete_id.is_empty()).map(|h| h.athlete_id.to_string()).collect();
        for athlete in tested {
            batch.weighed_on(&athlete, before);
            batch.weighed_on(&athlete, session.body.date);
        }
    }
    batch.put(Record::Session(session));
    let records = batch.done(state);
    keep(state, Some("Session changed.".into()), records)
}

/// Buttons in a row name the athlete and the row: `ID|3`.
fn drop_row(state: &mut State, id: &str, words: &str, drop: impl FnOnce(&mut Athlete, usize)) -> Vec<Effect> {
    let Some((id, row)) = id.rsplit_once('|') else { return vec![] };
    let Ok(row) = row.parse() else { return vec![] };
    with_athlete(state, id, words, |a| drop(a, row))
}

fn drop_at<T>(rows: &mut Vec<T>, row: usize) {
    if row < rows.len() {
        rows.remove(row);
    }
}

fn athlete_fields(a: &mut Athlete, fields: &Fields, today: crate::people::Date) {
    let name = fields.text("name");
    if !name.is_empty() {
        a.name = name;
    }
    a.sex = match fields.raw("sex") {
        "female" => Some(Sex::Female),
        "male" => Some(Sex::Male),
        _ => None,
    };
    a.birth_year = fields.number("birth_year").filter(|y| (1900.0..=2100.0).contains(y)).map(|y| y as i32);
    a.sport = Some(fields.text("sport")).filter(|s| !s.is_empty());
    a.labels = fields.text("labels").split(',').map(|l| l.trim().to_owned()).filter(|l| !l.is_empty()).collect();
    let by = fields.text("consent_by");
    a.consent = fields.date("consent_date").filter(|_| !by.is_empty()).map(|date| Consent { by, date });
    a.told_of(fields.all("condition").map(str::to_owned).collect(), today, |id| fields.date(&format!("noted:{id}")));
    a.training_years = fields.number("training_years").filter(|y| (0.0..=80.0).contains(y));
    a.training_history = fields.text("training_history");
}

/// A class of activity, as forms say it.
fn class_of(word: &str) -> Option<ClearedClass> {
    Some(match word {
        "low_jumps" => ClearedClass::LowJumps,
        "rebounds" => ClearedClass::Rebounds,
        "drops" => ClearedClass::Drops,
        "one_leg_jumps" => ClearedClass::OneLegJumps,
        "maximal_isometrics" => ClearedClass::MaximalIsometrics,
        _ => return None,
    })
}

/// One name a line, or separated by semicolons; names that are known are not made again.
fn named_in(state: &mut State, text: &str, batch: &mut Batch) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    let mut made: Vec<(String, String)> = Vec::new();
    for name in text.split(['\n', ';']).map(str::trim).filter(|n| !n.is_empty()).take(500) {
        let key = name_key(name);
        let known = state.athlete_named(name).map(|a| a.envelope.id.clone());
        let id = known.or_else(|| made.iter().find(|(k, _)| *k == key).map(|(_, id)| id.clone())).unwrap_or_else(|| {
            let athlete = new_athlete(state, name);
            let id = athlete.envelope.id.clone();
            batch.put(Record::Athlete(athlete));
            made.push((key, id.clone()));
            id
        });
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
    ids
}

fn new_athletes(state: &mut State, fields: &Fields) -> Vec<Effect> {
    let mut batch = Batch::default();
    let ids = named_in(state, &fields.text("names"), &mut batch);
    let records = batch.done(state);
    let words = match records.len() {
        1 => "Athlete added.".to_owned(),
        n => format!("{n} athletes added."),
    };
    let mut effects = keep(state, Some(words), records);
    if let [id] = ids.as_slice() {
        effects.extend(go(state, Screen::Athlete(id.clone())));
    }
    effects
}

fn session_athletes(state: &mut State, id: &str, fields: &Fields) -> Vec<Effect> {
    let Some(mut session) = state.sessions.get(id).cloned() else { return vec![] };
    let mut batch = Batch::default();
    let mut wanted: Vec<String> = fields.all("athlete").filter(|id| state.athletes.contains_key(*id)).map(str::to_owned).collect();
    wanted.extend(named_in(state, &fields.text("names"), &mut batch));
    // Those who stay keep their place in the order.
    let mut order: Vec<String> = session.body.athletes.iter().filter(|a| wanted.contains(a)).cloned().collect();
    for id in wanted {
        if !order.contains(&id) {
            order.push(id);
        }
    }
    session.body.athletes = order;
    batch.put(Record::Session(session));
    let records = batch.done(state);
    keep(state, Some("Athletes of the session changed.".into()), records)
}

/// Answers of an athlete before a test; the form's id is the athlete and the day: `ID|2026-03-01`.
fn questions(state: &mut State, id: &str, fields: &Fields) -> Vec<Effect> {
    let Some((athlete_id, day)) = id.rsplit_once('|') else { return vec![] };
    let (Some(date), Some(pain), true) = (
        crate::people::Date::parse(day),
        fields.number("pain").filter(|p| (0.0..=10.0).contains(p)),
        state.athletes.contains_key(athlete_id),
    ) else {
        state.message = Some(Message { text: "Pain is a number from 0 to 10.".into(), undo: false });
        return vec![];
    };
    let answers = Answers {
        athlete_id: athlete_id.to_owned(),
        date,
        pain: pain.ceil() as u8,
        swelling: fields.ticked("swelling"),
        giving_way: fields.ticked("giving_way"),
        limited: fields.ticked("limited"),
        fatigue: fields.ticked("fatigue"),
        effort: fields.ticked("effort"),
        pain_rose: fields.ticked("pain_rose"),
        swelling_came: fields.ticked("swelling_came"),
        slowed: fields.ticked("slowed"),
        note: fields.text("note"),
    };
    // Asked again the same day, the answers are a new record: what was said before stays known.
    let id = state.new_id("question");
    let name = state.athlete_name(athlete_id).to_owned();
    let words = match (answers.closes_jumps(), answers.ends_session()) {
        (Some(why), _) => format!("{name}: no jumps today ({why}). A clinician decides what is allowed."),
        (None, Some(why)) => format!("{name}: the rest of the session is over ({why})."),
        (None, None) => format!("{name}: answers noted."),
    };
    let record = Kept::new("question", &id, answers, &state.now);
    keep(state, Some(words), vec![Record::Question(record)])
}

fn plate_check(state: &mut State, fields: &Fields) -> Vec<Effect> {
    let (Some(date), Some(known_kg)) = (fields.date("date"), fields.number("known_kg").filter(|kg| (1.0..=1000.0).contains(kg))) else {
        state.message = Some(Message { text: "A plate check needs a day and the known mass.".into(), undo: false });
        return vec![];
    };
    let mut readings = Vec::new();
    for (plate, word) in [(Side::Left, "left"), (Side::Right, "right")] {
        for (at, place) in PLACES.into_iter().enumerate() {
            let shown = fields.number(&format!("{word}:{at}")).filter(|kg| kg.abs() < 10_000.0);
            readings.extend(shown.map(|shown_kg| PlateReading { plate, place, shown_kg }));
        }
    }
    let left_is_left = match fields.raw("swap") {
        "no" => Some(true),
        "yes" => Some(false),
        _ => None,
    };
    let id = state.new_id("plate_check");
    let check = PlateCheck { date, plates: fields.text("plates"), known_kg, readings, left_is_left };
    keep(state, Some("Plate check noted.".into()), vec![Record::PlateCheck(Kept::new("plate_check", &id, check, &state.now))])
}

/// Erases everything that hangs on an athlete: his record, trials, answers, blocks, and his place in sessions.
fn erase(state: &mut State, id: &str) -> Vec<Effect> {
    let Some(athlete) = state.athletes.get(id) else { return vec![] };
    if state.erasing.as_deref() != Some(id) {
        return vec![];
    }
    let name = athlete.body.name.clone();
    state.erasing = None;
    let mut keys = vec![id.to_owned()];
    keys.extend(state.heads.values().filter(|h| &*h.athlete_id == id).map(|h| h.id.to_string()));
    keys.extend(state.questions.values().filter(|q| q.body.athlete_id == id).map(|q| q.envelope.id.clone()));
    let about = |block: &serde_json::Value| ["athlete_id", "athlete"].iter().any(|f| block.get(f).and_then(|a| a.as_str()) == Some(id));
    keys.extend(state.blocks.values().filter(|b| about(&b.body)).map(|b| b.envelope.id.clone()));
    let sessions = state.sessions.values().filter(|s| s.body.athletes.iter().any(|a| a == id)).cloned().map(|mut session| {
        session.body.athletes.retain(|a| a != id);
        Record::Session(session)
    });
    let sessions: Vec<Record> = sessions.collect();
    let touched: Vec<String> = sessions.iter().map(|s| s.id().to_owned()).collect();
    let mut effects = keep(state, None, sessions);
    // Undo would bring the key back into a session, or the record itself.
    state.undo.retain(|change| change.before.iter().all(|(key, _)| !keys.contains(key) && !touched.contains(key)));
    state.message = None;
    effects.extend(erase_here(state, &keys));
    effects.push(Effect::Erase(keys, name));
    effects.extend(go(state, Screen::Squad));
    effects
}
