//! Numerical methods that know no physics.
