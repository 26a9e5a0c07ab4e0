//! One linked module becomes two: what a first visit needs, and what may come a moment later.
//!
//! Both halves share memory, stack pointer and function table. For every function of the second half that the first
//! can reach, the first has a stub: make sure that the second half is there, then call through a slot of the table.
//! The second half, the moment it is instantiated, puts its own functions into these slots and its constants into
//! memory. So neither half needs to know when that happens, and nothing in the source knows of it at all.
//!
//! `rooms` names what comes later; what only those functions reach follows them, constants included.

use super::{
    links::{Links, Refers},
    order,
};
use std::{
    cell::Cell,
    collections::{BTreeMap, BTreeSet},
    ops::Range,
};
use walrus::{
    ConstExpr, DataKind, ElementItems, ElementKind, ExportItem, FunctionBuilder, FunctionId, FunctionKind, GlobalId, GlobalKind,
    ImportKind, ImportedFunction, LocalFunction, MemoryId, Module, TableId, ValType, ir,
};

/// The name under which the second half imports from the first.
const FIRST: &str = "first";
/// Holes in the data that are no larger stay where they are: a segment of its own would cost more.
const SMALL_HOLE: u32 = 24;

/// The two halves of a module.
#[derive(Clone, Debug)]
pub(super) struct Halves {
    /// Starts by itself.
    pub first: Vec<u8>,
    /// Instantiated over the exports of the first.
    pub second: Vec<u8>,
}

/// Functions and globals by their index, which is the same in both copies of the module.
struct Plan {
    /// Function of the second half → the slots of the table it stands in, its own stub's first.
    slots: BTreeMap<usize, Vec<i32>>,
    /// Those that get a slot at the end of the table, in order.
    added: Vec<usize>,
    /// Functions of the first half that the second calls, with the name they are exported under.
    functions: BTreeMap<usize, String>,
    /// The same for globals.
    globals: BTreeMap<usize, String>,
    /// Addresses of the constants that only the second half uses.
    constants: Vec<Range<u32>>,
    /// The name under which the table is shared. It changes with any byte of either half, so that halves of two builds
    /// refuse each other before anything is touched.
    mark: String,
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
    let first = order::arrange(&first, &free).map_err(|error| format!("the first half cannot be put in order: {error}"))?;
    for import in second.imports.iter_mut().filter(|import| import.module == FIRST) {
        if let Some(name) = first.renamed.get(&import.name) {
            import.name.clone_from(name);
        }
    }
    Ok(Halves { first: first.module, second: emit(second) })
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

fn function_table(module: &Module) -> Result<TableId, String> {
    module.tables.main_function_table().map_err(|error| error.to_string())?.ok_or_else(|| "the module has no function table".into())
}

fn memory(module: &Module) -> Result<MemoryId, String> {
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

// ---- the two copies

fn write_first(module: &mut Module, plan: &Plan, make_sure: &str) -> Result<(), String> {
    let (table, memory) = (function_table(module)?, memory(module)?);
    let ids: Vec<FunctionId> = module.funcs.iter().map(|function| function.id()).collect();
    let globals: Vec<GlobalId> = module.globals.iter().map(|global| global.id()).collect();
    let bring = module.imports.iter().find(|import| import.name.starts_with(make_sure)).map(|import| import.kind.clone());
    let Some(ImportKind::Function(bring)) = bring else { return Err(format!("the module does not import `{make_sure}`")) };
    for (function, slots) in &plan.slots {
        let kind = module.funcs.get(ids[*function]).ty();
        let (params, results) = module.types.params_results(kind);
        let (params, results): (Vec<ValType>, Vec<ValType>) = (params.to_vec(), results.to_vec());
        let arguments: Vec<_> = params.iter().map(|param| module.locals.add(*param)).collect();
        let mut stub = FunctionBuilder::new(&mut module.types, &params, &results);
        let mut body = stub.func_body();
        body.call(bring);
        for argument in &arguments {
            body.local_get(*argument);
        }
        body.i32_const(slots[0]).call_indirect(kind, table);
        module.funcs.get_mut(ids[*function]).kind = FunctionKind::Local(stub.local_func(arguments));
    }
    let end = module.tables.get(table).initial;
    let stubs = plan.added.iter().map(|function| ids[*function]).collect();
    fill_table(module, table, end as i32, stubs);
    grow_table(module, table, plan);
    let named = module.exports.get_exported_memory(memory).is_some_and(|export| export.name == "memory");
    if !named {
        return Err("the module does not export its memory as `memory`".into());
    }
    module.exports.add(&plan.mark, table);
    for (function, name) in &plan.functions {
        module.exports.add(name, ids[*function]);
    }
    for (global, name) in &plan.globals {
        module.exports.add(name, globals[*global]);
    }
    // Constants of the second half leave holes.
    let (start, bytes) = take_constants(module)?;
    let mut kept = start;
    for hole in plan.constants.iter().filter(|hole| hole.end - hole.start > SMALL_HOLE) {
        place_constants(module, memory, &bytes, start, kept..hole.start);
        kept = hole.end;
    }
    place_constants(module, memory, &bytes, start, kept..start + bytes.len() as u32);
    Ok(())
}

fn write_second(module: &mut Module, plan: &Plan) -> Result<(), String> {
    let (table, memory) = (function_table(module)?, memory(module)?);
    let ids: Vec<FunctionId> = module.funcs.iter().map(|function| function.id()).collect();
    let globals: Vec<GlobalId> = module.globals.iter().map(|global| global.id()).collect();
    module.start = None;
    for export in module.exports.iter().map(|export| export.id()).collect::<Vec<_>>() {
        module.exports.delete(export);
    }
    for element in module.elements.iter().map(|element| element.id()).collect::<Vec<_>>() {
        module.elements.delete(element);
    }
    module.tables.get_mut(table).elem_segments.clear();
    let (start, bytes) = take_constants(module)?;
    for data in module.data.iter().map(|data| data.id()).collect::<Vec<_>>() {
        module.data.delete(data);
    }
    module.memories.get_mut(memory).data_segments.clear();

    let import = module.imports.add(FIRST, "memory", memory);
    module.memories.get_mut(memory).import = Some(import);
    let import = module.imports.add(FIRST, &plan.mark, table);
    module.tables.get_mut(table).import = Some(import);
    grow_table(module, table, plan);
    for (global, name) in &plan.globals {
        let import = module.imports.add(FIRST, name, globals[*global]);
        module.globals.get_mut(globals[*global]).kind = GlobalKind::Import(import);
    }
    for (function, name) in &plan.functions {
        let id = ids[*function];
        // A function of the browser comes by way of the first half as well: only that one was bound.
        if let FunctionKind::Import(bound) = &module.funcs.get(id).kind {
            module.imports.delete(bound.import);
        }
        let ty = module.funcs.get(id).ty();
        let import = module.imports.add(FIRST, name, id);
        module.funcs.get_mut(id).kind = FunctionKind::Import(ImportedFunction { import, ty });
    }
    // One segment for each run of neighbouring slots.
    let slots: BTreeMap<i32, FunctionId> =
        plan.slots.iter().flat_map(|(function, slots)| slots.iter().map(|slot| (*slot, ids[*function]))).collect();
    let mut runs: Vec<(i32, Vec<FunctionId>)> = Vec::new();
    for (slot, function) in slots {
        match runs.last_mut() {
            Some((start, run)) if *start + run.len() as i32 == slot => run.push(function),
            _ => runs.push((slot, vec![function])),
        }
    }
    for (start, run) in runs {
        fill_table(module, table, start, run);
    }
    for hole in plan.constants.iter().filter(|hole| hole.end - hole.start > SMALL_HOLE) {
        place_constants(module, memory, &bytes, start, hole.clone());
    }
    Ok(())
}

fn fill_table(module: &mut Module, table: TableId, start: i32, functions: Vec<FunctionId>) {
    let offset = ConstExpr::Value(ir::Value::I32(start));
    let element = module.elements.add(ElementKind::Active { table, offset }, ElementItems::Functions(functions));
    module.tables.get_mut(table).elem_segments.insert(element);
}

fn grow_table(module: &mut Module, table: TableId, plan: &Plan) {
    let table = module.tables.get_mut(table);
    table.initial += plan.added.len() as u64;
    table.maximum = Some(table.initial);
}

/// The segment of constants. The one of variables stays as it is, in the first half alone.
fn constants_segment(module: &Module) -> Result<(&walrus::Data, u32), String> {
    let data = module.data.iter().find(|data| data.name.as_deref() == Some(".rodata")).ok_or("the module has no `.rodata`")?;
    match data.kind {
        DataKind::Active { offset: ConstExpr::Value(ir::Value::I32(start)), .. } => Ok((data, start as u32)),
        _ => Err("the constants have no fixed address".into()),
    }
}

fn constants_place(module: &Module) -> Result<Range<u32>, String> {
    let (data, start) = constants_segment(module)?;
    Ok(start..start + data.value.len() as u32)
}

/// Takes the segment of constants out: its address and its bytes.
fn take_constants(module: &mut Module) -> Result<(u32, Vec<u8>), String> {
    let (data, start) = constants_segment(module)?;
    let (id, bytes) = (data.id(), data.value.clone());
    module.data.delete(id);
    let memory = memory(module)?;
    module.memories.get_mut(memory).data_segments.remove(&id);
    Ok((start, bytes))
}

/// Puts part of the constants, which begin at `start`, where they belong.
fn place_constants(module: &mut Module, memory: MemoryId, bytes: &[u8], start: u32, part: Range<u32>) {
    let value = part.start.checked_sub(start).and_then(|from| bytes.get(from as usize..(part.end - start) as usize));
    let Some(value) = value.filter(|value| !value.is_empty()) else { return };
    let offset = ConstExpr::Value(ir::Value::I32(part.start as i32));
    let data = module.data.add(DataKind::Active { memory, offset }, value.to_vec());
    module.memories.get_mut(memory).data_segments.insert(data);
}
