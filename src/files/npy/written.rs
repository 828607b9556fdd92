//! Arrays of numbers in numpy's `.npy` format, version 1.0: 64-bit floats, little-endian, C order.
//!
//! The bytes are those that `numpy.save` writes. Its heading keeps room for the number of rows to grow, so that a file
//! can be begun before its rows are counted.

use super::MAGIC;

/// Headings end at a multiple of this many bytes.
const ALIGNMENT: usize = 64;
/// Room for this many digits of the first length.
const GROWTH_DIGITS: usize = 21;
/// Magic, version and the heading's length.
const BEFORE_HEADING: usize = 10;

/// The bytes before the numbers of an array with these lengths, the slowest index first. For arrays with equally many
/// dimensions that differ in the first length alone they are equally long.
pub(crate) fn opening(lengths: &[u64]) -> Vec<u8> {
    let shape = match lengths {
        [one] => format!("({one},)"),
        _ => format!("({})", lengths.iter().map(u64::to_string).collect::<Vec<_>>().join(", ")),
    };
    let first = lengths.first().map_or(0, |first| first.to_string().len());
    let room = GROWTH_DIGITS.saturating_sub(first);
    let mut heading =
        format!("{{'descr': '<f8', 'fortran_order': False, 'shape': {shape}, }}{}", " ".repeat(room));
    let unpadded = BEFORE_HEADING + heading.len() + 1;
    heading.push_str(&" ".repeat(unpadded.next_multiple_of(ALIGNMENT) - unpadded));
    heading.push('\n');
    let mut bytes = MAGIC.to_vec();
    bytes.extend([1, 0]);
    bytes.extend((heading.len() as u16).to_le_bytes());
    bytes.extend(heading.as_bytes());
    bytes
}

/// Appends numbers.
pub(crate) fn push(bytes: &mut Vec<u8>, numbers: impl IntoIterator<Item = f64>) {
    numbers.into_iter().for_each(|number| bytes.extend(number.to_le_bytes()));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bytes_are_numpys() {
        // numpy 2.4.6: `make_arrays.py` beside it.
        let numpys = include_bytes!("../../../tests/data/rows-numpy.npy");
        let mut ours = opening(&[2, 3]);
        push(&mut ours, [0.1, -1.0 / 3.0, 1e-20, 6.283_185_307_179_586e-7, -0.0, 1.0]);
        assert_eq!(ours, numpys);
    }

    #[test]
    fn a_heading_is_as_long_for_any_number_of_rows() {
        let length = opening(&[0, 7]).len();
        assert_eq!(length % ALIGNMENT, 0);
        for rows in [1, 10_000_000, u64::MAX] {
            assert_eq!(opening(&[rows, 7]).len(), length, "{rows}");
        }
        assert!(String::from_utf8_lossy(&opening(&[5])).contains("'shape': (5,)"));
        assert!(String::from_utf8_lossy(&opening(&[201, 101, 7])).contains("'shape': (201, 101, 7)"));
    }
}
