//! Many figures, few questions: at most two target figures are judged; the others are "also seen", with the share of
//! false findings among those called out held at one in ten.
use super::change::Change;

/// Figures that may be judged on their own.
pub const TARGETS: usize = 2;
/// Share of false findings allowed among the others that stand out.
pub const FALSE_SHARE: f64 = 0.10;

/// A figure that was not asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct AlsoSeen {
    /// Its change.
    pub change: Change,
    /// p adjusted for the number of figures seen [Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289]; `None` where
    /// nothing can be said.
    pub adjusted_p: Option<f64>,
    /// Whether it stands out all the same.
    pub stands_out: bool,
}

/// Changes sorted into what was asked and what was also seen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sorted {
    /// The targets, in the order asked for.
    pub targets: Vec<Change>,
    /// Everything else, in the order given.
    pub also_seen: Vec<AlsoSeen>,
    /// Targets beyond the second, which went to the others.
    pub too_many: Vec<String>,
}

/// Sorts changes; of `targets` (figure ids) the first two count.
pub fn sort(changes: Vec<Change>, targets: &[String]) -> Sorted {
    let asked: Vec<&String> = targets.iter().take(TARGETS).collect();
    let too_many = targets.iter().skip(TARGETS).cloned().collect();
    let (mut chosen, others): (Vec<Change>, Vec<Change>) = changes.into_iter().partition(|c| asked.contains(&&c.figure));
    chosen.sort_by_key(|c| asked.iter().position(|id| **id == c.figure));
    let known: Vec<f64> = others.iter().filter_map(|c| c.p).collect();
    let adjusted = adjust(&known);
    let mut next = adjusted.into_iter();
    let also_seen = others
        .into_iter()
        .map(|change| {
            let adjusted_p = change.p.and_then(|_| next.next());
            AlsoSeen { stands_out: adjusted_p.is_some_and(|p| p <= FALSE_SHARE), adjusted_p, change }
        })
        .collect();
    Sorted { targets: chosen, also_seen, too_many }
}

/// Benjamini–Hochberg adjusted p-values, in the order given.
pub fn adjust(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<(usize, f64)> = p.iter().copied().enumerate().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let (n, mut least) = (p.len() as f64, 1.0_f64);
    let mut adjusted: Vec<(usize, f64)> = Vec::with_capacity(p.len());
    for (from_top, (place, value)) in order.into_iter().enumerate() {
        least = least.min(value * n / (n - from_top as f64));
        adjusted.push((place, least));
    }
    adjusted.sort_by_key(|a| a.0);
    adjusted.into_iter().map(|a| a.1).collect()
}
