//! The name of each item of the order list, and the remark beside it.

use super::item::{Item, LeadCurrent, OrderItem, Reels, SheetMaterial};
use crate::units::{Dimension, brief, display, unit};
use serde::{Serialize, Serializer};

impl Item {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Wire { conductor, name, bare_diameter_m, overall_diameter_m, .. } => {
                let size = name.clone().unwrap_or_else(|| {
                    format!(
                        "{} mm bare, {} mm overall",
                        millimetres(*bare_diameter_m, 3),
                        millimetres(*overall_diameter_m, 3)
                    )
                });
                format!("enamelled {} wire, round, {size}", conductor.name())
            }
            Self::Lead { area_m2, .. } => {
                let area = short(format!("{:.3}", 1e6 * area_m2));
                format!("flexible lead, {area} mm², two colours, twisted or paired")
            }
            Self::Sockets { hole_m: None } => "touch-proof 4 mm sockets".into(),
            Self::Sockets { hole_m: Some(hole_m) } => {
                format!("touch-proof 4 mm sockets for a hole of {} mm", millimetres(*hole_m, 1))
            }
            Self::Bridge => "bridge or short lead between the coils".into(),
            Self::Sleeve => "heat-shrink sleeve over the soldered ends".into(),
            Self::Crimps => "crimp connectors rated for aluminium wire, with sleeves".into(),
            Self::Clamp { .. } => {
                "voltage clamp for both directions: two-way suppressor diode or varistor".into()
            }
            Self::Sheet { material, thickness_m } => {
                format!("{}, {} mm thick", material.phrase(), millimetres(*thickness_m, 2))
            }
            Self::Bolt { thread_m, length_m } => format!(
                "threaded rod or bolt M{}, {} mm, brass or plastic",
                thread(*thread_m),
                millimetres(*length_m, 0)
            ),
            Self::Screw { thread_m, length_m } => format!(
                "screw M{}, {} mm, with nut and washers, brass or plastic",
                thread(*thread_m),
                millimetres(*length_m, 0)
            ),
            Self::Nut { thread_m } => format!("nut M{} with washer", thread(*thread_m)),
            Self::Spacer { diameter_m, bore_diameter_m, length_m } => format!(
                "spacer tube {} × {} mm, not magnetic, {} mm long",
                millimetres(*diameter_m, 0),
                millimetres(*bore_diameter_m, 1),
                millimetres(*length_m, 1)
            ),
            Self::Dowel { diameter_m, length_m } => {
                format!("dowel pin {} mm, {} mm long", millimetres(*diameter_m, 1), millimetres(*length_m, 0))
            }
            Self::Lining { thickness_m } => {
                format!("insulating foil {:.2} mm, pressboard or polyester film", 1e3 * thickness_m)
            }
            Self::GapStrip { thickness_m, depth_m, width_m } => format!(
                "insulating strip {:.1} mm thick, {:.0} × {:.0} mm, glass-epoxy or fibre",
                1e3 * thickness_m,
                1e3 * depth_m,
                1e3 * width_m
            ),
            Self::Foil { thickness_m, width_m, .. } => format!(
                "insulating foil {} mm, {} mm wide",
                millimetres(*thickness_m, 3),
                millimetres(*width_m, 1)
            ),
            Self::Varnish => "varnish or resin for the finished coils".into(),
        }
    }

    /// What it is for, or how its quantity was computed.
    #[must_use]
    pub fn remark(&self) -> String {
        match self {
            Self::Wire { thermal_class_celsius, reels, joined, .. } => {
                wire_remark(*thermal_class_celsius, *reels, *joined)
            }
            Self::Lead { current, most_ampere_per_m2, .. } => format!(
                "suggested length, for {} at {} A/mm² or less",
                current.phrase(),
                short(format!("{:.3}", 1e-6 * most_ampere_per_m2))
            ),
            Self::Sockets { hole_m: Some(_) } => {
                "start and finish of both coils, two colours; in the terminal plates, terminals.svg: measure them before the holes \
                 are cut"
                    .into()
            }
            Self::Sockets { hole_m: None } => {
                "start and finish of both coils, two colours; on a block of insulating sheet at the foot of the pair, with a \
                 grip for the leads"
                    .into()
            }
            Self::Bridge => "connects the coils as the winding sheet says".into(),
            Self::Sleeve => "strip or burn off the enamel first".into(),
            Self::Crimps => {
                "scrape off enamel and oxide just before crimping; aluminium is not soldered like copper"
                    .into()
            }
            Self::Clamp { supply_volt, energy_joule } => {
                let above = supply_volt.map(|volt| format!("rated above {}", brief(volt, Dimension::Voltage)));
                let takes = energy_joule
                    .map(|joule| format!("takes {} at one blow", display(joule, Dimension::Energy, 2)));
                let needs: Vec<String> = above.into_iter().chain(takes).collect();
                let needs = if needs.is_empty() { String::new() } else { format!(": {}", needs.join(", ")) };
                format!(
                    "across the pair, against the inductive kick{needs}; no single diode, which shorts the supply when \
                     the current is reversed"
                )
            }
            Self::Sheet { material: SheetMaterial::Insulator, .. } => "the two terminal plates".into(),
            Self::Sheet { .. } => "squares round the parts of both formers, laid side by side".into(),
            Self::Bolt { .. } => "no steel near the beam".into(),
            Self::Nut { .. } => "same material".into(),
            Self::Screw { .. } => "hold the terminal plates on the outer flanges".into(),
            Self::Spacer { .. } => "cut all to one length, after the formers are measured".into(),
            Self::Dowel { .. } => "hold flanges and core on one centre while the glue sets".into(),
            Self::Lining { .. } => {
                "lining of both channels, floor and flanges, of the wire's thermal class".into()
            }
            Self::GapStrip { .. } => "glued into the slit G of each former, trimmed to its edges".into(),
            Self::Foil { is_filler: false, .. } => "between the layers of both coils".into(),
            Self::Foil { is_filler: true, .. } => {
                "between the layers of both coils, which else come out too small; not needed where loose tension fills \
                 them, as the winding sheet says"
                    .into()
            }
            Self::Varnish => "of the wire's thermal class".into(),
        }
    }
}

fn wire_remark(thermal_class_celsius: Option<f64>, reels: Option<Reels>, joined: Option<Reels>) -> String {
    let class = thermal_class_celsius
        .map_or("thermal class not in the spec".into(), |class| format!("thermal class {class:.0} at least"));
    match reels {
        Some(reels) => {
            format!("{} × {} kg reel, {class}, no joint within a coil", reels.count, reels.each_kg)
        }
        None => {
            let joined = joined.map_or_else(String::new, |reels| {
                format!(", or {} × {} kg joined where the winding sheet says", reels.count, reels.each_kg)
            });
            format!("no reel size named holds one coil in one piece: ask for longer lengths{joined}; {class}")
        }
    }
}

impl LeadCurrent {
    fn phrase(self) -> &'static str {
        match self {
            Self::OfSupply => "the supply's largest current",
            Self::Continuous => "the continuous current to rely on",
            Self::NotKnown => "current not known: smallest usual size",
        }
    }
}

impl SheetMaterial {
    fn phrase(&self) -> &str {
        match self {
            Self::Card => "pressboard or card",
            Self::OfFormer(material) => material,
            Self::Insulator => "insulating sheet, glass-epoxy or phenolic paper",
            Self::NotStated => "sheet, material not in the spec",
        }
    }
}

/// A length in millimetres with this many decimals, without the unit.
fn millimetres(metre: f64, decimals: usize) -> String {
    format!("{:.decimals$}", unit::MILLIMETRE.from_si(metre))
}

/// The number in the name of a thread: `4` of M4, `2.5` of M2.5.
fn thread(metre: f64) -> String {
    short(millimetres(metre, 3))
}

/// A number with decimals, without the zeros at its end.
fn short(number: String) -> String {
    number.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Serialises each item with its name and its remark.
pub(super) fn with_phrases<S: Serializer>(
    items: &[OrderItem],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Phrased {
        item: String,
        quantity: f64,
        unit: &'static str,
        remark: String,
    }
    serializer.collect_seq(items.iter().map(|one| Phrased {
        item: one.what.name(),
        quantity: one.quantity,
        unit: one.unit.key(),
        remark: one.what.remark(),
    }))
}
