//! How the figures of one trial move together: for each input that moves all of them, the signed change of each figure when
//! the input is moved by its own standard uncertainty. The covariance of two figures is the sum of the products over the inputs
//! [JCGM 100:2008, 5.2.2: the low-rank factor of their covariance matrix], so later rooms need no re-reading for a ratio, a
//! difference, or a line through two figures of the same trial. What has no sign common to figures is left out: force noise,
//! and the lift of a largest sample by it, count as independent.
//!
//! In a trial's document and record it stands as `shared`, form 1:
//! `{"form": 1, "figures": ["body_mass", "jump_height", …], "inputs": [{"input": "weighing", "moves": [0.06, -0.0021, …]}, …]}`;
//! `moves` are in the figures' SI units and order, `body_mass` in kg. Twins per kilogram are not in it: [`Shared::moves`] gives
//! them. A trial without `shared` was made before this was kept: its covariances are unknown, and no later room makes them up.
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
    /// Change of each figure, SI, when it is moved by its standard uncertainty.
    pub moves: Vec<f32>,
}

/// One input's readings: its name, with it moved up and moved down; down is none where it is moved one way only.
pub(super) type Moved<'a> = (&'static str, &'a (Inputs, Values), Option<&'a (Inputs, Values)>);

/// The contributions, from the readings that gave the uncertainties; none where no figure is given.
pub(super) fn shared<'a>(
    nominal: (&Inputs, &Values),
    figures: &IndexMap<String, Figure>,
    moved: impl Iterator<Item = Moved<'a>>,
    mass_of: impl Fn(&Inputs) -> f64,
) -> Option<Shared> {
    let given = |id: &str| figures.get(id).is_some_and(|f| f.value.is_some());
    let kept: Vec<(usize, &str)> =
        nominal.1.iter().enumerate().map(|(i, v)| (i, v.0)).filter(|(_, id)| KEPT.contains(id) && given(id)).collect();
    if kept.is_empty() {
        return None;
    }
    let difference = |up: f64, down: Option<f64>, nominal: f64| match down {
        Some(down) => 0.5 * (up - down),
        None => up - nominal,
    };
    let rows = moved.filter_map(|(input, up, down)| {
        let mass = difference(mass_of(&up.0), down.map(|d| mass_of(&d.0)), mass_of(nominal.0));
        let of = |i: usize| {
            let down = down.map(|d| d.1.get(i).map_or(f64::NAN, |v| v.1));
            difference(up.1.get(i).map_or(f64::NAN, |v| v.1), down, nominal.1.get(i).map_or(f64::NAN, |v| v.1))
        };
        // A figure that one of the readings cannot give does not move by what is known.
        let known = |v: f64| if v.is_finite() { v as f32 } else { 0.0 };
        let moves: Vec<f32> = core::iter::once(mass).chain(kept.iter().map(|(i, _)| of(*i))).map(known).collect();
        moves.iter().any(|m| *m != 0.0).then(|| Input { input: input.into(), moves })
    });
    let inputs = rows.collect();
    let names = core::iter::once(BODY_MASS).chain(kept.iter().map(|(_, id)| *id)).map(str::to_owned).collect();
    Some(Shared { form: FORM, figures: names, inputs })
}

impl Trial {
    /// What each shared input moves a figure (or its twin per kilogram) by, SI, in the order of the inputs; none where that is
    /// unknown.
    fn moves(&self, id: &str) -> Option<Vec<f64>> {
        let shared = self.shared.as_ref().filter(|s| s.form == FORM)?;
        let of = |id: &str| -> Option<Vec<f64>> {
            let at = shared.figures.iter().position(|f| f == id)?;
            shared.inputs.iter().map(|i| i.moves.get(at).map(|m| f64::from(*m))).collect()
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

    /// Covariance of a figure of this trial with one of another, from inputs that are the same in both: a body mass that was
    /// typed in once. Zero where each was weighed by itself; none where it is unknown.
    pub fn covariance_between(&self, a: &str, other: &Self, b: &str) -> Option<f64> {
        let typed = |t: &Self| t.weighing.as_ref().is_some_and(|w| w.source == super::weigh::TYPED);
        let (mine, theirs) = (self.moves(a)?, other.moves(b)?);
        let same = typed(self) && typed(other) && (self.body_mass_kg, self.load_kg) == (other.body_mass_kg, other.load_kg);
        let row = |trial: &Self, moves: &[f64]| {
            let at = trial.shared.as_ref()?.inputs.iter().position(|i| i.input == WEIGHING)?;
            moves.get(at).copied()
        };
        Some(if same { row(self, &mine).unwrap_or(0.0) * row(other, &theirs).unwrap_or(0.0) } else { 0.0 })
    }
}

/// The input that a typed body mass replaces.
pub(super) const WEIGHING: &str = "weighing";
