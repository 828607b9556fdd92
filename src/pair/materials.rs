//! Properties of former materials, and thermal data of enamel and varnish.
//!
//! Handbook figures, from memory: a former of the same name may differ by 20 % or more, which matters little compared
//! with the surface. Conductivities are across the grain or sheet.

use serde::Serialize;

/// The kind of a surface for touch, as the standards on touch temperature class materials.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TouchMaterial {
    /// Uncoated metal, or anodised.
    BareMetal,
    /// Metal under paint, varnish or enamel.
    CoatedMetal,
    /// Glass, porcelain, stone.
    GlassOrCeramic,
    /// Plastic or rubber.
    Plastic,
    /// Wood and wood products.
    Wood,
}

impl TouchMaterial {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::BareMetal => "bare metal",
            Self::CoatedMetal => "coated metal",
            Self::GlassOrCeramic => "glass or ceramic",
            Self::Plastic => "plastic",
            Self::Wood => "wood",
        }
    }
}

/// What a former's material does to a coil's field and current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Electric {
    /// It insulates.
    Insulates,
    /// It conducts: a closed ring of it is a shorted turn.
    Conducts,
    /// It conducts and is magnetic: it changes the field.
    Magnetic,
}

/// The properties of a former's material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FormerMaterial {
    /// The first of its names.
    pub name: &'static str,
    other_names: &'static [&'static str],
    /// Thermal conductivity across the wall.
    pub conductivity_watt_per_m_kelvin: f64,
    /// Density.
    pub density_kg_per_m3: f64,
    /// Specific heat.
    pub specific_heat_joule_per_kg_kelvin: f64,
    /// Emissivity of the surface as usually found.
    pub emissivity: f64,
    /// Linear expansion.
    pub expansion_per_kelvin: f64,
    /// Its kind for the limits of touch.
    pub touch: TouchMaterial,
    /// What it does to a coil's field and current.
    pub electric: Electric,
}

const fn material(
    name: &'static str,
    other_names: &'static [&'static str],
    [conductivity, density, specific_heat, emissivity, expansion]: [f64; 5],
    touch: TouchMaterial,
    electric: Electric,
) -> FormerMaterial {
    FormerMaterial {
        name,
        other_names,
        conductivity_watt_per_m_kelvin: conductivity,
        density_kg_per_m3: density,
        specific_heat_joule_per_kg_kelvin: specific_heat,
        emissivity,
        expansion_per_kelvin: expansion,
        touch,
        electric,
    }
}

use Electric::{Conducts, Insulates, Magnetic};
use TouchMaterial::{BareMetal, CoatedMetal, GlassOrCeramic, Plastic, Wood};

/// The materials known by name, with alloys by their usual designations and some German names; the last one replaces a
/// name not in the list. Of two names as long as each other, the later one counts.
#[rustfmt::skip]
static MATERIALS: [FormerMaterial; 31] = [
    //                                                          W/(m K) kg/m³  J/(kg K)  ε     1/K
    material("plywood", &["multiplex", "birch plywood"],        [0.13, 620.0, 1500.0, 0.90, 6e-6], Wood, Insulates),
    material("wood", &["beech", "oak", "maple", "pine"],        [0.15, 650.0, 1600.0, 0.90, 5e-6], Wood, Insulates),
    material("mdf", &["fibreboard", "chipboard", "hardboard"],  [0.14, 750.0, 1500.0, 0.90, 8e-6], Wood, Insulates),
    material("cardboard", &["paper", "pressboard"],             [0.12, 700.0, 1400.0, 0.90, 10e-6], Wood, Insulates),
    material("pvc", &["rigid pvc", "vinyl"],                    [0.17, 1400.0, 1000.0, 0.90, 70e-6], Plastic, Insulates),
    material("acrylic", &["pmma", "acrylic glass"],             [0.19, 1190.0, 1470.0, 0.90, 70e-6], Plastic, Insulates),
    material("polycarbonate", &["pc"],                          [0.20, 1200.0, 1200.0, 0.90, 68e-6], Plastic, Insulates),
    material("abs", &[],                                        [0.18, 1050.0, 1400.0, 0.90, 85e-6], Plastic, Insulates),
    material("pla", &["3d print", "3d-printed", "printed pla"], [0.13, 1240.0, 1800.0, 0.90, 70e-6], Plastic, Insulates),
    material("petg", &["pet"],                                  [0.20, 1270.0, 1200.0, 0.90, 65e-6], Plastic, Insulates),
    material("acetal", &["pom"],                                [0.31, 1410.0, 1470.0, 0.90, 110e-6], Plastic, Insulates),
    material("nylon", &["polyamide", "pa"],                     [0.25, 1140.0, 1700.0, 0.90, 85e-6], Plastic, Insulates),
    material("polyethylene", &["pe", "hdpe", "polypropylene", "pp"], [0.35, 930.0, 1900.0, 0.90, 130e-6], Plastic, Insulates),
    material("phenolic", &["bakelite", "srbp", "pertinax"],     [0.25, 1400.0, 1400.0, 0.90, 25e-6], Plastic, Insulates),
    material("glass epoxy", &["fr4", "fr-4", "g10", "fibreglass"], [0.30, 1850.0, 1000.0, 0.90, 14e-6], Plastic, Insulates),
    material("glass", &["ceramic", "porcelain"],                [1.0, 2500.0, 800.0, 0.92, 8e-6], GlassOrCeramic, Insulates),
    material("carbon fibre", &["carbon fiber", "carbon", "cfrp", "cfk", "graphite"],
                                                                [1.0, 1600.0, 900.0, 0.90, 3e-6], Plastic, Conducts),
    material("metal", &["alloy", "sheet metal", "metall", "tin", "pewter", "zinc alloy"],
                                                                [60.0, 7200.0, 400.0, 0.10, 20e-6], BareMetal, Conducts),
    material("zinc", &["zamak", "zamac", "zink"],               [116.0, 7140.0, 390.0, 0.10, 30e-6], BareMetal, Conducts),
    material("magnesium", &["az31", "az91"],                    [96.0, 1780.0, 1020.0, 0.10, 26e-6], BareMetal, Conducts),
    material("titanium", &["titan"],                            [20.0, 4500.0, 520.0, 0.20, 9e-6], BareMetal, Conducts),
    material("aluminium", &[
        "aluminum", "alu", "al", "dural", "duralumin", "almg1", "almg3", "almg4.5mn", "almgsi1", "almgsi0.5", "alcumg1",
        "1050", "2017", "2024", "5005", "5052", "5083", "5754", "6060", "6061", "6063", "6082", "7020", "7075",
    ],                                                          [160.0, 2700.0, 900.0, 0.10, 23e-6], BareMetal, Conducts),
    material("anodised aluminium", &[
        "anodized aluminium", "anodized aluminum", "anodised aluminum", "painted aluminium", "painted aluminum",
    ],                                                          [160.0, 2700.0, 900.0, 0.80, 23e-6], CoatedMetal, Conducts),
    material("brass", &["bronze", "gunmetal", "messing", "ms58", "nickel silver", "german silver"],
                                                                [110.0, 8500.0, 380.0, 0.10, 19e-6], BareMetal, Conducts),
    material("copper", &["cu", "kupfer", "copper clad", "copper-clad", "copper laminate"],
                                                                [390.0, 8940.0, 385.0, 0.10, 17e-6], BareMetal, Conducts),
    material("stainless steel", &["stainless", "304", "316", "316l", "1.4301", "1.4404", "v2a", "v4a", "edelstahl", "inox"],
                                                                [15.0, 7900.0, 500.0, 0.25, 16e-6], BareMetal, Conducts),
    material("steel", &["mild steel", "carbon steel", "tinplate", "stahl", "s235", "s235jr", "1.0037", "1.0038"],
                                                                [50.0, 7850.0, 480.0, 0.30, 12e-6], BareMetal, Magnetic),
    material("iron", &["cast iron", "wrought iron", "eisen"],   [55.0, 7500.0, 460.0, 0.30, 11e-6], BareMetal, Magnetic),
    material("ferritic stainless steel", &["1.4016", "430", "stainless steel 430", "aisi 430"],
                                                                  [25.0, 7700.0, 460.0, 0.25, 10e-6], BareMetal, Magnetic),
    material("nickel", &["mu-metal", "mumetal", "mu metal", "permalloy", "nickel-iron"],
                                                                [30.0, 8700.0, 450.0, 0.20, 13e-6], BareMetal, Magnetic),
    material("unknown material", &[],                           [0.15, 1000.0, 1400.0, 0.90, 17e-6], Plastic, Insulates),
];

/// The material of this name; the second value is false if the name is not in the list and a wood-like insulator
/// (0.15 W/(m K), 1000 kg/m³, 1400 J/(kg K), ε = 0.9) replaces it.
///
/// Case and the spaces round the name do not matter; `"birch plywood, waxed"` is found by its longest known part.
pub(crate) fn former_material(name: &str) -> (&'static FormerMaterial, bool) {
    let wanted = name.trim().to_lowercase();
    let (stand_in, known) = MATERIALS.split_last().expect("the table is not empty");
    let matching = |test: &dyn Fn(&str) -> bool| {
        known
            .iter()
            .flat_map(|entry| std::iter::once(&entry.name).chain(entry.other_names).map(move |n| (*n, entry)))
            .filter(|(n, _)| test(n))
            .max_by_key(|(n, _)| n.len())
            .map(|(_, entry)| entry)
    };
    let holds_words = |n: &str| {
        wanted.match_indices(n).any(|(at, _)| {
            let before = wanted[..at].chars().next_back();
            let after = wanted[at + n.len()..].chars().next();
            ![before, after].into_iter().flatten().any(char::is_alphanumeric)
        })
    };
    match matching(&|n| n == wanted).or_else(|| matching(&holds_words)) {
        Some(entry) => (entry, true),
        None => (stand_in, false),
    }
}

/// Conductivity of polyester, polyurethane or polyamide-imide enamel and of winding varnish, W/(m K) (from memory).
pub(crate) const ENAMEL_CONDUCTIVITY_WATT_PER_M_KELVIN: f64 = 0.20;
/// Density of enamel and varnish, kg/m³ (from memory).
pub(crate) const ENAMEL_DENSITY_KG_PER_M3: f64 = 1300.0;
/// Specific heat of enamel and varnish, J/(kg K) (from memory).
pub(crate) const ENAMEL_SPECIFIC_HEAT_JOULE_PER_KG_KELVIN: f64 = 1300.0;
/// Emissivity of an enamelled or taped winding if the spec does not state it (from memory).
pub(crate) const WINDING_EMISSIVITY: f64 = 0.9;
/// Thickness of a former's wall if the spec does not state it: an assumption, shown in every report that uses it.
pub(crate) const ASSUMED_WALL_M: f64 = 4e-3;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;

    #[test]
    fn materials_are_found_by_name_case_and_part() {
        for (written, found) in [
            ("plywood", "plywood"),
            (" Birch Plywood ", "plywood"),
            ("Anodised aluminium", "anodised aluminium"),
            ("aluminum", "aluminium"),
            ("waxed birch plywood, 4 mm", "plywood"),
            ("PVC", "pvc"),
            ("Al 6061", "aluminium"),
            ("EN AW-5083", "aluminium"),
            ("6061-T6", "aluminium"),
            ("AlMg3", "aluminium"),
            ("Alu, black", "aluminium"),
            ("Messing", "brass"),
            ("fr4, copper-clad", "copper"),
            ("glass epoxy, copper clad", "copper"),
            ("stainless steel 316L", "stainless steel"),
            ("galvanised steel", "steel"),
            ("mu-metal", "nickel"),
            ("ironwood veneer on plywood", "plywood"),
        ] {
            let (material, known) = former_material(written);
            assert!(known, "{written}");
            assert_eq!(material.name, found, "{written}");
        }
    }

    #[test]
    fn metals_conduct_and_iron_is_magnetic() {
        let electric = |name: &str| former_material(name).0.electric;
        for metal in ["copper", "Al 6061", "zinc", "stainless steel", "carbon fibre", "brass"] {
            assert_eq!(electric(metal), Electric::Conducts, "{metal}");
        }
        for iron in ["steel", "stainless steel 430", "cast iron", "mu-metal", "Stahl S235"] {
            assert_eq!(electric(iron), Electric::Magnetic, "{iron}");
        }
        for insulator in ["plywood", "FR4", "PETG"] {
            assert_eq!(electric(insulator), Electric::Insulates, "{insulator}");
        }
    }

    #[test]
    fn an_unknown_material_gets_the_stand_in_and_says_so() {
        for name in ["unobtainium", "", "  ", "papercraft wonder", "ε-κeramic"] {
            let (material, known) = former_material(name);
            assert!(!known, "{name}");
            assert_eq!(material.conductivity_watt_per_m_kelvin, 0.15);
        }
    }

    #[test]
    fn the_constant_of_rise_by_resistance_fits_the_temperature_coefficient() {
        // Zero resistance would lie at −k: 1/α − 20 °C agrees with the standard's k to 0.05 °C (copper) and 0.7 °C.
        for (conductor, within) in [(Conductor::Copper, 0.06), (Conductor::Aluminium, 0.8)] {
            let from_alpha = 1.0 / conductor.resistance_coefficient_per_kelvin() - 20.0;
            approx::assert_abs_diff_eq!(
                from_alpha,
                conductor.rise_by_resistance_constant_celsius(),
                epsilon = within
            );
        }
    }
}
