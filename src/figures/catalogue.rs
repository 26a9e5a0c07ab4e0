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

impl Definition {
    /// For rates of force: the coefficient of variation between trials, %, above which it is shown and never scored [Comfort et
    /// al. 2019, Strength Cond. J. 41(2):57, as remembered; 15 % is custom]. None for figures without such a limit.
    pub fn scored_up_to_cv(&self) -> Option<f64> {
        (self.unit == "N/s").then_some(15.0)
    }
}

/// Ending of the twins divided by body mass.
pub const PER_KG: &str = "_per_kg";

/// The base definition of an id; a twin ending [`PER_KG`] has its base figure's.
pub fn definition(id: &str) -> Option<&'static Definition> {
    let base = id.strip_suffix(PER_KG).unwrap_or(id);
    CATALOGUE.iter().find(|d| d.id == base)
}

/// The stretch of a trial that a figure is read from: the definition's, or where the trial's kind has no such event (a drop
/// jump brakes from touchdown, a squat jump pushes from the start of its rise, the landing of a rebound jump is its second)
/// the kind's own.
pub fn stretch_in(d: &Definition, has: impl Fn(&str) -> bool) -> (&'static str, &'static str) {
    let own = |name: &'static str| match name {
        DOWN_AGAIN if d.group == "Landing" && has(DOWN_TWICE) => DOWN_TWICE,
        _ if has(name) => name,
        DOWN | START if has(ON) => ON,
        ON if has(DOWN_AGAIN) => DOWN_AGAIN,
        _ => name,
    };
    (own(d.stretch.0), own(d.stretch.1))
}

/// What a figure is and its formula, in the words of the trial's kind: where [`stretch_in`] says that it is read from another
/// event than the definition's, the words must not name that one.
pub fn words_in(d: &Definition, has: impl Fn(&str) -> bool) -> (String, String) {
    let (from, to) = stretch_in(d, &has);
    let (mut words, mut formula) = (d.definition.to_owned(), d.formula.to_owned());
    let mut put = |old: &str, new: &str| (words, formula) = (words.replace(old, new), formula.replace(old, new));
    if d.stretch.0 == DOWN && from == ON {
        put("rom fastest sinking", "rom touchdown");
        put("the fastest sinking", "the velocity at touchdown");
        put("(peak downward velocity)", "(touchdown)");
    }
    if d.stretch.0 == START && from == ON {
        put("from quiet standing", "from touchdown");
    }
    if from == START && has(LOW) && !has(DOWN) {
        put("from quiet standing", "from the held squat");
    }
    if to == DOWN_TWICE || from == DOWN_TWICE {
        put("(touchdown)", "(rebound touchdown)");
    }
    if formula.contains("onset") || formula.contains("time to take-off") {
        words += if has(LOW) && has(DOWN) { STARTS } else { starts_otherwise(has(TAUT)) };
    }
    if formula.contains("take-off)") && (formula.contains("touchdown)") || formula.contains("contact start)")) {
        words += EDGES;
    }
    (words, formula)
}

/// How the ends of a contact and of a flight are found (`movement/kinds/crossings.rs`).
const EDGES: &str = " Take-off and touchdown are where force reaches nothing: on a weighted line through the last 4 ms of its fall or the first \
     2 ms of its rise (2.5 samples at least) or, where it stops or starts at once, by how much of it the outermost sample holds.";

/// How the start of a countermovement is found (`movement/kinds/countermovement_jump.rs`).
const STARTS: &str = " The start is a rule: going back from the deepest unweighting, 30 ms before the last sample that is no further below weight than \
     five standard deviations of force in quiet standing (at least 2 N or one step of the file).";

/// The same of a squat jump and of a push or pull (`squat_jump.rs` and `isometric.rs` beside it).
#[inline(never)]
fn starts_otherwise(pull: bool) -> &'static str {
    if pull {
        " Onset is a rule: going back from the steepest rise, the last sample that is no further above the pre-tension than five standard \
         deviations of it (of quiet standing where those are larger; at least 2 N or one step of the file) [Dos'Santos et al. 2017, J. \
         Strength Cond. Res. 31:3463]."
    } else {
        " The start is a rule: going back from the steepest rise, 30 ms before the last sample that is no further above weight than five \
         standard deviations of force in the held squat (at least 2 N or one step of the file); where force dips by more than that right \
         before, 30 ms before the dip leaves the same band."
    }
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
const ON: &str = "contact_start";
const ON_AGAIN: &str = "touchdown";
const LOW_AGAIN: &str = "rebound_lowest_point";
const OFF_AGAIN: &str = "rebound_take_off";
const DOWN_TWICE: &str = "rebound_touchdown";
const SET_END: &str = "last_touchdown";
const TAUT: &str = "pre_tension_start";
const TOP: &str = "peak_force";
const RELEASE: &str = "release";
const STOOD: &str = "standing_start";
const STOOD_END: &str = "standing_end";
const OWEN: &str = "Owen et al. 2014, J. Strength Cond. Res. 28:1552 (onset)";
const FLANAGAN: &str = "Flanagan & Comyns 2008, Strength Cond. J. 30(5):32";
const BACA: &str =
    "Baca 1999, Med. Sci. Sports Exerc. 31:437; McMahon et al. 2021, Biomechanics 1(2):178; combined by inverse variance (ours)";
const CHENG: &str = "McMahon & Cheng 1990, J. Biomech. 23 S1:65; shown only where force follows the descent";
const HARPER: &str = "Harper, Hobbs & Moore 2011, The ten to five repeated jump test (five best of ten, contact up to 250 ms)";
const COMFORT: &str = "Comfort et al. 2019, Strength Cond. J. 41(2):57";
const CUSTOM: &str = "common practice, no source";

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
"flight_time" "Flight time" "s" "flight time" Higher false OFF DOWN_AGAIN "From take-off to touchdown." "t(touchdown) − t(take-off)" "ours, instead of the samples at a threshold";
"time_to_take_off" "Time to take-off" "s" "tempo" Neither false START OFF "From the start of the movement to take-off; never to be compared with values under another rule of the start." "t(take-off) − t(onset)" OWEN;
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
"landing_loading_rate" "Loading rate, landing" "N/s" "landing" Neither true DOWN_AGAIN LANDED "The steepest 20 ms between touchdown and the lowest point of landing." "max (F(t + 20 ms) − F(t)) / 20 ms" "Haff et al. 2015, J. Strength Cond. Res. 29:386 (20 ms window)";
"time_to_stabilisation" "Time to stabilisation" "s" "landing" Lower false DOWN_AGAIN LANDED "From touchdown until force stays within 5 % of weight for one second; not given when the recording ends first." "first t after which |F − W| ≤ 0.05 W for 1 s, − t(touchdown)" "Flanagan, Ebben & Jensen 2008, J. Strength Cond. Res. 22:1677";
}
"Drop and contact" {
"contact_time" "Contact time" "s" "contact" Lower false ON OFF "From touchdown out of the drop to take-off. Over 250 ms it is no fast rebound." "t(take-off) − t(contact start)" FLANAGAN;
"reactive_strength_index" "Reactive strength index" "m/s" "contact and height" Higher false ON DOWN_AGAIN "Jump height for the time on the ground before it; the document says whether height is from velocity or from flight time." "jump height / contact time" FLANAGAN;
"flight_to_contact_ratio" "Flight to contact time" "" "contact and height" Higher false ON DOWN_AGAIN "Time in the air for the time on the ground before it." "flight time / contact time" CUSTOM;
"drop_height" "Drop height" "m" "drop" Neither false ON ON "How far the centre of mass really fell, whatever the box: from its velocity at touchdown." "v(touchdown)² / 2g" BACA;
"touchdown_velocity" "Touchdown velocity" "m/s" "drop" Neither false ON ON "Downward velocity of the centre of mass as the feet meet the plates after the drop, as a magnitude." "integrated backwards from rest, and from the flight that follows, combined" BACA;
"contact_depth" "Contact depth" "m" "depth" Neither false ON LOW "How far the centre of mass sinks after touchdown before it turns." "s(touchdown) − s(lowest point)" MECHANICS;
"peak_contact_force" "Peak force, contact" "N" "contact force" Neither true ON OFF "Highest force between touchdown and take-off." "max F" CUSTOM;
"contact_stiffness" "Contact stiffness" "N/m" "stiffness" Neither true ON LOW "Force at the lowest point for the descent, as if the legs were a spring; withheld where they are not like one." "F(lowest point) / (s(touchdown) − s(lowest point))" CHENG;
}
"Rebound" {
"rebound_jump_height" "Rebound height" "m" "rebound velocity" Higher false ON_AGAIN OFF_AGAIN "How far the centre of mass rises after the rebound, from the velocity it left with." "v(rebound take-off)² / 2g" MOIR;
"rebound_jump_height_flight_time" "Rebound height from flight time" "m" "rebound flight time" Higher false OFF_AGAIN DOWN_TWICE "The height a body reaches that flies this long and lands as tall as it left." "g · (flight time)² / 8" "Asmussen & Bonde-Petersen 1974; Bosco et al. 1983";
"rebound_contact_time" "Rebound contact time" "s" "rebound contact" Lower false ON_AGAIN OFF_AGAIN "Time on the ground between the two flights." "t(rebound take-off) − t(touchdown)" FLANAGAN;
"rebound_flight_time" "Rebound flight time" "s" "rebound flight time" Higher false OFF_AGAIN DOWN_TWICE "Time in the air after the rebound." "t(rebound touchdown) − t(rebound take-off)" CUSTOM;
"rebound_reactive_strength_index" "Rebound reactive strength index" "m/s" "rebound contact and height" Higher false ON_AGAIN DOWN_TWICE "Rebound height for the time on the ground before it." "rebound height / contact time" FLANAGAN;
"rebound_flight_to_contact_ratio" "Rebound flight to contact time" "" "rebound contact and height" Higher false ON_AGAIN DOWN_TWICE "Time in the air for the time on the ground before it." "flight time / contact time" CUSTOM;
"rebound_to_jump_height_ratio" "Rebound height to jump height" "" "rebound velocity" Neither false OFF OFF_AGAIN "Height of the rebound as a part of the first jump's." "rebound height / jump height" CUSTOM;
"rebound_touchdown_velocity" "Touchdown velocity before the rebound" "m/s" "drop" Neither false ON_AGAIN ON_AGAIN "Downward velocity as the feet meet the plates after the first flight, as a magnitude." "−v(touchdown)" MECHANICS;
"rebound_take_off_velocity" "Rebound take-off velocity" "m/s" "rebound velocity" Higher false ON_AGAIN OFF_AGAIN "Upward velocity as the feet leave the plates after the rebound." "v(rebound take-off)" MECHANICS;
"rebound_contact_depth" "Rebound depth" "m" "depth" Neither false ON_AGAIN LOW_AGAIN "How far the centre of mass sinks after the first touchdown before it turns." "s(touchdown) − s(lowest point)" MECHANICS;
"rebound_braking_duration" "Braking time, rebound" "s" "rebound contact" Neither false ON_AGAIN LOW_AGAIN "From touchdown to the lowest point." "t(lowest point) − t(touchdown)" MECHANICS;
"rebound_propulsion_duration" "Propulsion time, rebound" "s" "rebound contact" Neither false LOW_AGAIN OFF_AGAIN "From the lowest point to the rebound's take-off." "t(take-off) − t(lowest point)" MECHANICS;
"rebound_mean_braking_force" "Mean force, rebound braking" "N" "rebound braking" Higher true ON_AGAIN LOW_AGAIN "Average force while the body is stopped after the first flight." "∫F dt / braking time" MECHANICS;
"rebound_mean_braking_power" "Mean power, rebound braking" "W" "rebound braking" Higher true ON_AGAIN LOW_AGAIN "Average rate at which energy is taken out of the body, as a magnitude." "−∫F·v dt / braking time" MECHANICS;
"rebound_mean_propulsion_force" "Mean force, rebound propulsion" "N" "rebound propulsion" Higher true LOW_AGAIN OFF_AGAIN "Average force while the body is driven up again." "∫F dt / propulsion time" MECHANICS;
"rebound_mean_propulsion_power" "Mean power, rebound propulsion" "W" "rebound propulsion" Higher true LOW_AGAIN OFF_AGAIN "Average rate at which energy is given to the body again." "∫F·v dt / propulsion time" MECHANICS;
"rebound_peak_contact_force" "Peak force, rebound" "N" "rebound braking" Neither true ON_AGAIN OFF_AGAIN "Highest force between the two flights." "max F" CUSTOM;
"rebound_contact_stiffness" "Contact stiffness, rebound" "N/m" "stiffness" Neither true ON_AGAIN LOW_AGAIN "Force at the lowest point for the descent, as if the legs were a spring; withheld where they are not like one." "F(lowest point) / (s(touchdown) − s(lowest point))" CHENG;
}
"Set of rebounds" {
"mean_contact_time" "Contact time, best five" "s" "contact" Lower false ON_AGAIN SET_END "Mean contact time of the five best contacts of up to 250 ms (fewer where there are fewer). The opening jump is not counted." "mean of t(take-off) − t(touchdown)" HARPER;
"mean_flight_time" "Flight time, best five" "s" "flight time" Higher false ON_AGAIN SET_END "Mean time in the air after those contacts." "mean of t(next touchdown) − t(take-off)" HARPER;
"mean_rebound_height" "Rebound height, best five" "m" "flight time" Higher false ON_AGAIN SET_END "Mean height of those rebounds, from flight time." "mean of g · (flight time)² / 8" HARPER;
"mean_reactive_strength_index" "Reactive strength index, best five" "m/s" "contact and height" Higher false ON_AGAIN SET_END "Mean of height for contact time over the five best contacts." "mean of height / contact time" HARPER;
"best_reactive_strength_index" "Reactive strength index, best one" "m/s" "contact and height" Higher false ON_AGAIN SET_END "The highest of the set; single best values drift up with the number of tries." "max of height / contact time" HARPER;
"mean_flight_to_contact_ratio" "Flight to contact time, best five" "" "contact and height" Higher false ON_AGAIN SET_END "Mean of time in the air for time on the ground." "mean of flight time / contact time" CUSTOM;
"bosco_mean_power" "Mean power from times, best five" "W/kg" "contact and height" Higher false ON_AGAIN SET_END "Mean mechanical power for each kilogram that the times of the counted rebounds imply. Half a second on and half a second off gives 24.0." "g² · T_flight · T_total / (4 · n · T_contact)" "Bosco, Luhtanen & Komi 1983, Eur. J. Appl. Physiol. 50:273";
"dalleau_stiffness" "Stiffness from times, best five" "N/m" "stiffness" Neither true ON_AGAIN SET_END "Vertical stiffness that contact and flight times imply if force rises and falls like half a sine." "m π (tf + tc) / (tc² [(tf + tc)/π − tc/4])" "Dalleau et al. 2004, Int. J. Sports Med. 25:170";
"rebound_decrement" "Decrement over the set" "%" "endurance" Lower false ON_AGAIN SET_END "How far the whole set stays below its best rebound." "100 (1 − mean index / best index)" "Glaister et al. 2008, J. Strength Cond. Res. 22:1597 (decrement score, as remembered)";
"opening_jump_height_flight_time" "Opening jump from flight time" "m" "opening jump" Neither false OFF DOWN_AGAIN "Height of the opening jump, for the record: it is not counted." "g · (flight time)² / 8" CUSTOM;
}
"Push or pull" {
"peak_force" "Peak force above weight" "N" "isometric force" Higher true START RELEASE "Highest force less the weight in standing." "max F − W" COMFORT;
"gross_peak_force" "Peak force with weight" "N" "isometric force" Higher true START RELEASE "Highest force on the plates, body weight included." "max F" COMFORT;
"time_to_peak_force" "Time to peak force" "s" "tempo" Neither false START TOP "From onset to the highest force." "t(max F) − t(onset)" COMFORT;
"pre_tension" "Pre-tension above weight" "N" "manner" Neither false TAUT START "Force above weight in the half second before the pull; should be small and steady." "mean F − W before onset" COMFORT;
"force_at_50_ms" "Force above weight at 50 ms" "N" "isometric early force" Higher true START RELEASE "Force above weight 50 ms after onset." "F(onset + 50 ms) − W" COMFORT;
"force_at_100_ms" "Force above weight at 100 ms" "N" "isometric early force" Higher true START RELEASE "Force above weight 100 ms after onset." "F(onset + 100 ms) − W" COMFORT;
"force_at_150_ms" "Force above weight at 150 ms" "N" "isometric early force" Higher true START RELEASE "Force above weight 150 ms after onset." "F(onset + 150 ms) − W" COMFORT;
"force_at_200_ms" "Force above weight at 200 ms" "N" "isometric early force" Higher true START RELEASE "Force above weight 200 ms after onset." "F(onset + 200 ms) − W" COMFORT;
"force_at_250_ms" "Force above weight at 250 ms" "N" "isometric early force" Higher true START RELEASE "Force above weight 250 ms after onset." "F(onset + 250 ms) − W" COMFORT;
"rate_of_force_development_50_ms" "Rate of force development, 0–50 ms" "N/s" "isometric rate" Higher true START RELEASE "Average rise of force over the first 50 ms." "(F(50 ms) − F(onset)) / 50 ms" COMFORT;
"rate_of_force_development_100_ms" "Rate of force development, 0–100 ms" "N/s" "isometric rate" Higher true START RELEASE "Average rise of force over the first 100 ms." "(F(100 ms) − F(onset)) / 100 ms" COMFORT;
"rate_of_force_development_150_ms" "Rate of force development, 0–150 ms" "N/s" "isometric rate" Higher true START RELEASE "Average rise of force over the first 150 ms." "(F(150 ms) − F(onset)) / 150 ms" COMFORT;
"rate_of_force_development_200_ms" "Rate of force development, 0–200 ms" "N/s" "isometric rate" Higher true START RELEASE "Average rise of force over the first 200 ms." "(F(200 ms) − F(onset)) / 200 ms" COMFORT;
"rate_of_force_development_250_ms" "Rate of force development, 0–250 ms" "N/s" "isometric rate" Higher true START RELEASE "Average rise of force over the first 250 ms." "(F(250 ms) − F(onset)) / 250 ms" COMFORT;
"peak_rate_of_force_development" "Steepest 20 ms" "N/s" "isometric rate" Higher true START TOP "The steepest 20 ms between onset and peak." "max (F(t + 20 ms) − F(t)) / 20 ms" "Haff et al. 2015, J. Strength Cond. Res. 29:386";
"impulse_100_ms" "Impulse above weight, 0–100 ms" "N·s" "isometric early force" Higher true START RELEASE "Force above weight summed over the first 100 ms." "∫(F − W) dt from onset, 100 ms long" COMFORT;
"impulse_200_ms" "Impulse above weight, 0–200 ms" "N·s" "isometric early force" Higher true START RELEASE "Force above weight summed over the first 200 ms." "∫(F − W) dt from onset, 200 ms long" COMFORT;
"impulse_300_ms" "Impulse above weight, 0–300 ms" "N·s" "isometric early force" Higher true START RELEASE "Force above weight summed over the first 300 ms." "∫(F − W) dt from onset, 300 ms long" COMFORT;
}
"Standing" {
"standing_weight" "Weight in standing" "N" "weight" Neither false STOOD STOOD_END "Mean force of quiet standing." "mean F" CUSTOM;
"standing_force_spread" "Spread of force in standing" "N" "weight" Neither false STOOD STOOD_END "Standard deviation of force in quiet standing: sway, breath, noise of the plates." "SD of F" CUSTOM;
}
"Left and right" {
"take_off_lag_right" "Right foot leaves later by" "s" "left and right" Neither false OFF OFF "How much later the right foot leaves its plate than the left (negative: earlier)." "t(right plate below threshold) − t(left plate below threshold)" "common practice, no source";
"touchdown_lag_right" "Right foot lands later by" "s" "left and right" Neither false DOWN_AGAIN DOWN_AGAIN "How much later the right foot lands than the left (negative: earlier)." "t(right plate above threshold) − t(left plate above threshold)" "common practice, no source";
}
}

/// Where the figures of each side come from: gross, since a net impulse would turn a lean into a difference.
pub const SIDES_SOURCE: &str =
    "ours: gross force of each plate, weight included; phases after McMahon et al. 2018, Strength Cond. J. 40(4):96";

/// Name and formula of the figures given for each side, by id: standing force, gross impulses and peaks per plate.
pub const SIDES: &[(&str, &str, &str)] = &[
    ("standing_force", "Standing force", "mean F of each plate over the weighing stretch"),
    ("unweighting_impulse", "Impulse, unweighting", "∫F dt of each plate over unweighting, cut on the total"),
    ("braking_impulse", "Impulse, braking", "∫F dt of each plate over braking, cut on the total"),
    ("propulsion_impulse", "Impulse, propulsion", "∫F dt of each plate over propulsion, cut on the total"),
    ("pull_impulse", "Impulse, push or pull", "∫F dt of each plate, onset to letting go"),
    ("rebound_braking_impulse", "Impulse, rebound braking", "∫F dt of each plate, touchdown to lowest point between the flights"),
    ("rebound_propulsion_impulse", "Impulse, rebound propulsion", "∫F dt of each plate, lowest point between the flights to take-off"),
    ("landing_impulse", "Impulse, landing", "∫F dt of each plate, touchdown to the lowest point of landing"),
    ("peak_braking_force", "Peak force, braking", "max F of each plate in braking"),
    ("peak_propulsion_force", "Peak force, propulsion", "max F of each plate in propulsion"),
    ("peak_pull_force", "Peak force, push or pull", "max F of each plate in the push or pull"),
    ("peak_landing_force", "Peak force, landing", "max F of each plate in landing"),
];
