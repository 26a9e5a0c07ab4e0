//! Published between-day values: one group each, their plate, rate and protocol. They stand in until the coach's own
//! repeated days suffice, always with their citation, and are never mixed with own values. Facts as kept from the
//! abstracts; where a source gives a range over several figures, the upper end is used, and said.
use crate::figures::PER_KG;
use crate::force::math::ln_1p;

/// One published value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cited {
    /// Figure id.
    pub figure: &'static str,
    /// Test kind.
    pub test: &'static str,
    /// Coefficient of variation between days, %.
    pub cv_percent: f64,
    /// People measured; the value's degrees of freedom are one less.
    pub people: usize,
    /// Trials behind each session's value.
    pub trials: usize,
    /// Who and how.
    pub design: &'static str,
    /// What to bear in mind.
    pub caution: &'static str,
    /// Citation.
    pub source: &'static str,
}

const CMJ: &str = "countermovement_jump";
const PMC: &str = "PMC7039490";
const PMC_DESIGN: &str = "41 active men, four jumps, test and retest 48–168 h apart";
const MOIR: &str = "Moir, Garcia & Dwyer 2009, Int. J. Sports Physiol. Perform. 4:317";
const MOIR_DESIGN: &str = "35 men and 35 women, four sessions a week apart";
const RANGE: &str = "the source gives a range over several figures; its upper end is used";
const RATE: &str = "the source calls it not dependable";

/// The table, in order of preference where a figure has several rows.
pub const CITED: &[Cited] = &[
    Cited { figure: "jump_height", test: CMJ, cv_percent: 5.8, people: 41, trials: 4, design: PMC_DESIGN, caution: "", source: PMC },
    Cited {
        figure: "take_off_velocity",
        test: CMJ,
        cv_percent: 5.1,
        people: 41,
        trials: 4,
        design: PMC_DESIGN,
        caution: RANGE,
        source: PMC,
    },
    Cited {
        figure: "peak_propulsion_force",
        test: CMJ,
        cv_percent: 2.5,
        people: 41,
        trials: 4,
        design: PMC_DESIGN,
        caution: "the source's peak is the highest of the whole movement",
        source: PMC,
    },
    Cited {
        figure: "peak_propulsion_power",
        test: CMJ,
        cv_percent: 5.1,
        people: 41,
        trials: 4,
        design: PMC_DESIGN,
        caution: RANGE,
        source: PMC,
    },
    Cited {
        figure: "braking_rate_of_force_development",
        test: CMJ,
        cv_percent: 12.9,
        people: 41,
        trials: 4,
        design: PMC_DESIGN,
        caution: RATE,
        source: PMC,
    },
    Cited { figure: "flight_time", test: CMJ, cv_percent: 6.6, people: 70, trials: 1, design: MOIR_DESIGN, caution: RANGE, source: MOIR },
    Cited {
        figure: "rise_above_standing",
        test: CMJ,
        cv_percent: 6.6,
        people: 70,
        trials: 1,
        design: MOIR_DESIGN,
        caution: RANGE,
        source: MOIR,
    },
];

impl Cited {
    /// The value for a figure of a test under a protocol, where one is published. A twin per kilogram has its base
    /// figure's (*ours*: body mass hardly varies between days). Only unloaded two-leg jumps from the floor match: the sources'.
    pub fn find(figure: &str, test: &str, protocol: &str) -> Option<&'static Self> {
        let base = figure.strip_suffix(PER_KG).unwrap_or(figure);
        let field = |name: &str| protocol.split(';').find_map(|part| part.strip_prefix(name)).unwrap_or_default();
        let alike = matches!(field("load="), "" | "0.0") && field("box=").is_empty() && matches!(field("side="), "" | "both");
        CITED.iter().find(|row| alike && row.figure == base && row.test == test)
    }
    /// Variance of one session's value, on logs.
    pub fn variance(&self) -> f64 {
        let sd = ln_1p(self.cv_percent / 100.0);
        sd * sd
    }
    /// Its degrees of freedom.
    pub fn df(&self) -> f64 {
        self.people.saturating_sub(1) as f64
    }
}
