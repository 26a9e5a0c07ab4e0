//! What first visits really run: a build in which every stretch of code leaves a mark when it is entered.
//!
//! `tests/browser/met.rs` drives it and writes `unmet.txt`, by which `rooms` knows what no first visit met.

use super::{BuildOptions, Site, assemble, bind, bind::bound_module, compile, error::SiteError, links, rooms, split};
use std::collections::{BTreeMap, BTreeSet};
use walrus::{FunctionId, FunctionKind, LocalFunction, Module, ir};

/// Pages of memory are so large.
const PAGE: u64 = 65536;
/// A stub is as large as so many instructions.
const STUB: usize = 12;
/// Digests on a line of the list.
const ON_A_LINE: usize = 14;

/// A build that counts.
pub struct Counted {
    /// The site, its module whole. On the page `tarsalMet` is the set of marks that page and workers met.
    pub site: Site,
    functions: Vec<Function>,
    whole: Vec<u8>,
    links: links::Links,
}

struct Function {
    name: String,
    /// Number of its first mark.
    first: usize,
    /// How many instructions follow each of its marks.
    sizes: Vec<usize>,
}

/// Builds a site that counts.
///
/// # Errors
/// As [`super::build_site`].
pub fn counted(options: &BuildOptions) -> Result<Counted, SiteError> {
    let compiled = compile(options)?;
    let mut bound = bind(&compiled)?;
    let (glue, whole) = bound_module(&compiled)?;
    let links = links::read(&compiled).map_err(SiteError::Bind)?;
    let refused = |error: &dyn std::fmt::Display| SiteError::Bind(format!("{error:#}"));
    let mut module = Module::from_buffer(&whole).map_err(|error| refused(&error))?;
    let memory = module.get_memory_id().map_err(|error| refused(&error))?;
    // The marks lie behind all that the module has at its start; what it asks for later comes behind them.
    let start = module.memories.get(memory).initial * PAGE;
    let (mut functions, mut marks) = (Vec::new(), 0);
    for id in module.funcs.iter().map(|function| function.id()).collect::<Vec<FunctionId>>() {
        let function = module.funcs.get_mut(id);
        let name = rooms::readable(function.name.as_deref().unwrap_or_default());
        let sizes = match &mut function.kind {
            FunctionKind::Local(local) => mark_all(local, memory, start as i32 + marks as i32),
            _ => Vec::new(),
        };
        let first = marks;
        marks += sizes.len();
        functions.push(Function { name, first, sizes });
    }
    let held = module.memories.get_mut(memory);
    held.initial += (marks as u64).div_ceil(PAGE);
    held.maximum = held.maximum.map(|most| most.max(held.initial));
    bound.wasm = split::emit(module);
    bound.whole.clone_from(&bound.wasm);
    // A module of nothing at all.
    bound.later = b"\0asm\x01\0\0\0".to_vec();
    bound.glue = format!("{}\n{glue}", listener(start, marks));
    Ok(Counted { site: assemble(&bound, &options.root.join("www"))?, functions, whole, links })
}

impl Counted {
    /// The list for `unmet.txt`: what the rules keep though none of these marks was met.
    ///
    /// # Errors
    /// When the module cannot be parted.
    pub fn unmet(&self, met: &BTreeSet<usize>) -> Result<String, SiteError> {
        let doors = |is_later: &dyn Fn(&str) -> bool| split::doors(&self.whole, &self.links, is_later).map_err(SiteError::Bind);
        let (kept, _) = doors(&rooms::by_rule)?;
        let met: BTreeSet<&str> = self.functions.iter().filter(|f| met.contains(&f.first)).map(|f| f.name.as_str()).collect();
        // What speaks when something breaks stays at hand.
        let never = |f: &Function| f.sizes.iter().sum::<usize>() > STUB && !met.contains(f.name.as_str()) && !f.name.contains("panic");
        let unmet: BTreeSet<&str> =
            self.functions.iter().zip(&kept).filter(|(f, kept)| **kept && never(f)).map(|(f, _)| f.name.as_str()).collect();
        // What only such functions reach follows them and need not be listed.
        let (_, doors) = doors(&|name| rooms::by_rule(name) || unmet.contains(name))?;
        let listed = self.functions.iter().zip(&doors).filter(|(f, door)| **door && unmet.contains(f.name.as_str()));
        let digests: BTreeSet<String> = listed.map(|(f, _)| rooms::mark(&f.name)).collect();
        let lines: Vec<String> = digests.into_iter().collect::<Vec<_>>().chunks(ON_A_LINE).map(|line| line.join(" ")).collect();
        Ok(lines.join("\n") + "\n")
    }

    /// Functions that were met, with how many of their instructions were not: where code that is never met is compiled into
    /// code that is. The most wasteful first.
    pub fn waste(&self, met: &BTreeSet<usize>) -> Vec<(usize, usize, &str)> {
        let mut waste: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for f in self.functions.iter().filter(|f| met.contains(&f.first)) {
            let idle: usize = f.sizes.iter().enumerate().filter(|(at, _)| !met.contains(&(f.first + at))).map(|(_, size)| size).sum();
            let sum = waste.entry(&f.name).or_default();
            *sum = (sum.0 + idle, sum.1 + f.sizes.iter().sum::<usize>());
        }
        let mut waste: Vec<_> = waste.into_iter().map(|(name, (idle, all))| (idle, all, name)).collect();
        waste.sort_by_key(|(idle, _, name)| (std::cmp::Reverse(*idle), *name));
        waste
    }
}

/// Puts a mark before every stretch; returns how many instructions each holds.
fn mark_all(local: &mut LocalFunction, memory: walrus::MemoryId, first: i32) -> Vec<usize> {
    let mut sizes = Vec::new();
    let mut open = vec![local.entry_block()];
    while let Some(sequence) = open.pop() {
        let mut instructions = std::mem::take(local.builder_mut().instr_seq(sequence).instrs_mut());
        let mut marked = Vec::with_capacity(instructions.len() * 2);
        let mut fresh = true;
        for (instruction, place) in instructions.drain(..) {
            if fresh {
                let put = |value| (ir::Instr::Const(ir::Const { value: ir::Value::I32(value) }), place);
                let kind = ir::StoreKind::I32_8 { atomic: false };
                let store = ir::Instr::Store(ir::Store { memory, kind, arg: ir::MemArg { align: 1, offset: 0 } });
                marked.extend([put(first + sizes.len() as i32), put(1), (store, place)]);
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
            marked.push((instruction, place));
        }
        *local.builder_mut().instr_seq(sequence).instrs_mut() = marked;
    }
    sizes
}

/// A script for page and worker that looks at the marks now and then.
fn listener(start: u64, count: usize) -> String {
    format!(
        "{{
            const Real = WebAssembly.Instance, channel = new BroadcastChannel('tarsal-met'), met = new Set();
            globalThis.tarsalMet = met;
            channel.onmessage = ({{ data }}) => data.forEach((mark) => met.add(mark));
            WebAssembly.Instance = function (module, imports) {{
                const instance = new Real(module, imports);
                const memory = instance.exports.memory;
                if (memory) setInterval(() => {{
                    const fresh = [];
                    new Uint8Array(memory.buffer, {start}, {count}).forEach((mark, at) => {{
                        if (mark && !met.has(at)) {{ fresh.push(at); met.add(at); }}
                    }});
                    if (fresh.length) channel.postMessage(fresh);
                }}, 50);
                return instance;
            }};
        }}"
    )
}
