//! Capital and small letters. The tables for every script are large, and the words of plates, menus and most names need
//! none of them: so they are asked only for what stands outside ASCII and Latin-1, and come with the module's second half.

/// Small and capital letters of a text; the same as the standard library's, which is asked where it takes its tables.
pub trait Letters {
    /// In small letters.
    fn lower(&self) -> String;
    /// With the first letter as a capital.
    fn capital(&self) -> String;
}

impl Letters for str {
    fn lower(&self) -> String {
        let small: Option<String> = self.chars().map(small).collect();
        small.unwrap_or_else(|| lower_in_any_script(self))
    }

    fn capital(&self) -> String {
        let mut letters = self.chars();
        let Some(first) = letters.next() else { return String::new() };
        match first {
            '\0'..='\x7F' => format!("{}{}", first.to_ascii_uppercase(), letters.as_str()),
            _ => capital_in_any_script(first, letters.as_str()),
        }
    }
}

/// Appends a letter as a small one, whatever stands before it.
pub(crate) fn push_lower(text: &mut String, letter: char) {
    match small(letter) {
        Some(letter) => text.push(letter),
        None => push_in_any_script(text, letter),
    }
}

/// Whether two letters differ at most in being capitals.
pub(crate) fn alike(a: char, b: char) -> bool {
    match (small(a), small(b)) {
        (Some(a), Some(b)) => a == b,
        _ => alike_in_any_script(a, b),
    }
}

/// `None` where it takes the tables.
fn small(letter: char) -> Option<char> {
    match letter {
        '\0'..='\x7F' => Some(letter.to_ascii_lowercase()),
        // In Latin-1 the capitals stand 32 places before their small letters.
        'À'..='Ö' | 'Ø'..='Þ' => char::from_u32(u32::from(letter) + 32),
        // The rest of Latin-1, dashes and narrow spaces, and the signs of mathematics are not capitals.
        '\u{80}'..='\u{FF}' | '\u{2000}'..='\u{206F}' | '\u{2200}'..='\u{22FF}' => Some(letter),
        _ => None,
    }
}

#[inline(never)]
fn lower_in_any_script(text: &str) -> String {
    text.to_lowercase()
}

#[inline(never)]
fn capital_in_any_script(first: char, rest: &str) -> String {
    first.to_uppercase().chain(rest.chars()).collect()
}

#[inline(never)]
fn push_in_any_script(text: &mut String, letter: char) {
    text.extend(letter.to_lowercase());
}

#[inline(never)]
fn alike_in_any_script(a: char, b: char) -> bool {
    a.to_lowercase().eq(b.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: the standard library, for every letter there is.
    #[test]
    fn every_letter_is_as_in_the_standard_library() {
        for letter in '\0'..=char::MAX {
            let text = format!("{letter}bC");
            assert_eq!(text.lower(), text.to_lowercase());
            let mut pushed = String::new();
            push_lower(&mut pushed, letter);
            assert_eq!(pushed, letter.to_lowercase().to_string());
            assert_eq!(text.capital(), letter.to_uppercase().chain("bC".chars()).collect::<String>());
            assert!(alike(letter, letter));
        }
        assert_eq!("".capital(), "");
        assert_eq!("ΟΔΟΣ Å".lower(), "οδος å");
        assert!(alike('É', 'é') && alike('Σ', 'σ') && alike('k', 'K') && !alike('e', 'é') && !alike('×', '÷'));
    }
}
