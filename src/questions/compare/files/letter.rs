//! A letter to one supplier: what is missing, what contradicts itself, what must be guaranteed.

use crate::Result;
use crate::numeric::calendar::Day;
use crate::paper::markup::{kept_together, rendered};
use crate::questions::compare::words::{provenance_of, questions_to};
use crate::questions::compare::{Comparison, NeedKind, OptionVerdict, PairOption};
use crate::questions::words::cautions::{Caution, sentences};
use askama::Template;

/// What a letter shows; every text is escaped by the template. It names no other supplier and no price.
#[derive(Template)]
#[template(path = "compare/files/letter.html")]
struct Letter<'a> {
    title: &'a str,
    needs: Option<&'a str>,
    contradicts: bool,
    passes: bool,
    questions: Vec<String>,
    needed: Vec<String>,
    date: Option<Day>,
    cautions: Vec<&'static str>,
    provenance: String,
}

/// File names of the letters about these options, made of characters that every file system allows.
pub(super) fn file_names(options: &[String]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (number, option) in options.iter().enumerate() {
        let plain: String =
            option.chars().map(|c| if c.is_alphanumeric() || "-_.".contains(c) { c } else { '-' }).collect();
        let name = format!("letter-{plain}.html");
        // Some file systems ignore case in names.
        let taken = names.iter().any(|known| known.to_lowercase() == name.to_lowercase());
        names.push(if taken { format!("letter-{plain}-{}.html", number + 1) } else { name });
    }
    names
}

/// A letter for each option that has questions. An option that fails is asked only about its contradictions.
pub(super) fn letters(record: &Comparison) -> Result<Vec<(String, String)>> {
    let labels: Vec<String> = record.options.iter().map(|option| option.label.clone()).collect();
    let named = file_names(&labels).into_iter().zip(&record.options);
    named
        .filter(|(_, option)| !option.questions.is_empty())
        .map(|(name, option)| Ok((name, letter(record, option)?)))
        .collect()
}

fn letter(record: &Comparison, option: &PairOption) -> Result<String> {
    let letter = Letter {
        title: &option.title,
        needs: record.needs_title.as_deref(),
        contradicts: option.questions.iter().any(|question| question.is_contradiction()),
        passes: option.verdict == Some(OptionVerdict::Passes),
        questions: questions_to(option).iter().map(|question| kept_together(question)).collect(),
        needed: record
            .needs
            .iter()
            // The buyer's budget is not the supplier's business.
            .filter(|need| need.name != NeedKind::Cost)
            .map(|need| kept_together(&format!("{}: {}", need.name, need.wanted)))
            .collect(),
        date: record.date,
        // What a supplier who answers, builds or sends a pair may meet.
        cautions: sentences(&[Caution::HotCoils, Caution::InductiveKick, Caution::Implants]),
        provenance: provenance_of(record, option),
    };
    rendered(&letter, "letter")
}
