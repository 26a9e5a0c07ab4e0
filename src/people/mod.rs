//! Who is tested, when and how: plain types, no storage and no screen.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]

mod athlete;
mod date;
mod protocol;

pub use athlete::{Athlete, BodyMass, Clearance, ClearedClass, Consent, Injury, InjuryKind, Sex, Side};
pub use date::Date;
pub use protocol::{Hands, Protocol};
