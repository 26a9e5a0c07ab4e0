//! What a first visit really runs: a build whose every stretch of code leaves a mark when it is entered.
//!
//! `tests/browser/met.rs` drives it and writes `unmet.txt`, by which `rooms` knows what no first visit met.

use super::{BuildOptions, Site, assemble, bind, compile, error::SiteError, links, rooms, split};
use walrus::{FunctionId, FunctionKind, LocalFunction, Module, ir};

/// The channel on which page and workers tell what they ran; heard by `globalThis.tarsalMet`.
const CHANNEL: &str = "tarsal-met";

/// A function of the counted build.
#[derive(Clone, Debug)]
pub struct Counted {
    /// Its readable name.
    pub name: String,
    /// Its stretches of code without a branch, in order: the first mark's number, and how many instructions each holds.
    pub marks: (usize, Vec<usize>),
    /// Whether the rules of `rooms` alone keep it in the first half.
    pub kept: bool,
}

/// The site with one module, whole, that counts; and its functions. `globalThis.tarsalMet` is the set of marks met.
///
/// # Errors
/// As [`super::build_site`].
pub fn counted_site(options: &BuildOptions) -> Result<(Site, Vec<Counted>), SiteError> {
    let compiled = compile(options)?;
    let mut bound = bind(&compiled)?;
    let whole = super::bind::bound_module(&compiled)?.1;
    let kept = links::read(&compiled).and_then(|links| split::kept_names(&whole, &links, rooms::by_rule)).map_err(SiteError::Bind)?;
    let refused = |error: &dyn std::fmt::Display| SiteError::Bind(format!("{error:#}"));
    let mut module = Module::from_buffer(&whole).map_err(|error| refused(&error))?;
    let memory = module.get_memory_id().map_err(|error| refused(&error))?;
    let start = module.memories.get(memory).initial * PAGE;
    let ids: Vec<FunctionId> = module.funcs.iter().map(|function| function.id()).collect();
    let (mut functions, mut marks) = (Vec::new(), 0);
    for (id, kept) in ids.into_iter().zip(kept) {
        let function = module.funcs.get_mut(id);
        let name = rooms::readable(function.name.as_deref().unwrap_or_default());
        if let FunctionKind::Local(local) = &mut function.kind {
            let sizes = mark_all(local, memory, start as i32 + marks as i32);
            functions.push(Counted { name, kept, marks: (marks, sizes.clone()) });
            marks += sizes.len();
        }
    }
    let held = module.memories.get_mut(memory);
    held.initial += (marks as u64).div_ceil(PAGE);
    held.maximum = held.maximum.map(|most| most.max(held.initial));
    bound.wasm = split::emit(module);
    bound.later = b"\0asm\x01\0\0\0".to_vec();
    bound.whole.clone_from(&bound.wasm);
    bound.glue = format!("{}\n{}", listener(start, marks), bound.glue);
    Ok((assemble(&bound, &options.root.join("www"))?, functions))
}

const PAGE: u64 = 65536;

/// Puts a mark before every stretch; returns how many instructions each holds.
fn mark_all(local: &mut LocalFunction, memory: walrus::MemoryId, first: i32) -> Vec<usize> {
    let mut sizes = Vec::new();
    let mut open = vec![local.entry_block()];
    let builder = local.builder_mut();
    while let Some(sequence) = open.pop() {
        let old = std::mem::take(builder.instr_seq(sequence).instrs_mut());
        let mut new = Vec::with_capacity(old.len() * 2);
        let mut fresh = true;
        for (instruction, place) in old {
            if std::mem::take(&mut fresh) {
                let put = |value| (ir::Instr::Const(ir::Const { value: ir::Value::I32(value) }), place);
                new.extend([put(first + sizes.len() as i32), put(1)]);
                let kind = ir::StoreKind::I32_8 { atomic: false };
                new.push((ir::Instr::Store(ir::Store { memory, kind, arg: ir::MemArg { align: 1, offset: 0 } }), place));
                sizes.push(0);
            }
            if let Some(last) = sizes.last_mut() {
                *last += 1;
            }
            match &instruction {
                ir::Instr::Block(ir::Block { seq }) | ir::Instr::Loop(ir::Loop { seq }) => open.push(*seq),
                ir::Instr::IfElse(ir::IfElse { consequent, alternative }) => open.extend([*consequent, *alternative]),
                _ => {}
            }
            fresh = matches!(instruction, ir::Instr::BrIf(_) | ir::Instr::Block(_) | ir::Instr::Loop(_) | ir::Instr::IfElse(_));
            new.push((instruction, place));
        }
        *builder.instr_seq(sequence).instrs_mut() = new;
    }
    sizes
}

/// A script in page and worker that looks at the marks now and then.
fn listener(start: u64, count: usize) -> String {
    format!(
        "{{
            const Real = WebAssembly.Instance, channel = new BroadcastChannel('{CHANNEL}'), met = new Set();
            globalThis.tarsalMet = met;
            channel.onmessage = ({{ data }}) => data.forEach((mark) => met.add(mark));
            WebAssembly.Instance = function (module, imports) {{
                const instance = new Real(module, imports);
                const memory = instance.exports.memory;
                if (memory) setInterval(() => {{
                    const fresh = [];
                    new Uint8Array(memory.buffer, {start}, {count}).forEach((mark, at) => {{ if (mark && !met.has(at)) {{ fresh.push(at); met.add(at); }} }});
                    if (fresh.length) channel.postMessage(fresh);
                }}, 50);
                return instance;
            }};
        }}"
    )
}
