//! Numerical methods that know no physics.

pub mod compass;
pub mod coverage;
mod dop853_tableau;
pub mod line_fit;
pub mod ode;
pub mod quadrature;
pub mod random;
pub mod roots;
pub mod student;
