//! What a first visit does without: the second half of the module (see `split`).
//!
//! A first visit starts the page, takes a file in, analyses it, shows the trial and saves it. Squads, athletes, advice,
//! reports, backups and other file formats come a moment later, and if they are wanted sooner, the page waits for them.
//! So a wrong line here costs time, never a result: a missing one makes the first load larger (`tests/site.rs` has a
//! limit), one too many makes the first visit wait (`tests/browser/halves.rs` drops a file without the second half).
//!
//! A rule is a part of a function's name (after `^`, its beginning; after `!`, what it must not hold), or several with ` & ` between them; types that a
//! generic function was made for belong to its name. Code that only such functions reach follows them without being named.
//!
//! Rules are for what a person can say of a room. What is left over, hundreds of small pieces that are there for other visits,
//! is measured: `unmet.txt` lists functions that the rules keep though none of some first visits ran them, each by its name's
//! digest. A function that is called otherwise than it was then only makes the first load larger.

use super::digest;
use std::{collections::BTreeSet, sync::OnceLock};

/// Rooms, files and functions that come later, and families of general code that short lists do not need.
const LATER: &[&str] = &[
    // Whole rooms, and files of rooms.
    "tarsal::advice::",
    "tarsal::cohort::",
    "tarsal::invented::",
    "tarsal::people::answers",
    "tarsal::people::athlete",
    "tarsal::people::plate_check",
    "tarsal::people::session",
    "tarsal::page::backup",
    "tarsal::recording::books",
    "tarsal::recording::explain",
    "tarsal::recording::memory",
    "tarsal::records::backup",
    "tarsal::records::link",
    "tarsal::records::merge",
    "tarsal::records::migrate",
    "tarsal::records::pool",
    "tarsal::records::table",
    "tarsal::records::tidy",
    "tarsal::records::wire",
    "tarsal::charts::bands",
    "tarsal::charts::change_rule",
    "tarsal::charts::history",
    "tarsal::charts::overlay",
    "tarsal::charts::points",
    "tarsal::charts::side_noise",
    "tarsal::charts::standings",
    "tarsal::charts::strip",
    "tarsal::screen::columns",
    "tarsal::screen::fields",
    "tarsal::screen::forms",
    "tarsal::screen::open",
    "tarsal::screen::overlay",
    "tarsal::screen::plan",
    "tarsal::screen::references",
    "tarsal::screen::study",
    "tarsal::screen::tables",
    "tarsal::views::after",
    "tarsal::views::argument",
    "tarsal::views::athlete",
    "tarsal::views::block",
    "tarsal::views::cards",
    "tarsal::views::change",
    "tarsal::views::columns",
    "tarsal::views::legs",
    "tarsal::views::names",
    "tarsal::views::plates",
    "tarsal::views::references",
    "tarsal::views::repeatability",
    "tarsal::views::report",
    "tarsal::views::say",
    "tarsal::views::series",
    "tarsal::views::session",
    "tarsal::views::squad",
    "tarsal::views::standing",
    "tarsal::views::storage",
    "tarsal::views::study",
    "tarsal::views::tables",
    "tarsal::page::derived",
    "tarsal::page::export",
    "tarsal::page::migration",
    "tarsal::records::tombstone",
    "tarsal::screen::dropped & !unfiled_nam",
    "tarsal::screen::history::pressed",
    "tarsal::screen::history::tell",
    "tarsal::screen::history::earlier",
    "tarsal::screen::set::take",
    "tarsal::screen::set::pressed",
    "tarsal::screen::ways::Screen>::at",
    "^tarsal::views::set_curves",
    // Every movement but the countermovement jump, once its shape is recognised.
    "tarsal::answer::drop",
    "tarsal::answer::document::ContactRow & deserialize",
    "PhantomData<alloc::vec::Vec<tarsal::answer::document::ContactRow>>",
    "PhantomData<core::option::Option<tarsal::answer::document::DropAnswer>>",
    "tarsal::answer::document::LeftOut & deserialize_struct",
    "PhantomData<core::option::Option<tarsal::answer::options::DayMass>>",
    "tarsal::answer::plan::not_this",
    "SpecFromIterNested<tarsal::answer::document::PhaseSpan, core::iter::adapters::chain::Chain",
    "SpecFromIterNested<(alloc::string::String, f64, f64), core::iter::adapters::chain::Chain",
    "SpecFromIterNested<(alloc::string::String, f64, f64), core::iter::adapters::filter::Filter",
    "tarsal::cohort::together::force_velocity::Weighted & from_iter",
    "tarsal::movement::bouts::before_drop",
    "tarsal::movement::kinds::drop_jump",
    "tarsal::movement::kinds::drop_landing",
    "tarsal::movement::kinds::rebound_jumps",
    "squat_jump & Kind>::find",
    "squat_jump & Kind>::read",
    "squat_jump & Kind>::figures",
    "squat_jump & Kind>::motion",
    "tarsal::views::kinds::",
    // Kinds of trial that are rare; rows, texts and answers that are out of the ordinary.
    "tarsal::answer::document::EditedEvent & deserialize_struct",
    "tarsal::answer::document::Trial as core::cmp",
    "tarsal::answer::options::Side & Deserialize",
    "_in_any_script",
    "recording::digits::long_decimal",
    "f64 as core::str::traits::FromStr",
    "tarsal::answer::trial::flight_only",
    "tarsal::answer::weigh::weigh_pull",
    "tarsal::force::filter::low_pass",
    "tarsal::recording::encoding::Utf16",
    "tarsal::recording::guess::Table>::twice",
    "tarsal::recording::look::no_numbers",
    "tarsal::recording::notice::ReadError & deserialize_struct",
    "tarsal::recording::reader::whole_row",
    "tarsal::recording::types::Gap & deserialize_struct",
    "tarsal::recording::clock::remove_rows",
    "tarsal::movement::kinds::countermovement_rebound",
    "tarsal::movement::kinds::isometric",
    "tarsal::recording::rows::Rows>::cold",
    // Reading back what was saved, changing it, and removing it.
    "tarsal::answer::options::EventEdit & Deserialize",
    "tarsal::people::protocol & Deserialize",
    "tarsal::records::envelope::Envelope & Deserialize",
    "tarsal::records::head::heads_",
    "tarsal::records::kept::decode",
    "tarsal::records::trial::SavedTrial & Deserialize",
    "tarsal::records::trial::decode",
    "tarsal::page::store::erase",
    "tarsal::page::store::fetch",
    "tarsal::page::store::migrate_all",
    "tarsal::page::store::renew",
    "tarsal::page::store::window",
    "tarsal::page::saving::erase",
    "tarsal::page::saving::window",
    "tarsal::page::work::hash_beside",
    "tarsal::page::files::hand_over",
    "tarsal::page::app::take_entries",
    "tarsal::page::app::with_state<(alloc::collections::btree::map::BTreeMap<alloc::string::String, alloc::string::String>",
    "tarsal::page::means::random",
    "tarsal::page::means::key",
    "tarsal::page::database::text::<tarsal::records::trial::RecordError",
    "tarsal::records::trial::RecordError as core::fmt",
    "tarsal::records::kept::Record>::athlete_id",
    "tarsal::records::kept::Kept<serde_json::value::Value> as core::clone",
    "tarsal::answer::document::EditedEvent & from_iter",
    "tarsal::people::naming::is_a_person",
    "tarsal::charts::words::spoken",
    "tarsal::recording::cells::clock::{closure",
    "tarsal::records::samples::unpack & !unpack_decimal",
    "std::panic::PanicHookInfo",
    "tarsal::page::app::room",
    "tarsal::page::app::take_reference",
    "tarsal::page::app::watch",
    "tarsal::page::files::download",
    "tarsal::page::trace::cursor",
    "tarsal::records::envelope::Envelope & value::ser",
    "tarsal::screen::filing::Batch>::file",
    "tarsal::screen::filing::file_under",
    "tarsal::screen::filing::new_athlete",
    "tarsal::screen::state::Screen>::at",
    "tarsal::screen::trials::download",
    "tarsal::screen::trials::look",
    "tarsal::screen::trials::move_event",
    "tarsal::screen::trials::protocol",
    "tarsal::screen::trials::recomputed",
    "tarsal::screen::trials::remove",
    "tarsal::screen::update::erase_here",
    "tarsal::views::together::legs",
    "tarsal::views::together::LegPair & spec_from_iter",
    // Sorting long lists (short ones are sorted by insertion), numbers with many digits, damaged JSON, tables as text.
    "core::slice::sort::stable::drift",
    "core::slice::sort::stable::merge",
    "core::slice::sort::stable::quicksort",
    "core::slice::sort::unstable::",
    "core::slice::sort::shared::pivot",
    "core::slice::sort::shared::smallsort::sort",
    "core::slice::sort::stable::driftsort_main",
    "core::num::bignum::Big32x40>::mul_digits",
    "serde_json::de::Deserializer & peek_invalid_type",
    "ContentDeserializer & invalid_type",
    "__Visitor as serde_core::de::Visitor>::visit_enum::<serde_json::de::VariantAccess",
    "__FieldVisitor as serde_core::de::Visitor>::visit_u64",
    "__FieldVisitor as serde_core::de::Visitor>::visit_byte",
    "serde_json::value::Value as core::cmp",
    "^<indexmap::Bucket & clone_from",
    "serde::private::de::content::ContentVisitor & visit_map",
    "btree::node::Handle & marker::Mut & ::split",
    "btree::append",
    "bulk_build_from_sorted_iter",
    "BTreeMap<alloc::string::String, serde_json::value::Value> as core::c",
    "core::unicode::unicode_data::conversions",
    "dlmalloc & memalign",
    "core::panicking::assert_failed",
    "core::str::slice_error_fail",
    "<alloc::string::String as core::fmt::Debug>",
    "core::str::iter::SplitInternal<[char; 5]>>::next_back",
    "extract_if_inner",
    "indexmap::Bucket<alloc::string::String, serde_json::value::Value> as core::clone",
    "from_iter_in_place & core::option::Option<tarsal::records::kept",
    "btree::node::Handle & marker::Mut & ::remove_",
    "btree::node::Handle & marker::Mut & ::steal",
    "tarsal::recording::cold::fault",
    "tarsal::recording::encoding::refuse_other_texts::{closure",
    "BTreeMap<alloc::string::String, alloc::collections::btree::set_val::SetValZST>>::insert",
    "SpecFromIterNested<u8, core::iter::adapters::flatten::FlatMap",
    "SpecFromIterNested<(&str, tarsal::recording::words::Word), core::iter::adapters::filter::Filter",
    "PhantomData<core::option::Option<char>>",
    "StringVisitor & visit_byte",
    "<serde_json::error::Error as serde_core::de::Error>::",
    "^<alloc::collections::btree::map::BTreeMap & tarsal::records:: & core::ops::drop::Drop>::drop & !kept::Record>",
    "^<alloc::collections::btree::map::BTreeMap<alloc::string::String, usize> as core::ops::drop::Drop>::drop",
    "serialize_entry::<&alloc::string::String, &serde_json::value::Value",
    "collect_seq::<&alloc::vec::Vec<serde_json::value::Value>>",
    "SerializeMap>::serialize_entry::<str, core::option::Option<char>>",
    "SerializeMap>::serialize_entry::<str, alloc::vec::Vec<tarsal::answer::options::EventEdit",
    "core::num::dec2flt::decimal_seq",
    "serde_json::error::make_error",
    "serde_json::lexical::bhcomp",
    "serde_json::lexical::math",
    "serde_json::lexical::parse::parse_concise_float::<f32>",
    "parse_long_integer",
    "parse_decimal_overflow",
    "serde_json::value::Value as core::fmt::Display",
    "serde_json::value::Value as serde_core::ser::Serialize>::serialize::<serde_json::value::ser::Serializer>",
    "f32 as core::fmt::Display",
    "f64 as core::fmt::Debug",
    "core::num::flt2dec::strategy::dragon::format_shortest",
    "core::slice::sort::select::median_of_medians",
    "BTreeMap<alloc::string::String, alloc::string::String>>::insert",
    "BTreeMap<alloc::string::String, serde_json::value::Value>>::insert",
    "BTreeMap<alloc::rc::Rc<str>, tarsal::records::head::Head>>::remove",
    "BTreeMap<&str, usize>>::bulk_build",
    "BTreeSet<alloc::string::String> as core::iter::traits::collect::FromIterator",
    "BTreeSet<&alloc::string::String> as core::iter::traits::collect::FromIterator",
    "btree::map::entry::OccupiedEntry & SetValZST",
    "serde_json::map::Map<alloc::string::String, serde_json::value::Value> as core::iter::traits::collect::Extend",
    "serde_json::map::Entry>::or_insert_with",
    "serde_json::ser::to_string::<serde_json::map::Map",
    "indexmap & core::cmp::PartialEq>::eq",
    "TryFromSliceError as core::fmt",
    "tarsal::records::trial::WindowHead as core::cmp",
    "serde_json::de::Deserializer<serde_json::read::StrRead>>::ignore_value",
    "rem_pio2_large",
    "fmod",
    "BTreeMap<alloc::string::String, alloc::vec::Vec<f64>> as core::iter::traits::collect::FromIterator",
    "BTreeMap<alloc::string::String, tarsal::records::trial::SavedTrial> & ExtractIf",
    "Kept< & >>>::insert",
    "^core::ptr::drop_in_place::<tarsal::page::database::locked",
    "parse_escape",
    "tarsal::answer::options::Options as core::cmp",
    "tarsal::answer::document::RecordingReport> as core::cmp",
    "rehash_in_place",
    "parse_unicode_escape",
    "alloc::collections::btree::node::BalancingContext",
    "csv::",
    "csv_core::",
    "<idb::error::Error as",
];

/// What stays all the same: it would be met on a first visit.
const FIRST: &[&str] = &[
    // Empty lists are asked, copied and dropped too.
    "^core::ptr::drop_in_place & !page::backup & !page::migration & !page::derived & !saving::erase & !saving::window & !advice::brief",
    "grow_one",
    "^<alloc::vec:: & as core::ops::drop::Drop>::drop",
    "new_uninit_in",
    "Kept<tarsal:: & BTreeMap & get::<",
    "Kept<tarsal:: & btree::map::Iter",
    "Kept<tarsal:: & btree::map::Values",
    "Kept<tarsal:: & btree::map::IntoIter",
    "Kept<tarsal:: & >>>::entry",
    "Kept<tarsal:: & OccupiedEntry",
    "Kept<tarsal:: & NodeRef",
    "^<alloc::vec:: & tarsal::recording::memory::KnownLayout",
    "^tarsal::recording::memory::find",
    "tarsal::screen::columns::remembered & !driftsort",
    "tarsal::screen::columns::with_known",
    "tarsal::screen::open::Open>::take",
    "tarsal::screen::open::Open>::waiting",
    "tarsal::screen::study::Choice",
    "^tarsal::views::columns::panel",
    "^tarsal::views::names::panel",
    "^tarsal::views::names::doubts",
    "^tarsal::views::plates::check_of",
    "tarsal::records::table & dying_next",
    "^<alloc:: & tarsal::views::names::panel",
    "insert_tail & tarsal::views::names::panel",
    // The day's trials of one kind together.
    "tarsal::cohort::together::",
    "^<alloc::vec:: & tarsal::views::series::DropStep",
    // Parts of later rooms that the first sentence or drawing uses.
    "tarsal::charts::overlay::d::",
    "tarsal::invented::plates::Plates & columns",
    "tarsal::screen::history::earlier::{closure",
    "tarsal::records::tombstone::mark",
    "marker::Mut, alloc::rc::Rc<str>, tarsal::records::head::Head & ::split",
    "marker::Mut, alloc::string::String, tarsal::records::trial::SavedTrial & ::split",
    "marker::Mut, (usize, usize) & ::split",
    "tarsal::recording::books::is_book",
    "js_sys::Uint8Array & ::remove_",
    "js_sys::Uint8Array>>::extract_if_inner",
    "gen_File::File & ::remove_",
    "tarsal::recording::encoding::refuse_other_texts::{closure#1",
    "tarsal::recording::explain::explain::{closure#6}",
    // Medians of samples, words of headers and parts of names are long enough lists.
    "core::slice::sort & f64> & !median_of_medians",
    "insert_tail::<(usize, f64)",
    "core::slice::sort::stable::drift::sqrt_approx",
    "core::slice::sort & tarsal::people::naming::Pattern & !stable_partition::<u32, core & !merge",
    "core::slice::sort & tarsal::recording::words::sorted & !Word), core::slice::sort::stable::quicksort & !merge",
];

/// A function's linker name as a person reads it, without what changes from compiler to compiler.
pub(super) fn readable(name: &str) -> String {
    format!("{:#}", rustc_demangle::demangle(name))
}

/// Whether a function, by its readable name, belongs to the second half.
pub(super) fn is_later(name: &str) -> bool {
    static UNMET: OnceLock<BTreeSet<&'static str>> = OnceLock::new();
    by_rule(name) || UNMET.get_or_init(|| include_str!("unmet.txt").split_whitespace().collect()).contains(mark(name).as_str())
}

/// What stands in `unmet.txt` for a function: the beginning of its name's digest. Should two functions share one, one of them
/// comes later than it might.
pub(super) fn mark(name: &str) -> String {
    digest::hex(name.as_bytes()).get(..8).unwrap_or_default().to_owned()
}

/// What the rules alone say.
pub(super) fn by_rule(name: &str) -> bool {
    let matches = |rule: &&str| {
        rule.split(" & ").all(|part| match (part.strip_prefix('^'), part.strip_prefix('!')) {
            (Some(start), _) => name.starts_with(start),
            (None, Some(without)) => !name.contains(without),
            (None, None) => name.contains(part),
        })
    };
    LATER.iter().any(matches) && !FIRST.iter().any(matches)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_may_have_several_parts_and_exceptions() {
        assert!(is_later("tarsal::advice::score::score"));
        assert!(is_later("<alloc::vec::Vec<tarsal::advice::brief::Standing> as core::clone::Clone>::clone"));
        assert!(!is_later("core::ptr::drop_in_place::<tarsal::cohort::group::Group>"));
        assert!(is_later("core::ptr::drop_in_place::<tarsal::advice::brief::Standing>"));
        assert!(!is_later("tarsal::answer::trial::read_trial"));
        assert!(is_later("core::slice::sort::stable::drift::sort::<u8, tarsal::x>"));
        assert!(!is_later("core::slice::sort::stable::drift::sort::<f64, <[f64]>::sort_by<<f64>::total_cmp>>"));
    }
}
