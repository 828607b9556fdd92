//! Reading and printing quantities: SI inside, text with a unit outside. No other module converts units.
//!
//! [`parse`] reads what people write (`"165 mm"`, `"-1.4 A"`, `"20 °C"`, `"1%"`), [`display`] and its
//! relatives write what people read, and a [`Unit`] converts columns of numbers. A decimal unit is a shift of
//! the decimal exponent, so that `"165 mm"` is the same number as `0.165`, to the last bit.

mod currency;
mod dimension;
mod display;
pub mod inert;
pub(crate) mod nearest;
mod parse;
mod period;

pub(crate) use currency::currencies_named;
pub use dimension::{Dimension, Unit, unit};
#[cfg(any(test, feature = "paper"))]
pub(crate) use display::display_beside;
pub(crate) use display::value_and_uncertainty;
#[cfg(feature = "paper")]
pub(crate) use display::with_standard_uncertainty;
pub(crate) use display::{Side, significant_to};
pub use display::{
    brief, degrees_of_freedom, display, fixed, fixed_down, fixed_up, length, number_of_six, rounded,
    scientific, significant, uncertain,
};
pub(crate) use parse::unit_written;
pub use parse::{QuantityError, number, parse, quantity_pattern, shortened};
pub(crate) use period::{parse_period, period};
