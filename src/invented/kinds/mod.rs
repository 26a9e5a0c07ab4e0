//! One file a kind of test: what is wished, and the scene that meets the wish exactly.
pub mod any;
pub mod drop;
pub mod isometric;
pub mod not_a_trial;
pub mod rebounds;
pub mod squat_jump;
pub mod standing;
