//! The two copies of a module, each made into one of its halves by the plan of `split`.

use super::split::{FIRST, Plan, function_table, memory};
use std::{collections::BTreeMap, ops::Range};
use walrus::{
    ConstExpr, DataKind, ElementItems, ElementKind, FunctionBuilder, FunctionId, FunctionKind, GlobalId, GlobalKind, ImportKind,
    ImportedFunction, MemoryId, Module, TableId, ValType, ir,
};

/// Holes in the data that are no larger stay where they are: a segment of its own would cost more.
const SMALL_HOLE: u32 = 24;

pub(super) fn write_first(module: &mut Module, plan: &Plan, make_sure: &str) -> Result<(), String> {
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

pub(super) fn write_second(module: &mut Module, plan: &Plan) -> Result<(), String> {
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

pub(super) fn constants_place(module: &Module) -> Result<Range<u32>, String> {
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
