//! How the figures of one trial move together: for each input that moves all of them, the signed change of each figure when
//! the input is moved by its own standard uncertainty. The covariance of two figures is the sum of the products over the inputs
//! [JCGM 100:2008, 5.2.2: the low-rank factor of their covariance matrix], so later rooms need no re-reading for a ratio, a
//! difference, or a line through two figures of the same trial. Force noise is in it as its draws, each a row. Three things
//! have no common sign and count as independent: the lift of a largest sample by noise, how far a fall of force is from straight
//! beyond what noise does, and what one plate's gain does.
//!
//! In a trial's document and record it stands as `shared`, form 1:
//! `{"form": 1, "body_mass_u": 0.06, "figures": ["body_mass", "jump_height", …], "inputs": [{"input": "weighing", "moves": [1000, -279, …]}, …]}`;
//! `moves` are thousandths of each figure's own standard uncertainty, so a record stays small. Twins per kilogram are not in it:
//! they follow. A trial without `shared` was made before this was kept: its covariances are unknown, and no later room makes
//! them up.
use super::{Figure, Trial};
use crate::figures::PER_KG;
use crate::movement::kinds::{Inputs, Values};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// Version of the form that this build writes.
const FORM: u32 = 1;
/// What body mass is called among the figures.
const BODY_MASS: &str = "body_mass";

/// Figures that later rooms set against each other, so that a record stays small.
const KEPT: &[&str] = &[
    "jump_height",
    "jump_height_flight_time",
    "take_off_velocity",
    "time_to_take_off",
    "reactive_strength_index",
    "reactive_strength_index_modified",
    "contact_time",
    "flight_time",
    "drop_height",
    "touchdown_velocity",
    "braking_duration",
    "propulsion_duration",
    "push_off_distance",
    "countermovement_depth",
    "mean_braking_force",
    "mean_braking_power",
    "mean_propulsion_force",
    "mean_propulsion_force_over_distance",
    "mean_propulsion_power",
    "mean_propulsion_velocity",
    "peak_propulsion_power",
    "peak_landing_force",
    "peak_force",
];

/// Signed contributions of the shared inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shared {
    /// Version of this form.
    pub form: u32,
    /// Standard uncertainty of body mass from these inputs, kg.
    pub body_mass_u: f64,
    /// The figures, `body_mass` first.
    pub figures: Vec<String>,
    /// One row an input.
    pub inputs: Vec<Input>,
}

/// One input and what it moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Which ("weighing", "zero level", …).
    pub input: String,
    /// Change of each figure when it is moved by its standard uncertainty, in thousandths of the figure's own.
    pub moves: Vec<i32>,
}

/// One input's readings: its name, with it moved up and moved down (none where it is moved one way only), what part of
/// a standard uncertainty that is, and the figures that one way is compared with.
pub(super) type Moved<'a> = (&'static str, &'a (Inputs, Values), Option<&'a (Inputs, Values)>, f64, &'a Values);

/// The contributions, from the readings that gave the uncertainties; none where no figure is given.
pub(super) fn shared<'a>(
    nominal: (&Inputs, &Values),
    figures: &IndexMap<String, Figure>,
    moved: impl Iterator<Item = Moved<'a>>,
    mass_of: impl Fn(&Inputs) -> f64,
) -> Option<Shared> {
    let of = |(i, (id, value)): (usize, &(&'static str, f64))| {
        let figure = figures.get(*id).filter(|f| f.value.is_some() && KEPT.contains(id))?;
        Some((i, *id, *value, figure.u?))
    };
    let kept: Vec<(usize, &str, f64, f64)> = nominal.1.iter().enumerate().filter_map(of).collect();
    if kept.is_empty() {
        return None;
    }
    let mass = mass_of(nominal.0);
    // Each row: the change of body mass, kg, and of each figure, SI.
    let rows = moved.map(|(input, up, down, share, from)| {
        let change = |of: &dyn Fn(&(Inputs, Values)) -> f64, nominal: f64| {
            let change = down.map_or(of(up) - nominal, |down| 0.5 * (of(up) - of(down)));
            // A figure that one of the readings cannot give does not move by what is known.
            if change.is_finite() { change * share } else { 0.0 }
        };
        let from = |i: usize, value: f64| from.get(i).map(|v| v.1).filter(|v| v.is_finite()).unwrap_or(value);
        let figures = kept.iter().map(|(i, _, value, _)| change(&|r| r.1.get(*i).map_or(f64::NAN, |v| v.1), from(*i, *value))).collect();
        (input, change(&|r| mass_of(&r.0), mass), figures)
    });
    let rows: Vec<(&str, f64, Vec<f64>)> = rows.collect();
    let body_mass_u = rows.iter().map(|r| r.1 * r.1).sum::<f64>().sqrt();
    let part = |change: f64, u: f64| if u > 0.0 { (1000.0 * change / u).round() as i32 } else { 0 };
    let inputs = rows.iter().filter_map(|(input, mass, changes)| {
        let figures = changes.iter().zip(&kept).map(|(change, (.., u))| part(*change, *u));
        let moves: Vec<i32> = core::iter::once(part(*mass, body_mass_u)).chain(figures).collect();
        moves.iter().any(|m| *m != 0).then(|| Input { input: (*input).into(), moves })
    });
    let inputs = inputs.collect();
    let figures = core::iter::once(BODY_MASS).chain(kept.iter().map(|k| k.1)).map(str::to_owned).collect();
    Some(Shared { form: FORM, body_mass_u, figures, inputs })
}

impl Trial {
    /// What each shared input moves a figure (or its twin per kilogram) by, SI, in the order of the inputs; none where that is
    /// unknown.
    fn moves(&self, id: &str) -> Option<Vec<f64>> {
        let shared = self.shared.as_ref().filter(|s| s.form == FORM)?;
        let of = |id: &str| -> Option<Vec<f64>> {
            let u = if id == BODY_MASS { shared.body_mass_u } else { self.figures.get(id)?.u? };
            let at = shared.figures.iter().position(|f| f == id)?;
            shared.inputs.iter().map(|i| i.moves.get(at).map(|m| u * f64::from(*m) / 1000.0)).collect()
        };
        let Some(base) = id.strip_suffix(PER_KG) else { return of(id) };
        let (mass, per_kg) = (self.body_mass_kg.filter(|m| *m > 0.0)?, self.figures.get(id)?.value?);
        // f/m moves by df/m − (f/m)·dm/m.
        Some(of(base)?.into_iter().zip(of(BODY_MASS)?).map(|(f, m)| (f - per_kg * m) / mass).collect())
    }

    /// Covariance of two figures of this trial from the inputs they share, SI; none where it is unknown: a trial from before
    /// it was kept, or a figure that is not among those kept.
    pub fn covariance(&self, a: &str, b: &str) -> Option<f64> {
        Some(self.moves(a)?.iter().zip(self.moves(b)?).map(|(a, b)| a * b).sum())
    }
}
