//! A command line that is not understood, in our own two lines: what is wrong, and the usage.

use clap::error::{ContextKind, ContextValue, ErrorKind};
use coilwright::Error;
use coilwright::units::QuantityError;
use std::error::Error as _;
use std::num::ParseIntError;

/// The argument parser's refusal in our words; `None` if it has other output, such as its help.
pub fn refused(error: &clap::Error) -> Option<Error> {
    let argument = || first_word(text(error, ContextKind::InvalidArg).unwrap_or("an argument"));
    let value = || text(error, ContextKind::InvalidValue).unwrap_or_default();
    let (message, hint) = match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let name = text(error, ContextKind::InvalidSubcommand).unwrap_or_default();
            let meant = suggestions(error, ContextKind::SuggestedSubcommand);
            (format!("there is no command `{name}`"), with(meant, "`coilwright help` lists them"))
        }
        ErrorKind::UnknownArgument => {
            let message = match argument() {
                option if option.starts_with('-') => format!("there is no option `{option}`"),
                word => format!("`{word}` is one argument too many"),
            };
            (message, with(suggestions(error, ContextKind::SuggestedArg), &usage(error)))
        }
        ErrorKind::MissingRequiredArgument => {
            let missing = list(error, ContextKind::InvalidArg);
            let verb = if missing.len() == 1 { "is" } else { "are" };
            (format!("{} {verb} missing", quoted(&missing, "and")), usage(error))
        }
        ErrorKind::ArgumentConflict => {
            let prior = list(error, ContextKind::PriorArg);
            let message = match prior.iter().map(|prior| first_word(prior)).find(|prior| *prior != argument())
            {
                Some(prior) => format!("`{}` and `{prior}` do not go together", argument()),
                None => format!("`{}` is given more than once", argument()),
            };
            (message, usage(error))
        }
        ErrorKind::InvalidValue | ErrorKind::TooFewValues | ErrorKind::WrongNumberOfValues => {
            let allowed = list(error, ContextKind::ValidValue);
            let message = match value() {
                "" => format!("{} needs a value", argument()),
                value => format!("{}: `{value}` is not one of the values allowed", argument()),
            };
            let hint = match allowed.is_empty() {
                true => usage(error),
                false => format!("allowed: {}", allowed.join(", ")),
            };
            (message, with(suggestions(error, ContextKind::SuggestedValue), &hint))
        }
        ErrorKind::ValueValidation => {
            let source = error.source()?;
            if let Some(quantity) = source.downcast_ref::<QuantityError>() {
                (format!("{}: {}", argument(), quantity.message), quantity.hint.clone())
            } else if source.is::<ParseIntError>() {
                let above = if value().starts_with('-') { " above zero" } else { "" };
                (format!("{}: `{}` is not a whole number{above}", argument(), value()), usage(error))
            } else {
                (format!("{}: {}", argument(), source.to_string().replace("..=", " to ")), usage(error))
            }
        }
        _ => return None,
    };
    Some(Error::Usage { message, hint: Some(hint) })
}

/// The parser's entry of this kind, if it is one text.
fn text(error: &clap::Error, kind: ContextKind) -> Option<&str> {
    match error.get(kind) {
        Some(ContextValue::String(text)) => Some(text),
        _ => None,
    }
}

/// The parser's entries of this kind, one or several texts.
fn list(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::String(text)) => vec![text.clone()],
        Some(ContextValue::Strings(texts)) => texts.clone(),
        _ => Vec::new(),
    }
}

/// An option without the name of its value.
fn first_word(argument: &str) -> &str {
    argument.split_whitespace().next().unwrap_or(argument)
}

fn quoted(words: &[String], last: &str) -> String {
    let words: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match &words[..] {
        [all @ .., end] if !all.is_empty() => format!("{} {last} {end}", all.join(", ")),
        _ => words.concat(),
    }
}

fn suggestions(error: &clap::Error, kind: ContextKind) -> Option<String> {
    let meant = list(error, kind);
    (!meant.is_empty()).then(|| format!("did you mean {}?", quoted(&meant, "or")))
}

fn with(suggestion: Option<String>, hint: &str) -> String {
    match suggestion {
        Some(suggestion) => format!("{suggestion} {hint}"),
        None => hint.to_owned(),
    }
}

/// The usage of the command, on one line.
fn usage(error: &clap::Error) -> String {
    let usage = match error.get(ContextKind::Usage) {
        Some(ContextValue::StyledStr(usage)) => usage.to_string(),
        _ => String::new(),
    };
    let usage = usage.trim_start_matches("Usage:").split_whitespace().collect::<Vec<_>>().join(" ");
    match usage.as_str() {
        "" => "`--help` shows the usage".into(),
        usage => format!("call it like this: {usage}; `--help` says more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::program::{Cli, numbers_with_a_sign, takes_a_number};
    use clap::{CommandFactory, FromArgMatches, Parser};

    fn lines(words: &[&str]) -> (String, String) {
        let arguments = ["coilwright"].iter().chain(words);
        let parsed = numbers_with_a_sign(Cli::command()).try_get_matches_from(arguments);
        let Err(error) = parsed.and_then(|matches| Cli::from_arg_matches(&matches)) else {
            panic!("{words:?} is understood")
        };
        let error = refused(&error).unwrap_or_else(|| panic!("{words:?}: {error}"));
        assert_eq!(error.exit_status(), 2);
        (error.to_string(), error.hint().unwrap())
    }

    #[test]
    fn a_call_that_is_not_understood_is_told_in_two_lines() {
        for (words, message, hint) in [
            (&["shet"][..], "there is no command `shet`", "did you mean"),
            (
                &["sheet"],
                "`<SPEC>` is missing",
                "call it like this: coilwright sheet <SPEC>; `--help` says more",
            ),
            (&["sheet", "a.json", "--jsno"], "there is no option `--jsno`", "did you mean `--json`? call it"),
            (&["sheet", "a.json", "b"], "`b` is one argument too many", "coilwright sheet [OPTIONS] <SPEC>"),
            (&["map", "a.json", "--grid", "-1"], "--grid: `-1` is not a whole number above zero", "--help"),
            (
                &["build", "a.json", "--interlayer", "-1 mm"],
                "--interlayer: `-1 mm` is out of range",
                "allowed: 0",
            ),
            (&["build", "a.json", "--reel", "-1"], "--reel: `-1` has no unit", "such as"),
            (
                &["tolerance", "a.json", "--builds", "-5"],
                "--builds: `-5` is not a whole number above zero",
                "--help",
            ),
            (&["orbit", "a.json", "--revolutions", "-3"], "--revolutions: -3 is not in 1 to 1000", "--help"),
            (&["map", "a.json", "--grid", "many"], "--grid: `many` is not a whole number", "--help"),
            (&["map", "a.json", "--out"], "--out needs a value", "--help"),
            (
                &["heat", "a.json", "--number-format", "dot"],
                "--number-format: `dot` is not one of the values allowed",
                "allowed: point, comma",
            ),
            (
                &["schema", "banch"],
                "[KIND]: `banch` is not one of the values allowed",
                "did you mean `bench`?",
            ),
            (&["orbit", "a.json", "--chart", "--bias"], "`--chart` and `--bias` do not go together", "orbit"),
            (&["sheet", "a.json", "--json", "--json"], "`--json` is given more than once", "sheet"),
            (&["orbit", "a.json", "--revolutions", "0"], "--revolutions: 0 is not in 1 to 1000", "--help"),
            (&["weigh", "a.json"], "`--runs <FILE>` is missing", "coilwright weigh"),
            (&["calibrate", "a.json", "--combine"], "`--readings <CSV>` is missing", "calibrate"),
            (&["heat", "a.json", "--current", "1.4"], "--current: `1.4` has no unit", "such as `1.4 A`"),
        ] {
            let found = lines(words);
            assert_eq!(found.0, message);
            assert!(found.1.contains(hint), "{words:?}: {}", found.1);
        }
    }

    #[test]
    fn a_sign_is_part_of_the_number_whatever_option_takes_one() {
        let command = numbers_with_a_sign(Cli::command());
        let mut tried = 0;
        for one in command.get_subcommands() {
            for option in one.get_arguments().filter(|argument| takes_a_number(argument)) {
                let long = format!("--{}", option.get_long().unwrap());
                let words = ["coilwright", one.get_name(), &long, "-1"];
                if let Err(error) = command.clone().try_get_matches_from(words) {
                    let taken_for_an_option = error.kind() == ErrorKind::UnknownArgument
                        && text(&error, ContextKind::InvalidArg).is_some_and(|word| word.starts_with("-1"));
                    assert!(!taken_for_an_option, "{words:?}: {error}");
                    tried += 1;
                }
            }
        }
        assert!(tried > 20, "{tried}");
        // Of every type that a number has, one option.
        let is_told = |(name, option): (&str, &str)| {
            let one = command.find_subcommand(name).unwrap();
            let argument = one.get_arguments().find(|argument| argument.get_long() == Some(option));
            assert!(argument.is_some_and(clap::Arg::is_allow_hyphen_values_set), "{name} --{option}");
        };
        let known =
            [("field", "accuracy"), ("map", "grid"), ("orbit", "revolutions"), ("register", "due-every")];
        known.into_iter().for_each(is_told);
        #[cfg(feature = "desk")]
        is_told(("desk", "port"));
    }

    #[test]
    fn help_stays_the_parsers_own() {
        for words in [&["coilwright", "--help"][..], &["coilwright", "--version"], &["coilwright"]] {
            let Err(error) = Cli::try_parse_from(words) else { panic!() };
            assert!(refused(&error).is_none());
        }
    }
}
