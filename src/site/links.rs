//! What the linker knows and a linked module no longer shows: which constants each function uses, and which functions
//! and constants those point to. Read from the relocations that `compile` asks the linker to leave in.

use std::{
    collections::{BTreeMap, BTreeSet},
    ops::Range,
};
use wasmparser::{DataKind, KnownCustom, Linking, Name, Operator, Parser, Payload, RelocSectionReader, RelocationType, SymbolInfo};

/// What something takes the address of.
#[derive(Clone, Debug, Default)]
pub(super) struct Refers {
    /// Pieces of data, by their place in [`Links::pieces`].
    pub pieces: BTreeSet<usize>,
    /// Functions, by their linker name.
    pub functions: BTreeSet<String>,
}

/// One named piece of data.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    /// Where it lies in memory.
    pub place: Range<u32>,
    /// What it points to.
    pub refers: Refers,
}

/// All references by address within a linked module.
#[derive(Clone, Debug, Default)]
pub(super) struct Links {
    /// Linker name of a function → what it refers to; two functions of one name count as one.
    pub functions: BTreeMap<String, Refers>,
    /// Every named piece of data.
    pub pieces: Vec<Piece>,
    /// What data without a name refers to.
    pub nameless: Refers,
}

/// Where the bytes of code and data lie, counted as relocations count: from the start of their section.
#[derive(Default)]
struct Places {
    imported_functions: u32,
    bodies: Vec<Range<usize>>,
    /// Bytes of a segment in its section, and the address of the first.
    segments: Vec<(Range<usize>, u32)>,
    names: BTreeMap<u32, String>,
}

/// Reads the relocations of a linked module.
///
/// # Errors
/// In words, when the module is damaged or the linker left no relocations in it.
pub(super) fn read(module: &[u8]) -> Result<Links, String> {
    let broken = |error: wasmparser::BinaryReaderError| format!("the linked module cannot be read: {error}");
    let mut places = Places::default();
    let mut symbols: Vec<SymbolInfo<'_>> = Vec::new();
    let mut relocations: Vec<(&str, RelocSectionReader<'_>)> = Vec::new();
    let mut code_start = 0;
    for payload in Parser::new(0).parse_all(module) {
        match payload.map_err(broken)? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    let function = matches!(import.map_err(broken)?.ty, wasmparser::TypeRef::Func(_));
                    places.imported_functions += u32::from(function);
                }
            }
            Payload::CodeSectionStart { range, .. } => code_start = range.start,
            Payload::CodeSectionEntry(body) => {
                let body = body.range();
                places.bodies.push(body.start - code_start..body.end - code_start);
            }
            Payload::DataSection(data) => {
                let start = data.range().start;
                for segment in data {
                    let segment = segment.map_err(broken)?;
                    let end = segment.range.end - start;
                    let DataKind::Active { offset_expr, .. } = segment.kind else { return Err("the module has passive data".into()) };
                    let first = offset_expr.get_operators_reader().read().map_err(broken)?;
                    let Operator::I32Const { value } = first else { return Err("data are placed by a computed address".into()) };
                    places.segments.push((end - segment.data.len()..end, value as u32));
                }
            }
            Payload::CustomSection(section) => match section.as_known() {
                KnownCustom::Name(names) => {
                    for part in names {
                        if let Name::Function(functions) = part.map_err(broken)? {
                            for naming in functions {
                                let naming = naming.map_err(broken)?;
                                places.names.insert(naming.index, naming.name.to_owned());
                            }
                        }
                    }
                }
                KnownCustom::Linking(linking) => {
                    for part in linking.subsections() {
                        if let Linking::SymbolTable(table) = part.map_err(broken)? {
                            symbols = table.into_iter().collect::<Result<_, _>>().map_err(broken)?;
                        }
                    }
                }
                KnownCustom::Reloc(entries) => relocations.push((section.name(), entries)),
                _ => {}
            },
            _ => {}
        }
    }
    if symbols.is_empty() {
        return Err("the linker left no symbols in the module".into());
    }
    let mut found = Found::new(&symbols, &places);
    for (section, entries) in relocations {
        for entry in entries.entries() {
            let entry = entry.map_err(broken)?;
            let Some(target) = found.target(entry.ty, entry.index) else { continue };
            match section {
                "reloc.CODE" => found.note_code(entry.offset as usize, target),
                "reloc.DATA" => found.note_data(entry.offset as usize, target),
                _ => {}
            }
        }
    }
    Ok(found.links)
}

/// What an address stands for.
enum Target {
    Piece(usize),
    Function(String),
}

struct Found<'a> {
    links: Links,
    places: &'a Places,
    symbols: &'a [SymbolInfo<'a>],
    /// Symbol → piece.
    piece_of: BTreeMap<usize, usize>,
    /// Pieces by the address where they start.
    by_start: Vec<(u32, usize)>,
    /// The longest piece, which bounds how far back one must look.
    longest: u32,
}

impl<'a> Found<'a> {
    fn new(symbols: &'a [SymbolInfo<'a>], places: &'a Places) -> Self {
        let mut links = Links::default();
        let mut piece_of = BTreeMap::new();
        for (at, symbol) in symbols.iter().enumerate() {
            let SymbolInfo::Data { symbol: Some(defined), .. } = symbol else { continue };
            let Some((_, address)) = places.segments.get(defined.index as usize) else { continue };
            let start = address + defined.offset;
            piece_of.insert(at, links.pieces.len());
            links.pieces.push(Piece { place: start..start + defined.size, refers: Refers::default() });
        }
        let mut by_start: Vec<(u32, usize)> = links.pieces.iter().enumerate().map(|(at, piece)| (piece.place.start, at)).collect();
        by_start.sort_unstable();
        let longest = links.pieces.iter().map(|piece| piece.place.end - piece.place.start).max().unwrap_or(0);
        Self { links, places, symbols, piece_of, by_start, longest }
    }

    /// Only addresses of functions and data; direct calls are still to be seen in the module itself.
    fn target(&self, kind: RelocationType, symbol: u32) -> Option<Target> {
        use RelocationType::{MemoryAddrI32, MemoryAddrLeb, MemoryAddrSleb, TableIndexI32, TableIndexSleb};
        match kind {
            MemoryAddrI32 | MemoryAddrLeb | MemoryAddrSleb => self.piece_of.get(&(symbol as usize)).map(|piece| Target::Piece(*piece)),
            TableIndexI32 | TableIndexSleb => match self.symbols.get(symbol as usize)? {
                SymbolInfo::Func { index, .. } => self.places.names.get(index).cloned().map(Target::Function),
                _ => None,
            },
            _ => None,
        }
    }

    fn note_code(&mut self, offset: usize, target: Target) {
        let body = self.places.bodies.partition_point(|body| body.end <= offset);
        let name = u32::try_from(body).ok().and_then(|body| self.places.names.get(&(self.places.imported_functions + body)));
        match name {
            Some(name) => add(self.links.functions.entry(name.clone()).or_default(), target),
            None => add(&mut self.links.nameless, target),
        }
    }

    fn note_data(&mut self, offset: usize, target: Target) {
        let segment = self.places.segments.iter().find(|(bytes, _)| bytes.contains(&offset));
        let Some(address) = segment.map(|(bytes, address)| address + (offset - bytes.start) as u32) else { return };
        let after = self.by_start.partition_point(|(start, _)| *start <= address);
        let nearby = self.by_start[..after].iter().rev().take_while(|(start, _)| address - start < self.longest);
        let inside: Vec<usize> =
            nearby.map(|(_, piece)| *piece).filter(|piece| self.links.pieces[*piece].place.contains(&address)).collect();
        match inside.as_slice() {
            [] => add(&mut self.links.nameless, target),
            pieces => pieces.iter().for_each(|piece| match &target {
                Target::Piece(to) => drop(self.links.pieces[*piece].refers.pieces.insert(*to)),
                Target::Function(name) => drop(self.links.pieces[*piece].refers.functions.insert(name.clone())),
            }),
        }
    }
}

fn add(refers: &mut Refers, target: Target) {
    match target {
        Target::Piece(piece) => drop(refers.pieces.insert(piece)),
        Target::Function(name) => drop(refers.functions.insert(name)),
    }
}
