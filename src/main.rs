//! `cargo run --release`: builds the page and serves it.
#![forbid(unsafe_code)]
fn main() {}
