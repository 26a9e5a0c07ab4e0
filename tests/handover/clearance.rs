//! A clearance that ends within a block: the weeks after it say so on the block's page, in print and in a link, day by day as
//! the gates themselves close.
use super::{ALL, cases, squads};
use maud::html;
use tarsal::advice::blocks::{Block, Edit, Target, Wanted, choices, plan};
use tarsal::advice::brief::{self, Plan};
use tarsal::advice::gates::{Situation, closed};
use tarsal::advice::score::Answer;
use tarsal::advice::waiting::{Week, retest};
use tarsal::charts::number::Locale;
use tarsal::people::{Athlete, Clearance, ClearedClass, Date, Injury, InjuryKind, Side};
use tarsal::records::link::{Include, decode, encode};
use tarsal::views::block as block_view;
use tarsal::views::report::{Reader, body};

const TODAY: Date = squads::TODAY;
const CLASSES: [ClearedClass; 5] =
    [ClearedClass::LowJumps, ClearedClass::Rebounds, ClearedClass::Drops, ClearedClass::OneLegJumps, ClearedClass::MaximalIsometrics];

/// Operated `ago` days ago, with every class open until some days from now.
fn operated(ago: i32, until: i32) -> Athlete {
    let injury = Injury { date: TODAY.plus_days(-ago), side: Side::Left, kind: InjuryKind::OtherSurgery, note: String::new() };
    let by = "Dr B (invented)".to_owned();
    let open = |class| Clearance { by: by.clone(), date: TODAY.plus_days(-5), class, until: TODAY.plus_days(until) };
    Athlete {
        birth_year: Some(1998),
        training_years: Some(5.0),
        injuries: vec![injury],
        clearances: CLASSES.map(open).to_vec(),
        ..Athlete::default()
    }
}

/// Four weeks from the day after tomorrow, with full-effort jumps, rebounds and calf work.
fn block(s: &Situation) -> Block {
    let starts = TODAY.plus_days(2);
    let wanted = Wanted { id: "b", answer: Answer::NotEnough, starts, tested_on: TODAY, test_contacts: 0, targets: vec![] };
    let mut block = plan(&wanted, vec![], s);
    block.rows.clear();
    ["loaded_cmj", "stiff_rebounds", "calf_two"].iter().fold(block, |b, id| b.apply(&Edit::Add { exercise: (*id).into() }, s).unwrap())
}

/// The words of a row's weeks in a table.
fn cells(page: &str, name: &str) -> Vec<String> {
    let row = page.split(name).nth(1).unwrap_or_else(|| panic!("{name} is not on {page}")).split("</tr>").next().unwrap();
    row.split("<td class=\"num\">").skip(1).map(|c| c.split("</td>").next().unwrap().to_owned()).collect()
}

/// Every week is what the gates say of its days.
fn as_the_gates_say(block: &Block, plan: &Plan, s: &Situation) {
    for (row, shown) in block.view(s).rows.iter().zip(&plan.rows) {
        let demands = row.exercise.unwrap().demands;
        for week in 0..usize::from(block.weeks) {
            let day = |k: i32| block.starts.plus_days(7 * week as i32 + k);
            let shut = |day: Date| !closed(demands, &Situation { planned: Some(day), ..block.ahead(s) }).is_empty();
            let shut: Vec<bool> = (0..7).map(|k| shut(day(k))).collect();
            let said = shown.waits.as_ref().map_or(Week::Open, |w| w.week(block.starts, week));
            match said {
                Week::Open => assert!(shut.iter().all(|s| !s)),
                Week::Waits => assert!(shut.iter().all(|s| *s)),
                Week::Partly(until, again) => {
                    let open = |d: Date| until.is_some_and(|until| d <= until) || again.is_some_and(|again| d >= again);
                    assert!((0..7).all(|k| shut[k as usize] != open(day(k))), "{said:?} {shut:?}");
                }
            }
        }
    }
}

#[test]
fn weeks_after_the_end_of_a_clearance_wait_for_a_new_one() {
    let locale = Locale::default();
    // Up to the tenth day of the block: one week open, one in part, two waiting.
    let athlete = operated(100, 11);
    let s = Situation { drop_contact_s: Some(0.2), ..Situation::new(&athlete, TODAY) };
    let block = block(&s);
    let (last, first) = (TODAY.plus_days(11), TODAY.plus_days(12));
    let shown = brief::plan(&block, &s);
    assert!(shown.rows.iter().all(|r| r.closed.is_empty() && r.waits.as_ref().is_some_and(|w| w.from == first && w.again.is_none())));
    as_the_gates_say(&block, &shown, &s);

    // In print: no dose where it waits, the last day where it ends, and whom to ask, once for all rows.
    let print = block_view::sheet(&shown, &locale).into_string();
    let weeks = cells(&print, "Low-amplitude stiff rebounds");
    assert!(weeks[0].contains('×') && !weeks[0].contains("until"), "{weeks:?}");
    assert!(weeks[1].contains('×') && weeks[1].ends_with(&format!(", until {}", locale.day(last))), "{weeks:?}");
    assert_eq!(weeks[2..], ["waits", "waits"]);
    let said = format!("from {} on waiting for a new clearance; the one on record ends before", locale.day(first));
    assert_eq!(print.matches(&said).count(), 1, "{print}");
    assert!(print.contains("the treating clinician, by a dated clearance for this class of activity"));

    // On the block's page: beside each row, and at each week.
    let screen = block_view::editor(&block, &block.view(&s), &choices(&s), &[], None, &locale).into_string();
    assert_eq!(screen.matches(&said).count(), 3);
    assert_eq!(screen.matches("Week 3, waits for a new clearance").count(), 3);
    assert_eq!(screen.matches(&format!("Week 2, until {}", locale.day(last))).count(), 3);
    assert!(screen.contains("<legend>Week 1</legend>"));
    // What waits is counted, and both say so.
    assert!(screen.contains("A row that waits for a clearance is counted in every week."));
    assert!(print.contains("what waits is counted"));

    // Both reports, and a link with and without what is private.
    let mut whole = cases::all().into_iter().next().unwrap().brief;
    whole.plan = Some(shown.clone());
    for (reader, words) in [(Reader::Coach, said.as_str()), (Reader::Athlete, "needs a new yes from whoever treats you")] {
        let page = body(&whole, reader, &locale).into_string();
        assert!(page.contains(words) && page.contains(">waits</td>"), "{page}");
    }
    let sent = decode(&encode(&whole, ALL).unwrap()).unwrap().plan.unwrap();
    assert_eq!(sent.rows.iter().map(|r| &r.waits).collect::<Vec<_>>(), shown.rows.iter().map(|r| &r.waits).collect::<Vec<_>>());
    assert_eq!(sent.rows[1].doses, shown.rows[1].doses);
    let sent = decode(&encode(&whole, Include::default()).unwrap()).unwrap().plan.unwrap();
    let print = block_view::sheet(&sent, &locale).into_string();
    assert_eq!(cells(&print, "Low-amplitude stiff rebounds"), weeks);
    assert!(print.contains(&format!("from {} on only after asking the coach again", locale.day(first))));
    assert!(!print.contains("urgery") && !print.contains("clinician"), "{print}");
}

#[test]
fn nothing_waits_while_a_clearance_or_time_covers_the_block() {
    let locale = Locale::default();
    // A clearance to the last day or beyond, or nothing that closes.
    for athlete in [operated(100, 31), operated(100, 400), operated(400, 3), Athlete { clearances: vec![], ..operated(400, 0) }] {
        let s = Situation { drop_contact_s: Some(0.2), ..Situation::new(&athlete, TODAY) };
        let block = block(&s);
        let shown = brief::plan(&block, &s);
        assert!(shown.rows.iter().all(|r| r.closed.is_empty() && r.waits.is_none()));
        as_the_gates_say(&block, &shown, &s);
        let said =
            html! { (block_view::sheet(&shown, &locale)) (block_view::editor(&block, &block.view(&s), &choices(&s), &[], None, &locale)) };
        // Only the test two days after the block, where the clearance ends between.
        let waits = usize::from(athlete.clearances.first().is_some_and(|c| c.until == TODAY.plus_days(31)));
        assert_eq!(said.into_string().matches("wait").count(), waits);
    }
    // Twelve months after the operation it opens again by itself: the weeks between wait, the last does not.
    let athlete = operated(345, 5);
    let s = Situation { drop_contact_s: Some(0.2), ..Situation::new(&athlete, TODAY) };
    let block = block(&s);
    let shown = brief::plan(&block, &s);
    let waits = shown.rows[0].waits.as_ref().unwrap();
    assert_eq!((waits.from, waits.again), (TODAY.plus_days(6), Some(TODAY.plus_days(20))));
    as_the_gates_say(&block, &shown, &s);
    let print = block_view::sheet(&shown, &locale).into_string();
    let weeks = cells(&print, "Low-amplitude stiff rebounds");
    let day = |days: i32| locale.day(TODAY.plus_days(days));
    assert!(weeks[0].ends_with(&format!(", until {}", day(5))) && weeks[1] == "waits", "{weeks:?}");
    assert!(weeks[2].ends_with(&format!(", from {} on", day(20))) && !weeks[3].contains(','), "{weeks:?}");
    assert!(print.contains(&format!("from {} to {} waiting for a new clearance", day(6), day(19))));
    // A block under way: days behind it are not asked, and what is closed today is closed, not waiting.
    let s = Situation { today: TODAY.plus_days(7), ..s };
    assert!(brief::plan(&block, &s).rows.iter().all(|r| !r.closed.is_empty() && r.waits.is_none()));
}

#[test]
fn a_retest_after_the_end_of_a_clearance_says_that_it_waits() {
    let locale = Locale::default();
    let squads = cases::all();
    let whole = |athlete: &Athlete, targets: &[&str]| {
        let s = Situation { drop_contact_s: Some(0.2), ..Situation::new(athlete, TODAY) };
        let mut block = block(&s);
        block.targets = targets
            .iter()
            .map(|test| Target {
                figure: "jump_height".into(),
                name: "Jump height".into(),
                test: (*test).into(),
                protocol: String::new(),
                unit: "m".into(),
                before: 0.3,
                smallest_percent: None,
            })
            .collect();
        let mut brief = squads[0].brief.clone();
        brief.plan = Some(brief::plan(&block, &s));
        brief.next = retest(&block, &block.ahead(&s)).into_iter().collect();
        let screen = block_view::editor(&block, &block.view(&s), &choices(&s), &[], None, &locale).into_string();
        (brief, block.retest, screen)
    };
    // Past the last day of the block, to the day before the test.
    let (brief, day, screen) = whole(&operated(100, 31), &["countermovement_jump", "quiet_standing"]);
    let said = format!("the one on record ends before {}. Closed then without another: countermovement jump.", locale.day(day));
    assert_eq!(screen.matches(&said).count(), 1, "{screen}");
    assert!(brief.retest_waits().is_some_and(|waits| waits.contains(&day.to_string())), "{:?}", brief.next);
    for (reader, words) in [(Reader::Coach, said.as_str()), (Reader::Athlete, "They need a new yes from whoever treats you")] {
        assert!(body(&brief, reader, &locale).into_string().contains(words), "{words}");
    }
    // A link tells the day's clearance only where it is to.
    assert_eq!(decode(&encode(&brief, ALL).unwrap()).unwrap().retest_waits(), brief.retest_waits());
    let sent = decode(&encode(&brief, Include::default()).unwrap()).unwrap();
    assert_eq!(sent.retest_waits(), Some("The retest waits: ask the coach again before it."));
    // Nothing is said where the clearance reaches that day, the surgery is long past, or the test demands nothing.
    for (athlete, test) in
        [(operated(100, 60), "countermovement_jump"), (operated(2000, 31), "countermovement_jump"), (operated(100, 31), "quiet_standing")]
    {
        let (brief, _, screen) = whole(&athlete, &[test]);
        assert!(brief.retest_waits().is_none() && !screen.contains("The retest waits"), "{test}");
    }
    // Without a target it is the countermovement jump that is asked about.
    assert!(whole(&operated(100, 31), &[]).0.retest_waits().is_some());
}
