//! What is stored comes back as it was, and what cannot be read says so and is left alone.
mod fixture;

use tarsal::records::{RecordError, decode, encode, trial_id, unpack};

#[test]
fn a_trial_comes_back_bit_for_bit() -> Result<(), RecordError> {
    let (mut saved, window) = (fixture::moved(), fixture::window());
    saved.trial.start_s = 0.1 + 0.2;
    saved.athlete = Some("Invented Person".into());
    let (text, bytes) = encode(&saved, &window);
    let back = decode(&text)?;
    assert_eq!(back, saved);
    assert_eq!(back.window.join(&bytes)?, window);
    assert_eq!(back.to_text(), text);
    Ok(())
}

#[test]
fn fields_of_another_version_are_kept() -> Result<(), RecordError> {
    let text = fixture::saved().to_text().replacen('{', "{\"shoe\":\"barefoot\",", 1);
    let back = decode(&text)?;
    assert!(back.to_text().contains("\"shoe\":\"barefoot\""));
    Ok(())
}

#[test]
fn damaged_foreign_newer_and_short_records_say_so() {
    let text = fixture::saved().to_text();
    assert!(matches!(decode(text.get(..40).unwrap_or_default()), Err(RecordError::Damaged(_))));
    assert!(matches!(decode(&text.replace("\"kind\":\"trial\"", "\"kind\":\"song\"")), Err(RecordError::Kind(_))));
    assert!(matches!(decode(&text.replacen("\"schema\":1", "\"schema\":99", 1)), Err(RecordError::Newer(_))));
    let head = fixture::saved().window;
    assert_eq!(head.join(&[0; 12]), Err(RecordError::Samples));
    assert_eq!(unpack(&[], usize::MAX, usize::MAX), None);
}

#[test]
fn the_same_trial_has_the_same_key() {
    assert_eq!(trial_id("0123456789abcdef99", 1.5), "0123456789abcdef-1500");
    assert_eq!(trial_id("", -1.0), "-0");
}
