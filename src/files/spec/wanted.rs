//! A file of wishes for a pair: for `size`, and as the needs of `compare` and `tolerance`.

use super::checks::Checks;
use super::limits::Limits;
use super::quantity::Length;
use super::source::Source;
use super::structured::{diagnosed, structured};
use super::wanted_file::WantedFile;
use super::wanted_file::{Prefer, PurchaseFile, SearchFile, SpacingFile, SpacingRule, StockWord, WiresFile};
use super::{limits, physical, place, resolve, structure, syntax, tube_fit};
use crate::error::diagnosis::{Problem, Severity, Stage};
use crate::pair::{
    Bulb, Connection, Former, Price, Room, StatedTube, Supply, Tube, Wire, missing_in, needed,
};
use crate::units::{Dimension, Unit, unit_written};
use crate::{Document, Result};
use jsonc_parser::ast::Value;
use std::path::Path;
use std::result::Result as Outcome;

/// The wishes for a pair, read from a file and checked.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The title, as written.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// The beam tube.
    pub tube: Option<StatedTube>,
    /// Free space between bulb and winding.
    pub clearance_m: f64,
    /// The largest field needed, if stated; otherwise it follows from the tube.
    pub largest_field_tesla: Option<f64>,
    /// The current supply.
    pub supply: Option<Supply>,
    /// Resistance of the leads between supply and pair.
    pub lead_resistance_ohm: Option<f64>,
    /// Largest size of the deviation over the beam.
    pub beam_deviation: Option<f64>,
    /// How long the largest current must be carried; continuously if `None`.
    pub time_at_largest_current_s: Option<f64>,
    /// Highest temperature of a touchable surface.
    pub surface_temperature_limit_celsius: Option<f64>,
    /// The room.
    pub room: Option<Room>,
    /// What the coils are to be wound on.
    pub former: Option<Former>,
    /// The windings to search.
    pub search: Option<Search>,
    /// The figure of merit.
    pub prefer: Prefer,
    /// Price of a kilogram of wire.
    pub wire_price_per_kg: Option<Price>,
    /// The terms of the purchase.
    pub purchase: Option<Purchase>,
    /// The units in which the limits are written.
    pub units: WishUnits,
}

/// The units in which limits are written, so that an answer can use the same ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WishUnits {
    /// Of `clearance`.
    pub clearance: Unit,
    /// Of `supply.current_limit`.
    pub current: Unit,
    /// Of `supply.voltage_limit`.
    pub voltage: Unit,
    /// Of `surface_temperature_limit`.
    pub temperature: Unit,
    /// Of `beam_deviation`.
    pub deviation: Unit,
}

impl WishUnits {
    /// The units in a text with its tree; the usual unit for a limit that is left out.
    fn of(text: &str, tree: &Value) -> Self {
        let unit = |path: &str, dimension: Dimension| {
            let written = text.get(place::place(tree, path)).unwrap_or_default();
            unit_written(written.trim_matches('"'), dimension).unwrap_or(dimension.units()[0])
        };
        Self {
            clearance: unit("clearance", Dimension::Length),
            current: unit("supply.current_limit", Dimension::Current),
            voltage: unit("supply.voltage_limit", Dimension::Voltage),
            temperature: unit("surface_temperature_limit", Dimension::Temperature),
            deviation: unit("beam_deviation", Dimension::Fraction),
        }
    }
}

/// The terms of a purchase.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// ISO 4217 code of the currency in which prices are compared.
    pub currency: String,
    /// Other currencies, with the value of one unit of each in that currency.
    pub rates: Vec<(String, f64)>,
    /// Largest total cost of the pair, carriage and tax included.
    pub budget: Option<f64>,
    /// Longest time of delivery, days.
    pub delivery_days: Option<f64>,
}

impl Purchase {
    /// The value of one unit of a currency; `None` if no rate is stated.
    pub fn rate(&self, currency: &str) -> Option<f64> {
        let stated = || self.rates.iter().find(|(name, _)| name == currency).map(|(_, rate)| *rate);
        if currency == self.currency { Some(1.0) } else { stated() }
    }
}

/// The windings to search.
#[derive(Clone, Debug)]
pub struct Search {
    /// Smallest and largest mean radius.
    pub mean_radius_m: [f64; 2],
    /// Smallest and largest width of the section.
    pub width_m: [f64; 2],
    /// Smallest and largest depth of the section.
    pub depth_m: [f64; 2],
    /// How the spacing is chosen.
    pub spacing: SpacingChoice,
    /// Connections allowed.
    pub connections: Vec<Connection>,
    /// Wires allowed; `None` for all stock wires.
    pub wires: Option<Vec<Wire>>,
}

/// How the spacing of a sized pair is chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpacingChoice {
    /// One mean radius.
    Radius,
    /// Where the second-order term vanishes for the real section.
    SecondOrder,
    /// Where the worst deviation over the beam is smallest.
    Beam,
    /// Any spacing in a range.
    Range([f64; 2]),
}

const CLEARANCE: Limits = Limits { dimension: Dimension::Length, least: 0.0, most: 1.0 };
const LARGEST_FIELD: Limits = Limits { dimension: Dimension::FluxDensity, least: 1e-7, most: 1.0 };
const BEAM_DEVIATION: Limits = Limits { dimension: Dimension::Fraction, least: 1e-7, most: 0.5 };
const CARRIED: Limits = Limits { dimension: Dimension::Time, least: 1.0, most: 1e7 };
const SURFACE: Limits = Limits { dimension: Dimension::Temperature, least: 0.0, most: 250.0 };

/// Reads a file of wishes and checks it.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every physical error whose inputs
/// are sound ([`Error::Diagnosed`](crate::Error::Diagnosed)).
pub fn read_wanted(path: impl AsRef<Path>) -> Result<Wanted> {
    checked(&Source::read(path.as_ref())?)
}

/// Reads wishes from text; `name` stands for the file in messages.
pub fn wanted_from_text(name: &str, text: &str) -> Result<Wanted> {
    checked(&Source::from_bytes(Path::new(name), text.as_bytes())?)
}

/// The JSON Schema (draft 2020-12) of a file of wishes.
pub fn wanted_schema() -> &'static serde_json::Value {
    structure::schema_of::<WantedFile>().as_value()
}

pub(super) fn checked(source: &Source) -> Result<Wanted> {
    let tree =
        syntax::tree(&source.text).map_err(|problem| diagnosed(source, Stage::Syntax, vec![*problem]))?;
    let file: WantedFile = structured(source, &tree, Document::Wishes)?;
    let units = WishUnits::of(&source.text, &tree);
    let wanted = resolved(file, source.digest.clone(), units).map_err(|(at, message, hint)| {
        let place = place::place(&tree, &format!("search.wires[{at}].size"));
        diagnosed(source, Stage::Physics, vec![Problem::error(place, message).hint(hint)])
    })?;
    let mut checks = Checks::new(&tree);
    check(&mut checks, &wanted);
    // Warnings about a tube or a room do not stop anyone from wishing.
    if checks.problems.iter().any(|problem| problem.severity == Severity::Error) {
        return Err(diagnosed(source, Stage::Physics, checks.problems));
    }
    Ok(wanted)
}

/// The wishes that a file states. An error gives the number of the wrong wire, a message and a hint.
fn resolved(file: WantedFile, digest: String, units: WishUnits) -> Outcome<Wanted, (usize, String, String)> {
    let search = file.search.map(resolved_search).transpose()?;
    Ok(Wanted {
        title: crate::units::inert::line(&file.title).into_owned(),
        digest,
        tube: file.tube.map(resolve::tube),
        clearance_m: file.clearance.map_or(0.0, |clearance| clearance.0),
        largest_field_tesla: file.largest_field.map(|field| field.0),
        supply: file.supply.map(resolve::supply),
        lead_resistance_ohm: file.leads.and_then(resolve::leads),
        beam_deviation: file.beam_deviation.map(|deviation| deviation.0),
        time_at_largest_current_s: file.time_at_largest_current.map(|time| time.0),
        surface_temperature_limit_celsius: file.surface_temperature_limit.map(|limit| limit.0),
        room: file.room.map(resolve::room),
        former: file.former.map(resolve::former),
        search,
        prefer: file.prefer.unwrap_or_default(),
        wire_price_per_kg: file.wire_price_per_kg.map(resolve::price),
        purchase: file.purchase.map(purchase),
        units,
    })
}

fn purchase(file: PurchaseFile) -> Purchase {
    Purchase {
        currency: file.currency.0,
        rates: file.rates.into_iter().flatten().map(|rate| (rate.currency.0, rate.is_worth)).collect(),
        budget: file.budget,
        delivery_days: file.delivery.map(|period| period.0),
    }
}

fn resolved_search(file: SearchFile) -> Outcome<Search, (usize, String, String)> {
    let wires = match file.wires {
        None | Some(WiresFile::Stock(StockWord::Stock)) => None,
        Some(WiresFile::These(wires)) => {
            let resolved = wires
                .into_iter()
                .enumerate()
                .map(|(at, wire)| resolve::wire(wire).map_err(|(message, hint)| (at, message, hint)));
            Some(resolved.collect::<Outcome<Vec<_>, _>>()?)
        }
    };
    let mut connections = file.connection.unwrap_or_else(|| vec![Connection::Series, Connection::Parallel]);
    connections.dedup();
    let range = |range: [Length; 2]| range.map(|length| length.0);
    Ok(Search {
        mean_radius_m: range(file.mean_radius),
        width_m: range(file.width),
        depth_m: range(file.depth),
        spacing: match file.spacing {
            None | Some(SpacingFile::Rule(SpacingRule::SecondOrder)) => SpacingChoice::SecondOrder,
            Some(SpacingFile::Rule(SpacingRule::Radius)) => SpacingChoice::Radius,
            Some(SpacingFile::Rule(SpacingRule::Beam)) => SpacingChoice::Beam,
            Some(SpacingFile::Range(range)) => SpacingChoice::Range(range.map(|length| length.0)),
        },
        connections,
        wires,
    })
}

fn check(checks: &mut Checks, wanted: &Wanted) {
    checks.title(&wanted.title);
    if let Some(tube) = &wanted.tube {
        physical::values_of_tube(checks, tube);
        tube_fit::circles_inside_bulb(checks, tube);
    }
    checks.within("clearance", wanted.clearance_m, CLEARANCE);
    checks.within_if("largest_field", wanted.largest_field_tesla, LARGEST_FIELD);
    if let Some(supply) = &wanted.supply {
        physical::values_of_supply(checks, supply);
    }
    checks.within_if("leads.resistance", wanted.lead_resistance_ohm, limits::LEAD_RESISTANCE);
    checks.within_if("beam_deviation", wanted.beam_deviation, BEAM_DEVIATION);
    checks.within_if("time_at_largest_current", wanted.time_at_largest_current_s, CARRIED);
    checks.within_if("surface_temperature_limit", wanted.surface_temperature_limit_celsius, SURFACE);
    if let Some(room) = &wanted.room {
        physical::values_of_room(checks, room);
    }
    if let Some(former) = &wanted.former {
        physical::values_of_former(checks, former);
    }
    if let Some(search) = &wanted.search {
        check_search(checks, search);
    }
    let amount = wanted.wire_price_per_kg.as_ref().map(|price| price.amount);
    checks.within_if("wire_price_per_kg.amount", amount.flatten(), limits::PRICE);
    if let Some(purchase) = &wanted.purchase {
        check_purchase(checks, purchase);
    }
    if wanted.prefer == Prefer::Price && amount.flatten().is_none() {
        let part = if amount.is_some() { "wire_price_per_kg.amount" } else { "wire_price_per_kg" };
        checks.refuse(
            "prefer",
            format!("`prefer` is `price`, and the file has no `{part}`"),
            r#"write it like this: "wire_price_per_kg": { "amount": 18, "currency": "EUR" }"#,
        );
    }
}

fn check_purchase(checks: &mut Checks, purchase: &Purchase) {
    checks.within_if("purchase.budget", purchase.budget, limits::PRICE);
    checks.within_if("purchase.delivery", purchase.delivery_days, limits::PERIOD);
    for (at, (currency, rate)) in purchase.rates.iter().enumerate() {
        checks.within(&format!("purchase.rates[{at}].is_worth"), *rate, limits::EXCHANGE_RATE);
        let twice = purchase.rates[..at].iter().any(|(other, _)| other == currency);
        if twice || *currency == purchase.currency {
            checks.refuse(
                &format!("purchase.rates[{at}].currency"),
                match twice {
                    true => format!("{currency} has two rates"),
                    false => format!("{currency} is the currency that prices are compared in"),
                },
                "state one rate for each other currency",
            );
        }
    }
}

fn check_search(checks: &mut Checks, search: &Search) {
    checks.range("search.mean_radius", Some(search.mean_radius_m), limits::MEAN_RADIUS);
    checks.range("search.width", Some(search.width_m), limits::SECTION_SIDE);
    checks.range("search.depth", Some(search.depth_m), limits::SECTION_SIDE);
    if let SpacingChoice::Range(range) = search.spacing {
        checks.range("search.spacing", Some(range), limits::SPACING);
    }
    for (at, wire) in search.wires.iter().flatten().enumerate() {
        physical::values_of_wire(checks, &format!("search.wires[{at}]"), wire);
    }
}

impl Wanted {
    /// The windings to search, or an error that says why they are needed.
    pub fn search(&self) -> Result<&Search> {
        self.search
            .as_ref()
            .ok_or_else(|| missing_in(Document::Wishes, "search", "it says which windings may be looked at"))
    }
}

impl Wanted {
    /// The supply's largest current, or an error that names the missing part.
    pub fn current_limit_ampere(&self) -> Result<f64> {
        needed::current_limit_ampere(Document::Wishes, self.supply)
    }

    /// The supply's largest voltage, or an error that names the missing part.
    pub(crate) fn voltage_limit_volt(&self) -> Result<f64> {
        needed::voltage_limit_volt(Document::Wishes, self.supply)
    }

    /// The tube with its gun and its beam radii, or an error that names the missing part.
    pub(crate) fn tube_with_beam(&self) -> Result<Tube> {
        needed::tube_with_beam(Document::Wishes, self.tube.as_ref())
    }

    /// The bulb, or an error that names the missing part.
    pub fn bulb(&self) -> Result<Bulb> {
        needed::bulb(Document::Wishes, self.tube.as_ref())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    const WISHES: &str = r#"{
        "title": "What the lessons need",
        "tube": { "bulb_radius": "74 mm", "gun_exit": ["44 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0], "gun_voltage": ["90 V", "280 V"], "beam_radius": ["26 mm", "48 mm"] },
        "clearance": "5 mm",
        "supply": { "voltage_limit": "24 V", "current_limit": "3 A" },
        "beam_deviation": "0.4 %",
        "time_at_largest_current": "25 min",
        "surface_temperature_limit": "55 degC",
        "room": { "temperature": "21 degC" },
        "search": { "mean_radius": ["150 mm", "200 mm"], "width": ["12 mm", "30 mm"], "depth": ["8 mm", "30 mm"], "spacing": "beam", "connection": ["series", "parallel"], "wires": "stock" },
        "prefer": "copper mass",
        "wire_price_per_kg": { "amount": 17, "currency": "EUR" }
    }"#;

    #[test]
    fn every_wish_of_the_format_is_read() {
        let wanted = wanted_from_text("wishes.json", WISHES).unwrap();
        assert_eq!(wanted.beam_deviation, Some(0.004));
        assert_eq!(wanted.time_at_largest_current_s, Some(1500.0));
        assert_eq!(wanted.surface_temperature_limit_celsius, Some(55.0));
        let search = wanted.search().unwrap();
        assert_eq!((search.spacing, search.connections.len()), (SpacingChoice::Beam, 2));
        assert!(search.wires.is_none());
        assert_eq!(wanted.wire_price_per_kg.unwrap().currency.as_deref(), Some("EUR"));
    }

    #[test]
    fn a_range_of_spacings_and_a_list_of_wires_are_read_too() {
        let text = WISHES.replace("\"beam\",", "[\"150 mm\", \"180 mm\"],").replace(
            "\"stock\"",
            r#"[{ "size": "AWG 19", "build": "heavy" }, { "bare_diameter": "0.9 mm", "overall_diameter": "0.97 mm" }]"#,
        );
        let wanted = wanted_from_text("wishes.json", &text).unwrap();
        let search = wanted.search().unwrap();
        assert_eq!(search.spacing, SpacingChoice::Range([0.15, 0.18]));
        assert_eq!(search.wires.as_ref().unwrap().len(), 2);
    }

    #[test]
    fn what_is_wrong_is_told_with_its_place() {
        for (from, to, wanted) in [
            (r#"["150 mm", "200 mm"]"#, r#"["200 mm", "150 mm"]"#, "goes from 200 mm down to 150 mm"),
            (r#""beam_deviation": "0.4 %""#, r#""beam_deviation": "90 %""#, "`beam_deviation` is 90 %"),
            (r#""spacing": "beam""#, r#""spacing": "bean""#, "did you mean `beam`"),
            (r#""copper mass""#, r#""copper mas""#, "did you mean `copper mass`"),
            (r#""wires": "stock""#, r#""wires": []"#, "`search.wires` is a list"),
            (r#"["series", "parallel"]"#, "[]", "not at least 1"),
            (r#""stock""#, r#"[{ "size": "AWG 99", "build": "heavy" }]"#, "AWG 99"),
            (r#""wire_price_per_kg""#, r#""wire_price_pr_kg""#, "did you mean `wire_price_per_kg`"),
        ] {
            let text = WISHES.replace(from, to);
            assert_ne!(text, WISHES);
            let error = wanted_from_text("wishes.json", &text).unwrap_err();
            let Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
            let drawn = diagnosis.draw(false);
            assert!(drawn.contains(wanted), "{to}: {drawn}");
        }
    }

    #[test]
    fn to_prefer_the_price_needs_a_price() {
        let text = WISHES
            .replace("\"copper mass\"", "\"price\"")
            .replace(",\n        \"wire_price_per_kg\": { \"amount\": 17, \"currency\": \"EUR\" }", "");
        let error = wanted_from_text("wishes.json", &text).unwrap_err();
        let Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
        assert!(diagnosis.draw(false).contains("has no `wire_price_per_kg`"));
    }
}
