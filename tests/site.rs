//! The site builder harms nothing, tells nothing about the builder's computer, and keeps the first load small.

use std::{
    collections::{BTreeMap, BTreeSet},
    env, fs,
    io::{Read as _, Write as _},
    net::TcpStream,
    path::{Path, PathBuf},
    sync::OnceLock,
};
use tarsal::site::{ASIDE, BuildOptions, GLUE, LATER, LIST, SINGLE, Site, SiteError, WASM, build_site, ensure_free, serve, write};

/// Bytes of what a first visit waits for, packed with brotli as hosts of static files send them. Lower it when the page gets smaller.
const FIRST_LOAD_LIMIT: usize = 347_000;
/// The same of everything that is fetched in the end.
const WHOLE_LIMIT: usize = 1_010_000;

/// The real site, built once.
fn built() -> &'static Site {
    static SITE: OnceLock<Site> = OnceLock::new();
    SITE.get_or_init(|| {
        let options = BuildOptions { quiet: true, ..BuildOptions::new(Path::new(env!("CARGO_MANIFEST_DIR"))) };
        build_site(&options).unwrap_or_else(|error| panic!("{error}"))
    })
}

/// A site of a few small files, for what does not need the real one.
fn small(files: &[(&str, &str)]) -> Site {
    let files: BTreeMap<String, Vec<u8>> = files.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect();
    Site { files, build_id: "0123456789abcdef".into() }
}

/// A folder of the test's own, new each time.
fn scratch(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("site-{name}"));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("a scratch folder");
    folder
}

fn names(folder: &Path) -> BTreeSet<String> {
    fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect()
}

#[test]
fn a_foreign_folder_is_refused_and_left_alone() {
    let folder = scratch("foreign");
    fs::write(folder.join("thesis.txt"), "years of work").expect("written");
    let refused = write(&small(&[("index.html", "new")]), &folder).expect_err("must refuse");
    assert!(matches!(&refused, SiteError::Foreign { found, .. } if found == "thesis.txt"), "{refused}");
    assert!(refused.to_string().contains("nothing was changed"), "{refused}");
    assert_eq!(names(&folder), BTreeSet::from(["thesis.txt".to_owned()]));
}

#[test]
fn somebody_elses_file_under_the_lists_name_is_refused() {
    let folder = scratch("list-name");
    fs::write(folder.join(LIST), "index.html\n").expect("written");
    fs::write(folder.join("index.html"), "theirs").expect("written");
    assert!(write(&small(&[("index.html", "new")]), &folder).is_err());
    assert_eq!(fs::read_to_string(folder.join("index.html")).expect("kept"), "theirs");
}

#[test]
fn writing_again_replaces_its_own_files_only() {
    let folder = scratch("again").join("new/and/deep");
    write(&small(&[("index.html", "1"), ("old.js", "1")]), &folder).expect("first");
    fs::write(folder.join("notes.txt"), "added by the reader").expect("written");
    fs::create_dir(folder.join("photos")).expect("made");
    write(&small(&[("index.html", "2"), ("new.js", "2")]), &folder).expect("second");
    assert_eq!(fs::read_to_string(folder.join("index.html")).expect("there"), "2");
    let expected = ["index.html", "new.js", "notes.txt", "photos", LIST];
    assert_eq!(names(&folder), expected.iter().map(|name| (*name).to_owned()).collect::<BTreeSet<_>>());
}

#[test]
fn a_readers_file_in_the_way_is_not_overwritten() {
    let folder = scratch("in-the-way");
    write(&small(&[("index.html", "1")]), &folder).expect("first");
    fs::write(folder.join("app.css"), "theirs").expect("written");
    assert!(write(&small(&[("index.html", "2"), ("app.css", "ours")]), &folder).is_err());
    assert_eq!(fs::read_to_string(folder.join("app.css")).expect("kept"), "theirs");
    assert_eq!(fs::read_to_string(folder.join("index.html")).expect("kept"), "1", "a refusal comes before the first write");
}

#[test]
fn a_list_that_points_outside_is_not_followed() {
    let outer = scratch("outside");
    let folder = outer.join("site");
    write(&small(&[("index.html", "1")]), &folder).expect("first");
    fs::write(outer.join("precious.txt"), "kept").expect("written");
    let list = fs::read_to_string(folder.join(LIST)).expect("the list");
    fs::write(folder.join(LIST), format!("{list}../precious.txt\n{}\n", outer.join("precious.txt").display())).expect("written");
    write(&small(&[("index.html", "2")]), &folder).expect("second");
    assert_eq!(fs::read_to_string(outer.join("precious.txt")).expect("kept"), "kept");
}

#[cfg(unix)]
#[test]
fn a_link_is_replaced_not_followed() {
    let outer = scratch("link");
    let folder = outer.join("site");
    write(&small(&[("index.html", "1")]), &folder).expect("first");
    fs::write(outer.join("precious.txt"), "kept").expect("written");
    fs::remove_file(folder.join("index.html")).expect("removed");
    std::os::unix::fs::symlink(outer.join("precious.txt"), folder.join("index.html")).expect("linked");
    write(&small(&[("index.html", "2")]), &folder).expect("second");
    assert_eq!(fs::read_to_string(outer.join("precious.txt")).expect("kept"), "kept");
    assert_eq!(fs::read_to_string(folder.join("index.html")).expect("there"), "2");
}

/// One request by hand: status line and headers, then the body.
fn ask(port: u16, request_line: &str) -> (String, Vec<u8>) {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("the server listens");
    write!(stream, "{request_line} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n").expect("sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("an answer");
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n").expect("a blank line") + 4;
    (String::from_utf8_lossy(&answer[..end]).into_owned(), answer[end..].to_vec())
}

#[test]
fn the_server_hands_out_its_files_and_nothing_else() {
    let site = small(&[("index.html", "<p>page"), ("tarsal.wasm", "\0asm"), ("manifest.webmanifest", "{}")]);
    for base in ["/", "/some/club/"] {
        let server = serve(site.clone(), 0, base).expect("started");
        let port = server.port();
        let (head, body) = ask(port, &format!("GET {base}"));
        assert!(head.starts_with("HTTP/1.1 200") && head.contains("text/html; charset=utf-8"), "{head}");
        assert!(head.to_lowercase().contains("cache-control: no-cache"), "{head}");
        assert_eq!(body, b"<p>page");
        let (head, _) = ask(port, &format!("GET {base}tarsal.wasm?x=1"));
        assert!(head.contains("application/wasm"), "{head}");
        let (head, body) = ask(port, &format!("HEAD {base}manifest.webmanifest"));
        assert!(head.contains("application/manifest+json") && head.contains("Content-Length: 2") && body.is_empty(), "{head}");
        for outside in ["../Cargo.toml", "%2e%2e/Cargo.toml", "..%2fCargo.toml", "/etc/passwd", "nothing", "index.html/"] {
            let (head, _) = ask(port, &format!("GET {base}{outside}"));
            assert!(head.starts_with("HTTP/1.1 404"), "{outside}: {head}");
        }
        let (head, _) = ask(port, &format!("POST {base}"));
        assert!(head.starts_with("HTTP/1.1 405"), "{head}");
    }
}

#[test]
fn a_taken_port_is_named_with_the_remedy() {
    let first = serve(small(&[("index.html", "1")]), 0, "/").expect("started");
    let Err(refused) = serve(small(&[("index.html", "2")]), first.port(), "/") else { panic!("two servers on one port") };
    assert!(matches!(refused, SiteError::PortTaken { port } if port == first.port()), "{refused}");
    assert!(refused.to_string().contains("-- --port"), "{refused}");
    assert!(ensure_free(first.port()).is_err());
}

#[test]
fn the_module_tells_nothing_about_the_builders_computer() {
    let module = |name: &str| built().files.get(name).expect("a half of the module").as_slice();
    let wasm = [module(WASM), module(LATER)].concat();
    let mut private = vec![env!("CARGO_MANIFEST_DIR").to_owned(), "registry/src".into(), ".cargo".into(), ".rustup".into()];
    private.extend(["HOME", "USERPROFILE", "CARGO_HOME"].iter().filter_map(|name| env::var(name).ok()).filter(|path| path.len() > 1));
    for path in private {
        assert!(!wasm.windows(path.len()).any(|part| part == path.as_bytes()), "the module contains `{path}`");
    }
}

/// What a browser fetches before the page can read and show a recording.
const FIRST_LOAD: [&str; 6] = ["index.html", "app.css", "boot.js", "icon.svg", GLUE, WASM];

#[test]
fn the_first_load_stays_small() {
    let (mut first, mut total) = (0, 0);
    let mut listing = String::new();
    for (name, bytes) in built().files.iter().filter(|(name, _)| name.as_str() != SINGLE) {
        let mut packed = Vec::new();
        let quality = brotli::enc::BrotliEncoderParams { quality: 11, ..Default::default() };
        let size = brotli::BrotliCompress(&mut bytes.as_slice(), &mut packed, &quality).expect("compressed");
        let at_once = FIRST_LOAD.contains(&name.as_str());
        listing += &format!("{size:>8} {name}{}\n", if at_once { "" } else { " (later)" });
        first += if at_once { size } else { 0 };
        total += size;
    }
    println!("{listing}{first:>8} first\n{total:>8} in all");
    assert!(first < FIRST_LOAD_LIMIT, "{first} B compressed, more than {FIRST_LOAD_LIMIT} B:\n{listing}");
    assert!(total < WHOLE_LIMIT, "{total} B compressed, more than {WHOLE_LIMIT} B:\n{listing}");
}

#[test]
fn the_service_worker_lists_every_file_but_those_set_aside() {
    let site = built();
    let worker = std::str::from_utf8(site.files.get("sw.js").expect("a service worker")).expect("text");
    assert!(worker.contains(&format!("\"{}\"", site.build_id)));
    for name in site.files.keys() {
        assert_eq!(worker.contains(&format!("\"{name}\": \"")), !ASIDE.contains(&name.as_str()), "{name}");
    }
}

#[test]
fn the_single_file_refers_to_nothing_beside_it() {
    let site = built();
    let page = std::str::from_utf8(site.files.get(SINGLE).expect("a single file")).expect("text");
    let policy = page.split("Content-Security-Policy\" content=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a policy");
    assert!(policy.starts_with("default-src 'none'") && policy.contains("worker-src blob:"), "{policy}");
    assert!(!policy.contains("connect-src") && !policy.contains("'unsafe-inline'") && !policy.contains("'self'"), "{policy}");
    // Outside the inlined scripts and styles, no tag names a file.
    let mut outside = String::new();
    let mut rest = page;
    while let Some(at) = rest.find("<script").into_iter().chain(rest.find("<style")).min() {
        outside.push_str(&rest[..at]);
        let end = if rest[at..].starts_with("<script") { "</script>" } else { "</style>" };
        rest = rest[at..].split_once(end).expect("a closed element").1;
    }
    outside.push_str(rest);
    for name in site.files.keys() {
        assert!(!outside.contains(&format!("\"{name}\"")), "the single file refers to {name}");
    }
}

/// Takes a second full build, so it runs only when asked for: `cargo test --test site -- --ignored`.
#[test]
#[ignore = "compiles the module a second time, in another folder"]
fn two_folders_give_the_same_build() {
    let copy = scratch("copy");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for entry in fs::read_dir(root).expect("the project") {
        let name = entry.expect("an entry").file_name();
        if name != "target" && name != ".git" {
            copy_all(&root.join(&name), &copy.join(&name));
        }
    }
    let other = build_site(&BuildOptions { quiet: true, ..BuildOptions::new(&copy) }).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(other.build_id, built().build_id);
    assert_eq!(other.files, built().files);
    let _ = fs::remove_dir_all(copy);
}

fn copy_all(from: &Path, to: &Path) {
    if from.is_dir() {
        fs::create_dir_all(to).expect("made");
        for entry in fs::read_dir(from).expect("a folder") {
            let entry = entry.expect("an entry");
            copy_all(&entry.path(), &to.join(entry.file_name()));
        }
    } else {
        fs::copy(from, to).expect("copied");
    }
}
