//! Test days, athletes, plates: what a coach does on a morning with a squad, on real files, in a real browser.

use crate::paper::reports_fit;
use crate::{
    Test,
    context::{Context, IDLE, ensure, same},
    driver::{Browser, Outcome},
};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tarsal::invented::demo_files;

pub fn tests() -> Vec<Test> {
    vec![
        ("squad_sixty_files_fill_a_test_day", sixty_files_fill_a_test_day),
        ("squad_from_sixty_dropped_files_to_a_printed_report", from_sixty_dropped_files_to_a_printed_report),
        ("squad_a_folder_is_dropped_whole", a_folder_is_dropped_whole),
        ("squad_a_watched_folder_gives_each_trial_as_it_appears", a_watched_folder_gives_each_trial_as_it_appears),
        ("squad_questions_before_the_test_close_it", questions_before_the_test_close_it),
        ("squad_an_athletes_record_is_kept_and_erased_everywhere", an_athletes_record_is_kept_and_erased_everywhere),
        ("squad_a_plate_check_is_noted_and_cards_are_printed", a_plate_check_is_noted_and_cards_are_printed),
        ("squad_two_tabs_hear_of_each_other", two_tabs_hear_of_each_other),
        ("squad_a_tab_that_heard_nothing_overwrites_nothing", a_tab_that_heard_nothing_overwrites_nothing),
    ]
}

pub fn start(context: &Context, name: &str) -> Outcome<Browser> {
    let mut browser = context.browser(name)?;
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    Ok(browser)
}

pub fn settled(browser: &mut Browser) -> Outcome<()> {
    browser.wait_for(IDLE)
}

pub fn go(browser: &mut Browser, screen: &str) -> Outcome<()> {
    browser.click(&format!(".ways [data-id='{screen}']"))?;
    browser.wait_for(IDLE)
}

pub fn contains(text: &str, part: &str) -> Outcome<()> {
    ensure(text.contains(part), || format!("`{part}` is not in `{text}`"))
}

/// Types into a field after emptying it, once nothing on the page moves any more.
pub fn fill(browser: &mut Browser, selector: &str, text: &str) -> Outcome<()> {
    settled(browser)?;
    browser.click(selector)?;
    browser.eval(&format!("document.querySelector({}).select?.()", serde_json::json!(selector)))?;
    browser.type_text(text)
}

/// What a folder holds besides recordings.
const NO_RECORDINGS: [&str; 5] = [
    "the plate was off\n",
    "<html><body>the plate's own page</body></html>\n",
    "%PDF-1.7\na report\n",
    "time_s,left_force_N,right_force_N\n",
    "{\"trials\": []}\n",
];

/// A morning's files: five of twelve athletes' trials each, named as a coach might, every twelfth of them no recording.
pub fn morning(folder: &Path, count: usize) -> Outcome<Vec<PathBuf>> {
    let demo = demo_files();
    let names = ["Ada", "Ben", "Cleo", "Dan", "Eve", "Finn", "Gus", "Hana", "Ivo", "Jo", "Kim", "Lea"];
    let file = |i: usize| {
        let (name, trial) = (names[i % 12], i / 12 + 1);
        let path = folder.join(format!("{name}_CMJ_{trial}.csv"));
        // A blank more at the end of a line makes another file of the same recording.
        let text = if i % 12 == 11 {
            NO_RECORDINGS[i / 12 % NO_RECORDINGS.len()].to_owned()
        } else {
            demo[i % demo.len()].text.replacen('\n', &format!("{}\n", " ".repeat(i + 1)), 1)
        };
        fs::write(&path, text).map(|()| path).map_err(|error| error.to_string())
    };
    (0..count).map(file).collect()
}

/// Opens a test day in an invented hall.
fn open_hall(browser: &mut Browser) -> Outcome<()> {
    go(browser, "sessions")?;
    fill(browser, "input[name=place]", "Hall 2")?;
    browser.press("Enter")?;
    browser.wait_for("document.querySelector('h1').textContent.includes('Hall 2')")
}

fn sixty_files_fill_a_test_day(context: &Context) -> Outcome<()> {
    let name = "sixty_files_fill_a_test_day";
    let files = morning(&context.folder(name)?, 60)?;
    let mut browser = start(context, name)?;
    open_hall(&mut browser)?;
    let paths: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
    browser.choose_files("#file-input", &paths)?;
    browser.wait_for("document.querySelector('#overall') !== null")?;
    browser.wait_for("document.querySelectorAll('#files .error').length === 5")?;
    settled(&mut browser)?;
    // Whose they are stands in their names; the names are nobody's yet.
    browser.wait_for("document.querySelectorAll('#names .preview tbody tr').length === 55")?;
    contains(&browser.text("document.querySelector('#names .preview').textContent")?, "countermovement jump, trial 2")?;
    browser.wait_for("document.querySelectorAll('#names select').length === 11")?;
    browser.click("#names [type=submit]:not(#names form.row *)")?;
    browser.wait_for("document.querySelectorAll('#sheet tbody tr').length === 11")?;
    settled(&mut browser)?;
    same("marks on the sheet", &browser.eval("document.querySelectorAll('#sheet .trial-mark').length")?, &55.into())?;
    contains(&browser.text("document.querySelector('#message').textContent")?, "55 trials filed")?;
    ensure(browser.text("document.querySelector('#sheet').textContent")?.contains("repeat"), || "no trial is to be repeated".into())?;
    // Undo takes the whole filing back, and it is done again.
    browser.click("[data-do=undo]")?;
    browser.wait_for("document.querySelectorAll('#names .preview tbody tr').length === 55")?;
    browser.click("#names [type=submit]:not(#names form.row *)")?;
    browser.wait_for("document.querySelectorAll('#sheet tbody tr').length === 11")?;
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelectorAll('#sheet .trial-mark').length === 55")?;
    // The same files again are the same trials; the five bad ones say so again.
    browser.choose_files("#file-input", &paths[..14])?;
    browser.wait_for(
        "[...document.querySelectorAll('#files li')].filter((l) => l.textContent.includes('nothing was saved twice')).length === 13",
    )?;
    settled(&mut browser)?;
    same("marks after the same files", &browser.eval("document.querySelectorAll('#sheet .trial-mark').length")?, &55.into())?;
    go(&mut browser, "squad")?;
    browser.wait_for("document.querySelectorAll('#squad tbody tr').length === 11")
}

/// The coach's whole way: a morning's files dropped by name, filed, an athlete opened, a block written, reports printed.
fn from_sixty_dropped_files_to_a_printed_report(context: &Context) -> Outcome<()> {
    let name = "from_sixty_dropped_files_to_a_printed_report";
    let files = morning(&context.folder(name)?, 60)?;
    let mut browser = start(context, name)?;
    open_hall(&mut browser)?;
    settled(&mut browser)?;
    browser.drop_files("h1", &files.iter().map(PathBuf::as_path).collect::<Vec<_>>())?;
    browser.wait_for("document.querySelectorAll('#names .preview tbody tr').length === 55")?;
    settled(&mut browser)?;
    browser.click("#names [type=submit]:not(#names form.row *)")?;
    browser.wait_for("document.querySelectorAll('#sheet tbody tr').length === 11")?;
    settled(&mut browser)?;
    go(&mut browser, "squad")?;
    browser.click("#squad tbody tr:first-child a")?;
    browser.wait_for("document.querySelector('h1').textContent === 'Ada' && document.getElementById('hand-over')")?;
    settled(&mut browser)?;
    browser.click("[data-do=block-plan] button[type=submit]")?;
    browser.wait_for("document.querySelector('.block-row')")?;
    settled(&mut browser)?;
    reports_fit(&mut browser, "sixty-files-ada", &["Ada", "Exercise"])
}

fn a_folder_is_dropped_whole(context: &Context) -> Outcome<()> {
    let name = "a_folder_is_dropped_whole";
    let folder = context.folder(name)?;
    let inner = folder.join("day/plates");
    fs::create_dir_all(&inner).map_err(|error| error.to_string())?;
    morning(&inner, 3)?;
    fs::write(folder.join("day/photo.jpg"), "no recording").map_err(|error| error.to_string())?;
    let mut browser = start(context, name)?;
    browser.drop_files("#welcome h1", &[&folder.join("day")])?;
    browser.wait_for("document.querySelectorAll('#files ul.files > li').length === 3")?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 3")?;
    // A pattern that does not fit, and one that fits otherwise, are seen at once.
    fill(&mut browser, "#pattern", "{date}_{athlete}")?;
    browser.wait_for("[...document.querySelectorAll('#names .preview tbody tr')].every((r) => r.textContent.includes('does not fit'))")?;
    fill(&mut browser, "#pattern", "{athlete}_{test}_{trail}")?;
    browser.wait_for("document.querySelector('#names .error')?.textContent.includes('{trail} is no field')")?;
    fill(&mut browser, "#pattern", "{athlete}_{test}_{*}")?;
    browser.wait_for("document.querySelector('#names .preview tbody tr').textContent.includes('Ada')")?;
    same("what has the focus", &browser.text("document.activeElement.id")?, &"pattern".to_owned())?;
    // The preview may still be an earlier pattern's.
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    same("the pattern is remembered", &browser.text("document.querySelector('#pattern').value")?, &"{athlete}_{test}_{*}".to_owned())
}

fn a_watched_folder_gives_each_trial_as_it_appears(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "a_watched_folder_gives_each_trial_as_it_appears")?;
    // The folder's dialogue cannot be driven; the page's own private folder stands for it, with the same handles.
    browser.eval("globalThis.showDirectoryPicker = () => navigator.storage.getDirectory()")?;
    go(&mut browser, "squad")?;
    fill(&mut browser, "#new-names", "Ada\nBen")?;
    browser.click("#new-names ~ button")?;
    browser.wait_for("document.querySelectorAll('#squad tbody tr').length === 2")?;
    go(&mut browser, "sessions")?;
    browser.click("form[data-do=new-session] button")?;
    browser.click("[data-do=watch]")?;
    browser.wait_for("document.querySelector('#watching') !== null")?;
    let demo = demo_files();
    for (i, (file, text)) in [("Ada_CMJ_1.csv", &demo[0].text), ("Ben_CMJ_1.csv", &demo[1].text)].into_iter().enumerate() {
        browser.eval(&format!(
            "(async () => {{ const d = await navigator.storage.getDirectory(); const f = await d.getFileHandle('{file}', {{ create: true }}); \
             const w = await f.createWritable(); await w.write({}); await w.close(); }})()",
            serde_json::json!(text)
        ))?;
        browser.wait_for(&format!("document.querySelectorAll('#sheet .trial-mark').length === {}", i + 1))?;
    }
    contains(&browser.text("document.querySelector('#next-up').textContent")?, "Next: Ada")?;
    browser.click("[data-do=unwatch]")?;
    browser.wait_for("document.querySelector('#watching') === null")
}

fn questions_before_the_test_close_it(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "questions_before_the_test_close_it")?;
    go(&mut browser, "sessions")?;
    browser.click("form[data-do=new-session] button")?;
    fill(&mut browser, "#day-names", "Ada\nBen")?;
    browser.click("[data-do=session-athletes] button")?;
    browser.wait_for("document.querySelector('#next-up').textContent.includes('Next: Ada')")?;
    browser.click("#sheet .questions summary")?;
    fill(&mut browser, "#sheet .questions input[name=pain]", "4")?;
    browser.click("#sheet .questions button")?;
    browser.wait_for("document.querySelector('#sheet').textContent.includes('Closed today')")?;
    contains(&browser.text("document.querySelector('#next-up').textContent")?, "Next: Ben")?;
    // Seen in the session: the rest of it is over, and until when is said.
    browser.click("#sheet tr:nth-child(2) .questions summary")?;
    fill(&mut browser, "#sheet tr:nth-child(2) .questions input[name=pain]", "1")?;
    browser.click("#sheet tr:nth-child(2) .questions input[name=pain_rose]")?;
    browser.click("#sheet tr:nth-child(2) .questions button")?;
    browser.wait_for("document.querySelector('#sheet tr:nth-child(2) .closed')?.textContent.includes('Lapses on')")?;
    contains(&browser.text("document.querySelector('#next-up').textContent")?, "closed today")?;
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelector('#sheet').textContent.includes('session over: pain rose')")
}

fn an_athletes_record_is_kept_and_erased_everywhere(context: &Context) -> Outcome<()> {
    let name = "an_athletes_record_is_kept_and_erased_everywhere";
    let file = &morning(&context.folder(name)?, 1)?[0];
    let mut browser = start(context, name)?;
    go(&mut browser, "squad")?;
    fill(&mut browser, "#new-names", "Ada")?;
    browser.click("#new-names ~ button")?;
    browser.wait_for("document.querySelector('h1').textContent === 'Ada'")?;
    fill(&mut browser, "input[name=birth_year]", "2012")?;
    fill(&mut browser, "#record input[name=sport]", "Netball")?;
    browser.click("#record [type=submit]")?;
    browser.wait_for("document.querySelector('.about').textContent.includes('no guardian')")?;
    fill(&mut browser, "#body-mass input[name=mass_kg]", "58,4")?;
    browser.press("Enter")?;
    browser.wait_for("document.querySelector('#body-mass table')?.textContent.includes('58.4')")?;
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    contains(&browser.text("document.querySelector('.about').textContent")?, "Netball")?;
    let address = browser.text("location.hash")?;
    // The file's name says whose it is.
    browser.choose_files("#file-input", &[file])?;
    browser.wait_for("document.querySelector('#filing')?.textContent.includes('filed under Ada')")?;
    settled(&mut browser)?;
    // A second window holds the athlete too.
    browser.open_window()?;
    browser.navigate(&format!("{}{address}", context.base_url))?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelector('h1').textContent === 'Ada'")?;
    browser.switch_window()?;
    browser.eval(&format!("location.hash = '{address}'"))?;
    browser.wait_for("document.querySelector('#athlete-sessions tbody tr') !== null")?;
    browser.click("[data-do=erase]")?;
    browser.click("[data-do=erase-yes]")?;
    browser.wait_for("document.querySelector('#message')?.textContent.includes('What this page cannot reach')")?;
    settled(&mut browser)?;
    ensure(browser.eval("document.querySelector('[data-do=undo]') === null")? == true, || "erasing can be undone".into())?;
    let left = browser.text(
        "new Promise((done, failed) => { const o = indexedDB.open('tarsal'); o.onerror = failed; o.onsuccess = async () => { const all = []; \
         for (const name of o.result.objectStoreNames) { const s = o.result.transaction(name).objectStore(name); \
         for (const ask of [s.getAll(), s.getAllKeys()]) { await new Promise((r) => { ask.onsuccess = r; }); \
         for (const v of ask.result) all.push(typeof v === 'string' ? v : v instanceof Uint8Array ? new TextDecoder().decode(v) : String(v)); } } \
         o.result.close(); done(all.join(' ')); }; })",
    )?;
    ensure(!left.contains("Ada") && !left.contains("Netball"), || format!("left in the store: {left}"))?;
    browser.switch_window()?;
    browser.wait_for("!document.querySelector('#app').textContent.includes('Ada')")
}

fn a_plate_check_is_noted_and_cards_are_printed(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "a_plate_check_is_noted_and_cards_are_printed")?;
    go(&mut browser, "plates")?;
    browser.click("#new-check summary")?;
    fill(&mut browser, "input[name=known_kg]", "20")?;
    for (field, value) in [("left:0", "20.1"), ("left:1", "20.3"), ("right:0", "19.9")] {
        fill(&mut browser, &format!("input[name='{field}']"), value)?;
    }
    browser.click("#new-check [type=submit]")?;
    browser.wait_for("document.querySelectorAll('#checks > .wide tbody tr').length === 1")?;
    let row = browser.text("document.querySelector('#checks > .wide tbody tr').textContent")?;
    // Mean of +0.5 % and +1.5 %; 1 % between them; −0.5 % on the right.
    for part in ["20.00", "1.00", "−0.50", "not tried"] {
        contains(&row, part)?;
    }
    settled(&mut browser)?;
    browser.reload()?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelectorAll('#checks > .wide tbody tr').length === 1")?;
    browser.media("print", "light")?;
    same(
        "cards in print",
        &browser.eval("[...document.querySelectorAll('.protocol-card')].every((c) => c.getClientRects().length > 0)")?,
        &true.into(),
    )?;
    same("checks in print", &browser.text("getComputedStyle(document.querySelector('#checks')).display")?, &"none".to_owned())
}

fn two_tabs_hear_of_each_other(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "two_tabs_hear_of_each_other")?;
    browser.open_window()?;
    browser.navigate(&format!("{}#squad", context.base_url))?;
    settled(&mut browser)?;
    browser.switch_window()?;
    go(&mut browser, "squad")?;
    fill(&mut browser, "#new-names", "Ada\nBen")?;
    browser.click("#new-names ~ button")?;
    browser.wait_for("document.querySelectorAll('#squad tbody tr').length === 2")?;
    browser.switch_window()?;
    browser.wait_for("document.querySelectorAll('#squad tbody tr').length === 2")?;
    // What the other tab changed is followed, not overwritten.
    browser.click("#squad tbody a")?;
    fill(&mut browser, "#record input[name=sport]", "Rowing")?;
    browser.click("#record [type=submit]")?;
    browser.wait_for("document.querySelector('.about').textContent.includes('Rowing')")?;
    settled(&mut browser)?;
    browser.switch_window()?;
    browser.wait_for("document.querySelector('#squad').textContent.includes('Rowing')")?;
    browser.click("#squad tbody a")?;
    fill(&mut browser, "input[name=labels]", "first eight")?;
    browser.click("#record [type=submit]")?;
    settled(&mut browser)?;
    same("troubles", &browser.eval("document.querySelector('.trouble') === null")?, &true.into())
}

/// Two tabs write the same athlete, and the second knows nothing of the first.
fn a_tab_that_heard_nothing_overwrites_nothing(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "a_tab_that_heard_nothing_overwrites_nothing")?;
    go(&mut browser, "squad")?;
    fill(&mut browser, "#new-names", "Ada")?;
    browser.click("#new-names ~ button")?;
    browser.wait_for("document.querySelector('h1').textContent === 'Ada'")?;
    settled(&mut browser)?;
    let address = browser.text("location.hash")?;
    browser.open_window()?;
    browser.call("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": "delete globalThis.BroadcastChannel;" }))?;
    browser.navigate(&format!("{}{address}", context.base_url))?;
    browser.wait_for("document.querySelector('h1').textContent === 'Ada'")?;
    settled(&mut browser)?;
    browser.switch_window()?;
    fill(&mut browser, "#record input[name=sport]", "Rowing")?;
    browser.click("#record [type=submit]")?;
    browser.wait_for("document.querySelector('.about').textContent.includes('Rowing')")?;
    settled(&mut browser)?;
    browser.switch_window()?;
    fill(&mut browser, "input[name=labels]", "first eight")?;
    browser.click("#record [type=submit]")?;
    browser.wait_for("document.querySelector('.trouble')?.textContent.includes('another tab changed it meanwhile')")?;
    browser.wait_for("document.querySelector('[data-do=save-again]') !== null")?;
    browser.reload()?;
    settled(&mut browser)?;
    let about = browser.text("document.querySelector('.about').textContent")?;
    ensure(about.contains("Rowing") && !about.contains("first eight"), || about.clone())
}
