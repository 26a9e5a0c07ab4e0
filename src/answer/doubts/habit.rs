//! A countermovement unlike the athlete's own: deeper or shallower than he has gone on earlier days.
use crate::answer::{TestKind, Trial};
use crate::force::stats::{mean, sd};
use crate::recording::Notice;

/// The code of what is told here.
pub const DEPTH_UNLIKE_OWN: &str = "depth_unlike_own";

/// Fewest jumps that a habit is known by (*ours*: a standard deviation of six is known to a third).
const LEAST: usize = 6;

/// Whether a countermovement's depth is more than two standard deviations from what the same athlete's earlier jumps had (methods
/// §6), and further than it is itself uncertain.
///
/// Depth is a choice, and height, times, forces and power all follow it: a deeper jump is another movement, not another athlete.
pub fn depth_unlike_own(earlier: &[&Trial], now: &Trial) -> Option<Notice> {
    let depth = |trial: &Trial| {
        let figure = trial.figures.get("countermovement_depth").filter(|_| trial.test == TestKind::CountermovementJump)?;
        Some((figure.value?, figure.u?))
    };
    let (own_m, u_m) = depth(now)?;
    let before_m: Vec<f64> = earlier.iter().filter_map(|trial| depth(trial)).map(|d| d.0).collect();
    let (habit_m, sd_m) = (mean(&before_m), sd(&before_m));
    (before_m.len() >= LEAST && (own_m - habit_m).abs() > 2.0 * sd_m.max(u_m)).then(|| {
        let message = format!(
            "The countermovement is {:.1} cm deep; in this athlete’s last {} on earlier days it was {:.1} cm, with a standard deviation of \
             {:.1} cm. Another depth is another movement: height, times, forces and power follow it.",
            100.0 * own_m,
            before_m.len(),
            100.0 * habit_m,
            100.0 * sd_m
        );
        let next_time = "Cue the dip that this athlete usually takes, alike every day.";
        Notice { at_s: now.events.get("lowest_point").copied(), ..Notice::new(DEPTH_UNLIKE_OWN, message).next_time(next_time) }
    })
}
