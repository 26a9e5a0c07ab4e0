//! The promise: any layout of the same signal gives the same recording; any bad file gives a named error with its place.
#![allow(clippy::result_large_err)]
mod reading {
    pub mod books;
    pub mod clocks;
    pub mod corpus;
    pub mod fuzz;
    pub mod hostile;
    pub mod layouts;
    pub mod mutations;
    pub mod real;
    pub mod refusals;
    pub mod truth;
    pub mod volts;
}
