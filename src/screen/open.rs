//! The trial on show: its force, its curves, and the part of them that is looked at.
use crate::answer::{Curves, curves};
use crate::charts::Layers;
use crate::charts::number::Locale;
use crate::recording::Recording;
use crate::records::SavedTrial;

/// The trial on show.
#[derive(Debug, Clone, PartialEq)]
pub struct Open {
    /// Its record.
    pub id: String,
    /// Its force; none until the store has given it.
    pub window: Option<Recording>,
    /// Its curves.
    pub curves: Curves,
    /// The stretch shown, s.
    pub view: (f64, f64),
    /// Curves beside the force.
    pub layers: Layers,
    /// The figure whose stretch is set off.
    pub highlight: Option<String>,
}

impl Open {
    /// A trial whose force is not here yet.
    pub fn waiting(id: &str) -> Self {
        Self { id: id.into(), window: None, curves: Curves::default(), view: (0.0, 1.0), layers: Layers::default(), highlight: None }
    }
    /// Takes the force, computes the curves and shows the movement with a little of what is around it.
    pub fn take(&mut self, window: Recording, saved: &SavedTrial) {
        self.curves = curves(&window, &saved.options);
        self.window = Some(window);
        self.view = self.movement(saved);
    }
    /// Computes the curves again after the trial changed.
    pub fn refresh(&mut self, saved: &SavedTrial) {
        if let Some(window) = &self.window {
            self.curves = curves(window, &saved.options);
        }
    }
    /// The whole window, s.
    pub fn whole(&self) -> (f64, f64) {
        match &self.window {
            Some(w) if w.len() > 1 => (w.start_s, w.start_s + w.duration_s()),
            _ => (0.0, 1.0),
        }
    }
    /// From half a second before the first event to half a second after the last.
    fn movement(&self, saved: &SavedTrial) -> (f64, f64) {
        let (start, end) = self.whole();
        let times = || saved.trial.events.values().copied().filter(|t| t.is_finite());
        let (first, last) = (times().fold(f64::INFINITY, f64::min), times().fold(f64::NEG_INFINITY, f64::max));
        if first < last { ((first - 0.5).max(start), (last + 0.5).min(end)) } else { (start, end) }
    }
    /// Zooms about a time; never closer than 20 ms, never beyond the window.
    pub fn zoom(&mut self, factor: f64, about_s: Option<f64>) {
        let (from, to) = self.view;
        let about = about_s.unwrap_or((from + to) / 2.0).clamp(from, to);
        let (start, end) = self.whole();
        let factor = if factor.is_finite() { factor.clamp(0.05, 20.0) } else { 1.0 };
        let width = ((to - from) * factor).clamp(0.02_f64.min(end - start), end - start);
        let part = (about - from) / (to - from).max(1e-9);
        self.show(about - part * width, width);
    }
    /// Shifts the view by a part of its width.
    pub fn pan(&mut self, part: f64) {
        let width = self.view.1 - self.view.0;
        if part.is_finite() {
            self.show(self.view.0 + part * width, width);
        }
    }
    fn show(&mut self, from: f64, width: f64) {
        let (start, end) = self.whole();
        let from = from.min(end - width).max(start);
        self.view = (from, (from + width).min(end));
    }
}

/// The curves' values at a time, in words; `None` outside the window.
pub fn values_at(curves: &Curves, time_s: f64, locale: &Locale) -> Option<String> {
    let first = *curves.time_s.first()?;
    let last = *curves.time_s.last()?;
    if !(time_s >= first && time_s <= last) {
        return None;
    }
    let at = ((time_s - first) / (last - first).max(1e-9) * (curves.time_s.len() - 1) as f64).round() as usize;
    let value = |series: &[f64], factor: f64, decimals: usize, unit: &str| {
        series.get(at).filter(|v| v.is_finite()).map(|v| format!("{} {unit}", locale.fixed(v * factor, decimals)))
    };
    let named = |name: &str, text: Option<String>| text.map(|t| format!("{name} {t}"));
    let (unit, factor) = locale.unit("m");
    let parts = [
        Some(format!("at {} s", locale.fixed(*curves.time_s.get(at)?, 3))),
        named("total", value(&curves.force_n, 1.0, 0, "N")),
        named("left", value(&curves.left_n, 1.0, 0, "N")),
        named("right", value(&curves.right_n, 1.0, 0, "N")),
        named("velocity", value(&curves.velocity_m_s, 1.0, 2, "m/s")),
        named("displacement", value(&curves.displacement_m, factor, Locale::decimals(unit, 1), unit)),
        named("power", value(&curves.power_w, 1.0, 0, "W")),
    ];
    Some(parts.into_iter().flatten().collect::<Vec<_>>().join(" · "))
}
