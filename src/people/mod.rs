//! Who is tested, when and how: plain types, no storage and no screen.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod answers;
mod athlete;
mod date;
pub mod naming;
mod plate_check;
mod protocol;
mod session;

pub use answers::{Answers, CLOSING_PAIN, closes_jumps};
pub use athlete::{Athlete, BodyMass, Clearance, ClearedClass, Consent, Injury, InjuryKind, Sex, Side};
pub use date::Date;
pub use plate_check::{PLACES, Place, PlateCheck, PlateReading};
pub use protocol::{Hands, Protocol};
pub use session::{PlannedTest, Session};
