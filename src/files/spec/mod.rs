//! The spec file: reading, checking, and the checked bench it gives.

mod checks;
mod document;
mod edit;
mod file;
mod fit;
mod kind;
mod limits;
mod measured;
mod measured_file;
mod office_file;
mod physical;
mod place;
mod quantity;
mod quote;
mod reader;
mod resolve;
mod source;
mod stated_digits;
mod structure;
mod structured;
mod supplier_limits;
mod supplier_limits_file;
mod syntax;
mod table_text;
mod tube_fit;
mod wanted;
mod wanted_file;
mod written;

pub use document::{CheckedDocument, check_document, check_document_text, document_kind};
pub use edit::{loose_value, pointer_at, with_value, without_item};
pub use measured::{
    CoilReadings, DropReading, FieldReading, InsulationReading, Measured, MeasuredValue, RimReading,
    SurfaceReading, VoltageReading, measured_from_text, measured_schema, read_measured,
};
pub use measured_file::WoundFrom;
pub(crate) use quote::enamelled;
pub use quote::{
    Blank, Doubt, Filled, Gap, GapFilling, Meanings, QUOTE_COLUMNS, QUOTE_FIELDS, Quote, QuoteField, Remark,
    StatedWinding, Unreadable, Written, blank_quote_text, is_form, quote_from_text, read_quote,
};
pub use reader::{CheckedBench, bench_from_text, bench_schema, check_again, check_bench, read_bench};
pub use supplier_limits::{
    CoilPromises, Promise, SupplierLimits, read_supplier_limits, supplier_limits_from_text,
    supplier_limits_schema,
};
pub use wanted::{
    Purchase, Search, SpacingChoice, Wanted, WishUnits, read_wanted, wanted_from_text, wanted_schema,
};
pub use wanted_file::Prefer;
pub use written::spec_text;
