//! Bytes + options → one document.
mod analyze;
mod document;
mod options;

pub use analyze::{Analysis, Curves, Stream, analyze, curves, reread};
pub use document::{
    ChannelLine, Document, EditedEvent, Figure, FileAnswer, LeftOut, RecordingReport, RunnerUp, SideFigure, TestKind, Trial, Valued,
    Verdict, Weighing,
};
pub use options::{EventEdit, Options};
