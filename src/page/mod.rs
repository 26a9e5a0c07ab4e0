//! The browser side.
