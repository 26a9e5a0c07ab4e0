//! Forms that save tables for other programs.
use crate::screen::tables::What;
use maud::{Markup, html};

/// Name of each table.
const NAMES: [(What, &str); 5] = [
    (What::Standing, "standing in the group"),
    (What::Change, "what changed between two days"),
    (What::Repeatability, "how far figures repeat"),
    (What::Sides, "left and right"),
    (What::History, "days in time with their limits, each leg’s own too"),
];

/// The tables as options of a choice.
pub fn options() -> Markup {
    html! { @for (what, name) in NAMES { option value=(what.word()) { (name) } } }
}

/// The form on an athlete's page; `curves`: two days' force is shown there.
#[inline(never)]
pub fn of_athlete(id: &str, curves: bool) -> Markup {
    html! {
        form class="row" data-do="export-study" data-id=(id) {
            label { "Table for other programs: " select name="table" { (options()) @if curves { option value=(What::Curves.word()) { "curves over each other with their bands" } } } }
            label { "Form " select name="form" { option value="csv" { "CSV" } option value="json" { "JSON with its description (Table Schema)" } } }
            label { "Numbers " select name="flavour" { option value="plain" { "1.5 and commas" } option value="comma" { "1,5 and semicolons" } } }
            button type="submit" { "Save the table" }
        }
    }
}
