//! A quote that states its wire twice: by a stock size and by its diameters.

use super::doubt::{Doubt, Meanings};
use crate::constants::Conductor;
use crate::pair::Wire;
use crate::pair::wires::{Build, StockWire, stock_wire};
use crate::units::{Dimension, parse};
use jsonc_parser::ast::{Object, ObjectProp, Value as Node};

/// A wire stated twice.
pub(super) struct StatedTwice<'a, 't> {
    /// The wire in the file.
    pub(super) wire: &'a Object<'t>,
    /// The keys that are left out, so that the others state it once.
    pub(super) left_out: &'static [&'static str],
    /// The doubt and both wires, if the two statements are of different ones.
    pub(super) other: Option<(Doubt, [Wire; 2])>,
}

/// Diameters of one wire differ by less than this fraction: wire is drawn to 1 % (IEC 60317-0-1).
const DRAWN: f64 = 0.01;
/// The smallest increase by enamel, as a part of the largest (IEC 60317-0-1, grades 1 and 2, from memory).
const LEAST_ENAMEL: f64 = 0.5;

/// The wire of a quote if it is stated by a size and by at least one diameter, all of which can be read.
pub(super) fn stated_twice<'a, 't>(tree: &'a Node<'t>) -> Option<StatedTwice<'a, 't>> {
    let wire = object_in(object_in(tree.as_object()?, "winding")?, "wire")?;
    let size = text_in(wire, "size")?;
    let diameter = |key: &str| match text_in(wire, key) {
        None => Some(None),
        Some(text) => parse(text, Dimension::Length).ok().map(Some),
    };
    let (bare_m, overall_m) = (diameter("bare_diameter")?, diameter("overall_diameter")?);
    if bare_m.is_none() && overall_m.is_none() {
        return None;
    }
    let build = text_in(wire, "build");
    let builds = [Build::Grade1, Build::Grade2, Build::Single, Build::Heavy];
    let named = builds.into_iter().filter(|it| build.is_none_or(|build| build == it.name()));
    let stock: Vec<StockWire> = named.filter_map(|build| stock_wire(size, build).ok()).collect();
    let first = stock.first()?;
    let agrees = |stock: &StockWire| {
        let same = |bare_m: f64| (bare_m / stock.bare_diameter_m - 1.0).abs() < DRAWN;
        let enamel_m = stock.overall_diameter_m - stock.bare_diameter_m;
        let least_m = stock.bare_diameter_m + LEAST_ENAMEL * enamel_m;
        let within = |overall_m: f64| {
            overall_m > (1.0 - DRAWN) * least_m && overall_m < (1.0 + DRAWN) * stock.overall_diameter_m
        };
        bare_m.is_none_or(same) && overall_m.is_none_or(within)
    };
    if stock.iter().any(agrees) {
        // The two diameters state a wire whole, a size only with its enamel.
        let by_diameters = build.is_none() && bare_m.is_some() && overall_m.is_some();
        let left_out: &[&str] = if by_diameters { &["size"] } else { &["bare_diameter", "overall_diameter"] };
        return Some(StatedTwice { wire, left_out, other: None });
    }
    let stock = first.wire(Conductor::Copper, None);
    // The diameter that is not stated follows from the other one with ordinary enamel (common practice, no source).
    let measured = Wire {
        name: None,
        bare_diameter_m: bare_m.or(overall_m.map(|overall_m| overall_m / 1.08))?,
        overall_diameter_m: overall_m.or(bare_m.map(|bare_m| 1.08 * bare_m))?,
        ..stock.clone()
    };
    let size = build.map_or_else(|| first.size.clone(), |build| format!("{} {build}", first.size));
    let meanings =
        Meanings::WireTwice { size: size.clone(), bare_diameter_m: bare_m, overall_diameter_m: overall_m };
    Some(StatedTwice {
        wire,
        left_out: &["size", "build", "bare_diameter", "overall_diameter"],
        other: Some((Doubt::about("winding.wire.size", &size, meanings), [stock, measured])),
    })
}

fn object_in<'a, 't>(object: &'a Object<'t>, key: &str) -> Option<&'a Object<'t>> {
    property(object, key)?.value.as_object()
}

fn text_in<'a>(object: &'a Object<'_>, key: &str) -> Option<&'a str> {
    match &property(object, key)?.value {
        Node::StringLit(text) => Some(&text.value),
        _ => None,
    }
}

fn property<'a, 't>(object: &'a Object<'t>, key: &str) -> Option<&'a ObjectProp<'t>> {
    object.properties.iter().find(|property| property.name.as_str() == key)
}
