//! A large file is read by two workers. What the page is given is what one alone would give, byte for byte and in order; also
//! where the second never starts, says nothing, or dies on the way.

use crate::{
    Test,
    context::{Context, IDLE, TRIAL_SHOWN, ensure, same},
    driver::Outcome,
};
use std::{fs, path::PathBuf};
use tarsal::answer::{FileAnswer, Options, analyze};
use tarsal::invented::demo_files;

pub fn tests() -> Vec<Test> {
    vec![
        ("a_large_file_is_shared_out", |context| shared_out(context, "shared-out", "")),
        ("a_large_file_is_read_where_workers_have_no_workers", |context| {
            shared_out(context, "no-second", "self.Worker = class { constructor() { throw new Error('none'); } };")
        }),
        ("a_large_file_is_read_though_the_second_worker_says_nothing", |context| {
            shared_out(context, "silent-second", "self.Worker = class { postMessage() {} terminate() {} };")
        }),
        ("a_large_file_is_read_where_files_are_no_streams_of_bytes", |context| {
            shared_out(context, "no-bytes", "ReadableStream.prototype.getReader = () => { throw new TypeError('none'); };")
        }),
        ("a_large_file_is_read_where_streams_know_no_least", |context| shared_out(context, "no-least", NO_LEAST)),
        ("a_large_file_is_read_though_its_stream_ends_early", |context| shared_out(context, "early-end", EARLY_END)),
        ("a_large_file_is_read_alone_where_streams_know_no_least", |context| {
            let alone = "self.Worker = class { constructor() { throw new Error('none'); } };";
            shared_out(context, "no-least-alone", &format!("{NO_LEAST}{alone}"))
        }),
        ("a_large_file_is_read_though_the_second_worker_dies_hashing", |context| shared_out(context, "dies-hashing", &dies_at("took", 2))),
        ("a_large_file_is_read_though_the_second_worker_dies_reading", |context| shared_out(context, "dies-reading", &dies_at("read", 3))),
    ]
}

/// Reads of a stream that give what is there, however little was asked for at least.
const NO_LEAST: &str = "{
    const read = ReadableStreamBYOBReader.prototype.read;
    ReadableStreamBYOBReader.prototype.read = function (view) { return read.call(this, view); };
}";
/// A stream that says after its second piece that there is no more.
const EARLY_END: &str = "{
    const read = ReadableStreamBYOBReader.prototype.read;
    let count = 0;
    ReadableStreamBYOBReader.prototype.read = function (view, how) {
      return ++count > 2 ? Promise.resolve({ done: true, value: new Uint8Array(0) }) : read.call(this, view, how);
    };
}";

/// A worker whose own worker dies as it says a word for the `count`th time.
fn dies_at(word: &str, count: usize) -> String {
    format!(
        "self.Worker = class extends self.Worker {{
           constructor(url) {{
             super(url);
             let said = 0;
             this.addEventListener('message', (event) => {{
               if (event.data[0] !== '{word}' || ++said < {count}) return;
               event.stopImmediatePropagation();
               this.terminate();
               if (said === {count}) this.dispatchEvent(new ErrorEvent('error', {{ cancelable: true }}));
             }});
           }}
         }};"
    )
}

/// Above the size from which two workers read: 9 MB of an invented athlete's jumps.
fn large_file(context: &Context, name: &str) -> Outcome<(PathBuf, FileAnswer)> {
    let demo = demo_files().into_iter().next().ok_or("the demo squad has no recording")?;
    let (header, rows) = demo.text.split_once('\n').ok_or("no header")?;
    let forces: Vec<&str> = rows.lines().filter_map(|line| line.split_once(',')).map(|(_, forces)| forces).collect();
    let mut text = format!("{header}\n");
    let mut i = 0_u32;
    while text.len() < 9_000_000 {
        for forces in &forces {
            text.push_str(&format!("{:.3},{forces}\n", f64::from(i) / 1000.0));
            i += 1;
        }
    }
    let path = context.folder(name)?.join("long.csv");
    fs::write(&path, &text).map_err(|error| error.to_string())?;
    Ok((path, analyze("long.csv", text.as_bytes(), &Options::default()).answer))
}

fn shared_out(context: &Context, name: &str, meddle: &str) -> Outcome<()> {
    let (path, expected) = large_file(context, name)?;
    let mut browser = context.browser(name)?;
    // Every worker's script begins with what meddles.
    let meddle = serde_json::Value::String(meddle.to_owned());
    let source = format!(
        "{{ const Plain = Blob;
           globalThis.Blob = function (parts, how) {{ return new Plain(how?.type === 'text/javascript' ? [{meddle}, ...parts] : parts, how); }};
           globalThis.Blob.prototype = Plain.prototype; }}"
    );
    browser.call("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": source }))?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    browser.eval(
        "const make = tarsalMakeWorker; window.given = [];
         globalThis.tarsalMakeWorker = () => {
           const worker = make();
           worker.addEventListener('message', ({ data }) => { if (data[0] === 'trial') given.push(data[2]); });
           return worker;
         }; true",
    )?;
    browser.choose_files("#file-input", &[&path])?;
    browser.wait_for(TRIAL_SHOWN)?;
    browser.wait_for(IDLE)?;
    ensure(expected.trials.len() > 20, || format!("only {} trials to share out", expected.trials.len()))?;
    same("trials given", &browser.eval("given.length")?.as_u64(), &Some(expected.trials.len() as u64))?;
    let given: Vec<String> = serde_json::from_str(&browser.text("JSON.stringify(given)")?).map_err(|error| error.to_string())?;
    for (number, (given, expected)) in given.iter().zip(&expected.trials).enumerate() {
        let expected = serde_json::to_string(expected).map_err(|error| error.to_string())?;
        ensure(*given == expected, || format!("trial {number}: {given}\n expected {expected}"))?;
    }
    let first = expected.trials.first().ok_or("no trial")?;
    let id = format!("{}-{}", expected.sha256.get(..16).unwrap_or_default(), (first.start_s * 1000.0).round());
    same("the trial's key, which the hash is in", &browser.text("location.hash")?, &format!("#{id}"))?;
    browser.click(".wordmark")?;
    browser.wait_for(&format!("document.querySelector('#found').textContent.startsWith('{} trial')", expected.trials.len()))
}
