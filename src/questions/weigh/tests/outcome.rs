//! e/m, the room's field and their uncertainties are recovered as put in.

use super::*;
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope, Spread};

/// Mirror image of bench and room in the plane x = 0. Positions and directions change the sign of x. A field is an
/// axial vector and keeps x, as does a tilt. Every current changes direction.
fn mirrored(bench: &Bench) -> Bench {
    let place = |at: Vector3<f64>| Vector3::new(-at.x, at.y, at.z);
    let mut mirrored = bench.clone();
    mirrored.as_built = bench.as_built.clone().map(|coils| {
        coils.map(|mut coil| {
            coil.offset_m = place(coil.offset_m);
            coil.tilt_rad[1] = -coil.tilt_rad[1];
            coil
        })
    });
    let mut tube = bench.tube_with_gun().unwrap();
    tube.gun_exit_m = place(tube.gun_exit_m);
    tube.gun_direction = nalgebra::UnitVector3::new_unchecked(place(tube.gun_direction.into_inner()));
    mirrored.tube = Some(tube.into());
    match room::field_tesla(bench).unwrap() {
        Some(field) => with_room(mirrored, Vector3::new(field.x, -field.y, -field.z)),
        None => mirrored,
    }
}

#[test]
fn perfect_runs_give_the_accepted_value_and_the_room_field() {
    let truth = with_room(bench(), Vector3::new(11e-6, -43e-6, 17e-6));
    let result = weighed(&truth, &perfect_runs(&truth, &SETTINGS));
    // The room's axial field is added to the effective field to first order. The rest is its share times the deviation,
    // under 3e-4 of e/m here.
    assert!(result.outcome.difference_fraction.abs() < 1e-4, "{}", result.outcome.difference_fraction);
    assert_relative_eq!(result.outcome.room_axial_tesla, 17e-6, max_relative = 0.01);
    assert_eq!(result.outcome.room_source, RoomSource::Runs);
    assert!(result.outcome.chi_square.unwrap() < 0.01 && result.outcome.degrees_of_freedom == 6);
    assert_relative_eq!(result.outcome.electron_mass_kg, ELECTRON_MASS_KG, max_relative = 1e-4);
    // With the centre field constant alone, the two directions differ by percents, four times the room's share.
    let by_hand = |i: usize| result.runs[i].centre_field_charge_to_mass_coulomb_per_kg;
    assert!((by_hand(0) / by_hand(1) - 1.0).abs() > 0.03, "{} {}", by_hand(0), by_hand(1));
    for run in &result.runs {
        let electron = crate::physics::beam::Electron::after(run.gun_voltage_volt).unwrap();
        assert_relative_eq!(run.speed_m_per_s, electron.speed_m_per_s, max_relative = 1e-3);
        assert_relative_eq!(run.momentum_kg_m_per_s, electron.momentum_kg_m_per_s, max_relative = 1e-3);
    }
}

#[test]
fn mirrored_runs_give_the_same_e_over_m_with_the_current_reversed() {
    // Off centre and tilted, so that the two sides of the gun differ.
    let mut truth = tube_bench(Vector3::new(0.008, -0.02, 0.0));
    truth.reading = bench().reading;
    let [mut a, b] = [truth.nominal_coil(), truth.nominal_coil()];
    (a.offset_m, a.tilt_rad) = (Vector3::new(4e-3, 1e-3, 0.0), [6e-3, -9e-3]);
    truth.as_built = Some([a, b]);
    let truth = with_room(truth, Vector3::new(11e-6, -43e-6, 17e-6));
    let forward: Vec<(f64, f64)> = SETTINGS.iter().map(|(volt, ampere)| (*volt, ampere.abs())).collect();
    let runs = perfect_runs(&truth, &forward);
    let mut reversed = runs.clone();
    reversed.runs.iter_mut().for_each(|run| run.current_ampere = -run.current_ampere);
    let there = weighed(&truth, &runs);
    let back = weighed(&mirrored(&truth), &reversed);
    assert!(there.outcome.difference_fraction.abs() < 2e-4, "{}", there.outcome.difference_fraction);
    // The orbits are accurate to 1e-11.
    assert_relative_eq!(
        there.outcome.charge_to_mass_coulomb_per_kg,
        back.outcome.charge_to_mass_coulomb_per_kg,
        max_relative = 1e-10
    );
    for (one, other) in there.runs.iter().zip(&back.runs) {
        assert_relative_eq!(one.effective_field_ratio, other.effective_field_ratio, max_relative = 1e-10);
        assert!(!one.tube_turned && !other.tube_turned);
    }
    // The circle does lie on the other side, where this bench's field is different.
    let other_side = weighed(&truth, &reversed);
    let apart = there.runs[0].effective_field_ratio / other_side.runs[0].effective_field_ratio - 1.0;
    assert!(apart.abs() > 1e-4, "{apart}");
    // The reversed runs of the same bench, read there, also give the accepted value.
    let read_there: Vec<(f64, f64)> = forward.iter().map(|(volt, ampere)| (*volt, -ampere)).collect();
    let reduced = weighed(&truth, &perfect_runs(&truth, &read_there));
    assert!(reduced.outcome.difference_fraction.abs() < 2e-4, "{}", reduced.outcome.difference_fraction);
}

#[test]
fn a_line_measured_with_the_leads_exchanged_puts_the_circle_where_it_was() {
    let truth = tube_bench(Vector3::new(0.012, -0.02, 0.0));
    let there: Vec<(f64, f64)> = SETTINGS.iter().map(|(volt, ampere)| (*volt, ampere.abs())).collect();
    let runs = perfect_runs(&truth, &there);
    let mut exchanged = runs.clone();
    exchanged.runs.iter_mut().for_each(|run| run.current_ampere = -run.current_ampere);
    let known = BeamBench::prepare(&truth, None).unwrap();
    let tesla_per_ampere = -known.line.slope.tesla_per_ampere;
    let line =
        FieldLine { slope: Slope { tesla_per_ampere, ..known.line.slope.clone() }, ..known.line.clone() };
    let beams = BeamBench::prepare(&truth, Some(line)).unwrap();
    let found = weigh(&beams, &exchanged, &Request::default()).unwrap();
    let wanted = weighed(&truth, &runs).outcome.charge_to_mass_coulomb_per_kg;
    assert_relative_eq!(found.outcome.charge_to_mass_coulomb_per_kg, wanted, max_relative = 1e-10);
}

#[test]
fn a_gun_at_the_side_is_taken_as_turned_round_for_the_other_direction() {
    let truth = with_room(tube_bench(Vector3::new(0.045, 0.0, 0.0)), Vector3::new(0.0, 0.0, 14e-6));
    let mut turned = truth.clone();
    turned.tube = Some(truth.tube_with_gun().unwrap().turned_half_round().into());
    let there: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
    let back: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current < 0.0).collect();
    let mut runs = perfect_runs(&truth, &there);
    runs.runs.extend(perfect_runs(&turned, &back).runs);
    let result = weighed(&truth, &runs);
    assert!(result.outcome.difference_fraction.abs() < 1e-4, "{}", result.outcome.difference_fraction);
    assert_relative_eq!(result.outcome.room_axial_tesla, 14e-6, max_relative = 0.01);
    assert!(result.runs.iter().all(|run| run.tube_turned == (run.current_ampere < 0.0)));
    assert!(
        result.notes.iter().any(|note| note.sentence().starts_with("4 of 8 runs bend")),
        "{:?}",
        result.notes
    );
}

#[test]
fn one_direction_uses_the_specs_room_field_and_says_what_is_missing() {
    let truth = with_room(bench(), Vector3::new(0.0, -20e-6, 15e-6));
    let one_way: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
    let runs = perfect_runs(&truth, &one_way);
    let known = weighed(&truth, &runs);
    assert_eq!((known.outcome.room_source, known.outcome.room_axial_tesla), (RoomSource::Spec, 15e-6));
    assert!(known.outcome.difference_fraction.abs() < 2e-4, "{}", known.outcome.difference_fraction);
    let unknown = weighed(&bench(), &runs);
    assert_eq!(unknown.outcome.room_source, RoomSource::Unknown);
    assert!(unknown.outcome.difference_fraction > 0.01, "{}", unknown.outcome.difference_fraction);
    assert!(unknown.notes.iter().any(|note| note.sentence().contains("Reverse the current")));
}

#[test]
fn scattered_runs_land_within_their_stated_uncertainty() {
    let truth = with_room(bench(), Vector3::new(0.0, 0.0, 12e-6));
    let mut random = Xoshiro256PlusPlus::seed_from_u64(20);
    let noise = Normal::new(0.0, 0.5e-3).unwrap();
    let (mut pull2, mut chi, trials) = (0.0, 0.0, 60);
    for _ in 0..trials {
        let mut runs = perfect_runs(&truth, &SETTINGS);
        for run in &mut runs.runs {
            run.radius_m += noise.sample(&mut random);
        }
        let result = weighed(&truth, &runs);
        pull2 += result.outcome.difference_in_standard_uncertainties.unwrap().powi(2);
        chi += result.outcome.chi_square.unwrap();
    }
    // The pull has variance 1 and chi-square the mean 6; 60 trials settle them to about 0.18 and 0.45.
    let (pull2, chi) = (pull2 / f64::from(trials), chi / f64::from(trials));
    assert!((0.5..1.6).contains(&pull2), "{pull2}");
    assert!((4.7..7.4).contains(&chi), "{chi}");
}

#[test]
fn shared_uncertainties_are_added_once_and_do_not_shrink_with_the_number_of_runs() {
    let mut truth = bench();
    truth.voltmeter =
        Some(Meter { resolution: Some(1e-6), accuracy_of_reading: Some(0.012), accuracy_digits: 0.0 });
    let once = weighed(&truth, &perfect_runs(&truth, &SETTINGS));
    let sixteen = [SETTINGS, SETTINGS].concat();
    let twice = weighed(&truth, &perfect_runs(&truth, &sixteen));
    // e/m goes as V: one standard uncertainty of the gain, 0.012/√3, moves it by itself.
    let wanted = once.outcome.charge_to_mass_coulomb_per_kg * 0.012 / 3f64.sqrt();
    assert_relative_eq!(once.outcome.shared_standard_uncertainty_coulomb_per_kg, wanted, max_relative = 1e-3);
    assert_relative_eq!(
        twice.outcome.shared_standard_uncertainty_coulomb_per_kg,
        once.outcome.shared_standard_uncertainty_coulomb_per_kg,
        max_relative = 1e-6
    );
    let own = |result: &Weighing| result.outcome.run_standard_uncertainty_coulomb_per_kg.unwrap();
    assert_relative_eq!(own(&once) / own(&twice), 2f64.sqrt(), max_relative = 1e-6);
    // The gain is shared and does not affect the weights, so chi-square is that of the radius alone.
    let bare = weighed(&bench(), &perfect_runs(&bench(), &SETTINGS));
    assert_relative_eq!(own(&once), own(&bare), max_relative = 1e-6);
}

#[test]
fn the_ammeters_digits_do_not_cancel_where_the_current_was_reversed() {
    let mut truth = bench();
    truth.ammeter =
        Some(Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.0), accuracy_digits: 2.0 });
    let both = [1.6, -1.6, 1.6, -1.6].map(|ampere| (150.0, ampere));
    let result = weighed(&truth, &perfect_runs(&truth, &both));
    let part = result.outcome.shared.iter().find(|part| part.source == "ammeter digits").unwrap();
    // e/m goes as 1/I²: 2 u/I with u = 0.02 A/√3; the second order of the shift is a percent of it.
    let wanted = result.outcome.charge_to_mass_coulomb_per_kg * 2.0 * 0.02 / 3f64.sqrt() / 1.6;
    assert_relative_eq!(part.contribution_coulomb_per_kg, wanted, max_relative = 0.015);
    assert_eq!(result.outcome.room_source, RoomSource::Runs);
}

#[test]
fn without_stated_uncertainties_the_scatter_speaks_and_there_is_no_chi_square() {
    let mut truth = bench();
    truth.reading = None;
    let mut runs = perfect_runs(&truth, &SETTINGS);
    for (i, run) in runs.runs.iter_mut().enumerate() {
        run.radius_m += 0.4e-3 * (2.3 * i as f64).cos();
    }
    let result = weighed(&truth, &runs);
    assert_eq!((result.outcome.chi_square, result.run_uncertainty), (None, RunUncertainty::Scatter));
    assert!(result.outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap() > 0.0);
    runs.runs.truncate(1);
    let alone = weighed(&truth, &runs);
    assert_eq!(alone.outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg, None);
    assert!(serde_json::to_string(&alone).is_ok());
}

#[test]
fn the_bench_of_the_textbooks_gives_the_mass_of_the_textbooks() {
    // Common practice, no source: 100 V and 5.5 cm in 0.605 mT (0.79 A) give 0.89e-30 kg and 6e6 m/s.
    let mut truth = bench();
    if let Some(tube) = &mut truth.tube {
        tube.gun_exit_m = Some(Vector3::new(0.055, 0.0, 0.0));
    }
    let line = FieldLine {
        slope: Slope::of(AdoptedFrom::Fit, 0.605e-3 / 0.79, Vec::new()),
        calibration: None,
        register_entry: None,
        room: None,
    };
    let beams = BeamBench::prepare(&truth, Some(line)).unwrap();
    let runs = Runs::from_text("r.csv", "gun_voltage_V,current_A,radius_cm\n100,0.79,5.5\n").unwrap();
    let result = weigh(&beams, &runs, &Request::default()).unwrap();
    let run = &result.runs[0];
    let mass = ELEMENTARY_CHARGE_COULOMB / run.centre_field_charge_to_mass_coulomb_per_kg;
    assert_relative_eq!(mass, 0.89e-30, max_relative = 0.006);
    assert_relative_eq!(run.speed_m_per_s, 6e6, max_relative = 0.02);
}

#[test]
fn parallax_is_taken_off() {
    let mut truth = bench();
    let reading = truth.reading.as_mut().unwrap();
    (reading.camera_distance_m, reading.scale_offset_m) = (Some(0.8), 0.08);
    let mut runs = perfect_runs(&truth, &SETTINGS);
    runs.runs.iter_mut().for_each(|run| run.radius_m *= 1.1);
    assert!(weighed(&truth, &runs).outcome.difference_fraction.abs() < 1e-9);
}

#[test]
fn a_room_value_taken_from_the_spec_has_an_uncertainty() {
    let truth = with_room(bench(), Vector3::new(0.0, 0.0, 15e-6));
    let one_way: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
    let result = weighed(&truth, &perfect_runs(&truth, &one_way)).outcome;
    assert_eq!(result.room_axial_standard_uncertainty_tesla, Some(3e-6));
    let part = result.shared.iter().find(|part| part.source == "room field along the axis").unwrap();
    assert!(part.contribution_coulomb_per_kg > 0.0);
}

#[test]
fn a_room_value_of_the_calibration_moves_with_its_slope() {
    // With correlation r, the parts a of the slope and b of the room add up to a² + b² + 2 r a b: both make the field larger.
    let truth = bench();
    let one_way: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
    let runs = perfect_runs(&truth, &one_way);
    let parts_of = |correlation_with_slope: f64| {
        let known = BeamBench::prepare(&truth, None).unwrap();
        let k = known.line.slope.tesla_per_ampere;
        let gain = BudgetEntry::relative(BudgetSource::ProbeGain, Spread::Rectangular, 0.002, k);
        let line = FieldLine {
            slope: Slope::of(AdoptedFrom::Fit, k, vec![gain]),
            calibration: None,
            register_entry: None,
            room: Some(LineRoom {
                axial_tesla: 0.0,
                standard_uncertainty_tesla: Some(2e-6),
                correlation_with_slope,
            }),
        };
        let beams = BeamBench::prepare(&truth, Some(line)).unwrap();
        let outcome = weigh(&beams, &runs, &Request::default()).unwrap().outcome;
        assert_eq!(outcome.room_axial_standard_uncertainty_tesla, Some(2e-6));
        let of = |source: &str| {
            let part = outcome.shared.iter().find(|part| part.source == source);
            part.map_or(0.0, |part| part.contribution_coulomb_per_kg)
        };
        [of("slope of the line"), of("room field along the axis")]
    };
    let [a, b] = parts_of(0.0);
    assert!(b > 0.2 * a, "{a} {b}");
    for r in [0.9, -0.9, 1.0] {
        let [with, left] = parts_of(r);
        assert_relative_eq!(with.hypot(left).powi(2), a * a + b * b + 2.0 * r * a * b, max_relative = 0.02);
    }
}

#[test]
fn radii_of_the_beam_plane_are_not_corrected_for_parallax() {
    let mut truth = bench();
    let reading = truth.reading.as_mut().unwrap();
    (reading.camera_distance_m, reading.scale_offset_m) = (Some(0.8), 0.08);
    let mut runs = perfect_runs(&truth, &SETTINGS);
    // Entered as read on the scale, they are a tenth too small.
    let wrong = weighed(&truth, &runs);
    // By 21 %, apart from the field, which is slightly stronger on circles a tenth smaller.
    assert_relative_eq!(wrong.outcome.difference_fraction, 1.1f64.powi(2) - 1.0, max_relative = 0.02);
    let members = &wrong.findings[0].members;
    assert_eq!(members[0].suspect, Suspect::RadiiInBeamPlane, "{members:?}");
    runs.runs.iter_mut().for_each(|run| run.radius_place = RadiusPlace::BeamPlane);
    assert!(weighed(&truth, &runs).outcome.difference_fraction.abs() < 1e-4);
}

#[test]
fn runs_that_cannot_be_are_refused_by_their_row() {
    let bench = bench();
    let beams = BeamBench::prepare(&bench, None).unwrap();
    let refusal = |text: &str| {
        let runs = Runs::from_text("runs.csv", text).unwrap();
        weigh(&beams, &runs, &Request::default()).unwrap_err()
    };
    let error = refusal("gun_voltage_V,current_A,radius_mm\n200,1.5,30\n200,1.5,90\n");
    assert_eq!(
        error.to_string(),
        "runs.csv, line 3: the beam radius 90.00 mm is larger than the bulb's 75.00 mm"
    );
    let mut used_up = bench.clone();
    used_up.tube.as_mut().unwrap().gun_voltage_offset_volt = Some([250.0, 1.0]);
    let beams = BeamBench::prepare(&used_up, None).unwrap();
    let runs = Runs::from_text("runs.csv", "gun_voltage_V,current_A,radius_mm\n200,1.5,30\n").unwrap();
    let error = weigh(&beams, &runs, &Request::default()).unwrap_err();
    let refused = crate::error::Refused::GunVoltageWithinOffset { volt: 200.0, offset_volt: 250.0 };
    assert_eq!(error.to_string(), format!("runs.csv, line 2: {refused}"));
    let mut without = bench.clone();
    without.reading = None;
    let beams = BeamBench::prepare(&without, None).unwrap();
    let text = "gun_voltage_V,current_A,radius_mm,radius_uncertainty_mm\n200,1.5,30,1\n200,1.5,31,\n";
    let runs = Runs::from_text("runs.csv", text).unwrap();
    let error = weigh(&beams, &runs, &Request::default()).unwrap_err();
    assert!(error.to_string().contains("line 3: this run states no uncertainty"), "{error}");
    let wild = Request { scale_uncertainty_fraction: Some(2.0), ..Request::default() };
    assert!(weigh(&beams, &runs, &wild).is_err());
}
