//! Sentences that were made in centimetres and kilograms, before anybody knew who would read them: stored with a trial, in a
//! table of rules, or with a link. Here they are put into inches and pounds as they are shown; what is stored stays.
use super::number::Locale;
use crate::answer::Trial;

/// The text with every "31.2 cm", "5 to 20 cm" and "75.0 kg" in inches and pounds.
pub fn in_inches(text: &str, locale: &Locale) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, from) = rest.split_at(at);
        out += before;
        // Within a word or a file's name a digit begins no amount.
        let alone = !out.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '.' | ',' | '-' | '_'));
        rest = match amount(from).filter(|_| alone) {
            Some(found) => {
                out += &found.said(locale);
                found.after
            }
            None => {
                let (number, after) = from.split_at(number_len(from));
                out += number;
                after
            }
        };
    }
    out + rest
}

/// A trial as it is shown: what was noted about it, and why figures are withheld, in inches and pounds.
pub fn trial_in_inches(trial: &mut Trial, locale: &Locale) {
    for notice in &mut trial.notices {
        notice.message = in_inches(&notice.message, locale);
        if let Some(advice) = &mut notice.next_time {
            *advice = in_inches(advice, locale);
        }
    }
    for why in trial.figures.values_mut().filter_map(|f| f.why.as_mut()) {
        *why = in_inches(why, locale);
    }
}

/// One number with a unit, or two with a word between them, and what comes after.
struct Amount<'a> {
    first: &'a str,
    between: &'a str,
    second: &'a str,
    space: char,
    si: &'static str,
    to_si: f64,
    after: &'a str,
}

impl Amount<'_> {
    fn said(&self, locale: &Locale) -> String {
        let (unit, factor) = locale.unit(self.si);
        let number = |text: &str| {
            let decimals = text.split_once('.').map_or(0, |(_, after)| after.len());
            text.parse::<f64>()
                .map_or_else(|_| text.to_owned(), |v| locale.fixed(v * self.to_si * factor, Locale::decimals(unit, decimals)))
        };
        format!("{}{}{}{}{unit}", number(self.first), self.between, number(self.second), self.space)
    }
}

fn amount(text: &str) -> Option<Amount<'_>> {
    let (first, rest) = text.split_at(number_len(text));
    let (between, second, rest) = [" to ", "–"]
        .into_iter()
        .find_map(|word| {
            let after = rest.strip_prefix(word)?;
            let (second, after) = after.split_at(number_len(after));
            (!second.is_empty()).then_some((word, second, after))
        })
        .unwrap_or(("", "", rest));
    let space = rest.chars().next().filter(|c| matches!(c, ' ' | '\u{a0}'))?;
    let rest = rest.strip_prefix(space)?;
    let unit = |word, si, to_si| Some((rest.strip_prefix(word)?, si, to_si));
    let (after, si, to_si) = unit("cm", "m", 0.01).or_else(|| unit("kg", "kg", 1.0))?;
    // "cm/s" and "kg·m" are other quantities, "kgf" another unit.
    let ends = !after.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '/' | '·' | '²' | '³' | '_'));
    ends.then_some(Amount { first, between, second, space, si, to_si, after })
}

/// Bytes of the number at the beginning: digits, and a point with digits after it.
fn number_len(text: &str) -> usize {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(text);
    let part = text.get(whole..).and_then(|rest| rest.strip_prefix('.')).map_or(0, digits);
    if whole > 0 && part > 0 { whole + 1 + part } else { whole }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_turned_and_nothing_else_is() {
        let locale = Locale { imperial: true, ..Locale::default() };
        let told = |text: &str| in_inches(text, &locale);
        // Sentences of the rules, by hand: 2.0 / 2.54 = 0.787, 5 / 2.54 = 1.97, 20 / 2.54 = 7.87, 100 / 0.453 592 37 = 220.5.
        assert_eq!(told("Flight time gives 2.0 cm more than take-off velocity."), "Flight time gives 0.79 in more than take-off velocity.");
        assert_eq!(told("Adults reach 5 to 20 cm above."), "Adults reach 2.0 to 7.9 in above.");
        assert_eq!(told("from a box of at most 30\u{a0}cm"), "from a box of at most 11.8\u{a0}in");
        assert_eq!(told("heavier than 100 kg: weigh"), "heavier than 220 lb: weigh");
        assert_eq!(told("It is 75.0 kg. And 20–25 kg"), "It is 165.3 lb. And 44–55 lb");
        for same in [
            "12.3 N/kg",
            "7.5 W/kg and 3 m/s",
            "5 cm/s",
            "1 kgf",
            "3 kg·m",
            "a_30 cm.csv",
            "cmj-20 kg.csv",
            "v1.5 kg",
            "250 ms",
            "on 2026-01-31.",
            "30cm",
            "per kg",
            "of 9 kilograms",
            "",
        ] {
            assert_eq!(told(same), same);
        }
        let comma = Locale { imperial: true, decimal: ',', ..Locale::default() };
        assert_eq!(in_inches("sinks by 3.1 cm:", &comma), "sinks by 1,22 in:");
    }
}
