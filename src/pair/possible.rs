//! Whether a pair can be wound as described: the checks that need no file.

use super::bench::{Bench, Winding, Wire};
use super::layout::Layout;
use crate::Result;
use crate::error::Refused;
use crate::error::WindingFault as Fault;

fn positive(quantity: &'static str, value: f64, unit: &'static str) -> Result<()> {
    match value.is_finite() && value > 0.0 {
        true => Ok(()),
        false => Err(Refused::Winding(Fault::NotPositive { quantity, value, unit }).into()),
    }
}

/// Refuses with the fault if it is one.
fn refuse_if(is_fault: bool, fault: Fault) -> Result<()> {
    if is_fault { Err(Refused::Winding(fault).into()) } else { Ok(()) }
}

impl Wire {
    /// Whether such a wire can be.
    ///
    /// # Errors
    /// [`Refused::Winding`] if a diameter is not finite and above zero, or the overall diameter is not above the bare
    /// one.
    pub fn check(&self) -> Result<()> {
        let (bare_m, overall_m) = (self.bare_diameter_m, self.overall_diameter_m);
        positive("bare diameter of the wire", bare_m, "m")?;
        positive("overall diameter of the wire", overall_m, "m")?;
        refuse_if(bare_m >= overall_m, Fault::WireDiameters { bare_m, overall_m })
    }
}

impl Winding {
    /// Whether such a winding can be wound.
    ///
    /// # Errors
    /// [`Refused::Winding`] if
    /// - mean radius, width, depth, turns or a diameter of the wire is not finite and above zero,
    /// - the section is at least twice as deep as the mean radius, so that no bore is left,
    /// - the wire is no thicker over its enamel than without,
    /// - the stated layers hold fewer turns, or the turns do not fit the section (to 1e-9 of its sides).
    pub fn check(&self) -> Result<()> {
        positive("mean radius of the winding", self.mean_radius_m, "m")?;
        positive("width of the winding", self.width_m, "m")?;
        positive("depth of the winding", self.depth_m, "m")?;
        positive("turns", self.turns, "")?;
        self.wire.check()?;
        let (depth_m, mean_radius_m) = (self.depth_m, self.mean_radius_m);
        refuse_if(depth_m >= 2.0 * mean_radius_m, Fault::NoBore { depth_m, mean_radius_m })?;
        let (turns, layout) = (self.turns, Layout::of(self));
        let places = f64::from(layout.layers) * f64::from(layout.turns_per_layer);
        refuse_if(!layout.holds_all_turns(), Fault::TooFewPlaces { turns, places })?;
        let needed_m = [layout.needed_width_m, layout.needed_depth_m];
        let fault = Fault::TurnsDoNotFit { turns, needed_m, section_m: [self.width_m, self.depth_m] };
        refuse_if(!(layout.fits_width() && layout.fits_depth()), fault)
    }
}

impl Bench {
    /// A bench with only the parts that a file must state: coils in series, axis horizontal. `spacing_m` (m) goes from
    /// the middle of one coil to the middle of the other.
    ///
    /// ```
    /// use coilwright::pair::{Bench, Winding, Wire};
    /// let winding = Winding::new(0.15, 0.0169, 0.0095, 136.0, Wire::copper(0.95e-3, 1.041e-3));
    /// let pair = Bench::bare("Bench pair", winding.clone(), 0.15)?;
    /// assert_eq!(pair.coils()[0].turns, 136.0);
    /// assert!(Bench::bare("Overlapping pair", winding, 0.01).is_err());
    /// # Ok::<(), coilwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Refused::Winding`] if [`Winding::check`] refuses the winding, or if the spacing is not finite or not above the
    /// winding's width.
    pub fn bare(title: impl Into<String>, winding: Winding, spacing_m: f64) -> Result<Self> {
        winding.check()?;
        positive("spacing", spacing_m, "m")?;
        let width_m = winding.width_m;
        refuse_if(spacing_m <= width_m, Fault::CoilsOverlap { width_m, spacing_m })?;
        Ok(Self::unchecked(title, winding, spacing_m))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    /// 9 layers of 16 turns of wire of 1.041 mm: 16.7 mm wide and 9.4 mm deep.
    fn winding() -> Winding {
        Winding::new(0.15, 0.0169, 0.0095, 136.0, Wire::copper(0.95e-3, 1.041e-3))
    }

    fn fault(change: impl Fn(&mut Winding), spacing_m: f64) -> Option<Fault> {
        let mut changed = winding();
        change(&mut changed);
        match Bench::bare("Pair", changed, spacing_m) {
            Ok(_) => None,
            Err(Error::Refused(Refused::Winding(fault))) => Some(fault),
            Err(other) => panic!("{other}"),
        }
    }

    #[test]
    fn a_sound_pair_passes() {
        assert_eq!(fault(|_| {}, 0.15), None);
    }

    type Set = fn(&mut Winding, f64);

    #[test]
    fn what_is_not_finite_and_above_zero_is_refused_by_its_name() {
        let changes: [(&str, Set); 6] = [
            ("mean radius of the winding", |winding, value| winding.mean_radius_m = value),
            ("width of the winding", |winding, value| winding.width_m = value),
            ("depth of the winding", |winding, value| winding.depth_m = value),
            ("turns", |winding, value| winding.turns = value),
            ("bare diameter of the wire", |winding, value| winding.wire.bare_diameter_m = value),
            ("overall diameter of the wire", |winding, value| winding.wire.overall_diameter_m = value),
        ];
        for value in [-0.15, 0.0, f64::NAN, f64::INFINITY] {
            for (name, change) in changes {
                let found = fault(|winding| change(winding, value), 0.15);
                let Some(Fault::NotPositive { quantity, .. }) = found else {
                    panic!("{name} {value}: {found:?}")
                };
                assert_eq!(quantity, name, "{value}");
            }
            let found = fault(|_| {}, value);
            assert!(
                matches!(found, Some(Fault::NotPositive { quantity: "spacing", .. })),
                "{value}: {found:?}"
            );
        }
    }

    #[test]
    fn what_does_not_go_together_is_refused() {
        assert!(matches!(fault(|it| it.depth_m = 0.3, 0.15), Some(Fault::NoBore { .. })));
        assert!(matches!(
            fault(|it| it.wire.bare_diameter_m = 1.05e-3, 0.15),
            Some(Fault::WireDiameters { .. })
        ));
        assert!(matches!(fault(|it| it.turns = 10_000.0, 0.15), Some(Fault::TurnsDoNotFit { .. })));
        let few = |it: &mut Winding| (it.layers, it.turns_per_layer) = (Some(8), Some(16));
        assert!(matches!(fault(few, 0.15), Some(Fault::TooFewPlaces { .. })));
        assert!(matches!(fault(|_| {}, 0.0169), Some(Fault::CoilsOverlap { .. })));
        assert_eq!(fault(|_| {}, 0.017), None);
    }
}
