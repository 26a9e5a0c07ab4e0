//! Every figure's definition, so that "why this number?" needs no second text.

/// Which way is better, where the field agrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
    /// Never scored.
    Neither,
}

/// One figure's definition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Definition {
    /// Stable id, as in the document.
    pub id: &'static str,
    /// Name shown to a person.
    pub name: &'static str,
    /// SI unit; `""` for ratios.
    pub unit: &'static str,
    /// Figures of one family are tied by identities and count as one observation.
    pub family: &'static str,
    /// Heading it stands under: "Jump", "Manner", "Braking", "Propulsion", "Landing", "Left and right".
    pub group: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Whether it has a twin `…_per_kg`, divided by body mass.
    pub per_kg: bool,
    /// What it is, in words.
    pub definition: &'static str,
    /// How it is computed.
    pub formula: &'static str,
    /// Where the definition comes from.
    pub source: &'static str,
    /// The stretch of the trace it is read from: event names from, to.
    pub stretch: (&'static str, &'static str),
}

/// Ending of the twins divided by body mass.
pub const PER_KG: &str = "_per_kg";

/// The base definition of an id; a twin ending [`PER_KG`] has its base figure's.
pub fn definition(id: &str) -> Option<&'static Definition> {
    let base = id.strip_suffix(PER_KG).unwrap_or(id);
    CATALOGUE.iter().find(|d| d.id == base)
}

const MCMAHON: &str = "McMahon et al. 2018, Strength Cond. J. 40(4):96";
const MOIR: &str = "Moir 2008, Meas. Phys. Educ. Exerc. Sci. 12:207";
const MECHANICS: &str = "Newton's second law; phases after McMahon et al. 2018, Strength Cond. J. 40(4):96";
const START: &str = "onset";
const DOWN: &str = "peak_downward_velocity";
const LOW: &str = "lowest_point";
const OFF: &str = "take_off";
const DOWN_AGAIN: &str = "touchdown";
const LANDED: &str = "landing_end";

macro_rules! figures {
    ($($group:literal { $($id:literal $name:literal $unit:literal $family:literal $better:ident $per_kg:literal $from:ident $to:ident $definition:literal $formula:literal $source:expr;)* })*) => {
        /// The catalogue, in the order shown.
        pub const CATALOGUE: &[Definition] = &[$($(Definition {
            id: $id, name: $name, unit: $unit, family: $family, group: $group, better: Better::$better, per_kg: $per_kg,
            definition: $definition, formula: $formula, source: $source, stretch: ($from, $to),
        },)*)*];
    };
}

figures! {
"Jump" {
"jump_height" "Jump height" "m" "take-off velocity" Higher false START OFF "How far the centre of mass rises after take-off, from the velocity it left with." "v(take-off)² / 2g" MOIR;
"jump_height_flight_time" "Jump height from flight time" "m" "flight time" Higher false OFF DOWN_AGAIN "The height a body reaches that flies this long and lands as tall as it left. Landing with bent legs makes it too high." "g · (flight time)² / 8" "Asmussen & Bonde-Petersen 1974; Bosco et al. 1983";
"rise_above_standing" "Rise above standing" "m" "take-off velocity" Higher false START OFF "How far the centre of mass rises above quiet standing: the stretch onto the toes and the flight together." "s(take-off) + v(take-off)² / 2g" MOIR;
"take_off_velocity" "Take-off velocity" "m/s" "take-off velocity" Higher false START OFF "Upward velocity of the centre of mass as the feet leave the plates." "∫ (F − W)/m dt from quiet standing to take-off" "Linthorne 2001, Am. J. Phys. 69:1198";
"take_off_displacement" "Take-off displacement" "m" "posture" Neither false START OFF "How much higher the centre of mass is at take-off than in standing. Adults reach 5 to 20 cm; outside that, doubt the weighing." "∫ v dt from quiet standing to take-off" MOIR;
"flight_time" "Flight time" "s" "flight time" Higher false OFF DOWN_AGAIN "From take-off to touchdown." "t(touchdown) − t(take-off)" "McMahon et al. 2018, Strength Cond. J. 40(4):96 (threshold of five standard deviations of force in flight)";
"time_to_take_off" "Time to take-off" "s" "tempo" Neither false START OFF "From the start of the movement to take-off. The start is a rule, so values under different rules are never compared." "t(take-off) − t(onset)" "Owen et al. 2014, J. Strength Cond. Res. 28:1552 (onset)";
"reactive_strength_index_modified" "Reactive strength index, modified" "m/s" "tempo and height" Higher false START OFF "Jump height for the time taken to produce it." "jump height / time to take-off" "Ebben & Petushek 2010, J. Strength Cond. Res. 24:1983";
"flight_to_contraction_ratio" "Flight to contraction time" "" "tempo and height" Higher false START DOWN_AGAIN "Time in the air for the time taken to produce it." "flight time / time to take-off" "common practice, no source";
}
"Manner" {
"countermovement_depth" "Countermovement depth" "m" "depth" Neither false START LOW "How far the centre of mass sinks below standing." "−s(lowest point)" MCMAHON;
"peak_downward_velocity" "Peak downward velocity" "m/s" "tempo" Neither false START DOWN "Fastest sinking." "−min v before the lowest point" MCMAHON;
"unweighting_duration" "Unweighting time" "s" "tempo" Neither false START DOWN "From the start of the movement to fastest sinking, while force is below weight." "t(peak downward velocity) − t(onset)" MCMAHON;
"braking_duration" "Braking time" "s" "tempo" Neither false DOWN LOW "From fastest sinking to the lowest point." "t(lowest point) − t(peak downward velocity)" MCMAHON;
"propulsion_duration" "Propulsion time" "s" "tempo" Neither false LOW OFF "From the lowest point to take-off." "t(take-off) − t(lowest point)" MCMAHON;
}
"Braking" {
"mean_braking_force" "Mean force, braking" "N" "braking force" Higher true DOWN LOW "Average force while the body is stopped on its way down." "∫F dt / braking time" MCMAHON;
"peak_braking_force" "Peak force, braking" "N" "braking force" Higher true DOWN LOW "Highest force before the lowest point." "max F" MCMAHON;
"mean_braking_power" "Mean power, braking" "W" "braking power" Higher true DOWN LOW "Average rate at which energy is taken out of the body, as a magnitude." "−∫F·v dt / braking time" MECHANICS;
"peak_braking_power" "Peak power, braking" "W" "braking power" Higher true DOWN LOW "Highest rate at which energy is taken out, as a magnitude." "max −F·v" MECHANICS;
"braking_work" "Work, braking" "J" "braking power" Neither true DOWN LOW "Energy taken out while braking, as a magnitude." "−∫F·v dt" MECHANICS;
"mean_braking_velocity" "Mean velocity, braking" "m/s" "tempo" Neither false DOWN LOW "Average sinking velocity while braking, as a magnitude." "(s(peak downward velocity) − s(lowest point)) / braking time" MECHANICS;
"net_braking_impulse" "Net impulse, braking" "N·s" "tempo" Neither true DOWN LOW "Force above weight, summed over braking: mass times the fastest sinking." "∫(F − W) dt" MECHANICS;
"braking_rate_of_force_development" "Rate of force development, braking" "N/s" "braking force" Higher true DOWN LOW "Average rise of force from fastest sinking to the lowest point; withheld when force falls in between." "(F(lowest point) − W) / braking time" MCMAHON;
"braking_slope_stiffness" "Slope of force over depth, braking" "N/m" "braking force" Neither true DOWN LOW "Rise of force for each metre of sinking while braking; a slope, not a spring." "(F(lowest point) − W) / (s(peak downward velocity) − s(lowest point))" "McMahon & Cheng 1990, J. Biomech. 23 S1:65 (idea)";
"force_at_lowest_point" "Force at the lowest point" "N" "braking force" Higher true LOW LOW "Force as the body turns from down to up." "F at v = 0" MCMAHON;
}
"Propulsion" {
"mean_propulsion_force" "Mean force, propulsion" "N" "propulsion force" Higher true LOW OFF "Average force while the body is driven up." "∫F dt / propulsion time" MCMAHON;
"peak_propulsion_force" "Peak force, propulsion" "N" "propulsion force" Higher true LOW OFF "Highest force between the lowest point and take-off." "max F" MCMAHON;
"mean_propulsion_power" "Mean power, propulsion" "W" "propulsion power" Higher true LOW OFF "Average rate at which energy is given to the body." "∫F·v dt / propulsion time" MECHANICS;
"peak_propulsion_power" "Peak power, propulsion" "W" "propulsion power" Higher true LOW OFF "Highest rate at which energy is given to the body." "max F·v" MECHANICS;
"propulsion_work" "Work, propulsion" "J" "take-off velocity" Higher true LOW OFF "Energy given to the body from the lowest point to take-off." "∫F·v dt" MECHANICS;
"mean_propulsion_velocity" "Mean velocity, propulsion" "m/s" "take-off velocity" Neither false LOW OFF "Average rising velocity." "(s(take-off) − s(lowest point)) / propulsion time" MECHANICS;
"net_propulsion_impulse" "Net impulse, propulsion" "N·s" "take-off velocity" Higher true LOW OFF "Force above weight, summed over propulsion: mass times take-off velocity." "∫(F − W) dt" MECHANICS;
"force_at_peak_power" "Force at peak power" "N" "propulsion power" Neither true LOW OFF "Force at the instant of highest power." "F where F·v is highest" MECHANICS;
"velocity_at_peak_power" "Velocity at peak power" "m/s" "propulsion power" Neither false LOW OFF "Velocity at the instant of highest power." "v where F·v is highest" MECHANICS;
"peak_upward_velocity" "Peak upward velocity" "m/s" "take-off velocity" Neither false LOW OFF "Fastest rising, shortly before take-off." "max v before take-off" MCMAHON;
"push_off_distance" "Push-off distance" "m" "posture" Neither false LOW OFF "How far the centre of mass is driven up before take-off." "s(take-off) − s(lowest point)" "Samozino et al. 2008, J. Biomech. 41:2940";
"mean_propulsion_force_over_distance" "Mean force over the push-off distance" "N" "propulsion force" Neither true LOW OFF "Work of the push for each metre of it: the force that a force–velocity line is drawn through." "∫F ds / push-off distance" "Samozino et al. 2012, Med. Sci. Sports Exerc. 44:313";
}
"Landing" {
"peak_landing_force" "Peak force, landing" "N" "landing" Neither true DOWN_AGAIN LANDED "Highest force from touchdown to the lowest point of landing." "max F" MCMAHON;
"mean_landing_force" "Mean force, landing" "N" "landing" Neither true DOWN_AGAIN LANDED "Average force from touchdown to the lowest point of landing." "∫F dt / landing time" MCMAHON;
"time_to_peak_landing_force" "Time to peak force, landing" "s" "landing" Neither false DOWN_AGAIN LANDED "From touchdown to the highest force." "t(max F) − t(touchdown)" "common practice, no source";
"landing_duration" "Landing time" "s" "landing" Neither false DOWN_AGAIN LANDED "From touchdown until the body stops sinking." "t(v = 0) − t(touchdown)" MCMAHON;
"landing_depth" "Landing depth" "m" "landing" Neither false DOWN_AGAIN LANDED "How far the centre of mass sinks after touchdown." "s(touchdown) − s(v = 0)" MCMAHON;
"time_to_stabilisation" "Time to stabilisation" "s" "landing" Lower false DOWN_AGAIN LANDED "From touchdown until force stays within 5 % of weight for one second; not given when the recording ends first." "first t after which |F − W| ≤ 0.05 W for 1 s, − t(touchdown)" "Flanagan, Ebben & Jensen 2008, J. Strength Cond. Res. 22:1677";
}
"Left and right" {
"take_off_lag_right" "Right foot leaves later by" "s" "left and right" Neither false OFF OFF "How much later the right foot leaves its plate than the left (negative: earlier)." "t(right plate below threshold) − t(left plate below threshold)" "common practice, no source";
"touchdown_lag_right" "Right foot lands later by" "s" "left and right" Neither false DOWN_AGAIN DOWN_AGAIN "How much later the right foot lands than the left (negative: earlier)." "t(right plate above threshold) − t(left plate above threshold)" "common practice, no source";
}
}

/// Name and formula of the figures given for each side, by id: standing force, gross impulses and peaks per plate.
pub const SIDES: &[(&str, &str, &str)] = &[
    ("standing_force", "Standing force", "mean F of each plate over the weighing stretch"),
    ("unweighting_impulse", "Impulse, unweighting", "∫F dt of each plate, onset to peak downward velocity"),
    ("braking_impulse", "Impulse, braking", "∫F dt of each plate, peak downward velocity to lowest point"),
    ("propulsion_impulse", "Impulse, propulsion", "∫F dt of each plate, lowest point to take-off"),
    ("landing_impulse", "Impulse, landing", "∫F dt of each plate, touchdown to the lowest point of landing"),
    ("peak_braking_force", "Peak force, braking", "max F of each plate in braking"),
    ("peak_propulsion_force", "Peak force, propulsion", "max F of each plate in propulsion"),
    ("peak_landing_force", "Peak force, landing", "max F of each plate in landing"),
];
