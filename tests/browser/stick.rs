//! The page as one file from a disk or a stick: it connects to nothing, keeps what it reads, and says where that is.

use crate::{
    Test,
    context::{Context, IDLE, READY, TRIAL_SHOWN, ensure, file_url, same},
    driver::Outcome,
    given::{HEADLINE, read_and_save, saved, two_recordings},
    squad::{contains, go},
};
use std::{fs, path::Path};

pub fn tests() -> Vec<Test> {
    vec![
        ("single_file_needs_no_network", single_file_needs_no_network),
        ("single_file_saves_and_says_where", single_file_saves_and_says_where),
    ]
}

fn single_file_needs_no_network(context: &Context) -> Outcome<()> {
    let mut browser = context.browser("single_file_needs_no_network")?;
    let url = file_url(&context.single_file);
    browser.navigate(&url)?;
    browser.wait_for(READY)?;
    same("build id", &browser.text("tarsalBuild")?, &context.site.build_id)?;
    let requests = browser.requests()?;
    let outside: Vec<&String> =
        requests.iter().filter(|found| **found != url && !found.starts_with("blob:") && !found.starts_with("data:")).collect();
    ensure(outside.is_empty(), || format!("the single file asked for {outside:?}"))?;
    let refused = browser.eval("fetch('http://127.0.0.1:9/').then(() => false, () => true)")?;
    ensure(refused == true, || "the single file could open a connection".into())
}

/// Opened from a disk or a stick the page keeps what it reads as well, and says where that is and who else can reach it.
fn single_file_saves_and_says_where(context: &Context) -> Outcome<()> {
    const NAME: &str = "single_file_saves_and_says_where";
    const SHOWN: &str = "(s) => document.querySelector(s).getClientRects().length > 0";
    let mut browser = context.browser(NAME)?;
    browser.navigate(&file_url(&context.single_file))?;
    browser.wait_for(READY)?;
    let [file, _] = two_recordings(context, NAME)?;
    let before = read_and_save(&mut browser, &file)?;
    browser.reload()?;
    browser.wait_for(TRIAL_SHOWN)?;
    same("the trial after reloading", &browser.text(HEADLINE)?, &before)?;
    let said = browser.text("document.querySelector('#from-disk').innerText")?;
    for part in ["not on the stick", "Save a backup", "any other page opened from this computer’s disks"] {
        contains(&said, part)?;
    }
    ensure(browser.eval(&format!("({SHOWN})('#from-disk')"))? == true, || "the page does not show where its data are".into())?;
    go(&mut browser, "storage")?;
    contains(&browser.text("document.querySelector('#safety').innerText")?, "not on the stick")?;
    if let Some(folder) = std::env::var_os("TARSAL_SHOTS") {
        let folder = Path::new(&folder);
        fs::create_dir_all(folder).map_err(|error| error.to_string())?;
        for (width, name) in [(360, "stick-phone.png"), (1280, "stick-wide.png")] {
            browser.viewport(width, 800)?;
            browser.screenshot(&folder.join(name), true)?;
        }
    }
    saved(&mut browser, 1)?;
    // From a host it says nothing of the kind.
    browser.navigate(&context.base_url)?;
    browser.wait_for(IDLE)?;
    go(&mut browser, "storage")?;
    ensure(!browser.text("document.body.innerText")?.contains("stick"), || "the hosted page speaks of a stick".into())?;
    // The same file from a host keeps its data with the host's address.
    let server = context.server("/")?;
    browser.navigate(&format!("{}{}", server.url(), tarsal::site::SINGLE))?;
    browser.wait_for(READY)?;
    ensure(browser.eval(&format!("({SHOWN})('#from-disk')"))? == false, || "the single file speaks of a stick though it is hosted".into())
}
