//! What a person typed into a field of the block → an edit.
use super::blocks::Edit;
use serde_json::Value;

/// An entry that was not taken: what was typed stays in its field, beside the reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Template of the field's edit; empty where no field is to blame.
    pub template: String,
    /// Name of the field.
    pub field: String,
    /// What was typed.
    pub typed: String,
    /// Why it was not taken.
    pub reason: String,
}

/// An edit from a field: its template, the name of the field and what was typed. Numbers may have a decimal comma; a box is
/// typed in centimetres. `None` where it is no edit.
pub fn edit_with(template: &str, field: &str, typed: &str) -> Option<Edit> {
    let Value::Object(mut map) = serde_json::from_str(template).ok()? else { return None };
    let number = || typed.trim().replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite());
    let value: Value = match field {
        "sets" | "reps" | "weeks" | "sessions" => {
            let n = number()?;
            if !(0.0..=255.0).contains(&n) || n.fract() != 0.0 {
                return None;
            }
            (n as u8).into()
        }
        "box_m" => (number()? / 100.0).into(),
        // A choice carries the whole target; nothing chosen takes it out.
        "target" if typed.is_empty() => Value::Null,
        "target" => serde_json::from_str(typed).ok()?,
        "exercise" | "load" | "note" | "text" | "day" => typed.into(),
        _ => return None,
    };
    map.insert(field.to_owned(), value);
    serde_json::from_value(Value::Object(map)).ok()
}
