//! Reports as they leave a printer: how many pages, and what stands on them.

use crate::{
    context::ensure,
    driver::{
        Browser, Outcome,
        shown::{A4, LETTER},
    },
    squad::{contains, settled},
};
use std::{
    io::Write as _,
    process::{Command, Stdio},
};

/// Prints the athlete's two reports from the open study, each on A4 and on Letter: two pages and one, with these words on
/// them. With `TARSAL_SHOTS` the PDFs are kept in that folder under `name`, to be looked at.
pub fn reports_fit(browser: &mut Browser, name: &str, words: &[&str]) -> Outcome<()> {
    for (way, pages) in [("coach-report/", 2), ("report/", 1)] {
        browser.click(&format!("#hand-over a[data-id^='{way}']"))?;
        browser.wait_for("document.querySelector('.report-page .report')")?;
        settled(browser)?;
        for (paper, size) in [("a4", A4), ("letter", LETTER)] {
            let pdf = browser.print_on(size)?;
            let reader = way.trim_end_matches('/').replace("report", "").replace('-', "");
            let file = format!("{name}-{}-{paper}.pdf", if reader.is_empty() { "athlete" } else { "coach" });
            if let Some(folder) = std::env::var_os("TARSAL_SHOTS") {
                std::fs::write(std::path::Path::new(&folder).join(&file), &pdf).map_err(|error| error.to_string())?;
            }
            let found = page_count(&pdf);
            ensure(found <= pages && found > 0, || format!("{file} has {found} pages, {pages} are the most"))?;
            println!("{file}: {found} of {pages} pages, {} kB", pdf.len() / 1024);
            if let Some(text) = text_of(&pdf)? {
                for word in words {
                    contains(&text, word)?;
                }
                contains(&text, "no diagnosis")?;
                ensure(!text.contains("NaN"), || format!("{file} says NaN"))?;
            }
        }
        browser.click(".trials.no-print a[data-do=go]")?;
        browser.wait_for("document.getElementById('hand-over')")?;
    }
    Ok(())
}

/// Pages of a PDF as Chromium writes it: one object of type Page each.
fn page_count(pdf: &[u8]) -> usize {
    pdf.windows(12).filter(|w| w.starts_with(b"/Type /Page") && !w.ends_with(b"s")).count()
}

/// The text of a PDF, where this machine has a program that reads it (poppler's).
fn text_of(pdf: &[u8]) -> Outcome<Option<String>> {
    let program = Command::new("pdftotext").args(["-layout", "-", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let Ok(mut program) = program else {
        ensure(std::env::var_os("CI").is_none(), || "pdftotext is missing: install poppler-utils".into())?;
        println!("pdftotext is missing: the text on the pages is not looked at");
        return Ok(None);
    };
    let mut input = program.stdin.take().ok_or("no way into pdftotext")?;
    let bytes = pdf.to_vec();
    let writer = std::thread::spawn(move || input.write_all(&bytes));
    let out = program.wait_with_output().map_err(|error| error.to_string())?;
    writer.join().map_err(|_| "writing to pdftotext stopped")?.map_err(|error| error.to_string())?;
    ensure(out.status.success(), || format!("pdftotext: {}", out.status))?;
    Ok(Some(String::from_utf8_lossy(&out.stdout).into_owned()))
}
