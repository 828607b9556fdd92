//! `accept`: is the delivered pair the one that was ordered?

use super::decision::DecisionArgs;
use super::export::DateArgs;
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::{read_spec, warn_of_contradictions};
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::spec;
use coilwright::judgement::limit::Acceptance;
use coilwright::pair::Bench;
use coilwright::questions::accept::files::files;
use coilwright::questions::accept::{Request, accept, words};
use coilwright::{Error, Result};
use std::path::{Path, PathBuf};

/// The arguments of `accept`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct AcceptArgs {
    /// The spec that was ordered, or the supplier's filled form
    spec: PathBuf,
    /// What was measured on the delivered pair: JSON, or a table with name, value, uncertainty
    #[arg(long, value_name = "MEASURED")]
    measured: PathBuf,
    /// Limits that the supplier promised, instead of those from the spec's tolerance
    #[arg(long, value_name = "LIMITS")]
    supplier_limits: Option<PathBuf>,
    #[command(flatten)]
    decision: DecisionArgs,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The pair that was ordered: from a spec, or from the form that the supplier filled in.
fn read_ordered(path: &Path) -> Result<Bench> {
    if !spec::is_form(path) {
        return read_spec(path);
    }
    let quote = spec::read_quote(path)?;
    let refused = |why: String| {
        Error::value_with_hint(
            format!("{} {why}", path.display()),
            "compare it first, and send the supplier the questions",
        )
    };
    let keys = |keys: Vec<&str>| keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    if !quote.gaps.is_empty() {
        let missing = keys(quote.gaps.iter().map(|gap| gap.key()).collect());
        return Err(refused(format!("does not say what was ordered: it leaves out {missing}")));
    }
    let unclear = quote.unreadable.iter().map(|it| it.key.as_str());
    let unclear: Vec<&str> = unclear.chain(quote.doubts.iter().map(|it| it.key.as_str())).collect();
    if !unclear.is_empty() {
        return Err(refused(format!("is not clear about {}", keys(unclear))));
    }
    let problems =
        |problems: Vec<String>| refused(format!("describes no possible pair: {}", problems.join("; ")));
    let bench = quote.filled(&[])?.map_err(problems)?;
    warn_of_contradictions(path, &bench);
    for remark in &quote.remarks {
        output::warn(
            &format!("{}: the supplier wrote \"{}\"", path.display(), remark.text),
            "no limit here is taken from that: read it before signing",
        );
    }
    Ok(bench)
}

/// Judges, writes the protocol, and prints the page. A delivery that does not pass is an error after that.
pub fn run(arguments: &AcceptArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = read_ordered(&arguments.spec)?;
    let measured = spec::read_measured(&arguments.measured)?;
    let supplier = arguments.supplier_limits.as_ref().map(spec::read_supplier_limits).transpose()?;
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([
            Some(&arguments.spec),
            Some(&arguments.measured),
            arguments.supplier_limits.as_ref(),
        ]),
        format: NumberFormat::Point,
    };
    let request = Request { supplier: supplier.as_ref(), decision: arguments.decision.rule(), date };
    let (record, _) = arguments.folder.answer(files, || accept(&bench, &measured, &request))?;
    if arguments.json {
        output::print_json(&record)?
    } else {
        output::print(&words::text(&record))?
    }
    match record.verdict {
        Acceptance::Pass => Ok(()),
        Acceptance::Fail => Err(Error::value_with_hint(
            "the delivery is not the pair that was ordered",
            "what differs, and what would explain it, is printed above",
        )),
        Acceptance::Undecided => Err(Error::value_with_hint(
            "the measurements cannot tell whether the delivery is the pair that was ordered",
            "what would decide is printed above",
        )),
    }
}
