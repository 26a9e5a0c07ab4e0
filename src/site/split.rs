//! One linked module becomes two: what a first visit needs, and what may come a moment later.
//!
//! Both halves share memory, stack pointer and function table. For every function of the second half that the first
//! can reach, the first has a stub: make sure that the second half is there, then call through a slot of the table.
//! The second half, the moment it is instantiated, puts its own functions into these slots and its constants into
//! memory. So neither half needs to know when that happens, and nothing in the source knows of it at all.
//!
//! `rooms` names what comes later; what only those functions reach follows them, constants included.

use super::{
    copies::{constants_place, write_first, write_second},
    links::{Links, Refers},
    order,
};
use std::{
    cell::Cell,
    collections::{BTreeMap, BTreeSet},
    ops::Range,
};
use walrus::{
    ConstExpr, ElementItems, ElementKind, ExportItem, FunctionId, FunctionKind, GlobalId, LocalFunction, MemoryId, Module, TableId, ir,
};

/// The name under which the second half imports from the first.
pub(super) const FIRST: &str = "first";

/// The two halves of a module.
#[derive(Clone, Debug)]
pub(super) struct Halves {
    /// Starts by itself.
    pub first: Vec<u8>,
    /// Instantiated over the exports of the first.
    pub second: Vec<u8>,
}

/// Functions and globals by their index, which is the same in both copies of the module.
pub(super) struct Plan {
    /// Function of the second half → the slots of the table it stands in, its own stub's first.
    pub slots: BTreeMap<usize, Vec<i32>>,
    /// Those that get a slot at the end of the table, in order.
    pub added: Vec<usize>,
    /// Functions of the first half that the second calls, with the name they are exported under.
    pub functions: BTreeMap<usize, String>,
    /// The same for globals.
    pub globals: BTreeMap<usize, String>,
    /// Addresses of the constants that only the second half uses.
    pub constants: Vec<Range<u32>>,
    /// The name under which the table is shared. It changes with any byte of either half, so that halves of two builds
    /// refuse each other before anything is touched.
    pub mark: String,
}

/// Parts `whole`, whose functions carry their linker names. `make_sure` begins the name of the import that brings the
/// second half; imports get their new `names` last of all; `is_later` decides by a function's name.
///
/// # Errors
/// In words, when the module is not as the linker and the binder made it so far.
pub(super) fn split(
    whole: &[u8],
    links: &Links,
    make_sure: &str,
    names: &BTreeMap<String, String>,
    is_later: impl Fn(&str) -> bool,
) -> Result<Halves, String> {
    let read = || Module::from_buffer(whole).map_err(|error| format!("{error:#}"));
    let (mut first, mut second) = (read()?, read()?);
    let mut plan = plan(&first, links, is_later)?;
    plan.mark = super::digest::hex(whole).split_off(48);
    write_first(&mut first, &plan, make_sure)?;
    write_second(&mut second, &plan)?;
    rename(&mut first, names);
    let first = emit(first);
    // Names and functions out of order belong together where names are wanted.
    if names_wanted() {
        return Ok(Halves { first, second: emit(second) });
    }
    let free = plan.functions.values().cloned().collect();
    let arrange = |half: &[u8], free| order::arrange(half, free).map_err(|error| format!("a half cannot be put in order: {error}"));
    let first = arrange(&first, &free)?;
    for import in second.imports.iter_mut().filter(|import| import.module == FIRST) {
        if let Some(name) = first.renamed.get(&import.name) {
            import.name.clone_from(name);
        }
    }
    let second = arrange(&emit(second), &BTreeSet::new())?;
    Ok(Halves { first: first.module, second: second.module })
}

/// Calls imports by their new names, where they have one.
pub(super) fn rename(module: &mut Module, names: &BTreeMap<String, String>) {
    for import in module.imports.iter_mut().filter(|import| import.module != FIRST) {
        if let Some(name) = names.get(&import.name) {
            import.name.clone_from(name);
        }
    }
}

/// For every function, in order: whether the first half keeps it, and whether it is one that comes later and is entered from
/// what is kept.
pub(super) fn doors(whole: &[u8], links: &Links, is_later: impl Fn(&str) -> bool) -> Result<(Vec<bool>, Vec<bool>), String> {
    let module = Module::from_buffer(whole).map_err(|error| format!("{error:#}"))?;
    let reached = kept(&module, &Graph::new(&module)?, links, is_later);
    Ok((reached.functions, reached.doors))
}

/// With names a browser's stack says what leads into the second half too soon.
fn names_wanted() -> bool {
    std::env::var_os("TARSAL_NAMES").is_some()
}

/// The module without names, relocations and whatever nothing refers to.
pub(super) fn emit(mut module: Module) -> Vec<u8> {
    walrus::passes::gc::run(&mut module);
    for function in module.funcs.iter_mut().filter(|_| !names_wanted()) {
        function.name = None;
    }
    for data in module.data.iter().map(|data| data.id()).collect::<Vec<_>>() {
        module.data.get_mut(data).name = None;
    }
    for global in module.globals.iter().map(|global| global.id()).collect::<Vec<_>>() {
        module.globals.get_mut(global).name = None;
    }
    for custom in module.customs.iter().map(|(id, _)| id).collect::<Vec<_>>() {
        module.customs.delete(custom);
    }
    module.producers = walrus::ModuleProducers::default();
    module.emit_wasm()
}

// ---- who lives where

/// What a function refers to in its instructions.
#[derive(Default)]
struct Uses {
    functions: BTreeSet<FunctionId>,
    globals: BTreeSet<GlobalId>,
    tables: BTreeSet<TableId>,
}

impl ir::Visitor<'_> for Uses {
    fn visit_function_id(&mut self, id: &FunctionId) {
        self.functions.insert(*id);
    }
    fn visit_global_id(&mut self, id: &GlobalId) {
        self.globals.insert(*id);
    }
    fn visit_table_id(&mut self, id: &TableId) {
        self.tables.insert(*id);
    }
}

fn uses(function: &LocalFunction) -> Uses {
    let mut uses = Uses::default();
    ir::dfs_in_order(&mut uses, function, function.entry_block());
    uses
}

/// The module seen as a graph.
struct Graph {
    index: BTreeMap<FunctionId, usize>,
    uses: Vec<Uses>,
    table: TableId,
}

impl Graph {
    fn new(module: &Module) -> Result<Self, String> {
        let uses = module.funcs.iter().map(|function| match &function.kind {
            FunctionKind::Local(local) => uses(local),
            _ => Uses::default(),
        });
        Ok(Self {
            index: module.funcs.iter().enumerate().map(|(at, function)| (function.id(), at)).collect(),
            uses: uses.collect(),
            table: function_table(module)?,
        })
    }

    fn callees(&self, function: usize) -> impl Iterator<Item = usize> {
        self.uses[function].functions.iter().map(|id| self.index[id])
    }
}

/// What the first half keeps: whatever the start reaches without passing through a named function.
fn kept(module: &Module, graph: &Graph, links: &Links, is_later: impl Fn(&str) -> bool) -> Reached {
    let names: Vec<&str> = module.funcs.iter().map(|function| function.name.as_deref().unwrap_or_default()).collect();
    let mut by_name: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, name) in names.iter().enumerate() {
        by_name.entry(name).or_default().push(at);
    }
    let named: Vec<bool> =
        module.funcs.iter().zip(&names).map(|(function, name)| is_local(function) && is_later(&super::rooms::readable(name))).collect();
    let doors: Vec<Cell<bool>> = vec![Cell::new(false); names.len()];
    let stays = |at: &usize| {
        doors[*at].set(named[*at]);
        !named[*at]
    };
    let pointed_to = |refers: &Refers| -> Vec<usize> {
        refers.functions.iter().filter_map(|name| by_name.get(name.as_str())).flatten().copied().filter(stays).collect()
    };
    let mut reached = Reached { functions: vec![false; names.len()], pieces: vec![false; links.pieces.len()], doors: Vec::new() };
    let mut open: Vec<usize> = module.start.iter().map(|id| graph.index[id]).collect();
    open.extend(module.exports.iter().filter_map(|export| match export.item {
        ExportItem::Function(id) => Some(graph.index[&id]),
        _ => None,
    }));
    // The binder's helpers around its table of browser objects: only the function table is shared.
    open.extend((0..names.len()).filter(|function| graph.uses[*function].tables.iter().any(|used| *used != graph.table)));
    open.extend(reached.follow(&links.nameless, links, &pointed_to));
    while let Some(function) = open.pop() {
        if std::mem::replace(&mut reached.functions[function], true) {
            continue;
        }
        open.extend(graph.callees(function).filter(stays));
        if let Some(refers) = links.functions.get(names[function]) {
            open.extend(reached.follow(refers, links, &pointed_to));
        }
    }
    reached.doors = doors.into_iter().map(Cell::into_inner).collect();
    reached
}

fn is_local(function: &walrus::Function) -> bool {
    matches!(function.kind, FunctionKind::Local(_))
}

/// Decides for every function and constant.
fn plan(module: &Module, links: &Links, is_later: impl Fn(&str) -> bool) -> Result<Plan, String> {
    let graph = Graph::new(module)?;
    let reached = kept(module, &graph, links, is_later);
    let later: Vec<bool> = module.funcs.iter().zip(&reached.functions).map(|(function, kept)| is_local(function) && !kept).collect();

    let mut slots: BTreeMap<usize, Vec<i32>> = BTreeMap::new();
    for (slot, function) in table_slots(module, &graph)?.into_iter().filter(|(_, function)| later[*function]) {
        slots.entry(function).or_default().push(slot);
    }
    let mut end = i32::try_from(module.tables.get(graph.table).initial).map_err(|_| "the function table is too large")?;
    let (mut added, mut functions, mut globals) = (Vec::new(), BTreeMap::new(), BTreeMap::new());
    let global_index: BTreeMap<GlobalId, usize> = module.globals.iter().enumerate().map(|(at, global)| (global.id(), at)).collect();
    for caller in 0..later.len() {
        for callee in graph.callees(caller) {
            if later[caller] && !later[callee] {
                functions.insert(callee, String::new());
            }
            if !later[caller] && later[callee] && !slots.contains_key(&callee) {
                slots.insert(callee, vec![end]);
                added.push(callee);
                end += 1;
            }
        }
        if later[caller] {
            globals.extend(graph.uses[caller].globals.iter().map(|id| (global_index[id], String::new())));
        }
    }
    for (number, name) in functions.values_mut().chain(globals.values_mut()).enumerate() {
        *name = short(number);
    }
    let constants = constants(links, &reached.pieces, &constants_place(module)?);
    Ok(Plan { slots, added, functions, globals, constants, mark: String::new() })
}

/// What the first half needs, as far as it is known.
struct Reached {
    functions: Vec<bool>,
    pieces: Vec<bool>,
    /// Functions named to come later that something reached refers to.
    doors: Vec<bool>,
}

impl Reached {
    /// Marks the data behind a reference and the data behind those; returns the functions they point to.
    fn follow(&mut self, refers: &Refers, links: &Links, pointed_to: &dyn Fn(&Refers) -> Vec<usize>) -> Vec<usize> {
        let mut functions = pointed_to(refers);
        let mut open: Vec<usize> = refers.pieces.iter().copied().collect();
        while let Some(piece) = open.pop() {
            if !std::mem::replace(&mut self.pieces[piece], true) {
                functions.extend(pointed_to(&links.pieces[piece].refers));
                open.extend(links.pieces[piece].refers.pieces.iter().copied());
            }
        }
        functions
    }
}

/// Addresses within `all` that lie in some named piece and in none that the first half needs.
fn constants(links: &Links, needed: &[bool], all: &Range<u32>) -> Vec<Range<u32>> {
    let mut places: Vec<(Range<u32>, bool)> =
        links.pieces.iter().zip(needed).map(|(piece, needed)| (piece.place.clone(), *needed)).collect();
    places.retain(|(place, _)| place.start >= all.start && place.end <= all.end);
    places.sort_by_key(|(place, _)| (place.start, place.end));
    let mut free: Vec<Range<u32>> = Vec::new();
    let mut done = 0;
    for (place, needed) in places {
        let start = place.start.max(done);
        if needed {
            // Another name may already have given part of this away.
            while let Some(last) = free.last_mut().filter(|last| last.end > place.start) {
                last.end = place.start.max(last.start);
                if last.start == last.end {
                    free.pop();
                } else {
                    break;
                }
            }
            done = done.max(place.end);
        } else if start < place.end {
            match free.last_mut() {
                Some(last) if last.end >= start => last.end = last.end.max(place.end),
                _ => free.push(start..place.end),
            }
        }
    }
    free
}

/// A short name for an export.
pub(super) fn short(mut number: usize) -> String {
    const LETTERS: &[u8; 36] = b"0123456789abcdefghijklmnopqrstuvwxyz";
    let mut name = String::new();
    loop {
        name.insert(0, char::from(LETTERS[number % 36]));
        if number < 36 {
            return name;
        }
        number = number / 36 - 1;
    }
}

pub(super) fn function_table(module: &Module) -> Result<TableId, String> {
    module.tables.main_function_table().map_err(|error| error.to_string())?.ok_or_else(|| "the module has no function table".into())
}

pub(super) fn memory(module: &Module) -> Result<MemoryId, String> {
    module.get_memory_id().map_err(|error| error.to_string())
}

/// Slot → function, of every segment.
fn table_slots(module: &Module, graph: &Graph) -> Result<Vec<(i32, usize)>, String> {
    let mut slots = Vec::new();
    for element in module.elements.iter() {
        match (&element.kind, &element.items) {
            (ElementKind::Active { table: into, offset: ConstExpr::Value(ir::Value::I32(start)) }, ElementItems::Functions(items))
                if *into == graph.table =>
            {
                slots.extend(items.iter().zip(*start..).map(|(id, slot)| (slot, graph.index[id])));
            }
            (kind, _) => return Err(format!("the function table is filled in a way not known here: {kind:?}")),
        }
    }
    Ok(slots)
}
