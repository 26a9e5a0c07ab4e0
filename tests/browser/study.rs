//! From the demo squad to an athlete's answer, a block, two days compared, a report and a link: journeys 4 to 7.

use crate::paper::reports_fit;
use crate::{
    Test,
    context::{Context, ensure},
    driver::{Browser, Outcome},
    squad::{contains, fill, go, settled, start},
};
use std::time::{Duration, Instant};
use tarsal::records::migrate::athlete_id_of;

pub fn tests() -> Vec<Test> {
    let mut tests: Vec<Test> = vec![("study_from_the_demo_squad_to_a_link", from_the_demo_squad_to_a_link)];
    if std::env::var_os("TARSAL_SHOTS").is_some() {
        tests.push(("study_look", look));
    }
    tests
}

fn open(browser: &mut Browser, name: &str) -> Outcome<()> {
    go(browser, "squad")?;
    browser.click(&format!("#squad [data-id='athlete/{}']", athlete_id_of(name)))?;
    browser.wait_for("document.getElementById('block') && document.getElementById('hand-over')")
}

fn body(browser: &mut Browser) -> Outcome<String> {
    browser.text("document.body.innerText")
}

fn from_the_demo_squad_to_a_link(context: &Context) -> Outcome<()> {
    let mut browser = start(context, "from_the_demo_squad_to_a_link")?;
    let began = Instant::now();
    browser.click("[data-do=demo]")?;
    browser.wait_for("document.querySelector('#job-0 progress')?.value > 0")?;
    browser.wait_at_most(
        Duration::from_secs(120),
        "document.querySelectorAll('#saved tbody tr').length > 0 && !document.getElementById('job-0')",
    )?;
    println!("demo squad made and read in {:?}", began.elapsed());
    settled(&mut browser)?;
    println!("and saved in {:?}", began.elapsed());

    // The operated athlete: an answer, and gates that close.
    open(&mut browser, "Invented Elder")?;
    let text = body(&mut browser)?;
    contains(&text, "isometric rate of force")?;
    contains(&text, "Knee-ligament surgery less than 24 months ago")?;
    browser.click("[data-do=block-propose]")?;
    browser.wait_for("document.querySelector('.block-row.closed')")?;
    contains(&browser.text("document.querySelector('.block-row.closed').innerText")?, "Closed.")?;
    ensure(browser.eval("document.querySelectorAll('.block-row.closed input').length")? == 0, || "a closed row has a field".into())?;

    // Somebody with two days to compare: a block, an edit, a refusal.
    open(&mut browser, "Invented Birch")?;
    contains(&body(&mut browser)?, "Least developed compared with this group (n = 19): isometric force.")?;
    browser.click("[data-do=block-propose]")?;
    browser.wait_for("document.querySelector('.block-row:not(.closed) .doses input')")?;
    let field = browser.text("document.querySelector('.block-row:not(.closed) .doses input').id")?;
    fill(&mut browser, &format!("#{field}"), "1")?;
    browser.press("Tab")?;
    browser.wait_for(&format!("document.getElementById('{field}').getAttribute('value') === '1'"))?;
    fill(&mut browser, &format!("#{field}"), "99")?;
    browser.press("Tab")?;
    browser.wait_for("document.querySelector('#block [role=alert]')?.innerText.startsWith('Not changed')")?;
    // What was typed stays beside the reason.
    ensure(browser.eval(&format!("document.getElementById('{field}').value"))? == "99", || "what was typed is gone".into())?;
    settled(&mut browser)?;
    browser.reload()?;
    browser.wait_for(&format!("document.getElementById('{field}')?.getAttribute('value') === '1'"))?;

    // Another target, a target taken out, a row swapped: what is chosen from a list is kept.
    let choose = |browser: &mut Browser, id: &str, place: &str| {
        browser.text(&format!(
            "(() => {{ const s = document.getElementById('{id}'); s.selectedIndex = {place}; \
             s.dispatchEvent(new Event('change', {{ bubbles: true }})); return s.options[s.selectedIndex].textContent; }})()"
        ))
    };
    let target = choose(&mut browser, "block-target-0", "s.options.length - 1")?;
    contains(&target, "the retest shows")?;
    let figure = serde_json::json!(target.split(" (").next().unwrap_or_default());
    browser.wait_for(&format!("document.querySelector('[aria-label^=\"Remove the target\"]').ariaLabel.includes({figure})"))?;
    let buttons = "document.querySelectorAll('.target [aria-label^=\"Remove the target\"]')";
    let count = browser.eval(&format!("{buttons}.length"))?;
    browser.eval(&format!("[...{buttons}].at(-1).click()"))?;
    browser.wait_for(&format!("{buttons}.length === {count} - 1"))?;
    let before = serde_json::json!(browser.text("document.querySelector('#block-row-0 h3').textContent")?);
    choose(&mut browser, "block-0-exercise", "[...s.options].findIndex((o) => !o.disabled && !o.selected)")?;
    browser.wait_for(&format!("document.querySelector('#block-row-0 h3').textContent !== {before}"))?;
    settled(&mut browser)?;
    browser.reload()?;
    browser.wait_for("document.getElementById('block-0-exercise')")?;
    let now = browser.text("document.getElementById('block-0-exercise').selectedOptions[0].textContent")?;
    contains(&browser.text("document.querySelector('#block-row-0 h3').textContent")?, &now)?;
    // The paper of files is chosen once for all of them.
    browser.eval("(() => { const s = document.querySelector('[data-do=paper] select'); s.value = 'letter'; s.dispatchEvent(new Event('input', { bubbles: true })); })()")?;
    browser.wait_for("document.querySelector('[data-do=paper] option[selected]')?.value === 'letter'")?;

    // Days compared by choice.
    browser
        .eval("(() => { const s = document.querySelector('[data-do=compare-days] [name=before]'); s.value = s.options[0].value; })()")?;
    browser.click("[data-do=compare-days] button[type=submit]")?;
    settled(&mut browser)?;
    browser.wait_for("document.querySelector('[data-do=compare-days] [name=before]').selectedIndex === 0")?;

    // The group's days: as tested up to a day before, chosen and kept.
    let shown = |browser: &mut Browser| browser.text("document.querySelector('#group-choice summary').innerText");
    let last = browser.text("document.querySelector('#group-choice [name=tested_to]').value")?;
    // Sentences write days as this browser does; fields keep ISO.
    let written = |browser: &mut Browser, iso: &str| {
        browser.text(&format!(
            "new Date('{iso}T12:00').toLocaleDateString(navigator.language, {{ year: 'numeric', month: '2-digit', day: '2-digit' }})"
        ))
    };
    let last_written = written(&mut browser, &last)?;
    ensure(last_written != last, || format!("this browser writes days in ISO ({last}), so the test shows nothing"))?;
    contains(&shown(&mut browser)?, &format!("tested in the 12 months to {last_written}"))?;
    browser.click("#group-choice summary")?;
    let earlier = browser.text("document.querySelector('[data-do=compare-days] [name=before]').options[0].value")?;
    let earlier_written = written(&mut browser, &earlier)?;
    for (field, day) in [("tested_from", &earlier), ("tested_to", &earlier)] {
        browser.eval(&format!("document.querySelector('#group-choice [name={field}]').value = '{day}'"))?;
    }
    browser.click("#group-choice button[type=submit]")?;
    browser.wait_for(&format!("document.querySelector('#group-choice summary').innerText.includes('tested on {earlier_written}')"))?;
    settled(&mut browser)?;
    contains(&browser.text("document.getElementById('standing').innerText")?, &format!("tested on {earlier_written}"))?;
    // His own value is that of the last day all the same, and the choice lasts while he is looked at.
    ensure(browser.eval("document.querySelectorAll('#standing .own').length > 4")? == true, || "no own value".into())?;
    browser.click("[data-do=compare-days] button[type=submit]")?;
    settled(&mut browser)?;
    contains(&shown(&mut browser)?, &format!("tested on {earlier_written}"))?;
    browser.eval(&format!(
        "for (const [name, day] of [['tested_from', ''], ['tested_to', '{last}']]) document.querySelector(`#group-choice [name=${{name}}]`).value = day"
    ))?;
    browser.click("#group-choice button[type=submit]")?;
    browser.wait_for(&format!("document.querySelector('#group-choice summary').innerText.includes('12 months to {last_written}')"))?;
    settled(&mut browser)?;

    // A link, made here and opened by somebody who has nothing.
    browser.click("[data-do=link] button[type=submit]")?;
    browser.wait_for("document.getElementById('link-text')")?;
    let link = browser.text("document.getElementById('link-text').value")?;
    ensure(link.len() < 9000 && link.contains("#t1."), || format!("{} letters: {link}", link.len()))?;

    reports_fit(&mut browser, "birch", &["Invented Birch", "Exercise"])?;
    // Tested again after a block that came with the squad: its outcome on screen and on both papers.
    open(&mut browser, "Invented Poplar")?;
    browser.wait_for("document.getElementById('after')")?;
    contains(&browser.text("document.getElementById('hand-over').innerText")?, "not what came of it")?;
    reports_fit(&mut browser, "poplar", &["Invented Poplar"])?;
    // The operated one's pages hold closed rows and their reasons as well.
    open(&mut browser, "Invented Elder")?;
    reports_fit(&mut browser, "elder", &["Invented Elder"])?;

    let mut receiver = context.browser("from_the_demo_squad_to_a_link-receiver")?;
    receiver.navigate(&link)?;
    receiver.wait_for("document.body.innerText.includes('This came as a link')")?;
    let text = body(&mut receiver)?;
    contains(&text, "Invented Birch")?;
    contains(&text, "isometric force")?;
    ensure(receiver.eval("location.href.includes('#t1.')")? == false, || "the link is still in the address".into())?;
    ensure(receiver.eval("document.querySelectorAll('#block input, [data-do=block-propose]').length")? == 0, || "it can be edited".into())?;
    receiver.click("[data-do=home]")?;
    receiver.wait_for("document.querySelector('#welcome')")
}

/// Pictures of a study for every answer of the squad, and of a report, into the folder `TARSAL_SHOTS`.
fn look(context: &Context) -> Outcome<()> {
    let folder = std::path::PathBuf::from(std::env::var_os("TARSAL_SHOTS").unwrap_or_default());
    let mut browser = start(context, "study_look")?;
    browser.viewport(1280, 900)?;
    browser.click("[data-do=demo]")?;
    browser.wait_for("document.querySelector('#job-0 progress')?.value > 0")?;
    browser.screenshot(&folder.join("progress.png"), false)?;
    browser.wait_at_most(
        Duration::from_secs(120),
        "document.querySelectorAll('#saved tbody tr').length > 0 && !document.getElementById('job-0')",
    )?;
    settled(&mut browser)?;
    for person in tarsal::invented::PEOPLE.iter().take(14) {
        open(&mut browser, person.name)?;
        if person.name == "Invented Elder" {
            browser.click("[data-do=block-propose]")?;
            browser.wait_for("document.querySelector('.block-row')")?;
        }
        settled(&mut browser)?;
        browser.screenshot(&folder.join(format!("{}.png", person.name.to_lowercase().replace(' ', "-"))), true)?;
    }
    browser.click("#hand-over a[data-id^='coach-report/']")?;
    browser.wait_for("document.querySelector('.report-page')")?;
    std::fs::write(folder.join("report.pdf"), browser.print()?).map_err(|error| error.to_string())
}
