//! Many trials of many athletes → what repeats, where one stands, what changed.
//!
//! A [`Table`] is one figure of one test under one protocol over everybody. [`days`] gathers it into sessions;
//! [`Noise`] is what a session's value does from day to day on its own ([`components`] from own days, [`cited`] from
//! publications); [`Repeatability`] says it in the field's terms; [`standing()`] places an athlete in a group;
//! [`change()`] compares sessions; [`sides`] compares legs; [`curves`] compares force over time.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

pub mod change;
mod chart;
pub mod cited;
pub mod components;
pub mod curves;
mod days;
pub mod distributions;
mod draws;
pub mod export;
pub mod gravity;
mod group;
pub mod icc;
mod interval;
pub mod kappa;
mod line;
mod noise;
pub mod reference;
mod repeatability;
pub mod retest;
pub mod sides;
pub mod standing;
mod table;
pub mod targets;
pub mod together;

pub use change::{Change, Verdict, change};
pub use chart::{Chart, Limits, Point, chart};
pub use components::{Block, Components, Repeats};
pub use days::{Day, Scale, days};
pub use draws::Draws;
pub use gravity::Gravities;
pub use group::{Group, WITHIN_DAYS};
pub use interval::{Interval, LEVEL};
pub use line::Line;
pub use noise::Noise;
pub use repeatability::{NARROW_ENOUGH, Repeatability};
pub use retest::Retest;
pub use standing::{Level, Standing, standing};
pub use table::{Observation, Table};
