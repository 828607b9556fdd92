//! The known word that was probably meant by a mistyped one.

/// The candidate nearest to `word`, or `None` if none is near enough. A difference in case counts less than a slip.
pub(crate) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A word of hundreds of letters is not a typing slip, and the time of a comparison grows as its length squared.
    if word.len() > 64 {
        return None;
    }
    let lower = word.to_lowercase();
    candidates
        .into_iter()
        .filter(|candidate| !candidate.is_empty())
        .map(|candidate| {
            let distance = strsim::damerau_levenshtein(&lower, &candidate.to_lowercase());
            let case = usize::from(distance == 0 && candidate != word);
            (2 * distance + case, candidate)
        })
        .filter(|(cost, candidate)| *cost <= 2 * slips_allowed(word, candidate))
        .min_by_key(|(cost, _)| *cost)
        .map(|(_, candidate)| candidate)
}

/// One slip for every three letters of the longer word, and at least one.
fn slips_allowed(word: &str, candidate: &str) -> usize {
    let longer = word.chars().count().max(candidate.chars().count());
    match longer {
        0..=2 => usize::from(word.chars().count() == candidate.chars().count()),
        _ => longer.div_ceil(3),
    }
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_word_and_nonsense_finds_none() {
        let keys = ["mean_radius", "width", "depth", "turns", "wire"];
        assert_eq!(nearest("mean_raduis", keys), Some("mean_radius"));
        assert_eq!(nearest("Turns", keys), Some("turns"));
        assert_eq!(nearest("turn", keys), Some("turns"));
        assert_eq!(nearest("witdh", keys), Some("width"));
        assert_eq!(nearest("gun_voltage", keys), None);
        assert_eq!(nearest(&"x".repeat(100_000), keys), None);
        assert_eq!(nearest("MT", ["T", "mT"]), Some("mT"));
    }
}
