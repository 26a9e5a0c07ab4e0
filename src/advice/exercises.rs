//! Categories of exercise by the names the trade uses, what each aims at, what it demands and in which doses: data.
//! Doses are ranges in common use; where a source is named it supports the category, not the exact number.
use super::gates::Activity;
use super::qualities::QualityId;

/// One category.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exercise {
    /// Stable id.
    pub id: &'static str,
    /// Name.
    pub name: &'static str,
    /// How, in a sentence for a coach.
    pub how: &'static str,
    /// For an athlete.
    pub plain: &'static str,
    /// What it aims at; the first is its main aim.
    pub aims: &'static [QualityId],
    /// What it demands.
    pub demands: &'static [Activity],
    /// Ground contacts a repetition.
    pub contacts: u8,
    /// Sets, fewest and most.
    pub sets: (u8, u8),
    /// Repetitions, fewest and most (seconds where `seconds`).
    pub reps: (u8, u8),
    /// Repetitions are seconds.
    pub seconds: bool,
    /// Load or height to start with.
    pub load: &'static str,
    /// Box height it starts from, m; 0: none.
    pub box_m: f64,
    /// Rest between sets.
    pub rest: &'static str,
    /// What rises from week to week.
    pub progress: &'static str,
    /// Source.
    pub source: &'static str,
}

use Activity::{CalfWork, DepthJumps, Drops, HeavyLifts, LowJumps, MaximalIsometrics, MaximalJumps, OneLegJumps, Rebounds};
use QualityId::{
    BrakingForce, BrakingPower, IsometricForce, IsometricRate, Landing, LeftRight, PropulsionForce, PropulsionPower, Rebound, RepeatPower,
};

const HAFF: &str = "Haff & Triplett (eds), Essentials of Strength Training and Conditioning, 4th ed., ch. 18";
const CUSTOM: &str = "common practice, no source";

macro_rules! exercises {
    ($($id:literal $name:literal, $how:literal, $plain:literal, [$($aim:ident)*], [$($demand:ident)*], $contacts:literal contacts,
       $s0:literal-$s1:literal x $r0:literal-$r1:literal $seconds:literal, $load:literal, $box_m:literal m, $rest:literal, $progress:literal, $source:expr;)*) => {
        /// The table: within an aim, easier and lower impact first.
        pub const EXERCISES: &[Exercise] = &[$(Exercise {
            id: $id, name: $name, how: $how, plain: $plain, aims: &[$($aim),*], demands: &[$($demand),*], contacts: $contacts,
            sets: ($s0, $s1), reps: ($r0, $r1), seconds: $seconds, load: $load, box_m: $box_m, rest: $rest, progress: $progress, source: $source,
        }),*];
    };
}

exercises! {
"snap_down" "Fast drop to a stuck landing position", "From tall, drop to the depth of the jump as fast as possible and stop dead.", "From standing tall, drop quickly and stop dead.", [BrakingPower BrakingForce Landing], [LowJumps], 1 contacts, 3-5 x 3-5 false, "body mass", 0.0 m, "1–2 min", "faster drop, then a light load in the hands", CUSTOM;
"slow_lowering" "Squat with accentuated lowering", "Lower for 3 to 5 s under a heavy load, rise with help or a lighter load.", "Lower a heavy bar slowly, come up with help.", [BrakingForce IsometricForce], [HeavyLifts], 0 contacts, 3-5 x 3-5 false, "80–90 % of one-repetition maximum", 0.0 m, "3 min", "2.5–5 % of load", CUSTOM;
"altitude_landing" "Altitude landings", "Step off a box, land on both feet and hold for two seconds.", "Step off a low box, land softly, hold still for two seconds.", [BrakingForce Landing BrakingPower], [Drops], 1 contacts, 3-4 x 3-5 false, "body mass", 0.2 m, "2 min", "box by 10 cm while landings stay quiet", HAFF;
"loaded_cmj" "Loaded countermovement jumps", "Full-effort jumps with a light bar or dumbbells, to a set depth.", "Jump as high as you can holding light weights.", [PropulsionPower BrakingPower], [MaximalJumps], 1 contacts, 3-5 x 3-5 false, "10–30 % of body mass", 0.0 m, "3 min", "5 % of body mass while height holds", "Samozino et al. 2014 (idea: load moves the force–velocity point)";
"assisted_drop_jump" "Countermovement jumps with fast descent", "Cue the way down: drop as fast as possible, turn at a set depth, jump.", "Drop fast, turn, jump high.", [BrakingPower], [MaximalJumps], 1 contacts, 3-5 x 3-4 false, "body mass", 0.0 m, "2–3 min", "light load let go at the lowest point", CUSTOM;
"heavy_squat" "Heavy squat, concentric intent", "Heavy squats moved up as fast as possible.", "Heavy squats: push up as fast as you can.", [PropulsionForce IsometricForce], [HeavyLifts], 0 contacts, 3-5 x 3-5 false, "80–90 % of one-repetition maximum", 0.0 m, "3 min", "2.5–5 % of load", "Haff & Triplett (eds), 4th ed., ch. 17";
"heavy_pull" "Heavy pulls", "Pulls from the floor or mid-thigh with a heavy bar, fast intent.", "Heavy pulls from the floor or from blocks.", [PropulsionForce IsometricForce IsometricRate], [HeavyLifts], 0 contacts, 3-5 x 2-4 false, "85–100 % of the best clean or 75–85 % of the best deadlift", 0.0 m, "3 min", "2.5–5 % of load", CUSTOM;
"static_jump" "Concentric-only jumps", "Squat jumps from a held depth or from sitting on a box: no dip.", "Sit on a box, pause, jump up without rocking.", [PropulsionForce PropulsionPower], [MaximalJumps], 1 contacts, 4-6 x 2-4 false, "body mass, then 10–20 %", 0.0 m, "2–3 min", "5 % of body mass, or a deeper start", "McGuigan et al. 2006 (squat jump as the concentric test)";
"position_jumps" "Loaded jumps from several positions", "Jumps from half, quarter and deep positions, bar on the back or trap bar.", "Loaded jumps from different depths.", [PropulsionPower PropulsionForce], [MaximalJumps], 1 contacts, 3-5 x 3-4 false, "20–40 % of one-repetition maximum", 0.0 m, "3 min", "5 % of load while velocity holds", "Samozino et al. 2012, Med. Sci. Sports Exerc. 44:313 (load and velocity)";
"overcoming_isometric" "Overcoming isometrics", "Push or pull against fixed pins at the weak position for 3 to 5 s, as hard as possible.", "Push against a fixed bar as hard as you can.", [IsometricForce PropulsionForce], [MaximalIsometrics], 0 contacts, 3-5 x 3-5 true, "all-out against pins", 0.0 m, "2–3 min", "one more position, then one more set", "Comfort et al. 2019, Strength Cond. J. 41(2):57 (positions)";
"fast_isometric" "Fast isometrics", "Push against pins for one second, as fast as possible from rest.", "Push against a fixed bar: fast and hard, one second.", [IsometricRate], [MaximalIsometrics], 0 contacts, 3-5 x 3-6 false, "as fast as possible, no pre-tension", 0.0 m, "2 min", "one repetition a set", "Maffiuletti et al. 2016, Eur. J. Appl. Physiol. 116:1091 (intent to be fast)";
"light_pull" "Light fast pulls", "Pulls with a light bar at the highest velocity.", "Fast pulls with a light bar.", [IsometricRate PropulsionPower], [HeavyLifts], 0 contacts, 3-5 x 3-4 false, "50–70 % of the best clean", 0.0 m, "2–3 min", "velocity first, then 2.5 %", CUSTOM;
"calf_two" "Two-leg calf work, straight and bent knee", "Raises over a full range; hold two seconds at the top.", "Calf raises on both legs, knees straight, then bent.", [Rebound], [CalfWork], 0 contacts, 3-4 x 8-12 false, "body mass to 50 % of body mass", 0.0 m, "1–2 min", "5 % of body mass", CUSTOM;
"calf_one" "One-leg calf work, straight and bent knee", "The same on one leg, heavy, with a pause.", "Calf raises on one leg.", [Rebound LeftRight], [CalfWork], 0 contacts, 3-4 x 6-10 false, "body mass, then 10–30 %", 0.0 m, "1–2 min", "5 % of body mass", CUSTOM;
"ankle_isometric" "Isometric ankle pushes", "Push the forefoot against a fixed load, knee straight, 3 to 5 s.", "Push up on your toes against a fixed bar.", [Rebound IsometricForce], [MaximalIsometrics], 0 contacts, 3-5 x 3-5 true, "all-out against pins", 0.0 m, "2 min", "one more set", CUSTOM;
"stiff_rebounds" "Low-amplitude stiff rebounds", "Hops from the ankle, knees nearly straight, heels off, as short as possible.", "Small springy hops on both feet.", [Rebound], [Rebounds], 1 contacts, 3-5 x 6-10 false, "body mass", 0.0 m, "1–2 min", "contact time first, then height", "Flanagan & Comyns 2008, Strength Cond. J. 30(5):32";
"depth_jump" "Depth jumps from a low box", "Step off, leave the ground within 250 ms, jump high.", "Step off a low box and jump straight up again.", [Rebound BrakingPower], [Drops DepthJumps], 2 contacts, 3-4 x 3-5 false, "body mass", 0.3 m, "2–3 min", "box by 5–10 cm only while the reactive strength index holds", "Flanagan & Comyns 2008, Strength Cond. J. 30(5):32";
"one_leg_hops" "One-leg hops on the spot", "Short stiff hops on one leg, heels off.", "Small springy hops on one foot.", [Rebound LeftRight], [OneLegJumps Rebounds], 1 contacts, 2-4 x 5-8 false, "body mass", 0.0 m, "1–2 min", "contact time first, then distance", CUSTOM;
"low_landings" "Low landings and holds", "Small jump in place, land quietly, hold two seconds.", "Small jumps, land softly and freeze.", [Landing], [LowJumps], 1 contacts, 3-4 x 4-6 false, "body mass", 0.0 m, "1 min", "from forward, then from the side, then with a turn", "Lloyd 2014; Faigenbaum 2009 (landing technique first)";
"one_leg_landing" "One-leg landings", "From two legs to one, hold two seconds.", "Jump from two feet, land on one, freeze.", [Landing LeftRight], [OneLegJumps], 1 contacts, 2-4 x 3-5 false, "body mass", 0.0 m, "1–2 min", "distance", CUSTOM;
"split_squat" "Rear-foot-elevated split squat", "One-leg strength, weaker leg first and never more on the stronger.", "Split squats, the weaker leg first.", [LeftRight PropulsionForce BrakingForce], [HeavyLifts], 0 contacts, 3-4 x 5-8 false, "60–75 % of one-repetition maximum", 0.0 m, "2 min", "2.5–5 % of load", CUSTOM;
"timed_power" "Timed power sets", "Sets of jumps for 10 to 15 s at an even height, ended when height falls by 10 %.", "Keep jumping for ten seconds at the same height.", [RepeatPower], [Rebounds MaximalJumps], 1 contacts, 2-4 x 8-12 false, "body mass", 0.0 m, "3 min", "one repetition a set, then less rest", "Bosco et al. 1983 (timed set as the test)";
"cluster_power" "Power clusters", "Light loaded jumps in groups of three with 20 s between.", "Three jumps, short break, three jumps …", [RepeatPower PropulsionPower], [MaximalJumps], 1 contacts, 3-4 x 6-9 false, "10–20 % of body mass", 0.0 m, "2–3 min", "shorter breaks", CUSTOM;
}

/// A category by its id.
pub fn exercise(id: &str) -> Option<&'static Exercise> {
    EXERCISES.iter().find(|e| e.id == id)
}

/// What to do less of meanwhile, by aim: row of data, in the coach's order.
pub const REDUCE: &[(QualityId, &str)] = &[
    (BrakingForce, "Fewer jumps without a landing to hold; keep running volume level."),
    (BrakingPower, "Fewer slow lowering sets outside this plan; keep running volume level."),
    (PropulsionForce, "A third less jumping volume; heavy work comes first in the session."),
    (PropulsionPower, "Fewer sets to failure; no long runs the day before power work."),
    (Rebound, "A third less other impact: sprints, court jumps and runs on hard ground count."),
    (Landing, "Fewer jumps for height until landings are quiet."),
    (IsometricForce, "A third less jumping volume."),
    (IsometricRate, "Fewer slow sets to failure."),
    (RepeatPower, "One conditioning session a week less."),
    (LeftRight, "No extra two-leg volume meanwhile."),
];

/// Categories for an aim: main aims first, in the order of the table.
pub fn for_aim(aim: QualityId) -> Vec<&'static Exercise> {
    let main = EXERCISES.iter().filter(|e| e.aims.first() == Some(&aim));
    let side = EXERCISES.iter().filter(|e| e.aims.first() != Some(&aim) && e.aims.contains(&aim));
    main.chain(side).collect()
}

/// For someone low in everything: general strength first.
pub const GENERAL: &[&str] = &["heavy_squat", "heavy_pull", "split_squat", "calf_two", "low_landings"];
