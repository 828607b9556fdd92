//! Writes numbers with the fewest digits that read back as the same number, several times faster than the standard
//! library.
//!
//! The form is that of `{:?}`. So are the digits, except if two texts of the same length are equally near: then the
//! last digit is even here, while the standard library rounds up.

/// Writes numbers one after the other.
pub(crate) struct Shortest {
    buffer: zmij::Buffer,
}

impl Shortest {
    pub(crate) fn new() -> Self {
        Self { buffer: zmij::Buffer::new() }
    }

    /// Appends a number with this decimal mark.
    pub(crate) fn push(&mut self, out: &mut String, value: f64, decimal_mark: char) {
        let size = value.abs();
        // `{:?}` switches to an exponent in other places than the fast method does.
        if (1e-5..1e-4).contains(&size) || size >= 1e15 {
            push_marked(out, &format!("{value:?}"), decimal_mark);
        } else {
            push_marked(out, self.buffer.format(value), decimal_mark);
        }
    }
}

fn push_marked(out: &mut String, number: &str, decimal_mark: char) {
    match number.split_once('.').filter(|_| decimal_mark != '.') {
        Some((whole, decimals)) => {
            out.push_str(whole);
            out.push(decimal_mark);
            out.push_str(decimals);
        }
        None => out.push_str(number),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(value: f64) -> String {
        let mut out = String::new();
        Shortest::new().push(&mut out, value, '.');
        out
    }

    #[test]
    fn round_and_extreme_numbers_are_written_as_the_standard_library_does() {
        for value in [
            0.0,
            -0.0,
            1.0,
            -2.5,
            0.1,
            1e-4,
            9.999e-5,
            1e-5,
            9.999e-6,
            1e-6,
            1e-20,
            5e-324,
            123456.0,
            1e14,
            1e15,
            1e16,
            1.5e16,
            1e17,
            1e22,
            1e23,
            f64::MAX,
            f64::MIN_POSITIVE,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
        ] {
            assert_eq!(text(value), format!("{value:?}"));
        }
    }

    /// Same form and length as the standard library's; the last digit may differ if it reads back as the same number.
    fn is_as_short_and_exact(value: f64) -> bool {
        let (ours, standard) = (text(value), format!("{value:?}"));
        let same_but_last_digit = || {
            let apart = ours.bytes().zip(standard.bytes()).filter(|(one, other)| one != other).count();
            ours.len() == standard.len() && apart <= 1
        };
        ours == standard || same_but_last_digit() && ours.parse() == Ok(value)
    }

    #[test]
    fn a_tie_goes_to_the_even_digit() {
        // 0.58417510986328125 is exact in binary, and both texts of 16 digits are equally near.
        let tie = -0.584_175_109_863_281_25;
        assert_eq!(
            (text(tie).as_str(), format!("{tie:?}").as_str()),
            ("-0.5841751098632812", "-0.5841751098632813")
        );
        assert_eq!(text(tie).parse(), Ok(tie));
    }

    proptest! {
        #[test]
        fn any_number_is_as_short_as_the_standard_librarys_and_reads_back(value in any::<f64>(), exponent in -12..20) {
            prop_assert!(value.is_nan() || is_as_short_and_exact(value), "{value:?}: {}", text(value));
            let nearer = (value % 1.0) * 10f64.powi(exponent);
            prop_assert!(nearer.is_nan() || is_as_short_and_exact(nearer), "{nearer:?}: {}", text(nearer));
        }
    }
}
