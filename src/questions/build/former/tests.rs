//! Tests of the former at all sizes.

use super::*;
use crate::pair::{Former, Winding, Wire};
use approx::assert_relative_eq;

fn bench(mean_radius_m: f64, spacing_m: f64) -> Bench {
    let winding = Winding::new(mean_radius_m, 0.015, 0.010, 150.0, Wire::copper(0.9e-3, 0.989e-3));
    Bench::unchecked("Former", winding, spacing_m)
}

fn with_wall(bench: Bench, wall_m: f64) -> Bench {
    let former = Former {
        material: Some("plywood".into()),
        wall_m: Some(wall_m),
        cheeks: Cheeks::Both,
        expansion_per_kelvin: None,
    };
    Bench { former: Some(former), ..bench }
}

#[test]
fn the_former_of_a_bench_has_the_dimensions_of_a_hand_calculation() {
    let plan = former_plan(&with_wall(bench(0.16, 0.16), 5e-3), &Request::default()).unwrap();
    // Floor 2 × (160 − 5) mm and bore 10 mm less. Channel 15 + 0.5 mm: three rings of 5 mm and one of 0.5 mm.
    assert_relative_eq!(plan.floor_diameter_m.nominal, 0.310, max_relative = 1e-12);
    assert_relative_eq!(plan.bore_diameter_m, 0.300, max_relative = 1e-12);
    assert_relative_eq!(plan.overall_width_m, 0.0255, max_relative = 1e-12);
    assert_eq!(plan.core.rings, 3);
    assert_relative_eq!(plan.core.shim_m, 0.5e-3, max_relative = 1e-9);
    // M5 with holes of 5.5 mm at radius 165 + 3 + 5.5 = 173.5 mm; outer edge 2.75 + 7.5 mm further out. Diameter
    // 367.5, rounded up to 368 mm.
    assert_relative_eq!(plan.bolts.holes.circle_diameter_m, 0.347, max_relative = 1e-12);
    assert_relative_eq!(plan.flange_diameter_m, 0.368, max_relative = 1e-12);
    assert!(plan.wall_stated && !plan.conducts);
}

#[test]
fn no_hole_cuts_another_or_an_edge_at_any_size() {
    let every = [0.0, 0.1, 0.25, 0.358, 0.5, 0.6, 0.75, 0.87];
    let sizes = [0.012, 0.03, 0.16, 0.5, 1.0, 3.0];
    for (radius, part) in sizes.into_iter().flat_map(|radius| every.map(|part| (radius, part))) {
        let mut bench = bench(radius, radius);
        bench.winding.turns = bench.winding.turns.floor() + part;
        bench.winding.width_m = 0.1 * radius;
        bench.winding.depth_m = 0.08 * radius;
        let plan = former_plan(&bench, &Request::default()).unwrap();
        let rim = 0.5 * plan.flange_diameter_m;
        let bolts = &plan.bolts.holes;
        let slot = &plan.finish_slot;
        assert!(0.5 * (bolts.circle_diameter_m + bolts.diameter_m) < rim, "{radius}");
        assert!(0.5 * (bolts.circle_diameter_m - bolts.diameter_m) > 0.5 * plan.winding_diameter_m);
        assert!(slot.radius_m[1] + 0.5 * slot.width_m < rim, "{radius}");
        let mut round: Vec<([f64; 2], f64)> =
            bolts.centres_m().into_iter().map(|centre| (centre, 0.5 * bolts.diameter_m)).collect();
        round.extend(slot.ends_m().map(|end| (end, 0.5 * slot.width_m)));
        round.push((plan.start_hole.centre_m(), 0.5 * plan.start_hole.diameter_m));
        if let Some(dowels) = &plan.dowels {
            round.extend(dowels.centres_m().into_iter().map(|centre| (centre, 0.5 * dowels.diameter_m)));
        }
        let plate = plan.terminals.unwrap_or_else(|| panic!("no plate at {radius} {part}"));
        round.extend(plate.screws_m().map(|screw| (screw, 0.5 * plate.screw_hole_m)));
        for (i, (one, r)) in round.iter().enumerate() {
            for (j, (other, s)) in round.iter().enumerate().skip(i + 1) {
                // The two ends of the slot may overlap.
                let ends = (bolts.count as usize, bolts.count as usize + 1);
                let apart = (one[0] - other[0]).hypot(one[1] - other[1]);
                assert!((i, j) == ends || apart > r + s, "{radius} {part}: {i} {j}");
            }
        }
    }
}

#[test]
fn the_area_of_the_parts_is_that_of_their_circles_and_slot() {
    let plan = former_plan(&with_wall(bench(0.16, 0.16), 5e-3), &Request::default()).unwrap();
    let disc = |diameter: f64| FRAC_PI_4 * diameter * diameter;
    let flange = &plan.parts[0];
    let slot = &plan.finish_slot;
    let dowels = plan.dowels.unwrap();
    let by_hand = disc(0.368)
        - disc(0.300)
        - 4.0 * disc(5.5e-3)
        - 3.0 * disc(dowels.diameter_m)
        - disc(plan.start_hole.diameter_m)
        - disc(slot.width_m)
        - slot.width_m * (slot.radius_m[1] - slot.radius_m[0])
        - 2.0 * disc(4.5e-3);
    assert_relative_eq!(flange.area_m2(), by_hand, max_relative = 1e-12);
    assert_relative_eq!(plan.parts[1].area_m2(), by_hand, max_relative = 1e-12);
}

#[test]
fn a_wall_that_does_not_fit_is_refused_and_a_missing_one_is_suggested() {
    let refuse = |bench: &Bench| former_plan(bench, &Request::default()).unwrap_err().to_string();
    assert!(refuse(&with_wall(bench(0.16, 0.16), 0.155)).contains("leaves no bore"));
    assert!(refuse(&with_wall(bench(0.16, 0.02), 5e-3)).contains("do not fit into a spacing of 20.0 mm"));
    let suggested = |spacing| former_plan(&bench(0.16, spacing), &Request::default()).unwrap();
    assert_eq!((suggested(0.16).wall_m, suggested(0.16).wall_stated), (5e-3, false));
    assert_eq!(suggested(0.02).wall_m, 2e-3);
    assert!(refuse(&bench(0.16, 0.0157)).contains("no sheet of 0.500 mm"));
}

#[test]
fn a_metal_former_is_known_as_a_shorted_turn() {
    let mut bench = with_wall(bench(0.16, 0.16), 5e-3);
    bench.former.as_mut().unwrap().material = Some("Aluminium".into());
    assert!(former_plan(&bench, &Request::default()).unwrap().conducts);
}

#[test]
fn a_metal_former_is_open_at_one_place_clear_of_its_holes_and_has_room_for_a_lining() {
    let plywood = former_plan(&with_wall(bench(0.16, 0.16), 5e-3), &Request::default()).unwrap();
    assert!(plywood.slit.is_none() && plywood.lining_m == 0.0);
    let sizes = [0.012, 0.03, 0.16, 0.5, 1.0];
    for (radius, part) in sizes.into_iter().flat_map(|radius| [0.0, 0.25, 0.5].map(|part| (radius, part))) {
        let mut bench = with_wall(bench(radius, radius), (0.03 * radius).max(1e-3));
        bench.former.as_mut().unwrap().material = Some("aluminium".into());
        bench.winding.turns += part;
        bench.winding.width_m = 0.1 * radius;
        bench.winding.depth_m = 0.08 * radius;
        let plan = former_plan(&bench, &Request::default()).unwrap();
        let slit = plan.slit.unwrap();
        let [x, y] = polar(1.0, slit.angle_rad);
        let mut round: Vec<([f64; 2], f64)> =
            vec![(plan.start_hole.centre_m(), 0.5 * plan.start_hole.diameter_m)];
        round.extend(plan.finish_slot.ends_m().map(|end| (end, 0.5 * plan.finish_slot.width_m)));
        for holes in [Some(plan.bolts.holes), plan.dowels].into_iter().flatten() {
            round.extend(holes.centres_m().into_iter().map(|centre| (centre, 0.5 * holes.diameter_m)));
        }
        for (centre, hole) in round {
            let apart = (centre[0] * y - centre[1] * x).abs();
            let ahead = centre[0] * x + centre[1] * y > 0.0;
            assert!(!ahead || apart > hole + 0.5 * slit.width_m, "{radius} {part}");
        }
        // Every sheet of metal is one outline from rim to bore, of two times five corners.
        for part in plan.parts.iter().filter(|part| part.thickness_m >= THIN_SHEET_M && !part.insulates) {
            assert_eq!(part.outer.0.len(), 10, "{}", part.name);
        }
        // The lining takes nothing of the winding's room.
        assert_relative_eq!(plan.wound_width_m(), bench.winding.width_m, max_relative = 1e-9);
        assert_relative_eq!(plan.wound_depth_m(), bench.winding.depth_m, max_relative = 1e-9);
        let floor = plan.core_diameter_m.nominal + 2.0 * plan.lining_m;
        assert_relative_eq!(floor, plan.floor_diameter_m.nominal, max_relative = 1e-12);
    }
}

#[test]
fn a_terminal_plate_has_its_place_at_any_size_and_turn_and_is_in_the_way_of_nothing() {
    let sizes = [0.012, 0.02, 0.05, 0.16, 0.5, 1.0, 3.0];
    let turns = [0.0, 0.15, 0.3, 0.45, 0.6, 0.75, 0.9];
    for (radius, part) in sizes.into_iter().flat_map(|radius| turns.map(|part| (radius, part))) {
        for material in ["plywood", "aluminium"] {
            let mut bench = with_wall(bench(radius, radius), (0.03 * radius).max(1e-3));
            bench.former.as_mut().unwrap().material = Some(material.into());
            bench.winding.turns += part;
            bench.winding.width_m = 0.1 * radius;
            bench.winding.depth_m = 0.08 * radius;
            let plan = former_plan(&bench, &Request::default()).unwrap();
            let plate = plan.terminals.unwrap_or_else(|| panic!("{radius} {part} {material}"));
            let (rim, channel) =
                (0.5 * plan.flange_diameter_m, 0.5 * plan.core_diameter_m.nominal + plan.channel_depth_m);
            let apart = |one: [f64; 2], other: [f64; 2]| (one[0] - other[0]).hypot(one[1] - other[1]);
            for [x, y] in plate.screws_m() {
                let out = x.hypot(y);
                assert!(out + 0.5 * plate.screw_hole_m < rim, "within the flange");
                // A nut of twice the thread lies clear of the winding.
                assert!(out - plate.thread_m > channel, "{radius} {part} {material}: in the channel");
                for bolt in plan.bolts.holes.centres_m() {
                    let washers = 1.1 * plan.bolts.thread_m + plate.thread_m;
                    assert!(apart([x, y], bolt) > washers, "{radius} {part} {material}: bolt");
                }
                let leads = plan.finish_slot.ends_m().map(|end| (end, plan.finish_slot.width_m));
                let start = (plan.start_hole.centre_m(), plan.start_hole.diameter_m);
                for (lead, width) in leads.into_iter().chain([start]) {
                    assert!(apart([x, y], lead) > 0.5 * (width + plate.screw_hole_m) + 0.9e-3);
                }
                if let Some(slit) = plan.slit {
                    let [along_x, along_y] = polar(1.0, slit.angle_rad);
                    let ahead = x * along_x + y * along_y > 0.0;
                    let aside = (x * along_y - y * along_x).abs();
                    assert!(!ahead || aside > 0.5 * (slit.width_m + plate.screw_hole_m), "slit");
                }
            }
            // No lead leaves under the tongue, and the sockets with their nuts stand beyond the rim.
            let corners = plate.corners_m();
            for lead in plan.finish_slot.ends_m().into_iter().chain([plan.start_hole.centre_m()]) {
                let left = corners.iter().zip(corners.iter().cycle().skip(1)).map(|(one, next)| {
                    (next[0] - one[0]) * (lead[1] - one[1]) - (next[1] - one[1]) * (lead[0] - one[0])
                });
                // Outside the tongue: to the right of one of its edges, which are the first two, the last and its end.
                let left: Vec<f64> = left.collect();
                assert!([0, 1, 7].iter().any(|edge| left[*edge] < 0.0), "{radius} {part}: under the tongue");
            }
            assert!(plate.sockets_at_m - 8.5e-3 >= rim + 1.9e-3);
            assert!(plate.sockets_apart_m > plate.socket_hole_m + 2e-3);
        }
    }
}

#[test]
fn the_slot_lies_where_the_wire_ends() {
    let mut bench = bench(0.15, 0.15);
    for (turns, beyond) in [(150.5, 180.0), (149.75, 270.0), (100.25, 90.0)] {
        bench.winding.turns = turns;
        let plan = former_plan(&bench, &Request::default()).unwrap();
        let apart = (plan.finish_slot.angle_rad - plan.start_hole.angle_rad).rem_euclid(TAU);
        assert_relative_eq!(apart.to_degrees(), beyond, max_relative = 1e-9);
    }
}
