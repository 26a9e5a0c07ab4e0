//! The promise: any layout of the same signal gives the same recording; any bad file gives a named error with its place.
mod reading {
    pub mod real;
}
