//! Numerical methods that know no physics.

pub mod compass;
mod dop853_tableau;
pub mod ode;
pub mod quadrature;
pub mod roots;
