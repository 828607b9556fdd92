//! The first line of a page: the origin of its numbers.

use crate::pair::Provenance;

/// The origin of a page's numbers, and what is doubtful about them.
pub(crate) fn on_page(provenance: &Provenance) -> String {
    let doubtful = provenance.contradictions.iter().map(|contradiction| {
        format!(
            ". DOUBTFUL: {contradiction}; voltage, heat and whatever else rests on the resistance: ask which of the two is \
             right"
        )
    });
    std::iter::once(provenance.to_string()).chain(doubtful).collect()
}
