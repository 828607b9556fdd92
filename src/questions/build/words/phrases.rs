//! Numbers and phrases that the drawings and sheets share.

use crate::pair::Allowed;
use crate::physics::test_limits::Tested;
use crate::questions::build::BuildPapers;
use crate::units::{Dimension, Unit, display, fixed, fixed_down, unit};

/// A number in a unit, without the unit's symbol.
pub(crate) fn number(si: f64, unit: Unit, decimals: usize) -> String {
    let text = fixed(si, unit, decimals);
    text.strip_suffix(unit.symbol).unwrap_or(&text).trim_end().to_owned()
}

/// Millimetres with at most two decimals, without trailing zeros.
pub(crate) fn millimetres(metre: f64) -> String {
    let text = format!("{:.2}", unit::MILLIMETRE.from_si(metre));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A limit in millimetres, rounded down to two digits.
pub(crate) fn limit_millimetres(metre: f64) -> String {
    let millimetre = unit::MILLIMETRE.from_si(metre);
    if millimetre <= 0.0 || !millimetre.is_finite() {
        return "0".into();
    }
    let decimals = (1 - millimetre.log10().floor() as i32).clamp(0, 4) as usize;
    let text = fixed_down(metre, unit::MILLIMETRE, decimals);
    let text = text.trim_end_matches(" mm");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text.to_owned(),
    }
}

/// A tolerance across the rim: `1.6 mm over Ø 368 mm`.
pub(crate) fn rim(limit_m: f64, over_m: f64) -> String {
    format!("{} mm over Ø {} mm", limit_millimetres(limit_m), millimetres(over_m))
}

/// Nominal value and the smaller distance to a limit: `310 ± 0.4 mm`.
pub(crate) fn limits(allowed: Allowed) -> String {
    let limit = (allowed.most - allowed.nominal).min(allowed.nominal - allowed.least);
    format!("{} ± {} mm", millimetres(allowed.nominal), limit_millimetres(limit))
}

/// Expected, least and largest value, with four significant digits.
pub(crate) fn tested(tested: Tested, dimension: Dimension) -> [String; 3] {
    [tested.expected, tested.low, tested.high].map(|value| display(value, dimension, 4))
}

/// A length of wire in metres, with two decimals and without the unit.
pub(crate) fn metres(metre: f64) -> String {
    number(metre, unit::METRE, 2)
}

/// A mass with its unit.
pub(crate) fn mass(kg: f64) -> String {
    display(kg, Dimension::Mass, 3)
}

/// The former as names and values.
pub(crate) fn former_facts(record: &BuildPapers) -> Vec<(String, String)> {
    let former = &record.former;
    let suggested = if former.wall_stated { "" } else { " (not in the spec: suggested)" };
    let core = &former.core;
    let shim = match core.shim_m > 0.0 {
        true => format!(" and one of {} mm", millimetres(core.shim_m)),
        false => String::new(),
    };
    let row = |name: &str, value: String| (name.to_owned(), value);
    let mut facts = vec![
        row("material", former.material.clone().unwrap_or_else(|| "not in the spec".into())),
        row("sheet, flanges and core", format!("{} mm{suggested}", millimetres(former.wall_m))),
        row("floor of the winding", format!("Ø {}", limits(former.floor_diameter_m))),
    ];
    if let Some(slit) = former.slit {
        facts.push(row(
            "core, as it is cut",
            format!(
                "Ø {}, under a lining of {} mm, which is on both flanges, too",
                limits(former.core_diameter_m),
                millimetres(former.lining_m)
            ),
        ));
        facts.push(row(
            "slit",
            format!("{} mm through flanges and core, closed with an insulator", millimetres(slit.width_m)),
        ));
    }
    let in_lining = |metre: f64| match metre > 0.0 {
        true => format!(", {} mm of lining", millimetres(metre)),
        false => String::new(),
    };
    facts.extend([
        row(
            "channel, width",
            format!(
                "{} mm: {} mm of winding{} and {} mm of room",
                millimetres(former.channel_width_m),
                millimetres(former.wound_width_m()),
                in_lining(2.0 * former.lining_m),
                millimetres(former.width_allowance_m)
            ),
        ),
        row(
            "channel, depth at least",
            format!(
                "{} mm: {} mm of winding{} and {} mm of rim",
                millimetres(former.channel_depth_m),
                millimetres(former.wound_depth_m()),
                in_lining(former.lining_m),
                millimetres(former.depth_allowance_m)
            ),
        ),
        row("bore", format!("Ø {} mm", millimetres(former.bore_diameter_m))),
        row("flange", format!("Ø {} mm", millimetres(former.flange_diameter_m))),
        row("overall width", format!("{} mm", millimetres(former.overall_width_m))),
        row("core", format!("{} rings of {} mm{shim}", core.rings, millimetres(former.wall_m))),
        row(
            "bolts",
            format!(
                "{} × M{} in holes of {} mm on Ø {} mm",
                former.bolts.holes.count,
                millimetres(former.bolts.thread_m),
                millimetres(former.bolts.holes.diameter_m),
                millimetres(former.bolts.holes.circle_diameter_m)
            ),
        ),
    ]);
    facts
}

/// The assembly as names and values.
pub(crate) fn assembly_facts(record: &BuildPapers) -> Vec<(String, String)> {
    let assembly = &record.assembly;
    let row = |name: &str, value: String| (name.to_owned(), value);
    vec![
        row(
            "spacing, centre planes",
            format!(
                "{} ± {} mm",
                millimetres(assembly.spacing_m),
                limit_millimetres(assembly.spacing_limit_m)
            ),
        ),
        row("spacers", format!("{} of {} mm", assembly.spacers, millimetres(assembly.spacer_length_m))),
        row(
            "square within",
            format!(
                "{}: so much may the distance between the flanges differ round the rim",
                rim(assembly.squareness.limit_m, assembly.squareness.over_diameter_m)
            ),
        ),
        row(
            "concentric within",
            format!(
                "{} mm: step from rim to rim under a straightedge along the axis",
                limit_millimetres(assembly.concentricity.limit_m)
            ),
        ),
        row("overall length", format!("{} mm", millimetres(assembly.overall_length_m))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_never_rounded_up_and_lengths_lose_idle_noughts() {
        assert_eq!(limit_millimetres(1.6057e-3), "1.6");
        assert_eq!(limit_millimetres(0.399e-3), "0.39");
        assert_eq!(limit_millimetres(0.5e-3), "0.5");
        assert_eq!(limit_millimetres(12.7e-3), "12");
        assert_eq!(limit_millimetres(0.0), "0");
        assert_eq!(millimetres(0.310), "310");
        assert_eq!(millimetres(0.0155), "15.5");
        assert_eq!(rim(1.6057e-3, 0.368), "1.6 mm over Ø 368 mm");
    }
}
