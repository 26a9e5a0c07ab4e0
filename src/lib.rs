//! Tarsal reads vertical force from any force plate's text export and turns it into phase figures
//! with their uncertainty, left against right, on the reader's own device.
//!
//! Data flows one way, from a file's bytes to an answer; each room knows only those above it:
//!
//! 1. [`recording`]: bytes → [`recording::Recording`] (layout, numbers, units, clock, gaps)
//! 2. [`force`]: recording → clean force (zero level, clamping, saturation, hum, filters)
//! 3. [`movement`]: clean force → trials with weighing, events and phases
//! 4. [`figures`]: phases → figures; the catalogue that defines each; left against right
//! 5. [`answer`]: bytes + options → one document; uncertainty, verdicts, JSON
//! 6. [`people`]: athlete, clearance, protocol, day: plain types
//! 7. [`cohort`]: sets of trials, repeatability, standing in a group, change
//! 8. [`advice`]: what is least developed and why; the block; gates
//! 9. [`records`]: what is stored on the device
//! 10. [`invented`]: the seeded generator of demo athletes and recordings, with their truth
//! 11. [`charts`]: drawings; [`screen`]: state and events, pure; [`views`]: state → HTML
//! 12. `page` (wasm only): the browser; `site` (native only): build and serve the static site
#![forbid(unsafe_code)]
#![deny(missing_docs)]

pub mod advice;
pub mod answer;
pub mod charts;
pub mod cohort;
pub mod figures;
pub mod force;
pub mod invented;
pub mod movement;
pub mod people;
pub mod recording;
pub mod records;
pub mod screen;
pub mod views;

#[cfg(target_arch = "wasm32")]
mod page;
#[cfg(all(feature = "site", not(target_arch = "wasm32")))]
pub mod site;
