//! An athlete's page over the whole demo squad: two days' force from the store laid over each other, a published group from a
//! file, a table saved.

use crate::{
    Test,
    context::{Context, ensure, same},
    driver::Outcome,
    squad::{contains, settled, start},
};
use std::{fs, time::Duration};
use tarsal::records::migrate::athlete_id_of;

const WHO: &str = "Invented Poplar";

pub fn tests() -> Vec<Test> {
    vec![("study_days_are_laid_over_each_other_and_tables_go_out", days_are_laid_over_each_other_and_tables_go_out)]
}

fn days_are_laid_over_each_other_and_tables_go_out(context: &Context) -> Outcome<()> {
    let name = "study_days_are_laid_over_each_other_and_tables_go_out";
    let mut browser = start(context, name)?;
    browser.click("[data-do=demo]")?;
    browser.wait_at_most(Duration::from_secs(240), "document.querySelector('#saved tbody tr') && !document.getElementById('job-0')")?;
    browser.wait_at_most(Duration::from_secs(120), "document.documentElement.dataset.idle === 'true'")?;
    browser.eval(&format!("location.hash = 'athlete/{}'", athlete_id_of(WHO)))?;
    browser.wait_at_most(Duration::from_secs(60), "document.querySelector('#change svg') !== null")?;
    settled(&mut browser)?;
    same("bands before", &browser.text("String(document.querySelectorAll('svg.bands').length)")?, &"0".to_owned())?;
    browser.eval("document.querySelector('form[data-do=compare-days]').requestSubmit()")?;
    browser.wait_at_most(Duration::from_secs(60), "document.querySelectorAll('#change svg.bands').length === 2")?;
    settled(&mut browser)?;
    // A published group, from a file, with its source wherever it is used.
    let file = context.folder(name)?.join("published.csv");
    let text =
        "figure,test,group,mean,sd,unit,citation\njump_height,countermovement_jump,an invented league,35,5,cm,Nobody 2020 (invented)\n";
    fs::write(&file, text).map_err(|e| e.to_string())?;
    browser.eval("document.getElementById('references').open = true")?;
    browser.choose_files("#reference-file", &[&file])?;
    browser.wait_for("document.querySelector('#standing')?.textContent.includes('Nobody 2020 (invented)')")?;
    settled(&mut browser)?;
    // For a person to look at: `TARSAL_SHOTS=folder`.
    if let Some(folder) = std::env::var_os("TARSAL_SHOTS") {
        browser.eval("document.getElementById('repeats').open = true")?;
        browser.screenshot(&std::path::Path::new(&folder).join("athlete-compared.png"), true)?;
    }
    // It is there after a reload: a record like any other.
    browser.reload()?;
    browser.wait_at_most(Duration::from_secs(60), "document.querySelector('#standing')?.textContent.includes('Nobody 2020 (invented)')")?;
    settled(&mut browser)?;
    let folder = context.folder(&format!("{name}-downloads"))?;
    browser.download_to(&folder)?;
    browser.eval("document.querySelector('form[data-do=export-study]').requestSubmit()")?;
    let deadline = std::time::Instant::now() + Duration::from_secs(10);
    let saved = loop {
        let found = fs::read_dir(&folder).map_err(|e| e.to_string())?.flatten().map(|entry| entry.path());
        if let Some(file) = found.into_iter().find(|path| path.extension().is_some_and(|end| end == "csv")) {
            break fs::read_to_string(file).map_err(|e| e.to_string())?;
        }
        ensure(std::time::Instant::now() < deadline, || "no table arrived".into())?;
        std::thread::sleep(Duration::from_millis(50));
    };
    contains(&saved, "athlete,test,protocol,group,figure")?;
    contains(&saved, WHO)
}
