//! Sentences that were made in centimetres and kilograms, before anybody knew who would read them: stored with a trial, in a
//! table of rules, or with a link. Here they are put into inches and pounds as they are shown; what is stored stays.
use super::number::Locale;

/// The text with every "31.2 cm", "5 to 20 cm" and "75.0 kg" in inches and pounds.
pub fn in_inches(text: &str, locale: &Locale) -> String {
    let mut words: Vec<String> = text.split_inclusive(char::is_whitespace).map(str::to_owned).collect();
    for at in 0..words.len() {
        let (before, rest) = words.split_at_mut(at);
        let Some(word) = rest.first_mut() else { continue };
        // "cm/s" and "kg·m" are other quantities, "kgf" another unit, "cm.csv" a file.
        let (unit, factor) = match word.trim_end_matches(|c: char| !c.is_alphanumeric()) {
            "cm" => (locale.unit("m").0, 0.01 * locale.unit("m").1),
            "kg" => locale.unit("kg"),
            _ => continue,
        };
        let mut numbers = before.iter_mut().rev();
        let turned = numbers.next().is_some_and(|number| turn(number, unit, factor, locale));
        if turned {
            word.replace_range(..2, unit);
            if numbers.next().is_some_and(|between| between == "to ")
                && let Some(first) = numbers.next()
            {
                turn(first, unit, factor, locale);
            }
        }
    }
    words.concat()
}

/// Turns a word that is a number, perhaps after a bracket, with a space after it.
fn turn(word: &mut String, unit: &str, factor: f64, locale: &Locale) -> bool {
    let number = word.trim_start_matches('(').trim_end();
    let plain = number.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    let Some(value) = number.parse::<f64>().ok().filter(|_| plain) else { return false };
    let decimals = number.split_once('.').map_or(0, |(_, after)| after.len());
    *word = word.replace(number, &locale.fixed(value * factor, Locale::decimals(unit, decimals)));
    true
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
        assert_eq!(told("It is 75.0 kg. And (20 kg)"), "It is 165.3 lb. And (44 lb)");
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
