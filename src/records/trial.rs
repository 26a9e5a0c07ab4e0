//! One saved trial: its answer and, apart, the force it is computed from.
use super::{Envelope, SCHEMA, migrate, pack, pack_decimal, unpack, unpack_decimal};
use crate::answer::{Document, FileAnswer, Options, RecordingReport, Trial};
use crate::people::Protocol;
use crate::recording::{Channel, ChannelReport, Clock, Layout, Notice, Recording};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// A trial as stored. Fields that this build does not know are kept as they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SavedTrial {
    /// What the record says about itself.
    #[serde(flatten)]
    pub envelope: Envelope,
    /// The file it came from.
    pub file: String,
    /// SHA-256 of that file.
    pub sha256: String,
    /// When it first came to this device, ISO 8601, UTC.
    pub added: String,
    /// Key of the athlete it is filed under; none while unfiled.
    #[serde(default)]
    pub athlete_id: Option<String>,
    /// Key of the session it belongs to; none while unfiled.
    #[serde(default)]
    pub session_id: Option<String>,
    /// How it was done.
    #[serde(default)]
    pub protocol: Protocol,
    /// [`Protocol::key`] when it was saved: what it may be pooled with.
    #[serde(default)]
    pub protocol_key: String,
    /// Which trial of its test that day, where its file's name says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    /// Whether it is from the invented demo squad.
    #[serde(default)]
    pub invented: bool,
    /// Whether it was taken off the list (and can still come back by undo).
    #[serde(default)]
    pub removed: bool,
    /// The choices its figures were computed with, events moved by hand among them.
    pub options: Options,
    /// How its file was read.
    pub recording: Option<RecordingReport>,
    /// Its answer.
    pub trial: Trial,
    /// All of its window but the force.
    pub window: WindowHead,
    /// What another version wrote.
    #[serde(flatten)]
    pub other: IndexMap<String, serde_json::Value>,
}

/// Everything of a [`Recording`] but its force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowHead {
    /// See [`Recording::start_s`].
    pub start_s: f64,
    /// See [`Recording::clock`].
    pub clock: Clock,
    /// One report a channel.
    pub channels: Vec<ChannelReport>,
    /// See [`Recording::layout`].
    pub layout: Layout,
    /// See [`Recording::notices`].
    pub notices: Vec<Notice>,
    /// Samples a channel.
    pub samples: usize,
    /// How its bytes are packed.
    #[serde(default)]
    pub packing: Packing,
}

/// How a window's bytes are packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "snake_case")]
pub enum Packing {
    /// Little-endian 32-bit floats, channel after channel.
    #[default]
    Float,
    /// Differences of whole numbers of `10⁻ᵏ` N ([`pack_decimal`]).
    Decimal,
}

impl WindowHead {
    /// The head of a window.
    pub fn of(window: &Recording) -> Self {
        Self {
            start_s: window.start_s,
            clock: window.clock.clone(),
            channels: window.channels.iter().map(|c| c.report.clone()).collect(),
            layout: window.layout.clone(),
            notices: window.notices.clone(),
            samples: window.len(),
            packing: Packing::Float,
        }
    }
    /// The head of a window and its bytes, packed as small as they get.
    pub fn packed(window: &Recording) -> (Self, Vec<u8>) {
        let force: Vec<&[f32]> = window.channels.iter().map(|c| c.force_n.as_slice()).collect();
        match pack_decimal(&force) {
            Some(bytes) => (Self { packing: Packing::Decimal, ..Self::of(window) }, bytes),
            None => (Self::of(window), pack(force.into_iter())),
        }
    }
    /// The window again.
    ///
    /// # Errors
    /// Where the bytes are not the force that this head describes.
    pub fn join(&self, bytes: &[u8]) -> Result<Recording, RecordError> {
        let unpacked = match self.packing {
            Packing::Float => unpack(bytes, self.channels.len(), self.samples),
            Packing::Decimal => unpack_decimal(bytes, self.channels.len(), self.samples),
        };
        let force = unpacked.ok_or(RecordError::Samples)?;
        Ok(Recording {
            start_s: self.start_s,
            clock: self.clock.clone(),
            channels: self.channels.iter().cloned().zip(force).map(|(report, force_n)| Channel { report, force_n }).collect(),
            layout: self.layout.clone(),
            notices: self.notices.clone(),
        })
    }
}

/// The key of a trial: the same file gives the same keys, so a file dropped twice is saved once.
pub fn trial_id(sha256: &str, start_s: f64) -> String {
    let head: String = sha256.chars().filter(char::is_ascii_hexdigit).take(16).collect();
    format!("{head}-{}", (start_s * 1000.0).round().max(0.0) as u64)
}

/// A trial's record → the trial, brought to this build's form.
///
/// # Errors
/// Where the text is damaged, of another kind, or of a newer form.
pub fn decode_trial(text: &str) -> Result<SavedTrial, RecordError> {
    let envelope: Envelope = serde_json::from_str(text).map_err(|e| RecordError::Damaged(e.to_string()))?;
    if envelope.schema > SCHEMA {
        return Err(RecordError::Newer(envelope.made_by));
    }
    if envelope.kind != "trial" {
        return Err(RecordError::Kind(envelope.kind));
    }
    let trial: SavedTrial = serde_json::from_str(text).map_err(|e| RecordError::Damaged(e.to_string()))?;
    Ok(migrate::trial(trial))
}

impl SavedTrial {
    /// The record's text.
    pub fn to_text(&self) -> String {
        // Only a map with keys that are no text can fail to be written, and there is none.
        serde_json::to_string(self).unwrap_or_default()
    }
    /// Says how it was done.
    pub fn set_protocol(&mut self, protocol: Protocol) {
        self.protocol_key = protocol.key();
        self.protocol = protocol;
    }
    /// The trial as the machine-readable document.
    pub fn document(&self) -> Document {
        let mut trial = self.trial.clone();
        if self.protocol != Protocol::default() {
            trial.protocol = Some(self.protocol_key.clone());
        }
        Document {
            schema: 1,
            method_version: self.envelope.method.clone(),
            options: self.options.clone(),
            files: vec![FileAnswer {
                file: self.file.clone(),
                sha256: self.sha256.clone(),
                error: None,
                recording: self.recording.clone(),
                left_out: Vec::new(),
                trials: vec![trial],
            }],
        }
    }
}

/// Why a record cannot be opened. It stays on the device as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RecordError {
    /// Not readable as a record.
    Damaged(String),
    /// Another kind of record.
    Kind(String),
    /// Written by a newer version.
    Newer(String),
    /// The force beside it does not belong to it.
    Samples,
}

impl std::fmt::Display for RecordError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Damaged(why) => write!(f, "A saved record is damaged ({why}). It was left as it is. Try: drop the original file again."),
            Self::Kind(kind) => write!(f, "A saved record holds {kind:?}, which this version does not know. It was left as it is."),
            Self::Newer(by) => write!(f, "A saved record was written by a newer version ({by}). Try: reload the page while online."),
            Self::Samples => f.write_str("The force saved beside this trial is not complete. Try: drop the original file again."),
        }
    }
}

impl std::error::Error for RecordError {}
