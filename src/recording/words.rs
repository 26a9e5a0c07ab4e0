//! Header words in several languages: what a word says about its column is a row of data here.
use super::Unit;

/// What a header word says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    Time,
    Sample,
    Left,
    Right,
    Total,
    Force,
    /// Vertical: the wanted one of several axes.
    Vertical,
    /// A horizontal axis or anything that is no vertical force.
    Other,
    /// A sampling rate in the preamble.
    Rate,
    /// A sampling interval in the preamble.
    Interval,
}

/// Words by meaning, lower case; each is matched as a whole word of a header.
/// English, German, French, Spanish, Italian, Portuguese, Dutch, Swedish, Polish, and usual short forms.
const WORDS: &[(Word, &str)] = &[
    (Word::Time, "time times timestamp timestamps t zeit zeitstempel temps tiempo tempo tijd tid czas sec secs seconds sekunden elapsed"),
    (
        Word::Sample,
        "sample samples frame frames index idx row no nr messpunkt bild échantillon echantillon muestra campione amostra monster prov próbka probka",
    ),
    (
        Word::Left,
        "left l lt lft links linke linker linkes linken li gauche izquierda izquierdo izq sinistra sinistro sx sin esquerda esquerdo esq linkerbeen vänster vanster vä lewa lewy lewo lewej fzl lfz zl grfl lgrf vgrfl fl leftforce",
    ),
    (
        Word::Right,
        "right r rt rgt rechts rechte rechter rechtes rechten re droite droit derecha derecho der destra destro dx direita direito dir rechterbeen höger hoger hö prawa prawy prawo prawej fzr rfz zr grfr rgrf vgrfr fr rightforce",
    ),
    (
        Word::Total,
        "total sum summe gesamt both beide combined somme totale suma totaal som summa łącznie razem soma ambas entrambe samlad całkowita calkowita overall dual",
    ),
    (
        Word::Force,
        "force forces kraft kräfte kraefte fuerza forza força forca kracht siła sila grf vgrf load last charge carga carico belasting nacisk bodenreaktionskraft reaktionskraft gewicht weight f newton newtons plate platte plateforme plataforma piattaforma plaat platta platforma kraftmessplatte",
    ),
    (
        Word::Vertical,
        "fz z vertical vertikal vertikale verticale vertikalkraft vertikaal pionowa vgrf fvert vert grfz fzl fzr lfz rfz zl zr vgrfl vgrfr normal",
    ),
    (
        Word::Other,
        "fx fy x y mx my mz ax ay copx copy cop moment moments torque drehmoment couple momento koppel velocity speed geschwindigkeit vitesse velocidad velocità velocidade snelheid hastighet prędkość displacement position weg höhe height hauteur altura power leistung puissance potencia potenza potência vermogen effekt moc acceleration beschleunigung accélération emg angle winkel trigger sync marker event temperature temp anterior posterior medial lateral horizontal horizontale ap ml rfd impulse asymmetry asymmetrie cumulative voltage volts mv battery quality status flag",
    ),
    (
        Word::Rate,
        "rate frequency freq abtastrate frequenz messfrequenz abtastfrequenz samplingrate samplerate fréquence frequence frecuencia frequenza frequência frequencia frequentie frekvens częstotliwość czestotliwosc hz fs",
    ),
    (Word::Interval, "interval intervall intervalle intervalo intervallo dt period periode période periodo interwał abtastintervall"),
];

/// Everything a word can mean.
pub(super) fn meanings(word: &str) -> impl Iterator<Item = Word> + '_ {
    WORDS.iter().filter(move |(_, list)| list.split(' ').any(|w| w == word)).map(|(meaning, _)| *meaning)
}

/// A unit a column may be in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum ColumnUnit {
    Force(Unit),
    /// Seconds per unit.
    Time(f64),
    /// Something else than time or force.
    Other,
}

/// Reads a unit as it stands in brackets, in a unit row or in the `columns` option.
pub(super) fn unit(text: &str) -> Option<ColumnUnit> {
    let t = text.trim().trim_matches(|c| "[](){}<>\"'".contains(c)).trim();
    Some(match t {
        "N" | "n" | "newton" | "Newton" | "newtons" | "Newtons" => ColumnUnit::Force(Unit::Newton),
        "kN" | "KN" | "kn" | "kilonewton" => ColumnUnit::Force(Unit::Kilonewton),
        "mN" | "millinewton" => ColumnUnit::Force(Unit::Millinewton),
        "kgf" | "Kgf" | "KGF" | "kp" | "kg" | "Kg" | "KG" => ColumnUnit::Force(Unit::KilogramForce),
        "lbf" | "lb" | "lbs" | "LBF" | "Lbf" | "pounds" => ColumnUnit::Force(Unit::PoundForce),
        "s" | "S" | "sec" | "Sec" | "secs" | "seconds" | "Seconds" | "sek" | "Sekunden" | "sekunden" | "seg" => ColumnUnit::Time(1.0),
        "ms" | "msec" | "MS" | "Ms" | "milliseconds" | "Millisekunden" | "millis" => ColumnUnit::Time(1e-3),
        "us" | "µs" | "μs" | "usec" | "microseconds" => ColumnUnit::Time(1e-6),
        "min" | "m" | "cm" | "mm" | "m/s" | "m/s²" | "m/s^2" | "m/s2" | "W" | "w" | "J" | "Nm" | "N·m" | "N m" | "N.m" | "V" | "mV"
        | "%" | "deg" | "°" | "Hz" | "N/s" | "Ns" | "N·s" | "N/kg" | "BW" | "g" | "°C" => ColumnUnit::Other,
        _ => return None,
    })
}

/// The words of a header cell, lower case, brackets left out, split at signs and where the case changes
/// (`FzLeft` → fz, left; `LFz` → l, fz); and the unit named in brackets or as the last part.
pub(super) fn split(header: &str) -> (Vec<String>, Option<ColumnUnit>) {
    let mut outside = String::new();
    let mut inside = String::new();
    let mut found = None;
    let mut depth = 0u32;
    for c in header.chars() {
        match c {
            '[' | '(' | '{' => {
                depth += 1;
                inside.clear();
            }
            ']' | ')' | '}' if depth > 0 => {
                depth -= 1;
                match unit(&inside) {
                    Some(u) => found = found.or(Some(u)),
                    None => {
                        outside.push(' ');
                        outside.push_str(&inside);
                    }
                }
                outside.push(' ');
            }
            _ if depth > 0 => inside.push(c),
            _ => outside.push(c),
        }
    }
    let mut words = Vec::new();
    for part in outside.split(|c: char| !c.is_alphanumeric() && c != 'µ' && c != '/').filter(|p| !p.is_empty()) {
        words.push(part.to_string());
    }
    // A last part that is a unit: `Force_N`, `time ms`, `left / kN`; a lone `s` or `N` is a header by itself.
    if found.is_none()
        && words.len() > 1
        && let Some(u) = words.last().map(|w| w.trim_matches('/')).and_then(unit)
    {
        found = Some(u);
        words.pop();
    }
    let mut out = Vec::new();
    for word in words {
        for w in word.split('/').filter(|w| !w.is_empty()) {
            let whole = w.to_lowercase();
            if meanings(&whole).next().is_some() {
                out.push(whole);
            } else {
                out.extend(split_case(w));
            }
        }
    }
    (out, found)
}

fn split_case(word: &str) -> Vec<String> {
    let chars: Vec<char> = word.chars().collect();
    let mut parts: Vec<String> = vec![String::new()];
    for (i, c) in chars.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|k| chars.get(k));
        let after = chars.get(i + 1);
        let breaks = before.is_some_and(|b| {
            (c.is_uppercase() && (b.is_lowercase() || after.is_some_and(|a| a.is_lowercase()) && b.is_uppercase()))
                || (c.is_numeric() != b.is_numeric())
        });
        if breaks {
            parts.push(String::new());
        }
        if let Some(last) = parts.last_mut() {
            last.extend(c.to_lowercase());
        }
    }
    parts.retain(|p| !p.is_empty());
    parts
}
