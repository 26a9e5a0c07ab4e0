//! One invented athlete for every answer, and one whose gates close: the summaries that reports, screens and links are tried with.
use super::squads::{ALL, Person, TODAY, asked, session, sorted, squad};
use tarsal::advice::after::{outcome, smallest_change};
use tarsal::advice::asked::Asked;
use tarsal::advice::blocks::{Block, Target, Wanted, choices, plan, propose};
use tarsal::advice::brief::{About, Brief, brief};
use tarsal::advice::evidence::SideRead;
use tarsal::advice::gates::{Before, Situation};
use tarsal::advice::qualities::{QUALITIES, QualityId};
use tarsal::advice::score::{Answer, read};
use tarsal::charts::number::Locale;
use tarsal::cohort::Draws as Draw;
use tarsal::cohort::{Repeats, Table};
use tarsal::people::{Athlete, BodyMass, Clearance, ClearedClass, Injury, InjuryKind, Side};
use tarsal::views::{after, argument, block as block_view};

/// The squads' near days are no first sessions.
const RULE: Repeats<'static> = Repeats { blocks: &[], first_counts: true };

/// One athlete.
pub struct Case {
    pub id: &'static str,
    pub brief: Brief,
    pub block: Option<Block>,
    pub athlete: Athlete,
    pub tables: Vec<Table>,
}

/// Seeds that give each answer, found by trying.
pub fn all() -> Vec<Case> {
    vec![
        find("one", |a| matches!(a, Answer::One(_)), &|p, d| p.truth[3] -= d.between(2.6, 3.0), false),
        find(
            "two",
            |a| matches!(a, Answer::Two(..)),
            &|p, d| {
                let low = d.between(2.4, 2.8);
                p.truth[4] -= low;
                p.truth[6] -= low;
            },
            false,
        ),
        find("low", |a| a == Answer::UniformlyLow, &|p, _| p.truth = [-1.9; 9], false),
        find("high", |a| a == Answer::UniformlyHigh, &|p, _| p.truth = [1.9; 9], false),
        find("manner", |a| matches!(a, Answer::Manner(_)), &|p, d| p.depth = d.between(2.2, 3.4), false),
        find("not-enough", |a| a == Answer::NotEnough, &|_, _| {}, false),
        find("closed", |a| matches!(a, Answer::One(QualityId::Rebound)), &|p, d| p.truth[4] -= d.between(2.6, 3.0), true),
    ]
}

fn find(id: &'static str, wanted: impl Fn(Answer) -> bool, shape: &dyn Fn(&mut Person, &mut Draw), hurt: bool) -> Case {
    for seed in 0..200 {
        let mut draw = Draw::new(40 + seed);
        let mut tables = squad(24, &mut draw);
        let mut person = Person::even(0.25, &mut draw);
        person.depth = 0.2;
        person.tempo = -0.1;
        shape(&mut person, &mut draw);
        session(&mut tables, 0, &person, TODAY.plus_days(-5), 3, ALL, None, &mut draw);
        session(&mut tables, 0, &person, TODAY, 3, ALL, None, &mut draw);
        // Five weeks later, so that there is a page after the block.
        let mut trained = person.clone();
        trained.truth.iter_mut().for_each(|t| *t += 0.8);
        session(&mut tables, 0, &trained, TODAY.plus_days(31), 3, ALL, None, &mut draw);
        let tables = sorted(tables);
        let sides = [SideRead {
            figure: "Impulse, propulsion".into(),
            difference_percent: 2.1,
            of: "total".into(),
            beyond_noise: false,
            read_per_leg: false,
        }];
        let asked = Asked { sides: &sides, ..asked(&tables, seed) };
        let reading = read(&asked);
        if !wanted(reading.answer) {
            continue;
        }
        let athlete = who(&person, hurt);
        let mut situation = Situation::new(&athlete, TODAY);
        situation.drop_contact_s = Some(0.19);
        if hurt {
            situation.before = Some(Before { date: TODAY, pain: 1, swelling: false, giving_way: false, limited: false });
        }
        let block = block_of(&tables, reading.answer, &situation);
        let about = About {
            name: "Invented Athlete",
            group: "24 invented players, same tests and protocol",
            invented: true,
            history: "Two years of heavy squats; little jumping since spring.",
        };
        let brief = brief(&about, &asked, &reading, block.as_ref(), &situation);
        return Case { id, brief, block, athlete, tables };
    }
    panic!("no seed gives {id}");
}

fn who(person: &Person, hurt: bool) -> Athlete {
    let mut athlete = Athlete {
        name: "Invented Athlete".into(),
        birth_year: Some(2003),
        training_years: Some(3.5),
        body_mass: vec![BodyMass { date: TODAY, mass_kg: person.mass_kg, from_plate: true }],
        ..Athlete::default()
    };
    if hurt {
        let date = TODAY.plus_days(-300);
        athlete.injuries.push(Injury { date, side: Side::Left, kind: InjuryKind::KneeLigamentSurgery, note: "left knee, invented".into() });
        let from = TODAY.plus_days(-20);
        athlete.clearances.push(Clearance {
            by: "Dr A (invented), surgeon".into(),
            date: from,
            class: ClearedClass::MaximalIsometrics,
            until: from.plus_days(90),
        });
    }
    athlete
}

/// A block for an answer, judged by the first two figures of what it names.
pub fn block_of(tables: &[Table], answer: Answer, situation: &Situation) -> Option<Block> {
    let aims = match answer {
        Answer::One(one) => vec![one],
        Answer::Two(one, two) => vec![one, two],
        _ => vec![QualityId::PropulsionForce],
    };
    let mut targets = Vec::new();
    for evidence in QUALITIES.iter().filter(|q| aims.contains(&q.id)).flat_map(|q| q.evidence) {
        if let Some(t) = tables.iter().find(|t| t.figure == evidence.figure && t.test == evidence.test) {
            targets.push(Target {
                figure: t.figure.clone(),
                name: t.figure.clone(),
                test: t.test.clone(),
                protocol: t.protocol.clone(),
                unit: String::new(),
                before: 1.0,
                smallest_percent: smallest_change(t, 0, TODAY, RULE),
            });
        }
    }
    let wanted = Wanted { id: "block", answer, starts: TODAY.plus_days(3), tested_on: TODAY, test_contacts: 24, targets };
    propose(&wanted, situation)
}

/// The screens of a case as one page, with the page's own style.
pub fn screen(case: &Case, locale: &Locale) -> String {
    let situation = Situation::new(&case.athlete, TODAY);
    let block = case.block.clone().unwrap_or_else(|| {
        let wanted = Wanted {
            id: "b",
            answer: case.brief.answer,
            starts: TODAY.plus_days(3),
            tested_on: TODAY,
            test_contacts: 24,
            targets: Vec::new(),
        };
        plan(&wanted, vec![QualityId::PropulsionForce], &situation)
    });
    let after = outcome(&block, &case.tables, 0, TODAY.plus_days(31), RULE);
    let markup = maud::html! {
        (maud::DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; meta name="viewport" content="width=device-width, initial-scale=1"; title { (case.id) } style { (maud::PreEscaped(include_str!("../../www/app.css"))) } }
            body { div id="app" { main {
                h1 { (case.brief.name) }
                (argument::screen(&case.brief, locale, 1180.0))
                (block_view::editor(&block, &block.view(&situation), &choices(&situation), &[], None, locale))
                (after::screen(&after, locale))
            } } }
        }
    };
    markup.into_string()
}
