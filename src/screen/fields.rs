//! The fields of a form, as sent.
use crate::people::Date;

/// Names and values in the order of the form; an unticked box is not there.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// A field's text without spaces around it; empty where it is not there. Longer than any person writes is cut.
    pub fn text(&self, name: &str) -> String {
        self.raw(name).trim().chars().take(2000).collect()
    }
    /// The same exactly as typed (for passphrases).
    pub fn raw(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value)
    }
    /// Every value of a field, as of boxes that share a name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(n, _)| n == name).map(|(_, value)| value.as_str())
    }
    /// Whether a box is ticked.
    pub fn ticked(&self, name: &str) -> bool {
        self.0.iter().any(|(n, _)| n == name)
    }
    /// A number, with a decimal comma or point; none where it is none.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.text(name).replace(',', ".").parse().ok().filter(|v: &f64| v.is_finite())
    }
    /// A day.
    pub fn date(&self, name: &str) -> Option<Date> {
        Date::parse(&self.text(name))
    }
}

impl<const N: usize> From<[(&str, &str); N]> for Fields {
    fn from(fields: [(&str, &str); N]) -> Self {
        Self(fields.into_iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect())
    }
}
