//! Numbers as the shortest text that reads back the same, several times faster than the standard library's, letter for
//! letter what `{:?}` writes.

/// Writes one number after the other.
pub(crate) struct Shortest {
    buffer: zmij::Buffer,
}

impl Shortest {
    pub fn new() -> Self {
        Self { buffer: zmij::Buffer::new() }
    }

    /// Appends a number.
    pub fn push(&mut self, out: &mut Vec<u8>, value: f64) {
        use std::io::Write;
        let size = value.abs();
        // Here `{:?}` goes over to an exponent, or from it, before the fast way does.
        if (1e-5..1e-4).contains(&size) || size >= 1e15 {
            // Writing to a Vec cannot fail.
            let _: std::io::Result<()> = write!(out, "{value:?}");
        } else {
            out.extend_from_slice(self.buffer.format(value).as_bytes());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(value: f64) -> String {
        let mut out = Vec::new();
        Shortest::new().push(&mut out, value);
        String::from_utf8(out).unwrap()
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

    proptest! {
        #[test]
        fn any_number_is_written_as_the_standard_library_does(value in any::<f64>(), exponent in -12..20) {
            prop_assert_eq!(text(value), format!("{value:?}"));
            let nearer = (value % 1.0) * 10f64.powi(exponent);
            prop_assert_eq!(text(nearer), format!("{nearer:?}"));
        }
    }
}
