//! SHA-256 in the three spellings the site needs.

use base64::Engine as _;
use sha2::{Digest as _, Sha256};

/// Lower-case hexadecimal, for the service worker's list.
pub(super) fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A source expression of a content security policy, quotes included.
pub(super) fn policy_source(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

/// Standard base64 with padding.
pub(super) fn base64(bytes: &[u8]) -> String {
    base64::engine::general_purpose::STANDARD.encode(bytes)
}

/// Sixteen hexadecimal digits that change with any name or content. Lengths go in first, so that no two different
/// lists of files run together into the same bytes.
pub(super) fn build_id<'a>(files: impl Iterator<Item = (&'a str, &'a [u8])>) -> String {
    let mut hash = Sha256::new();
    for (name, bytes) in files {
        hash.update((name.len() as u64).to_le_bytes());
        hash.update(name.as_bytes());
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    }
    hash.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}
