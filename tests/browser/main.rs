//! Tests that need a real browser. One binary, one site built by one call, one browser and fresh profile a test.
//!
//! Where Chromium is missing the tests are ignored, and say why; under `CI` they fail instead.

mod columns;
mod context;
#[allow(dead_code, reason = "a driver's means outlive the test that first needed them")]
mod driver;
mod given;
mod graves;
mod halves;
mod journeys;
mod look;
mod marks;
mod means;
mod met;
mod offline;
mod paper;
mod same_bytes;
mod shared;
mod squad;
mod stated;
mod stick;
mod storage;
mod study;
mod study_tables;

use context::Context;
use driver::{Launcher, Outcome};
use libtest_mimic::{Arguments, Trial};
use std::{
    env, fs,
    path::PathBuf,
    process::ExitCode,
    sync::{Arc, OnceLock},
};

/// A test's name and body.
type Test = (&'static str, fn(&Context) -> Result<(), String>);

/// Every module of tests, one line each.
fn tests() -> Vec<Test> {
    let mut tests = Vec::new();
    tests.extend(marks::tests());
    tests.extend(means::tests());
    tests.extend(met::tests());
    tests.extend(journeys::tests());
    tests.extend(columns::tests());
    tests.extend(look::tests());
    tests.extend(halves::tests());
    tests.extend(offline::tests());
    tests.extend(same_bytes::tests());
    tests.extend(shared::tests());
    tests.extend(squad::tests());
    tests.extend(graves::tests());
    tests.extend(study::tests());
    tests.extend(stated::tests());
    tests.extend(stick::tests());
    tests.extend(storage::tests());
    tests.extend(study_tables::tests());
    tests
}

fn main() -> ExitCode {
    let arguments = Arguments::from_args();
    let scratch = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("browser-{}", std::process::id()));
    let launcher = Launcher::find(&scratch);
    let required = env::var_os("CI").is_some_and(|value| !value.is_empty());
    // Made by whichever test comes first, so that listing the tests builds nothing.
    let shared: Arc<OnceLock<Outcome<Context>>> = Arc::default();
    let trials = tests().into_iter().map(|(name, body)| {
        let (shared, launcher, scratch) = (Arc::clone(&shared), launcher.clone(), scratch.clone());
        let missing = launcher.is_none();
        let run = move || {
            let launcher = launcher.ok_or("Chromium is missing; install it or name it in TARSAL_CHROMIUM")?;
            let context = shared.get_or_init(|| Context::new(launcher, scratch)).as_ref().map_err(Clone::clone)?;
            body(context).map_err(Into::into)
        };
        let trial = Trial::test(name, run);
        if missing && !required { trial.with_ignored_flag(true).with_kind("ignored: no Chromium found") } else { trial }
    });
    let conclusion = libtest_mimic::run(&arguments, trials.collect());
    drop(shared);
    // Profiles are large, and hold nothing that a failed test's message does not say.
    let _ = fs::remove_dir_all(&scratch);
    conclusion.exit_code()
}
