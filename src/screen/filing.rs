//! Trials under athletes and sessions: by hand, or by what their files' names say.
use super::history;
use super::keep::keep;
use super::{Again, Effect, Event, Fields, Message, Screen, State};
use crate::answer::Verdict;
use crate::people::naming::{Named, Pattern, name_key, name_shown};
use crate::people::{Athlete, Date, Session};
use crate::records::{Head, Kept, Record, SavedTrial, migrate};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// What a file's name says, and whom it means.
#[derive(Debug, Clone, PartialEq)]
pub struct FileName {
    /// The file's name.
    pub file: String,
    /// Keys of its unfiled trials.
    pub ids: Vec<String>,
    /// What the pattern reads from it; none where it does not fit.
    pub named: Option<Named>,
    /// The key of the known athlete of that name.
    pub known: Option<String>,
}

impl FileName {
    /// The athlete's name as it would be written in a new record; none where the pattern gives none.
    pub fn name(&self) -> Option<String> {
        self.named.as_ref()?.athlete.as_deref().map(name_shown)
    }
}

/// Most files whose names are looked at together.
const MOST_FILES: usize = 300;

/// Files with unfiled trials, by name, as the pattern reads them.
pub fn unfiled_names(state: &State) -> Vec<FileName> {
    let pattern = Pattern::new(&state.pattern).ok();
    let mut files: BTreeMap<&str, Vec<&Head>> = BTreeMap::new();
    // What is asked about elsewhere is not asked about here.
    let asked: BTreeSet<&str> = state.doubts.iter().flat_map(|d| d.ids.iter().map(String::as_str)).collect();
    for head in state.heads.values().filter(|h| h.athlete_id.is_empty() && !h.removed && !asked.contains(&*h.id)) {
        files.entry(&head.file).or_default().push(head);
    }
    let read = |(file, heads): (&str, Vec<&Head>)| {
        let named = pattern.as_ref().and_then(|p| p.read(file));
        let athlete = named.as_ref().and_then(|n| n.athlete.as_deref()).and_then(|name| state.athlete_named(name));
        FileName {
            file: file.to_owned(),
            ids: heads.iter().map(|h| h.id.to_string()).collect(),
            known: athlete.map(|a| a.envelope.id.clone()),
            named,
        }
    };
    files.into_iter().take(MOST_FILES).map(read).collect()
}

/// Asks for the trials that are not at hand, and for the event again after that; none where all are here.
pub fn fetch_first(state: &State, ids: &[String], event: Event) -> Option<Vec<Effect>> {
    let missing: Vec<String> =
        ids.iter().filter(|id| !state.saved.contains_key(*id) && state.heads.contains_key(id.as_str())).cloned().collect();
    (!missing.is_empty()).then(|| vec![Effect::Fetch(missing, Box::new(Again(event)))])
}

/// Records that are being changed together: the latest version of each, in the order of their first change.
#[derive(Debug, Clone, Default)]
pub struct Batch {
    order: Vec<String>,
    records: BTreeMap<String, Record>,
    /// Athletes and days whose trials change: what the plates weighed is told anew.
    weighed: BTreeSet<(String, Date)>,
}

impl Batch {
    fn get(&self, state: &State, id: &str) -> Option<Record> {
        self.records.get(id).cloned().or_else(|| state.record(id))
    }
    /// Puts a record's new version in.
    pub fn put(&mut self, record: Record) {
        let id = record.id().to_owned();
        if self.records.insert(id.clone(), record).is_none() {
            self.order.push(id);
        }
    }
    /// Takes the trials out.
    pub fn trials(&mut self) -> Vec<Record> {
        let (trials, rest) =
            core::mem::take(&mut self.order).into_iter().partition(|id| matches!(self.records.get(id), Some(Record::Trial(_))));
        self.order = rest;
        let trials: Vec<String> = trials;
        trials.iter().filter_map(|id| self.records.remove(id)).collect()
    }
    /// All of them, and the athletes' body mass of the days concerned with them.
    pub fn done(mut self, state: &State) -> Vec<Record> {
        for (athlete_id, day) in core::mem::take(&mut self.weighed) {
            let mass_kg = self.plate_mass_kg(state, &athlete_id, day);
            if let Some(Record::Athlete(mut athlete)) = self.get(state, &athlete_id) {
                athlete.body.set_plate_mass(day, mass_kg);
                self.put(Record::Athlete(athlete));
            }
        }
        self.order.iter().filter_map(|id| self.records.remove(id)).collect()
    }
    /// An athlete's trials of a day are about to change.
    pub fn weighed_on(&mut self, athlete_id: &str, day: Date) {
        self.weighed.insert((athlete_id.to_owned(), day));
    }
    /// A trial is about to leave its athlete or its day.
    pub fn touch(&mut self, state: &State, trial: &SavedTrial) {
        let day = state.heads.get(trial.envelope.id.as_str()).and_then(|h| state.day_of(h));
        if let (Some(athlete), Some(day)) = (&trial.athlete_id, day) {
            self.weighed_on(athlete, day);
        }
    }
    /// What the plates weighed an athlete at on a day: the median over his sound trials; none where there is none.
    fn plate_mass_kg(&self, state: &State, athlete_id: &str, day: Date) -> Option<f64> {
        let on_day = |session_id: &str, added: Option<Date>| match self.get(state, session_id) {
            Some(Record::Session(session)) => session.body.date == day,
            _ => added == Some(day),
        };
        let counts = |h: &Head| {
            *h.athlete_id == *athlete_id
                && !h.removed
                && h.verdict == Verdict::Sound
                && h.body_mass_kg.is_finite()
                // What another trial weighed is not weighed twice, and what was typed in not at all.
                && !h.by_day
                && on_day(&h.session_id, h.added_on())
        };
        let stored =
            state.heads.values().filter(|h| *h.athlete_id == *athlete_id && !self.records.contains_key(&*h.id)).filter(|h| counts(h));
        let mut masses: Vec<f64> = stored.map(|h| h.body_mass_kg).collect();
        let changed = self.records.values().filter_map(|r| match r {
            Record::Trial(trial) => Some(Head::of(trial)),
            _ => None,
        });
        masses.extend(changed.filter(counts).map(|h| h.body_mass_kg));
        masses.sort_by(f64::total_cmp);
        let (low, high) = (masses.get(masses.len().checked_sub(1)? / 2)?, masses.get(masses.len() / 2)?);
        // Ten grams are less than any plate knows.
        Some((50.0 * (low + high)).round() / 100.0)
    }
    /// The session of a day, made where there is none; the athlete is expected in it from now on.
    pub fn session_on(&mut self, state: &State, date: Date, athlete_id: &str) -> String {
        let here = match &state.screen {
            Screen::Session(id) => state.sessions.get(id).filter(|s| s.body.date == date && !s.removed).map(|s| s.envelope.id.clone()),
            _ => None,
        };
        let known = here.or_else(|| state.days().iter().find(|s| s.body.date == date).map(|s| s.envelope.id.clone()));
        // The same day has the same key in every tab and on every device: nobody makes it twice.
        let id = known.unwrap_or_else(|| format!("session-{date}"));
        let mut session = match self.get(state, &id) {
            Some(Record::Session(session)) => session,
            _ => Kept::new("session", &id, Session::on(date), &state.now),
        };
        session.removed = false;
        if !session.body.athletes.iter().any(|a| a == athlete_id) {
            session.body.athletes.push(athlete_id.to_owned());
        }
        self.put(Record::Session(session));
        id
    }
    /// Files a trial under an athlete, in the session of a day, with what its file's name says. Where no day is given it is the
    /// name's, else that of the sheet on show, else today.
    pub fn file(&mut self, state: &State, mut trial: SavedTrial, athlete_id: &str, named: Option<&Named>, day: Option<Date>) {
        let day = day.or(named.and_then(|n| n.date)).unwrap_or_else(|| day_shown(state));
        self.touch(state, &trial);
        self.weighed_on(athlete_id, day);
        let session_id = self.session_on(state, day, athlete_id);
        if trial.athlete_id.as_deref() != Some(athlete_id) || trial.session_id.as_ref() != Some(&session_id) {
            history::leave(&mut trial, Some(athlete_id));
        }
        trial.session_id = Some(session_id);
        trial.athlete_id = Some(athlete_id.to_owned());
        if let Some(named) = named {
            trial.number = named.trial.or(trial.number);
            let mut protocol = trial.protocol.clone();
            protocol.side = named.side.or(protocol.side);
            protocol.box_m = named.box_m.or(protocol.box_m);
            protocol.load_kg = named.load_kg.unwrap_or(protocol.load_kg);
            trial.set_protocol(protocol);
            super::stated::into_options(&mut trial);
        }
        self.put(Record::Trial(Rc::new(trial)));
    }
}

/// The day of the sheet on show, else today.
pub fn day_shown(state: &State) -> Date {
    let shown = match &state.screen {
        Screen::Session(id) => state.sessions.get(id).map(|s| s.body.date),
        _ => None,
    };
    shown.unwrap_or(state.today)
}

/// The day to offer where a trial is filed: its session's; unfiled the one in its file's name, else today.
pub fn day_offered(state: &State, trial: &SavedTrial) -> Date {
    let session = trial.session_id.as_ref().and_then(|id| state.sessions.get(id)).map(|s| s.body.date);
    let named = || Pattern::new(&state.pattern).ok().and_then(|p| p.read(&trial.file)).and_then(|n| n.date);
    session.or_else(named).unwrap_or_else(|| day_shown(state))
}

/// Keeps trials whose verdict or mass may have changed, and what their athletes weighed on those days with them.
pub fn keep_trials(state: &mut State, words: Option<String>, trials: Vec<SavedTrial>) -> Vec<Effect> {
    let mut batch = Batch::default();
    for trial in trials {
        batch.touch(state, &trial);
        batch.put(Record::Trial(Rc::new(trial)));
    }
    let records = batch.done(state);
    keep(state, words, records)
}

/// The record of a new athlete.
pub fn new_athlete(state: &mut State, name: &str) -> Kept<Athlete> {
    let id = state.new_id("athlete");
    Kept::new("athlete", &id, Athlete { id: id.clone(), name: name.trim().to_owned(), ..Athlete::default() }, &state.now)
}

/// The record of an invented athlete of the demo squad, with what is invented about him: the same key each time.
pub fn invented_athlete(state: &State, name: &str) -> Kept<Athlete> {
    let mut athlete = migrate::athlete(name, &state.now);
    match crate::invented::demo_athlete(name, state.today) {
        Some(body) => athlete.body = Athlete { id: athlete.body.id.clone(), ..body },
        None => athlete.body.labels.push("invented".into()),
    }
    athlete
}

/// Files one trial under an athlete by name, known or new, on a day; an empty name unfiles it.
pub fn file_under(state: &mut State, id: String, name: &str, day: Option<Date>) -> Vec<Effect> {
    if let Some(effects) = fetch_first(state, core::slice::from_ref(&id), Event::FileUnder(id.clone(), name.to_owned(), day)) {
        return effects;
    }
    let Some(trial) = state.trial(&id).cloned() else { return vec![] };
    let name = name.trim();
    let mut batch = Batch::default();
    // Those that stay behind are asked again without it.
    let asked: Vec<String> = history::weighing_ids(state, &trial).into_iter().take(1).chain([id]).collect();
    if name.is_empty() {
        batch.touch(state, &trial);
        let mut trial = trial;
        history::leave(&mut trial, None);
        (trial.athlete_id, trial.session_id) = (None, None);
        batch.put(Record::Trial(Rc::new(trial)));
        let records = batch.done(state);
        let mut effects = keep(state, Some("Taken out of the athlete's file.".into()), records);
        effects.extend(history::ask(state, &asked));
        return effects;
    }
    let athlete_id = match state.athlete_named(name) {
        Some(athlete) => athlete.envelope.id.clone(),
        None => {
            let athlete = new_athlete(state, name);
            let id = athlete.envelope.id.clone();
            batch.put(Record::Athlete(athlete));
            id
        }
    };
    let stands_on = trial.session_id.as_ref().and_then(|id| state.sessions.get(id)).map(|s| s.body.date);
    if trial.athlete_id.as_ref() == Some(&athlete_id) && (day.is_none() || day == stands_on) {
        return vec![];
    }
    batch.file(state, trial, &athlete_id, None, day);
    let records = batch.done(state);
    let on = day.map(|day| format!(" on {}", state.locale.day(day))).unwrap_or_default();
    let mut effects = keep(state, Some(format!("Filed under {name}{on}.")), records);
    effects.extend(history::ask(state, &asked));
    effects
}

/// Files everything unfiled as its file's name says. For each name that nobody has, `who:KEY` says `new`, an athlete's
/// key, or nothing (left unfiled); `day` is for names without one.
pub fn file_by_names(state: &mut State, fields: Fields) -> Vec<Effect> {
    let files = unfiled_names(state);
    let ids: Vec<String> = files.iter().flat_map(|f| f.ids.iter().cloned()).collect();
    if let Some(effects) = fetch_first(state, &ids, Event::Form("file-names".into(), String::new(), fields.clone())) {
        return effects;
    }
    let day = fields.date("day");
    let mut made: BTreeMap<String, String> = BTreeMap::new();
    let mut batch = Batch::default();
    let mut count = 0;
    for file in &files {
        let Some(name) = file.name() else { continue };
        let key = name_key(&name);
        let athlete_id = match (&file.known, fields.raw(&format!("who:{key}"))) {
            (Some(id), _) => id.clone(),
            (None, "") => continue,
            (None, "new") => match made.get(&key) {
                Some(id) => id.clone(),
                None => {
                    let athlete = new_athlete(state, &name);
                    let id = athlete.envelope.id.clone();
                    batch.put(Record::Athlete(athlete));
                    made.insert(key, id.clone());
                    id
                }
            },
            (None, id) if state.athletes.contains_key(id) => id.to_owned(),
            (None, _) => continue,
        };
        for id in &file.ids {
            if let Some(trial) = state.trial(id).cloned() {
                let named = file.named.as_ref();
                batch.file(state, trial, &athlete_id, named, named.and_then(|n| n.date).or(day));
                count += 1;
            }
        }
    }
    if count == 0 {
        state.message = Some(Message { text: "Nothing was filed: choose whom the names mean.".into(), undo: false });
        return vec![];
    }
    let s = if count == 1 { "" } else { "s" };
    let records = batch.done(state);
    let mut effects = keep(state, Some(format!("{count} trial{s} filed.")), records);
    effects.extend(history::ask(state, &ids));
    effects
}
