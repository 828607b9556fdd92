//! A plain-text table: columns under headings.

use unicode_width::UnicodeWidthStr;

/// Lays out rows under headings. Columns listed in `left` are aligned left, all others right.
///
/// ```
/// use coilwright::paper::columns::columns;
/// let table = columns(&["current", "B"], &[], &[vec!["1.00 A".into(), "0.86 mT".into()]]);
/// assert_eq!(table, "current        B\n-------  -------\n 1.00 A  0.86 mT\n");
/// ```
pub fn columns(headings: &[&str], left: &[usize], rows: &[Vec<String>]) -> String {
    let widths: Vec<usize> = headings
        .iter()
        .enumerate()
        .map(|(i, heading)| {
            rows.iter()
                .filter_map(|row| row.get(i))
                .map(|cell| cell.width())
                .fold(heading.width(), usize::max)
        })
        .collect();
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let cells: Vec<String> = cells
            .zip(&widths)
            .enumerate()
            .map(|(i, (cell, width))| {
                let fill = " ".repeat(width.saturating_sub(cell.width()));
                if left.contains(&i) { format!("{cell}{fill}") } else { format!("{fill}{cell}") }
            })
            .collect();
        format!("{}\n", cells.join("  ").trim_end())
    };
    let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
    let mut text = line(&mut headings.iter().copied());
    text += &line(&mut rules.iter().map(String::as_str));
    for row in rows {
        text += &line(&mut row.iter().map(String::as_str));
    }
    text
}
