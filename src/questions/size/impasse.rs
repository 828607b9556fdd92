//! If nothing meets all wishes: which wishes conflict, and which winding comes nearest.

use super::judge::{Judge, Misses, Winding, Wish};
use super::search::{Preference, keep_least, walk};
use super::space::Space;
use crate::physics::field::SampledRegion;
use std::cmp::Ordering;

/// The result of judging everything after nothing met all wishes.
#[derive(Clone, Debug)]
pub(super) struct Impasse {
    /// Whether some winding meets both of two wishes, by index; on the diagonal, one wish alone.
    pub both_met: [[bool; 5]; 5],
    /// For each wish, the smallest miss of any winding.
    pub smallest_miss: Misses,
    /// The winding whose largest miss is smallest.
    pub nearest: Option<Winding>,
}

impl Impasse {
    fn none() -> Self {
        Self { both_met: [[false; 5]; 5], smallest_miss: [f64::INFINITY; 5], nearest: None }
    }

    fn take(&mut self, winding: Winding, preference: &Preference) {
        for (i, miss) in winding.misses.into_iter().enumerate() {
            self.smallest_miss[i] = self.smallest_miss[i].min(miss);
            for (j, other) in winding.misses.into_iter().enumerate() {
                self.both_met[i][j] |= miss <= 0.0 && other <= 0.0;
            }
        }
        keep_least(&mut self.nearest, winding, |a, b| nearer(a, b, preference));
    }

    fn with(mut self, other: Self, preference: &Preference) -> Self {
        for i in 0..5 {
            self.smallest_miss[i] = self.smallest_miss[i].min(other.smallest_miss[i]);
            for j in 0..5 {
                self.both_met[i][j] |= other.both_met[i][j];
            }
        }
        if let Some(winding) = other.nearest {
            keep_least(&mut self.nearest, winding, |a, b| nearer(a, b, preference));
        }
        self
    }
}

fn nearer(a: &Winding, b: &Winding, preference: &Preference) -> Ordering {
    let largest = |winding: &Winding| winding.misses.into_iter().fold(0.0, f64::max);
    largest(a).total_cmp(&largest(b)).then(preference.order(a, b))
}

/// Judges every winding completely.
pub(super) fn impasse(
    space: &Space,
    region: Option<&SampledRegion>,
    judge: &Judge,
    preference: &Preference,
) -> Impasse {
    walk(
        space,
        region,
        judge,
        Impasse::none,
        |found, winding| found.take(winding, preference),
        |found, _| found,
        |a, b| a.with(b, preference),
    )
}

/// The wishes that no winding meets, and the pairs that no winding meets together.
pub(super) fn conflicts(impasse: &Impasse) -> (Vec<Wish>, Vec<[Wish; 2]>) {
    let met = |i: usize| impasse.both_met[i][i];
    let alone = (0..5).filter(|i| !met(*i)).map(|i| Wish::ALL[i]).collect();
    let mut pairs = Vec::new();
    for i in 0..5 {
        for j in i + 1..5 {
            if met(i) && met(j) && !impasse.both_met[i][j] {
                pairs.push([Wish::ALL[i], Wish::ALL[j]]);
            }
        }
    }
    (alone, pairs)
}
