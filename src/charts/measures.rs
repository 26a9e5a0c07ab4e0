//! Sentences that were made in centimetres and kilograms, before anybody knew who would read them: stored with a trial, in a
//! table of rules, or with a link. Here they are put into inches and pounds as they are shown; what is stored stays.
use super::number::Locale;

/// The text with every "31.2 cm", "5 to 20 cm" and "75.0 kg" in inches and pounds.
pub fn in_inches(text: &str, locale: &Locale) -> String {
    let mut out = String::new();
    let mut between = "";
    // The words before, the latest first, each with where it begins.
    let mut before = [("", 0); 3];
    for word in text.split(' ') {
        out += between;
        between = " ";
        let at = out.len();
        match turned(word, before, locale) {
            Some((from, amount, after)) => {
                out.truncate(from);
                out += &amount;
                out += after;
            }
            None => out += word,
        }
        let [last, but_one, _] = before;
        before = [(word, at), last, but_one];
    }
    out
}

/// Where a word is a unit after a number: where the amount begins, the amount in the reader's unit, and what ends the word.
fn turned<'a>(word: &'a str, before: [(&str, usize); 3], locale: &Locale) -> Option<(usize, String, &'a str)> {
    let (si, to_si, after) = match word.strip_prefix("cm") {
        Some(after) => ("m", 0.01, after),
        None => ("kg", 1.0, word.strip_prefix("kg")?),
    };
    // "cm/s" and "kg·m" are other quantities, "kgf" another unit, "cm.csv" a file.
    if after.chars().any(char::is_alphanumeric) {
        return None;
    }
    let (unit, factor) = locale.unit(si);
    let say = |number: &str| {
        let value = number.parse::<f64>().ok().filter(|_| number.bytes().all(|b| b.is_ascii_digit() || b == b'.'))?;
        let decimals = number.split_once('.').map_or(0, |(_, after)| after.len());
        Some(locale.fixed(value * to_si * factor, Locale::decimals(unit, decimals)))
    };
    let [(number, from), (to, _), (first, first_from)] = before;
    let said = say(number)?;
    Some(match say(first).filter(|_| to == "to") {
        Some(first) => (first_from, format!("{first} to {said} {unit}"), after),
        None => (from, format!("{said} {unit}"), after),
    })
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
        assert_eq!(told("30 cm"), "11.8 in");
        assert_eq!(told("heavier than 100 kg: weigh"), "heavier than 220 lb: weigh");
        assert_eq!(told(" 75.0 kg  and 20 kg,"), " 165.3 lb  and 44 lb,");
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
            "cm 5 kg/m",
            "inf cm",
            "5 to",
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
