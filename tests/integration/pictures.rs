//! What every picture keeps to, seen in the kept outputs.

use regex::Regex;
use std::path::{Path, PathBuf};

/// A page of A4 within margins of 10 mm, in points of a picture: 96 to the inch.
const PAGE: [f64; 2] = [190.0 / 25.4 * 96.0, 277.0 / 25.4 * 96.0];
/// The width and height of the certificate's plot, from its style sheet, in the same points.
const ON_CERTIFICATE: [f64; 2] = [186.0 / 25.4 * 96.0, 70.0 / 25.4 * 96.0];
/// Printer's points, 72 to the inch, of one of a picture's.
const PRINTED: f64 = 0.75;
/// The smallest letters that are printed, in printer's points (common practice, no source).
const LEAST_PRINTED: f64 = 7.0;

fn kept(folder: &Path, extension: &str, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            kept(&path, extension, found);
        } else if path.extension().is_some_and(|own| own == extension) {
            found.push(path);
        }
    }
}

fn all_kept(extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    kept(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outputs"), extension, &mut found);
    found
}

/// Size of a picture and of its smallest letters, in its points; `None` for a drawing in true size, which is given in millimetres.
fn sizes(svg: &str) -> Option<([f64; 2], f64)> {
    let head =
        Regex::new(r#"<svg [^>]*width="([0-9.]+)" height="([0-9.]+)" viewBox="0 0 ([0-9.]+) "#).unwrap();
    let head = head.captures(svg)?;
    let number = |i: usize| head[i].parse::<f64>().unwrap();
    let per_point = number(3) / number(1);
    let letters = Regex::new(r#"font-size="([0-9.]+)""#).unwrap();
    let letters = letters.captures_iter(svg).map(|one| one[1].parse::<f64>().unwrap() / per_point);
    Some(([number(1), number(2)], letters.fold(f64::INFINITY, f64::min)))
}

/// How much a picture shrinks to fit a frame; it does not grow.
fn scale([width, height]: [f64; 2], frame: [f64; 2]) -> f64 {
    (frame[0] / width).min(frame[1] / height).min(1.0)
}

#[test]
fn letters_of_every_picture_are_printed_at_seven_points_or_more_on_a4() {
    let (mut looked, mut small) = (0, Vec::new());
    for path in all_kept("svg") {
        let Some((size, letters)) = sizes(&std::fs::read_to_string(&path).unwrap()) else { continue };
        let upright_or_not = scale(size, PAGE).max(scale(size, [PAGE[1], PAGE[0]]));
        let printed = PRINTED * letters * upright_or_not;
        looked += 1;
        // Half a hundredth: letters are given to a hundredth of a point.
        if printed < LEAST_PRINTED - 0.005 {
            small.push(format!("{}: {printed:.2} pt", path.display()));
        }
    }
    assert!(looked > 50, "{looked}");
    assert!(small.is_empty(), "{small:#?}");
}

#[test]
fn letters_of_the_certificates_plot_are_printed_at_seven_points_or_more() {
    let mut looked = 0;
    for path in all_kept("html").into_iter().filter(|path| path.ends_with("certificate.html")) {
        let page = std::fs::read_to_string(&path).unwrap();
        let Some(plot) = page.find("<figure>").map(|from| &page[from..]) else { continue };
        let (size, letters) = sizes(&plot[..plot.find("</svg>").unwrap()]).unwrap();
        looked += 1;
        let printed = PRINTED * letters * scale(size, ON_CERTIFICATE);
        assert!(printed >= LEAST_PRINTED, "{}: {printed} pt", path.display());
    }
    assert!(looked > 0);
}
