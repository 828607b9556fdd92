//! The files of a heat study.

use super::words::{curve_csv, table_csv, warm_up_csv};
use super::{HeatRequest, HeatStudy, picture};
use crate::pair::Bench;
use crate::questions::files::{FileRow, FileTable};

/// The conditions for the files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// A current is given, or the supply's limit sets one.
    pub with_current: bool,
    /// It is switched on and off.
    pub with_duty: bool,
    /// The model is fitted to a warm-up test.
    pub with_warm_up: bool,
}

impl Asked {
    /// From a request for a bench.
    pub fn of(bench: &Bench, request: &HeatRequest) -> Self {
        let with_current = request.current_ampere.is_some() || bench.current_limit_ampere().is_ok();
        Self {
            with_current,
            with_duty: with_current && request.duty.is_some(),
            with_warm_up: request.warm_up.is_some(),
        }
    }
}

/// The table of the files.
pub fn files() -> FileTable<Asked, HeatStudy> {
    const WITH_CURRENT: &str = "where the supply or --current sets one";
    let with_current = |asked: &Asked| asked.with_current;
    FileTable(vec![
        FileRow::json("heat.json", "everything, for scripts"),
        FileRow::csv(
            "heat-table.csv",
            "steady temperatures and allowed time for each current",
            |study, format| Some(table_csv(study, format)),
        ),
        FileRow::csv("heat-curve.csv", "temperatures after switching on", |study, format| {
            Some(curve_csv(study, &study.at_current.as_ref()?.curve, format))
        })
        .when(WITH_CURRENT, with_current),
        FileRow::csv("heat-cooling.csv", "temperatures after switching off", |study, format| {
            Some(curve_csv(study, &study.at_current.as_ref()?.cooling, format))
        })
        .when(WITH_CURRENT, with_current),
        FileRow::csv("heat-duty.csv", "one cycle for ever repeated", |study, format| {
            Some(curve_csv(study, &study.repeated()?.cycle, format))
        })
        .when("with --duty", |asked| asked.with_duty),
        FileRow::csv("heat-warm-up.csv", "the test beside the model", |study, format| {
            Some(warm_up_csv(study, study.warm_up.as_ref()?, format))
        })
        .when("with --warm-up", |asked| asked.with_warm_up),
        FileRow::figure("heat-time", "warming, field drift and cooling", picture::in_time)
            .when(WITH_CURRENT, with_current),
        FileRow::figure("heat-current", "temperature and allowed time against current", |study| {
            Some(picture::against_current(study))
        }),
        FileRow::figure("heat-duty", "one cycle for ever repeated", picture::under_duty)
            .when("with --duty", |asked| asked.with_duty),
        FileRow::figure("heat-warm-up", "the test beside the model", picture::warm_up)
            .when("with --warm-up", |asked| asked.with_warm_up),
    ])
}
