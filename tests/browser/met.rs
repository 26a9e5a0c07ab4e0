//! Writes down what no first visit runs, for `src/site/rooms.rs`: asked for by `TARSAL_MEET`, no test otherwise.

use crate::{Test, context::Context, driver::Outcome};
use std::{collections::BTreeSet, env, fs, path::PathBuf};
use tarsal::site::{BuildOptions, counted_site, serve};

const READY: &str = "document.documentElement.dataset.ready === 'true'";
const IDLE: &str = "document.documentElement.dataset.idle === 'true'";
const FIGURES: &str = "document.querySelectorAll('#figures tbody tr').length >= 15";

pub fn tests() -> Vec<Test> {
    if env::var_os("TARSAL_MEET").is_some() { vec![("what_first_visits_meet", what_first_visits_meet)] } else { Vec::new() }
}

fn what_first_visits_meet(context: &Context) -> Outcome<()> {
    let (site, functions) =
        counted_site(&BuildOptions { quiet: true, ..BuildOptions::new(&context.root) }).map_err(|error| error.to_string())?;
    let server = serve(site, 0, "/").map_err(|error| error.to_string())?;
    let mut met = BTreeSet::new();
    for (number, file) in visits(context)?.iter().enumerate() {
        let mut browser = context.browser(&format!("what_first_visits_meet-{number}"))?;
        browser.navigate(&server.url())?;
        browser.wait_for(READY)?;
        browser.drop_files("#app", &[file])?;
        browser.wait_for(FIGURES)?;
        browser.wait_for(IDLE)?;
        browser.click(".wordmark")?;
        browser.wait_for("document.querySelectorAll('#saved tbody tr').length > 0")?;
        browser.wait_for(IDLE)?;
        // Marks are looked at now and then.
        browser.eval("new Promise((resolve) => setTimeout(resolve, 600))")?;
        let marks = browser.text("[...tarsalMet].join(' ')")?;
        let before = met.len();
        met.extend(marks.split(' ').filter_map(|mark| mark.parse::<usize>().ok()));
        println!("{}: {} marks, {} of them new", file.display(), marks.split(' ').count(), met.len() - before);
    }
    fs::write("/work/wt/size/target/exp/marks.txt", met.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")).map_err(|error| error.to_string())?;
    let mut text = String::new();
    for function in &functions {
        let (first, sizes) = &function.marks;
        let ran: Vec<bool> = (0..sizes.len()).map(|at| met.contains(&(first + at))).collect();
        let instrs: usize = sizes.iter().sum();
        let done: usize = sizes.iter().zip(&ran).filter(|(_, ran)| **ran).map(|(size, _)| size).sum();
        text += &format!("{}\t{}\t{instrs}\t{done}\t{}\n", u8::from(function.kept), u8::from(ran.first() == Some(&true)), function.name);
    }
    fs::write(env::var_os("TARSAL_MEET").map(PathBuf::from).unwrap_or_default(), text).map_err(|error| error.to_string())
}

/// First files, each for a profile of its own.
fn visits(context: &Context) -> Outcome<Vec<PathBuf>> {
    let folder = context.root.join("examples/recordings");
    let mut files: Vec<PathBuf> = fs::read_dir(&folder)
        .map_err(|error| error.to_string())?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|end| end == "csv" || end == "txt"))
        .collect();
    files.sort();
    Ok(files)
}
