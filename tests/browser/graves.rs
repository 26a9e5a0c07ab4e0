//! What was erased stays erased: old backups, other stores, and a random walk over the real database beside a plain model.

use crate::{
    Test,
    context::{Context, ensure, same},
    driver::{Browser, Outcome},
    squad::{contains, fill, go, settled, start},
    storage::{back_up, compare, squad_of},
};
use serde_json::Value;
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::PathBuf,
};
use tarsal::invented::{Random, demo_files};

pub fn tests() -> Vec<Test> {
    vec![
        ("graves_an_erased_athlete_does_not_come_back_from_an_old_backup", an_erased_athlete_does_not_come_back_from_an_old_backup),
        ("graves_a_removed_trial_can_be_taken_back_while_another_tab_opens", a_removed_trial_can_be_taken_back_while_another_tab_opens),
        ("graves_random_steps_on_the_real_database_agree_with_a_plain_model", random_steps_on_the_real_database_agree_with_a_plain_model),
    ]
}

/// Every text in some stores of the database, in order of the keys.
fn stored(browser: &mut Browser, store: &str) -> Outcome<Vec<String>> {
    let all = browser.eval(&format!(
        "new Promise((done, failed) => {{ const o = indexedDB.open('tarsal'); o.onerror = failed; o.onsuccess = () => {{ \
         const g = o.result.transaction('{store}').objectStore('{store}').getAll(); g.onsuccess = () => {{ o.result.close(); done(g.result); }}; }}; }})"
    ))?;
    Ok(all.as_array().into_iter().flatten().filter_map(Value::as_str).map(str::to_owned).collect())
}

fn open_athlete(browser: &mut Browser, name: &str) -> Outcome<()> {
    go(browser, "squad")?;
    browser.eval(&format!("[...document.querySelectorAll('#squad tbody a')].find((a) => a.textContent === '{name}').click()"))?;
    browser.wait_for(&format!("document.querySelector('h1').textContent === '{name}'"))?;
    settled(browser)
}

fn erase(browser: &mut Browser, name: &str) -> Outcome<()> {
    open_athlete(browser, name)?;
    browser.click("[data-do=erase]")?;
    settled(browser)?;
    browser.click("[data-do=erase-yes]")?;
    browser.wait_for("document.querySelector('#message')?.textContent.includes('A number and the day stay')")?;
    settled(browser)
}

fn take_in(browser: &mut Browser) -> Outcome<()> {
    browser.click("#merge [type=submit]")?;
    browser.wait_for(
        "document.querySelector('#merge') === null && document.querySelector('#store-outcome')?.textContent.includes('Taken in')",
    )?;
    settled(browser)
}

fn an_erased_athlete_does_not_come_back_from_an_old_backup(context: &Context) -> Outcome<()> {
    let name = "an_erased_athlete_does_not_come_back_from_an_old_backup";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 2)?;
    let old = back_up(context, &mut browser, &format!("{name}-1"), "")?;
    erase(&mut browser, "Ada")?;
    same("tombstones", &stored(&mut browser, "graves")?.len(), &2)?;
    browser.reload()?;
    settled(&mut browser)?;
    compare(&mut browser, &old, "")?;
    browser.wait_for("document.querySelector('#merge') !== null")?;
    // Ben, his trial, and the day, which is the same but for her.
    contains(&browser.text("document.querySelector('#merge').textContent")?, "0 new, 3 the same, 0 that differ, 2 erased here")?;
    contains(&browser.text("document.querySelector('#erased-here tbody').textContent")?, "athlete Ada")?;
    take_in(&mut browser)?;
    contains(&browser.text("document.querySelector('#store-outcome').textContent")?, "2 records that were erased here stay out")?;
    let everything = [stored(&mut browser, "book")?, stored(&mut browser, "trials")?].concat().join(" ");
    ensure(!everything.contains("Ada"), || everything.clone())?;
    same("force", &browser.eval(COUNT_FORCE)?, &1.into())?;
    // Elsewhere the tombstones come with the new backup, and the old one is refused there, too.
    let new = back_up(context, &mut browser, &format!("{name}-2"), "")?;
    ensure(!String::from_utf8_lossy(&fs::read(&new).map_err(|e| e.to_string())?).contains("Ada"), || "a name in the backup".into())?;
    drop(browser);
    let mut browser = start(context, &format!("{name}-elsewhere"))?;
    compare(&mut browser, &new, "")?;
    browser.wait_for("document.querySelector('#merge') !== null")?;
    take_in(&mut browser)?;
    let again = back_up(context, &mut browser, &format!("{name}-3"), "")?;
    ensure(fs::read(&new).ok() == fs::read(&again).ok(), || "the backup with tombstones is another file".into())?;
    compare(&mut browser, &old, "")?;
    browser.wait_for("document.querySelector('#erased-here') !== null")?;
    // Chosen back, she comes with her trial and its force, and her tombstones go.
    browser.click("#erased-here input[name=back]")?;
    take_in(&mut browser)?;
    same("tombstones after", &stored(&mut browser, "graves")?.len(), &0)?;
    open_athlete(&mut browser, "Ada")?;
    browser.click("#athlete-sessions tbody a")?;
    browser.wait_for("document.querySelector('#trace path.total')?.getAttribute('d').length > 100")?;
    // What the file says was erased and is here is told, and stays.
    compare(&mut browser, &new, "")?;
    browser.wait_for("document.querySelector('#erased-there')?.textContent.includes('athlete Ada, erased there on')")?;
    take_in(&mut browser)?;
    open_athlete(&mut browser, "Ada")
}

const COUNT_FORCE: &str = "new Promise((done) => { const o = indexedDB.open('tarsal'); o.onsuccess = () => { \
    const g = o.result.transaction('samples').objectStore('samples').count(); g.onsuccess = () => { o.result.close(); done(g.result); }; }; })";

fn a_removed_trial_can_be_taken_back_while_another_tab_opens(context: &Context) -> Outcome<()> {
    let name = "a_removed_trial_can_be_taken_back_while_another_tab_opens";
    let mut browser = start(context, name)?;
    squad_of(context, &mut browser, name, 2)?;
    go(&mut browser, "")?;
    browser.click("#saved [data-do=remove]")?;
    settled(&mut browser)?;
    browser.open_window()?;
    browser.navigate(&context.base_url)?;
    settled(&mut browser)?;
    same("on the list there", &browser.eval("document.querySelectorAll('#saved tbody tr').length")?, &1.into())?;
    browser.switch_window()?;
    browser.click("[data-do=undo]")?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 2")?;
    settled(&mut browser)?;
    same("troubles", &browser.eval("document.querySelector('.trouble') === null")?, &true.into())?;
    browser.switch_window()?;
    browser.wait_for("document.querySelectorAll('#saved tbody tr').length === 2")
}

/// What is known of a record in the model: an athlete's sport, or a trial's athlete.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Plain {
    removed: bool,
    /// The sport of an athlete; the athlete of a trial.
    says: String,
}

/// Records by their names.
type Plains = BTreeMap<String, Plain>;
/// A backup: its file, and what it holds of athletes, trials and tombstones.
type Kept = (PathBuf, Plains, Plains, BTreeSet<String>);

/// The same store without a browser: records by name (athletes) and file (trials), tombstones, undo.
#[derive(Debug, Default)]
struct Model {
    athletes: Plains,
    trials: Plains,
    graves: BTreeSet<String>,
    undo: Vec<(String, Option<Plain>)>,
    backups: Vec<Kept>,
    made: usize,
}

impl Model {
    fn living(&self) -> Vec<String> {
        self.athletes.iter().filter(|(_, a)| !a.removed).map(|(name, _)| name.clone()).collect()
    }
    fn erase(&mut self, keys: &BTreeSet<String>) {
        for key in keys {
            if self.athletes.remove(key).is_some() | self.trials.remove(key).is_some() {
                self.graves.insert(key.clone());
            }
        }
        self.undo.retain(|(key, _)| !keys.contains(key));
    }
    /// Another visit, or a backup taken in: undo is gone, and so is what was removed.
    fn anew(&mut self) {
        self.undo.clear();
        let removed = |all: &Plains| all.iter().filter(|(_, p)| p.removed).map(|(k, _)| k.clone()).collect::<Vec<_>>();
        let gone = removed(&self.athletes).into_iter().chain(removed(&self.trials)).collect();
        self.erase(&gone);
    }
    fn set(&mut self, key: &str, plain: Plain) {
        if key.ends_with(".csv") {
            self.trials.insert(key.into(), plain)
        } else {
            self.athletes.insert(key.into(), plain)
        };
    }
    fn get(&self, key: &str) -> Option<&Plain> {
        self.trials.get(key).or_else(|| self.athletes.get(key))
    }
    fn merge(&mut self, which: usize, all: bool) {
        let (_, athletes, trials, graves) = self.backups[which].clone();
        let before = self.graves.clone();
        for (key, plain) in athletes.iter().chain(&trials) {
            let dead = [&plain.says, key].into_iter().any(|k| before.contains(k));
            if self.get(key).is_some_and(|_| all) || (self.get(key).is_none() && (all || !dead)) {
                self.graves.remove(key);
                self.set(key, plain.clone());
            }
        }
        // Theirs are taken over where nothing of that key is here.
        let theirs = graves.into_iter().filter(|k| !before.contains(k) && self.get(k).is_none());
        let theirs: Vec<String> = theirs.collect();
        self.graves.extend(theirs);
        self.anew();
    }
}

/// The store as the model sees it.
fn seen(browser: &mut Browser) -> Outcome<(Plains, Plains, usize)> {
    let texts = |browser: &mut Browser, store: &str| -> Outcome<Vec<Value>> {
        stored(browser, store)?.iter().map(|t| serde_json::from_str(t).map_err(|e| e.to_string())).collect()
    };
    let word = |v: &Value| v.as_str().unwrap_or_default().to_owned();
    let (mut athletes, mut names) = (BTreeMap::new(), BTreeMap::new());
    for record in texts(browser, "book")?.iter().filter(|r| r["kind"] == "athlete") {
        names.insert(word(&record["id"]), word(&record["body"]["name"]));
        let plain = Plain { removed: record["removed"] == true, says: word(&record["body"]["sport"]) };
        athletes.insert(word(&record["body"]["name"]), plain);
    }
    let trial = |r: &Value| {
        let says = names.get(r["athlete_id"].as_str().unwrap_or_default()).cloned().unwrap_or_default();
        (word(&r["file"]), Plain { removed: r["removed"] == true, says })
    };
    let trials = texts(browser, "trials")?.iter().map(trial).collect();
    Ok((athletes, trials, stored(browser, "graves")?.len()))
}

/// `TARSAL_STEPS` steps (a few by default) from `TARSAL_SEED`: make, edit, file, remove, undo, erase, reload, a second tab, back
/// up, and take a backup in with or without what differs or was erased. After each the database says what the model says.
fn random_steps_on_the_real_database_agree_with_a_plain_model(context: &Context) -> Outcome<()> {
    let name = "random_steps_on_the_real_database_agree_with_a_plain_model";
    let number = |name: &str, otherwise: u64| std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(otherwise);
    let (steps, seed) = (number("TARSAL_STEPS", 25), number("TARSAL_SEED", 6));
    println!("{steps} steps from TARSAL_SEED={seed}");
    let mut random = Random::new(seed);
    let (mut model, demo, folder) = (Model::default(), demo_files(), context.folder(&format!("{name}-files"))?);
    let mut browser = start(context, name)?;
    browser.open_window()?;
    browser.switch_window()?;
    let mut done = Vec::new();
    for step in 0..steps {
        let mut pick = |n: usize| (random.bits() % n.max(1) as u64) as usize;
        let living = model.living();
        let somebody = living.get(pick(living.len())).cloned();
        let what = match (pick(20), somebody) {
            (0..=2, _) | (_, None) => {
                model.made += 1;
                let name = format!("P{}", model.made);
                go(&mut browser, "squad")?;
                fill(&mut browser, "#new-names", &name)?;
                browser.click("#new-names ~ button")?;
                browser.wait_for(&format!("document.querySelector('h1').textContent === '{name}'"))?;
                model.athletes.insert(name.clone(), Plain { removed: false, says: String::new() });
                model.undo.push((name.clone(), None));
                format!("made {name}")
            }
            (3..=5, Some(name)) => {
                let sport = format!("Sport {step}");
                let second = pick(3) == 0;
                if second {
                    browser.switch_window()?;
                    browser.navigate(&format!("{}#squad", context.base_url))?;
                }
                open_athlete(&mut browser, &name)?;
                fill(&mut browser, "#record input[name=sport]", &sport)?;
                browser.click("#record [type=submit]")?;
                browser.wait_for(&format!("document.querySelector('.about').textContent.includes('{sport}')"))?;
                settled(&mut browser)?;
                let before = model.athletes.insert(name.clone(), Plain { removed: false, says: sport });
                if second {
                    browser.navigate("about:blank")?;
                    browser.switch_window()?;
                    go(&mut browser, "squad")?;
                    browser.wait_for(&format!("document.querySelector('#squad').textContent.includes('Sport {step}')"))?;
                    model.undo.retain(|(key, _)| *key != name);
                } else {
                    model.undo.push((name.clone(), before));
                }
                format!("edited {name}, second tab {second}")
            }
            (6..=9, Some(name)) => {
                // A new file, or one that was dropped before and is hers.
                let known: Vec<String> = model.trials.keys().filter(|f| f.starts_with(&format!("{name}_"))).cloned().collect();
                let again = known.get(pick(known.len())).cloned().filter(|_| pick(3) == 0);
                let file = again.unwrap_or_else(|| format!("{name}_CMJ_{step}.csv"));
                let path = folder.join(&file);
                if !path.exists() {
                    let blanks = " ".repeat(step as usize + 1);
                    fs::write(&path, demo[step as usize % demo.len()].text.replacen('\n', &format!("{blanks}\n"), 1))
                        .map_err(|e| e.to_string())?;
                }
                go(&mut browser, "")?;
                browser.choose_files("#file-input", &[&path])?;
                browser.wait_for("location.hash.length > 10")?;
                settled(&mut browser)?;
                if model.trials.get(&file).is_none_or(|t| t.removed) {
                    model.trials.insert(file.clone(), Plain { removed: false, says: name });
                    model.graves.remove(&file);
                }
                format!("dropped {file}")
            }
            (10 | 11, Some(_)) => {
                let all: Vec<String> = model.trials.iter().filter(|(_, t)| !t.removed).map(|(f, _)| f.clone()).collect();
                let Some(file) = all.get(pick(all.len())).cloned() else { continue };
                go(&mut browser, "")?;
                browser.eval(&format!(
                    "[...document.querySelectorAll('#saved tbody tr')].find((r) => r.querySelector('.file').textContent === '{file}').querySelector('[data-do=remove]').click()"
                ))?;
                settled(&mut browser)?;
                let before = model.trials.get(&file).cloned();
                if let Some(trial) = model.trials.get_mut(&file) {
                    trial.removed = true;
                }
                model.undo.push((file.clone(), before));
                format!("removed {file}")
            }
            (12 | 13, Some(_)) => {
                let Some((key, before)) = model.undo.last().cloned() else { continue };
                // What is filed under him would hang in the air: the page allows it, the model does not look there.
                if before.is_none() && model.trials.values().any(|t| t.says == key) {
                    continue;
                }
                model.undo.pop();
                browser.eval("document.dispatchEvent(new KeyboardEvent('keydown', { key: 'z', ctrlKey: true, bubbles: true }))")?;
                settled(&mut browser)?;
                let now = before.unwrap_or_else(|| Plain {
                    removed: true,
                    ..model.get(&key).cloned().unwrap_or(Plain { removed: true, says: String::new() })
                });
                model.set(&key, now);
                format!("undone on {key}")
            }
            (14, Some(name)) => {
                erase(&mut browser, &name)?;
                let keys = model.trials.iter().filter(|(_, t)| t.says == name).map(|(f, _)| f.clone()).chain([name.clone()]).collect();
                model.erase(&keys);
                format!("erased {name}")
            }
            (15, Some(_)) => {
                browser.reload()?;
                settled(&mut browser)?;
                model.anew();
                "reloaded".into()
            }
            (16 | 17, Some(_)) if model.backups.len() < 6 => {
                let path = back_up(context, &mut browser, &format!("{name}-backup-{step}"), "")?;
                model.backups.push((path, model.athletes.clone(), model.trials.clone(), model.graves.clone()));
                "backed up".into()
            }
            (_, Some(_)) => {
                if model.backups.is_empty() {
                    continue;
                }
                let (which, all) = (pick(model.backups.len()), pick(2) == 0);
                compare(&mut browser, &model.backups[which].0.clone(), "")?;
                browser.wait_for("document.querySelector('#merge') !== null")?;
                if all {
                    browser.eval("document.querySelectorAll('#merge input[type=checkbox]').forEach((b) => b.click())")?;
                }
                take_in(&mut browser)?;
                model.merge(which, all);
                format!("took backup {which} in, all {all}")
            }
        };
        settled(&mut browser)?;
        done.push(what);
        let (athletes, trials, graves) = seen(&mut browser)?;
        let told = || format!("seed {seed}, after {}", done.join("; "));
        ensure(athletes == model.athletes, || format!("{}: {athletes:?}, the model has {:?}", told(), model.athletes))?;
        ensure(trials == model.trials, || format!("{}: {trials:?}, the model has {:?}", told(), model.trials))?;
        ensure(graves == model.graves.len(), || format!("{}: {graves} tombstones, the model has {:?}", told(), model.graves))?;
        ensure(browser.eval("document.querySelector('.trouble') === null")? == true, || {
            format!("{}: {}", told(), browser.text("document.querySelector('.trouble').textContent").unwrap_or_default())
        })?;
    }
    println!("{}", done.join("; "));
    Ok(())
}
