//! The physics of the pair: its field, its heat, its beam, and the room around it.

pub mod beam;
pub mod budget_source;
pub mod build_error;
pub mod electrical;
pub mod field;
pub mod heat;
pub(crate) mod may_flow;
pub(crate) mod one_turn;
pub mod room;
pub mod safety;
pub(crate) mod shorted_turn;
pub mod slope;
pub mod spacing;
pub mod stray;
pub mod test_limits;
