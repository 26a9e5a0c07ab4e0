//! The whole site as one HTML file that opens from a disk or a stick, without a server and without a connection.
//!
//! Works on the tags of `index.html`'s head: each reference to a file of the site is replaced by that file's content
//! or left out where it has no use in a single file. A reference it does not know is an error, never a silent loss.

use super::{
    assemble::{GLUE, text},
    digest,
    error::SiteError,
    policy,
};
use std::collections::BTreeMap;

type Files = BTreeMap<String, Vec<u8>>;

/// Stands where the policy goes until all hashes are known.
const POLICY_PLACE: &str = "@POLICY@";

/// Stands below every screen of the single file, and shows where it was opened from a disk (`boot.js` marks that): the hosted
/// page, whose first load counts every byte, does not carry it.
const WHERE_DATA_ARE: &str = "<p id=\"from-disk\" data-needs=\"disk\">Opened from a disk or a stick: what you save stays in this browser on this computer, \
     not on the stick, and any other page opened from this computer’s disks can read or clear it. Save a backup, under Storage, to take it along.</p>\n";
/// How it looks: a line more of the cautions above it.
const WHERE_DATA_ARE_STYLE: &str = "\
     #from-disk { max-width: 1180px; margin: 0 auto 32px; padding: 0 16px; font-size: 0.9rem; }\n\
     @media (min-width: 1212px) { #from-disk { padding: 0; } }\n\
     @media print { #from-disk { display: none; } }\n";

/// What the tags turned into, and the hashes their policy needs.
#[derive(Default)]
struct Folded {
    html: String,
    script_hashes: Vec<String>,
    style_hashes: Vec<String>,
    has_policy: bool,
    has_note: bool,
}

/// Folds the files into one page, with the module in one piece.
///
/// # Errors
/// When `index.html` refers to a file in a way that cannot be inlined.
pub(super) fn fold(files: &Files, module: &[u8]) -> Result<String, SiteError> {
    let page = text(files, "index.html")?;
    let mut folded = Folded::default();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        folded.html.push_str(&rest[..at]);
        rest = &rest[at..];
        if rest.starts_with("<!--") {
            // Comments are for whoever reads the source folder.
            let end = rest.find("-->").ok_or_else(|| problem("has a comment that does not end"))?;
            rest = &rest[end + 3..];
            continue;
        }
        let end = rest.find('>').ok_or_else(|| problem("has a tag that does not end"))? + 1;
        let tag = &rest[..end];
        rest = &rest[end..];
        if tag.starts_with("<script") {
            rest = rest.trim_start().strip_prefix("</script>").ok_or_else(|| problem("has an inline script, which the policy forbids"))?;
            folded.script_tag(files, module, tag)?;
        } else {
            folded.other_tag(files, tag)?;
        }
    }
    folded.html.push_str(rest);
    if !folded.has_policy {
        return Err(problem("has no policy tag to replace"));
    }
    if !folded.has_note {
        return Err(problem("has no </body>, before which the single file says where its data are"));
    }
    Ok(folded.html.replace(POLICY_PLACE, &policy::single_policy(&folded.script_hashes, &folded.style_hashes)))
}

impl Folded {
    /// `boot.js` becomes module, glue and boot script, in this order; the glue may also be named by a tag of its own.
    fn script_tag(&mut self, files: &Files, module: &[u8], tag: &str) -> Result<(), SiteError> {
        match attribute(tag, "src").ok_or_else(|| problem("has an inline script, which the policy forbids"))? {
            GLUE => Ok(()),
            "boot.js" => {
                // Held until the body is parsed: inlined scripts cannot be deferred, so the boot script waits itself.
                self.html.push_str(&format!(
                    "<script type=\"application/octet-stream\" id=\"inlined-wasm\">{}</script>\n",
                    digest::base64(module)
                ));
                self.inline_script(" id=\"inlined-glue\"", text(files, GLUE)?);
                self.html.push('\n');
                self.inline_script("", text(files, "boot.js")?);
                Ok(())
            }
            other => {
                let script = text(files, other)?;
                self.inline_script("", script);
                Ok(())
            }
        }
    }

    fn inline_script(&mut self, attributes: &str, script: &str) {
        // Only in these two spellings can a script end, or confuse, the element around it.
        let script = script.replace("</script", "<\\/script").replace("<!--", "<\\!--");
        self.script_hashes.push(digest::policy_source(&script));
        self.html.push_str(&format!("<script{attributes}>{script}</script>"));
    }

    fn other_tag(&mut self, files: &Files, tag: &str) -> Result<(), SiteError> {
        if tag.starts_with("<meta") && attribute(tag, "http-equiv") == Some("Content-Security-Policy") {
            self.has_policy = true;
            self.html.push_str(&format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY_PLACE}\">"));
            return Ok(());
        }
        if tag == "</body>" {
            self.has_note = true;
            self.html.push_str(WHERE_DATA_ARE);
        }
        if !tag.starts_with("<link") {
            if let Some(source) = attribute(tag, "src") {
                return Err(problem(&format!("refers to `{source}` from a tag the single file cannot inline: {tag}")));
            }
            self.html.push_str(tag);
            return Ok(());
        }
        let href = attribute(tag, "href").ok_or_else(|| problem(&format!("has a link without a double-quoted href: {tag}")))?;
        match attribute(tag, "rel") {
            Some("stylesheet") => {
                let style = text(files, href)?;
                if style.contains("</style") || style.contains("url(") {
                    return Err(SiteError::Www { file: href.into(), problem: "uses url(…), which a single file cannot reach".into() });
                }
                let style = format!("{style}{WHERE_DATA_ARE_STYLE}");
                self.style_hashes.push(digest::policy_source(&style));
                self.html.push_str(&format!("<style>{style}</style>"));
            }
            Some("icon") if href.ends_with(".svg") => {
                let icon = digest::base64(text(files, href)?.as_bytes());
                self.html.push_str(&format!("<link rel=\"icon\" href=\"data:image/svg+xml;base64,{icon}\">"));
            }
            // Installing, prefetching and other icons belong to the hosted page.
            _ => {}
        }
        Ok(())
    }
}

/// The value of a double-quoted attribute.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let start = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    let value = tag.get(start..)?;
    value.get(..value.find('"')?)
}

fn problem(what: &str) -> SiteError {
    SiteError::Www { file: "index.html".into(), problem: what.into() }
}
