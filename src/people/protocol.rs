//! How a trial was done. Trials under different protocols are never pooled.
use super::Side;
use crate::recording::Letters as _;
use core::fmt::Write;
use serde::{Deserialize, Serialize};

/// Where the hands are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hands {
    /// On the hips.
    Hips,
    /// Swinging freely.
    Free,
    /// On a bar or dowel across the shoulders.
    Bar,
}

/// How a trial was done; empty fields are "not said" and match only themselves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
pub struct Protocol {
    /// Hands.
    pub hands: Option<Hands>,
    /// What the athlete was told ("as high as you can", …).
    pub cue: String,
    /// Rule for depth ("own choice", "thighs level", a knee angle, …).
    pub depth_rule: String,
    /// Shoes, or none.
    pub footwear: String,
    /// External load, kg.
    pub load_kg: f64,
    /// Box height, m.
    pub box_m: Option<f64>,
    /// One leg, or both.
    pub side: Option<Side>,
}

impl Protocol {
    /// What must agree for two trials to be pooled, as one text: equal texts, equal protocols.
    pub fn key(&self) -> String {
        let mut key = String::new();
        let word = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").lower();
        // Writing to a String cannot fail.
        let _ = write!(
            key,
            "hands={};cue={};depth={};shoes={};load={:.1};box={};side={}",
            self.hands.map_or("", |h| match h {
                Hands::Hips => "hips",
                Hands::Free => "free",
                Hands::Bar => "bar",
            }),
            word(&self.cue),
            word(&self.depth_rule),
            word(&self.footwear),
            self.load_kg,
            self.box_m.map_or(String::new(), |b| format!("{b:.2}")),
            self.side.map_or("", |s| match s {
                Side::Left => "left",
                Side::Right => "right",
                Side::Both => "both",
            }),
        );
        key
    }
}
