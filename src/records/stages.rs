//! A file's whole way on one thread, cut where one stage ends and the next begins: for the benchmark that holds the two targets
//! against each other (`tests/bench/browser.rs`). The page takes the same steps, shared out.
use super::WindowHead;
use crate::answer::{Options, Stream, Told, hex, read_window};
use sha2::{Digest, Sha256};

/// The stages, in order.
pub const STAGES: [&str; 4] = ["read", "figures", "packing", "hash"];

/// Takes a file's bytes all the way; `ended` is called after each of [`STAGES`]. What is returned is a digest of all that the
/// page would be given: the same on both targets, or one of them is wrong.
#[inline(never)] // it comes later
pub fn stages(bytes: &[u8], ended: &mut dyn FnMut()) -> String {
    let options = Options::default();
    let mut stream = Stream::unhashed("", &options);
    stream.expect(bytes.len() as f64);
    bytes.chunks(1 << 21).for_each(|piece| stream.feed(piece));
    let unread = stream.unread();
    ended();
    let read = |at| unread.window(at).map(|window| (read_window(&window, &options), window));
    let read: Vec<_> = (0..unread.windows()).filter_map(read).collect();
    ended();
    let mut told = Told::default();
    let mut given = Vec::with_capacity(read.len());
    for (at, (outcome, window)) in read.into_iter().enumerate() {
        let (head, force) = WindowHead::packed(&window);
        let text = unread.take(&mut told, at, outcome).and_then(|trial| serde_json::to_string(&trial).ok());
        given.push((text.unwrap_or_default(), serde_json::to_string(&head).unwrap_or_default(), force));
    }
    let answer = serde_json::to_string(&unread.finish(told)).unwrap_or_default();
    ended();
    let mut digest = Sha256::new();
    digest.update(bytes);
    ended();
    digest.update(answer);
    for (trial, head, force) in given {
        digest.update(trial);
        digest.update(head);
        digest.update(force);
    }
    hex(&digest.finalize())
}
