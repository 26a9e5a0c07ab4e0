//! Bytes → [`Recording`]: uniformly sampled vertical force by channel, and how the file was understood.

mod notice;
mod reader;
mod types;

pub use notice::{Notice, ReadError};
pub use reader::{ReadOptions, Reader};
pub use types::{Channel, ChannelReport, Clock, Gap, Layout, Recording, Role, Unit};
