//! The JavaScript glue around the compiled module, made by the binder as a library: no second tool to install, and
//! its version is locked to that of the crate inside the module.

use super::{error::SiteError, links, rooms, split};
use std::collections::BTreeMap;
use walrus::Module;
use wasm_bindgen_cli_support::Bindgen;

/// The browser's function that brings the second half; declared in `src/page/mod.rs`, defined in `www/boot.js`.
const MAKE_SURE: &str = "__wbg_tarsalSecondHalf_";

/// What a browser needs.
#[derive(Clone, Debug)]
pub struct Bound {
    /// A classic script that declares `wasm_bindgen`; works in the page, in a worker and inlined.
    pub glue: String,
    /// The first half of the module, which starts by itself.
    pub wasm: Vec<u8>,
    /// The second half.
    pub later: Vec<u8>,
    /// Both in one, for the single file.
    pub whole: Vec<u8>,
}

/// Binds a compiled module, and parts it in two.
///
/// # Errors
/// When the module was made with another version of the binding crate, or carries scripts that a classic script
/// cannot import.
pub fn bind(module: &[u8]) -> Result<Bound, SiteError> {
    let (glue, bound) = bound_module(module)?;
    let mut whole = Module::from_buffer(&bound).map_err(|error| SiteError::Bind(format!("{error:#}")))?;
    let (glue, names) = shorter(glue, &whole);
    let links = links::read(module).map_err(SiteError::Bind)?;
    let halves = split::split(&bound, &links, MAKE_SURE, &names, rooms::is_later).map_err(SiteError::Bind)?;
    split::rename(&mut whole, &names);
    Ok(Bound { glue, wasm: halves.first, later: halves.second, whole: split::emit(whole) })
}

/// The glue with shorter names for what the module imports from it, and those names by the binder's: what the binder makes of a
/// name to keep it apart from others, half of the name and more, hardly packs, and stands in both.
fn shorter(mut glue: String, module: &Module) -> (String, BTreeMap<String, String>) {
    let mut names = BTreeMap::new();
    for import in module.imports.iter() {
        // An entry of the object of imports, which is where a name stands at all.
        let entry = format!("{}: function(", import.name);
        if glue.matches(&import.name).count() == 1 && glue.contains(&entry) {
            let name = format!("i{}", split::short(names.len()));
            glue = glue.replace(&entry, &format!("{name}: function("));
            names.insert(import.name.clone(), name);
        }
    }
    (glue, names)
}

/// The glue, and the module as bound, with its functions' names.
pub(super) fn bound_module(module: &[u8]) -> Result<(String, Vec<u8>), SiteError> {
    let refused = |error: &dyn std::fmt::Display| SiteError::Bind(format!("{error:#}"));
    let mut binder = Bindgen::new();
    binder.input_bytes("tarsal", module.to_vec()).out_name("tarsal").typescript(false);
    // The names are needed to part it, just as the linker gave them.
    binder.remove_name_section(false).demangle(false);
    binder.no_modules(true).map_err(|error| refused(&error))?;
    let mut output = binder.generate_output().map_err(|error| refused(&error))?;
    let scripts: Vec<&str> = output.snippets().iter().filter(|(_, parts)| !parts.is_empty()).map(|(name, _)| name.as_str()).collect();
    if !scripts.is_empty() || !output.local_modules().is_empty() {
        return Err(SiteError::Bind(format!(
            "these dependencies bring JavaScript of their own, which the single file cannot load: {scripts:?}; use others"
        )));
    }
    Ok((output.js().to_owned(), output.wasm_mut().emit_wasm()))
}
