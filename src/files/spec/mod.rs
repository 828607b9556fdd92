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
mod measured_table;
mod office_file;
mod physical;
mod place;
mod quantity;
mod quote;
mod quote_blank;
mod quote_doubt;
mod quote_form;
mod quote_gap;
mod quote_number;
mod quote_remark;
mod quote_table;
mod quote_typed;
mod quote_wire;
mod quote_words;
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
pub use edit::{pointer_at, with_value};
pub use measured::{
    CoilReadings, FieldReading, InsulationReading, Measured, MeasuredValue, SurfaceReading,
    measured_from_text, measured_schema,
};
pub use measured_table::read_measured;
pub(crate) use quote::enamelled;
pub use quote::{Filled, Filling, Quote, StatedWinding, quote_from_text, read_quote};
pub use quote_doubt::{Doubt, Meanings};
pub use quote_form::{QUOTE_COLUMNS, QUOTE_FIELDS, QuoteField, Unreadable, Written};
pub use quote_gap::{Blank, Gap};
pub use quote_remark::Remark;
pub use quote_table::blank_quote_text;
pub use reader::{CheckedBench, bench_from_text, bench_schema, check_bench, read_bench};
pub use supplier_limits::{
    CoilPromises, Promise, SupplierLimits, read_supplier_limits, supplier_limits_from_text,
    supplier_limits_schema,
};
pub use wanted::{
    Purchase, Search, SpacingChoice, Wanted, WishUnits, read_wanted, wanted_from_text, wanted_schema,
};
pub use wanted_file::Prefer;
pub use written::spec_text;
