//! A squad of 200 athletes, 50 sessions, 6 trials a session: the store opened, the list filtered and sorted, in Chromium.
//!
//! ```text
//! cargo bench --bench scale
//! ```
//! 60 000 heads and 24 columns of figures are written into the database as the page itself writes them. Opening is the
//! page's own count, from the first request to the store until the list is at hand (`data-opened-ms`); filtering and
//! sorting are timed inside the page from the reader's input until the list stands drawn. Half of the trials are jumps and half
//! isometric pulls, one athlete is low in the pull alone: choosing his group again is timed as his whole study made and drawn,
//! leaving out every trial and member included. Best of three, at three sizes.
#[path = "../browser/context.rs"]
#[allow(dead_code)]
mod context;
#[path = "../browser/driver/mod.rs"]
#[allow(dead_code)]
mod driver;

use base64::Engine as _;
use context::Context;
use driver::{Browser, Launcher, Outcome};
use std::path::PathBuf;
use tarsal::answer::{TestKind, Verdict};
use tarsal::invented::Random;
use tarsal::people::{Athlete, Date, Session};
use tarsal::records::{Head, Kept, Record, heads_to_bytes};
use tarsal::screen::study::columns;

/// A test's name and body (what `context` calls a test).
#[allow(dead_code)]
type Test = (&'static str, fn(&Context) -> Outcome<()>);

const IDLE: &str = "document.documentElement.dataset.ready === 'true' && document.documentElement.dataset.idle === 'true'";

fn main() {
    if let Err(error) = run() {
        println!("scale bench: {error}");
        std::process::exit(1);
    }
}

fn run() -> Outcome<()> {
    let target = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target");
    let scratch = target.join("bench-scale");
    let launcher = Launcher::find(&scratch).ok_or("Chromium is missing; install it or name it in TARSAL_CHROMIUM")?;
    let context = Context::new(launcher, scratch)?;
    println!(
        "{:>9} {:>9} {:>9} {:>10} {:>10} {:>14} {:>9}",
        "athletes", "trials", "open, ms", "filter, ms", "sort, ms", "one column, ms", "study, ms"
    );
    for athletes in [50, 100, 200] {
        one(&context, athletes)?;
    }
    Ok(())
}

fn one(context: &Context, athletes: usize) -> Outcome<()> {
    let (book, heads) = squad(athletes);
    let mut browser = context.browser(&format!("scale-{athletes}"))?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    fill(&mut browser, &book, &heads)?;
    let (mut open, mut filter, mut sort, mut column, mut study) = (f64::MAX, f64::MAX, f64::MAX, f64::MAX, f64::MAX);
    for _ in 0..3 {
        browser.eval("location.hash = ''")?;
        browser.wait_for(IDLE)?;
        browser.reload()?;
        browser.wait_for(IDLE)?;
        browser.wait_for(&format!("document.querySelector('#found').textContent.startsWith('{}')", heads.len()))?;
        open = open.min(number(&mut browser, "Number(document.documentElement.dataset.openedMs)")?);
        filter = filter.min(number(&mut browser, &timed("words", "athlete 7", "input"))?);
        browser.eval(&timed("words", "", "input"))?;
        sort = sort.min(number(&mut browser, &timed("order", "height", "input"))?);
        browser.eval(&timed("order", "athlete", "input"))?;
        column = column.min(number(&mut browser, COLUMN)?);
        browser.eval("location.hash = 'athlete/athlete-17'")?;
        browser.wait_for("document.getElementById('hand-over')")?;
        browser.wait_for(IDLE)?;
        study = study.min(number(&mut browser, STUDY)?);
    }
    let answer = browser.text("document.getElementById('answer')?.innerText.split('\\n').slice(0, 3).join(' ') ?? ''")?;
    println!("{athletes:9} {:9} {open:9.0} {filter:10.0} {sort:10.0} {column:14.1} {study:9.0}  {answer}", heads.len());
    Ok(())
}

/// Sets a field of the list's form and waits until the list is drawn anew.
fn timed(field: &str, value: &str, event: &str) -> String {
    format!(
        "new Promise((done) => {{ const e = document.querySelector('#saved [name={field}]'); const from = performance.now(); \
         const seen = new MutationObserver(() => {{ seen.disconnect(); done(performance.now() - from); }}); \
         seen.observe(document.querySelector('#saved'), {{ childList: true, subtree: true, characterData: true }}); \
         e.value = '{value}'; e.dispatchEvent(new Event('{event}', {{ bubbles: true }})); }})"
    )
}

/// Reads one figure's column and sums it, as a statistic over everybody begins.
const COLUMN: &str = "new Promise((done) => { const o = indexedDB.open('tarsal'); o.onsuccess = () => { const from = performance.now(); \
    const g = o.result.transaction('table').objectStore('table').get('figure:figure_3'); g.onsuccess = () => { let s = 0; \
    for (let i = 0; i < g.result.length; i += 2) s += g.result[i]; o.result.close(); done(s > 0 ? performance.now() - from : -1); }; }; })";

/// Has the athlete's study made again, with another group of the same people, until it stands drawn.
const STUDY: &str = "new Promise((done) => { const f = document.querySelector('[data-do=group]'); const from = performance.now(); \
    const seen = new MutationObserver(() => { seen.disconnect(); done(performance.now() - from); }); \
    seen.observe(document.querySelector('#group-choice summary'), { childList: true, subtree: true, characterData: true }); \
    const age = f.querySelector('[name=tested_from]'); age.value = age.value === '2024-08-01' ? '2024-08-02' : '2024-08-01'; f.requestSubmit(); })";

fn number(browser: &mut Browser, expression: &str) -> Outcome<f64> {
    browser.eval(expression)?.as_f64().ok_or_else(|| format!("{expression} is no number"))
}

/// Athletes and sessions as records, and a head a trial.
fn squad(athletes: usize) -> (Vec<Record>, Vec<Head>) {
    let mut random = Random::new(1);
    let now = "2026-01-01T00:00:00Z";
    let mut book = Vec::new();
    for a in 0..athletes {
        let id = format!("athlete-{a}");
        book.push(Record::Athlete(Kept::new(
            "athlete",
            &id,
            Athlete { id: id.clone(), name: format!("Invented athlete {a}"), ..Athlete::default() },
            now,
        )));
    }
    for s in 0..50 {
        book.push(Record::Session(Kept::new("session", &format!("session-{s}"), Session::on(Date(20_000 + s * 7)), now)));
    }
    let mut heads = Vec::new();
    for a in 0..athletes {
        for s in 0..50 {
            for t in 0..6 {
                let value = random.between(0.2, 0.5);
                heads.push(Head {
                    id: format!("{:016x}-{}", random.bits(), 1000 * t).into(),
                    rev: 1,
                    file: format!("invented-athlete-{a}-countermovement-{t}.csv").into(),
                    added: format!("2026-01-01T{:02}:{:02}:00Z", s / 3, s).into(),
                    athlete_id: format!("athlete-{a}").into(),
                    session_id: format!("session-{s}").into(),
                    protocol_key: "hands=hips".into(),
                    method: tarsal::answer::METHOD_VERSION.into(),
                    test: if t < 3 { TestKind::CountermovementJump } else { TestKind::Isometric },
                    side: b'b',
                    verdict: Verdict::Sound,
                    invented: true,
                    removed: false,
                    edited: false,
                    by_day: false,
                    number: t,
                    start_s: 0.0,
                    figure: "jump_height".into(),
                    value: (value, 0.003),
                    body_mass_kg: 70.0,
                    gravity: 9.806_65,
                });
            }
        }
    }
    heads.sort_by(|a, b| a.id.cmp(&b.id));
    (book, heads)
}

/// Writes them as the page would, in pieces that a message can carry.
fn fill(browser: &mut Browser, book: &[Record], heads: &[Head]) -> Outcome<()> {
    let bytes = base64::engine::general_purpose::STANDARD.encode(heads_to_bytes(heads.iter()));
    browser.eval("globalThis.packed = ''")?;
    for piece in bytes.as_bytes().chunks(1 << 20) {
        browser.eval(&format!("packed += '{}'; 0", String::from_utf8_lossy(piece)))?;
    }
    let ids = serde_json::to_string(&columns()).map_err(|error| error.to_string())?;
    let owner =
        |h: &Head| (h.athlete_id.trim_start_matches("athlete-").parse::<u32>().unwrap_or(0), u8::from(h.test == TestKind::Isometric));
    let owners: Vec<(u32, u8)> = heads.iter().map(owner).collect();
    let owners = serde_json::to_string(&owners).map_err(|error| error.to_string())?;
    let book: Vec<(&str, String)> = book.iter().map(|r| (r.id(), r.to_text())).collect();
    browser
        .eval(&format!(
            "new Promise((done, failed) => {{ const o = indexedDB.open('tarsal'); o.onerror = failed; o.onsuccess = () => {{ \
         const t = o.result.transaction(['book', 'table'], 'readwrite'); for (const [k, v] of {}) t.objectStore('book').put(v, k); \
         t.objectStore('table').put(Uint8Array.from(atob(packed), (c) => c.charCodeAt(0)), 'heads'); \
         for (let f = 0; f < 24; f++) t.objectStore('table').put(new Float64Array({}).map((_, i) => i % 7 + 0.25), 'figure:figure_' + f); \
         let x = 1; const draw = () => (x = (Math.imul(x, 1664525) + 1013904223) >>> 0) / 2 ** 31 - 1; \
         const owners = {owners}; for (const id of {ids}) {{ const pull = /^(force_at|peak_rate|peak_force_per_kg)/.test(id); \
         const own = Array.from({{ length: 256 }}, () => 20 * (1 + 0.2 * draw())); own[17] = /^(force_at_250|peak_force_per_kg)/.test(id) ? 11 : 21; \
         const c = new Float64Array(2 * owners.length); owners.forEach(([a, iso], i) => {{ c[2 * i] = pull === (iso === 1) ? (id.startsWith('difference:') ? 0 : own[a]) * (1 + (a === 17 ? 0.02 : 0.07) * draw()) : NaN; \
         c[2 * i + 1] = 0.1; }}); t.objectStore('table').put(c, 'figure:' + id); }} \
         t.oncomplete = () => {{ o.result.close(); done(true); }}; }}; }})",
            serde_json::to_string(&book).map_err(|error| error.to_string())?,
            heads.len() * 2
        ))
        .map(drop)
}
