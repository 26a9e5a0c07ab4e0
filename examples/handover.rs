//! Writes the reports, the screens and the link of an invented squad's athletes into a folder, one for every answer:
//! `cargo run --example handover -- FOLDER`.
#[path = "../tests/advice/cases.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod cases;
#[path = "../tests/advice/squads.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod squads;

use std::{env, fs, path::PathBuf};
use tarsal::charts::number::Locale;
use tarsal::records::link::{Include, encode};
use tarsal::views::report::{Paper, Reader, file};

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(env::args().nth(1).unwrap_or_else(|| "handover".into()));
    fs::create_dir_all(&folder)?;
    let locale = Locale::default();
    for case in cases::all() {
        for (reader, who) in [(Reader::Coach, "coach"), (Reader::Athlete, "athlete")] {
            for (paper, size) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
                fs::write(folder.join(format!("{}-{who}-{size}.html", case.id)), file(&case.brief, reader, paper, &locale))?;
            }
        }
        fs::write(folder.join(format!("{}-screen.html", case.id)), cases::screen(&case, &locale))?;
        match encode(&case.brief, Include::default()) {
            Ok(link) => println!("{:<16} {:?}: link of {} letters", case.id, case.brief.answer, link.len()),
            Err(error) => println!("{:<16} {error}", case.id),
        }
    }
    Ok(())
}
