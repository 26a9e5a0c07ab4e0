//! Bytes + options → one document.
mod analyze;
mod asked;
mod clean;
mod document;
mod doubts;
mod drop;
mod facts;
mod noise;
mod options;
mod pattern;
mod plan;
mod rules;
mod shared;
mod sides;
mod trial;
mod uncertainty;
mod unread;
mod verdict;
mod weigh;

pub use analyze::{Analysis, Curves, METHOD_VERSION, Stream, analyze, analyze_recording, curves, document, hex, reread, reread_or_why};
pub use document::{
    ChannelLine, ContactRow, Document, DropAnswer, EditedEvent, Figure, FileAnswer, LeftOut, PhaseSpan, RecordingReport, RunnerUp,
    SideFigure, TestKind, Trial, Valued, Verdict, Weighing,
};
pub use doubts::habit::{DEPTH_UNLIKE_OWN, depth_unlike_own};
pub use doubts::plates::plates_swapped;
pub use options::{DayMass, EventEdit, Options, Side};
pub use shared::{Input, Shared};
pub use unread::{Outcome, Told, Unread, read_window};
pub use verdict::verdict_of;
pub use weigh::{BY_DAY, TYPED};
