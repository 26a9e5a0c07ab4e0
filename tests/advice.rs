//! What the advice promises, on invented athletes with a known truth; gates and edits; the unusual gap against SciPy.
#[path = "advice/change.rs"]
mod change;
#[path = "advice/gates.rs"]
mod gates;
#[path = "advice/jackknife.rs"]
mod jackknife;
#[path = "advice/names.rs"]
mod names;
#[path = "advice/squads.rs"]
mod squads;
#[path = "advice/truth.rs"]
mod truth;
