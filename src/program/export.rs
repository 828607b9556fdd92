//! Arguments shared by all commands that write files for people: the number format and the date.

use coilwright::Result;
use coilwright::files::out::csv::NumberFormat;
use coilwright::numeric::calendar::Day;
use coilwright::questions::calibrate::check_date;

/// How CSV files write numbers: flatten it into the arguments of a command that writes any.
#[derive(clap::Args)]
pub struct NumberFormatArgs {
    /// How the CSV files write numbers
    #[arg(long, value_enum, default_value_t = Decimal::Point)]
    number_format: Decimal,
}

/// How numbers are written.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Decimal {
    /// 0.5, cells separated by commas
    Point,
    /// 0,5, cells separated by semicolons
    Comma,
}

impl NumberFormatArgs {
    /// The chosen format.
    pub fn format(&self) -> NumberFormat {
        match self.number_format {
            Decimal::Point => NumberFormat::Point,
            Decimal::Comma => NumberFormat::Comma,
        }
    }
}

/// The date in the files: flatten it into the arguments of a command that writes any.
#[derive(clap::Args)]
pub struct DateArgs {
    /// Date to print, as 2026-03-01; none by default
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<String>,
}

impl DateArgs {
    /// The given date, checked.
    pub fn checked(&self) -> Result<Option<String>> {
        Ok(self.day()?.map(|day| day.to_string()))
    }

    /// The same as a day of the calendar.
    pub fn day(&self) -> Result<Option<Day>> {
        self.date.as_deref().map(check_date).transpose()
    }
}
