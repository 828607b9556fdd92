//! Circles of imports among the files and folders that lie in one folder.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::arrows::Arrow;

/// Most arrows shown between two places of a circle; the others are counted.
const SHOWN: usize = 4;

/// Every circle once, in the smallest folder that contains it: its places, and the arrows between them.
pub fn circles(arrows: &[Arrow], places: impl Fn(&str) -> Vec<String>) -> Vec<String> {
    // For each folder: which of its children import which others, and by which arrows.
    let mut folders: BTreeMap<Vec<String>, Graph> = BTreeMap::new();
    for arrow in arrows {
        let (from, to) = (places(&arrow.from), places(&arrow.to));
        let shared = from.iter().zip(&to).take_while(|(one, other)| one == other).count();
        if let (Some(one), Some(other)) = (from.get(shared), to.get(shared)) {
            let graph = folders.entry(from[..shared].to_vec()).or_default();
            graph.entry((one.clone(), other.clone())).or_default().push(arrow);
        }
    }
    let told = folders.iter().flat_map(|(folder, graph)| {
        components(graph).into_iter().map(move |component| tell(folder, graph, &component))
    });
    told.collect()
}

type Graph<'a> = BTreeMap<(String, String), Vec<&'a Arrow>>;

/// Strongly connected components of at least two places.
fn components(graph: &Graph) -> Vec<BTreeSet<String>> {
    let places: BTreeSet<&String> = graph.keys().flat_map(|(from, to)| [from, to]).collect();
    let reached: BTreeMap<&String, BTreeSet<&String>> =
        places.iter().map(|place| (*place, reached_from(graph, place))).collect();
    let mut found: Vec<BTreeSet<String>> = vec![];
    for place in places {
        let component: BTreeSet<String> =
            reached[place].iter().filter(|other| reached[*other].contains(place)).copied().cloned().collect();
        if !component.is_empty() && !found.contains(&component) {
            found.push(component);
        }
    }
    found
}

/// The places to which imports lead from `place`; includes `place` itself only if a circle leads back.
fn reached_from<'a>(graph: &'a Graph, place: &'a String) -> BTreeSet<&'a String> {
    let mut reached = BTreeSet::new();
    let mut pending = vec![place];
    while let Some(place) = pending.pop() {
        let next = graph.keys().filter(|(from, _)| from == place).map(|(_, to)| to);
        pending.extend(next.filter(|to| reached.insert(*to)));
    }
    reached
}

fn tell(folder: &[String], graph: &Graph, component: &BTreeSet<String>) -> String {
    let names: Vec<&str> = component.iter().map(String::as_str).collect();
    let folder = [&["src".to_string()], folder].concat().join("/");
    let mut told = format!("circle in {folder}: {}", names.join(", "));
    for ((from, to), arrows) in graph {
        if !component.contains(from) || !component.contains(to) {
            continue;
        }
        write!(told, "\n    {from} -> {to}").unwrap();
        for arrow in arrows.iter().take(SHOWN) {
            write!(told, "\n        {arrow}").unwrap();
        }
        if arrows.len() > SHOWN {
            write!(told, "\n        and {} more", arrows.len() - SHOWN).unwrap();
        }
    }
    told
}
