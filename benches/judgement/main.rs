//! How often the conclusions are right, by simulation; `cargo bench --bench judgement -- [CASES] [PART]...`.
//!
//! Each case draws every systematic error from the distribution that its spec or meter states, adds the readers' scatter,
//! and plants one fault or none. CASES is the number of cases for each fault of five standard uncertainties on the bench
//! that the wanted figures are counted on, ten times as many without one, and a tenth for other benches and sizes; 100
//! where it is left out. PART is `weigh`, `calibrate`, `check`, `accept`, `identify` or `limits`; all where none is named. The seeds are fixed,
//! and others than those of the tests.

mod accept;
mod calibrate;
mod check;
mod count;
mod identify;
mod limits;
mod weigh;

use coilwright::questions::calibrate::agreement::Dispute;
use count::{Said, Shares, share, tenths};

/// Cases for each fault, and which parts.
struct Asked {
    cases: u64,
    parts: Vec<String>,
}

impl Asked {
    fn read() -> Self {
        let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
        let cases = words.iter().find_map(|word| word.parse().ok()).unwrap_or(100);
        let parts = words.into_iter().filter(|word| word.parse::<u64>().is_err()).collect();
        Self { cases, parts }
    }

    /// Of other benches, other files and other sizes.
    fn of_others(&self) -> u64 {
        (self.cases / 10).max(10)
    }

    fn wants(&self, part: &str) -> bool {
        self.parts.is_empty() || self.parts.iter().any(|word| word == part)
    }
}

fn percent(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

fn row(name: &str, cases: &[Said]) {
    let Shares { cases, first, first_two, wrong } = Shares::of(cases);
    let [first, two, wrong] = [first, first_two, wrong].map(percent);
    println!(
        "  {name:<44} {cases:>6}  first {first:>5} %  first two {two:>5} %  wrong above 50 % {wrong:>5} %"
    );
}

fn print_tenths<'a>(cases: impl Iterator<Item = &'a Said>) {
    for (tenth, found) in tenths(cases).iter().enumerate().filter(|(_, tenth)| tenth.count > 0) {
        println!(
            "  stated {:>3} to {:>3} %: {:>6} times, mean {:>5} %, right in {:>5} %",
            10 * tenth,
            10 * tenth + 10,
            found.count,
            percent(found.stated),
            percent(found.right)
        );
    }
}

fn of_runs(asked: &Asked) {
    use weigh::{Class, Setup, WANTED};
    println!("weigh, {WANTED:?}");
    let class = Class::of(WANTED);
    let clean = class.clean(9001, 10 * asked.cases);
    println!(
        "  sound classes: {} of {} with any finding; k = 2 of e/m holds the true one in {} %",
        clean.iter().filter(|(said, _)| said.accuses()).count(),
        clean.len(),
        percent(share(clean.iter().map(|(_, held)| *held)))
    );
    rows_of_runs(&class, 5.0, 9100, asked.cases);
    row_of_two(&class.two_misread(5.0, 9300, asked.cases));
    print_tenths(class.drawn(9002, 10 * asked.cases).iter());
    for times in [3.0, 10.0] {
        rows_of_runs(&class, times, 9150, asked.of_others());
    }
    for setup in [
        Setup { fine: true, ..WANTED },
        Setup { runs: 6, ..WANTED },
        Setup { runs: 20, ..WANTED },
        Setup { both_directions: false, ..WANTED },
        Setup { spec: "quote-parallel", ..WANTED },
        Setup { spec: "quote-thick", ..WANTED },
        Setup { spec: "quote-used", ..WANTED },
    ] {
        println!(" {setup:?}");
        let class = Class::of(setup);
        let clean = class.clean(9003, 10 * asked.of_others());
        println!(
            "  sound classes with any finding {} %, k = 2 holds {} %, of {}",
            percent(share(clean.iter().map(|(said, _)| said.accuses()))),
            percent(share(clean.iter().map(|(_, held)| *held))),
            clean.len()
        );
        rows_of_runs(&class, 5.0, 9200, asked.of_others());
        row_of_two(&class.two_misread(5.0, 9300, asked.of_others()));
        print_tenths(class.drawn(9004, 10 * asked.of_others()).iter());
    }
}

fn row_of_two(found: &weigh::TwoMisread) {
    println!(
        "  two misread runs, 5 u: of {} both named in {}, one of them first in {}, nothing said in {}",
        found.cases, found.both, found.first, found.silent
    );
}

fn rows_of_runs(class: &weigh::Class, times: f64, seed: u64, cases: u64) {
    for cause in weigh::FAULTS {
        match class.size(cause, times) {
            Some([least, most]) => row(
                &format!("{cause:?}, {times} u ({least:.1e} to {most:.1e})"),
                &class.planted(cause, times, seed, cases),
            ),
            None => println!("  {cause:?}: {times} u lies outside what is possible"),
        }
    }
}

fn row_of_readings(
    laboratory: &calibrate::Laboratory,
    fault: calibrate::Planted,
    times: f64,
    seed: u64,
    cases: u64,
) {
    let name = if fault.has_size() { format!("{fault:?}, {times} u") } else { format!("{fault:?}") };
    match laboratory.is_possible(fault, times) {
        true => row(&name, &laboratory.planted(fault, times, seed, cases)),
        false => println!("  {name} lies outside what is possible"),
    }
}

fn of_sound(clean: &[calibrate::Clean]) -> String {
    let counted = |of: fn(&calibrate::Clean) -> bool| percent(share(clean.iter().map(of)));
    format!(
        "  sound readings, of {}: with any finding {} %, refused because the slopes differ {} %, as contradicting themselves \
         {} %, with one marked {} %, uncertainties enlarged {} %",
        clean.len(),
        counted(|one| one.said.accuses()),
        counted(|one| one.refused == Some(Dispute::SlopesDisagree)),
        counted(|one| one.refused == Some(Dispute::ReadingsContradict)),
        counted(|one| one.marked),
        counted(|one| one.enlarged)
    )
}

fn of_readings(asked: &Asked) {
    use calibrate::{FAULTS, Laboratory, Setup, WANTED};
    println!("calibrate, {WANTED:?}");
    let laboratory = Laboratory::of(WANTED);
    let clean = laboratory.clean(8001, 10 * asked.cases);
    println!("{}", of_sound(&clean));
    let possible = |fault: &calibrate::Planted| *fault != calibrate::Planted::ProbeAlongAxis;
    for fault in FAULTS.into_iter().filter(possible) {
        row_of_readings(&laboratory, fault, 5.0, 8100, asked.cases);
    }
    print_tenths(laboratory.drawn(8002, 10 * asked.cases).iter());
    print_coverage(&laboratory, 2 * asked.cases);
    for times in [3.0, 10.0] {
        for fault in FAULTS.into_iter().filter(|fault| fault.has_size()) {
            row_of_readings(&laboratory, fault, times, 8200, asked.of_others());
        }
    }
    for setup in [
        Setup { readings: 6, turned: false, ..WANTED },
        Setup { readings: 12, turned: false, ..WANTED },
        Setup { readings: 20, ..WANTED },
        Setup { readings: 12, turned: false, both_directions: false, ..WANTED },
        Setup { stated: false, ..WANTED },
        Setup { position: false, ..WANTED },
        Setup { spec: "quote-parallel", ..WANTED },
        Setup { spec: "quote-thick", ..WANTED },
        Setup { spec: "quote-used", ..WANTED },
    ] {
        println!(" {setup:?}");
        let laboratory = Laboratory::of(setup);
        let clean = laboratory.clean(8003, 10 * asked.of_others());
        println!("{}", of_sound(&clean));
        let usual = |fault: &calibrate::Planted| {
            possible(fault) && (setup.turned || *fault != calibrate::Planted::FlipFlagsForgotten)
        };
        for fault in FAULTS.into_iter().filter(usual) {
            row_of_readings(&laboratory, fault, 5.0, 8300, asked.of_others());
        }
        print_tenths(laboratory.drawn(8004, 10 * asked.of_others()).iter());
        print_coverage(&laboratory, 2 * asked.of_others());
    }
}

fn print_coverage(laboratory: &calibrate::Laboratory, cases: u64) {
    use coilwright::questions::calibrate::AdoptedFrom::{Combined, Computed, Fit};
    for adopt in [None, Some(Computed), Some(Fit), Some(Combined)] {
        let found = laboratory.coverage(adopt, 8005, cases);
        let [fitted, computed, expanded, monte_carlo, claimed] =
            [found.fitted, found.computed, found.expanded, found.monte_carlo, found.claimed].map(percent);
        println!(
            "  adopted {:<9} in {} of {}: U holds {expanded} %, Monte Carlo {monte_carlo} % ({claimed} claimed); \
             U of the fit {fitted} %, of the computed {computed} %",
            adopt.map_or("by itself", |from| from.name()),
            found.adopted,
            found.cases
        );
    }
}

const ALL_MEASURED: [bool; 9] = [true; 9];
/// Without mass, inductance and width.
const FEW_MEASURED: [bool; 9] = [true, true, false, false, true, true, true, false, true];

fn of_deliveries(asked: &Asked) {
    use check::{Delivery, FAULTS};
    let cases = [
        ("window-bench", false, ALL_MEASURED),
        ("window-bench", false, FEW_MEASURED),
        ("window-bench", true, ALL_MEASURED),
        ("quote-parallel", false, ALL_MEASURED),
        ("quote-thick", false, ALL_MEASURED),
        ("quote-used", false, ALL_MEASURED),
    ];
    for (at, (spec, leads, measured)) in cases.into_iter().enumerate() {
        let delivery = Delivery::of(spec, leads, measured);
        let count = measured.iter().filter(|it| **it).count();
        println!(
            "check --measured, {spec}, {count} quantities, leads {}",
            if leads { "in it or not" } else { "unstated" }
        );
        let cases = if at == 0 { asked.cases } else { asked.of_others() };
        let clean = delivery.clean(7001, 10 * cases);
        println!(
            "  sound pairs: {} of {} accused of anything",
            clean.iter().filter(|said| said.accuses()).count(),
            clean.len()
        );
        for fault in FAULTS {
            let name = if fault.has_size() { format!("{fault:?}, 5 u") } else { format!("{fault:?}") };
            row(&name, &delivery.planted(fault, 5.0, 7100, cases));
        }
        print_tenths(delivery.drawn(7002, 10 * cases).iter());
        print_verdicts("quantities about their limits", delivery.verdicts(7003, cases));
        for times in [3.0, 10.0].into_iter().filter(|_| at == 0) {
            for fault in FAULTS.into_iter().filter(|fault| fault.has_size()) {
                row(
                    &format!("{fault:?}, {times} u"),
                    &delivery.planted(fault, times, 7200, asked.of_others()),
                );
            }
        }
    }
}

/// A hundred times as many deliveries as CASES.
fn of_acceptance(asked: &Asked) {
    let of = |part: usize, whole: usize| percent(part as f64 / whole.max(1) as f64);
    for (spec, cases) in [("window-bench", 100 * asked.cases), ("quote-parallel", 100 * asked.of_others())] {
        let deliveries = accept::Deliveries::of(spec);
        let found = deliveries.judged(4001, cases);
        println!("accept, {spec}: {} deliveries", found.all);
        println!(
            "  with a quantity outside its limits: {}, of which pass {} ({} %), fail {} %, the rest undecided",
            found.bad,
            found.bad_passed,
            of(found.bad_passed, found.bad),
            of(found.bad_failed, found.bad)
        );
        println!(
            "  with everything inside: {}, of which fail {} ({} %), pass {} %",
            found.all - found.bad,
            found.good_failed,
            of(found.good_failed, found.all - found.bad),
            of(found.good_passed, found.all - found.bad)
        );
        print_verdicts("each quantity", found.quantities);
        let [bad, passed] = deliveries.at_the_limit(4002, cases);
        println!(
            "  with one quantity just outside its limit: {bad}, of which pass {passed} ({} %)",
            of(passed, bad)
        );
        if let Some([clear, passed]) = deliveries.well_inside(4003, cases) {
            println!(
                "  with everything more than 2 U inside: {clear}, of which pass {} %",
                of(passed, clear)
            );
        }
    }
    // Each goes through the whole of `accept`.
    let deliveries = accept::Deliveries::of("window-bench");
    for (what, short) in
        [("sound", 0.0), ("with coil a one turn short", 1.0), ("with coil a two turns short", 2.0)]
    {
        let [all, passed, failed] = deliveries.uncounted(4004, asked.cases, short);
        println!(
            "  turns not counted, {all} {what}: {passed} pass, {failed} fail, {} undecided",
            all - passed - failed
        );
    }
}

fn print_verdicts(name: &str, found: check::Verdicts) {
    let of = |part: usize, whole: usize| percent(part as f64 / whole.max(1) as f64);
    println!(
        "  {name}: {} wrong of {} ({} %); {} % decided of {} more than 2 U inside or outside",
        found.wrong,
        found.all,
        of(found.wrong, found.all),
        of(found.clear_and_decided, found.clear),
        found.clear
    );
}

fn of_unlabelled(asked: &Asked) {
    use identify::{SLIPS, identified};
    println!("identify");
    let clean = identified(None, 6001, 10 * asked.cases);
    println!(
        "  pairs as written: {} of {} accused of a slip; turns right first in {} %",
        clean.iter().filter(|it| it.slips.accuses()).count(),
        clean.len(),
        percent(Shares::of(&clean.iter().map(|it| it.turns.clone()).collect::<Vec<_>>()).first)
    );
    print_tenths(clean.iter().map(|it| &it.turns));
    for slip in SLIPS {
        let found = identified(Some(slip), 6100, asked.cases);
        row(&format!("{slip:?}"), &found.into_iter().map(|it| it.slips).collect::<Vec<_>>());
    }
}

fn of_options(asked: &Asked) {
    use limits::{FIGURES, Option};
    for spec in ["window-bench", "quote-parallel", "quote-thick", "quote-used"] {
        println!("compare, {spec}");
        let option = Option::of(spec, 5001, 2 * asked.cases);
        for figure in FIGURES {
            let (all, edge) = option.verdicts(figure, 5002);
            print_verdicts(&format!("{figure:?}, limits anywhere"), all);
            print_verdicts(&format!("{figure:?}, limits at the edge of the guard band"), edge);
        }
    }
}

fn main() {
    let asked = Asked::read();
    if asked.wants("weigh") {
        of_runs(&asked);
    }
    if asked.wants("calibrate") {
        of_readings(&asked);
    }
    if asked.wants("check") {
        of_deliveries(&asked);
    }
    if asked.wants("accept") {
        of_acceptance(&asked);
    }
    if asked.wants("identify") {
        of_unlabelled(&asked);
    }
    if asked.wants("limits") {
        of_options(&asked);
    }
}
