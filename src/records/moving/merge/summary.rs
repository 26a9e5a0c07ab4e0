//! What merging needs to know of a record, without its text.
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

/// A short digest of a record's content.
pub type Mark = [u8; 12];

/// Fields that may differ between two copies of the same content.
const OF_THE_COPY: [&str; 7] = ["rev", "updated", "made_by", "added", "was", "was_form", "id"];
/// Saves that a record remembers. One that has seen more is judged by `rev` and `updated` when an older copy turns up.
pub(super) const MOST_WAS: usize = 24;

/// What a record says about itself, and digests of the rest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Summary {
    /// Whether it could be read as a record at all.
    pub readable: bool,
    /// Version of its form.
    pub schema: u64,
    /// What it holds.
    pub kind: String,
    /// Its key, as it says itself.
    pub id: String,
    /// Its saves.
    pub rev: u64,
    /// When it was last saved.
    pub updated: String,
    /// Whether it was taken off the list.
    pub removed: bool,
    /// What a person would call it: a name, a file, a day; its key where it has none.
    pub title: String,
    /// The title of an athlete with case and spaces evened out.
    pub name_key: String,
    /// Of a record kept beside: the key of the one it gave way to.
    pub of: String,
    /// Mark of its content.
    pub content: Mark,
    /// Marks of what it replaced.
    pub was: Vec<Mark>,
    /// Marks of the same content in older forms.
    pub was_form: Vec<Mark>,
    /// SHA-256 of the force beside it, where the caller knows it.
    pub force: Option<[u8; 32]>,
}

fn object(text: &str) -> Option<Map<String, Value>> {
    serde_json::from_str(text).ok()
}

/// A record's fields without those of the copy.
pub(super) fn content(text: &str) -> Option<Map<String, Value>> {
    let mut all = object(text)?;
    all.retain(|name, _| !OF_THE_COPY.contains(&name.as_str()));
    Some(all)
}

fn mark(bytes: &[u8]) -> Mark {
    Sha256::digest(bytes).first_chunk::<12>().copied().unwrap_or_default()
}

/// Marks as written in `was`.
pub(super) fn mark_text(mark: &Mark) -> String {
    super::super::frames::hex(mark)
}

fn mark_from(text: &str) -> Option<Mark> {
    let mut mark = Mark::default();
    let (pairs, over) = text.as_bytes().as_chunks::<2>();
    if pairs.len() != mark.len() || !over.is_empty() {
        return None;
    }
    for (byte, [high, low]) in mark.iter_mut().zip(pairs) {
        let digit = |c: &u8| char::from(*c).to_digit(16).map(|d| d as u8);
        *byte = digit(high)? << 4 | digit(low)?;
    }
    Some(mark)
}

fn marks(all: &Map<String, Value>, name: &str) -> Vec<Mark> {
    let marks = all.get(name).and_then(Value::as_array).map(Vec::as_slice).unwrap_or_default();
    marks.iter().filter_map(|mark| mark_from(mark.as_str()?)).collect()
}

impl Summary {
    /// The summary of the record under `key`; nothing it may hold is an error.
    pub fn of(key: &str, text: &str) -> Self {
        let fields = object(text).filter(|all| all.get("kind").is_some_and(Value::is_string));
        let readable = fields.is_some();
        let all = fields.unwrap_or_default();
        let body = all.get("body").and_then(Value::as_object);
        let word = |name: &str| body.and_then(|b| b.get(name)).or_else(|| all.get(name)).and_then(Value::as_str).unwrap_or_default();
        let own = |name: &str| all.get(name).and_then(Value::as_str).unwrap_or_default().to_owned();
        let count = |name: &str| all.get(name).and_then(Value::as_u64).unwrap_or_default();
        let title = ["name", "file", "date"].into_iter().map(word).find(|word| !word.is_empty()).unwrap_or(key);
        let kind = own("kind");
        let even = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let content = match content(text).filter(|_| readable) {
            // Its key names the content that it holds.
            Some(_) if kind == super::BESIDE => mark(key.as_bytes()),
            // Without the order of fields, which another program may have changed: a map is written in order of names.
            Some(content) => mark(Value::Object(content).to_string().as_bytes()),
            None => mark(&[b"unreadable ", text.as_bytes()].concat()),
        };
        let (was, was_form) = (marks(&all, "was"), marks(&all, "was_form"));
        Self {
            readable,
            schema: count("schema"),
            id: own("id"),
            rev: count("rev"),
            updated: own("updated"),
            removed: all.get("removed") == Some(&Value::Bool(true)),
            name_key: if kind == "athlete" { even(word("name")) } else { String::new() },
            title: title.to_owned(),
            kind,
            of: own("of"),
            content,
            was,
            was_form,
            force: None,
        }
    }
    /// The same with the digest of the force beside it.
    pub fn with_force(mut self, bytes: &[u8]) -> Self {
        self.force = Some(Sha256::digest(bytes).into());
        self
    }
    /// Whether this content, in whatever form, is among what the other replaced.
    pub(super) fn is_ancestor_of(&self, other: &Self) -> bool {
        other.was.contains(&self.content) || self.was_form.iter().any(|mark| other.was.contains(mark))
    }
    /// Whether `was` tells of every save.
    pub(super) fn knows_all(&self) -> bool {
        self.was.len() as u64 + 1 >= self.rev
    }
}
