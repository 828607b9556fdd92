//! The dimensions of quantities, and the units of each.

/// The dimension of a quantity; it fixes the units the quantity may be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Dimension {
    /// Metres inside.
    Length,
    /// Radians inside.
    Angle,
    /// Amperes inside.
    Current,
    /// Volts inside.
    Voltage,
    /// Ohms inside.
    Resistance,
    /// Teslas inside.
    FluxDensity,
    /// Teslas per ampere inside.
    FieldConstant,
    /// Degrees Celsius inside.
    Temperature,
    /// Kelvins inside.
    TemperatureDifference,
    /// Seconds inside.
    Time,
    /// Hertz inside.
    Frequency,
    /// Kilograms inside.
    Mass,
    /// Henries inside.
    Inductance,
    /// Watts inside.
    Power,
    /// Joules inside.
    Energy,
    /// Newtons inside.
    Force,
    /// Metres per second inside.
    Speed,
    /// Kilograms per metre inside.
    MassPerLength,
    /// Ohms per metre inside.
    ResistancePerLength,
    /// Amperes per square metre inside.
    CurrentDensity,
    /// A fraction; 1 % is 0.01 inside.
    Fraction,
    /// A number without a unit.
    Number,
}

/// One unit of a dimension.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// The symbol in outputs.
    pub symbol: &'static str,
    /// The accepted spellings in ASCII; `u` stands for micro, `ohm` for Ω, `deg` for °.
    pub names: &'static [&'static str],
    pub(super) scale: Scale,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Scale {
    /// SI value = 10^exponent × number.
    Decimal(i32),
    /// SI value = factor × number.
    Factor(f64),
    /// SI value = number − offset.
    Offset(f64),
}

const fn decimal(symbol: &'static str, names: &'static [&'static str], exponent: i32) -> Unit {
    Unit { symbol, names, scale: Scale::Decimal(exponent) }
}

const fn factor(symbol: &'static str, names: &'static [&'static str], factor: f64) -> Unit {
    Unit { symbol, names, scale: Scale::Factor(factor) }
}

macro_rules! units {
    ($($constant:ident = $unit:expr;)*) => {
        $(#[allow(missing_docs)] pub const $constant: Unit = $unit;)*
    };
}

/// Every unit by its English name, for code that writes a fixed unit.
pub mod unit {
    use super::{Scale, Unit, decimal, factor};

    units! {
        KILOMETRE = decimal("km", &["km"], 3);
        METRE = decimal("m", &["m", "metre"], 0);
        CENTIMETRE = decimal("cm", &["cm"], -2);
        MILLIMETRE = decimal("mm", &["mm"], -3);
        MICROMETRE = decimal("µm", &["um"], -6);
        INCH = factor("in", &["in", "inch"], 0.0254);
        RADIAN = decimal("rad", &["rad", "radian"], 0);
        MILLIRADIAN = decimal("mrad", &["mrad"], -3);
        DEGREE = factor("°", &["deg", "degree"], std::f64::consts::PI / 180.0);
        AMPERE = decimal("A", &["A", "ampere"], 0);
        MILLIAMPERE = decimal("mA", &["mA"], -3);
        MICROAMPERE = decimal("µA", &["uA"], -6);
        KILOVOLT = decimal("kV", &["kV"], 3);
        VOLT = decimal("V", &["V", "volt"], 0);
        MILLIVOLT = decimal("mV", &["mV"], -3);
        MICROVOLT = decimal("µV", &["uV"], -6);
        MEGAOHM = decimal("MΩ", &["Mohm"], 6);
        KILOOHM = decimal("kΩ", &["kohm"], 3);
        OHM = decimal("Ω", &["ohm"], 0);
        MILLIOHM = decimal("mΩ", &["mohm"], -3);
        TESLA = decimal("T", &["T", "tesla"], 0);
        MILLITESLA = decimal("mT", &["mT"], -3);
        MICROTESLA = decimal("µT", &["uT"], -6);
        NANOTESLA = decimal("nT", &["nT"], -9);
        GAUSS = decimal("G", &["G", "Gs", "gauss"], -4);
        MILLIGAUSS = decimal("mG", &["mG"], -7);
        TESLA_PER_AMPERE = decimal("T/A", &["T/A", "tesla_per_ampere"], 0);
        MILLITESLA_PER_AMPERE = decimal("mT/A", &["mT/A"], -3);
        MICROTESLA_PER_AMPERE = decimal("µT/A", &["uT/A"], -6);
        CELSIUS = decimal("°C", &["degC", "C", "celsius"], 0);
        KELVIN_ABOVE_ZERO = Unit { symbol: "K", names: &["K", "kelvin"], scale: Scale::Offset(273.15) };
        KELVIN = decimal("K", &["K", "degC", "kelvin"], 0);
        HOUR = factor("h", &["h", "hour"], 3600.0);
        MINUTE = factor("min", &["min", "minute"], 60.0);
        SECOND = decimal("s", &["s", "second"], 0);
        MILLISECOND = decimal("ms", &["ms"], -3);
        MICROSECOND = decimal("µs", &["us"], -6);
        NANOSECOND = decimal("ns", &["ns"], -9);
        KILOHERTZ = decimal("kHz", &["kHz"], 3);
        HERTZ = decimal("Hz", &["Hz", "hertz"], 0);
        KILOGRAM = decimal("kg", &["kg", "kilogram"], 0);
        GRAM = decimal("g", &["g"], -3);
        HENRY = decimal("H", &["H", "henry"], 0);
        MILLIHENRY = decimal("mH", &["mH"], -3);
        MICROHENRY = decimal("µH", &["uH"], -6);
        KILOWATT = decimal("kW", &["kW"], 3);
        WATT = decimal("W", &["W", "watt"], 0);
        MILLIWATT = decimal("mW", &["mW"], -3);
        MICROWATT = decimal("µW", &["uW"], -6);
        JOULE = decimal("J", &["J", "joule"], 0);
        MILLIJOULE = decimal("mJ", &["mJ"], -3);
        MICROJOULE = decimal("µJ", &["uJ"], -6);
        NEWTON = decimal("N", &["N", "newton"], 0);
        MILLINEWTON = decimal("mN", &["mN"], -3);
        MICRONEWTON = decimal("µN", &["uN"], -6);
        KILOMETRE_PER_SECOND = decimal("km/s", &["km/s"], 3);
        METRE_PER_SECOND = decimal("m/s", &["m/s", "m_per_s"], 0);
        KILOGRAM_PER_METRE = decimal("kg/m", &["kg/m", "kg_per_m"], 0);
        GRAM_PER_METRE = decimal("g/m", &["g/m"], -3);
        OHM_PER_METRE = decimal("Ω/m", &["ohm/m", "ohm_per_m"], 0);
        MILLIOHM_PER_METRE = decimal("mΩ/m", &["mohm/m"], -3);
        AMPERE_PER_SQUARE_METRE = decimal("A/m²", &["A/m2"], 0);
        AMPERE_PER_SQUARE_MILLIMETRE = decimal("A/mm²", &["A/mm2"], 6);
        PERCENT = decimal("%", &["%", "percent"], -2);
        PARTS_PER_MILLION = decimal("ppm", &["ppm"], -6);
        ONE = decimal("", &[""], 0);
    }
}

impl Dimension {
    /// The name with its article, as in "a length".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Current => "a current",
            Self::Voltage => "a voltage",
            Self::Resistance => "a resistance",
            Self::FluxDensity => "a magnetic field",
            Self::FieldConstant => "a field constant",
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Time => "a time",
            Self::Frequency => "a frequency",
            Self::Mass => "a mass",
            Self::Inductance => "an inductance",
            Self::Power => "a power",
            Self::Energy => "an energy",
            Self::Force => "a force",
            Self::Speed => "a speed",
            Self::MassPerLength => "a mass per length",
            Self::ResistancePerLength => "a resistance per length",
            Self::CurrentDensity => "a current density",
            Self::Fraction => "a fraction",
            Self::Number => "a plain number",
        }
    }

    /// The units it may be written in, including the one used inside (SI, or °C).
    pub const fn units(self) -> &'static [Unit] {
        use unit::*;
        match self {
            Self::Length => &[MILLIMETRE, CENTIMETRE, METRE, KILOMETRE, MICROMETRE, INCH],
            Self::Angle => &[DEGREE, RADIAN, MILLIRADIAN],
            Self::Current => &[AMPERE, MILLIAMPERE, MICROAMPERE],
            Self::Voltage => &[VOLT, MILLIVOLT, KILOVOLT, MICROVOLT],
            Self::Resistance => &[OHM, MILLIOHM, KILOOHM, MEGAOHM],
            Self::FluxDensity => &[MILLITESLA, MICROTESLA, TESLA, NANOTESLA, GAUSS, MILLIGAUSS],
            Self::FieldConstant => &[MILLITESLA_PER_AMPERE, MICROTESLA_PER_AMPERE, TESLA_PER_AMPERE],
            Self::Temperature => &[CELSIUS, KELVIN_ABOVE_ZERO],
            Self::TemperatureDifference => &[KELVIN],
            Self::Time => &[SECOND, MINUTE, HOUR, MILLISECOND, MICROSECOND, NANOSECOND],
            Self::Frequency => &[HERTZ, KILOHERTZ],
            Self::Mass => &[KILOGRAM, GRAM],
            Self::Inductance => &[MILLIHENRY, HENRY, MICROHENRY],
            Self::Power => &[WATT, MILLIWATT, KILOWATT, MICROWATT],
            Self::Energy => &[JOULE, MILLIJOULE, MICROJOULE],
            Self::Force => &[NEWTON, MILLINEWTON, MICRONEWTON],
            Self::Speed => &[METRE_PER_SECOND, KILOMETRE_PER_SECOND],
            Self::MassPerLength => &[GRAM_PER_METRE, KILOGRAM_PER_METRE],
            Self::ResistancePerLength => &[OHM_PER_METRE, MILLIOHM_PER_METRE],
            Self::CurrentDensity => &[AMPERE_PER_SQUARE_MILLIMETRE, AMPERE_PER_SQUARE_METRE],
            Self::Fraction => &[PERCENT, PARTS_PER_MILLION],
            Self::Number => &[ONE],
        }
    }

    /// An example of a quantity, as in `165 mm`.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Length => "165 mm",
            Self::Angle => "0.5 deg",
            Self::Current => "1.2 A",
            Self::Voltage => "240 V",
            Self::Resistance => "4.2 ohm",
            Self::FluxDensity => "0.9 mT",
            Self::FieldConstant => "0.7 mT/A",
            Self::Temperature => "23 degC",
            Self::TemperatureDifference => "15 K",
            Self::Time => "30 min",
            Self::Frequency => "1 kHz",
            Self::Mass => "1.6 kg",
            Self::Inductance => "28 mH",
            Self::Power => "12 W",
            Self::Energy => "0.1 J",
            Self::Force => "0.2 N",
            Self::Speed => "8.4e6 m/s",
            Self::MassPerLength => "6.3 g/m",
            Self::ResistancePerLength => "25 mohm/m",
            Self::CurrentDensity => "2 A/mm2",
            Self::Fraction => "0.5 %",
            Self::Number => "3",
        }
    }

    /// The unit with this name, if the dimension has it; case matters (`mT` is not `MT`).
    pub(crate) fn unit_named(self, name: &str) -> Option<Unit> {
        let name = ascii_unit(name);
        self.units().iter().find(|unit| unit.names.contains(&name.as_str())).copied()
    }

    /// The units it may be written in, as a list for people: `mm, cm, m`.
    pub fn allowed(self) -> String {
        self.units().iter().map(|unit| unit.names[0]).collect::<Vec<_>>().join(", ")
    }

    /// Every dimension that a file or an argument may hold.
    pub(crate) const ALL: [Self; 22] = [
        Self::Length,
        Self::Angle,
        Self::Current,
        Self::Voltage,
        Self::Resistance,
        Self::FluxDensity,
        Self::FieldConstant,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Time,
        Self::Frequency,
        Self::Mass,
        Self::Inductance,
        Self::Power,
        Self::Energy,
        Self::Force,
        Self::Speed,
        Self::MassPerLength,
        Self::ResistancePerLength,
        Self::CurrentDensity,
        Self::Fraction,
        Self::Number,
    ];
}

impl Unit {
    /// The SI value of `number` of this unit, with a single rounding.
    pub fn to_si(&self, number: f64) -> f64 {
        match self.scale {
            Scale::Decimal(exponent) => shift(number, exponent),
            Scale::Factor(factor) => number * factor,
            Scale::Offset(offset) => number - offset,
        }
    }

    /// An SI value in this unit, with a single rounding.
    pub fn from_si(&self, si: f64) -> f64 {
        match self.scale {
            Scale::Decimal(exponent) => shift(si, -exponent),
            Scale::Factor(factor) => si / factor,
            Scale::Offset(offset) => si + offset,
        }
    }
}

/// number × 10^exponent for |exponent| ≤ 22, where the power is exact: a single rounding.
pub(super) fn shift(number: f64, exponent: i32) -> f64 {
    if exponent < 0 { number / 10f64.powi(-exponent) } else { number * 10f64.powi(exponent) }
}

/// A written unit with its typographic characters in ASCII.
pub(super) fn ascii_unit(written: &str) -> String {
    match written {
        "°" | "º" => "deg".into(),
        "deg C" | "°C" | "ºC" | "° C" | "º C" | "℃" => "degC".into(),
        _ => {
            let ascii = match written.strip_prefix(['\u{b5}', '\u{3bc}']) {
                Some(rest) => format!("u{rest}"),
                None => written.to_owned(),
            };
            ascii.replace(['\u{3a9}', '\u{2126}'], "ohm").replace('²', "2")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_written_unit_means_one_thing_within_a_dimension() {
        for dimension in Dimension::ALL {
            let names: Vec<_> = dimension.units().iter().flat_map(|unit| unit.names).collect();
            let mut once = names.clone();
            once.sort();
            once.dedup();
            assert_eq!(once.len(), names.len(), "{dimension:?}");
        }
    }

    #[test]
    fn case_and_prefix_are_not_guessed() {
        assert_eq!(Dimension::FluxDensity.unit_named("mT"), Some(unit::MILLITESLA));
        assert_eq!(Dimension::FluxDensity.unit_named("MT"), None);
        assert_eq!(Dimension::FluxDensity.unit_named("mt"), None);
        assert_eq!(Dimension::Mass.unit_named("G"), None);
        assert_eq!(Dimension::FluxDensity.unit_named("G"), Some(unit::GAUSS));
        for micro in ["uT", "µT", "μT"] {
            assert_eq!(Dimension::FluxDensity.unit_named(micro), Some(unit::MICROTESLA));
        }
    }

    #[test]
    fn a_unit_converts_there_and_back() {
        assert_eq!(unit::MILLIMETRE.to_si(165.0), 0.165);
        assert_eq!(unit::MILLIMETRE.from_si(0.165), 165.0);
        assert_eq!(unit::GAUSS.to_si(8.5), 0.00085);
        assert_eq!(unit::KELVIN_ABOVE_ZERO.to_si(273.15), 0.0);
        assert_eq!(unit::HOUR.to_si(1.5), 5400.0);
        // 180° is pi: exact up to one rounding of the factor and one of the product.
        assert!((unit::DEGREE.to_si(180.0) - std::f64::consts::PI).abs() < 1e-15);
    }
}
