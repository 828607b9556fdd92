//! The key to the drawn parts of a bench: one row a part, beside the plot.

use super::bench_parts::current_mark;
use crate::pair::Bulb;
use crate::paper::palette::GLASS;
use crate::paper::{Figure, Place, Stroke, Text};
use crate::units::{fixed, unit};

/// The place of the next row of a key.
pub(crate) struct PartsKey([f64; 2]);

impl PartsKey {
    const STEP: f64 = 20.0;
    const SIZE: f64 = 11.0;

    pub(crate) fn at(left_top: Place) -> Self {
        Self(left_top)
    }

    /// Adds a row: the name, and a sample drawn about the place that it is given, at most 30 points wide.
    pub(crate) fn row(
        &mut self,
        figure: &mut Figure,
        name: impl Into<String>,
        sample: impl Fn(&mut Figure, Place),
    ) {
        let [left, y] = self.0;
        sample(figure, [left + 15.0, y]);
        self.more(figure, name);
    }

    /// Adds a row for the second line of a name, without a sample.
    pub(crate) fn more(&mut self, figure: &mut Figure, text: impl Into<String>) {
        let [left, y] = self.0;
        figure.text(Text::new(text, [left + 38.0, y + 4.0], Self::SIZE));
        self.0[1] += Self::STEP;
    }

    /// Adds the marks of the current in a coil that is cut.
    pub(crate) fn currents(&mut self, figure: &mut Figure) {
        self.row(figure, "coil, current towards you", |figure, at| current_mark(figure, at, 6.0, true));
        self.row(figure, "coil, current away", |figure, at| current_mark(figure, at, 6.0, false));
    }

    pub(crate) fn bulb(&mut self, figure: &mut Figure, bulb: &Bulb) {
        let name = format!("bulb, radius {}", fixed(bulb.radius_m, unit::MILLIMETRE, 0));
        self.row(figure, name, |figure, at| figure.circle(at, 7.0, Stroke::solid(GLASS, 1.6)));
    }

    /// Adds a line in its stroke.
    pub(crate) fn line(&mut self, figure: &mut Figure, name: impl Into<String>, stroke: Stroke) {
        self.row(figure, name, |figure, [x, y]| figure.line([[x - 13.0, y], [x + 13.0, y]], stroke));
    }
}
