//! Times of whole commands: `cargo bench --bench commands [-- --against OLD_BINARY] [--points N] [ROW]`.
//!
//! Each row runs the program on the example files from start to end and discards its output. With `--against` the two
//! programs run in turn, so that both meet the same load of the machine, and the medians are printed beside each other.
//! `field` computes ten million points unless `--points` says otherwise; a word selects the rows with that word in
//! their names.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Rounds of each row, unless they take too long.
const ROUNDS: usize = 9;
/// No further round once a row has taken this long.
const PATIENCE: Duration = Duration::from_secs(45);

/// One line of the table.
struct Row {
    name: &'static str,
    arguments: Vec<String>,
}

fn rows(points: &Path, out: &Path) -> Vec<Row> {
    const BENCH: &str = "coil-specs/window-bench.json";
    let of = |name, line: &str| Row { name, arguments: line.split_whitespace().map(str::to_owned).collect() };
    let mut rows = vec![
        of("calibrate, 100 000 samples", &format!("calibrate {BENCH} --monte-carlo 100000")),
        of("tolerance, 2000 builds", &format!("tolerance {BENCH}")),
        of("tolerance, 100 000 builds", &format!("tolerance {BENCH} --builds 100000")),
        of("size", "size lab-files/lessons.json"),
        of("map --out", &format!("map {BENCH} --force --out")),
        of(
            "compare, three specs and needs",
            "compare coil-specs/quote-thick.json coil-specs/quote-used.json coil-specs/quote-parallel.json --needs \
             lab-files/lessons.json",
        ),
        of("heat", &format!("heat {BENCH}")),
        of("heat at a current", &format!("heat {BENCH} --current 2.2A")),
        of("calibrate without readings", &format!("calibrate {BENCH}")),
        of("field, CSV in and out", &format!("field {BENCH} --points")),
    ];
    for row in &mut rows {
        let path = match row.arguments.last().map(String::as_str) {
            Some("--out") => out,
            Some("--points") => points,
            _ => continue,
        };
        row.arguments.push(path.display().to_string());
    }
    rows
}

/// The time of one run.
fn seconds(program: &Path, row: &Row) -> f64 {
    let start = Instant::now();
    let status = Command::new(program)
        .args(&row.arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdout(Stdio::null())
        .status()
        .unwrap_or_else(|error| panic!("cannot run {}: {error}", program.display()));
    assert!(status.success(), "{} {}: {status}", program.display(), row.arguments.join(" "));
    start.elapsed().as_secs_f64()
}

fn median(seconds: &mut [f64]) -> f64 {
    seconds.sort_by(f64::total_cmp);
    let middle = seconds.len() / 2;
    if seconds.len() % 2 == 1 { seconds[middle] } else { 0.5 * (seconds[middle - 1] + seconds[middle]) }
}

/// The medians of the programs, which run in turn.
fn medians(programs: &[PathBuf], row: &Row) -> Vec<f64> {
    let begun = Instant::now();
    let mut taken = vec![Vec::new(); programs.len()];
    for _ in 0..ROUNDS {
        for (program, taken) in programs.iter().zip(&mut taken) {
            taken.push(seconds(program, row));
        }
        if begun.elapsed() > PATIENCE {
            break;
        }
    }
    taken.iter_mut().map(|taken| median(taken)).collect()
}

/// Points in a ball of 60 mm, from a small generator that gives the same numbers every time.
fn write_points(path: &Path, count: u64) -> std::io::Result<()> {
    let mut file = BufWriter::with_capacity(1 << 20, File::create(path)?);
    writeln!(file, "x_m,y_m,z_m")?;
    let mut state = 1_u64;
    let mut unit = || {
        // Constants of Knuth's MMIX generator (The Art of Computer Programming, vol. 2, 3.3.4).
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / (1_u64 << 24) as f64 - 0.5
    };
    let mut line = String::new();
    for _ in 0..count {
        line.clear();
        let (x, y, z) = (0.07 * unit(), 0.07 * unit(), 0.07 * unit());
        writeln!(line, "{x:.7},{y:.7},{z:.7}").map_err(std::io::Error::other)?;
        file.write_all(line.as_bytes())?;
    }
    file.flush()
}

fn main() {
    let mut arguments = std::env::args().skip(1).filter(|argument| argument != "--bench");
    let (mut against, mut count, mut wanted) = (None, 10_000_000, None);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().unwrap_or_else(|| panic!("{argument} needs a value"));
        match argument.as_str() {
            "--against" => against = Some(PathBuf::from(value())),
            "--points" => count = value().parse().expect("--points takes a number"),
            _ => wanted = Some(argument),
        }
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (points, out) = (folder.path().join("points.csv"), folder.path().join("out"));
    let new = PathBuf::from(env!("CARGO_BIN_EXE_coilwright"));
    let programs: Vec<PathBuf> = against.into_iter().chain([new]).collect();
    let both = programs.len() == 2;
    println!("{:<34}{}", "", if both { "  old ms   new ms   times faster" } else { "  new ms" });
    for row in rows(&points, &out) {
        if wanted.as_ref().is_some_and(|wanted| !row.name.contains(wanted.as_str())) {
            continue;
        }
        if row.arguments[0] == "field" {
            write_points(&points, count).expect("room for the points");
        }
        let medians = medians(&programs, &row);
        match medians[..] {
            [old, new] => {
                println!("{:<34}{:8.1} {:8.1}   {:.1}", row.name, 1e3 * old, 1e3 * new, old / new);
            }
            _ => println!("{:<34}{:8.1}", row.name, 1e3 * medians[0]),
        }
    }
}
