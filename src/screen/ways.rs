//! The screens and their addresses, and what a list is asked for.
use super::Fields;

/// What is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Screen {
    /// What to do, the files of this visit, and what is saved.
    #[default]
    Start,
    /// One trial.
    Trial(String),
    /// The athletes.
    Squad,
    /// One athlete.
    Athlete(String),
    /// The days of testing.
    Sessions,
    /// One day of testing.
    Session(String),
    /// Protocol cards and plate checks.
    Plates,
    /// The store: backup, restore, tables.
    Storage,
    /// An athlete's report, for the coach or for himself.
    Report(String, bool),
    /// A summary that came as a link.
    Shared,
}

/// What a report's file is laid out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// Whatever the printer holds: the file does not say.
    #[default]
    Printer,
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// All, with their words in forms and for people.
    pub const ALL: [(Self, &'static str, &'static str); 3] =
        [(Self::Printer, "printer", "what the printer holds"), (Self::A4, "a4", "A4"), (Self::Letter, "letter", "Letter")];
    /// The paper of a form's word.
    pub fn of(word: &str) -> Self {
        Self::ALL.iter().find(|p| p.1 == word).map_or_else(Self::default, |p| p.0)
    }
}

impl Screen {
    /// The screen as the part of the address after `#`.
    pub fn address(&self) -> String {
        match self {
            Self::Start => String::new(),
            Self::Trial(id) => id.clone(),
            Self::Squad => "squad".into(),
            Self::Athlete(id) => format!("athlete/{id}"),
            Self::Sessions => "sessions".into(),
            Self::Session(id) => format!("session/{id}"),
            Self::Plates => "plates".into(),
            Self::Storage => "storage".into(),
            Self::Report(id, true) => format!("coach-report/{id}"),
            Self::Report(id, false) => format!("report/{id}"),
            Self::Shared => "shared".into(),
        }
    }
    /// The screen of an address.
    pub fn at(address: &str) -> Self {
        match address.split_once('/') {
            Some(("athlete", id)) => Self::Athlete(id.into()),
            Some(("session", id)) => Self::Session(id.into()),
            Some(("coach-report", id)) => Self::Report(id.into(), true),
            Some(("report", id)) => Self::Report(id.into(), false),
            Some(_) => Self::Start,
            None => match address {
                "" => Self::Start,
                "squad" => Self::Squad,
                "sessions" => Self::Sessions,
                "plates" => Self::Plates,
                "storage" => Self::Storage,
                "shared" => Self::Shared,
                id => Self::Trial(id.into()),
            },
        }
    }
}

/// Which trials a list shows, and in which order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct List {
    /// Words that must stand in athlete, file or test.
    pub words: String,
    /// In which order.
    pub order: Order,
    /// How many more pages than one.
    pub more: usize,
}

/// The order of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// Unfiled first, then by athlete, latest first.
    #[default]
    Athlete,
    /// Latest first.
    Added,
    /// By test, the highest main figure first.
    Height,
}

/// Filters typed into a list.
impl List {
    /// The list as a form asks for it.
    pub fn of(fields: &Fields) -> Self {
        let order = match fields.raw("order") {
            "added" => Order::Added,
            "height" => Order::Height,
            _ => Order::Athlete,
        };
        Self { words: fields.text("words"), order, more: 0 }
    }
}
