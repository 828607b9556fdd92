//! The rules of judgement, used by every question that draws a conclusion.
//!
//! - *Which fault is it?* [`weigh_faults`] fits every hypothesis to the data and integrates the likelihood over the
//!   sizes that are physically possible; [`judge`] turns that into posterior probabilities, puts faults that look alike
//!   in these data into one [`Class`], and [`Judgement::verdict`] is most likely, cannot tell or nothing found.
//! - *Does it meet the limit?* [`limit::decide`] with a stated decision rule.
//! - *Do two values agree?* [`agreement::compare`], which never says "agree" of values too uncertain to differ.
//!
//! This module does not depend on any question: the caller chooses the type of the causes and writes the sentences.

pub mod agreement;
mod classes;
mod data;
mod evidence;
mod fault;
pub mod limit;
mod normal;
pub mod priors;
mod verdict;

pub use classes::{Class, Judgement, Member, judge};
pub use data::{Data, Scale};
pub(crate) use evidence::left_unexplained;
pub use evidence::{Evidence, FaultEvidence, ln_sum, weigh_faults};
pub use fault::{Effect, Fault, Sizes};
pub(crate) use normal::coverage_of_many;
pub use verdict::{Detectable, Verdict};
