//! Invented athletes and recordings with their exact truth: for the demo and for tests. Nobody real is in here.
//!
//! A kind of test ([`kinds`]) is a few wishes (mass, height, contact time, …) that give a [`Scene`]: the motion of the
//! centre of mass in closed form, what of it the plates carry, and every event. [`Plates`] turn a scene into force with
//! noise and every fault a recording has; [`truths`] give the figures that a perfect reading would find.
mod closed_form;
mod demo;
mod demo_days;
mod demo_people;
pub mod kinds;
mod moves;
mod path;
mod plates;
mod pull;
mod random;
mod scene;
mod squad;
mod truths;

pub use closed_form::{Jump, Truth};
pub use demo::{DemoFile, demo_files};
pub use demo_days::{DEMO_PATTERN, demo_day_count, demo_days};
pub use demo_people::{Made, PEOPLE, Person, Shows, Visits, days as demo_dates, demo_athlete};
pub use moves::Spike;
pub use path::{G, Path};
pub use plates::{Columns, Plates};
pub use pull::{Pull, Rise};
pub use random::Random;
pub use scene::{Contact, Scene, Support, Sway};
pub use squad::{Athlete, SQUAD};
pub use truths::{contact_truths, truths};
