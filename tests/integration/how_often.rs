//! How often the conclusions are right, counted over few simulated cases: a quick form of `cargo bench --bench judgement`.
//!
//! Each bound is the wanted one and three standard errors of a share of so many cases.

#[path = "../../benches/judgement/accept.rs"]
mod accept;
#[path = "../../benches/judgement/calibrate.rs"]
mod calibrate;
#[path = "../../benches/judgement/check.rs"]
mod check;
#[path = "../../benches/judgement/count.rs"]
mod count;
#[path = "../../benches/judgement/identify.rs"]
mod identify;
#[path = "../../benches/judgement/limits.rs"]
mod limits;
#[path = "../../benches/judgement/weigh.rs"]
mod weigh;

use count::{Said, Shares, share, tenths};

/// Three standard errors of a share of so many.
fn margin(share: f64, cases: usize) -> f64 {
    3.0 * (share * (1.0 - share) / cases.max(1) as f64).sqrt()
}

fn at_most(found: f64, wanted: f64, cases: usize, name: &str) {
    assert!(found <= wanted + margin(wanted, cases), "{name}: {found} of {cases}, at most {wanted}");
}

fn at_least(found: f64, wanted: f64, cases: usize, name: &str) {
    assert!(found >= wanted - margin(wanted, cases), "{name}: {found} of {cases}, at least {wanted}");
}

fn is_right(cases: &[Said], name: &str) {
    let shares = Shares::of(cases);
    at_least(shares.first, 0.90, shares.cases, &format!("{name} first"));
    at_least(shares.first_two, 0.98, shares.cases, &format!("{name} among the first two"));
    at_most(shares.wrong, 0.02, shares.cases, &format!("{name}, a wrong one above one half"));
}

fn is_seldom_accused(cases: &[Said], name: &str) {
    at_most(share(cases.iter().map(Said::accuses)), 0.05, cases.len(), name);
}

fn is_as_stated(cases: &[Said], name: &str) {
    for tenth in tenths(cases.iter()) {
        let allowed = 0.05 + margin(tenth.stated, tenth.count);
        let apart = (tenth.stated - tenth.right).abs();
        assert!(tenth.count == 0 || apart <= allowed, "{name}: {tenth:?}");
    }
}

#[test]
fn runs_are_judged_rightly() {
    let class = weigh::Class::of(weigh::WANTED);
    let (clean, held): (Vec<Said>, Vec<bool>) = class.clean(1, 150).into_iter().unzip();
    is_seldom_accused(&clean, "sound classes");
    // 95.45 % less the one allowed.
    at_least(share(held.into_iter()), 0.9445, clean.len(), "k = 2");
    for fault in weigh::FAULTS {
        assert!(class.size(fault, 5.0).is_some(), "{fault:?}");
        is_right(&class.planted(fault, 5.0, 2, 40), &format!("{fault:?}"));
    }
    is_as_stated(&class.drawn(3, 200), "weigh");
    let two = class.two_misread(5.0, 4, 30);
    assert!(
        2 * two.both >= two.cases && 5 * two.first >= 3 * two.cases && 6 * two.silent <= two.cases,
        "{two:?}"
    );
}

#[test]
fn readings_are_judged_rightly() {
    let laboratory = calibrate::Laboratory::of(calibrate::WANTED);
    let clean = laboratory.clean(1, 80);
    let counted = |of: fn(&calibrate::Clean) -> bool| share(clean.iter().map(of));
    at_most(counted(|one| one.said.accuses()), 0.05, clean.len(), "sound readings accused");
    at_most(counted(|one| one.refused.is_some()), 0.05, clean.len(), "sound readings refused");
    at_most(counted(|one| one.marked), 0.05, clean.len(), "sound readings with one marked");
    at_most(
        counted(|one| one.enlarged),
        0.05,
        clean.len(),
        "sound readings whose uncertainties are enlarged",
    );
    for fault in calibrate::FAULTS.into_iter().filter(|it| *it != calibrate::Planted::ProbeAlongAxis) {
        assert!(laboratory.is_possible(fault, 5.0), "{fault:?}");
        is_right(&laboratory.planted(fault, 5.0, 2, 16), &format!("{fault:?}"));
    }
    is_as_stated(&laboratory.drawn(3, 80), "calibrate");
    let found = laboratory.coverage(None, 4, 60);
    at_least(found.expanded, 0.9445, found.adopted, "U of the adopted slope");
    at_least(found.fitted, 0.9445, found.cases, "U of the fitted slope");
    at_least(found.computed, 0.9445, found.cases, "U of the computed slope");
    at_least(found.monte_carlo, found.claimed - 0.01, found.adopted, "Monte Carlo interval");
    at_most(found.monte_carlo, found.claimed + 0.01, found.adopted, "Monte Carlo interval");
}

#[test]
fn a_drift_that_only_a_slope_could_be_is_told_as_one_with_it() {
    let one_way =
        calibrate::Setup { readings: 12, turned: false, both_directions: false, ..calibrate::WANTED };
    let laboratory = calibrate::Laboratory::of(one_way);
    // A free intercept absorbs the ammeter's zero: there is no fault of five of its uncertainties to plant.
    assert!(!laboratory.is_possible(calibrate::Planted::AmmeterZero, 5.0));
    for fault in [calibrate::Planted::Drift, calibrate::Planted::ProbeGain] {
        is_right(&laboratory.planted(fault, 5.0, 5, 16), &format!("{fault:?} with rising currents"));
    }
}

#[test]
fn deliveries_are_judged_rightly() {
    let delivery = check::Delivery::of("window-bench", false, [true; 9]);
    is_seldom_accused(&delivery.clean(1, 30), "sound pairs");
    for fault in check::FAULTS {
        let cases = if fault.has_size() { 6 } else { 3 };
        is_right(&delivery.planted(fault, 5.0, 2, cases), &format!("{fault:?}"));
    }
    is_as_stated(&delivery.drawn(3, 30), "check");
    verdicts_are_right(delivery.verdicts(4, 20), "quantities");
}

fn verdicts_are_right(found: check::Verdicts, name: &str) {
    let part = |part: usize, whole: usize| part as f64 / whole.max(1) as f64;
    at_most(part(found.wrong, found.all), 0.025, found.all, &format!("wrong verdicts on {name}"));
    at_least(part(found.clear_and_decided, found.clear), 0.95, found.clear, &format!("verdicts on {name}"));
}

#[test]
fn options_meet_and_miss_rightly() {
    let option = limits::Option::of("window-bench", 1, 60);
    for figure in limits::FIGURES {
        let (all, _) = option.verdicts(figure, 2);
        verdicts_are_right(all, &format!("{figure:?}"));
    }
}

#[test]
fn slips_of_whoever_measured_are_told_rightly() {
    let clean = identify::identified(None, 1, 16);
    let (slips, turns): (Vec<Said>, Vec<Said>) = clean.into_iter().map(|it| (it.slips, it.turns)).unzip();
    is_seldom_accused(&slips, "pairs as written");
    is_as_stated(&turns, "turns");
    // Leads counted are more resistance, which thinner wire is as well: seldom told, and not counted on.
    let told = |slip: &coilwright::questions::identify::Slip| {
        !matches!(slip, coilwright::questions::identify::Slip::LeadsCounted { .. })
    };
    for slip in identify::SLIPS.into_iter().filter(told) {
        let found: Vec<Said> =
            identify::identified(Some(slip), 2, 4).into_iter().map(|it| it.slips).collect();
        is_right(&found, &format!("{slip:?}"));
    }
}

#[test]
fn deliveries_are_accepted_rightly() {
    let deliveries = accept::Deliveries::of("window-bench");
    let found = deliveries.judged(1, 400);
    assert!(found.bad > 100, "{found:?}");
    at_most(found.bad_passed as f64 / found.bad as f64, 0.025, found.bad, "bad deliveries passed");
    let quantities = found.quantities;
    at_most(quantities.wrong as f64 / quantities.all as f64, 0.025, quantities.all, "wrong verdicts");
    let decided = quantities.clear_and_decided as f64 / quantities.clear as f64;
    at_least(decided, 0.95, quantities.clear, "true values more than 2 U inside or outside");
    let [all, passed] = deliveries.at_the_limit(2, 1000);
    at_most(passed as f64 / all as f64, 0.025, all, "just outside a limit");
    // The wanted 95 % is of each quantity; of 24 at once, a share of a percent more miss.
    let [all, passed] = deliveries.well_inside(3, 1000).unwrap();
    at_least(passed as f64 / all as f64, 0.94, all, "deliveries more than 2 U inside");
}

#[test]
fn a_coil_one_turn_short_is_not_accepted_although_nobody_counted() {
    let deliveries = accept::Deliveries::of("window-bench");
    let [bad, passed, _] = deliveries.uncounted(4, 60, 1.0);
    at_most(passed as f64 / bad as f64, 0.025, bad, "coils a turn short passed");
    let [sound, passed, failed] = deliveries.uncounted(5, 60, 0.0);
    assert_eq!(failed, 0);
    at_least(passed as f64 / sound as f64, 0.9, sound, "sound coils passed");
}
