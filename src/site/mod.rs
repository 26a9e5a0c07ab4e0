//! Build and serve the static site.
