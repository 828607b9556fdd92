//! Limits of error of a build.

use super::instruments::Distribution;
use serde::Serialize;
use std::f64::consts::SQRT_2;

/// Limits of error of a build. Each entry holds for each coil and axis separately, the spacing once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BuildTolerance {
    /// Mean radius of each coil.
    pub mean_radius_m: f64,
    /// Spacing of the pair.
    pub spacing_m: f64,
    /// Turns of each coil.
    pub turns: f64,
    /// Width of each section.
    pub width_m: f64,
    /// Depth of each section.
    pub depth_m: f64,
    /// Displacement of each coil in x and in y (along z, the limit of the spacing counts).
    pub offset_m: f64,
    /// Tilt of each coil about x and about y.
    pub tilt_rad: f64,
    /// The distribution that the limits describe.
    pub distribution: Distribution,
    /// The limits that the spec leaves out; they are 0 above. Where an uncertainty is computed (`calibrate`, `tolerance`,
    /// `sheet`) such a limit counts as kept exactly: the spec says what may vary. Where a limit is held against a pair
    /// (`build`, `accept`, `check`, `compare`) the ordinary one is taken, see [`complete`](Self::complete).
    pub not_stated: NotStated,
}

/// Limits of a build tolerance that a spec leaves out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(missing_docs)]
pub struct NotStated {
    pub mean_radius: bool,
    pub spacing: bool,
    pub width: bool,
    pub depth: bool,
    pub offset: bool,
    pub tilt: bool,
}

/// The two limits of a reading round the rim, which shows how the coils stand to each other and not which of them is off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct RimLimits {
    /// Up to here no single coil can be off by more than its limit. This is the limit that is drawn and passes.
    pub(crate) one_coil_m: f64,
    /// Beyond this one of the coils is off by more than its limit, whatever the other does.
    pub(crate) both_coils_m: f64,
}

impl NotStated {
    /// Their keys in the spec. Turns are not among them: the ordinary limit of turns is none.
    pub fn keys(self) -> impl Iterator<Item = &'static str> {
        let all = [
            ("mean_radius", self.mean_radius),
            ("spacing", self.spacing),
            ("width", self.width),
            ("depth", self.depth),
            ("offset", self.offset),
            ("tilt", self.tilt),
        ];
        all.into_iter().filter_map(|(key, not_stated)| not_stated.then_some(key))
    }

    /// Whether every limit is stated.
    pub fn is_empty(self) -> bool {
        self == Self::default()
    }
}

impl Serialize for NotStated {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.collect_seq(self.keys())
    }
}

impl BuildTolerance {
    /// The limits of a carefully home-made pair, for a spec that states none: common practice, no source.
    pub const ORDINARY: Self = Self {
        mean_radius_m: 0.5e-3,
        spacing_m: 0.5e-3,
        turns: 0.0,
        width_m: 0.5e-3,
        depth_m: 0.5e-3,
        offset_m: 0.5e-3,
        tilt_rad: 5e-3,
        distribution: Distribution::Rectangular,
        not_stated: NotStated {
            mean_radius: false,
            spacing: false,
            width: false,
            depth: false,
            offset: false,
            tilt: false,
        },
    };

    /// Limits of the largest less the smallest distance between the coils round a rim of a diameter.
    ///
    /// The tilt t is a limit for each coil about each axis, the rim has the diameter D. One coil alone that tilts by more
    /// than t about any axis of its rim makes more than D tan t. Two coils that keep t may lean towards each other about
    /// both axes, which makes D tan(2√2 t).
    pub(crate) fn rim_difference_m(&self, across_m: f64) -> RimLimits {
        RimLimits {
            one_coil_m: across_m * self.tilt_rad.tan(),
            both_coils_m: across_m * (2.0 * SQRT_2 * self.tilt_rad).tan(),
        }
    }

    /// Limits of the largest step from rim to rim along the axis: the offset of one coil along one axis, and 2√2 of it for
    /// two coils that are offset against each other along both.
    pub(crate) fn rim_step_m(&self) -> RimLimits {
        RimLimits { one_coil_m: self.offset_m, both_coils_m: 2.0 * SQRT_2 * self.offset_m }
    }

    /// These limits, with the ordinary one for each that is not stated. A stated 0 stays 0.
    pub fn complete(self) -> Self {
        let (none, ordinary) = (self.not_stated, Self::ORDINARY);
        let or = |not_stated: bool, ordinary: f64, stated: f64| if not_stated { ordinary } else { stated };
        Self {
            mean_radius_m: or(none.mean_radius, ordinary.mean_radius_m, self.mean_radius_m),
            spacing_m: or(none.spacing, ordinary.spacing_m, self.spacing_m),
            width_m: or(none.width, ordinary.width_m, self.width_m),
            depth_m: or(none.depth, ordinary.depth_m, self.depth_m),
            offset_m: or(none.offset, ordinary.offset_m, self.offset_m),
            tilt_rad: or(none.tilt, ordinary.tilt_rad, self.tilt_rad),
            not_stated: NotStated::default(),
            ..self
        }
    }
}
