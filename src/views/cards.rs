//! Protocol cards: what to say and watch for, one a test, to read out or to print. Plain words; rows of data. Standing still
//! before and after is what weighing needs, the limits (1 cm of dip, 250 ms of contact, 1000 samples a second) are those the
//! doubts are told by; the rest is common practice, no source.
use crate::answer::TestKind;
use crate::charts::number::Locale;
use crate::charts::words::test_name;
use maud::{Markup, html};

/// One card.
struct Card {
    test: TestKind,
    /// What it is for, in a sentence.
    shows: &'static str,
    /// What must be ready before.
    before: &'static [&'static str],
    /// What is read out to the athlete, step by step.
    say: &'static [&'static str],
    /// What makes a trial worth repeating.
    repeat: &'static [&'static str],
    /// Cautions of this test beside the general ones.
    caution: &'static str,
}

const STAND: &str = "Stand still, upright, one foot on each plate. Breathe, but do not talk or shift: two full seconds.";
const HOLD: &str = "Land on both feet, soften the knees, stand up and hold still for two full seconds.";
const TRIALS: &str = "Three good trials; half a minute to a minute of rest between them.";
const ZERO: &str = "Plates zeroed with nobody on them; nothing leans on them.";
const NOTE: &str = "Note footwear, hands, depth rule and cue. Trials under different rules are never put together.";

const CARDS: &[Card] = &[
    Card {
        test: TestKind::CountermovementJump,
        shows: "How high, how hard and how fast the athlete jumps when free to dip first.",
        before: &[ZERO, "Hands on the hips (or free, but always the same).", NOTE],
        say: &[STAND, "On “go”: dip and jump in one movement, as high as you can. Keep the legs long in the air.", HOLD],
        repeat: &[
            "The athlete moved or talked while standing still.",
            "A small hop or a rise onto the toes came before the dip.",
            "Hands left the hips, or the legs were tucked in the air.",
            "A foot landed beside the plate.",
        ],
        caution: "Begin with two or three easy jumps.",
    },
    Card {
        test: TestKind::SquatJump,
        shows: "What the athlete makes of a still squat, with no dip to help.",
        before: &[ZERO, "Hands on the hips.", "Agree on one depth and mark it: thighs level, or a knee angle.", NOTE],
        say: &[
            STAND,
            "Go down to your mark and hold still: two full seconds. I count.",
            "On “go”: straight up, as high as you can, without dipping first.",
            HOLD,
        ],
        repeat: &[
            "The body sank before the push (more than 1 cm is told).",
            "The squat was not held still.",
            "The depth was another than agreed.",
        ],
        caution: "A deep held squat loads the knees: choose a depth that is comfortable.",
    },
    Card {
        test: TestKind::DropJump,
        shows: "How much height the athlete gets out of a short contact after a drop.",
        before: &[
            ZERO,
            "Measure the box and enter its height.",
            "Start with a low box; go up only while contacts stay short and quiet.",
            NOTE,
        ],
        say: &[
            "Stand upright on the box, hands on the hips, toes at the edge.",
            "Step out with one foot and let yourself fall. Do not jump off and do not step down.",
            "As you land: up again at once. Short on the ground, as high as you can.",
            HOLD,
        ],
        repeat: &[
            "A jump off the box, or a step down from it (told from the actual drop).",
            "Heels hit the ground first.",
            "The second landing was not held still: without it the drop cannot be checked.",
        ],
        caution: "Not for an athlete who cannot land quietly from this height. Not with pain on hopping. Few repetitions.",
    },
    Card {
        test: TestKind::CountermovementReboundJump,
        shows: "A jump with a dip and, straight from its landing, another one.",
        before: &[ZERO, "Hands on the hips.", NOTE],
        say: &[
            STAND,
            "On “go”: dip and jump as high as you can.",
            "As you land: up again at once, short on the ground, as high as you can.",
            HOLD,
        ],
        repeat: &[
            "A pause on the ground between the two jumps.",
            "A foot landed beside the plate.",
            "The last landing was not held still.",
        ],
        caution: "Begin with easy rebounds on the spot.",
    },
    Card {
        test: TestKind::DropLanding,
        shows: "How an athlete takes up a drop and comes to rest.",
        before: &[ZERO, "Measure the box and enter its height.", NOTE],
        say: &[
            "Stand upright on the box, hands on the hips, toes at the edge.",
            "Step out with one foot and let yourself fall. Do not jump off and do not step down.",
            "Land on both feet and stand still as soon as you can. Hold for three full seconds.",
        ],
        repeat: &["A hop, a step or a hand on something after landing.", "Recording stopped less than three seconds after landing."],
        caution: "Not with pain on landing. Start low.",
    },
    Card {
        test: TestKind::ReboundJumps,
        shows: "Height for time on the ground, jump after jump.",
        before: &[ZERO, "Hands on the hips.", "Agree on the number: ten after an opening jump.", NOTE],
        say: &[
            STAND,
            "On “go”: one jump to begin with, then ten more without a pause.",
            "Every time: as short on the ground and as high as you can. Look ahead, stay on the plates.",
            "After the last one: land and hold still for two full seconds.",
        ],
        repeat: &["Feet left the plates’ area.", "Fewer than five contacts of a quarter of a second or less.", "A stop in the middle."],
        caution: "Stop at once with pain in the foot, shin, calf or Achilles tendon. Watch for tiring: the count is no goal.",
    },
    Card {
        test: TestKind::Isometric,
        shows: "How much force, and how quickly, against something that does not move.",
        before: &[
            ZERO,
            "Fix the bar or strap so that nothing gives. Note joint angles and grip.",
            "At least 1000 samples a second, or the early rates are shown but not judged.",
            "Two easy efforts first: half, then three quarters.",
        ],
        say: &[
            "Stand on the plates in position, hands on the bar, without pulling: two full seconds.",
            "Take up the slack, just so that nothing is loose. Hold it steady.",
            "I count three, two, one, go. On “go”: as hard and as fast as you can, straight away. Keep on for three seconds.",
            "Let go slowly.",
        ],
        repeat: &[
            "A dip or a jerk before the pull.",
            "Tension before the pull that was high or kept creeping.",
            "The grip or the feet slipped.",
            "Two peaks more than a tenth apart: do one more.",
        ],
        caution: "Straps or a rack must hold far more than the athlete can pull. Not with back pain. Breathe out while pulling; do not hold the breath for long.",
    },
    Card {
        test: TestKind::QuietStanding,
        shows: "Body mass, and whether the plates weigh what they should.",
        before: &[ZERO, "For a plate check: a known mass, at the centre and at each corner, then the plates swapped."],
        say: &["Stand upright, one foot on each plate, arms at your sides. Five full seconds without moving or talking."],
        repeat: &["Talking, looking round, a hand on something."],
        caution: "",
    },
];

/// Every card, or one test's, with what goes before any of them; to stand under a heading of the second level.
pub fn cards(only: Option<TestKind>, locale: &Locale) -> Markup {
    let wanted = CARDS.iter().filter(|c| only.is_none_or(|test| c.test == test));
    html! {
        article class="before-all" {
            h3 { "Before any test" }
            ol {
                li { "Ask: any pain, now or since the last time (0 to 10)? Any swelling? Has a clinician who knows of an injury cleared this test? If in doubt, do not test; a clinician decides." }
                li { "Warm up as usual, with a few easy trials of the same test." }
                li { "Start recording before the athlete steps up, and stop it two seconds after everything is still." }
                li { (TRIALS) }
                li { "Stop with any new pain. Nothing here is worth an injury." }
            }
        }
        @for card in wanted { (one(card, locale)) }
    }
}

fn one(card: &Card, locale: &Locale) -> Markup {
    let id = format!("card-{}", test_name(card.test).to_lowercase().replace(' ', "-"));
    html! {
        article class="protocol-card" id=(id) aria-labelledby={ (id) "-head" } {
            h3 id={ (id) "-head" } { (test_name(card.test)) }
            p { (card.shows) }
            div class="halves" {
                div {
                    h4 { "Have ready" }
                    ul { @for line in card.before { li { (line) } } }
                    h4 { "Do it again if" }
                    ul { @for line in card.repeat { li { (locale.amounts(line)) } } }
                }
                div {
                    h4 { "Read out" }
                    ol class="read-out" { @for line in card.say { li { (line) } } }
                }
            }
            @if !card.caution.is_empty() { p class="caution" { strong { "Caution. " } (card.caution) } }
        }
    }
}
