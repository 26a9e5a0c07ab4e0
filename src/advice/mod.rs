//! What is least developed and why; the block that targets it; the gates that close rows and tests.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing))]
