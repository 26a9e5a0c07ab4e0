//! The driver's own means, tried on a page of a few lines: a journey that fails should fail for the page's sake.

use crate::{
    Test,
    context::{Context, ensure, same},
    driver::Outcome,
};
use std::fs;
use tarsal::site::{Site, serve};

const PAGE: &str = r#"<!doctype html><html lang="en"><meta charset="utf-8"><title>Means</title>
<style>body { background: white } @media (prefers-color-scheme: dark) { body { background: black } } @media print { #zone { display: none } }</style>
<input id="files" type="file" multiple><input id="words"><div id="zone">drop here</div><output id="got"></output>
<script>
const got = document.getElementById("got");
const read = async (how, files) => { got.value = how + ": " + (await Promise.all([...files].map(async (f) => f.name + "=" + await f.text()))).join(" "); };
document.getElementById("files").onchange = (event) => read("chosen", event.target.files);
const zone = document.getElementById("zone");
zone.ondragover = (event) => event.preventDefault();
zone.ondrop = (event) => { event.preventDefault(); read("dropped", event.dataTransfer.files); };
document.getElementById("words").onkeydown = (event) => { if (event.key === "Enter") got.value = "typed: " + event.target.value; };
</script>"#;

pub fn tests() -> Vec<Test> {
    vec![
        ("the_driver_acts_as_a_reader_does", the_driver_acts_as_a_reader_does),
        ("the_driver_shows_other_screens", the_driver_shows_other_screens),
    ]
}

fn page() -> Outcome<tarsal::site::Server> {
    let files = [("index.html".to_owned(), PAGE.as_bytes().to_vec())].into();
    serve(Site { files, build_id: "none".into() }, 0, "/").map_err(|error| error.to_string())
}

fn the_driver_acts_as_a_reader_does(context: &Context) -> Outcome<()> {
    let folder = context.folder("means")?;
    let (one, two) = (folder.join("one.csv"), folder.join("two.csv"));
    fs::write(&one, "1").and_then(|()| fs::write(&two, "2")).map_err(|error| error.to_string())?;
    let server = page()?;
    let mut browser = context.browser("the_driver_acts_as_a_reader_does")?;
    browser.navigate(&server.url())?;
    browser.choose_files("#files", &[&one, &two])?;
    browser.wait_for("got.value === 'chosen: one.csv=1 two.csv=2'")?;
    browser.drop_files("#zone", &[&two])?;
    browser.wait_for("got.value === 'dropped: two.csv=2'")?;
    browser.click("#words")?;
    browser.type_text("words")?;
    browser.press("Enter")?;
    browser.wait_for("got.value === 'typed: words'")?;
    browser.eval("console.log('heard', 7)")?;
    ensure(browser.console().iter().any(|line| line == "heard 7"), || format!("{:?}", browser.console()))?;
    browser.kill();
    Ok(())
}

fn the_driver_shows_other_screens(context: &Context) -> Outcome<()> {
    let folder = context.folder("screens")?;
    let server = page()?;
    let mut browser = context.browser("the_driver_shows_other_screens")?;
    browser.navigate(&server.url())?;
    browser.viewport(360, 640)?;
    same("width", &browser.eval("innerWidth")?, &360.into())?;
    let ground = "getComputedStyle(document.body).backgroundColor";
    browser.media("", "dark")?;
    same("dark ground", &browser.text(ground)?, &"rgb(0, 0, 0)".to_owned())?;
    browser.media("print", "light")?;
    same("light ground", &browser.text(ground)?, &"rgb(255, 255, 255)".to_owned())?;
    same("zone in print", &browser.text("getComputedStyle(zone).display")?, &"none".to_owned())?;
    browser.screenshot(&folder.join("page.png"), true)?;
    let picture = fs::read(folder.join("page.png")).map_err(|error| error.to_string())?;
    ensure(picture.starts_with(b"\x89PNG") && picture.len() > 500, || format!("{} bytes are no picture", picture.len()))?;
    ensure(browser.print()?.starts_with(b"%PDF"), || "printing gave no PDF".into())
}
