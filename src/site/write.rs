//! Storing a site in a folder without harming anything else there.
//!
//! A folder is ours when it is new, empty, or bears our list of what we wrote. Only listed files are replaced or
//! removed, each by a rename, so that a reader never meets half a file and a link is replaced, not followed. No folder
//! is ever removed.

use super::{
    assemble::Site,
    error::{SiteError, io},
};
use std::{
    collections::BTreeSet,
    fs,
    io::Write as _,
    path::{Component, Path},
};

/// The name of the list.
pub const LIST: &str = "tarsal-files.txt";
const HEADING: &str = "# Written by Tarsal. It replaces or removes only the files named here.";

/// Writes every file of the site into `folder`, making it if need be.
///
/// # Errors
/// [`SiteError::Foreign`] when the folder holds anything else, in which case nothing was changed; otherwise when a
/// file cannot be written.
pub fn write(site: &Site, folder: &Path) -> Result<(), SiteError> {
    let listed = listed_files(folder)?;
    refuse_overwriting(site, folder, &listed)?;
    fs::create_dir_all(folder).map_err(io("make the folder", folder))?;
    // The list first names old and new alike: stopped half-way, the next run still knows every file as its own.
    let new: BTreeSet<String> = site.files.keys().cloned().collect();
    write_list(folder, &listed.union(&new).cloned().collect())?;
    for (name, bytes) in &site.files {
        replace(folder, name, bytes)?;
    }
    for stale in listed.difference(&new) {
        let path = folder.join(stale);
        if path.symlink_metadata().is_ok_and(|found| !found.is_dir()) {
            fs::remove_file(&path).map_err(io("remove", path))?;
        }
    }
    write_list(folder, &new)
}

/// What an earlier run wrote here; empty for a new or empty folder.
fn listed_files(folder: &Path) -> Result<BTreeSet<String>, SiteError> {
    if folder.symlink_metadata().is_err() {
        return Ok(BTreeSet::new());
    }
    let list = folder.join(LIST);
    if list.symlink_metadata().is_ok_and(|found| found.is_file()) {
        let text = fs::read_to_string(&list).map_err(io("read", &list))?;
        let mut lines = text.lines();
        if lines.next() == Some(HEADING) {
            return Ok(lines.filter(|name| is_plain_name(name)).map(str::to_owned).collect());
        }
        return Err(SiteError::Foreign { folder: folder.into(), found: LIST.into() });
    }
    let mut names: Vec<String> = Vec::new();
    for entry in fs::read_dir(folder).map_err(io("list", folder))? {
        names.push(entry.map_err(io("list", folder))?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    match names.into_iter().next() {
        Some(found) => Err(SiteError::Foreign { folder: folder.into(), found }),
        None => Ok(BTreeSet::new()),
    }
}

/// A list edited by hand must not reach outside the folder.
fn is_plain_name(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    matches!((parts.next(), parts.next()), (Some(Component::Normal(part)), None) if part == name)
}

/// Looks before the first write, so that a refusal leaves the folder as it was.
fn refuse_overwriting(site: &Site, folder: &Path, listed: &BTreeSet<String>) -> Result<(), SiteError> {
    for name in site.files.keys() {
        let found = folder.join(name).symlink_metadata();
        if found.is_ok_and(|found| found.is_dir() || !listed.contains(name)) {
            return Err(SiteError::Foreign { folder: folder.into(), found: name.clone() });
        }
    }
    Ok(())
}

fn write_list(folder: &Path, names: &BTreeSet<String>) -> Result<(), SiteError> {
    let mut text = format!("{HEADING}\n");
    for name in names {
        text.push_str(name);
        text.push('\n');
    }
    replace(folder, LIST, text.as_bytes())
}

/// Writes beside the file, then renames over it.
fn replace(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), SiteError> {
    let beside = folder.join(format!(".{name}.{}.part", std::process::id()));
    let place = folder.join(name);
    // `create_new` refuses what is already there, links included.
    let mut file = fs::File::create_new(&beside).map_err(io("write", &beside))?;
    let written = file.write_all(bytes).map_err(io("write", &beside));
    drop(file);
    let renamed = written.and_then(|()| fs::rename(&beside, &place).map_err(io("replace", &place)));
    if renamed.is_err() {
        // Ours, made a moment ago; a failure to tidy up must not hide the first failure.
        let _ = fs::remove_file(&beside);
    }
    renamed
}
