//! `map` as a user types it.

use std::path::Path;
use std::process::{Command, Output};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
const AS_BUILT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/quote-used.json");

const PLANES: [&str; 9] = [
    "axial-plane.csv",
    "axial-plane.png",
    "axial-plane.svg",
    "mid-plane.csv",
    "mid-plane.png",
    "mid-plane.svg",
    "profiles.csv",
    "profiles.png",
    "profiles.svg",
];

fn command(spec: &str, out: &Path, more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coilwright"));
    command.arg("map").arg(spec).arg("--out").arg(out).args(more);
    command
}

fn map(spec: &str, out: &Path, more: &[&str]) -> Output {
    command(spec, out, more).output().unwrap()
}

fn mapped(spec: &str, out: &Path, more: &[&str]) -> String {
    let output = map(spec, out, more);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "a pipe stays clean: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn refused(output: &Output, status: i32, wanted: &str) {
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(status), "{stderr}");
    assert!(stderr.contains(wanted), "{wanted} is not in {stderr}");
    assert!(stderr.contains("hint: "), "{stderr}");
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Reads the rows of a grid as numbers and checks its provenance and headings.
fn rows(path: &Path, unit: &str) -> Vec<[f64; 7]> {
    let text = std::fs::read_to_string(path).unwrap();
    let mut lines = text.lines();
    let provenance = lines.next().unwrap();
    assert!(provenance.starts_with("# coilwright ") && provenance.contains("spec \""), "{provenance}");
    assert_eq!(lines.next().unwrap(), format!("x_m,y_m,z_m,bx_{unit},by_{unit},bz_{unit},deviation"));
    lines
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            cells.try_into().unwrap()
        })
        .collect()
}

#[test]
fn a_map_is_exactly_its_pictures_profiles_and_grids() {
    let parent = tempfile::tempdir().unwrap();
    let out = parent.path().join("new/folder");
    let printed = mapped(BENCH, &out, &["--step", "4 mm"]);
    assert_eq!(names(&out), PLANES);
    assert!(printed.contains("Largest deviation in the bulb") && printed.contains("axial-plane.svg"));
    for picture in ["axial-plane", "mid-plane", "profiles"] {
        let svg = std::fs::read_to_string(out.join(format!("{picture}.svg"))).unwrap();
        assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
        let png = std::fs::read(out.join(format!("{picture}.png"))).unwrap();
        assert!(png.starts_with(b"\x89PNG"));
    }
    let axial = rows(&out.join("axial-plane.csv"), "tesla_per_ampere");
    assert!(axial.iter().all(|row| row[1] == 0.0));
    let centre = axial.iter().find(|row| row[..3] == [0.0; 3]).unwrap();
    assert!(centre[6].abs() < 1e-14, "{centre:?}");
    for row in &axial {
        assert!((row[6] - (row[5] / centre[5] - 1.0)).abs() < 1e-12, "{row:?}");
    }
    let mid = rows(&out.join("mid-plane.csv"), "tesla_per_ampere");
    // By symmetry a straight pair has Bz only there, to the promised 1e-12 of the field's scale.
    let scale = mid.iter().fold(0f64, |most, row| most.max(row[5].abs()));
    assert!(mid.iter().all(|row| row[2] == 0.0 && row[3].hypot(row[4]) <= 1e-12 * scale));
}

#[test]
fn a_volume_is_every_grid_point_in_the_bulb_and_no_other() {
    let parent = tempfile::tempdir().unwrap();
    mapped(BENCH, parent.path(), &["--volume", "--step", "10 mm"]);
    let mut wanted: Vec<&str> = PLANES.into_iter().filter(|name| !name.ends_with("plane.csv")).collect();
    wanted.extend(["volume.csv", "volume.vti"]);
    assert_eq!(names(parent.path()), wanted);
    let found = rows(&parent.path().join("volume.csv"), "tesla_per_ampere");
    // The bulb's radius is 82 mm: lattice points within 8.2 of the origin.
    let mut count = 0;
    for (i, j, k) in (-8..=8).flat_map(|i| (-8..=8).flat_map(move |j| (-8..=8).map(move |k| (i, j, k)))) {
        count += usize::from(f64::from(i * i + j * j + k * k) <= 8.2 * 8.2);
    }
    assert_eq!(found.len(), count);
    assert!(found.iter().all(|row| row[0].hypot(row[1]).hypot(row[2]) <= 0.082));
}

/// The numbers of a `.npy` file of 64-bit floats and its shape as its heading says it.
fn array(path: &Path) -> (String, Vec<f64>) {
    let bytes = std::fs::read(path).unwrap();
    let heading_bytes = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    let heading = String::from_utf8(bytes[10..10 + heading_bytes].to_vec()).unwrap();
    assert!(heading.starts_with("{'descr': '<f8', 'fortran_order': False, 'shape': ("), "{heading}");
    let shape = heading.split(['(', ')']).nth(1).unwrap().to_owned();
    let numbers = bytes[10 + heading_bytes..].chunks(8);
    (shape, numbers.map(|number| f64::from_le_bytes(number.try_into().unwrap())).collect())
}

#[test]
fn arrays_hold_the_numbers_of_the_tables() {
    let folder = tempfile::tempdir().unwrap();
    let table = |name: &str| rows(&folder.path().join(name), "tesla_per_ampere").concat();
    let read = |name: &str| array(&folder.path().join(name));
    mapped(BENCH, folder.path(), &["--step", "20 mm", "--npy"]);
    for name in ["axial-plane", "mid-plane"] {
        let (shape, numbers) = read(&format!("{name}.npy"));
        assert_eq!(numbers, table(&format!("{name}.csv")));
        let lengths: Vec<usize> = shape.split(", ").map(|length| length.parse().unwrap()).collect();
        let [down, along, 7] = lengths[..] else { panic!("{shape}") };
        assert_eq!(down * along * 7, numbers.len());
        // Along a row the last coordinate of the plane runs, from row to row the first.
        let last = if name == "axial-plane" { 2 } else { 1 };
        let at = |row: usize, column: usize, i: usize| numbers[(row * along + column) * 7 + i];
        assert!(at(0, 1, last) > at(0, 0, last) && at(0, 1, 0) == at(0, 0, 0) && at(1, 0, 0) > at(0, 0, 0));
    }
    mapped(BENCH, folder.path(), &["--volume", "--grid", "15", "--npy", "--force"]);
    let (shape, numbers) = read("volume.npy");
    assert_eq!(numbers, table("volume.csv"));
    assert_eq!(shape, format!("{}, 7", numbers.len() / 7));
    // A limit adds a column of ones and zeros.
    mapped(BENCH, folder.path(), &["--volume", "--grid", "15", "--npy", "--force", "--within", "0.1 %"]);
    let (shape, limited) = read("volume.npy");
    assert!(shape.ends_with(", 8"), "{shape}");
    for (row, plain) in limited.chunks(8).zip(numbers.chunks(7)) {
        assert_eq!(row[..7], *plain);
        assert_eq!(row[7], f64::from(u8::from(row[6].abs() <= 1e-3)));
    }
}

#[test]
fn an_independent_reader_finds_the_volume_where_the_table_has_it() {
    use vtkio::model::{Attribute, DataSet, IOBuffer, Piece};
    let folder = tempfile::tempdir().unwrap();
    mapped(BENCH, folder.path(), &["--volume", "--grid", "21", "--within", "0.1 %"]);
    let text = std::fs::read_to_string(folder.path().join("volume.csv")).unwrap();
    let table: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| !line.starts_with(['#', 'x']))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let vtk = vtkio::Vtk::import(folder.path().join("volume.vti")).unwrap();
    let DataSet::ImageData { origin, spacing, extent, pieces, .. } = vtk.data else {
        panic!("no image data")
    };
    let counts = extent.into_dims().map(|count| count as usize);
    let Piece::Inline(piece) = &pieces[0] else { panic!("the data stand in another file") };
    let of = |name: &str| -> Vec<f64> {
        let arrays = piece.data.point.iter();
        let mut found = arrays.filter_map(|attribute| match attribute {
            Attribute::DataArray(array) if array.name == name => Some(&array.data),
            _ => None,
        });
        match found.next().unwrap_or_else(|| panic!("no array is named {name}")) {
            IOBuffer::F64(numbers) => numbers.clone(),
            IOBuffer::U8(bytes) => bytes.iter().copied().map(f64::from).collect(),
            other => panic!("{other:?}"),
        }
    };
    let (field, deviation) = (of("field_tesla_per_ampere"), of("deviation"));
    let (in_bulb, within) = (of("in_bulb"), of("within"));
    assert_eq!(deviation.len(), counts.iter().product::<usize>());
    assert_eq!(field.len(), 3 * deviation.len());
    assert_eq!(in_bulb.iter().sum::<f64>() as usize, table.len());
    for row in &table {
        let place = [0, 1, 2].map(|i| {
            let step = (row[i] - f64::from(origin[i])) / f64::from(spacing[i]);
            assert!((step - step.round()).abs() < 1e-4, "{row:?}");
            step.round() as usize
        });
        let at = place[0] + counts[0] * (place[1] + counts[1] * place[2]);
        assert_eq!(in_bulb[at], 1.0);
        assert_eq!(within[at], row[7]);
        // The engine may take another number of terms for another block of points.
        assert!((deviation[at] - row[6]).abs() < 1e-12, "{row:?}");
        for i in 0..3 {
            assert!((field[3 * at + i] - row[3 + i]).abs() < 1e-15, "{row:?}");
        }
    }
}

#[test]
fn a_limit_is_answered_yes_or_no_in_text_json_tables_and_pictures() {
    let parent = tempfile::tempdir().unwrap();
    let out = parent.path().join("within");
    let printed = mapped(BENCH, &out, &["--step", "2 mm", "--volume", "--within", "1%", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&printed).unwrap();
    let within = |name: &str| record["within"][name].as_f64().unwrap();
    let share = within("bulb_volume_share");
    assert_eq!(within("limit_fraction"), 0.01);
    // The same distances as `uniformity` gives.
    let uniformity = crate::program::json(&["uniformity", BENCH, "--within", "1%", "--json"]);
    assert_eq!(record["within"]["reach"], uniformity["reach"]);
    let text = std::fs::read_to_string(out.join("volume.csv")).unwrap();
    let said =
        format!("# |deviation| within 1 %: {:.1} % of the bulb's volume", (share * 1e3).floor() / 10.0);
    assert_eq!(text.lines().nth(1).unwrap(), said);
    assert!(text.lines().nth(2).unwrap().ends_with(",deviation,within"));
    let (mut yes, mut all) = (0, 0);
    for row in text.lines().skip(3) {
        let cells: Vec<&str> = row.split(',').collect();
        let deviation: f64 = cells[6].parse().unwrap();
        assert_eq!(cells[7], if deviation.abs() <= 0.01 { "1" } else { "0" }, "{row}");
        yes += usize::from(cells[7] == "1");
        all += 1;
    }
    // 289 000 points of a grid, 2 mm apart in a bulb of 82 mm.
    let counted = yes as f64 / all as f64;
    assert!((counted - share).abs() < 2e-3, "{counted} {share}");
    let svg = std::fs::read_to_string(out.join("mid-plane.svg")).unwrap();
    assert!(svg.contains(">within 1 %<") && svg.contains(">−1 %<") && !svg.contains(">−2 %<"));
    let profiles = std::fs::read_to_string(out.join("profiles.svg")).unwrap();
    for name in [">limit +1 %<", ">limit −1 %<", ">bulb<", ">beam plane<", ">beam, farthest<"] {
        assert!(profiles.contains(name), "{name}");
    }
    let printed = mapped(BENCH, &parent.path().join("text"), &["--grid", "5", "--within", "1%"]);
    assert!(printed.contains("Within 1 %, yes or no"), "{printed}");
    for limit in ["0 %", "60 %", "-1 %"] {
        refused(&map(BENCH, &parent.path().join("no"), &["--within", limit]), 1, "deviation");
    }
}

#[test]
fn lines_are_labelled_in_percent_and_the_parts_are_named() {
    let parent = tempfile::tempdir().unwrap();
    mapped(AS_BUILT, parent.path(), &["--grid", "11"]);
    let svg = std::fs::read_to_string(parent.path().join("axial-plane.svg")).unwrap();
    for label in
        [">+1 %<", ">−1 %<", ">+10 %<", ">−0.1 %<", "current towards you", "bulb, radius", "beam, radii"]
    {
        assert!(svg.contains(label), "{label} is missing");
    }
    assert!(svg.contains("spec &quot;Saltmarsh College, quote 3"), "the picture says where it comes from");
}

#[test]
fn a_png_has_the_letters_of_its_title() {
    let parent = tempfile::tempdir().unwrap();
    mapped(BENCH, parent.path(), &["--grid", "11"]);
    let file = std::fs::File::open(parent.path().join("axial-plane.png")).unwrap();
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size()];
    let width = reader.next_frame(&mut pixels).unwrap().width as usize;
    let columns_inked = (0..width).filter(|x| (60..100).any(|y| pixels[3 * (y * width + x)] < 90)).count();
    // "Saltmarsh College, window bench" at 42 pixels: letters in some 500 columns of pixels, nothing to their right.
    assert!((300..1000).contains(&columns_inked), "{columns_inked}");
}

#[test]
fn the_bytes_do_not_depend_on_the_number_of_threads() {
    let parent = tempfile::tempdir().unwrap();
    for threads in ["1", "2"] {
        let out = parent.path().join(threads);
        let output =
            command(AS_BUILT, &out, &["--step", "4 mm"]).env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert!(output.status.success());
    }
    for name in PLANES {
        let [one, two] =
            ["1", "2"].map(|threads| std::fs::read(parent.path().join(threads).join(name)).unwrap());
        assert!(one == two, "{name} differs");
    }
}

#[test]
fn portable_instructions_give_the_same_map_to_rounding() {
    let parent = tempfile::tempdir().unwrap();
    let [fast, plain] = ["fast", "plain"].map(|name| parent.path().join(name));
    mapped(AS_BUILT, &fast, &["--grid", "21"]);
    mapped(AS_BUILT, &plain, &["--grid", "21", "--portable"]);
    let read = |out: &Path| rows(&out.join("axial-plane.csv"), "tesla_per_ampere");
    for (fast, plain) in read(&fast).iter().zip(read(&plain)) {
        // Deviations near the windings reach ten times the centre field.
        assert!((fast[6] - plain[6]).abs() < 1e-12 * (1.0 + fast[6].abs()), "{fast:?} {plain:?}");
    }
}

#[test]
fn the_rooms_field_is_added_at_the_current_given() {
    let parent = tempfile::tempdir().unwrap();
    let [alone, with] = ["alone", "with"].map(|name| parent.path().join(name));
    mapped(BENCH, &alone, &["--grid", "5"]);
    mapped(BENCH, &with, &["--grid", "5", "--with-room", "--current", "-2 A"]);
    let coils = rows(&alone.join("axial-plane.csv"), "tesla_per_ampere");
    let total = rows(&with.join("axial-plane.csv"), "tesla");
    for (coils, total) in coils.iter().zip(&total) {
        // The example bench's room: 14, -41 and 9 microtesla.
        for (i, room) in [(3, 14e-6), (4, -41e-6), (5, 9e-6)] {
            assert!((total[i] - (room - 2.0 * coils[i])).abs() < 1e-15, "{coils:?} {total:?}");
        }
    }
    refused(&map(BENCH, &with, &["--with-room", "--current", "0 A", "--force"]), 1, "the current is 0 A");
}

#[test]
fn files_that_exist_are_kept_unless_force_is_given() {
    let parent = tempfile::tempdir().unwrap();
    std::fs::write(parent.path().join("mid-plane.png"), "mine").unwrap();
    std::fs::write(parent.path().join("other.txt"), "mine").unwrap();
    refused(&map(BENCH, parent.path(), &["--grid", "5"]), 1, "mid-plane.png: the file exists already");
    assert_eq!(names(parent.path()), ["mid-plane.png", "other.txt"]);
    assert_eq!(std::fs::read(parent.path().join("mid-plane.png")).unwrap(), b"mine");
    mapped(BENCH, parent.path(), &["--grid", "5", "--force"]);
    assert!(std::fs::read(parent.path().join("mid-plane.png")).unwrap().starts_with(b"\x89PNG"));
    assert_eq!(std::fs::read(parent.path().join("other.txt")).unwrap(), b"mine");
    assert_eq!(names(parent.path()).len(), PLANES.len() + 1);
}

#[test]
fn a_folder_that_cannot_be_is_refused_before_any_work() {
    let parent = tempfile::tempdir().unwrap();
    let file = parent.path().join("file");
    std::fs::write(&file, "mine").unwrap();
    refused(&map(BENCH, &file, &[]), 1, "a file");
    refused(&map(BENCH, &file.join("deeper"), &[]), 1, "a file is where a folder should be");
    std::fs::create_dir(parent.path().join("profiles.svg")).unwrap();
    refused(&map(BENCH, parent.path(), &["--force"]), 1, "a folder of that name is in the way");
    assert_eq!(names(parent.path()), ["file", "profiles.svg"]);
}

#[test]
fn what_makes_no_grid_is_refused_in_words_and_makes_no_folder() {
    let parent = tempfile::tempdir().unwrap();
    let out = parent.path().join("out");
    for (more, status, wanted) in [
        (&["--step", "0 mm"][..], 1, "a grid step of 0"),
        (&["--step", "-2 mm"], 1, "a grid step of -2"),
        (&["--step", "1 um"], 1, "points is too large: at most 10000000"),
        (&["--step", "0.000001 um"], 1, "too large"),
        (&["--step", "2 A"], 2, "--step"),
        (&["--grid", "1"], 1, "at least 2 points"),
        (&["--grid", "18446744073709551615"], 1, "too large"),
        (&["--volume", "--step", "0.1 mm"], 1, "too large"),
        (&["--volume", "--step", "1 m", "--grid", "5"], 2, "--grid"),
    ] {
        let output = map(BENCH, &out, more);
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(status), "{more:?}: {stderr}");
        assert!(stderr.contains(wanted), "{wanted} is not in {stderr}");
        assert!(!out.exists(), "{more:?} left a folder");
    }
}

#[test]
fn a_map_needs_a_folder_and_a_volume_needs_a_tube() {
    let parent = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_coilwright")).args(["map", BENCH]).output().unwrap();
    refused(&output, 2, "no folder is named");
    let mut spec: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec.as_object_mut().unwrap().remove("tube");
    let path = parent.path().join("no-tube.json");
    std::fs::write(&path, spec.to_string()).unwrap();
    let out = parent.path().join("out");
    refused(&map(path.to_str().unwrap(), &out, &["--volume"]), 1, "the spec has no `tube`");
    assert!(!out.exists());
    let printed = mapped(path.to_str().unwrap(), &out, &["--grid", "5"]);
    assert!(printed.contains("The spec has no `tube`: the bulb is left out."), "{printed}");
}

#[test]
fn json_names_the_files_and_the_worst_deviation_in_the_bulb() {
    let parent = tempfile::tempdir().unwrap();
    let record: serde_json::Value =
        serde_json::from_str(&mapped(BENCH, parent.path(), &["--grid", "7", "--json"])).unwrap();
    assert_eq!(record["files"].as_array().unwrap().len(), PLANES.len());
    assert_eq!(record["grid_points"], 7 * 4 + 7 * 7);
    let worst = &record["worst_on_axial_plane"];
    // On the axis where it leaves the bulb, 82 mm from the centre of a pair of 160 mm: -144/125 (z/R)^4 and the next
    // terms of the Helmholtz series give -5.93 %.
    let z = 82.0f64 / 160.0;
    let series = -144.0 / 125.0 * z.powi(4) + 19712.0 / 15625.0 * z.powi(6) - 29952.0 / 78125.0 * z.powi(8);
    let deviation = worst["deviation"].as_f64().unwrap();
    assert!((deviation - series).abs() < 3e-3, "{deviation} against {series}");
    assert!((worst["at_m"][2].as_f64().unwrap().abs() - 0.082).abs() < 1e-12);
}

#[cfg(unix)]
mod interrupted {
    use super::*;
    use std::process::Stdio;
    use std::time::{Duration, Instant};

    #[test]
    fn a_disk_that_fills_leaves_nothing_and_says_so() {
        let parent = tempfile::tempdir().unwrap();
        let out = parent.path().join("out");
        // 3 MB, in blocks of 512 bytes: more than any picture of the set, so that it is a table that is cut.
        // A limit on a file's size simulates a full disk; since its signal is ignored, the write itself fails.
        let output = Command::new("sh")
            .args(["-c", "trap '' XFSZ; ulimit -f 6144; exec \"$@\"", "sh", env!("CARGO_BIN_EXE_coilwright")])
            .args(["map", BENCH, "--grid", "401", "--out"])
            .arg(&out)
            .output()
            .unwrap();
        refused(&output, 1, "plane.csv: the file would be larger than is allowed there");
        assert!(names(parent.path()).is_empty(), "{:?}", names(parent.path()));
    }

    #[test]
    fn an_interrupt_half_way_removes_every_temporary_file_and_exits_with_130() {
        let parent = tempfile::tempdir().unwrap();
        let out = parent.path().join("out");
        let mut child = command(BENCH, &out, &["--volume", "--step", "0.65 mm"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let deadline = Instant::now() + Duration::from_secs(120);
        let is_growing = || {
            // The hidden folder in which the set is prepared, and the files in it.
            let entries =
                |folder: &std::path::Path| std::fs::read_dir(folder).into_iter().flatten().flatten();
            entries(&out)
                .flat_map(|staging| entries(&staging.path()))
                // More than any picture of the set: the volume's table is growing.
                .any(|entry| entry.metadata().is_ok_and(|found| found.len() > 4_000_000))
        };
        while !is_growing() {
            assert!(Instant::now() < deadline, "no temporary file appeared");
            assert!(child.try_wait().unwrap().is_none(), "the map ended before it could be interrupted");
            std::thread::sleep(Duration::from_millis(5));
        }
        let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
        assert!(killed.success());
        assert_eq!(child.wait().unwrap().code(), Some(130));
        assert!(names(parent.path()).is_empty(), "{:?}", names(parent.path()));
    }
}
