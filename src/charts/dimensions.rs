//! Dimension lines under an axis, as on an engineering drawing: a hairline with end ticks and its name below.
//! Lines that would cover each other lie on levels of their own, the earlier named nearest the axis.
use super::labels::{self, Wanted};
use maud::{Markup, html};

/// Text size of the names, px.
const TEXT: f64 = 12.0;
/// Height of a row of names, px.
const ROW: f64 = 16.0;
/// From a line to the next level's, beside the names between them, px.
const GAP: f64 = 22.0;

/// One line: what is written under it, and from where to where it runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Its name, with the measure.
    pub label: String,
    /// From, px.
    pub from_px: f64,
    /// To, px.
    pub to_px: f64,
    /// Lines of a higher tier lie below all of a lower one.
    pub tier: usize,
}

/// Draws the lines from `y` downwards with names kept inside `left_px … right_px`; says where the drawing ends.
pub fn dimensions(spans: &[Span], y: f64, left_px: f64, right_px: f64) -> (Markup, f64) {
    let levels = levels(spans);
    let mut top = y;
    let mut drawn = Vec::new();
    for level in &levels {
        let wanted: Vec<Wanted> = level.iter().map(|s| Wanted { text: s.label.clone(), at_px: (s.from_px + s.to_px) / 2.0 }).collect();
        let names = labels::place(&wanted, TEXT, left_px, right_px);
        let rows = names.iter().map(|p| p.row + 1).max().unwrap_or(0);
        drawn.push((top, level, names));
        top += rows as f64 * ROW + GAP;
    }
    let drawing = html! {
        g class="dimensions" {
            @for (y, level, names) in &drawn {
                @for s in *level {
                    line x1=(px(s.from_px)) x2=(px(s.to_px)) y1=(px(*y)) y2=(px(*y)) {}
                    line x1=(px(s.from_px)) x2=(px(s.from_px)) y1=(px(y - 5.0)) y2=(px(y + 5.0)) {}
                    line x1=(px(s.to_px)) x2=(px(s.to_px)) y1=(px(y - 5.0)) y2=(px(y + 5.0)) {}
                }
                // Leaders first: a name that one must cross stays readable on top of it.
                @for p in names.iter().filter(|p| p.row > 0) {
                    line class="leader" x1=(px(p.leader_px)) x2=(px(p.leader_px)) y1=(px(*y)) y2=(px(y + 6.0 + p.row as f64 * ROW)) {}
                }
                @for p in names {
                    text class="halo" x=(px(p.x_px)) y=(px(y + 17.0 + p.row as f64 * ROW)) text-anchor="middle" { (p.text) }
                }
            }
        }
    };
    (drawing, top - GAP + 14.0)
}

/// Sorts the lines into levels, each into the first where it covers none; lines that only touch share a level.
fn levels(spans: &[Span]) -> Vec<Vec<&Span>> {
    let mut levels: Vec<Vec<&Span>> = Vec::new();
    let mut sorted: Vec<&Span> = spans.iter().filter(|s| s.from_px.is_finite() && s.to_px.is_finite()).collect();
    sorted.sort_by_key(|s| s.tier);
    for span in sorted {
        let apart = |s: &&Span| s.tier == span.tier && (span.to_px <= s.from_px + 0.5 || span.from_px >= s.to_px - 0.5);
        let free = |level: &&mut Vec<&Span>| level.iter().all(apart);
        match levels.iter_mut().find(free) {
            Some(level) => level.push(span),
            None => levels.push(vec![span]),
        }
    }
    // Names are placed from left to right.
    for level in &mut levels {
        level.sort_by(|a, b| a.from_px.total_cmp(&b.from_px));
    }
    levels
}

/// Pixels to a tenth: finer digits only make the text longer.
pub(super) fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_that_cover_each_other_lie_on_levels_and_neighbours_share_one() {
        let span = |from_px, to_px, tier| Span { label: "rise 100 ms".into(), from_px, to_px, tier };
        let spans = [span(250.0, 260.0, 1), span(0.0, 50.0, 0), span(50.0, 90.0, 0), span(50.0, 200.0, 0), span(f64::NAN, 1.0, 0)];
        let levels = levels(&spans);
        assert_eq!(levels.iter().map(Vec::len).collect::<Vec<_>>(), [2, 1, 1]);
        let (drawing, end) = dimensions(&spans, 10.0, 0.0, 300.0);
        assert_eq!(drawing.into_string().matches("<text").count(), 4);
        assert!(end > 60.0);
        assert!(dimensions(&[], 10.0, 0.0, 300.0).1.is_finite());
    }
}
