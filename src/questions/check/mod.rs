//! Is this file right, and is the pair on the bench, or just delivered, the pair of the spec?

mod causes;
mod consistency;
mod expected;
mod hypotheses;
mod joined;
mod judged;
mod lesson;
mod reach;
mod reading;
mod readings;
mod record;
mod residuals;
mod sentences;
mod standing;
mod subject;
mod unlike;
mod warm;
#[cfg(feature = "paper")]
pub mod words;

pub use consistency::{Contradiction, Other};
pub(crate) use joined::joined;
pub use lesson::{Request, delivery_verdict, lesson_check};
pub use record::*;
pub use subject::{BothQuantity, CoilQuantity, Quantity, SectionQuantity, Subject};
