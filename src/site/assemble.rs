//! All files of the site in memory, under one build id.

use super::{
    bind::Bound,
    digest,
    error::{SiteError, io},
    policy, single,
};
use std::{collections::BTreeMap, fs, path::Path};

/// The glue's file name.
pub const GLUE: &str = "tarsal.js";
/// The file name of the module's first half.
pub const WASM: &str = "tarsal.wasm";
/// The file name of its second half.
pub const LATER: &str = "tarsal-later.wasm";
/// The self-contained file's name.
pub const SINGLE: &str = "tarsal.html";
/// Files the service worker does not keep: itself, which the browser fetches, and the single file, which would store
/// everything twice.
pub const ASIDE: [&str; 2] = ["sw.js", SINGLE];
/// Style of a report; within `.report-page` on the page, whole in a report's own file.
const REPORT_STYLE: &str = include_str!("../views/report.css");
/// Without these there is no page.
const NEEDED: [&str; 4] = ["index.html", "app.css", "boot.js", "sw.js"];

/// A built site: every file by its name, all in one flat folder.
#[derive(Clone, Debug)]
pub struct Site {
    /// Name → content, sorted, so that every listing is the same.
    pub files: BTreeMap<String, Vec<u8>>,
    /// Changes exactly when a file changes; the same source gives the same id in any folder.
    pub build_id: String,
}

/// Puts glue, module and the files of `www` together and stamps them.
///
/// # Errors
/// When a needed file of `www` is missing or not as the builder expects it.
pub fn assemble(bound: &Bound, www: &Path) -> Result<Site, SiteError> {
    let mut files = read_www(www)?;
    for name in NEEDED {
        if !files.contains_key(name) {
            return Err(SiteError::Www { file: name.into(), problem: "is missing; the page cannot do without it".into() });
        }
    }
    require_policy(&files)?;
    // A report looks the same on the page as in a file of its own.
    let report = REPORT_STYLE.replace(":root {", "& {").replace("html {", "& {").replace("body {", "& {");
    stamp(&mut files, "app.css", "/* @REPORT@ */", &format!(".report-page {{\n{report}}}"))?;
    files.insert(GLUE.into(), bare(&bound.glue).into_bytes());
    files.insert(WASM.into(), bound.wasm.clone());
    files.insert(LATER.into(), bound.later.clone());
    if let Some(script) = files.get_mut("boot.js") {
        *script = bare(&String::from_utf8_lossy(script)).into_bytes();
    }
    let build_id = digest::build_id(files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())));
    stamp(&mut files, "boot.js", "@BUILD@", &build_id)?;
    stamp(&mut files, "sw.js", "@BUILD@", &build_id)?;
    let kept = files.iter().filter(|(name, _)| !ASIDE.contains(&name.as_str()));
    let list: Vec<String> = kept.map(|(name, bytes)| format!("{name:?}: {:?}", digest::hex(bytes))).collect();
    stamp(&mut files, "sw.js", "/* @FILES@ */", &list.join(", "))?;
    let single = single::fold(&files, &bound.whole)?;
    files.insert(SINGLE.into(), single.into_bytes());
    Ok(Site { files, build_id })
}

/// A script without indentation and without lines that are comments alone: a fifth of it, packed. Scripts here hold no
/// text of several lines that would care.
fn bare(script: &str) -> String {
    let mut lines = String::with_capacity(script.len());
    for line in script
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with("//") && !line.starts_with("/**") && !line.starts_with('*'))
    {
        lines.push_str(line);
        lines.push('\n');
    }
    lines
}

/// Every file of the folder. Text gets plain line ends, so that a checkout that converts them builds the same site
/// and the hashes in the single file's policy hold (browsers convert them while parsing).
fn read_www(www: &Path) -> Result<BTreeMap<String, Vec<u8>>, SiteError> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(www).map_err(io("list", www))? {
        let path = entry.map_err(io("list", www))?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else { continue };
        // Editors leave hidden files and backups behind; they are not part of the site.
        if !path.is_file() || name.starts_with('.') || name.ends_with('~') {
            continue;
        }
        let bytes = fs::read(&path).map_err(io("read", &path))?;
        let bytes = match String::from_utf8(bytes) {
            Ok(text) => text.replace("\r\n", "\n").into_bytes(),
            Err(binary) => binary.into_bytes(),
        };
        files.insert(name.to_owned(), bytes);
    }
    Ok(files)
}

/// Refuses a page whose policy was loosened or lost.
fn require_policy(files: &BTreeMap<String, Vec<u8>>) -> Result<(), SiteError> {
    if text(files, "index.html")?.contains(&format!("content=\"{}\"", policy::HOSTED_POLICY)) {
        return Ok(());
    }
    Err(SiteError::Www {
        file: "index.html".into(),
        problem: format!(
            "does not carry the policy; put this first in its head: <meta http-equiv=\"Content-Security-Policy\" content=\"{}\">",
            policy::HOSTED_POLICY
        ),
    })
}

/// Replaces a placeholder that must be there.
fn stamp(files: &mut BTreeMap<String, Vec<u8>>, name: &str, placeholder: &str, value: &str) -> Result<(), SiteError> {
    let before = text(files, name)?;
    if !before.contains(placeholder) {
        return Err(SiteError::Www { file: name.into(), problem: format!("has no {placeholder} for the builder to fill in") });
    }
    let after = before.replace(placeholder, value);
    files.insert(name.into(), after.into_bytes());
    Ok(())
}

/// A file as text.
pub(super) fn text<'a>(files: &'a BTreeMap<String, Vec<u8>>, name: &str) -> Result<&'a str, SiteError> {
    let bytes = files.get(name).ok_or_else(|| SiteError::Www { file: name.into(), problem: "is referred to but not there".into() })?;
    std::str::from_utf8(bytes).map_err(|_| SiteError::Www { file: name.into(), problem: "is not UTF-8 text".into() })
}
