//! Parts of the spec that a question cannot do without, each with why and how to write it.

use super::bench::Bench;
use super::instruments::Supply;
use super::tube::Tube;
use crate::{Error, Result};

impl Bench {
    /// The largest current the supply can be set to, or why that is not known.
    pub fn current_limit_ampere(&self) -> Result<f64> {
        Ok(self.supply()?.current_limit_ampere)
    }

    /// The supply, or why it is needed.
    pub fn supply(&self) -> Result<&Supply> {
        self.supply.as_ref().ok_or(Error::MissingPart {
            part: "supply",
            why: "the largest current comes from it",
            example: r#""supply": { "voltage_limit": "30 V", "current_limit": "3 A" }"#,
        })
    }

    /// The tube, or why it is needed.
    pub fn tube(&self) -> Result<&Tube> {
        self.tube.as_ref().ok_or(Error::MissingPart {
            part: "tube",
            why: "the beam region comes from it",
            example: r#""tube": { "bulb_radius": "78 mm", "gun_exit": ["48 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0], "beam_radius": ["25 mm", "52 mm"] }"#,
        })
    }

    /// Smallest and largest beam radius, or why they are needed.
    pub fn beam_radius_m(&self) -> Result<[f64; 2]> {
        self.tube()?.beam_radius_m.ok_or(Error::MissingPart {
            part: "tube.beam_radius",
            why: "the beam region is made of circles of these radii",
            example: r#""beam_radius": ["25 mm", "52 mm"]"#,
        })
    }
}
