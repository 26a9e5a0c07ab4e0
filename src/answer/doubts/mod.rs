//! Doubts read from force itself, one concept a file: what is looked at, why it means what it means, what it touches.
//! The verdict's rules turn them into sentences.
pub(crate) mod hum;
pub(crate) mod plates;
pub(crate) mod standing;
pub(crate) mod take_off;
