//! Makes forms from the definitions of the command line, and commands from filled forms.
//!
//! Every option of a command becomes a field with that option's help, so a form and its command never differ.

use super::folder::{Kind, Name, Table};
use clap::{Arg, ArgAction};

/// A group of questions in the navigation of every page.
pub struct Group {
    pub title: &'static str,
    pub questions: &'static [Titled],
}

/// A question and the title under which people know it.
pub struct Titled {
    /// Name of the command.
    pub command: &'static str,
    pub title: &'static str,
    /// Whether the answer is updated while the user types. Only for commands that take a moment and change nothing.
    pub follows: bool,
}

const fn titled(command: &'static str, title: &'static str, follows: bool) -> Titled {
    Titled { command, title, follows }
}

/// The questions, in the order of the job.
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

/// Options that the desk sets itself or that are meaningless in it.
const NOT_ASKED: [&str; 7] = ["out", "force", "json", "npy", "portable", "help", "version"];

/// The forms of all questions.
pub struct Questions(Vec<Question>);

/// The form of one question.
pub struct Question {
    /// Name of the command.
    pub command: String,
    pub title: &'static str,
    /// What the command does, from its help.
    pub about: String,
    pub follows: bool,
    /// Whether the command writes files.
    pub has_files: bool,
    pub fields: Vec<Field>,
}

/// A field of a form.
pub struct Field {
    /// Name of the field in the form.
    pub id: String,
    /// The option with its hyphens. `None` for a positional argument.
    option: Option<String>,
    pub label: String,
    pub help: String,
    pub needed: bool,
    /// Whether the file may be one that does not exist yet.
    pub may_be_new: bool,
    pub input: Input,
}

/// How a field is filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// A single file of the folder.
    File { suits: Suits },
    /// One or more files of the folder.
    Files { suits: Suits },
    /// The name of a file to write.
    NewFile,
    /// Yes or no.
    Switch,
    /// One of several words, each with its help.
    Choice(Vec<(String, String)>),
    /// Any number of texts, one on each line.
    Lines,
    /// A single line of text. `shown` is the placeholder: the default value, or else the name of the value.
    Text { shown: String },
}

/// Which kinds of files a field offers first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Suits {
    Spec,
    /// What was ordered: a spec, or the form that a supplier filled in.
    Ordered,
    Quote,
    Wishes,
    Measurements,
    Limits,
    Calibration,
    Register,
    Table(Table),
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
            (_, "readings") => Self::Table(Table::Readings),
            (_, "runs") => Self::Table(Table::Runs),
            (_, "warm_up") => Self::Table(Table::WarmUp),
            (_, "points") => Self::Table(Table::Points),
            (_, "words") => Self::Words,
            ("compare", _) => Self::Quote,
            ("accept", _) => Self::Ordered,
            _ => Self::Spec,
        }
    }

    /// Whether a file of this kind suits the field.
    pub fn suit(self, kind: &Kind) -> bool {
        match self {
            Self::Spec => matches!(kind, Kind::Spec(_)),
            Self::Ordered => matches!(kind, Kind::Spec(_) | Kind::Table(Table::Unknown)),
            Self::Quote => matches!(kind, Kind::Spec(_) | Kind::Quote(_) | Kind::Table(Table::Unknown)),
            Self::Wishes => matches!(kind, Kind::Wishes(_)),
            Self::Measurements => matches!(kind, Kind::Measurements(_) | Kind::Table(Table::Unknown)),
            Self::Limits => matches!(kind, Kind::SupplierLimits(_)),
            Self::Calibration => matches!(kind, Kind::Calibration),
            Self::Register => matches!(kind, Kind::Register),
            Self::Table(wanted) => {
                matches!(kind, Kind::Table(holds) if *holds == wanted || *holds == Table::Unknown)
            }
            Self::Words => matches!(kind, Kind::Other),
        }
    }
}

/// A filled form: names of fields with their values.
pub type Filled = [(String, String)];

/// A filled form from which no command can be made.
#[derive(Debug, PartialEq, Eq)]
pub struct Misfilled {
    /// Label of the field that is wrong.
    pub label: String,
    /// What is wrong, as a sentence.
    pub reason: String,
}

/// A command made from a filled form.
#[derive(Debug, PartialEq, Eq)]
pub struct Call {
    /// The arguments after the program's name, without `--out`.
    pub words: Vec<String>,
    /// Files that the command reads.
    pub reads: Vec<Name>,
    /// The register that the command may add to.
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

    /// Whether any form has a field of this name that chooses files.
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

    /// Makes the command from a filled form.
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

    /// Whether an error calls the field by this option, or by the placeholder of a positional argument.
    fn is_called(&self, option: &str) -> bool {
        match &self.option {
            Some(own) => own == option,
            None => option.strip_prefix('<').is_some_and(|name| name.eq_ignore_ascii_case(&self.id)),
        }
    }

    /// Whether the field chooses files of the folder.
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
            // A file that is chosen twice counts once.
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

/// Largest number of entries in a field.
const MOST_VALUES: usize = 200;

/// Whether the command of a filled form adds to the register that it names. The other commands only read it.
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

/// The text with a capital first letter.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Help of the command line reworded for a form: options are called by their fields' labels, commands by their titles.
fn in_a_form(help: &str) -> String {
    let said = help
        .replace("may be given several times", "each on a line of its own")
        .replace("; needs --out", "")
        .replace("with --out, also write", "also write");
    // Nobody sees an exit status here.
    let said = said.split(" Exit status ").next().unwrap_or_default();
    let parts = said.split('`').enumerate().map(|(at, part)| match at % 2 {
        0 => without_hyphens(part),
        _ => title_of(part).map_or_else(|| format!("`{part}`"), |title| format!("“{title}”")),
    });
    parts.collect()
}

/// What a command said on standard error, in the words of its form: options are called by their fields' labels, and how
/// to call the command is left out. With it the names of the fields that an error is about.
pub fn told_in_a_form(question: &Question, told: &str) -> (String, Vec<String>) {
    let mut about: Vec<String> = Vec::new();
    let mut said: Vec<String> = Vec::new();
    for line in told.lines() {
        let is_error = line.starts_with("error: ");
        let line = line.split("call it like this: ").next().unwrap_or_default();
        let line = line.split("; `--help` says more").next().unwrap_or_default();
        // The page shows the answer below.
        let line = line.replace("is printed above", "is in the answer");
        if line.trim() == "hint:" {
            continue;
        }
        let mut text = String::new();
        let mut rest = line.as_str();
        while let Some((before, option, after)) = next_option(rest) {
            let field = question.fields.iter().find(|field| field.is_called(option));
            text += before;
            match field {
                // The label already says which field is meant.
                _ if before.ends_with("like this: ") => rest = after.trim_start(),
                Some(field) => {
                    text += &format!("“{}”", field.label);
                    if is_error {
                        about.push(field.id.clone());
                    }
                    rest = after;
                }
                None => {
                    text += &format!("“{}”", option.trim_start_matches('-').replace('-', " "));
                    rest = after;
                }
            }
        }
        said.push(text + rest);
    }
    about.dedup();
    (said.join("\n"), about)
}

/// The first option or placeholder of a text, such as `--date <YYYY-MM-DD>` or `<SPEC>`, with the text before and after
/// it. The backquotes and the value's name that stand with it are left out.
fn next_option(text: &str) -> Option<(&str, &str, &str)> {
    let at = [text.find("--"), text.find("`<")].into_iter().flatten().min()?;
    let before = text[..at].strip_suffix('`').unwrap_or(&text[..at]);
    let quoted = before.len() < at || text[at..].starts_with('`');
    let start = text[at..].trim_start_matches('`');
    let is_of_name = |it: char| it.is_ascii_alphanumeric() || matches!(it, '-' | '<' | '_');
    let end = start.find(|it| !is_of_name(it)).unwrap_or(start.len());
    let (option, mut after) = start.split_at(end);
    if option.trim_matches(['-', '<']).is_empty() {
        return None;
    }
    if quoted {
        after = after.split_once('`').map_or("", |(_, after)| after);
    }
    Some((before, option, after))
}

/// The title of a command; options after the command's name are ignored.
fn title_of(command: &str) -> Option<&'static str> {
    let first = command.split(' ').next()?;
    let mut titled = GROUPS.iter().flat_map(|group| group.questions);
    titled.find(|titled| titled.command == first).map(|titled| titled.title)
}

/// A text with each option replaced by its field's label.
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

/// The command as a user would type it, with words quoted where a shell needs it.
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
        // The kinds of values that are typed. Check that a new one is no path before adding it here: a path belongs in
        // a field for files.
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
            // Help that mentions options of the command line is no use in a form.
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
    fn what_a_command_says_is_told_in_the_words_of_its_form() {
        let questions = Questions::of(&definitions());
        for (command, told, wanted, fields) in [
            (
                "calibrate",
                "error: `--date <YYYY-MM-DD>` is missing\nhint: call it like this: coilwright calibrate --date <D> <SPEC>; `--help` says more",
                "error: “Date” is missing",
                &["date"][..],
            ),
            (
                "register",
                "error: `--reason <REASON>` and `--by <NAME>` are missing\n",
                "error: “Reason” and “By” are missing",
                &["reason", "by"],
            ),
            (
                "heat",
                "error: --current: `300` has no unit\nhint: write the unit too, such as `300 A`",
                "error: “Current”: `300` has no unit\nhint: write the unit too, such as `300 A`",
                &["current"],
            ),
            (
                "uniformity",
                "error: the limit is 300 %\nhint: write it like this: --within 1%",
                "error: the limit is 300 %\nhint: write it like this: 1%",
                &[],
            ),
            ("weigh", "error: `<SPEC>` is missing", "error: “Spec” is missing", &["spec"]),
            ("map", "warning: hot -- mind the coils", "warning: hot -- mind the coils", &[]),
        ] {
            let (said, about) = told_in_a_form(questions.find(command).unwrap(), told);
            assert_eq!(said, wanted);
            assert_eq!(about, fields, "{told}");
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
        // Options that the desk sets itself are not taken from a form.
        let made =
            call("map", &[("spec", "a.json"), ("out", "/tmp"), ("force", "on"), ("json", "on")]).unwrap();
        assert_eq!(made.words, ["map", "a.json"]);
    }
}
