//! Layouts drawn at random from a seed, features crossed; the force is that of closed-form jumps.
pub mod bad;
pub mod draw;
mod print;
#[path = "run.rs"]
mod run;
