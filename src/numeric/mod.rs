//! Numerical methods that know no physics.

pub mod calendar;
pub(crate) mod compass;
pub(crate) mod correlated_lines;
pub mod coverage;
mod dop853_tableau;
pub(crate) mod elliptic;
mod elliptic_fit;
pub mod lanes;
mod lanes_fit;
pub(crate) mod least_squares;
pub mod line_fit;
pub mod ode;
pub mod quadrature;
pub mod random;
pub mod roots;
pub mod student;
pub(crate) mod symmetric_eigen;
