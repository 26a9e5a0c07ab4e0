//! The figures that a perfect reading of a scene finds: exact from the closed forms by Newton's law, conservation of
//! energy and of momentum; only peaks are searched, on a grid of 0.1 ms (a peak 3000 N high and 0.2 s wide is missed by less than 0.01 N). Identities are the catalogue's.
use super::path::G;
use super::scene::{Contact, Scene};
use crate::answer::TestKind;

/// Figure id and true value, SI; empty where the scene is no trial.
pub fn truths(scene: &Scene) -> Vec<(&'static str, f64)> {
    match scene.test {
        Some(TestKind::CountermovementJump | TestKind::CountermovementReboundJump | TestKind::ReboundJumps) => {
            let mut out = countermovement(scene);
            match scene.test {
                Some(TestKind::CountermovementJump) => out.extend(landing(scene)),
                Some(TestKind::CountermovementReboundJump) => out.extend(rebound(scene)),
                _ => {}
            }
            out
        }
        Some(TestKind::SquatJump) => {
            let (start, to) = (scene.event("movement_start"), scene.event("take_off"));
            let mut out = flight(scene, to, scene.event("touchdown"));
            out.extend(propulsion(scene, start, to));
            out.extend(landing(scene));
            out
        }
        Some(TestKind::DropJump) => drop_jump(scene),
        Some(TestKind::DropLanding) => {
            let v = scene.at(scene.event("touchdown"))[1];
            let mut out = vec![("drop_height", v * v / 2.0 / G), ("touchdown_velocity", -v)];
            out.extend(landing(scene));
            out
        }
        Some(TestKind::Isometric) => isometric(scene),
        _ => Vec::new(),
    }
}

/// Per contact that ends in a take-off: contact time and flight time after it, s, height and reactive strength index.
pub fn contact_truths(scene: &Scene) -> Vec<[f64; 4]> {
    let after = |k: usize| scene.contacts.get(k + 1).map(|c| c.touchdown_s);
    let each = |(k, c): (usize, &Contact)| {
        let (to, next) = (c.take_off_s?, after(k)?);
        let (contact, flight) = (to - c.touchdown_s, next - to);
        let v = scene.at(to)[1];
        Some([contact, flight, v * v / 2.0 / G, v * v / 2.0 / G / contact])
    };
    scene.contacts.iter().enumerate().filter_map(each).collect()
}

fn flight(scene: &Scene, take_off_s: f64, touchdown_s: f64) -> Vec<(&'static str, f64)> {
    let [_, v, s] = scene.at(take_off_s);
    let (height, flight) = (v * v / 2.0 / G, touchdown_s - take_off_s);
    vec![
        ("jump_height", height),
        ("jump_height_flight_time", G * flight * flight / 8.0),
        ("rise_above_standing", s + height),
        ("take_off_velocity", v),
        ("take_off_displacement", s),
        ("flight_time", flight),
    ]
}

/// Mean force, mean power, work, mean velocity, net impulse between two instants on the plate.
fn phase(scene: &Scene, from: f64, to: f64) -> [f64; 5] {
    let (m, length) = (scene.mass_kg, to - from);
    let ([_, v0, s0], [_, v1, s1]) = (scene.at(from), scene.at(to));
    let net = m * (v1 - v0);
    let work = 0.5 * m * (v1 * v1 - v0 * v0) + m * G * (s1 - s0);
    [net / length + m * G, work / length, work, (s1 - s0) / length, net]
}

/// Largest value of a curve between two instants.
fn largest(from: f64, to: f64, of: impl Fn(f64) -> f64) -> f64 {
    let n = ((to - from) / 1e-4).ceil().max(1.0) as usize;
    (0..=n).map(|i| of(from + (to - from) * i as f64 / n as f64)).fold(f64::MIN, f64::max)
}

fn force(scene: &Scene, t: f64) -> f64 {
    scene.mass_kg * (scene.at(t)[0] + G)
}

fn braking(scene: &Scene, from: f64, low: f64) -> Vec<(&'static str, f64)> {
    let [mean_force, mean_power, work, mean_velocity, net] = phase(scene, from, low);
    vec![
        ("braking_duration", low - from),
        ("mean_braking_force", mean_force),
        ("peak_braking_force", largest(from, low, |t| force(scene, t))),
        ("mean_braking_power", -mean_power),
        ("braking_work", -work),
        ("mean_braking_velocity", -mean_velocity),
        ("net_braking_impulse", net),
        ("force_at_lowest_point", force(scene, low)),
    ]
}

fn propulsion(scene: &Scene, low: f64, to: f64) -> Vec<(&'static str, f64)> {
    let [mean_force, mean_power, work, mean_velocity, net] = phase(scene, low, to);
    vec![
        ("propulsion_duration", to - low),
        ("mean_propulsion_force", mean_force),
        ("peak_propulsion_force", largest(low, to, |t| force(scene, t))),
        ("mean_propulsion_power", mean_power),
        ("peak_propulsion_power", largest(low, to, |t| force(scene, t) * scene.at(t)[1])),
        ("propulsion_work", work),
        ("mean_propulsion_velocity", mean_velocity),
        ("net_propulsion_impulse", net),
    ]
}

fn countermovement(scene: &Scene) -> Vec<(&'static str, f64)> {
    let [down, low, to] = ["peak_downward_velocity", "lowest_point", "take_off"].map(|name| scene.event(name));
    let touchdown = scene.contacts.first().map_or(f64::NAN, |c| c.touchdown_s);
    let mut out = flight(scene, to, touchdown);
    let ([_, v_down, s_down], [.., s_low]) = (scene.at(down), scene.at(low));
    out.push(("countermovement_depth", -s_low));
    out.push(("peak_downward_velocity", -v_down));
    out.push(("braking_slope_stiffness", (force(scene, low) - scene.weight_n()) / (s_down - s_low)));
    out.extend(braking(scene, down, low));
    out.extend(propulsion(scene, low, to));
    out
}

fn landing(scene: &Scene) -> Vec<(&'static str, f64)> {
    let Some(last) = scene.contacts.last() else { return Vec::new() };
    let (from, low) = (last.touchdown_s, last.lowest_point_s);
    vec![
        ("landing_depth", scene.at(from)[2] - scene.at(low)[2]),
        ("landing_duration", low - from),
        ("peak_landing_force", largest(from, low, |t| force(scene, t))),
        ("mean_landing_force", phase(scene, from, low)[0]),
    ]
}

fn drop_jump(scene: &Scene) -> Vec<(&'static str, f64)> {
    let [td, low, to, next] = ["contact_start", "lowest_point", "take_off", "touchdown"].map(|name| scene.event(name));
    let mut out = flight(scene, to, next);
    let v = scene.at(td)[1];
    let contact = to - td;
    let height = scene.at(to)[1] * scene.at(to)[1] / 2.0 / G;
    out.push(("drop_height", v * v / 2.0 / G));
    out.push(("touchdown_velocity", -v));
    out.push(("contact_time", contact));
    out.push(("reactive_strength_index", height / contact));
    out.push(("flight_to_contact_ratio", (next - to) / contact));
    out.push(("contact_stiffness", force(scene, low) / (scene.at(td)[2] - scene.at(low)[2])));
    out.extend(braking(scene, td, low));
    out.extend(propulsion(scene, low, to));
    out
}

fn rebound(scene: &Scene) -> Vec<(&'static str, f64)> {
    let [td, low, to, next] = ["touchdown", "rebound_lowest_point", "rebound_take_off", "rebound_touchdown"].map(|name| scene.event(name));
    let ([_, v_td, s_td], [_, v_to, _], [.., s_low]) = (scene.at(td), scene.at(to), scene.at(low));
    let (height, contact) = (v_to * v_to / 2.0 / G, to - td);
    let ([braking, brake_power, ..], [propulsion, push_power, ..]) = (phase(scene, td, low), phase(scene, low, to));
    let mut out = vec![
        ("rebound_jump_height", height),
        ("rebound_jump_height_flight_time", G * (next - to) * (next - to) / 8.0),
        ("rebound_contact_time", contact),
        ("rebound_flight_time", next - to),
        ("rebound_reactive_strength_index", height / contact),
        ("rebound_touchdown_velocity", -v_td),
        ("rebound_take_off_velocity", v_to),
        ("rebound_contact_depth", s_td - s_low),
        ("rebound_braking_duration", low - td),
        ("rebound_propulsion_duration", to - low),
        ("rebound_mean_braking_force", braking),
        ("rebound_mean_braking_power", -brake_power),
        ("rebound_mean_propulsion_force", propulsion),
        ("rebound_mean_propulsion_power", push_power),
    ];
    out.extend(landing(scene));
    out
}

fn isometric(scene: &Scene) -> Vec<(&'static str, f64)> {
    let Some(pull) = &scene.pull else { return Vec::new() };
    let at = |ms: f64| pull.net_n(pull.start_s + ms / 1000.0);
    let rate = |ms: f64| (at(ms) - at(0.0)) / (ms / 1000.0);
    vec![
        ("peak_force", pull.largest_n()),
        ("force_at_50_ms", at(50.0)),
        ("force_at_100_ms", at(100.0)),
        ("force_at_150_ms", at(150.0)),
        ("force_at_200_ms", at(200.0)),
        ("force_at_250_ms", at(250.0)),
        ("rate_of_force_development_50_ms", rate(50.0)),
        ("rate_of_force_development_100_ms", rate(100.0)),
        ("rate_of_force_development_150_ms", rate(150.0)),
        ("rate_of_force_development_200_ms", rate(200.0)),
        ("rate_of_force_development_250_ms", rate(250.0)),
        ("peak_rate_of_force_development", pull.steepest_n_s(0.02)),
        ("impulse_100_ms", pull.impulse_n_s(0.1)),
        ("impulse_200_ms", pull.impulse_n_s(0.2)),
        ("impulse_300_ms", pull.impulse_n_s(0.3)),
    ]
}
