//! The JavaScript glue around the compiled module, made by the binder as a library: no second tool to install, and
//! its version is locked to that of the crate inside the module.

use super::error::SiteError;
use wasm_bindgen_cli_support::Bindgen;

/// The two halves a browser needs.
#[derive(Clone, Debug)]
pub struct Bound {
    /// A classic script that declares `wasm_bindgen`; works in the page, in a worker and inlined.
    pub glue: String,
    /// The module, without names and producers.
    pub wasm: Vec<u8>,
}

/// Binds a compiled module.
///
/// # Errors
/// When the module was made with another version of the binding crate, or carries scripts that a classic script
/// cannot import.
pub fn bind(module: &[u8]) -> Result<Bound, SiteError> {
    let refused = |error: &dyn std::fmt::Display| SiteError::Bind(format!("{error:#}"));
    let mut binder = Bindgen::new();
    binder.input_bytes("tarsal", module.to_vec()).out_name("tarsal").typescript(false);
    binder.remove_name_section(true).remove_producers_section(true);
    binder.no_modules(true).map_err(|error| refused(&error))?;
    let mut output = binder.generate_output().map_err(|error| refused(&error))?;
    let scripts: Vec<&str> = output.snippets().iter().filter(|(_, parts)| !parts.is_empty()).map(|(name, _)| name.as_str()).collect();
    if !scripts.is_empty() || !output.local_modules().is_empty() {
        return Err(SiteError::Bind(format!(
            "these dependencies bring JavaScript of their own, which the single file cannot load: {scripts:?}; use others"
        )));
    }
    Ok(Bound { glue: output.js().to_owned(), wasm: output.wasm_mut().emit_wasm() })
}
