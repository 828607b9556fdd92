//! Gross slips in the measurements, each tried if nothing fits them as written.

use super::dimensions::dimensions;
use super::prediction::{Prediction, Scored, scores};
use crate::constants::Conductor;
use crate::files::spec::{Measured, MeasuredValue};
use crate::judgement::{ln_sum, priors};
use crate::pair::wires::stock_wires;
use crate::pair::{Connection, Wire};
use serde::Serialize;

/// A gross slip.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "slip", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Slip {
    /// The field in gauss, written as millitesla.
    GaussForMillitesla,
    /// The field in millitesla, written as gauss.
    MilliteslaForGauss,
    /// Connected differently from what is written or assumed.
    Connection {
        /// The actual connection.
        really: Connection,
    },
    /// The wire is aluminium.
    Aluminium,
    /// Radii written for diameters.
    RadiusForDiameter,
    /// One coil connected backwards.
    CoilReversed,
    /// One reading misread, miswritten, or in another unit: it contradicts all others.
    OneReading {
        /// Which.
        reading: OneOf,
    },
    /// The leads' resistance counted with the coils'.
    LeadsCounted {
        /// The resistance of the leads.
        lead_ohm: f64,
    },
}

/// A reading that may be wrong by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum OneOf {
    Resistance,
    Field,
    Inductance,
    Mass,
    OverallWireDiameter,
    Width,
    Spacing,
}

impl OneOf {
    const ALL: [Self; 7] = [
        Self::Resistance,
        Self::Field,
        Self::Inductance,
        Self::Mass,
        Self::OverallWireDiameter,
        Self::Width,
        Self::Spacing,
    ];

    fn of(self, measured: &mut Measured) -> &mut Option<MeasuredValue> {
        match self {
            Self::Resistance => &mut measured.resistance_ohm,
            Self::Field => &mut measured.field_tesla_per_ampere,
            Self::Inductance => &mut measured.inductance_henry,
            Self::Mass => &mut measured.conductor_mass_kg,
            Self::OverallWireDiameter => &mut measured.overall_wire_diameter_m,
            Self::Width => &mut measured.width_m,
            Self::Spacing => &mut measured.spacing_m,
        }
    }
}

/// ln of the range of factors by which a wrong reading may be off; the ln of the factor is spread evenly over it.
const WRONG_BY: f64 = 4.6;

/// A slip and its effect.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SlipFound {
    /// The slip.
    #[serde(flatten)]
    pub slip: Slip,
    /// Probability among the slips tried, given that one of them happened.
    pub probability: f64,
    /// Chi-square of the best candidate after correcting it.
    pub chi_square: f64,
}

/// Lead resistances tried; one of them is about right for any leads.
const LEADS_OHM: [f64; 6] = [0.05, 0.1, 0.2, 0.4, 0.8, 1.6];

/// The measurements with a slip corrected, and whether one coil is connected against the other.
pub(super) struct PutRight {
    pub(super) measured: Measured,
    pub(super) opposed: bool,
    /// ln of the factor on the likelihood from a change of scale and from readings taken out.
    ln_density: f64,
}

pub(super) fn wires_of(conductor: Conductor) -> Vec<Wire> {
    stock_wires().iter().map(|wire| wire.wire(conductor, None)).collect()
}

/// Every slip after which some candidate exists, most probable first.
pub(super) fn slips(measured: &Measured) -> Vec<SlipFound> {
    let mut found: Vec<(SlipFound, f64)> = all(measured)
        .into_iter()
        .filter_map(|(slip, prior)| {
            let right = put_right(measured, slip)?;
            let (evidence, chi_square) = evidence(&right)?;
            Some((SlipFound { slip, probability: 0.0, chi_square }, prior.ln() + evidence))
        })
        .collect();
    let whole = ln_sum(found.iter().map(|(_, ln)| *ln));
    for (slip, ln) in &mut found {
        slip.probability = (*ln - whole).exp();
    }
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found.into_iter().map(|(slip, _)| slip).collect()
}

fn all(measured: &Measured) -> Vec<(Slip, f64)> {
    let really = measured.connection.unwrap_or_default().other();
    let mut all = vec![
        (Slip::GaussForMillitesla, priors::UNIT_MIX_UP),
        (Slip::MilliteslaForGauss, priors::MILLITESLA_FOR_GAUSS),
        (Slip::Connection { really }, priors::CONNECTION_SWAPPED),
        (Slip::Aluminium, priors::ALUMINIUM_FOR_COPPER),
        (Slip::RadiusForDiameter, priors::RADIUS_FOR_DIAMETER),
        (Slip::CoilReversed, priors::COIL_REVERSED),
    ];
    let each = priors::ONE_QUANTITY_OFF / OneOf::ALL.len() as f64;
    all.extend(OneOf::ALL.map(|reading| (Slip::OneReading { reading }, each)));
    let each = priors::CONTACT_RESISTANCE / LEADS_OHM.len() as f64;
    all.extend(LEADS_OHM.map(|lead_ohm| (Slip::LeadsCounted { lead_ohm }, each)));
    all
}

/// The measurements with the slip corrected; `None` if this slip is not possible.
pub(super) fn put_right(measured: &Measured, slip: Slip) -> Option<PutRight> {
    let mut right = measured.clone();
    let (mut opposed, mut ln_density) = (false, 0.0);
    let scaled = |reading: MeasuredValue, factor: f64| MeasuredValue {
        value: factor * reading.value,
        standard_uncertainty: factor * reading.standard_uncertainty,
    };
    match slip {
        Slip::GaussForMillitesla | Slip::MilliteslaForGauss => {
            let factor = if slip == Slip::GaussForMillitesla { 0.1f64 } else { 10.0 };
            right.field_tesla_per_ampere = Some(scaled(measured.field_tesla_per_ampere?, factor));
            ln_density = factor.ln();
        }
        Slip::Connection { really } => {
            right.connection = Some(really);
            // Each coil alone reads the same however the two are connected.
            if measured.resistance_ohm.is_some() {
                right.resistance_ohm = resistance_of_both(measured, really).or(measured.resistance_ohm);
            }
        }
        Slip::Aluminium if measured.conductor == Conductor::Aluminium => return None,
        Slip::Aluminium => right.conductor = Conductor::Aluminium,
        Slip::RadiusForDiameter => {
            right.inner_diameter_m = measured.inner_diameter_m.map(|it| scaled(it, 2.0));
            right.outer_diameter_m = measured.outer_diameter_m.map(|it| scaled(it, 2.0));
        }
        Slip::CoilReversed => {
            // Equal coils cancel at the centre; the remaining field says nothing about the turns.
            let field = measured.field_tesla_per_ampere?;
            opposed = true;
            right.field_tesla_per_ampere = None;
            ln_density =
                -0.5 * (field.value / field.standard_uncertainty).powi(2) - field.standard_uncertainty.ln();
        }
        Slip::OneReading { reading } => {
            let wrong = reading.of(&mut right).take()?;
            ln_density = -(2.0 * WRONG_BY * wrong.value.abs()).ln();
        }
        Slip::LeadsCounted { lead_ohm } => {
            let resistance = measured.resistance_ohm.filter(|it| it.value > 1.5 * lead_ohm)?;
            right.resistance_ohm = Some(MeasuredValue { value: resistance.value - lead_ohm, ..resistance });
        }
    }
    Some(PutRight { measured: right, opposed, ln_density })
}

/// The resistance of both coils in a connection, from that of each read alone; `None` if one of them was not. A
/// difference of temperature between the coils changes less than the connection by orders.
fn resistance_of_both(measured: &Measured, connection: Connection) -> Option<MeasuredValue> {
    let [a, b] = [0, 1].map(|i| measured.coils[i].resistance_ohm);
    let (a, b) = a.zip(b)?;
    let value = connection.of_two_ohm(a.value, b.value);
    let standard_uncertainty = match connection {
        Connection::Series => a.standard_uncertainty.hypot(b.standard_uncertainty),
        Connection::Parallel => {
            let part = |coil: MeasuredValue| (value / coil.value).powi(2) * coil.standard_uncertainty;
            part(a).hypot(part(b))
        }
    };
    Some(MeasuredValue { value, standard_uncertainty })
}

/// ln of the evidence over all candidates, and the best chi-square.
fn evidence(right: &PutRight) -> Option<(f64, f64)> {
    let (dimensions, _) = dimensions(&right.measured).ok()?;
    let prediction = Prediction::of(&right.measured, dimensions, right.opposed).ok()?;
    let all: Vec<Scored> = scores(&prediction, &wires_of(right.measured.conductor));
    let best = all.iter().max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))?;
    let ln = ln_sum(all.iter().map(|scored| scored.log_likelihood));
    ln.is_finite().then_some((ln + right.ln_density, best.chi_square))
}
