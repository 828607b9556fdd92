//! From the command line's own definitions to forms, and from a filled form to a command.
//!
//! Every option of a command becomes a field with the command's own help, so that a form and the command never differ.

use super::folder::{Kind, Name};
use clap::{Arg, ArgAction};

/// A group of questions, as the list beside every page has it.
pub struct Group {
    pub title: &'static str,
    pub questions: &'static [Titled],
}

/// A question under the name that people know it by.
pub struct Titled {
    /// The command.
    pub command: &'static str,
    pub title: &'static str,
    /// Whether the answer follows the form while one types: it takes a moment only, and changes nothing.
    pub follows: bool,
}

const fn titled(command: &'static str, title: &'static str, follows: bool) -> Titled {
    Titled { command, title, follows }
}

/// The questions in the order of the job.
pub const GROUPS: [Group; 4] = [
    Group {
        title: "The pair",
        questions: &[
            titled("sheet", "Data sheet", true),
            titled("uniformity", "How uniform", true),
            titled("map", "Map of the field", true),
            titled("heat", "Heat", true),
            titled("field", "Field at points", true),
            titled("tolerance", "What to hold", false),
        ],
    },
    Group {
        title: "Calibration",
        questions: &[
            titled("calibrate", "Calibration", false),
            titled("register", "Register", false),
            titled("check", "Check before a lesson", false),
        ],
    },
    Group {
        title: "Lesson",
        questions: &[
            titled("orbit", "Beam", true),
            titled("lesson", "Papers for the lesson", false),
            titled("weigh", "Class runs", true),
        ],
    },
    Group {
        title: "Build and buy",
        questions: &[
            titled("size", "Choose a winding", false),
            titled("identify", "What is this pair", false),
            titled("build", "Build papers", false),
            titled("tender", "Ask for quotes", false),
            titled("compare", "Compare", false),
            titled("accept", "Accept a delivery", false),
            titled("wires", "Stock wires", true),
        ],
    },
];

/// Options that the desk sets itself, or that mean nothing in it.
const NOT_ASKED: [&str; 7] = ["out", "force", "json", "npy", "portable", "help", "version"];

/// All questions, each with its form.
pub struct Questions(Vec<Question>);

/// One question with its form.
pub struct Question {
    /// The command.
    pub command: String,
    pub title: &'static str,
    /// What it does, as the command's help says it.
    pub about: String,
    pub follows: bool,
    /// Whether the command writes files.
    pub has_files: bool,
    pub fields: Vec<Field>,
}

/// One field of a form.
pub struct Field {
    /// Its name in the form.
    pub id: String,
    /// The option with its hyphens; `None` for a positional argument.
    option: Option<String>,
    pub label: String,
    pub help: String,
    pub needed: bool,
    /// Whether the file may be one that is not there yet.
    pub may_be_new: bool,
    pub input: Input,
}

/// What is filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// One file of the folder.
    File { suits: Suits },
    /// One or more files.
    Files { suits: Suits },
    /// The name of a file to be written.
    NewFile,
    /// Yes or no.
    Switch,
    /// One of several words, with the help of each.
    Choice(Vec<(String, String)>),
    /// Any number of texts, each on a line of its own.
    Lines,
    /// Anything that can be typed; `shown` is the placeholder: the default, else the value's name.
    Text { shown: String },
}

/// Which files are offered first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Suits {
    Spec,
    Quote,
    Wishes,
    Measurements,
    Limits,
    Calibration,
    Register,
    Table,
    Words,
}

impl Suits {
    fn of(command: &str, id: &str) -> Self {
        match (command, id) {
            (_, "measured") => Self::Measurements,
            (_, "wanted" | "needs" | "wishes") => Self::Wishes,
            (_, "supplier_limits") => Self::Limits,
            (_, "calibration" | "previous") => Self::Calibration,
            (_, "register") => Self::Register,
            (_, "readings" | "runs" | "warm_up" | "points") => Self::Table,
            (_, "words") => Self::Words,
            ("compare", _) => Self::Quote,
            _ => Self::Spec,
        }
    }

    /// Whether a file of this kind is meant.
    pub fn suit(self, kind: &Kind) -> bool {
        match self {
            Self::Spec => matches!(kind, Kind::Spec(_)),
            Self::Quote => matches!(kind, Kind::Spec(_) | Kind::Quote(_) | Kind::Table),
            Self::Wishes => matches!(kind, Kind::Wishes(_)),
            Self::Measurements => matches!(kind, Kind::Measurements(_) | Kind::Table),
            Self::Limits => matches!(kind, Kind::SupplierLimits(_)),
            Self::Calibration => matches!(kind, Kind::Calibration),
            Self::Register => matches!(kind, Kind::Register),
            Self::Table => matches!(kind, Kind::Table),
            Self::Words => matches!(kind, Kind::Other),
        }
    }
}

/// What a form says.
pub type Filled = [(String, String)];

/// A form that cannot be made a command.
#[derive(Debug, PartialEq, Eq)]
pub struct Misfilled {
    /// The field.
    pub label: String,
    /// What is wrong, as a sentence.
    pub reason: String,
}

/// A command made from a form.
#[derive(Debug, PartialEq, Eq)]
pub struct Call {
    /// The words after the program's name, without where the files go.
    pub words: Vec<String>,
    /// The files that it reads.
    pub reads: Vec<Name>,
    /// The register that it may add to.
    pub register: Option<Name>,
}

impl Questions {
    /// Makes the forms of all questions.
    pub fn of(commands: &clap::Command) -> Self {
        let titles = GROUPS.iter().flat_map(|group| group.questions);
        Self(
            titles
                .filter_map(|titled| Some(Question::of(titled, commands.find_subcommand(titled.command)?)))
                .collect(),
        )
    }

    /// Whether a field of this name chooses a file in any form.
    pub fn is_file(&self, id: &str) -> bool {
        self.0.iter().flat_map(|question| &question.fields).any(|field| field.id == id && field.is_file())
    }

    /// The question that this command answers.
    pub fn find(&self, command: &str) -> Option<&Question> {
        self.0.iter().find(|question| question.command == command)
    }
}

impl Question {
    fn of(titled: &Titled, command: &clap::Command) -> Self {
        let asked = |arg: &&Arg| !NOT_ASKED.contains(&arg.get_id().as_str()) && !arg.is_hide_set();
        let fields =
            command.get_arguments().filter(asked).map(|arg| Field::of(titled.command, arg)).collect();
        Self {
            command: titled.command.into(),
            title: titled.title,
            about: command.get_about().map(ToString::to_string).unwrap_or_default(),
            follows: titled.follows,
            has_files: command.get_arguments().any(|arg| arg.get_id() == "out"),
            fields,
        }
    }

    /// The command of a filled form.
    pub fn call(&self, filled: &Filled) -> Result<Call, Misfilled> {
        let mut call = Call { words: vec![self.command.clone()], reads: Vec::new(), register: None };
        let (placed, options): (Vec<&Field>, Vec<&Field>) =
            self.fields.iter().partition(|field| field.option.is_none());
        for field in placed.into_iter().chain(options) {
            field.add_to(filled, &mut call)?;
        }
        Ok(call)
    }
}

impl Field {
    fn of(command: &str, arg: &Arg) -> Self {
        let id = arg.get_id().to_string();
        let help = arg.get_help().map(|help| in_a_form(&help.to_string())).unwrap_or_default();
        Self {
            may_be_new: (command, id.as_str()) == ("calibrate", "register"),
            option: arg.get_long().map(|long| format!("--{long}")),
            label: capitalised(&id.replace('_', " ")),
            help,
            needed: arg.is_required_set(),
            input: Input::of(command, &id, arg),
            id,
        }
    }

    /// Whether it chooses files of the folder.
    pub fn is_file(&self) -> bool {
        matches!(self.input, Input::File { .. } | Input::Files { .. })
    }

    fn add_to(&self, filled: &Filled, call: &mut Call) -> Result<(), Misfilled> {
        let values = filled.iter().filter(|(id, _)| *id == self.id).map(|(_, value)| value.as_str());
        let values = values.flat_map(|value| match self.input {
            Input::Lines => value.lines().collect(),
            _ => vec![value],
        });
        let mut said: Vec<&str> = Vec::new();
        for value in values.map(str::trim).filter(|value| !value.is_empty()) {
            // A file that is chosen twice is one file.
            if self.is_file() && said.contains(&value) {
                continue;
            }
            said.push(value);
            if said.len() > MOST_VALUES {
                return Err(self.misfilled(&format!("It has more than {MOST_VALUES} entries.")));
            }
            if value.contains('\0') || value.len() > 4000 {
                return Err(self.misfilled("It is longer than 4000 bytes or holds a zero byte."));
            }
            if let Input::File { .. } | Input::Files { .. } | Input::NewFile = self.input {
                let name = Name::of(value).map_err(|reason| self.misfilled(&reason))?;
                match &self.input {
                    Input::File { suits: Suits::Register } if adds_to_register(&call.words[0], filled) => {
                        call.register = Some(name);
                    }
                    Input::NewFile => {}
                    _ => call.reads.push(name),
                }
            }
            call.words.extend(match (&self.option, &self.input) {
                (Some(option), Input::Switch) => (value == "on").then(|| option.clone()),
                (Some(option), _) => Some(format!("{option}={value}")),
                (None, _) => Some(value.to_owned()),
            });
        }
        Ok(())
    }

    fn misfilled(&self, reason: &str) -> Misfilled {
        Misfilled { label: self.label.clone(), reason: reason.into() }
    }
}

/// Most entries of one field.
const MOST_VALUES: usize = 200;

/// Whether the command of a filled form adds to the register that it names; others only read it.
fn adds_to_register(command: &str, filled: &Filled) -> bool {
    let is_filled = |ids: &[&str]| {
        filled.iter().any(|(id, value)| ids.contains(&id.as_str()) && !value.trim().is_empty())
    };
    match command {
        "calibrate" | "check" => true,
        "register" => is_filled(&["withdraw", "event", "due_every", "due_by_drift"]),
        _ => false,
    }
}

impl Input {
    fn of(command: &str, id: &str, arg: &Arg) -> Self {
        let is_path = arg.get_value_parser().type_id() == clap::builder::ValueParser::path_buf().type_id();
        let many = matches!(arg.get_action(), ArgAction::Append);
        let choices: Vec<_> = arg.get_possible_values();
        match arg.get_action() {
            ArgAction::SetTrue => Self::Switch,
            _ if id == "write" => Self::NewFile,
            _ if is_path && many => Self::Files { suits: Suits::of(command, id) },
            _ if is_path => Self::File { suits: Suits::of(command, id) },
            _ if !choices.is_empty() => Self::Choice(
                choices
                    .iter()
                    .map(|choice| {
                        let help = choice.get_help().map(ToString::to_string).unwrap_or_default();
                        (choice.get_name().to_owned(), help)
                    })
                    .collect(),
            ),
            _ if many => Self::Lines,
            _ => {
                let default: Vec<_> =
                    arg.get_default_values().iter().map(|it| it.to_string_lossy()).collect();
                let form =
                    || arg.get_value_names().map(|names| names.join(" ").to_lowercase()).unwrap_or_default();
                Self::Text { shown: if default.is_empty() { form() } else { default.join(" ") } }
            }
        }
    }
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A help of the command line as a form says it: an option goes by the name of its field, a command by its title.
fn in_a_form(help: &str) -> String {
    let said = help
        .replace("may be given several times", "each on a line of its own")
        .replace("; needs --out", "")
        .replace("with --out, also write", "also write");
    let parts = said.split('`').enumerate().map(|(at, part)| match at % 2 {
        0 => without_hyphens(part),
        _ => title_of(part).map_or_else(|| format!("`{part}`"), |title| format!("“{title}”")),
    });
    parts.collect()
}

/// The title of a command, whatever options stand behind it.
fn title_of(command: &str) -> Option<&'static str> {
    let first = command.split(' ').next()?;
    let mut titled = GROUPS.iter().flat_map(|group| group.questions);
    titled.find(|titled| titled.command == first).map(|titled| titled.title)
}

/// Each option of a text as the label of its field.
fn without_hyphens(text: &str) -> String {
    let mut parts = text.split("--");
    let mut said = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let end = part.find(|it: char| !it.is_ascii_alphanumeric() && it != '-').unwrap_or(part.len());
        let (option, rest) = part.split_at(end);
        said += &format!("“{}”{rest}", option.replace('-', " "));
    }
    said
}

/// The command as one would type it, each word quoted where a shell needs it.
pub fn typed(words: &[String]) -> String {
    let plain = |word: &str| {
        !word.is_empty()
            && word
                .chars()
                .all(|it| it.is_alphanumeric() || matches!(it, '-' | '_' | '.' | '/' | '=' | '%' | ','))
    };
    let quoted = |word: &String| match plain(word) {
        true => word.clone(),
        false => format!("'{}'", word.replace('\'', r"'\''")),
    };
    std::iter::once("coilwright".to_owned()).chain(words.iter().map(quoted)).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::program::definitions;
    use std::collections::BTreeSet;

    fn call(command: &str, filled: &[(&str, &str)]) -> Result<Call, Misfilled> {
        let filled: Vec<_> =
            filled.iter().map(|(id, value)| ((*id).to_owned(), (*value).to_owned())).collect();
        Questions::of(&definitions()).find(command).unwrap().call(&filled)
    }

    #[test]
    fn every_command_but_those_of_the_terminal_is_a_question() {
        let questions = Questions::of(&definitions());
        let terminal = ["completions", "manual", "schema", "desk", "help"];
        for command in
            definitions().get_subcommands().filter(|command| !terminal.contains(&command.get_name()))
        {
            assert!(questions.find(command.get_name()).is_some(), "{}", command.get_name());
        }
    }

    #[test]
    fn what_is_typed_freely_is_no_path() {
        // The kinds of values that are typed. A new one is looked at before it is added: a path belongs to a file's field.
        let kinds = [
            "ANGLE",
            "BUILDS",
            "CURRENT",
            "DIAMETER",
            "DIGEST",
            "FIELD",
            "FRACTION",
            "LABEL",
            "LENGTH",
            "MASS",
            "N",
            "NAME",
            "NUMBER",
            "ON/OFF",
            "REASON",
            "SETTINGS",
            "TEMPERATURE",
            "TEXT",
            "TIME",
            "TURNS",
            "VOLTAGE",
            "WITHIN",
            "YYYY-MM-DD",
        ];
        let commands = definitions();
        let mut found = BTreeSet::new();
        for question in Questions::of(&commands).0 {
            let command = commands.find_subcommand(&question.command).unwrap();
            let is_typed = |it: &&Field| matches!(it.input, Input::Text { .. } | Input::Lines);
            for field in question.fields.iter().filter(is_typed) {
                let arg = command.get_arguments().find(|arg| arg.get_id() == field.id.as_str()).unwrap();
                found.extend(arg.get_value_names().unwrap_or_default().iter().map(ToString::to_string));
            }
            let is_file = |it: &&Field| matches!(it.input, Input::File { .. } | Input::Files { .. });
            let files = question.fields.iter().filter(is_file).count();
            assert_eq!(files == 0, question.command == "wires", "{}", question.command);
            // Help that speaks of the command line helps nobody in a form.
            for field in &question.fields {
                assert!(!field.help.contains("--"), "{} {}: {}", question.command, field.id, field.help);
            }
        }
        assert_eq!(found.iter().map(String::as_str).collect::<Vec<_>>(), kinds);
    }

    #[test]
    fn a_filled_form_is_the_command_that_one_would_type() {
        let made = call(
            "calibrate",
            &[
                ("spec", "pair.json"),
                ("readings", "r.csv"),
                ("same_ammeter", "on"),
                ("step", "-1 A"),
                ("by", "A. O'Neil"),
                ("adopt", ""),
                ("no such", "x"),
            ],
        )
        .unwrap();
        assert_eq!(
            made.words,
            ["calibrate", "pair.json", "--readings=r.csv", "--same-ammeter", "--step=-1 A", "--by=A. O'Neil"]
        );
        assert_eq!(made.reads.len(), 2);
        assert_eq!(
            typed(&made.words),
            r"coilwright calibrate pair.json --readings=r.csv --same-ammeter '--step=-1 A' '--by=A. O'\''Neil'"
        );
        let compared = call("compare", &[("quotes", "a.json"), ("quotes", "b.xlsx"), ("needs", "w.json")]);
        let compared = compared.unwrap();
        assert_eq!(compared.words[1..3], ["a.json".to_owned(), "b.xlsx".into()]);
    }

    #[test]
    fn a_form_speaks_of_fields_and_titles() {
        assert_eq!(in_a_form("needs --due-by-drift, not `as_built`"), "needs “due by drift”, not `as_built`");
        assert_eq!(
            in_a_form("The register; `calibrate --register FILE` makes it"),
            "The register; “Calibration” makes it"
        );
        assert_eq!(in_a_form("scale, for --bias; needs --out"), "scale, for “bias”");
        for question in Questions::of(&definitions()).0 {
            for field in &question.fields {
                assert!(!field.help.contains("--"), "{}: {}", question.command, field.help);
            }
        }
    }

    #[test]
    fn what_may_be_given_several_times_stands_on_lines() {
        let made =
            call("weigh", &[("spec", "a.json"), ("runs", "r.csv"), ("without", "group 1\n\n line 7 \r\n")]);
        assert_eq!(made.unwrap().words[3..], ["--without=group 1".to_owned(), "--without=line 7".into()]);
    }

    #[test]
    fn no_path_leads_out_of_the_folder() {
        for path in ["../secret.json", "/etc/passwd", "--out=/tmp/x", "-x.json", "a/b.json", "pair.json\0"] {
            assert!(call("sheet", &[("spec", path)]).is_err(), "{path}");
            assert!(call("size", &[("wanted", "w.json"), ("write", path)]).is_err(), "{path}");
        }
        // What the desk sets itself is not taken from a form.
        let made =
            call("map", &[("spec", "a.json"), ("out", "/tmp"), ("force", "on"), ("json", "on")]).unwrap();
        assert_eq!(made.words, ["map", "a.json"]);
    }
}
