//! Repeated rebound jumps: after an opening jump that is not counted, contact after contact. Everything is from times, so
//! nothing drifts over a long set.
use super::super::motion::Motion;
use super::crossings::{middle, take_off, touchdown};
use super::{Contact, Events, Inputs, Kind, NotThisKind, Phase, TestKind, Values};
use core::f64::consts::PI;

/// The kind.
pub struct ReboundJumps;

/// Longest contact of a fast rebound, s [Schmidtbleicher's fast stretch-shortening cycle, as used by Harper, Hobbs & Moore 2011].
pub const LONGEST_CONTACT_S: f64 = 0.25;
/// How many contacts a set's means are made of [Harper, Hobbs & Moore 2011: five best of ten].
const BEST: usize = 5;

const PHASES: &[Phase] = &[
    Phase { name: "opening flight", from: "take_off", to: "touchdown" },
    Phase { name: "rebounds", from: "touchdown", to: "last_touchdown" },
];

impl Kind for ReboundJumps {
    fn test(&self) -> TestKind {
        TestKind::ReboundJumps
    }
    fn phases(&self) -> &'static [Phase] {
        PHASES
    }
    fn without_velocity(&self) -> &'static [&'static str] {
        FIGURES
    }
    /// None: the set is read from its times alone.
    fn motion(&self, _force_n: &[f64], _p: &Inputs) -> Motion {
        Motion::default()
    }

    fn find(&self, force_n: &[f64], p: &Inputs, _motion: &Motion) -> Result<Events, NotThisKind> {
        let p = &averaged(p);
        let first = p.flights.first().filter(|_| p.flights.len() >= 2).ok_or(NotThisKind::NoFlight)?;
        let last = p.last_air();
        let off = p.hand("take_off").unwrap_or_else(|| take_off(force_n, p, first)) + p.shift[0];
        let down = p.hand("touchdown").unwrap_or_else(|| touchdown(force_n, p, middle(first))) + p.shift[1];
        let last_off = p.hand("last_take_off").unwrap_or_else(|| take_off(force_n, p, &last)) + p.shift[0];
        let last_down = match p.hand("last_touchdown") {
            Some(at) => at,
            None if p.lands => touchdown(force_n, p, middle(&last)),
            None => f64::NAN,
        } + p.shift[1];
        let all = vec![("take_off", off), ("touchdown", down), ("last_take_off", last_off), ("last_touchdown", last_down)];
        Ok(Events { all, signs: Vec::new() })
    }

    fn contacts(&self, force_n: &[f64], p: &Inputs, e: &Events) -> Vec<Contact> {
        let p = &averaged(p);
        let n = p.flights.len();
        let flights = p.flights.iter().enumerate().map(|(k, air)| {
            let off = match k {
                0 => e.at("take_off"),
                _ if k + 1 == n => e.at("last_take_off"),
                _ => take_off(force_n, p, air) + p.shift[0],
            };
            let down = match k {
                0 => e.at("touchdown"),
                _ if k + 1 == n => e.at("last_touchdown"),
                _ => touchdown(force_n, p, middle(air)) + p.shift[1],
            };
            (off, down)
        });
        let flights: Vec<(f64, f64)> = flights.collect();
        let mut out: Vec<Contact> = flights
            .windows(2)
            .filter_map(|w| match w {
                [a, b] => Some(Contact { touchdown: a.1, take_off: b.0, next: b.1, counted: false }),
                _ => None,
            })
            .collect();
        // The best of those quick enough, by height for contact time.
        let mut order: Vec<(usize, f64)> = out
            .iter()
            .enumerate()
            .map(|(i, c)| (i, index(c, p)))
            .filter(|(i, rsi)| rsi.is_finite() && out.get(*i).is_some_and(|c| (c.take_off - c.touchdown) / p.rate_hz <= LONGEST_CONTACT_S))
            .collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (i, _) in order.iter().take(BEST) {
            if let Some(c) = out.get_mut(*i) {
                c.counted = true;
            }
        }
        out
    }

    fn figures(&self, force_n: &[f64], _smooth_n: &[f64], p: &Inputs, e: &Events, _motion: &Motion) -> Values {
        let (g, rate) = (p.gravity, p.rate_hz);
        let contacts = self.contacts(force_n, p, e);
        let times = |c: &Contact| ((c.take_off - c.touchdown) / rate, (c.next - c.take_off) / rate);
        let best: Vec<(f64, f64)> = contacts.iter().filter(|c| c.counted).map(times).collect();
        let n = best.len() as f64;
        let mean = |of: &dyn Fn(f64, f64) -> f64| best.iter().map(|(c, f)| of(*c, *f)).sum::<f64>() / n;
        let (contact, flight) = (mean(&|c, _| c), mean(&|_, f| f));
        let mass = p.weight_n / g;
        let every: Vec<f64> = contacts.iter().map(|c| index(c, p)).filter(|v| v.is_finite()).collect();
        let highest = every.iter().copied().fold(f64::NAN, f64::max);
        let opening = (e.at("touchdown") - e.at("take_off")) / rate;
        let values = [
            contact,
            flight,
            mean(&|_, f| g * f * f / 8.0),
            mean(&|c, f| g * f * f / 8.0 / c),
            highest,
            mean(&|c, f| f / c),
            bosco_mean_power(flight * n, (flight + contact) * n, contact * n, n, g),
            mean(&|c, f| dalleau_stiffness(mass, c, f)),
            100.0 * (1.0 - every.iter().sum::<f64>() / (every.len() as f64 * highest)),
            g * opening * opening / 8.0,
        ];
        FIGURES.iter().copied().zip(values).collect()
    }

    fn why_not(&self, _id: &str, e: &Events) -> Option<&'static str> {
        Some(if e.at("last_touchdown").is_finite() {
            "no contact of 250 ms or less to count"
        } else {
            "the recording ends before the last landing, and no contact of 250 ms or less is left to count"
        })
    }
    fn last_take_off(&self) -> &'static str {
        "last_take_off"
    }
    fn last_touchdown(&self) -> &'static str {
        "last_touchdown"
    }
}

/// The crossings of single contacts are off by a part of a sampling interval each, independently: in a mean over them that
/// is less by the root of their number.
fn averaged(p: &Inputs) -> Inputs {
    let counted = (p.flights.len().saturating_sub(1)).clamp(1, BEST) as f64;
    Inputs { shift: p.shift.map(|s| s / counted.sqrt()), ..p.clone() }
}

const FIGURES: &[&str] = &[
    "mean_contact_time",
    "mean_flight_time",
    "mean_rebound_height",
    "mean_reactive_strength_index",
    "best_reactive_strength_index",
    "mean_flight_to_contact_ratio",
    "bosco_mean_power",
    "dalleau_stiffness",
    "rebound_decrement",
    "opening_jump_height_flight_time",
];

/// Height from flight time for contact time, m/s.
fn index(c: &Contact, p: &Inputs) -> f64 {
    let (contact, flight) = ((c.take_off - c.touchdown) / p.rate_hz, (c.next - c.take_off) / p.rate_hz);
    p.gravity * flight * flight / 8.0 / contact
}

/// Mean power of a set, W/kg: `g²·T_f·T_t / (4·n·T_c)` of total flight, total and total contact time, s
/// [Bosco, Luhtanen & Komi 1983, Eur. J. Appl. Physiol. 50:273]. Half a second each gives 24.0.
pub fn bosco_mean_power(flight_s: f64, total_s: f64, contact_s: f64, jumps: f64, gravity: f64) -> f64 {
    gravity * gravity * flight_s * total_s / (4.0 * jumps * contact_s)
}

/// Vertical stiffness from contact and flight time, N/m, exact for a half-sine of force: `K = mπ(t_f+t_c) /
/// (t_c²[(t_f+t_c)/π − t_c/4])` [Dalleau et al. 2004, Int. J. Sports Med. 25:170].
pub fn dalleau_stiffness(mass_kg: f64, contact_s: f64, flight_s: f64) -> f64 {
    let both = flight_s + contact_s;
    mass_kg * PI * both / (contact_s * contact_s * (both / PI - contact_s / 4.0))
}
