//! Where the plates stand: the gravity there is used for every file read from then on. Between equator and pole it differs by
//! half a percent, and so does what the plates weigh.
use super::{Effect, Fields, Message, State};
use crate::answer::Options;

/// A place on earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// North positive, degrees.
    pub latitude_deg: f64,
    /// Above sea level, m.
    pub altitude_m: f64,
}

impl Place {
    fn of(latitude_deg: f64, altitude_m: f64) -> Option<Self> {
        let there = latitude_deg.abs() <= 90.0 && (-500.0..=9000.0).contains(&altitude_m);
        there.then_some(Self { latitude_deg, altitude_m })
    }
    /// Its gravity, m/s².
    pub fn gravity(self) -> f64 {
        self.into_options(Options::default()).local_gravity()
    }
    /// Options with this place.
    pub fn into_options(self, options: Options) -> Options {
        Options { latitude_deg: Some(self.latitude_deg), altitude_m: Some(self.altitude_m), ..options }
    }
}

/// Takes the form in; an empty latitude goes back to standard gravity.
pub fn sent(state: &mut State, fields: &Fields) -> Vec<Effect> {
    let altitude = if fields.text("altitude").is_empty() { Some(0.0) } else { fields.number("altitude") };
    let place = fields.number("latitude").zip(altitude).and_then(|(latitude, altitude)| Place::of(latitude, altitude));
    let text = match place {
        Some(place) => {
            format!("Files are read with {} m/s² from now on; trials read before keep theirs.", state.locale.fixed(place.gravity(), 4))
        }
        None if fields.text("latitude").is_empty() => "Files are read with standard gravity from now on.".into(),
        None => {
            let text = "A latitude lies between −90 and 90 degrees, an altitude between −500 and 9000 m: nothing was changed.".into();
            state.message = Some(Message { text, undo: false });
            return vec![];
        }
    };
    state.place = place;
    state.message = Some(Message { text, undo: false });
    vec![Effect::Remember("place", place.map_or_else(String::new, |p| format!("{} {}", p.latitude_deg, p.altitude_m)))]
}

/// Takes in what was remembered.
pub fn remembered(state: &mut State, value: &str) {
    let mut numbers = value.split(' ').map(|part| part.parse::<f64>().ok());
    if let (Some(Some(latitude)), Some(Some(altitude))) = (numbers.next(), numbers.next()) {
        state.place = Place::of(latitude, altitude);
    }
}
