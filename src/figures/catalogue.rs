//! Every figure's definition, so that "why this number?" needs no second text.

/// Which way is better, where the field agrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
    /// Never scored.
    Neither,
}

/// One figure's definition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Definition {
    /// Stable id, as in the document.
    pub id: &'static str,
    /// Name shown to a person.
    pub name: &'static str,
    /// SI unit; `""` for ratios.
    pub unit: &'static str,
    /// Figures of one family are tied by identities and count as one observation.
    pub family: &'static str,
    /// Heading it stands under: "Jump", "Braking", "Propulsion", "Landing", "Manner", "Left and right".
    pub group: &'static str,
    /// Which way is better.
    pub better: Better,
    /// What it is, in words.
    pub definition: &'static str,
    /// How it is computed.
    pub formula: &'static str,
    /// Where the definition comes from.
    pub source: &'static str,
    /// The stretch of the trace it is read from: event names from, to.
    pub stretch: (&'static str, &'static str),
}

/// The catalogue, in the order shown.
pub const CATALOGUE: &[Definition] = &[];

/// The definition of an id.
pub fn definition(id: &str) -> Option<&'static Definition> {
    CATALOGUE.iter().find(|d| d.id == id)
}
