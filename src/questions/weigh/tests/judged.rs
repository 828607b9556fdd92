//! Faults put in are named, and nothing else is.

use super::*;

#[test]
fn each_cause_is_named_where_it_was_put_in() {
    let mut truth = bench();
    truth.reading.as_mut().unwrap().radius_uncertainty_m = Some(0.2e-3);
    let cause = |runs: &Runs, bench: &Bench| -> Vec<Cause> {
        weighed(bench, runs).findings.iter().map(|finding| finding.cause).collect()
    };
    let clean = perfect_runs(&truth, &SETTINGS);
    assert_eq!(cause(&clean, &truth), []);
    // The room's field has the opposite effect with the current reversed.
    let windy = with_room(truth.clone(), Vector3::new(0.0, 0.0, 60e-6));
    let mut other = windy.clone();
    other.room = None;
    assert_eq!(cause(&perfect_runs(&windy, &SETTINGS), &other), [Cause::RoomField]);
    let stated = with_room(truth.clone(), Vector3::new(0.0, 0.0, 10e-6));
    assert_eq!(cause(&perfect_runs(&windy, &SETTINGS), &stated), [Cause::RoomField]);
    // A cathode drop of 12 V shows most at low voltages.
    let mut drop = clean.clone();
    drop.runs.iter_mut().for_each(|run| run.gun_voltage_volt += 12.0);
    let found = weighed(&truth, &drop);
    assert_eq!(found.findings[0].cause, Cause::VoltageOffset);
    assert_relative_eq!(found.findings[0].members[0].size, 12.0, max_relative = 0.02);
    // A factor makes no trend, and no parallax is inferred from it.
    let mut wide = bench_of_a_wide_tube();
    wide.reading.as_mut().unwrap().radius_uncertainty_m = Some(0.2e-3);
    let mut scaled = perfect_runs(&wide, &TWELVE);
    scaled.runs.iter_mut().for_each(|run| run.radius_m *= 1.04);
    let found = weighed(&wide, &scaled);
    assert_eq!(found.findings.len(), 1, "{:#?}", found.findings);
    assert_eq!(found.findings[0].cause, Cause::SharedError);
    let suspects: Vec<Suspect> = found.findings[0].members.iter().map(|member| member.suspect).collect();
    let wanted =
        [Suspect::RadiusFactor, Suspect::FieldConstant, Suspect::AmmeterGain, Suspect::VoltmeterGain];
    assert_eq!(suspects, wanted);
    // Larger circles lie in a slightly weaker field, which takes back part of it.
    assert_relative_eq!(found.findings[0].members[0].size, 0.04, max_relative = 0.1);
    // The inner edge of the glow.
    let mut inside = perfect_runs(&wide, &TWELVE);
    inside.runs.iter_mut().for_each(|run| run.radius_m -= 2e-3);
    let found = weighed(&wide, &inside);
    assert_eq!(found.findings[0].cause, Cause::RadiusOffset, "{:#?}", found.findings);
    assert_relative_eq!(found.findings[0].members[0].size, -2e-3, max_relative = 0.05);
    // A diameter in the radius column.
    let mut slip = clean.clone();
    slip.runs[2].radius_m *= 2.0;
    let result = weighed(&truth, &slip);
    assert!(result.runs[2].stands_out);
    let finding = result.findings.iter().find(|finding| finding.lines == [4]).unwrap();
    assert!(
        matches!(finding.detail, Detail::Run { mix_up: Some(MixUp::DiameterAsRadius), .. }),
        "{finding:?}"
    );
    assert_eq!(result.runs.iter().filter(|run| run.stands_out).count(), 1);
}

#[test]
fn one_radius_ten_millimetres_too_large_is_named_and_nothing_else() {
    let truth = bench_of_a_wide_tube();
    let mut runs = perfect_runs(&truth, &TWELVE);
    for (i, run) in runs.runs.iter_mut().enumerate() {
        run.label = Some(format!("A{:02}", i + 1));
    }
    let (place, true_m) = (7, runs.runs[7].radius_m);
    assert!((true_m - 51.7e-3).abs() < 3e-3, "{true_m}");
    runs.runs[place].radius_m += 10e-3;
    let result = weighed(&truth, &runs);
    let [finding] = &result.findings[..] else { panic!("{:?}", result.findings) };
    assert_eq!((finding.cause, &finding.lines[..]), (Cause::MisreadRun, &[9][..]));
    assert_eq!(finding.labels, ["A08"]);
    assert!(finding.probability > 0.99, "{}", finding.probability);
    let Detail::Run { own_difference_fraction, fitting_radius_m, .. } = finding.detail else {
        panic!("{finding:?}")
    };
    let alone = result.runs[place].charge_to_mass_coulomb_per_kg;
    let others = result.without_suspects.as_ref().unwrap().charge_to_mass_coulomb_per_kg;
    assert_relative_eq!(own_difference_fraction, alone / others - 1.0, max_relative = 1e-9);
    // (51.7/61.7)² − 1 = −0.30 in a uniform field; this field falls off toward the larger circle.
    assert!((-0.30..-0.24).contains(&own_difference_fraction), "{own_difference_fraction}");
    assert!((fitting_radius_m - true_m).abs() < 0.5e-3, "{fitting_radius_m}");
    let without = result.without_suspects.unwrap();
    assert!(without.difference_fraction.abs() < 2e-4 && without.number_of_runs == 11, "{without:?}");
    assert!(result.outcome.difference_fraction < -0.01);
    // The same result if the user leaves it out, except that the circles were followed in the room's field found with
    // it.
    let left = weighed(&truth, &runs.without(&["A08".into()]).unwrap());
    assert_eq!(left.findings, []);
    assert_relative_eq!(
        left.outcome.charge_to_mass_coulomb_per_kg,
        without.charge_to_mass_coulomb_per_kg,
        max_relative = 1e-4
    );
}

#[test]
fn two_misread_runs_are_named_one_after_the_other() {
    let truth = bench_of_a_wide_tube();
    let mut runs = perfect_runs(&truth, &TWELVE);
    runs.runs[2].radius_m += 10e-3;
    runs.runs[9].radius_m -= 6e-3;
    let result = weighed(&truth, &runs);
    let mut lines: Vec<u64> = result.findings.iter().flat_map(|finding| finding.lines.clone()).collect();
    lines.sort_unstable();
    assert_eq!(lines, [4, 11]);
}

#[test]
fn an_ammeters_zero_is_in_the_room_field_unless_the_meter_stands_before_the_reversal() {
    let mut truth = with_room(bench(), Vector3::new(0.0, 0.0, 10e-6));
    truth.ammeter =
        Some(Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.0), accuracy_digits: 2.0 });
    let runs = perfect_runs(&truth, &SETTINGS);
    let uncertainty = |position| {
        let bench = Bench { ammeter_position: position, ..truth.clone() };
        weighed(&bench, &runs).outcome.room_axial_standard_uncertainty_tesla.unwrap()
    };
    let before = uncertainty(Some(AmmeterPosition::BeforeReversal));
    // k δ/√3 with δ = 0.02 A, in quadrature with what the runs leave.
    let beams = BeamBench::prepare(&truth, None).unwrap();
    let zero = beams.line.slope.tesla_per_ampere * 0.02 / 3f64.sqrt();
    for position in [None, Some(AmmeterPosition::AfterReversal)] {
        assert_relative_eq!(uncertainty(position), before.hypot(zero), max_relative = 1e-9);
    }
    // After the reversal the digits cancel in e/m, except for the room's part. Before it, or if not stated, they do
    // not.
    let digits = |position| {
        let bench = Bench { ammeter_position: position, ..truth.clone() };
        let shared = weighed(&bench, &runs).outcome.shared;
        shared.iter().find(|part| part.source == "ammeter digits").unwrap().contribution_coulomb_per_kg
    };
    assert!(digits(Some(AmmeterPosition::AfterReversal)) < 0.05 * digits(None));
    let stated = |bench: &Bench| {
        weighed(bench, &runs).notes.iter().any(|note| note.sentence().contains("ammeter.position"))
    };
    assert!(stated(&truth));
    assert!(!stated(&Bench { ammeter_position: Some(AmmeterPosition::AfterReversal), ..truth.clone() }));
}

#[test]
fn one_direction_cannot_tell_the_ammeters_zero_from_the_room() {
    let truth = with_room(bench(), Vector3::new(0.0, 0.0, 5e-6));
    let one_way: Vec<(f64, f64)> =
        [(100.0, 1.3), (100.0, 2.6), (250.0, 2.05), (250.0, 4.0), (150.0, 1.6), (150.0, 3.2)].to_vec();
    let windy = with_room(bench(), Vector3::new(0.0, 0.0, 105e-6));
    let mut sharp = truth;
    sharp.reading.as_mut().unwrap().radius_uncertainty_m = Some(0.05e-3);
    let result = weighed(&sharp, &perfect_runs(&windy, &one_way));
    let class = result.findings.iter().find(|finding| finding.measure == Measure::ReverseCurrent).unwrap();
    let suspects: Vec<Suspect> = class.members.iter().map(|member| member.suspect).collect();
    assert!(suspects.contains(&Suspect::RoomField), "{:?}", result.findings);
    assert!(suspects.contains(&Suspect::AmmeterZero), "{:?}", result.findings);
}

#[test]
fn a_class_about_all_runs_is_named_after_a_member_of_a_possible_size() {
    // 165 µT are some 11 % of these fields: too much for a scale or a meter, not for an ammeter's zero or the room.
    let truth = with_room(bench(), Vector3::new(0.0, 0.0, 5e-6));
    let one_way: Vec<(f64, f64)> =
        [(100.0, 1.3), (100.0, 1.6), (250.0, 2.05), (250.0, 2.6), (150.0, 1.6), (150.0, 2.2)].to_vec();
    let result =
        weighed(&truth, &perfect_runs(&with_room(bench(), Vector3::new(0.0, 0.0, 170e-6)), &one_way));
    let first = &result.findings[0];
    assert!(first.members.iter().any(|member| member.suspect == Suspect::FieldConstant && !member.possible));
    assert!([Cause::AmmeterOffset, Cause::RoomField].contains(&first.cause), "{first:?}");
    assert!(first.members[0].possible && first.measure == Measure::ReverseCurrent, "{first:?}");
    let words = crate::questions::weigh::words::text(&result);
    assert!(words.contains("an ammeter that shows") && !words.contains("before the reversal"), "{words}");
}

#[test]
fn diameters_filed_as_radii_are_told_as_such_and_circles_beyond_the_bulb_by_their_line() {
    let truth = bench();
    let mut doubled = perfect_runs(&truth, &SETTINGS);
    doubled.runs.iter_mut().for_each(|run| run.radius_m *= 2.0);
    let result = weighed(&truth, &doubled);
    let shared = result.findings.iter().find(|finding| finding.cause == Cause::RadiusFactor).unwrap();
    assert_eq!(shared.detail, Detail::All { mix_up: Some(MixUp::DiameterAsRadius) });
    // From 20 mm below the middle of a bulb of 75 mm: (75² − 20²)/(2 × 75) = 34.8 mm either way.
    let note = told(&result.notes).into_iter().find(|note| note.contains("radius of 34.8 mm")).unwrap();
    for run in result.runs.iter().filter(|run| run.radius_m > 0.0349).take(3) {
        let wanted = format!("line {} with {:.1} mm", run.line, 1e3 * run.radius_m);
        assert!(note.contains(&wanted), "{wanted}: {note}");
    }
    let sound = weighed(&truth, &perfect_runs(&truth, &SETTINGS));
    assert!(!sound.notes.iter().any(|note| note.sentence().contains("largest circle")), "{:?}", sound.notes);
}

#[test]
fn a_current_beyond_the_supply_is_told_by_its_line() {
    let mut truth = bench();
    truth.supply = Some(Supply {
        voltage_limit_volt: None,
        current_limit_ampere: Some(2.4),
        regulation: Regulation::Current,
    });
    let runs = perfect_runs(&truth, &SETTINGS);
    let beyond = |bench: &Bench| -> Vec<String> {
        told(&weighed(bench, &runs).notes).into_iter().filter(|note| note.contains("supply")).collect()
    };
    assert!(
        beyond(&truth)[0].contains("at most 2.40 A; beyond it: line 9 with -2.60 A."),
        "{:?}",
        beyond(&truth)
    );
    // A meter with a larger possible error than that proves nothing about the supply.
    truth.ammeter =
        Some(Meter { resolution: Some(0.1), accuracy_of_reading: Some(0.01), accuracy_digits: 2.0 });
    assert!(beyond(&truth).is_empty());
}
