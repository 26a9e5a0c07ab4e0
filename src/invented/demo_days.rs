//! The demo squad's test days as files: three trials of a test stand in one recording, as a coach records them, and all
//! of it goes the way of any other file. One file's text is made when it is asked for, so that only one is ever held.
use super::demo_people::{Made, PEOPLE, Person, Visits, days};
use super::kinds::drop::Drop;
use super::kinds::isometric::Isometric;
use super::kinds::rebounds::{Bounce, Rebounds};
use super::kinds::squat_jump::SquatJump;
use super::kinds::standing::quiet_standing;
use super::{DemoFile, Jump, Plates, Random, Rise, Scene, Sway};
use crate::answer::{Options, TestKind};
use crate::force::math::exp;
use crate::people::Date;
use core::fmt::Write;

/// How the names of the squad's files are read.
pub const DEMO_PATTERN: &str = "{athlete}_{date}[_{test}][_{load}][_{box}][_{side}]";

/// One recording still to be made.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Plan {
    person: &'static Person,
    /// Which of the days, 0 … 3.
    visit: usize,
    date: Date,
    what: What,
}

/// What is in a recording.
#[derive(Debug, Clone, Copy, PartialEq)]
enum What {
    /// Two countermovement jumps and one from a held squat: a first day.
    First,
    /// One pull: a first day.
    FirstPull,
    /// Three countermovement jumps and three from a held squat.
    Jumps,
    /// Three isometric pulls.
    Pulls,
    /// Three drop jumps from a box, m.
    Drops(f64),
    /// A drop landing.
    Landing,
    /// A set of ten rebounds.
    Rebounds,
    /// A countermovement jump that rebounds.
    Rebound,
    /// A jump under a load, part of body mass.
    Loaded(f64),
    /// Three jumps on one leg: share of the right.
    OneLeg(f64),
    /// Quiet standing.
    Standing,
}

/// Who does more than everybody does, so that every kind of test is in the squad. Not more than five do any of them: a
/// test that few do makes no group.
const MORE: &[(&str, &[What])] = &[
    ("Invented Alder", &[What::Standing, What::Rebounds]),
    ("Invented Birch", &[What::Loaded(0.25), What::Loaded(0.5), What::Loaded(0.75), What::Loaded(1.0)]),
    ("Invented Hazel", &[What::Rebounds, What::Rebound]),
    ("Invented Rowan", &[What::Drops(0.20), What::Drops(0.30), What::Drops(0.40)]),
    ("Invented Myrtle", &[What::Drops(0.30)]),
    ("Invented Laurel", &[What::OneLeg(0.0), What::OneLeg(1.0)]),
    ("Invented Olive", &[What::Landing]),
];

fn plans(today: Date) -> Vec<Plan> {
    let dates = days(today);
    let mut out = Vec::new();
    for person in PEOPLE {
        let mut add = |visit: usize, what: What| {
            if let Some(date) = dates.get(visit) {
                out.push(Plan { person, visit, date: *date, what });
            }
        };
        if person.visits != Visits::Once {
            add(0, What::First);
            add(0, What::FirstPull);
            add(1, What::Jumps);
            add(1, What::Pulls);
        }
        add(2, What::Jumps);
        add(2, What::Pulls);
        for what in MORE.iter().filter(|m| m.0 == person.name).flat_map(|m| m.1) {
            add(2, *what);
        }
        if person.visits == Visits::Again {
            add(3, What::Jumps);
            add(3, What::Pulls);
        }
    }
    out
}

/// How many files the squad has.
pub fn demo_day_count() -> usize {
    plans(Date(0)).len()
}

/// The squad's files, athlete by athlete; the days lie before `today`. Each text is made as the iterator reaches it.
pub fn demo_days(today: Date) -> impl Iterator<Item = DemoFile> {
    plans(today).into_iter().enumerate().filter_map(|(i, plan)| plan.file(i as u64))
}

/// Noise that never goes far: even over ± √3 times its SD.
fn noise(random: &mut Random, sd: f64) -> f64 {
    1.0 + sd * 3.0_f64.sqrt() * random.between(-1.0, 1.0)
}

/// What a day makes of an athlete, in the units of the tests.
struct Form {
    mass_kg: f64,
    jump_m: f64,
    depth_m: f64,
    down_m_s: f64,
    squat_m: f64,
    squat_depth_m: f64,
    pull_n_kg: f64,
    rise_s: f64,
    settle_s: f64,
    right: f64,
}

impl Form {
    /// The athlete on a day, with that day's noise. Between-day and trial noise are of the size of published between-day
    /// values for these figures; from memory.
    fn on(plan: &Plan, random: &mut Random) -> Self {
        let Person { made, mass_kg, right, .. } = *plan.person;
        let Made { jump, depth, down, squat, mut pull, rate, landing } = made;
        // What the block of those who come again was for.
        if plan.visit == 3 {
            pull += 2.0;
        }
        let pull_n_kg = (24.0 + 2.6 * pull) * noise(random, 0.035);
        Self {
            mass_kg: mass_kg * noise(random, 0.004),
            jump_m: (0.33 + 0.034 * jump) * noise(random, 0.012),
            depth_m: (0.31 + 0.022 * depth) * noise(random, 0.015),
            down_m_s: (1.22 + 0.08 * down) * noise(random, 0.015),
            squat_m: (0.30 + 0.032 * squat) * noise(random, 0.012),
            squat_depth_m: (0.33 + 0.022 * depth) * noise(random, 0.015),
            pull_n_kg,
            // A stronger pull rises as fast per kg as a weaker one where its time constant grows with it.
            rise_s: 0.12 * (24.0 + 2.6 * pull) / 24.0 * exp(-0.16 * rate) * noise(random, 0.06),
            settle_s: 0.8 * exp(-0.16 * landing) * noise(random, 0.05),
            right: right + 0.004 * (noise(random, 1.0) - 1.0),
        }
    }

    fn share(&self, random: &mut Random) -> f64 {
        self.right + 0.005 * (noise(random, 1.0) - 1.0)
    }

    fn jump(&self, random: &mut Random, quiet_s: f64) -> Option<Scene> {
        let share = self.share(random);
        let mut jump = Jump {
            mass_kg: self.mass_kg,
            height_m: self.jump_m * noise(random, 0.015),
            depth_m: self.depth_m * noise(random, 0.02),
            down_m_s: self.down_m_s * noise(random, 0.02),
            share_right: [0.5 + 0.5 * (share - 0.5), share, share, share, share],
            quiet_s,
            ..Jump::default()
        };
        let settle_s = self.settle_s * noise(random, 0.06);
        jump.after_s = settle_s + 1.6;
        // A high jump needs a fast way down: nobody wishes for the impossible twice.
        let mut scene = jump.scene();
        for _ in 0..12 {
            if scene.is_some() {
                break;
            }
            jump.down_m_s *= 1.02;
            scene = jump.scene();
        }
        let mut scene = scene?;
        // After the landing the body sways until it has settled.
        let end_s = scene.end_s();
        let stood_s = end_s - jump.after_s;
        scene.sway.push(Sway { from_s: stood_s, to_s: stood_s + settle_s, size_m_s2: 0.6, turns: [1.0, 2.0] });
        if let Some(rest) = scene.rests.last_mut() {
            *rest = (stood_s + settle_s, end_s);
        }
        Some(scene)
    }

    fn squat(&self, random: &mut Random) -> Option<Scene> {
        SquatJump {
            mass_kg: self.mass_kg,
            height_m: self.squat_m * noise(random, 0.015),
            depth_m: self.squat_depth_m * noise(random, 0.02),
            hold_s: 1.2,
            quiet_s: 0.8,
            after_s: 1.6,
            share_right: self.share(random),
            ..SquatJump::default()
        }
        .scene()
    }

    fn pull(&self, random: &mut Random, quiet_s: f64) -> Scene {
        Isometric {
            mass_kg: self.mass_kg,
            peak_n: self.pull_n_kg * self.mass_kg * noise(random, 0.04),
            rise: Rise::Exponential(self.rise_s * noise(random, 0.07)),
            quiet_s,
            ready_s: 1.2,
            hold_s: 1.8,
            after_s: 1.2,
            share_right: self.share(random),
            ..Isometric::default()
        }
        .scene()
    }

    fn drop(&self, random: &mut Random, box_m: f64, rebounds: bool, stood_s: f64) -> Option<Scene> {
        Drop {
            mass_kg: self.mass_kg,
            box_m,
            drop_m: box_m * random.between(0.92, 1.0),
            // Deeper drops cost contact time, so that the best drop lies in the middle.
            contact_s: (0.2 + 0.25 * (box_m - 0.3).max(0.0)) * noise(random, 0.02),
            rebound_m: rebounds.then(|| 0.9 * self.jump_m * noise(random, 0.02)),
            stood_s,
            after_s: 2.0,
            share_right: self.share(random),
            ..Drop::default()
        }
        .scene()
    }

    fn rebounds(&self, random: &mut Random, n: usize) -> Option<Scene> {
        let one = |_| Bounce { contact_s: 0.2 * noise(random, 0.025), height_m: 0.8 * self.jump_m * noise(random, 0.03) };
        let bounces = (0..n).map(one).collect();
        Rebounds { mass_kg: self.mass_kg, opening_m: self.jump_m * 0.9, bounces, share_right: self.right, ..Rebounds::default() }.scene()
    }

    fn loaded(&self, part: f64) -> Option<Scene> {
        let load_kg = load_kg(self.mass_kg, part);
        let jump = Jump {
            mass_kg: self.mass_kg + load_kg,
            height_m: self.jump_m * self.mass_kg / (self.mass_kg + 1.1 * load_kg),
            depth_m: self.depth_m,
            down_m_s: self.down_m_s * (1.0 - 0.25 * part),
            share_right: [self.right; 5],
            ..Jump::default()
        };
        Some(Scene { load_kg, ..jump.scene()? })
    }

    fn one_leg(&self, random: &mut Random, right: f64) -> Option<Scene> {
        let part = if right > 0.5 { 0.46 } else { 0.5 };
        Jump {
            mass_kg: self.mass_kg,
            height_m: self.jump_m * part * noise(random, 0.02),
            depth_m: 0.18,
            down_m_s: 0.75,
            share_right: [right; 5],
            ..Jump::default()
        }
        .scene()
    }
}

/// A load that discs can make, kg.
fn load_kg(mass_kg: f64, part: f64) -> f64 {
    (part * mass_kg / 2.5).round() * 2.5
}

impl Plan {
    fn file(&self, index: u64) -> Option<DemoFile> {
        let mut random = Random::new(20_260_903 + 7919 * index);
        let form = Form::on(self, &mut random);
        let r = &mut random;
        let quiet = |k: usize| if k == 0 { 2.0 } else { 0.6 };
        let (mut options, mut end) = (Options::default(), String::new());
        let (test, scenes): (TestKind, Vec<Option<Scene>>) = match self.what {
            What::First => {
                let mut all: Vec<Option<Scene>> = (0..2).map(|k| form.jump(r, quiet(k))).collect();
                all.push(form.squat(r));
                (TestKind::CountermovementJump, all)
            }
            What::Jumps => {
                let mut all: Vec<Option<Scene>> = (0..3).map(|k| form.jump(r, quiet(k))).collect();
                all.extend((0..3).map(|_| form.squat(r)));
                (TestKind::CountermovementJump, all)
            }
            What::FirstPull => (TestKind::Isometric, vec![Some(form.pull(r, 2.0))]),
            What::Pulls => (TestKind::Isometric, (0..3).map(|k| Some(form.pull(r, if k == 0 { 2.0 } else { 1.2 }))).collect()),
            What::Drops(box_m) => {
                options.box_m = Some(box_m);
                end = format!("_{:.0}cm", 100.0 * box_m);
                (TestKind::DropJump, (0..3).map(|k| form.drop(r, box_m, true, if k == 0 { 0.0 } else { 0.8 })).collect())
            }
            What::Landing => {
                options.box_m = Some(0.30);
                end = "_30cm".into();
                (TestKind::DropLanding, vec![form.drop(r, 0.30, false, 0.0)])
            }
            What::Rebounds => (TestKind::ReboundJumps, vec![form.rebounds(r, 10)]),
            What::Rebound => (TestKind::CountermovementReboundJump, vec![form.rebounds(r, 1)]),
            What::Loaded(part) => {
                let load_kg = load_kg(form.mass_kg, part);
                options.load_kg = Some(load_kg);
                end = format!("_{load_kg}kg");
                (TestKind::CountermovementJump, vec![form.loaded(part)])
            }
            What::OneLeg(right) => {
                end = if right > 0.5 { "_right".into() } else { "_left".into() };
                (TestKind::CountermovementJump, (0..3).map(|_| form.one_leg(r, right)).collect())
            }
            What::Standing => (TestKind::QuietStanding, vec![Some(quiet_standing(form.mass_kg, 5.0, form.right))]),
        };
        let word = match (self.what, test) {
            (What::First | What::Jumps, _) => "",
            (_, TestKind::CountermovementJump) => "_countermovement",
            (_, TestKind::DropJump) => "_drop-jump",
            (_, TestKind::DropLanding) => "_drop-landing",
            (_, TestKind::ReboundJumps) => "_rebounds",
            (_, TestKind::CountermovementReboundJump) => "_countermovement-rebound",
            (_, TestKind::Isometric) => "_isometric",
            _ => "_standing",
        };
        // One jump's export lost rows where the feet leave the plate.
        let faulty = (self.person.name == "Invented Juniper" && self.what == What::Jumps && self.visit == 2).then_some(1);
        let scenes: Vec<Scene> = scenes.into_iter().flatten().map(|s| s.sway(r, 0.008)).collect();
        if scenes.is_empty() {
            return None;
        }
        let text = text(&scenes, faulty, r);
        let short = self.person.name.to_lowercase().replace(' ', "-");
        let date = self.date.to_string();
        Some(DemoFile { name: format!("{short}_{date}{word}{end}.csv"), athlete: self.person.name.into(), date, options, test, text })
    }
}

/// Several scenes after one another as one plain table; of one of them the rows about take-off are lost.
fn text(scenes: &[Scene], faulty: Option<usize>, random: &mut Random) -> String {
    let zero_n = [random.between(-3.0, 3.0), random.between(-3.0, 3.0)];
    let seconds: f64 = scenes.iter().map(Scene::end_s).sum();
    let mut text = String::with_capacity((seconds * 1000.0) as usize * 22 + 40);
    text.push_str("time_s,left_force_N,right_force_N\n");
    let mut row = 0_u32;
    for (k, scene) in scenes.iter().enumerate() {
        let plates = Plates { noise_n: 0.8, zero_n, step_n: 0.1, seed: random.bits(), ..Plates::default() };
        let [left, right] = plates.record(scene);
        let lost = scene.event("take_off") - 0.03..scene.event("take_off") + 0.03;
        for (i, (l, r)) in left.iter().zip(&right).enumerate() {
            row += 1;
            if faulty == Some(k) && lost.contains(&(i as f64 / plates.rate_hz)) {
                continue;
            }
            // Writing to a String cannot fail.
            let _ = writeln!(text, "{}.{:03},{l:.1},{r:.1}", row / 1000, row % 1000);
        }
    }
    text
}
