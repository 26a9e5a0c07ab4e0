//! The page works without a network, sends nothing anywhere, and changes builds only when asked.

use crate::{
    Test,
    context::{Context, OFFLINE, PANIC_SHOWN, READY, TRIAL_SHOWN, ensure, same},
    driver::{Browser, Outcome},
    given::{HEADLINE, read_and_save, saved, two_recordings},
};
use serde_json::json;
use std::{
    fs,
    net::{TcpListener, TcpStream},
    time::{Duration, Instant},
};
use tarsal::site::{Bound, GLUE, HOSTED_POLICY, LATER, Server, Site, WASM, assemble};

const UPDATE_SHOWN: &str = "!document.getElementById('update-bar').hidden";
/// Asked for by a worker, to see that it is seen.
const PROBE: &str = "seen-by-the-watch";

pub fn tests() -> Vec<Test> {
    vec![
        ("opens_at_the_root", |context| opens_and_works_offline(context, "opens_at_the_root", "/")),
        ("opens_where_the_network_never_answers", opens_where_the_network_never_answers),
        ("opens_below_a_path", |context| opens_and_works_offline(context, "opens_below_a_path", "/some/club/")),
        ("asks_only_its_own_origin", asks_only_its_own_origin),
        ("a_new_build_is_offered_not_forced", a_new_build_is_offered_not_forced),
        ("another_window_keeps_its_build", another_window_keeps_its_build),
        ("a_mixed_upload_is_not_taken", a_mixed_upload_is_not_taken),
        ("a_panic_is_told_in_plain_words", a_panic_is_told_in_plain_words),
        ("the_policy_holds", the_policy_holds),
    ]
}

fn opens_and_works_offline(context: &Context, name: &str, base: &str) -> Outcome<()> {
    let server = context.server(base)?;
    let mut browser = context.browser(name)?;
    browser.navigate(&server.url())?;
    browser.wait_for(READY)?;
    same("build id", &browser.text("tarsalBuild")?, &context.site.build_id)?;
    browser.wait_for(OFFLINE)?;
    let [first, second] = two_recordings(context, name)?;
    let height = read_and_save(&mut browser, &first)?;
    let address = server.url();
    stop(server)?;
    browser.reload()?;
    browser.wait_for(READY)?;
    browser.wait_for(OFFLINE)?;
    same("build id without a server", &browser.text("tarsalBuild")?, &context.site.build_id)?;
    browser.wait_for(TRIAL_SHOWN)?;
    same("the saved trial without a server", &browser.text(HEADLINE)?, &height)?;
    read_and_save(&mut browser, &second)?;
    browser.reload()?;
    saved(&mut browser, 2)?;
    // The computer dies and is started again, far from any network.
    browser.kill();
    let mut browser = context.browser(name)?;
    browser.navigate(&address)?;
    browser.wait_for(OFFLINE)?;
    saved(&mut browser, 2)
}

/// A hall's network that takes every request and answers none must not keep the page from saying that it works.
fn opens_where_the_network_never_answers(context: &Context) -> Outcome<()> {
    let server = context.server("/")?;
    let port = server.port();
    let mut browser = context.browser("opens_where_the_network_never_answers")?;
    browser.navigate(&server.url())?;
    browser.wait_for(READY)?;
    browser.wait_for(OFFLINE)?;
    stop(server)?;
    // Takes connections into its queue and never looks at them.
    let silent = TcpListener::bind(("127.0.0.1", port)).map_err(|error| error.to_string())?;
    // The browser's own look for a newer service worker comes about a second after the page: here it comes first.
    let source = "navigator.serviceWorker.getRegistration().then((held) => { globalThis.looking = held.update(); });";
    browser.call("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source }))?;
    browser.reload()?;
    browser.wait_for(READY)?;
    browser.wait_for("globalThis.looking instanceof Promise")?;
    browser.wait_for(OFFLINE)?;
    let looking = browser.text("Promise.race([looking.then(() => 'answered', () => 'failed'), Promise.resolve('waiting')])")?;
    same("the look for a newer build", &looking.as_str(), &"waiting")?;
    drop(silent);
    Ok(())
}

/// Ends the server and makes sure that nobody answers any more.
fn stop(server: Server) -> Outcome<()> {
    let port = server.port();
    drop(server);
    let deadline = Instant::now() + Duration::from_secs(5);
    while TcpStream::connect(("127.0.0.1", port)).is_ok() {
        ensure(Instant::now() < deadline, || format!("port {port} still answers after the server was stopped"))?;
        std::thread::sleep(Duration::from_millis(20));
    }
    Ok(())
}

fn asks_only_its_own_origin(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("asks_only_its_own_origin")?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(READY)?;
    browser.wait_for(OFFLINE)?;
    browser.reload()?;
    browser.wait_for(READY)?;
    // A worker's request, to prove that both watches below would see one that should not be there.
    browser.eval(&format!(
        "new Promise((done) => {{ const worker = new Worker(URL.createObjectURL(new Blob(['fetch(\"{}{PROBE}\").finally(() => postMessage(0))'])));
           worker.onmessage = done; }}).then(() => 0)",
        context.base_url
    ))?;
    let inside = |url: &str| url.starts_with(&context.base_url) || url.starts_with("blob:") || url.starts_with("data:");
    let requests = browser.requests()?;
    ensure(requests.iter().any(|url| url.ends_with(PROBE)), || format!("a worker's request was not noted: {requests:?}"))?;
    let outside: Vec<&String> = requests.iter().filter(|url| !inside(url)).collect();
    ensure(outside.is_empty(), || format!("requests to elsewhere: {outside:?}"))?;
    let reached = browser.close_and_list_requests()?;
    ensure(reached.iter().any(|url| url.ends_with(PROBE)), || format!("the net log lacks a worker's request: {reached:?}"))?;
    let outside: Vec<&String> = reached.iter().filter(|url| !inside(url)).collect();
    ensure(outside.is_empty(), || format!("the net log shows requests to elsewhere: {outside:?}"))
}

fn a_new_build_is_offered_not_forced(context: &Context) -> Outcome<()> {
    let server = context.server("/")?;
    let mut browser = context.browser("a_new_build_is_offered_not_forced")?;
    let (old, new) = (context.site.build_id.clone(), changed(context, "offered")?);
    ensure(new.build_id != old, || "a changed file did not change the build id".into())?;
    browser.navigate(&server.url())?;
    browser.wait_for(OFFLINE)?;
    // Another app at the root of the same origin, and another copy of this one below it.
    let neighbours = ["photos-v3".to_owned(), format!("tarsal:{}other/:{old}", server.url())];
    for neighbour in &neighbours {
        browser.eval(&format!("caches.open('{neighbour}').then((cache) => cache.put('/kept', new Response('kept')))"))?;
    }
    let new_id = new.build_id.clone();
    server.replace(new);
    browser.reload()?;
    browser.wait_for(READY)?;
    browser.wait_for(UPDATE_SHOWN)?;
    same("build before the reader asks", &browser.text("tarsalBuild")?, &old)?;
    browser.reload()?;
    browser.wait_for(UPDATE_SHOWN)?;
    same("build after a reload", &browser.text("tarsalBuild")?, &old)?;
    browser.click("#update-now")?;
    browser.wait_for(&format!("tarsalBuild === '{new_id}'"))?;
    browser.wait_for(READY)?;
    browser.wait_for(OFFLINE)?;
    ensure(browser.eval(UPDATE_SHOWN)? == false, || "the newer build offers itself again".into())?;
    let caches =
        wait_for_caches(&mut browser, &|keys: &[String]| !keys.iter().any(|key| *key == format!("tarsal:{}:{old}", server.url())))?;
    for neighbour in &neighbours {
        ensure(caches.contains(neighbour), || format!("{neighbour} is gone from {caches:?}"))?;
    }
    stop(server)?;
    browser.reload()?;
    browser.wait_for(READY)?;
    same("build without a server", &browser.text("tarsalBuild")?, &new_id)
}

/// Two windows, an update asked for in one: the other goes on undisturbed, and its build is kept while it runs.
fn another_window_keeps_its_build(context: &Context) -> Outcome<()> {
    let server = context.server("/")?;
    let mut browser = context.browser("another_window_keeps_its_build")?;
    let (old, new) = (context.site.build_id.clone(), changed(context, "windows")?);
    let (old_key, new_id) = (format!("tarsal:{}:{old}", server.url()), new.build_id.clone());
    browser.navigate(&server.url())?;
    browser.wait_for(OFFLINE)?;
    browser.open_window()?;
    browser.navigate(&server.url())?;
    browser.wait_for(OFFLINE)?;
    browser.eval("globalThis.unfinished = 'typing'")?;
    server.replace(new);
    browser.switch_window()?;
    browser.reload()?;
    browser.click("#update-now")?;
    browser.wait_for(&format!("tarsalBuild === '{new_id}' && {OFFLINE}"))?;
    browser.switch_window()?;
    browser.wait_for(UPDATE_SHOWN)?;
    same("what the other window was doing", &browser.text("globalThis.unfinished")?, &"typing".to_owned())?;
    same("the other window's build", &browser.text("tarsalBuild")?, &old)?;
    wait_for_caches(&mut browser, &|keys: &[String]| keys.contains(&old_key))?;
    browser.click("#update-now")?;
    browser.wait_for(&format!("tarsalBuild === '{new_id}' && {READY}"))?;
    wait_for_caches(&mut browser, &|keys: &[String]| !keys.contains(&old_key)).map(drop)
}

/// The origin's cache names, once they are as wanted.
fn wait_for_caches(browser: &mut Browser, wanted: &dyn Fn(&[String]) -> bool) -> Outcome<Vec<String>> {
    let deadline = Instant::now() + Duration::from_secs(15);
    loop {
        let keys: Vec<String> = serde_json::from_value(browser.eval("caches.keys()")?).map_err(|error| error.to_string())?;
        if wanted(&keys) {
            return Ok(keys);
        }
        ensure(Instant::now() < deadline, || format!("the caches stayed {keys:?}"))?;
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// An upload caught half-way: the new service worker beside one file of the old build.
fn a_mixed_upload_is_not_taken(context: &Context) -> Outcome<()> {
    let server = context.server("/")?;
    let mut browser = context.browser("a_mixed_upload_is_not_taken")?;
    browser.navigate(&server.url())?;
    browser.wait_for(OFFLINE)?;
    let mut mixed = changed(context, "mixed")?;
    let partial_key = format!("tarsal:{}:{}", server.url(), mixed.build_id);
    let old_style = context.site.files.get("app.css").cloned().unwrap_or_default();
    mixed.files.insert("app.css".into(), old_style);
    server.replace(mixed);
    browser.reload()?;
    browser.wait_for(READY)?;
    // The check that follows a navigation may take its time; asking for it here ends when the install has failed.
    let installed = browser.eval(
        "navigator.serviceWorker.getRegistration().then((r) => r.update()).then((r) => new Promise((done) => {
           const coming = r.installing; if (!coming) return done(r.waiting !== null);
           coming.onstatechange = () => { if (coming.state !== 'installing') done(coming.state !== 'redundant'); }; }), () => false)",
    )?;
    ensure(installed == false, || "a mixture of two builds was installed".into())?;
    ensure(browser.eval(UPDATE_SHOWN)? == false, || "a mixture of two builds was offered".into())?;
    wait_for_caches(&mut browser, &|keys: &[String]| !keys.contains(&partial_key))?;
    stop(server)?;
    browser.reload()?;
    browser.wait_for(READY)?;
    same("build", &browser.text("tarsalBuild")?, &context.site.build_id)
}

/// The site after somebody edited its style sheet.
fn changed(context: &Context, name: &str) -> Outcome<Site> {
    let www = context.folder(&format!("www-{name}"))?;
    let failed = |error: std::io::Error| format!("{}: {error}", www.display());
    for entry in fs::read_dir(context.root.join("www")).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if let (true, Some(file)) = (path.is_file(), path.file_name()) {
            fs::copy(&path, www.join(file)).map_err(failed)?;
        }
    }
    let style = fs::read_to_string(www.join("app.css")).map_err(failed)?;
    fs::write(www.join("app.css"), format!("{style}\n.unused-{name} {{ color: inherit; }}\n")).map_err(failed)?;
    let file = |name: &str| context.site.files.get(name).cloned().ok_or_else(|| format!("the site lacks {name}"));
    let glue = String::from_utf8(file(GLUE)?).map_err(|error| error.to_string())?;
    assemble(&Bound { glue, wasm: file(WASM)?, later: file(LATER)?, whole: Vec::new() }, &www).map_err(|error| error.to_string())
}

fn a_panic_is_told_in_plain_words(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("a_panic_is_told_in_plain_words")?;
    let downloads = context.folder("panic-downloads")?;
    browser.download_to(&downloads)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(READY)?;
    ensure(browser.eval(PANIC_SHOWN)? == false, || "the bar shows before anything happened".into())?;
    // The smallest module that traps: its start function is one `unreachable`.
    browser.eval(
        "setTimeout(() => new WebAssembly.Instance(new WebAssembly.Module(new Uint8Array(
           [0,97,115,109,1,0,0,0, 1,4,1,96,0,0, 3,2,1,0, 8,1,0, 10,5,1,3,0,0,11])))), 0",
    )?;
    browser.wait_for(PANIC_SHOWN)?;
    let words = browser.text("document.getElementById('panic-bar').innerText")?;
    ensure(
        words.contains("Nothing you saved is lost")
            || words.contains("nothing you saved is lost")
            || words.contains("othing saved is lost"),
        || format!("the bar does not say that saved work is safe: {words}"),
    )?;
    browser.click("#panic-save")?;
    let file = downloads.join("tarsal-diagnostics.json");
    let deadline = Instant::now() + Duration::from_secs(15);
    let report = loop {
        if let Some(report) = fs::read(&file).ok().and_then(|bytes| serde_json::from_slice::<serde_json::Value>(&bytes).ok()) {
            break report;
        }
        ensure(Instant::now() < deadline, || "no diagnostics file was saved".into())?;
        std::thread::sleep(Duration::from_millis(50));
    };
    same("build in the diagnostics", &report["build"].as_str(), &Some(context.site.build_id.as_str()))?;
    ensure(report["message"].as_str().is_some_and(|message| message.contains("unreachable")), || format!("no cause in {report}"))?;
    browser.click("#panic-reload")?;
    browser.wait_for(&format!("{READY} && document.getElementById('panic-bar').hidden"))?;
    browser.eval("tarsalPanic('told by the page')")?;
    browser.wait_for(PANIC_SHOWN)
}

fn the_policy_holds(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("the_policy_holds")?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(READY)?;
    let policy = browser.text("document.querySelector('meta[http-equiv=Content-Security-Policy]').content")?;
    same("policy", &policy, &HOSTED_POLICY.to_owned())?;
    let script = "(() => { const s = document.createElement('script'); s.textContent = 'globalThis.inlineRan = true'; \
                  document.head.append(s); return globalThis.inlineRan === true; })()";
    ensure(browser.eval(script)? == false, || "an inline script ran".into())?;
    let style = "(() => { document.body.setAttribute('style', 'position: fixed'); return document.body.style.position; })()";
    same("position set by a style attribute", &browser.text(style)?, &String::new())?;
    let elsewhere = context.server("/")?;
    let violated = browser.eval(&format!(
        "new Promise((done) => {{ document.addEventListener('securitypolicyviolation', (event) => done(event.effectiveDirective), {{ once: true }});
           fetch('{}').then(() => done('nothing'), () => {{}}); }})",
        elsewhere.url()
    ))?;
    same("directive that stops a request to elsewhere", &violated.as_str(), &Some("connect-src"))
}
