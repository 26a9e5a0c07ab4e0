//! The store itself: backups, restoring, merging, migration, damage, a full disk, and crashes at any moment.

use crate::{
    Test,
    context::{Context, ensure, same},
    driver::{Browser, Outcome},
    squad::{contains, fill, go, morning, settled, start},
};
use std::{
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};
use tarsal::invented::{Random, demo_files};

pub fn tests() -> Vec<Test> {
    vec![
        ("storage_a_backup_restored_and_backed_up_again_is_the_same_file", a_backup_restored_and_backed_up_again_is_the_same_file),
        ("storage_a_locked_backup_opens_with_its_passphrase_only", a_locked_backup_opens_with_its_passphrase_only),
        ("storage_two_coaches_stores_are_merged_with_conflicts_shown", two_coaches_stores_are_merged_with_conflicts_shown),
        ("storage_the_first_form_of_the_store_is_brought_over", the_first_form_of_the_store_is_brought_over),
        ("storage_a_crash_at_any_moment_of_migrating_loses_nothing", a_crash_at_any_moment_of_migrating_loses_nothing),
        ("storage_a_damaged_and_a_newer_record_are_left_alone", a_damaged_and_a_newer_record_are_left_alone),
        ("storage_a_full_disk_is_told_and_survived", a_full_disk_is_told_and_survived),
        ("storage_a_crash_at_any_moment_leaves_whole_records", a_crash_at_any_moment_leaves_whole_records),
        ("storage_tables_are_handed_over", tables_are_handed_over),
        ("storage_inches_and_pounds_are_a_choice_of_the_device", inches_and_pounds_are_a_choice_of_the_device),
        ("storage_room_and_promise_are_told", room_and_promise_are_told),
    ]
}

/// Waits for a file of this ending in the folder of downloads.
fn downloaded(folder: &Path, end: &str) -> Outcome<PathBuf> {
    let deadline = Instant::now() + Duration::from_secs(20);
    loop {
        let found = fs::read_dir(folder).map_err(|error| error.to_string())?.flatten().map(|entry| entry.path());
        if let Some(file) = found.into_iter().find(|path| path.to_string_lossy().ends_with(end)) {
            return Ok(file);
        }
        ensure(Instant::now() < deadline, || format!("no {end} arrived"))?;
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Saves a backup into a new folder.
pub fn back_up(context: &Context, browser: &mut Browser, name: &str, passphrase: &str) -> Outcome<PathBuf> {
    let folder = context.folder(name)?;
    browser.download_to(&folder)?;
    go(browser, "storage")?;
    fill(browser, "#backup-pass", passphrase)?;
    browser.click("#backup [type=submit]")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('The backup')")?;
    downloaded(&folder, ".tarsal-backup")
}

pub fn compare(browser: &mut Browser, file: &Path, passphrase: &str) -> Outcome<()> {
    go(browser, "storage")?;
    browser.choose_files("#restore-file", &[file])?;
    fill(browser, "#restore-pass", passphrase)?;
    browser.click("#restore [type=submit]")
}

pub fn squad_of(context: &Context, browser: &mut Browser, name: &str, count: usize) -> Outcome<()> {
    let files = morning(&context.folder(&format!("{name}-files"))?, count)?;
    let paths: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
    browser.choose_files("#file-input", &paths)?;
    browser.wait_for("document.querySelector('#names [type=submit]') !== null")?;
    settled(browser)?;
    browser.click("#names form[data-do=file-names] [type=submit]")?;
    browser.wait_for("document.querySelector('#message')?.textContent.includes('filed')")?;
    settled(browser)
}

fn a_backup_restored_and_backed_up_again_is_the_same_file(context: &Context) -> Outcome<()> {
    let name = "a_backup_restored_and_backed_up_again_is_the_same_file";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 6)?;
    let first = back_up(context, &mut browser, &format!("{name}-1"), "")?;
    contains(&browser.text("document.querySelector('#last-backup').textContent")?, "Last backup")?;
    drop(browser);
    let mut browser = start(context, &format!("{name}-elsewhere"))?;
    compare(&mut browser, &first, "")?;
    browser.wait_for("document.querySelector('#merge') !== null")?;
    // Six athletes, one session, six trials.
    contains(&browser.text("document.querySelector('#merge').textContent")?, "13 new, 0 the same, 0 that differ")?;
    browser.click("#merge [type=submit]")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('13 new records')")?;
    settled(&mut browser)?;
    let second = back_up(context, &mut browser, &format!("{name}-2"), "")?;
    let read = |path: &Path| fs::read(path).map_err(|error| error.to_string());
    ensure(read(&first)? == read(&second)?, || "the second backup is another file".into())?;
    // A restored trial opens with its force.
    go(&mut browser, "")?;
    browser.click("#saved tbody a")?;
    browser.wait_for("document.querySelector('#trace path.total')?.getAttribute('d').length > 100")
}

fn a_locked_backup_opens_with_its_passphrase_only(context: &Context) -> Outcome<()> {
    let name = "a_locked_backup_opens_with_its_passphrase_only";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 2)?;
    let file = back_up(context, &mut browser, &format!("{name}-1"), "Überquerung 7")?;
    let bytes = fs::read(&file).map_err(|error| error.to_string())?;
    ensure(!String::from_utf8_lossy(&bytes).contains("Ada"), || "a name stands open in a locked file".into())?;
    drop(browser);
    let mut browser = start(context, &format!("{name}-elsewhere"))?;
    compare(&mut browser, &file, "")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('Type its passphrase')")?;
    settled(&mut browser)?;
    compare(&mut browser, &file, "Uberquerung 7")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('does not open')")?;
    settled(&mut browser)?;
    compare(&mut browser, &file, "Überquerung 7")?;
    browser.wait_for("document.querySelector('#merge') !== null")?;
    browser.click("#merge [type=submit]")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('5 new records')")?;
    // A cut file says so, and changes nothing.
    let cut = context.folder(name)?.join("cut.tarsal-backup");
    fs::write(&cut, &bytes[..bytes.len() / 2]).map_err(|error| error.to_string())?;
    compare(&mut browser, &cut, "Überquerung 7")?;
    browser.wait_for("document.querySelector('#store-outcome')?.textContent.includes('ends too early')")
}

fn two_coaches_stores_are_merged_with_conflicts_shown(context: &Context) -> Outcome<()> {
    let name = "two_coaches_stores_are_merged_with_conflicts_shown";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 2)?;
    let first = back_up(context, &mut browser, &format!("{name}-1"), "")?;
    go(&mut browser, "squad")?;
    browser.click("#squad tbody a")?;
    // The study comes in above the record once the squad's figures are read.
    settled(&mut browser)?;
    browser.wait_for("document.getElementById('hand-over') !== null")?;
    fill(&mut browser, "#record input[name=sport]", "Rowing")?;
    browser.click("#record [type=submit]")?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelector('.about').textContent.includes('Rowing')")?;
    settled(&mut browser)?;
    let later = back_up(context, &mut browser, &format!("{name}-2"), "")?;
    drop(browser);
    let mut browser = start(context, &format!("{name}-elsewhere"))?;
    for file in [&first, &later] {
        compare(&mut browser, file, "")?;
        browser.wait_for("document.querySelector('#merge') !== null")?;
        if file == &later {
            contains(&browser.text("document.querySelector('#merge').textContent")?, "0 new, 4 the same, 1 that differ")?;
            contains(&browser.text("document.querySelector('#merge tbody').textContent")?, "athlete Ada")?;
            // Nothing is taken that is not ticked: here it is.
            browser.click("#merge input[name=theirs]")?;
        }
        browser.click("#merge [type=submit]")?;
        browser.wait_for(
            "document.querySelector('#merge') === null && document.querySelector('#store-outcome')?.textContent.includes('Taken in')",
        )?;
        settled(&mut browser)?;
    }
    go(&mut browser, "squad")?;
    browser.wait_for("document.querySelector('#squad').textContent.includes('Rowing')")
}

/// Writes a database of form 1, as the first version of the page left it, before the page is opened.
fn write_form_1(context: &Context, browser: &mut Browser, records: &[(String, String)]) -> Outcome<()> {
    // A page of the same origin that does not open the store.
    browser.navigate(&format!("{}manifest.webmanifest", context.base_url))?;
    browser
        .eval(&format!(
            "new Promise((done, failed) => {{ const o = indexedDB.open('tarsal', 1); o.onerror = failed; \
         o.onupgradeneeded = () => {{ o.result.createObjectStore('records'); o.result.createObjectStore('samples'); }}; \
         o.onsuccess = () => {{ const t = o.result.transaction(['records', 'samples'], 'readwrite'); \
         for (const [key, value] of {}) t.objectStore('records').put(value, key); \
         t.oncomplete = () => {{ o.result.close(); done(true); }}; }}; }})",
            serde_json::to_string(records).map_err(|error| error.to_string())?
        ))
        .map(drop)
}

/// Records of form 1, made from this version's by taking away what it did not have.
fn form_1(count: usize) -> Outcome<Vec<(String, String)>> {
    use tarsal::answer::{METHOD_VERSION, Options, analyze};
    use tarsal::records::{Envelope, WindowHead, trial_id};
    let mut records = Vec::new();
    for (i, demo) in demo_files().into_iter().take(count).enumerate() {
        let analysis = analyze(&demo.name, demo.text.as_bytes(), &Options::default());
        for (trial, window) in analysis.answer.trials.iter().zip(&analysis.windows) {
            let id = trial_id(&analysis.answer.sha256, trial.start_s);
            let mut record =
                serde_json::to_value(Envelope::new("trial", &id, METHOD_VERSION, "2026-01-01T00:00:00Z")).map_err(|e| e.to_string())?;
            let rest = serde_json::json!({ "schema": 1, "file": format!("old-{i}.csv"), "sha256": analysis.answer.sha256, "added": "2026-01-01T00:00:00Z",
                "athlete": demo.athlete, "options": Options::default(), "recording": null, "trial": trial, "window": WindowHead::of(window) });
            let (Some(record), Some(rest)) = (record.as_object_mut(), rest.as_object()) else { return Err("no object".into()) };
            record.extend(rest.clone());
            records.push((id, serde_json::to_string(&record).map_err(|e| e.to_string())?));
        }
    }
    Ok(records)
}

fn the_first_form_of_the_store_is_brought_over(context: &Context) -> Outcome<()> {
    let name = "the_first_form_of_the_store_is_brought_over";
    let records = form_1(4)?;
    let mut browser = context.browser(name)?;
    write_form_1(context, &mut browser, &records)?;
    browser.navigate(&context.base_url)?;
    settled(&mut browser)?;
    browser.wait_for(&format!("document.querySelectorAll('#saved tbody tr').length === {}", records.len()))?;
    same("athletes", &browser.eval("document.querySelectorAll('#saved table').length")?, &2.into())?;
    contains(&browser.text("document.querySelector('#saved').textContent")?, "Invented Alder")?;
    same("troubles", &browser.eval("document.querySelector('.trouble') === null")?, &true.into())
}

/// How many crashes a test makes: as `TARSAL_CRASHES` says, else more under CI than at a desk.
fn crashes() -> u64 {
    let usual = if std::env::var_os("CI").is_some_and(|v| !v.is_empty()) { 10 } else { 5 };
    std::env::var("TARSAL_CRASHES").ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

/// Kills the browser at random moments while it brings three hundred records of form 1 over. At each moment every record is whole
/// in the old store or in the new one, and the next start ends what was begun.
fn a_crash_at_any_moment_of_migrating_loses_nothing(context: &Context) -> Outcome<()> {
    let name = "a_crash_at_any_moment_of_migrating_loses_nothing";
    let one = form_1(4)?;
    let records: Vec<(String, String)> =
        (0..300).map(|i| (format!("{i:016x}-0"), one[i % one.len()].1.replace(&one[i % one.len()].0, &format!("{i:016x}-0")))).collect();
    let mut random = Random::new(5);
    let mut moments = [0_u64; 3];
    for crash in 0..crashes() {
        let mut browser = context.browser(name)?;
        browser.navigate(&format!("{}manifest.webmanifest", context.base_url))?;
        browser.eval(
            "new Promise((done, failed) => { const d = indexedDB.deleteDatabase('tarsal'); d.onsuccess = done; d.onerror = failed; })",
        )?;
        write_form_1(context, &mut browser, &records)?;
        browser.eval(&format!("location.href = '{}'", context.base_url))?;
        // The database has its new form just before the records are brought over: the kill falls into that, not into loading.
        let deadline = Instant::now() + Duration::from_secs(30);
        while browser.eval("indexedDB.databases().then((all) => all.some((d) => d.version > 1))") != Ok(true.into()) {
            ensure(Instant::now() < deadline, || "the page never opened the store".into())?;
        }
        std::thread::sleep(Duration::from_millis(random.bits() % 1500));
        browser.kill();
        let mut browser = context.browser(name)?;
        browser.navigate(&format!("{}manifest.webmanifest", context.base_url))?;
        let found = browser.eval(
            "new Promise((done) => { const o = indexedDB.open('tarsal'); o.onsuccess = async () => { const read = (name) => new Promise((r) => { \
             if (!o.result.objectStoreNames.contains(name)) return r([]); \
             const q = o.result.transaction(name).objectStore(name).getAll(); q.onsuccess = () => r(q.result); }); \
             const [old, now] = [await read('records'), await read('trials')]; o.result.close(); [...old, ...now].forEach(JSON.parse); \
             done([old.length, now.length]); }; })",
        )?;
        let at = match (found[0].as_u64(), found[1].as_u64()) {
            (Some(300), Some(0)) => 0,
            (Some(300), Some(300)) => 1,
            (Some(0), Some(300)) => 2,
            _ => return Err(format!("crash {crash}: {found} records in the old and in the new store")),
        };
        moments[at] += 1;
        browser.navigate(&context.base_url)?;
        settled(&mut browser)?;
        browser.wait_for("document.querySelector('#found')?.textContent === '300 trials'")?;
        same("troubles", &browser.eval("document.querySelector('.trouble') === null")?, &true.into())?;
    }
    println!("killed before the copy {}, between copy and letting go {}, after {}", moments[0], moments[1], moments[2]);
    Ok(())
}

fn a_damaged_and_a_newer_record_are_left_alone(context: &Context) -> Outcome<()> {
    let name = "a_damaged_and_a_newer_record_are_left_alone";
    let mut records = form_1(2)?;
    let newer = records[0].1.replacen("\"schema\":1", "\"schema\":99", 1);
    records.push(("zz-newer".into(), newer.clone()));
    records.push(("zz-damaged".into(), "{\"schema\":1,\"kind\":\"tri".into()));
    let mut browser = context.browser(name)?;
    write_form_1(context, &mut browser, &records)?;
    browser.navigate(&context.base_url)?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 2")?;
    let troubles = browser.text("document.querySelector('.trouble').textContent")?;
    contains(&troubles, "newer version")?;
    contains(&troubles, "damaged")?;
    let kept = browser.text(
        "new Promise((done) => { const o = indexedDB.open('tarsal'); o.onsuccess = () => { \
         const g = o.result.transaction('trials').objectStore('trials').get('zz-newer'); g.onsuccess = () => { o.result.close(); done(g.result); }; }; })",
    )?;
    same("the newer record", &kept, &newer)
}

fn a_full_disk_is_told_and_survived(context: &Context) -> Outcome<()> {
    let name = "a_full_disk_is_told_and_survived";
    let file = &morning(&context.folder(name)?, 1)?[0];
    let mut browser = start(context, name)?;
    let origin = context.base_url.trim_end_matches('/').to_owned();
    browser.call("Storage.overrideQuotaForOrigin", serde_json::json!({ "origin": origin, "quotaSize": 1 }))?;
    browser.choose_files("#file-input", &[file])?;
    browser.wait_for("document.querySelector('.trouble')?.textContent.includes('is not saved')")?;
    contains(&browser.text("document.querySelector('#save-state').textContent")?, "Not saved")?;
    browser.call("Storage.overrideQuotaForOrigin", serde_json::json!({ "origin": origin }))?;
    browser.click("[data-do=save-again]")?;
    browser.wait_for("document.querySelector('#save-state').textContent.includes('Saved on this device')")?;
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelector('#trace path.total')?.getAttribute('d').length > 100")
}

/// As many crashes as `TARSAL_CRASHES` says, else a few: each kills the browser at a random moment of reading and saving,
/// and every record that is there afterwards is whole.
fn a_crash_at_any_moment_leaves_whole_records(context: &Context) -> Outcome<()> {
    let name = "a_crash_at_any_moment_leaves_whole_records";
    let mut random = Random::new(9);
    for crash in 0..crashes() {
        let files = morning(&context.folder(&format!("{name}-{crash}"))?, 8)?;
        for path in &files {
            // A line end more makes other files of the same recordings: each time there is something new to save.
            let mut text = fs::read_to_string(path).map_err(|error| error.to_string())?;
            text.push_str(&"\n".repeat(crash as usize + 1));
            fs::write(path, text).map_err(|error| error.to_string())?;
        }
        let paths: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
        let mut browser = start(context, name)?;
        browser.choose_files("#file-input", &paths)?;
        // The driver must go on listening: a new worker waits for it.
        browser.eval(&format!("new Promise((done) => setTimeout(done, {}))", random.bits() % 1500))?;
        browser.kill();
    }
    let mut browser = start(context, name)?;
    same("troubles", &browser.eval("document.querySelector('.trouble') === null")?, &true.into())?;
    let found = browser.eval(
        "new Promise((done) => { const o = indexedDB.open('tarsal'); o.onsuccess = async () => { const read = (name, ask) => new Promise((r) => { \
         const q = o.result.transaction(name).objectStore(name)[ask](); q.onsuccess = () => r(q.result); }); \
         const [keys, texts, force] = [await read('trials', 'getAllKeys'), await read('trials', 'getAll'), await read('samples', 'getAllKeys')]; \
         o.result.close(); texts.forEach(JSON.parse); done([keys.length, keys.filter((k) => !force.includes(k)).length]); }; })",
    )?;
    println!("{} kills of a browser that read and saved eight files each left {} trials", crashes(), found[0]);
    ensure(found[0].as_u64() > Some(0), || "no kill came after a save: nothing was tried".into())?;
    same("trials without their force", &found[1], &0.into())
}

fn tables_are_handed_over(context: &Context) -> Outcome<()> {
    let name = "tables_are_handed_over";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 2)?;
    let folder = context.folder(name)?;
    browser.download_to(&folder)?;
    go(&mut browser, "storage")?;
    browser.click("#tables [type=submit]")?;
    let csv = fs::read_to_string(downloaded(&folder, ".csv")?).map_err(|error| error.to_string())?;
    let mut rows = csv::Reader::from_reader(csv.trim_start_matches('\u{feff}').as_bytes());
    let rows: Vec<csv::StringRecord> = rows.records().filter_map(Result::ok).collect();
    ensure(rows.iter().any(|r| r.get(0) == Some("Ada") && r.get(10) == Some("jump_height")), || csv.clone())?;
    settled(&mut browser)?;
    browser.eval("document.querySelector('#tables select[name=form]').value = 'json'")?;
    browser.click("#tables [type=submit]")?;
    let json = fs::read_to_string(downloaded(&folder, ".json")?).map_err(|error| error.to_string())?;
    let json: serde_json::Value = serde_json::from_str(&json).map_err(|error| error.to_string())?;
    same("rows", &json["data"].as_array().map(Vec::len), &Some(rows.len()))?;
    same("fields", &json["schema"]["fields"].as_array().map(Vec::len), &rows.first().map(|r| r.len()))
}

/// Chooses how lengths and masses are shown, and gives the table of figures as it is handed over then.
fn choose_units(context: &Context, browser: &mut Browser, units: &str, folder: &str) -> Outcome<String> {
    let folder = context.folder(folder)?;
    browser.download_to(&folder)?;
    go(browser, "storage")?;
    browser.eval(&format!(
        "(() => {{ const s = document.querySelector('#units select'); s.value = '{units}'; s.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()"
    ))?;
    settled(browser)?;
    browser.click("#tables [type=submit]")?;
    let text = fs::read_to_string(downloaded(&folder, ".csv")?).map_err(|error| error.to_string())?;
    settled(browser)?;
    browser.eval("history.back()")?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    settled(browser)?;
    Ok(text)
}

fn inches_and_pounds_are_a_choice_of_the_device(context: &Context) -> Outcome<()> {
    let name = "inches_and_pounds_are_a_choice_of_the_device";
    let jump = demo_files().into_iter().find(|f| f.name.contains("countermovement")).ok_or("no jump")?;
    let file = context.folder(name)?.join(&jump.name);
    fs::write(&file, &jump.text).map_err(|error| error.to_string())?;
    let mut browser = start(context, name)?;
    browser.choose_files("#file-input", &[&file])?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    settled(&mut browser)?;
    const FIRST: &str = "document.querySelector('.trial h1').textContent.replaceAll('\\u00a0', ' ')";
    let metric = browser.text(FIRST)?;
    ensure(metric.contains(" cm high"), || metric.clone())?;
    let table = choose_units(context, &mut browser, "imperial", &format!("{name}-1"))?;
    let inches = browser.text(FIRST)?;
    ensure(inches.contains(" in high") && !inches.contains("cm"), || inches.clone())?;
    contains(&browser.text("document.querySelector('.about').textContent")?, " lb")?;
    if let Some(folder) = std::env::var_os("TARSAL_SHOTS").map(PathBuf::from) {
        browser.click("[data-id=displacement]")?;
        for width in [1280, 360] {
            browser.viewport(width, 900)?;
            browser.wait_for(&format!("innerWidth === {width}"))?;
            settled(&mut browser)?;
            browser.screenshot(&folder.join(format!("inches-trial-{width}.png")), true)?;
        }
        browser.viewport(1280, 900)?;
    }
    browser.reload()?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    settled(&mut browser)?;
    same("after a reload", &browser.text(FIRST)?, &inches)?;
    let again = choose_units(context, &mut browser, "metric", &format!("{name}-2"))?;
    same("turned back", &browser.text(FIRST)?, &metric)?;
    same("the table", &again, &table)?;
    browser.reload()?;
    browser.wait_for("document.querySelector('#trace path.total') !== null")?;
    settled(&mut browser)?;
    same("turned back, after a reload", &browser.text(FIRST)?, &metric)
}

fn room_and_promise_are_told(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "room_and_promise_are_told")?;
    go(&mut browser, "storage")?;
    browser.wait_for("document.querySelector('#room').textContent.includes('MB used of about')")?;
    contains(&browser.text("document.querySelector('#last-backup').textContent")?, "No backup was ever saved")?;
    browser.eval("navigator.storage.persist = async () => false")?;
    browser.click("[data-do=durable]")?;
    browser.wait_for("document.querySelector('#durable').textContent.includes('refused to promise')")
}
