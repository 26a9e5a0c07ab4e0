//! What the page is allowed to do, as content security policies.

/// The policy of the hosted page, word for word what `www/index.html` must carry: everything from the page's own
/// origin, and nothing from anywhere else. `wasm-unsafe-eval` lets WebAssembly compile and nothing more.
pub const HOSTED_POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; worker-src 'self' blob:; manifest-src 'self'; connect-src 'self'; form-action 'none'; base-uri 'none'";

/// The policy of the single file: the inlined scripts and styles by their hashes, and no connections at all.
pub(super) fn single_policy(script_hashes: &[String], style_hashes: &[String]) -> String {
    format!(
        "default-src 'none'; script-src 'wasm-unsafe-eval' {}; style-src {}; img-src data: blob:; worker-src blob:; form-action 'none'; base-uri 'none'",
        script_hashes.join(" "),
        style_hashes.join(" ")
    )
}
