//! The files that `orbit` writes: for one orbit, the chart, the bias table and the printed scale.

use super::words::chart::{bias_csv, chart_csv};
use super::words::path_csv;
use super::{BiasTable, Orbit, RadiusChart, ReadingScale, picture};
use crate::paper::View;
use crate::physics::beam::BeamBench;
use crate::questions::files::{FileRow, FileTable};
use serde::Serialize;

/// An orbit and the bench it runs in, which the pictures need.
#[derive(Clone, Debug, Serialize)]
#[serde(transparent)]
pub struct OrbitInBench<'a> {
    /// The orbit.
    pub orbit: Orbit,
    /// The bench with its tube.
    #[serde(skip)]
    pub beams: &'a BeamBench<'a>,
}

/// The table of files for one orbit.
pub fn orbit_files<'a>() -> FileTable<(), OrbitInBench<'a>> {
    FileTable(vec![
        FileRow::figure("orbit-plane", "the beam plane, seen along the axis", |drawn| {
            Some(picture::view(&drawn.orbit, drawn.beams, View::beam_plane()))
        }),
        FileRow::figure("orbit-side", "the view from the side, z and y", |drawn| {
            Some(picture::view(&drawn.orbit, drawn.beams, View::side()))
        }),
        FileRow::figure(
            "orbit-third",
            "the view across the axis, z and x: from above where the axis lies level",
            |drawn| Some(picture::view(&drawn.orbit, drawn.beams, View::axial())),
        ),
        FileRow::csv("orbit-path.csv", "the path, point by point", |drawn, format| {
            Some(path_csv(&drawn.orbit, format))
        }),
        FileRow::json("orbit.json", "everything, for scripts"),
    ])
}

/// The table of files for the chart.
pub fn chart_files() -> FileTable<(), RadiusChart> {
    FileTable(vec![
        FileRow::figure("beam-radius", "beam radius against current, for the wall", |chart| {
            Some(picture::chart::figure(chart))
        }),
        FileRow::csv("beam-radius.csv", "every point of the chart", |chart, format| {
            Some(chart_csv(chart, format))
        }),
        FileRow::json("beam-radius.json", "everything, for scripts"),
    ])
}

/// The table of files for the bias table.
pub fn bias_files() -> FileTable<(), BiasTable> {
    FileTable(vec![
        FileRow::csv("bias.csv", "the bias of every setting, part by part", |table, format| {
            Some(bias_csv(table, format))
        }),
        FileRow::json("bias.json", "everything, for scripts"),
    ])
}

/// The table of files for the printed scale.
pub fn scale_files() -> FileTable<(), ReadingScale> {
    FileTable(vec![
        FileRow::text("reading-scale.svg", "the scale in true size, to print", |scale| {
            Ok(picture::scale::svg(scale))
        }),
        FileRow::json("reading-scale.json", "everything, for scripts"),
    ])
}
