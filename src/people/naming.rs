//! Athlete, test, load, side and trial number from a file's name, by a pattern that a coach can read and change:
//! `{athlete}_{test}[_{load}][_{side}]_{trial}`. Braces name a field, square brackets make a part optional, and a run
//! of separators (space, `_`, `-`, `.`, `,`) stands for any run of separators. Cost: parts × length² at most.
use super::{Date, Side};
use crate::answer::TestKind;
use crate::recording::{Letters as _, alike, decimal, push_lower};
use std::collections::BTreeSet;

/// The pattern offered first.
pub const DEFAULT_PATTERN: &str = "{athlete}[_{date}][_{test}][_{load}][_{box}][_{side}][_{trial}]";

/// What a file's name says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Named {
    /// The athlete, as written, separators as spaces.
    pub athlete: Option<String>,
    /// The test.
    pub test: Option<TestKind>,
    /// One leg, or both.
    pub side: Option<Side>,
    /// External load, kg.
    pub load_kg: Option<f64>,
    /// Box height, m.
    pub box_m: Option<f64>,
    /// Which trial.
    pub trial: Option<u32>,
    /// The day.
    pub date: Option<Date>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Field {
    Athlete,
    Test,
    Side,
    Load,
    Box,
    Trial,
    Date,
    Anything,
}

#[derive(Debug, Clone, PartialEq)]
enum Part {
    Field(Field),
    Gap,
    Letter(char),
}

/// A pattern, understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Every choice of optional parts, the fullest first.
    choices: Vec<Vec<Part>>,
}

fn is_gap(letter: char) -> bool {
    matches!(letter, ' ' | '_' | '-' | '.' | ',')
}

impl Pattern {
    /// Understands a pattern.
    ///
    /// # Errors
    /// A sentence that says what is wrong with it.
    pub fn new(text: &str) -> Result<Self, String> {
        // Parts with the number of the optional group they stand in, 0 for none.
        let mut parts: Vec<(u32, Part)> = Vec::new();
        let (mut group, mut groups) = (0, 0);
        let mut letters = text.trim().chars().peekable();
        while let Some(letter) = letters.next() {
            let part = match letter {
                '{' => {
                    let name: String = letters.by_ref().take_while(|c| *c != '}').collect();
                    Part::Field(field(&name)?)
                }
                '[' if group == 0 => {
                    groups += 1;
                    group = groups;
                    continue;
                }
                ']' if group > 0 => {
                    group = 0;
                    continue;
                }
                '[' | ']' => return Err("Square brackets must come in pairs, not inside one another.".into()),
                gap if is_gap(gap) => Part::Gap,
                other => Part::Letter(other),
            };
            if !(part == Part::Gap && parts.last().is_some_and(|(g, p)| *g == group && *p == Part::Gap)) {
                parts.push((group, part));
            }
        }
        if group != 0 {
            return Err("A square bracket is not closed.".into());
        }
        if !parts.iter().any(|(_, p)| matches!(p, Part::Field(_))) {
            return Err("Name at least one field, such as {athlete}.".into());
        }
        if groups > 6 || parts.len() > 60 {
            return Err("The pattern is too long.".into());
        }
        // Choices with the most optional parts are tried first.
        let masks = (0..=groups).rev().flat_map(|most| (0..1_u32 << groups).filter(move |mask| mask.count_ones() == most));
        let choice = |mask: u32| parts.iter().filter(|(g, _)| *g == 0 || mask & (1 << (g - 1)) != 0).map(|(_, p)| p.clone()).collect();
        Ok(Self { choices: masks.map(choice).collect() })
    }

    /// What a file's name says; `None` where the name does not follow the pattern.
    pub fn read(&self, file: &str) -> Option<Named> {
        let stem = match file.rsplit_once('.') {
            Some((stem, end)) if !stem.is_empty() && end.len() <= 4 => stem,
            _ => file,
        };
        let name: Vec<char> = stem.trim().chars().take(160).collect();
        self.choices.iter().find_map(|parts| {
            let mut named = Named::default();
            Walk { parts, name: &name, dead: BTreeSet::new() }.from(0, 0, &mut named).then_some(named)
        })
    }
}

fn field(name: &str) -> Result<Field, String> {
    Ok(match name.trim().lower().as_str() {
        "athlete" => Field::Athlete,
        "test" => Field::Test,
        "side" => Field::Side,
        "load" => Field::Load,
        "box" => Field::Box,
        "trial" => Field::Trial,
        "date" => Field::Date,
        "*" => Field::Anything,
        other => {
            return Err(format!(
                "{{{other}}} is no field. There are {{athlete}} {{test}} {{load}} {{box}} {{side}} {{trial}} {{date}} and {{*}} for anything."
            ));
        }
    })
}

struct Walk<'a> {
    parts: &'a [Part],
    name: &'a [char],
    /// Places from which the rest is known not to match.
    dead: BTreeSet<(usize, usize)>,
}

impl Walk<'_> {
    fn from(&mut self, part: usize, at: usize, named: &mut Named) -> bool {
        let Some(wanted) = self.parts.get(part) else { return at == self.name.len() };
        if self.dead.contains(&(part, at)) {
            return false;
        }
        let rest = self.name.get(at..).unwrap_or_default();
        let found = match wanted {
            Part::Letter(letter) => {
                let same = rest.first().is_some_and(|c| alike(*c, *letter));
                same && self.from(part + 1, at + 1, named)
            }
            Part::Gap => {
                let gap = rest.iter().take_while(|c| is_gap(**c)).count();
                gap > 0 && self.from(part + 1, at + gap, named)
            }
            Part::Field(field) => (1..=rest.len()).any(|length| {
                let text: String = rest.iter().take(length).collect();
                let before = named.clone();
                let fits = take(*field, &text, named) && self.from(part + 1, at + length, named);
                if !fits {
                    *named = before;
                }
                fits
            }),
        };
        if !found {
            self.dead.insert((part, at));
        }
        found
    }
}

fn take(field: Field, text: &str, named: &mut Named) -> bool {
    if text.starts_with(is_gap) || text.ends_with(is_gap) {
        return false;
    }
    match field {
        Field::Anything => true,
        Field::Athlete => {
            named.athlete = Some(text.split(is_gap).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" "));
            text.chars().any(char::is_alphabetic)
        }
        Field::Test => set(&mut named.test, test_word(text)),
        Field::Side => set(&mut named.side, side_word(text)),
        Field::Load => set(&mut named.load_kg, quantity(text, &["kg"]).filter(|kg| *kg <= 500.0)),
        Field::Box => {
            let metres = quantity(text, &["cm"]).map(|cm| cm / 100.0).or_else(|| quantity(text, &["m"]));
            set(&mut named.box_m, metres.filter(|m| *m <= 2.0))
        }
        Field::Trial => {
            let digits = text.trim_start_matches(|c: char| c.is_alphabetic());
            let word = text.strip_suffix(digits).unwrap_or_default().lower();
            let number = digits.parse().ok().filter(|_| matches!(word.as_str(), "" | "t" | "trial" | "rep" | "jump") && digits.len() <= 3);
            set(&mut named.trial, number)
        }
        Field::Date => set(&mut named.date, date_word(text)),
    }
}

fn set<T>(place: &mut Option<T>, value: Option<T>) -> bool {
    *place = value;
    place.is_some()
}

/// A number followed by one of the units.
fn quantity(text: &str, units: &[&str]) -> Option<f64> {
    let lower = text.lower();
    let unit = units.iter().find(|unit| lower.ends_with(**unit))?;
    let number = lower.strip_suffix(unit)?.trim().replace(',', ".");
    let plain = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit() || c == '.');
    if plain { decimal(&number).filter(|v| v.is_finite()) } else { None }
}

/// Words that coaches write for a test, separators left out; common practice, no source.
const TEST_WORDS: &[(TestKind, &[&str])] = &[
    (TestKind::CountermovementJump, &["countermovementjump", "countermovement", "cmj", "cmvj"]),
    (TestKind::SquatJump, &["squatjump", "sj"]),
    (TestKind::DropJump, &["dropjump", "depthjump", "dj"]),
    (TestKind::CountermovementReboundJump, &["countermovementreboundjump", "countermovementrebound", "cmrj"]),
    (TestKind::DropLanding, &["droplanding", "landing", "dl"]),
    (TestKind::ReboundJumps, &["reboundjumps", "repeatedreboundjumps", "rebounds", "hops", "pogo", "pogos", "rj"]),
    (TestKind::Isometric, &["isometric", "isometricmidthighpull", "midthighpull", "imtp", "isosquat", "isometricsquat"]),
    (TestKind::QuietStanding, &["quietstanding", "standing", "weighing"]),
];

fn test_word(text: &str) -> Option<TestKind> {
    let word = small(text.chars().filter(|c| !is_gap(*c)));
    TEST_WORDS.iter().find(|(_, words)| words.contains(&word.as_str())).map(|(kind, _)| *kind)
}

fn side_word(text: &str) -> Option<Side> {
    match text.lower().as_str() {
        "left" | "l" => Some(Side::Left),
        "right" | "r" => Some(Side::Right),
        "both" | "b" | "two" => Some(Side::Both),
        _ => None,
    }
}

/// `2026-03-01`, `20260301` or `01.03.2026`.
fn date_word(text: &str) -> Option<Date> {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let parts: Vec<&str> = text.split(is_gap).collect();
    let lengths: Vec<usize> = parts.iter().map(|p| p.len()).collect();
    if digits.len() != 8 || parts.concat() != digits {
        return None;
    }
    let number = |from: usize, to: usize| digits.get(from..to)?.parse::<i32>().ok();
    let text = match lengths.as_slice() {
        [4, 2, 2] | [8] => format!("{:04}-{:02}-{:02}", number(0, 4)?, number(4, 6)?, number(6, 8)?),
        [2, 2, 4] => format!("{:04}-{:02}-{:02}", number(4, 8)?, number(2, 4)?, number(0, 2)?),
        _ => return None,
    };
    Date::parse(&text)
}

/// Words that stand in file names and name nobody; common practice, no source.
const NOBODY: &[&str] = &[
    "trial",
    "trials",
    "rep",
    "reps",
    "jump",
    "jumps",
    "squat",
    "drop",
    "test",
    "tests",
    "export",
    "data",
    "recording",
    "force",
    "plate",
    "plates",
    "file",
    "copy",
    "raw",
];

/// Whether a name read from a file's name can be somebody's: some word of it is no test, side, number or common word of exports.
pub fn is_a_person(name: &str) -> bool {
    let plain =
        |word: &str| word.chars().all(char::is_numeric) || test_word(word).is_some() || side_word(word).is_some() || NOBODY.contains(&word);
    let key = name_key(name);
    let words: Vec<&str> = key.split(' ').filter(|word| !word.is_empty()).collect();
    // A test's name may be of two or three words, with a number or a side behind it.
    let of_test = |at: usize| {
        let spans = (2..=3).flat_map(|n| (at.saturating_sub(n - 1)..=at).map(move |from| from..from + n));
        spans.filter_map(|span| words.get(span)).any(|some| test_word(&some.concat()).is_some())
    };
    words.iter().enumerate().any(|(at, word)| !plain(word) && !of_test(at))
}

fn small(letters: impl Iterator<Item = char>) -> String {
    letters.fold(String::new(), |mut text, letter| {
        push_lower(&mut text, letter);
        text
    })
}

/// What two spellings of one name have in common: letters and digits in lower case, one space between words.
pub fn name_key(name: &str) -> String {
    let spaced = small(name.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }));
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A name as written in a file's name, with capitals where it has none.
pub fn name_shown(name: &str) -> String {
    if name.chars().any(char::is_uppercase) {
        return name.to_owned();
    }
    name.split_whitespace().map(str::capital).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(pattern: &str, file: &str) -> Option<Named> {
        Pattern::new(pattern).unwrap().read(file)
    }

    #[test]
    fn the_first_pattern_reads_common_names() {
        let named = read(DEFAULT_PATTERN, "invented-alder-countermovement-2.csv").unwrap();
        assert_eq!(named.athlete.as_deref(), Some("invented alder"));
        assert_eq!((named.test, named.trial), (Some(TestKind::CountermovementJump), Some(2)));
        let named = read(DEFAULT_PATTERN, "Invented Birch_2026-03-01_SJ_20,5kg_left_3.txt").unwrap();
        assert_eq!((named.load_kg, named.side, named.trial), (Some(20.5), Some(Side::Left), Some(3)));
        assert_eq!(named.date, Date::parse("2026-03-01"));
        let named = read(DEFAULT_PATTERN, "Invented Birch DJ 30cm 1.csv").unwrap();
        assert_eq!((named.athlete.as_deref(), named.test, named.box_m), (Some("Invented Birch"), Some(TestKind::DropJump), Some(0.3)));
        assert_eq!(read(DEFAULT_PATTERN, "Cedar.csv").unwrap().athlete.as_deref(), Some("Cedar"));
        assert_eq!(read("{date} {athlete}", "01.03.2026 A B.csv").unwrap().date, Date::parse("2026-03-01"));
        assert_eq!(read("{athlete}_box{box}", "A_box30cm.csv").unwrap().box_m, Some(0.3));
        assert_eq!(read("{athlete}_{trial}", "nothing.csv"), None);
    }

    #[test]
    fn a_wrong_pattern_says_what_is_wrong() {
        for (pattern, word) in [("{athlet}", "no field"), ("[a", "not closed"), ("[[{test}]]", "pairs"), ("abc", "at least one")] {
            assert!(Pattern::new(pattern).unwrap_err().contains(word), "{pattern}");
        }
    }

    #[test]
    fn a_hostile_name_takes_no_time() {
        let pattern = Pattern::new("{*}a{*}a{*}a{*}a{*}a{*}a{trial}").unwrap();
        assert_eq!(pattern.read(&"a".repeat(5000)), None);
    }

    #[test]
    fn names_are_matched_past_their_spelling() {
        assert_eq!(name_key("  O’Hara-Lopez_Jr. "), name_key("o hara lopez JR"));
        assert_eq!(name_shown("invented alder"), "Invented Alder");
        assert_eq!(name_shown("deVries"), "deVries");
        assert!(is_a_person("CMJ Ada") && is_a_person("K7") && !is_a_person("Squat jump 3") && !is_a_person("export_left"));
    }
}
