//! A worker beside the worker, for large files: it hashes the pieces that the first one has read, then reads trials with it.
//! It is of the first one's own kind, the same script and the same start, and ends with it. Should it fail, or never start, the
//! first does all by itself: what it was given is not lost, only done again.
use super::tasks::turn;
use super::work::{Packed, post, post_moved};
use crate::answer::{FileAnswer, Options, Told, Unread, hex, read_window};
use crate::force::Zero;
use crate::recording::Recording;
use crate::records::WindowHead;
use js_sys::{Array, ArrayBuffer, Function, Reflect, Uint8Array};
use sha2::{Digest, Sha256};
use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};
use std::future::poll_fn;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Poll, Waker};
use wasm_bindgen::prelude::*;
use web_sys::{ErrorEvent, MessageEvent, Worker};

/// Work for later, boxed: so its code can be in the second half of the module.
pub type Later<'a, T> = Pin<Box<dyn Future<Output = T> + 'a>>;

/// Pieces of a file on their way at most: hashing is slower than reading, and each holds its bytes until it is hashed.
const MOST_PIECES: usize = 8;
/// Windows on their way at most, so that the other is never without and the last ones are shared out fairly.
const MOST_WINDOWS: usize = 6;
/// Windows that this worker reads before it listens again.
const IN_ONE_GO: usize = 2;
/// A worker that has not answered after so many milliseconds is not waited for.
const START_MS: i32 = 3000;

/// What the other worker has said so far.
#[derive(Default)]
struct Heard {
    ready: bool,
    failed: bool,
    hashed: usize,
    /// Pieces that are hashed, given back.
    back: Vec<ArrayBuffer>,
    sha256: Option<String>,
    /// Number of a window, and what came of it: the trial's text with the zero levels', or why there is none.
    read: Vec<(usize, Option<Parcel>)>,
    /// Said to it before it was ready.
    held: Vec<(Array, Array)>,
    waker: Option<Waker>,
}

/// What came of one window, and the window for the page.
type Parcel = Result<(String, Vec<Zero>), String>;

/// The other worker, from here.
pub struct Beside {
    worker: Worker,
    heard: Rc<RefCell<Heard>>,
    sent: usize,
    _on_message: Closure<dyn FnMut(MessageEvent)>,
    _on_error: Closure<dyn FnMut(ErrorEvent)>,
}

impl Drop for Beside {
    fn drop(&mut self) {
        self.worker.terminate();
    }
}

/// Starts it; none where workers cannot have workers.
#[inline(never)]
pub fn start(options: &Options) -> Option<Box<Beside>> {
    let global = js_sys::global();
    let own = Reflect::get(&Reflect::get(&global, &"location".into()).ok()?, &"href".into()).ok()?.as_string()?;
    if !Reflect::has(&global, &"Worker".into()).unwrap_or(false) {
        return None;
    }
    let worker = Worker::new(&own).ok()?;
    worker.post_message(&Reflect::get(&global, &"tarsalStart".into()).ok()?).ok()?;
    let heard = Rc::new(RefCell::new(Heard::default()));
    let (mine, speaker) = (heard.clone(), worker.clone());
    let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        if let Ok(message) = event.data().dyn_into::<Array>() {
            hear(&mut mine.borrow_mut(), &speaker, &message);
        }
    });
    let mine = heard.clone();
    let on_error = Closure::<dyn FnMut(ErrorEvent)>::new(move |event: ErrorEvent| {
        // Else it would be this worker's error, too.
        event.prevent_default();
        fail(&mut mine.borrow_mut());
    });
    worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
    let mine = heard.clone();
    let too_late = Closure::once_into_js(move || {
        if !mine.borrow().ready {
            fail(&mut mine.borrow_mut());
        }
    });
    if let Ok(timer) = Reflect::get(&global, &"setTimeout".into()).and_then(|timer| timer.dyn_into::<Function>()) {
        let _ = timer.call2(&global, &too_late, &START_MS.into());
    }
    let beside = Beside { worker, heard, sent: 0, _on_message: on_message, _on_error: on_error };
    let options = serde_json::to_string(options).unwrap_or_default();
    beside.say(&Array::of2(&"with".into(), &options.into()), &Array::new());
    Some(Box::new(beside))
}

/// It is not listened to any more, and what waited for it is let go.
fn fail(heard: &mut Heard) {
    heard.failed = true;
    heard.held.clear();
    heard.back.clear();
    wake(heard);
}

fn wake(heard: &mut Heard) {
    if let Some(waker) = heard.waker.take() {
        waker.wake();
    }
}

fn hear(heard: &mut Heard, worker: &Worker, message: &Array) {
    if heard.failed {
        return;
    }
    match message.get(0).as_string().as_deref() {
        Some("ready") => {
            heard.ready = true;
            let held = core::mem::take(&mut heard.held);
            if held.iter().any(|(message, moved)| worker.post_message_with_transfer(message, moved).is_err()) {
                fail(heard);
            }
        }
        Some("took") => {
            heard.hashed += 1;
            heard.back.extend(message.get(1).dyn_into::<ArrayBuffer>());
        }
        Some("summed") => heard.sha256 = message.get(1).as_string(),
        Some("read") => {
            let number = message.get(1).as_f64().unwrap_or(f64::MAX) as usize;
            let rest = message.get(3).as_string();
            let parcel = match (message.get(2).as_string(), rest) {
                (Some(trial), Some(zeros)) => serde_json::from_str(&zeros).ok().map(|zeros| Ok((trial, zeros))),
                (None, why) => why.map(Err),
                _ => None,
            };
            heard.read.push((number, parcel));
        }
        Some("died") => fail(heard),
        _ => {}
    }
    wake(heard);
}

impl Beside {
    fn say(&self, message: &Array, moved: &Array) {
        let mut heard = self.heard.borrow_mut();
        if !heard.ready {
            heard.held.push((message.clone(), moved.clone()));
        } else if self.worker.post_message_with_transfer(message, moved).is_err() {
            fail(&mut heard);
        }
    }
    /// Whether it has not failed.
    pub fn works(&self) -> bool {
        !self.heard.borrow().failed
    }
    /// Waits until it has said enough, or has failed.
    async fn until(&self, enough: impl Fn(&Heard) -> bool) {
        let look = |context: &mut std::task::Context<'_>| {
            let mut heard = self.heard.borrow_mut();
            if heard.failed || enough(&heard) {
                return Poll::Ready(());
            }
            heard.waker = Some(context.waker().clone());
            Poll::Pending
        };
        poll_fn(look).await
    }
    /// Gives it the next piece of the file, which is its own until it has hashed it; waits where it is far behind. What it has
    /// given back.
    #[inline(never)]
    pub fn hash<'a>(&'a mut self, piece: &'a ArrayBuffer) -> Later<'a, Vec<ArrayBuffer>> {
        Box::pin(async move {
            self.say(&Array::of2(&"hash".into(), piece), &Array::of1(piece));
            self.sent += 1;
            let sent = self.sent;
            self.until(move |heard| sent - heard.hashed.min(sent) < MOST_PIECES).await;
            core::mem::take(&mut self.heard.borrow_mut().back)
        })
    }
    fn usable(&self) -> bool {
        let heard = self.heard.borrow();
        heard.sha256.is_some() && !heard.failed
    }

    /// Reads the trials with it and gives each to the page, in order. The answer without them; its hash is left empty where the
    /// other has failed.
    #[inline(never)]
    pub fn share<'a>(self: Box<Self>, key: &'a JsValue, unread: Unread<'static>, options: &'a Options) -> Later<'a, FileAnswer> {
        Box::pin(async move {
            self.say(&Array::of1(&"sum".into()), &Array::new());
            let mut told = Told::default();
            let mut todo: VecDeque<usize> = (0..unread.windows()).collect();
            // Windows at the other, and those that are read but not yet given, each with what the page keeps of it.
            let mut away: BTreeMap<usize, Packed> = BTreeMap::new();
            let mut done: BTreeMap<usize, (Parcel, Packed)> = BTreeMap::new();
            let mut next = 0;
            while next < unread.windows() {
                while self.usable()
                    && away.len() < MOST_WINDOWS
                    && let Some(number) = todo.pop_front()
                    && let Some(window) = unread.window(number)
                {
                    let packed = Packed::of(&window);
                    let message = Array::of4(&"window".into(), &(number as f64).into(), &packed.head, &packed.force);
                    self.say(&message, &Array::new());
                    away.insert(number, packed);
                }
                let own = todo.len().min(IN_ONE_GO);
                for number in todo.drain(..own) {
                    if let Some(window) = unread.window(number) {
                        let parcel = parcel(&window, options);
                        done.insert(number, (parcel, Packed::of(&window)));
                    }
                }
                if own > 0 {
                    turn().await;
                } else {
                    self.until(|heard| !heard.read.is_empty()).await;
                }
                let came = core::mem::take(&mut self.heard.borrow_mut().read);
                for (number, parcel) in came {
                    match (away.remove(&number), parcel) {
                        (Some(packed), Some(parcel)) => drop(done.insert(number, (parcel, packed))),
                        (Some(_), None) => todo.push_front(number),
                        (None, _) => {}
                    }
                }
                if self.heard.borrow().failed {
                    // What it still had is read here.
                    core::mem::take(&mut away).into_keys().rev().for_each(|number| todo.push_front(number));
                }
                while let Some((parcel, packed)) = done.remove(&next) {
                    if let Some(trial) = unread.take(&mut told, next, parcel) {
                        packed.give(key, &trial);
                    }
                    next += 1;
                }
            }
            if !self.heard.borrow().failed {
                self.until(|heard| heard.sha256.is_some()).await;
            }
            let sha256 = self.heard.borrow().sha256.clone().unwrap_or_default();
            FileAnswer { sha256, ..unread.finish(told) }
        })
    }
}

fn parcel(window: &Recording, options: &Options) -> Parcel {
    read_window(window, options).map(|(trial, zeros)| (serde_json::to_string(&trial).unwrap_or_default(), zeros))
}

// ---- the other worker's own side

thread_local! {
    static SUM: RefCell<Sha256> = RefCell::new(Sha256::new());
    static OPTIONS: RefCell<Options> = RefCell::new(Options::default());
    static HELD: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// Does what the first worker says.
#[inline(never)]
pub fn serve(word: &str, message: &Array) {
    match word {
        "with" => {
            let options = message.get(1).as_string().and_then(|text| serde_json::from_str(&text).ok());
            OPTIONS.with(|o| o.replace(options.unwrap_or_default()));
        }
        "hash" => {
            if let Ok(piece) = message.get(1).dyn_into::<ArrayBuffer>() {
                HELD.with_borrow_mut(|held| {
                    let bytes = Uint8Array::new(&piece);
                    held.resize(bytes.length() as usize, 0);
                    bytes.copy_to(held);
                    SUM.with_borrow_mut(|sum| sum.update(held));
                });
                post_moved(&Array::of2(&"took".into(), &piece), &piece);
            }
        }
        "sum" => {
            let sum = SUM.with_borrow_mut(|sum| hex(&sum.finalize_reset()));
            post(&Array::of2(&"summed".into(), &sum.into()));
        }
        "window" => {
            let (trial, rest) = match read_sent(message) {
                Some(Ok((trial, zeros))) => (trial.into(), serde_json::to_string(&zeros).unwrap_or_default().into()),
                Some(Err(why)) => (JsValue::NULL, why.into()),
                None => (JsValue::NULL, JsValue::NULL),
            };
            post(&Array::of4(&"read".into(), &message.get(1), &trial, &rest));
        }
        _ => {}
    }
}

fn read_sent(message: &Array) -> Option<Parcel> {
    let head: WindowHead = serde_json::from_str(&message.get(2).as_string()?).ok()?;
    let window = head.join(&message.get(3).dyn_into::<Uint8Array>().ok()?.to_vec()).ok()?;
    Some(OPTIONS.with_borrow(|options| parcel(&window, options)))
}
