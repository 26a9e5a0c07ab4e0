//! The order of functions in a module: of no meaning to a browser, but a packer finds what comes again sooner where like stands
//! beside like. A hundredth off the first load.

use std::{
    collections::{BTreeMap, BTreeSet},
    ops::Range,
};
use wasmparser::{BinaryReaderError, ElementItems, FunctionBody, Operator, Parser, Payload};

/// Places of bytes that a body's sketch holds.
const MARKS: usize = 48;
/// Bytes that are looked at together.
const SHINGLE: usize = 4;

/// What has to be known of a module to put its functions into another order.
#[derive(Default)]
struct Parts<'a> {
    imported: u32,
    types: Vec<u32>,
    bodies: Vec<FunctionBody<'a>>,
}

/// A module in order.
pub(super) struct Arranged {
    /// Its bytes.
    pub module: Vec<u8>,
    /// Exports that are called anew.
    pub renamed: BTreeMap<String, String>,
}

/// Puts the functions of a module into an order in which each follows the one most like it. Exported functions of a name in
/// `free` share these names anew, so that the shortest come first.
///
/// # Errors
/// When the module is damaged.
pub(super) fn arrange(module: &[u8], free: &BTreeSet<String>) -> Result<Arranged, BinaryReaderError> {
    let parts = parts(module)?;
    let order = chain(module, &parts.bodies);
    let mut places = vec![0; order.len()];
    for (new, old) in (0u32..).zip(&order) {
        places[*old] = new;
    }
    let moved = |index: u32| index.checked_sub(parts.imported).map_or(index, |local| parts.imported + places[local as usize]);
    let mut renamed = BTreeMap::new();
    let mut out = module[..8].to_vec();
    for payload in Parser::new(0).parse_all(module) {
        let payload = payload?;
        let mut section = Vec::new();
        match &payload {
            Payload::CodeSectionEntry(_) => continue,
            Payload::FunctionSection(_) => {
                number(&mut section, order.len() as u32);
                order.iter().for_each(|old| number(&mut section, parts.types[*old]));
            }
            Payload::CodeSectionStart { .. } => {
                number(&mut section, order.len() as u32);
                for old in &order {
                    let body = rewritten(module, &parts.bodies[*old], &moved)?;
                    number(&mut section, body.len() as u32);
                    section.extend(body);
                }
            }
            Payload::StartSection { func, .. } => number(&mut section, moved(*func)),
            Payload::ExportSection(exports) => {
                let mut all = Vec::new();
                for export in exports.clone() {
                    let export = export?;
                    let function = export.kind == wasmparser::ExternalKind::Func;
                    all.push((function, if function { moved(export.index) } else { export.index }, export.kind, export.name.to_owned()));
                }
                all.sort_by_key(|(function, index, ..)| (*function, *index));
                let mut names: Vec<&String> = free.iter().collect();
                names.sort_by_key(|name| (name.len(), *name));
                let functions = all.iter().filter(|(function, _, _, name)| *function && free.contains(name));
                renamed = functions.zip(names).map(|((.., name), new)| (name.clone(), new.clone())).collect();
                number(&mut section, all.len() as u32);
                for (_, index, kind, name) in all {
                    let name = renamed.get(&name).unwrap_or(&name);
                    number(&mut section, name.len() as u32);
                    section.extend(name.bytes());
                    section.push(kind_byte(kind));
                    number(&mut section, index);
                }
            }
            Payload::ElementSection(elements) => {
                number(&mut section, elements.count());
                for element in elements.clone() {
                    let element = element?;
                    let mut done = element.range.start;
                    if let ElementItems::Functions(items) = element.items {
                        for (at, item) in items.into_iter_with_offsets().enumerate() {
                            let (offset, index) = item?;
                            if at == 0 {
                                section.extend(&module[done..offset]);
                            }
                            number(&mut section, moved(index));
                            done = element.range.end;
                        }
                    }
                    section.extend(&module[done..element.range.end]);
                }
            }
            _ => {
                let Some((id, range)) = payload.as_section() else { continue };
                append(&mut out, id, &module[range]);
                continue;
            }
        }
        if let Some((id, _)) = payload.as_section() {
            append(&mut out, id, &section);
        }
    }
    Ok(Arranged { module: out, renamed })
}

fn parts(module: &[u8]) -> Result<Parts<'_>, BinaryReaderError> {
    let mut parts = Parts::default();
    for payload in Parser::new(0).parse_all(module) {
        match payload? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    parts.imported += u32::from(matches!(import?.ty, wasmparser::TypeRef::Func(_)));
                }
            }
            Payload::FunctionSection(types) => parts.types = types.into_iter().collect::<Result<_, _>>()?,
            Payload::CodeSectionEntry(body) => parts.bodies.push(body),
            _ => {}
        }
    }
    Ok(parts)
}

/// The longest body first, and after each the one whose sketch has most in common with it.
fn chain(module: &[u8], bodies: &[FunctionBody<'_>]) -> Vec<usize> {
    let range = |at: usize| -> Range<usize> { bodies[at].range() };
    let sketches: Vec<[u32; MARKS]> = (0..bodies.len()).map(|at| sketch(&module[range(at)])).collect();
    let mut left: Vec<usize> = (0..bodies.len()).collect();
    left.sort_by_key(|at| (std::cmp::Reverse(range(*at).len()), *at));
    let mut order: Vec<usize> = Vec::with_capacity(left.len());
    while let Some(next) = match order.last() {
        None => (!left.is_empty()).then_some(0),
        Some(last) => {
            let alike = |at: &usize| sketches[*at].iter().zip(&sketches[*last]).filter(|(a, b)| a == b).count();
            (0..left.len()).max_by_key(|place| (alike(&left[*place]), std::cmp::Reverse(*place)))
        }
    } {
        order.push(left.remove(next));
    }
    order
}

/// The least of many hashes over all shingles: bodies that share many shingles share many of these.
fn sketch(body: &[u8]) -> [u32; MARKS] {
    let mut least = [u32::MAX; MARKS];
    for shingle in body.windows(SHINGLE) {
        let hash = shingle.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x100_0000_01b3));
        for (mark, seed) in least.iter_mut().zip(1u64..) {
            let mixed = (hash ^ seed.wrapping_mul(0x9e37_79b9_7f4a_7c15)).wrapping_mul(0xff51_afd7_ed55_8ccd) >> 32;
            *mark = (*mark).min(mixed as u32);
        }
    }
    least
}

/// A body with the functions it calls by their new numbers.
fn rewritten(module: &[u8], body: &FunctionBody<'_>, moved: &impl Fn(u32) -> u32) -> Result<Vec<u8>, BinaryReaderError> {
    let mut out = Vec::with_capacity(body.range().len());
    let mut done = body.range().start;
    let mut operators = body.get_operators_reader()?.into_iter_with_offsets().peekable();
    while let Some(operator) = operators.next() {
        let (operator, start) = operator?;
        let (code, index) = match operator {
            Operator::Call { function_index } => (0x10, function_index),
            Operator::ReturnCall { function_index } => (0x12, function_index),
            Operator::RefFunc { function_index } => (0xd2, function_index),
            _ => continue,
        };
        out.extend(&module[done..start]);
        out.push(code);
        number(&mut out, moved(index));
        done = match operators.peek() {
            Some(Ok((_, next))) => *next,
            _ => body.range().end,
        };
    }
    out.extend(&module[done..body.range().end]);
    Ok(out)
}

fn kind_byte(kind: wasmparser::ExternalKind) -> u8 {
    use wasmparser::ExternalKind::{Func, FuncExact, Global, Memory, Table, Tag};
    match kind {
        Func | FuncExact => 0,
        Table => 1,
        Memory => 2,
        Global => 3,
        Tag => 4,
    }
}

fn append(out: &mut Vec<u8>, id: u8, section: &[u8]) {
    out.push(id);
    number(out, section.len() as u32);
    out.extend(section);
}

/// A number in seven bits a byte.
fn number(out: &mut Vec<u8>, mut value: u32) {
    while value > 127 {
        out.push((value & 127) as u8 | 128);
        value >>= 7;
    }
    out.push(value as u8);
}
