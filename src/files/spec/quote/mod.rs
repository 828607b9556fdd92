//! A quote: a spec that may be incomplete. Missing parts are known by their keys, and it becomes a complete bench once
//! values for them are given.

mod blank;
mod doubt;
mod form;
mod gap;
mod number;
mod remark;
mod table;
mod typed;
mod unreadable;
mod wire;
mod words;

use crate::constants::Conductor;
use crate::error::diagnosis::{Problem, Severity, Stage};
use crate::files::spec::file::{BenchFile, WireFile};
use crate::files::spec::limits::LONGEST_TITLE;
use crate::files::spec::office_file::{OfferFile, StatedFile};
use crate::files::spec::quantity::{Count, Length, Resistance};
use crate::files::spec::source::Source;
use crate::files::spec::stated_digits::half_units;
use crate::files::spec::structured::diagnosed;
use crate::files::spec::table_text::is_table;
use crate::files::spec::{kind, physical, reader, resolve, structure, syntax, written};
use crate::pair::wires::{Build, StockWire, stock_wire, stock_wires};
use crate::pair::{Bench, Connection, Offer, Packing, StatedByMaker, Wire};
use crate::units::inert;
use crate::{Document, Error, Result};
use blank::{has_blank_connection, keep_only, without_blanks};
use doubt::of_tax_rate;
pub use doubt::{Doubt, Meanings};
pub use form::{QUOTE_COLUMNS, QUOTE_FIELDS, QuoteField, Unreadable, Written};
pub use gap::{Blank, Gap};
use number::doubt_of_amount;
pub use remark::Remark;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value as Json, json};
use std::path::Path;
pub use table::blank_quote_text;
use table::{BLANK, FilledTable, not_filled_in};
use unreadable::take_unreadable;
use wire::{StatedTwice, stated_twice};

/// A value for a gap, SI.
#[derive(Clone, Debug)]
pub enum GapFilling {
    /// A mean radius, width, depth or spacing; or a number of turns.
    Number(f64),
    /// A wire.
    Wire(Wire),
    /// A connection.
    Connection(Connection),
}

/// The winding as far as the quote states it, SI.
#[derive(Clone, Debug)]
pub struct StatedWinding {
    /// Mean radius.
    pub mean_radius_m: Option<f64>,
    /// Width of the section.
    pub width_m: Option<f64>,
    /// Depth of the section.
    pub depth_m: Option<f64>,
    /// Turns of a coil.
    pub turns: Option<f64>,
    /// Layers.
    pub layers: Option<u32>,
    /// Turns in a full layer.
    pub turns_per_layer: Option<u32>,
    /// How the wires lie on each other; `None` if not stated, and then square if the turns fit so.
    pub packing: Option<Packing>,
    /// Spacing of the coils.
    pub spacing_m: Option<f64>,
    /// Resistance of the leads, which a stated resistance may include or not.
    pub lead_ohm: Option<f64>,
    /// Whether the coils are connected in parallel.
    pub parallel: bool,
    /// The conductor; copper if not stated.
    pub conductor: Conductor,
    /// Thermal class of the enamel.
    pub thermal_class_celsius: Option<f64>,
    /// The thickness of the enamel.
    pub build: Option<Build>,
    /// The wires that fit the stated size: one if it is complete, several if the enamel is not stated.
    pub wires: Vec<Wire>,
}

/// A quote, complete or not.
#[derive(Clone, Debug)]
pub struct Quote {
    /// The title, or the name of the file if it has none.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// The missing parts, in the order of the keys.
    pub gaps: Vec<Gap>,
    /// The winding as stated.
    pub winding: StatedWinding,
    /// The maker's figures for the finished pair.
    pub stated: StatedByMaker,
    /// Half a unit of the last digit of each figure in [`Self::stated`], SI: the possible rounding error.
    pub half_units: StatedByMaker,
    /// Price and terms.
    pub offer: Offer,
    /// What is filled in and cannot be read; it counts as left out.
    pub unreadable: Vec<Unreadable>,
    /// What may be meant in more than one way; it counts as left out.
    pub doubts: Vec<Doubt>,
    /// What the supplier wrote into the form beside its fields and below them.
    pub remarks: Vec<Remark>,
    /// The shorter end of a time of delivery from one to another; the longer stands in the offer.
    pub shortest_delivery_days: Option<f64>,
    /// Whether an offer leaves the conductor open; it is read as copper then.
    pub is_conductor_open: bool,
    /// What an offer leaves blank that a pair can do without and its warmth or voltage depends on.
    pub blanks: Vec<Blank>,
    /// The file, without its blank entries.
    source: Source,
}

/// A completed quote: a bench, or the problems because of which no such pair can exist.
pub type Filled = std::result::Result<Bench, Vec<String>>;

/// Reads a quote: a spec in which keys may be missing, `null` or blank; or the form of `tender` as a sheet or CSV with
/// the columns `name`, `value` and `unit`.
///
/// # Errors
/// A form in which nothing is filled in; or problems in what is there: syntax, unknown keys, unreadable quantities,
/// impossible terms such as a negative tax ([`Error::Diagnosed`]). Contradictions are not errors here; see
/// [`Quote::filled`].
pub fn read_quote(path: impl AsRef<Path>) -> Result<Quote> {
    let path = path.as_ref();
    if is_form(path) {
        return filled_table(FilledTable::read(path)?);
    }
    let source = Source::read(path)?;
    let is_form = source.text.contains(BLANK);
    let quote = as_written(source)?;
    match serde_json::from_str::<Map<String, Json>>(&quote.source.text) {
        Ok(keys) if is_form && keys.is_empty() => Err(not_filled_in(path)),
        _ => Ok(quote),
    }
}

/// Whether a path names a form of `tender` that a spreadsheet program saved, and not a JSON document.
pub fn is_form(path: impl AsRef<Path>) -> bool {
    is_table(path.as_ref())
}

/// Reads a quote as JSON. A value that cannot be read is left out and kept, to be asked about.
fn as_written(mut source: Source) -> Result<Quote> {
    let mut unreadable = Vec::new();
    loop {
        match quote_of(source.clone()) {
            Ok(quote) => return Ok(Quote { unreadable, ..quote }),
            Err(error) => unreadable.push(take_unreadable(&mut source, error)?),
        }
    }
}

/// Reads a filled form. A value that cannot be read is left out and kept, to be asked about.
fn filled_table(mut table: FilledTable) -> Result<Quote> {
    let digest = table.source.digest.clone();
    loop {
        match quote_of(table.source.clone()) {
            Ok(mut quote) => {
                quote.doubts.splice(0..0, std::mem::take(&mut table.doubts));
                let FilledTable { unreadable, remarks, shortest_delivery_days, .. } = table;
                return Ok(Quote { digest, unreadable, remarks, shortest_delivery_days, ..quote });
            }
            Err(error) => table = table.without_unreadable(error)?,
        }
    }
}

/// Reads a quote from text; `name` stands for the file in messages.
pub fn quote_from_text(name: &str, text: &str) -> Result<Quote> {
    quote_of(Source::from_bytes(Path::new(name), text.as_bytes())?)
}

pub(super) fn quote_of(mut source: Source) -> Result<Quote> {
    let wrong = |source: &Source, stage, problems| Err(diagnosed(source, stage, problems));
    let (written, is_blank_connection) = match syntax::tree(&source.text) {
        Ok(tree) => (without_blanks(&source.text, &tree), has_blank_connection(&tree)),
        Err(problem) => return wrong(&source, Stage::Syntax, vec![*problem]),
    };
    source.text = written;
    let twice = wire_once(&mut source);
    let (file, offer) = match syntax::tree(&source.text) {
        Ok(tree) => {
            let problems =
                structure::problems(&tree, &structure::unfinished(structure::schema_of::<BenchFile>()));
            if !problems.is_empty() {
                let other = kind::of_another_kind(&tree, Document::Spec);
                return wrong(&source, Stage::Structure, other.map_or(problems, |problem| vec![problem]));
            }
            let file = match serde_json::from_str::<Map<String, Json>>(&source.text) {
                Ok(file) => file,
                Err(error) => return wrong(&source, Stage::Structure, vec![unreadable(&source, &error)]),
            };
            let offer = read_in::<OfferFile>(&file, "price").map(resolve::offer).unwrap_or_default();
            // Checked before the winding, because impossible terms say nothing about the pair.
            let problems = physical::problems_of_offer(&offer, &tree);
            if !problems.is_empty() {
                return wrong(&source, Stage::Physics, problems);
            }
            (file, offer)
        }
        Err(problem) => return wrong(&source, Stage::Syntax, vec![*problem]),
    };
    let (offer, mut doubts) = without_doubts(offer, &file);
    let mut winding = winding_of(&file);
    if let Some(TwoWires { doubt, wires }) = twice {
        let wire = wire_in(&file);
        let conductor = read_in(&wire, "conductor").unwrap_or(Conductor::Copper);
        let thermal_class_celsius = read_in(&wire, "thermal_class");
        winding.wires = wires.map(|it| Wire { conductor, thermal_class_celsius, ..it }).into_iter().collect();
        doubts.push(doubt);
    }
    let states = |key: &str| file.contains_key(key);
    let needed = [
        (Gap::MeanRadius, winding.mean_radius_m.is_none()),
        (Gap::Width, winding.width_m.is_none()),
        (Gap::Depth, winding.depth_m.is_none()),
        (Gap::Turns, winding.turns.is_none()),
        (Gap::Wire, !wire_is_whole(&wire_in(&file))),
        (Gap::Spacing, winding.spacing_m.is_none()),
    ];
    // A whole spec without it is in series; in an offer it is left out.
    let is_offer = states("price") || states("stated") || needed.iter().any(|(_, open)| *open);
    let unconnected = !states("connection") && (is_blank_connection || is_offer);
    let open = needed.into_iter().chain([(Gap::Connection, unconnected)]);
    let is_blank = |blank: &Blank| is_offer && value_at(&file, blank.key()).is_none();
    let blanks = Blank::ALL.into_iter().filter(is_blank).collect();
    let named = || source.path.file_stem().map_or_else(|| "quote".into(), |stem| stem.to_string_lossy());
    Ok(Quote {
        title: title_of(&text_in(&file, "title").map_or_else(named, Into::into)),
        digest: source.digest.clone(),
        gaps: open.filter(|(_, open)| *open).map(|(gap, _)| gap).collect(),
        winding,
        stated: read_in::<StatedFile>(&file, "stated").map(resolve::stated).unwrap_or_default(),
        half_units: half_units(&file),
        offer,
        unreadable: Vec::new(),
        doubts,
        remarks: Vec::new(),
        shortest_delivery_days: None,
        is_conductor_open: is_offer && !wire_in(&file).contains_key("conductor"),
        blanks,
        source,
    })
}

/// The two wires of a quote that states different ones.
struct TwoWires {
    doubt: Doubt,
    wires: [Wire; 2],
}

/// Overwrites one of two statements of one wire with spaces. If they are of different wires both are overwritten, and
/// both wires are returned.
fn wire_once(source: &mut Source) -> Option<TwoWires> {
    let tree = syntax::tree(&source.text).ok()?;
    let StatedTwice { wire, left_out, other } = stated_twice(&tree)?;
    let mut bytes = source.text.as_bytes().to_vec();
    keep_only(&mut bytes, wire, |key, _| !left_out.contains(&key));
    let written = String::from_utf8(bytes).ok()?;
    source.text = written;
    other.map(|(doubt, wires)| TwoWires { doubt, wires })
}

/// The offer without the terms that may be meant in more than one way, and the doubts about these.
fn without_doubts(mut offer: Offer, file: &Map<String, Json>) -> (Offer, Vec<Doubt>) {
    let price: Map<String, Json> = read_in(file, "price").unwrap_or_default();
    let mut doubts = Vec::new();
    for (key, term) in [("amount", &mut offer.amount), ("carriage", &mut offer.carriage)] {
        if let Some(meanings) = term.and_then(doubt_of_amount) {
            let text = price.get(key).map(Json::to_string).unwrap_or_default();
            doubts.push(Doubt::about(&format!("price.{key}"), &text, meanings));
            *term = None;
        }
    }
    let written = text_in(&price, "tax_rate").unwrap_or_default();
    if let Some(doubt) = offer.tax_fraction.and_then(|rate| of_tax_rate(rate, written)) {
        doubts.push(doubt);
        offer.tax_fraction = None;
    }
    (offer, doubts)
}

/// A title in one line, as long as a spec's may be.
fn title_of(text: &str) -> String {
    let line = inert::line(text).into_owned();
    match line.chars().count() > LONGEST_TITLE {
        true => line.chars().take(LONGEST_TITLE - 1).chain(['…']).collect(),
        false => line,
    }
}

/// The problem of a number that the schema allows but that no f64 can hold.
fn unreadable(source: &Source, error: &serde_json::Error) -> Problem {
    let at = syntax::offset_of(&source.text, error.line(), error.column());
    Problem::error(at..at, format!("this cannot be read: {error}"))
}

impl Quote {
    /// The quote that describes a bench.
    ///
    /// # Errors
    /// A bench that no spec could describe, for example one with turns that are not finite.
    pub fn of(bench: &Bench) -> Result<Self> {
        quote_from_text("bench.json", &written::spec_text(bench))
    }

    /// The quote with nested layers. `None` if the packing is stated.
    pub(crate) fn nested(&self) -> Option<Self> {
        if self.winding.packing.is_some() {
            return None;
        }
        let mut file: Map<String, Json> = serde_json::from_str(&self.source.text).ok()?;
        let winding = file.entry("winding").or_insert_with(|| json!({})).as_object_mut()?;
        winding.insert("packing".into(), json!("nested"));
        let mut nested = self.clone();
        nested.winding.packing = Some(Packing::Nested);
        nested.source.text = Json::Object(file).to_string();
        Some(nested)
    }

    /// The same with a conductor, where the quote leaves it open.
    pub(crate) fn of_conductor(&self, conductor: Conductor) -> Self {
        let mut file: Map<String, Json> = serde_json::from_str(&self.source.text).unwrap_or_default();
        let winding = file.get_mut("winding").and_then(Json::as_object_mut);
        // Without a wire the whole of it is filled in later.
        if let Some(wire) = winding.and_then(|it| it.get_mut("wire")).and_then(Json::as_object_mut) {
            wire.insert("conductor".into(), json!(conductor));
        }
        let mut other = self.clone();
        other.winding.conductor = conductor;
        other.winding.wires.iter_mut().for_each(|wire| wire.conductor = conductor);
        other.source.text = Json::Object(file).to_string();
        other.is_conductor_open = false;
        other
    }

    /// The bench that the quote describes with its gaps filled by these values. Values that it states stay.
    ///
    /// # Errors
    /// A gap without a value ([`Error::Value`]). That no such pair can exist is an answer, not an error.
    pub fn filled(&self, fillings: &[(Gap, GapFilling)]) -> Result<Filled> {
        if let Some(gap) = self.gaps.iter().find(|gap| !fillings.iter().any(|(filled, _)| filled == *gap)) {
            return Err(Error::value(format!("`{}` is missing", gap.key())));
        }
        let mut file: Map<String, Json> = serde_json::from_str(&self.source.text).unwrap_or_default();
        let untitled = text_in(&file, "title").is_none_or(|title| title.chars().count() > LONGEST_TITLE);
        if untitled {
            file.insert("title".into(), json!(self.title));
        }
        for (gap, filling) in fillings.iter().filter(|(gap, _)| self.gaps.contains(gap)) {
            fill(&mut file, *gap, filling);
        }
        let source = match self.gaps.is_empty() && !untitled {
            true => self.source.clone(),
            false => Source { text: Json::Object(file).to_string(), ..self.source.clone() },
        };
        match reader::checked(&source) {
            Ok(checked) => Ok(Ok(checked.bench)),
            Err(Error::Diagnosed { diagnosis, .. }) if diagnosis.stage() != Stage::Syntax => {
                let errors =
                    diagnosis.problems().iter().filter(|problem| problem.severity == Severity::Error);
                Ok(Err(errors.map(|problem| problem.message.clone()).collect()))
            }
            Err(error) => Err(error),
        }
    }
}

fn fill(file: &mut Map<String, Json>, gap: Gap, filling: &GapFilling) {
    let entry = match filling {
        GapFilling::Number(turns) if gap == Gap::Turns => json!(turns),
        GapFilling::Number(metres) => json!(format!("{metres} m")),
        GapFilling::Wire(wire) => written::wire(wire),
        GapFilling::Connection(connection) => json!(connection),
    };
    let (parent, key) =
        gap.key().split_once('.').map_or((None, gap.key()), |(parent, key)| (Some(parent), key));
    let part = match parent {
        Some(parent) => file.entry(parent).or_insert_with(|| json!({})).as_object_mut(),
        None => Some(file),
    };
    if let Some(part) = part {
        part.insert(key.into(), entry);
    }
}

/// The value at a dotted key.
fn value_at<'a>(file: &'a Map<String, Json>, key: &str) -> Option<&'a Json> {
    let (first, rest) = key.split_once('.').map_or((key, None), |(first, rest)| (first, Some(rest)));
    let value = file.get(first)?;
    match rest {
        Some(rest) => value_at(value.as_object()?, rest),
        None => Some(value),
    }
}

fn text_in<'a>(part: &'a Map<String, Json>, key: &str) -> Option<&'a str> {
    part.get(key).and_then(Json::as_str)
}

fn read_in<T: DeserializeOwned>(part: &Map<String, Json>, key: &str) -> Option<T> {
    part.get(key).and_then(|value| serde_json::from_value(value.clone()).ok())
}

fn wire_in(file: &Map<String, Json>) -> Map<String, Json> {
    read_in::<Map<String, Json>>(file, "winding")
        .and_then(|winding| read_in(&winding, "wire"))
        .unwrap_or_default()
}

/// Whether a wire is completely stated: by size and build, or by its two diameters.
fn wire_is_whole(wire: &Map<String, Json>) -> bool {
    let all = |keys: [&str; 2]| keys.iter().all(|key| wire.contains_key(*key));
    all(["size", "build"]) || all(["bare_diameter", "overall_diameter"])
}

fn winding_of(file: &Map<String, Json>) -> StatedWinding {
    let winding: Map<String, Json> = read_in(file, "winding").unwrap_or_default();
    let wire = wire_in(file);
    let metres = |part: &Map<String, Json>, key: &str| read_in::<Length>(part, key).map(|length| length.0);
    StatedWinding {
        mean_radius_m: metres(&winding, "mean_radius"),
        width_m: metres(&winding, "width"),
        depth_m: metres(&winding, "depth"),
        turns: read_in(&winding, "turns"),
        layers: read_in::<Count>(&winding, "layers").map(|count| count.0),
        turns_per_layer: read_in::<Count>(&winding, "turns_per_layer").map(|count| count.0),
        packing: read_in(&winding, "packing"),
        spacing_m: metres(file, "spacing"),
        lead_ohm: read_in::<Map<String, Json>>(file, "leads")
            .and_then(|leads| read_in::<Resistance>(&leads, "resistance"))
            .map(|resistance| resistance.0),
        parallel: read_in(file, "connection") == Some(Connection::Parallel),
        conductor: read_in(&wire, "conductor").unwrap_or(Conductor::Copper),
        thermal_class_celsius: read_in(&wire, "thermal_class"),
        build: read_in(&wire, "build"),
        wires: wires_of(&wire),
    }
}

/// The wires that fit the stated parts of one; empty if neither size nor diameter is stated.
fn wires_of(wire: &Map<String, Json>) -> Vec<Wire> {
    let conductor = read_in(wire, "conductor").unwrap_or(Conductor::Copper);
    let class = read_in(wire, "thermal_class");
    if let Some(whole) = wire_is_whole(wire).then(|| Json::Object(wire.clone())) {
        let file: Option<WireFile> = serde_json::from_value(whole).ok();
        return file.and_then(|file| resolve::wire(file).ok()).into_iter().collect();
    }
    let stock = |fits: &dyn Fn(&StockWire) -> bool| {
        stock_wires().iter().filter(|it| fits(it)).map(|it| it.wire(conductor, class)).collect()
    };
    if let Some(size) = text_in(wire, "size") {
        let every = [Build::Grade1, Build::Grade2, Build::Single, Build::Heavy];
        return every
            .into_iter()
            .filter_map(|build| stock_wire(size, build).ok())
            .map(|it| it.wire(conductor, class))
            .collect();
    }
    let near = |one: f64, other: f64| (one / other - 1.0).abs() < SAME_DIAMETER;
    match (read_in::<Length>(wire, "bare_diameter"), read_in::<Length>(wire, "overall_diameter")) {
        (Some(Length(bare_m)), _) => {
            let found: Vec<Wire> = stock(&|it| near(it.bare_diameter_m, bare_m));
            if found.is_empty() { enamelled(bare_m, bare_m, conductor, class).into() } else { found }
        }
        (None, Some(Length(overall_m))) => stock(&|it| near(it.overall_diameter_m, overall_m)),
        (None, None) => Vec::new(),
    }
}

/// Wires that are not in stock: the thinner conductor with thin enamel, and the thicker one with thick enamel (common
/// practice, no source).
pub(crate) fn enamelled(
    thin_m: f64,
    thick_m: f64,
    conductor: Conductor,
    thermal_class_celsius: Option<f64>,
) -> [Wire; 2] {
    [(thin_m, 1.04), (thick_m, 1.12)].map(|(bare_diameter_m, overall)| Wire {
        name: None,
        conductor,
        bare_diameter_m,
        overall_diameter_m: overall * bare_diameter_m,
        thermal_class_celsius,
    })
}

/// Diameters that differ by less than this fraction are one size: wire is drawn to 1 % (IEC 60317-0-1).
const SAME_DIAMETER: f64 = 0.01;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{bench_from_text, spec_text};

    const WHOLE: &str = r#"{
        "title": "Whole", "spacing": "150 mm",
        "winding": {
            "mean_radius": "150 mm", "width": "16.9 mm", "depth": "9.5 mm", "turns": 136,
            "wire": { "size": "0.95 mm", "build": "grade 2" }
        }
    }"#;

    #[test]
    fn a_whole_quote_is_the_bench_of_its_spec() {
        let quote = quote_from_text("q.json", WHOLE).unwrap();
        assert_eq!(quote.gaps, []);
        let (bench, spec) = (quote.filled(&[]).unwrap().unwrap(), bench_from_text("q.json", WHOLE).unwrap());
        assert_eq!(spec_text(&bench), spec_text(&spec));
        assert_eq!(bench.digest, spec.digest);
    }

    #[test]
    fn what_is_missing_null_or_blank_is_a_gap_and_what_is_said_of_it_stays() {
        let text = WHOLE
            .replace("\"150 mm\",\n", "null,\n")
            .replace("\"16.9 mm\"", "\"\"")
            .replace(", \"build\": \"grade 2\"", ", \"build\": null")
            .replace("\"turns\": 136,", "\"turns\": null, \"layers\": 9,");
        let quote = quote_from_text("q.json", &text).unwrap();
        assert_eq!(quote.gaps, [Gap::Width, Gap::Turns, Gap::Wire, Gap::Spacing, Gap::Connection]);
        let names: Vec<_> = quote.winding.wires.iter().map(|wire| wire.name.as_deref().unwrap()).collect();
        assert_eq!(names, ["0.95 mm grade 1", "0.95 mm grade 2"]);
        let wire = quote.winding.wires[1].clone();
        let fillings = [
            (Gap::Width, GapFilling::Number(0.0169)),
            (Gap::Turns, GapFilling::Number(136.0)),
            (Gap::Wire, GapFilling::Wire(wire)),
            (Gap::Spacing, GapFilling::Number(0.15)),
            (Gap::Connection, GapFilling::Connection(Connection::Parallel)),
        ];
        let bench = quote.filled(&fillings).unwrap().unwrap();
        let spec = bench_from_text("q.json", WHOLE).unwrap();
        assert_eq!(bench.winding.wire.name, spec.winding.wire.name);
        assert_eq!((bench.winding.turns, bench.winding.layers, bench.spacing_m), (136.0, Some(9), 0.15));
        assert_eq!(bench.connection, Connection::Parallel);
        assert!(quote.filled(&fillings[1..]).unwrap_err().to_string().contains("`winding.width` is missing"));
    }

    #[test]
    fn blanks_anywhere_leave_everything_else_in_its_place() {
        for text in [
            r#"{ "title": null, "winding": { "turns": null }, "spacing": "" }"#,
            r#"{ "tube": { "gun_exit": ["", "", ""], "bulb_radius": null, "beam_radius": null }, "title": "T" }"#,
            "{\n\"title\":\"T\",\n\"spacing\":null,\n\"winding\":{\"wire\":{\"size\":null}}}",
            r#"{"price":{"amount":null,"currency":"EUR","carriage":null},"title":"T"}"#,
        ] {
            let quote = quote_from_text("q.json", text).unwrap();
            assert_eq!(quote.source.text.len(), text.len());
            let needed = quote.gaps.iter().filter(|gap| gap.is_needed());
            assert_eq!(needed.count(), Gap::NEEDED, "{text}");
        }
    }

    #[test]
    fn what_is_written_wrongly_is_shown_in_its_place() {
        let text = "{ \"spacing\": null,\n  \"winding\": { \"turns\": null, \"widht\": \"3 mm\" } }";
        let Err(Error::Diagnosed { diagnosis, .. }) = quote_from_text("q.json", text) else { panic!() };
        let drawn = diagnosis.draw(false);
        assert!(drawn.contains("did you mean `width`") && drawn.contains("q.json:2:"), "{drawn}");
    }

    #[test]
    fn a_quote_that_cannot_exist_says_why() {
        let quote = quote_from_text("q.json", &WHOLE.replace("136", "1300")).unwrap();
        let problems = quote.filled(&[]).unwrap().unwrap_err();
        assert!(problems[0].contains("82 layers"), "{problems:?}");
    }
}
