//! Quiet standing: nothing happens, and that is the test.
use crate::answer::TestKind;
use crate::invented::Scene;
use crate::invented::path::Path;

/// Somebody stands still for this long, s.
pub fn quiet_standing(mass_kg: f64, length_s: f64, share_right: f64) -> Scene {
    let mut path = Path::default();
    path.still(length_s);
    Scene {
        test: Some(TestKind::QuietStanding),
        path,
        mass_kg,
        rests: vec![(0.0, length_s)],
        share_right: vec![(0.0, share_right)],
        ..Scene::default()
    }
}
