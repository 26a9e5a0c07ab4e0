//! From a study to a block, its edits, and what is handed over: reports and links.
use super::judged;
use super::keep::keep;
use super::study::{self, Choice};
use super::{Effect, Fields, Message, Paper, Screen, State, situation};
use crate::advice::blocks::{Block, Wanted, plan, propose};
use crate::advice::brief::Brief;
use crate::advice::qualities::QualityId;
use crate::advice::typed::{Refused, edit_with};
use crate::cohort::Group;
use crate::invented::{PEOPLE, Visits};
use crate::people::Sex;
use crate::records::link::{Include, encode};
use crate::records::migrate::athlete_id_of;
use crate::records::{Kept, Record};

/// Labels that a group is chosen by, at most.
const LABELS: usize = 12;

/// Weeks that lie between an invented athlete's tests where a block was between them, at least.
const BLOCK_WEEKS: i32 = 4;

/// Figures of all trials are wanted from the store.
#[inline(never)]
pub fn pool() -> Effect {
    Effect::Pool(study::columns())
}

/// Makes the study of the athlete on show again.
pub fn restudy(state: &mut State) {
    let (Screen::Athlete(id) | Screen::Report(id, _)) = &state.screen else {
        state.study = None;
        return;
    };
    let made = state.pool.as_ref().and_then(|pool| study::study(state, pool, id)).map(Box::new);
    state.study = made;
}

/// Takes a form in; `None` where it is none of these.
pub fn sent(state: &mut State, form: &str, id: &str, fields: &Fields) -> Option<Vec<Effect>> {
    match form {
        "group" => {
            let text = |name: &str| Some(fields.text(name)).filter(|t| !t.is_empty());
            let age = |name: &str| fields.number(name).filter(|years| (0.0..=120.0).contains(years));
            let age = match (age("age_from"), age("age_to")) {
                (None, None) => None,
                (from, to) => Some((from.unwrap_or(0.0), to.unwrap_or(120.0))).map(|(from, to)| (from.min(to), from.max(to))),
            };
            state.link = None;
            let tested = (fields.date("tested_from"), fields.date("tested_to"));
            // The athlete's own last day goes on being that, whatever day it will be.
            let last = state.study.as_ref().and_then(|s| s.days.last().copied());
            state.choice.tested = match tested {
                (Some(from), Some(to)) if from > to => {
                    let text = format!(
                        "The first day lay after the last: compared with those tested from {} up to {}.",
                        state.locale.day(to),
                        state.locale.day(from)
                    );
                    state.message = Some(Message { text, undo: false });
                    (Some(to), Some(from))
                }
                (from, to) => (from, to.filter(|to| Some(*to) != last)),
            };
            state.choice.group = Some(Group {
                labels: fields.raw("label").split(',').map(str::trim).filter(|l| !l.is_empty()).take(LABELS).map(str::to_owned).collect(),
                sex: match fields.raw("sex") {
                    "female" => Some(Sex::Female),
                    "male" => Some(Sex::Male),
                    _ => None,
                },
                age: age.map(|(from, to)| (from as i32, to as i32)),
                sport: text("sport"),
                ..Group::everybody(state.today)
            });
            Some(vec![])
        }
        "compare-days" => {
            let targets = fields.all("target").filter(|t| !t.is_empty()).take(2).map(str::to_owned).collect();
            state.link = None;
            let days = |name: &str| fields.all(name).filter_map(crate::people::Date::parse).take(30).collect();
            state.choice = Choice { before: days("before"), after: days("after"), targets, ..state.choice.clone() };
            Some(vec![])
        }
        "block-plan" => {
            let quality = |word: &str| serde_json::from_value::<QualityId>(word.into()).ok();
            let aims: Vec<QualityId> = fields.all("aim").filter_map(quality).collect();
            if aims.len() > 2 {
                let reason = format!("A block aims at most at two; {} are ticked.", aims.len());
                state.refused = Some(Refused { template: String::new(), field: "aim".into(), typed: String::new(), reason });
                return Some(vec![]);
            }
            state.refused = None;
            Some(new_block(state, id, Some(aims)))
        }
        "block-field" => {
            let Some((field, typed)) = fields.0.first() else { return Some(vec![]) };
            match edit_with(id, field, typed) {
                Some(edit) => Some(edit_block(state, &edit, (id, field, typed))),
                None => {
                    refuse(state, (id, field, typed), "That is no number or day this field can hold.".into());
                    Some(vec![])
                }
            }
        }
        "paper" => {
            state.paper = Paper::of(fields.raw("paper"));
            Some(vec![])
        }
        "link" => {
            let include = Include {
                name: fields.ticked("name"),
                injury_notes: fields.ticked("injury_notes"),
                coach_words: fields.ticked("coach_words"),
            };
            state.link = state.study.as_ref().map(|s| encode(&s.brief, include).map_err(|e| e.to_string()));
            Some(vec![])
        }
        _ => None,
    }
}

/// Takes a button in; `None` where it is none of these.
pub fn pressed(state: &mut State, what: &str, id: &str) -> Option<Vec<Effect>> {
    match what {
        "block-propose" => Some(new_block(state, id, None)),
        "block-edit" => Some(serde_json::from_str(id).map(|edit| edit_block(state, &edit, ("", "", ""))).unwrap_or_default()),
        "block-remove" => {
            let mut block = state.blocks.get(id)?.clone();
            block.removed = true;
            Some(keep(state, Some("Block removed.".into()), vec![Record::Block(block)]))
        }
        "report-file" => Some(vec![Effect::Report(id == "coach")]),
        _ => None,
    }
}

/// Stores, once, the block that came before the last day of those of the demo squad who were tested again after one: proposed
/// from what was known on the day before it, two days later.
pub fn demo_blocks(state: &mut State) -> Vec<Effect> {
    if !state.jobs.is_empty() {
        return vec![];
    }
    let again = PEOPLE.iter().filter(|p| p.visits == Visits::Again).map(|p| athlete_id_of(p.name));
    let known = |id: &String| state.blocks.values().any(|b| b.body.get("athlete_id").and_then(|a| a.as_str()) == Some(id));
    let wanted: Vec<String> = again.filter(|id| state.athletes.contains_key(id) && !known(id)).collect();
    let made: Vec<Record> = wanted.iter().filter_map(|id| block_before(state, id)).collect();
    keep(state, None, made)
}

/// The block of an invented athlete whose last day lies at least the shortest block after the one before.
fn block_before(state: &State, id: &str) -> Option<Record> {
    let of = |h: &crate::records::Head| state.day_of(h).filter(|_| h.invented);
    let mut days: Vec<crate::people::Date> = state.trials_of(id).into_iter().filter_map(of).collect();
    days.sort_unstable();
    days.dedup();
    let (last, tested) = (days.pop()?, days.pop()?);
    if last.days_since(tested) < 7 * BLOCK_WEEKS {
        return None;
    }
    let mut then = state.clone();
    then.today = tested.plus_days(2);
    let later: Vec<_> = state.trials_of(id).into_iter().filter(|h| state.day_of(h) == Some(last)).map(|h| h.id.clone()).collect();
    later.iter().filter_map(|id| then.heads.remove(id)).for_each(drop);
    then.study = state.pool.as_ref().and_then(|pool| study::study(&then, pool, id)).map(Box::new);
    new_block(&mut then, id, None);
    then.blocks.into_iter().find(|(key, _)| !state.blocks.contains_key(key)).map(|(_, block)| Record::Block(block))
}

fn new_block(state: &mut State, id: &str, aims: Option<Vec<QualityId>>) -> Vec<Effect> {
    let Some(study) = state.study.take() else { return vec![] };
    // A link made before holds another summary.
    state.link = None;
    let block_id = state.new_id("block");
    let day = study.days.last().copied().unwrap_or(state.today);
    let named: Vec<QualityId> = aims.clone().unwrap_or_else(|| match study.reading.answer {
        crate::advice::score::Answer::One(a) => vec![a],
        crate::advice::score::Answer::Two(a, b) => vec![a, b],
        _ => Vec::new(),
    });
    let made = state.athletes.get(id).and_then(|athlete| {
        let situation = situation::today(state, id, &athlete.body);
        let wanted = Wanted {
            id: &block_id,
            answer: study.reading.answer,
            starts: state.today.plus_days(1),
            tested_on: day,
            test_contacts: contacts(state, id, day),
            targets: judged::targets(&study, &named),
        };
        match aims {
            Some(aims) => Some(plan(&wanted, aims, &situation)),
            None => propose(&wanted, &situation),
        }
    });
    state.study = Some(study);
    let Some(block) = made else {
        state.message =
            Some(Message { text: "This answer asks for no block. Choose an aim yourself, or test further.".into(), undo: false });
        return vec![];
    };
    let words = if block.starts > state.today.plus_days(1) {
        format!("Block made. It begins on {}: 48 hours after the last jumps.", state.locale.day(block.starts))
    } else {
        "Block made.".to_owned()
    };
    let body = serde_json::json!({ "athlete_id": id, "plan": block });
    let record = Record::Block(Kept::new("block", &block_id, body, &state.now));
    keep(state, Some(words), vec![record])
}

/// Ground contacts of an athlete's tests on a day: one a jump, two a drop jump or rebound, ten a set of rebounds.
fn contacts(state: &State, id: &str, day: crate::people::Date) -> u32 {
    use crate::answer::TestKind as T;
    let of = |test: T| match test {
        T::CountermovementJump | T::SquatJump | T::DropLanding => 1,
        T::DropJump | T::CountermovementReboundJump => 2,
        T::ReboundJumps => 10,
        T::Isometric | T::QuietStanding | T::Unrecognised => 0,
    };
    state.trials_of(id).into_iter().filter(|h| state.day_of(h) == Some(day)).map(|h| of(h.test)).sum()
}

/// Keeps what was typed with the reason it was not taken.
fn refuse(state: &mut State, (template, field, typed): (&str, &str, &str), reason: String) {
    state.refused = Some(Refused { template: template.into(), field: field.into(), typed: typed.chars().take(200).collect(), reason });
}

/// Takes an edit in; `entry` is the field it came from: template, name and what was typed, empty for a button.
fn edit_block(state: &mut State, edit: &crate::advice::blocks::Edit, entry: (&str, &str, &str)) -> Vec<Effect> {
    (state.refused, state.link) = (None, None);
    let Screen::Athlete(id) = state.screen.clone() else { return vec![] };
    let Some((key, block)) = study::plan_of(state, &id) else { return vec![] };
    let Some(athlete) = state.athletes.get(&id) else { return vec![] };
    let edited: Result<Block, _> = block.apply(edit, &situation::today(state, &id, &athlete.body));
    match (edited, state.blocks.get(&key).cloned()) {
        (Ok(block), Some(mut record)) => {
            if let (Some(body), Ok(plan)) = (record.body.as_object_mut(), serde_json::to_value(&block)) {
                body.insert("plan".into(), plan);
            }
            keep(state, Some("Block changed.".into()), vec![Record::Block(record)])
        }
        (Err(refused), _) => {
            refuse(state, entry, refused.reason);
            vec![]
        }
        _ => vec![],
    }
}

/// The summary that is shown, printed or sent: the study's own, or one from a link.
#[inline(never)]
pub fn brief(state: &State) -> Option<&Brief> {
    match &state.screen {
        Screen::Shared => state.shared.as_ref()?.as_deref().ok(),
        _ => state.study.as_ref().map(|s| &s.brief),
    }
}
