//! Data flows one way: a room of the house knows only the rooms before it in the map at the top of `src/lib.rs`.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// Room names in the order of the numbered list in `lib.rs`: every backticked plain name that is a folder of `src`.
fn rooms(source: &Path) -> Vec<String> {
    let map = fs::read_to_string(source.join("lib.rs")).expect("src/lib.rs");
    let mut rooms: Vec<String> = Vec::new();
    for line in
        map.lines().filter_map(|line| line.strip_prefix("//! ")).filter(|line| line.starts_with(|first: char| first.is_ascii_digit()))
    {
        for name in line.split('`').skip(1).step_by(2) {
            if source.join(name).is_dir() && !rooms.iter().any(|room| room == name) {
                rooms.push(name.to_owned());
            }
        }
    }
    rooms
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Rooms that a file names through `crate::`, with the line. Its unit tests may look anywhere (they may need invented
/// recordings), so reading stops where they begin; comments do not count.
fn named_rooms(text: &str) -> Vec<(usize, String)> {
    let mut named = Vec::new();
    // A `use crate::{…}` may run over several lines: its names are the words right after the brace or a comma at depth 1.
    let mut depth = 0_usize;
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.starts_with("#[cfg(test)]") {
            break;
        }
        let line = line.split("//").next().unwrap_or_default();
        let mut rest = line;
        if depth == 0 {
            while let Some((_, after)) = rest.split_once("crate::") {
                rest = after;
                if let Some(list) = after.strip_prefix('{') {
                    depth = 1;
                    depth = names_in_list(list, depth, number, &mut named);
                    if depth > 0 {
                        break;
                    }
                } else {
                    named.push((number + 1, first_word(after)));
                }
            }
        } else {
            depth = names_in_list(line, depth, number, &mut named);
        }
    }
    named
}

/// Reads names at depth 1 of a braced list and returns the depth at the end of the line.
fn names_in_list(list: &str, mut depth: usize, number: usize, named: &mut Vec<(usize, String)>) -> usize {
    let mut expects_name = true;
    for (at, letter) in list.char_indices() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' => expects_name = depth == 1,
            _ if depth == 1 && expects_name && !letter.is_whitespace() => {
                named.push((number + 1, first_word(&list[at..])));
                expects_name = false;
            }
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    depth
}

fn first_word(text: &str) -> String {
    text.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect()
}

#[test]
fn no_room_knows_a_later_one() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let rooms = rooms(&source);
    let place = |name: &str| rooms.iter().position(|room| room == name);
    let mut back_flows = Vec::new();
    for (own, room) in rooms.iter().enumerate() {
        let mut files = Vec::new();
        rust_files(&source.join(room), &mut files);
        // A room's tests in a file of their own are tests all the same.
        for file in files.iter().filter(|file| file.file_name().is_some_and(|name| name != "tests.rs")) {
            let text = fs::read_to_string(file).expect("source text");
            for (line, named) in named_rooms(&text) {
                if place(&named).is_some_and(|other| other > own) {
                    back_flows.push(format!("{}:{line}: {room} uses {named}, which comes after it", file.display()));
                }
            }
        }
    }
    assert!(back_flows.is_empty(), "{}", back_flows.join("\n"));
}

#[test]
fn every_folder_is_a_room_on_the_map() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let rooms = rooms(&source);
    for entry in fs::read_dir(&source).expect("src") {
        let entry = entry.expect("an entry");
        let name = entry.file_name().to_string_lossy().into_owned();
        assert!(!entry.path().is_dir() || rooms.contains(&name), "src/{name} is not in the list at the top of src/lib.rs");
    }
    let first: Vec<&str> = rooms.iter().map(String::as_str).take(5).collect();
    assert_eq!(first, ["recording", "force", "movement", "figures", "answer"]);
}

#[test]
fn the_reader_of_use_lines_sees_every_form() {
    let text = "use crate::force::Clean;\nuse crate::{\n    answer::{Document, views},\n    records,\n};\nlet x = crate::page::y(crate::screen::z);\n\
                // crate::charts\n#[cfg(test)]\nuse crate::invented;\n";
    let names: Vec<String> = named_rooms(text).into_iter().map(|(_, name)| name).collect();
    assert_eq!(names, ["force", "answer", "records", "page", "screen"]);
}
