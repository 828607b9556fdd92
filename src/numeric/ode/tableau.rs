//! The coefficients of the method, for a program that integrates the same way elsewhere.

use crate::numeric::dop853_tableau::{A, D, E3, E5, Row};
use serde::Serialize;

/// The rows of DOP853. Each row lists stage and weight in turn: `[stage, weight, stage, weight, ...]`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tableau {
    /// Each stage from the stages before it; row 12 is the eighth-order result, rows 13 to 15 serve the dense output.
    pub a: Vec<Vec<f64>>,
    /// The third-order error estimate.
    pub e3: Vec<f64>,
    /// The fifth-order error estimate.
    pub e5: Vec<f64>,
    /// The upper four coefficients of the dense output.
    pub d: Vec<Vec<f64>>,
}

/// The tableau that [`integrate`](super::integrate) uses.
pub fn tableau() -> Tableau {
    let flat = |row: Row| row.iter().flat_map(|&(stage, weight)| [stage as f64, weight]).collect();
    Tableau { a: A.map(flat).into(), e3: flat(E3), e5: flat(E5), d: D.map(flat).into() }
}
