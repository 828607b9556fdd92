//! Image data of VTK, `.vti`: numbers on a regular grid of points for visualisation programs, version 1.0 of the XML format
//! with data appended in base64, little-endian. Raw data would be a quarter shorter and no XML.
//!
//! Written piece by piece, because a grid may be larger than memory: [`ImageData::opening`], then each array by
//! [`ImageData::write`] with x fastest and z slowest, then [`CLOSING`].

use base64::engine::general_purpose::STANDARD;
use base64::write::EncoderWriter;
use std::fmt::Write as _;
use std::io::Write;

/// What follows the last array.
pub(crate) const CLOSING: &str = "\n  </AppendedData>\n</VTKFile>\n";
/// Bytes of an array's length, which stands before its numbers.
const LENGTH_BYTES: u64 = 8;

/// A regular grid and what is given at each point.
#[derive(Debug)]
pub(crate) struct ImageData {
    /// The first point.
    pub origin_m: [f64; 3],
    /// From point to point along x, y and z.
    pub step_m: [f64; 3],
    /// Points along x, y and z.
    pub counts: [u64; 3],
    /// The arrays in their order.
    pub arrays: Vec<PointArray>,
}

/// What is given at each point.
#[derive(Debug)]
pub(crate) struct PointArray {
    pub name: String,
    pub kind: PointKind,
}

/// The form of an array.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PointKind {
    /// Three 64-bit floats.
    Vector,
    /// One 64-bit float.
    Number,
    /// One byte, 1 or 0.
    YesNo,
}

impl PointKind {
    fn bytes(self) -> u64 {
        match self {
            Self::Vector => 24,
            Self::Number => 8,
            Self::YesNo => 1,
        }
    }

    fn attributes(self) -> &'static str {
        match self {
            Self::Vector => "type=\"Float64\" NumberOfComponents=\"3\"",
            Self::Number => "type=\"Float64\"",
            Self::YesNo => "type=\"UInt8\"",
        }
    }
}

impl ImageData {
    /// The number of points.
    pub(crate) fn points(&self) -> u64 {
        self.counts.iter().product()
    }

    /// Writes an array whose bytes come in pieces.
    pub(crate) fn write(
        &self,
        kind: PointKind,
        pieces: impl Iterator<Item = Vec<u8>>,
        out: &mut dyn Write,
    ) -> std::io::Result<()> {
        let mut encoded = EncoderWriter::new(out, &STANDARD);
        encoded.write_all(&(kind.bytes() * self.points()).to_le_bytes())?;
        for piece in pieces {
            encoded.write_all(&piece)?;
        }
        encoded.finish().map(drop)
    }

    /// The text before the first array; `comment` says where the numbers are from.
    pub(crate) fn opening(&self, comment: &str) -> String {
        let extent: Vec<_> =
            self.counts.iter().map(|count| format!("0 {}", count.saturating_sub(1))).collect();
        let extent = extent.join(" ");
        let numbers = |numbers: [f64; 3]| numbers.map(|number| number.to_string()).join(" ");
        let (origin, step) = (numbers(self.origin_m), numbers(self.step_m));
        // Two hyphens would end the comment.
        let comment = comment.replace("--", "\u{2010}\u{2010}");
        let mut text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- {comment} -->\n\
             <VTKFile type=\"ImageData\" version=\"1.0\" byte_order=\"LittleEndian\" header_type=\"UInt64\">\n  \
             <ImageData WholeExtent=\"{extent}\" Origin=\"{origin}\" Spacing=\"{step}\">\n    \
             <Piece Extent=\"{extent}\">\n      <PointData>\n"
        );
        let mut offset = 0;
        for PointArray { name, kind } in &self.arrays {
            let form = kind.attributes();
            // Writing to a `String` cannot fail.
            let _ = writeln!(
                text,
                "        <DataArray {form} Name=\"{name}\" format=\"appended\" offset=\"{offset}\"/>"
            );
            // Three bytes are four characters.
            offset += (LENGTH_BYTES + kind.bytes() * self.points()).div_ceil(3) * 4;
        }
        text.push_str(
            "      </PointData>\n    </Piece>\n  </ImageData>\n  <AppendedData encoding=\"base64\">\n   _",
        );
        text
    }
}
