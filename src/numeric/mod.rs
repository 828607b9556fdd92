//! Numerical methods that know no physics.

pub mod compass;
pub mod quadrature;
