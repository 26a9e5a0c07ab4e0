//! May the trial be trusted? Every rule is asked; the worst that applies is the verdict.
use super::Verdict;
use super::facts::Facts;
use super::pattern::Cause;
use super::rules;
use crate::recording::Notice;

/// How bad what a notice's code says is. What is not known here is doubted.
fn severity(code: &str) -> Verdict {
    let rule = rules::all().find(|r| r.code == code).map(|r| r.severity);
    rule.unwrap_or(match code {
        "stood_wrong_after" | "plates_swapped" => Verdict::Sound,
        _ => Verdict::Doubtful,
    })
}

/// The verdict that these notices alone give: their worst.
pub fn verdict_of(notices: &[Notice]) -> Verdict {
    notices.iter().map(|n| severity(&n.code)).max().unwrap_or(Verdict::Sound)
}

/// The verdict and every notice that applies, worst first.
pub(crate) fn judge(facts: &Facts<'_>) -> (Verdict, Vec<Notice>) {
    let mut found: Vec<(Verdict, Notice)> = Vec::new();
    // The cause comes before the differences that it was seen in.
    if let Some(cause) = facts.seen.cause {
        let severity = if cause == Cause::StoodWrongAfter { Verdict::Sound } else { Verdict::Doubtful };
        let told = Notice::new(cause.code(), cause.message()).next_time(cause.next_time());
        found.push((severity, Notice { at_s: facts.acts(cause), ..told }));
    }
    for rule in rules::all() {
        if let Some((message, at_s)) = (rule.applies)(facts) {
            found.push((rule.severity, Notice { code: rule.code.into(), message, at_s, next_time: Some(rule.next_time.into()) }));
        }
    }
    found.sort_by_key(|(severity, _)| core::cmp::Reverse(*severity));
    let verdict = found.first().map_or(Verdict::Sound, |f| f.0);
    // What makes a trial unusable also upsets every check after it: those would only lead away from the cause.
    found.retain(|f| verdict != Verdict::Unusable || f.0 != Verdict::Doubtful);
    (verdict, found.into_iter().map(|f| f.1).collect())
}
