//! A file read, taken in and shown by the worker to nobody, while the reader's hand still holds it: a browser compiles a function
//! when it is first called, and once more, better, when it has been called for long enough. What is compiled here is compiled for
//! the page and for a worker beside this one, too: all three run one module.
use super::tasks::turn;
use super::work::{Packed, wanted};
use crate::answer::{FileAnswer, Options, Stream, Told, read_window};
use crate::recording::Recording;
use crate::records::{WindowHead, trial_id};
use crate::screen::{Arrived, Event, State, update};
use crate::views;
use std::fmt::Write as _;

/// How often a jump is rehearsed. Measured in V8: after some thirty nothing gets quicker.
const ROUNDS: usize = 40;
/// How often it is shown: of what draws, most is called a few times only.
const SHOWN: usize = 3;

/// Reads an invented jump and forgets it, again and again, until there is something to do; shows it where the `whole` module is
/// here: a rehearsal waits for nothing.
pub(super) async fn rehearse(whole: bool) {
    let text = jump();
    for round in 0..ROUNDS {
        if wanted() {
            return;
        }
        let read = read(&text);
        turn().await;
        if let Some(read) = read.filter(|_| whole && round < SHOWN && !wanted()) {
            show(read);
            turn().await;
        }
    }
}

/// An invented jump of six seconds, on two plates.
fn jump() -> String {
    // Until when, s, and what each plate reads, N: the impulses of a body of 71.4 kg that dips, jumps, flies 0.45 s and lands.
    const COURSE: [(f64, f64); 6] = [(1.5, 350.0), (1.7, 150.0), (1.95, 824.0), (2.4, 0.0), (2.566, 824.0), (6.0, 350.0)];
    let mut text = String::from("time_s,left_force_N,right_force_N\n");
    for i in 0..6000 {
        let t = f64::from(i) / 1000.0;
        let force_n = COURSE.iter().find(|c| t < c.0).map_or(350.0, |c| c.1) + f64::from(i * 7 % 5) * 0.4;
        // Text cannot fail to grow.
        let _ = writeln!(text, "{t:.3},{force_n:.1},{force_n:.1}");
    }
    text
}

/// What comes of it: for the page, and the window that it has unpacked.
type Read = (Arrived, Recording);

/// Reads it the way it goes with a large file: found here, its window sent and read, the trial as text to the page.
fn read(text: &str) -> Option<Read> {
    let mut stream = Stream::new("", &Options::default());
    stream.feed(text.as_bytes());
    let unread = stream.unread();
    let packed = Packed::of(&unread.window(0)?);
    let head: WindowHead = serde_json::from_str(&packed.head.as_string()?).ok()?;
    let window = head.join(&packed.force.to_vec()).ok()?;
    let mut told = Told::default();
    let (trial, zeros) = read_window(&window, &Options::default()).ok()?;
    let trial = unread.take(&mut told, 0, Ok((serde_json::to_string(&trial).ok()?, zeros)))?;
    let answer = serde_json::to_string(&unread.finish(told)).ok()?;
    let mut answer: FileAnswer = serde_json::from_str(&answer).ok()?;
    answer.trials.push(serde_json::from_str(&trial).ok()?);
    Some((Arrived { answer, windows: vec![head], athlete: None }, window))
}

/// Takes it into a state of its own and draws that, step by step, as the page does.
fn show((arrived, window): Read) {
    let mut state = State::default();
    let id = arrived.answer.trials.first().map(|trial| trial_id(&arrived.answer.sha256, trial.start_s)).unwrap_or_default();
    let before = [Event::Loaded(Box::default()), Event::Files(vec![(1, String::new(), 0.0)])];
    let read = [Event::Analysed(1, Box::new(arrived)), Event::Window(id, Box::new(window))];
    for events in [Vec::from(before), Vec::from(read), vec![Event::DrawRest], vec![Event::DrawRest]] {
        events.into_iter().for_each(|event| drop(update(&mut state, event)));
        views::page(&state);
    }
}
