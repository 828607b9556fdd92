//! What a supplier writes into the form beside its fields and below them.

use super::form::QuoteField;
use serde::Serialize;

/// A remark that a supplier wrote into the form.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Remark {
    /// The key of the field beside which it stands; `None` if it stands in a row of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// The label of that field.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The value of that field as written there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// What is written.
    pub text: String,
}

impl Remark {
    /// A remark in a row of its own.
    pub(super) fn alone(text: String) -> Self {
        Self { key: None, label: None, value: None, text }
    }

    /// A remark beside a field.
    pub(super) fn beside(field: &QuoteField, value: Option<String>, text: String) -> Self {
        Self { key: Some(field.path.into()), label: Some(field.label.into()), value, text }
    }

    /// Whether the cost may depend on it: it stands beside a price or its terms, or in a row of its own.
    pub fn may_change_the_cost(&self) -> bool {
        let terms = ["price.amount", "price.currency", "price.carriage", "price.tax_rate"];
        self.key.as_deref().is_none_or(|key| terms.contains(&key))
    }
}

/// What a cell says beyond the text that the form prints there; `None` if nothing.
pub(super) fn beyond(printed: &str, cell: &str) -> Option<String> {
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (printed, cell) = (words(printed), words(cell));
    let is_joint = |c: char| c.is_whitespace() || ":;,.-–—|/".contains(c);
    let rest = match (cell.strip_prefix(&printed), cell.strip_suffix(&printed)) {
        (Some(rest), _) | (None, Some(rest)) if !printed.is_empty() => rest.trim_matches(is_joint),
        _ => cell.as_str(),
    };
    (!rest.is_empty()).then(|| rest.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remark_is_what_goes_beyond_the_printed_text() {
        for (printed, cell, wanted) in [
            ("needed: each coil", "needed: each coil", None),
            ("needed: each coil", " needed:  each coil ", None),
            ("needed: each coil", "needed: each coil - both together", Some("both together")),
            ("each coil", "without cheeks; each coil", Some("without cheeks")),
            ("each coil", "per pair", Some("per pair")),
            ("", "per pair", Some("per pair")),
            ("each coil", "", None),
            ("", "", None),
        ] {
            assert_eq!(beyond(printed, cell).as_deref(), wanted, "{cell}");
        }
    }
}
