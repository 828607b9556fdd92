//! The modules of the sources: the names each binds and the paths it mentions.

use std::collections::{BTreeMap, BTreeSet};

/// Sources by their path below `src`, such as `field/mod.rs`.
pub type Sources = BTreeMap<String, String>;

/// The meaning of a name in the module that binds it.
#[derive(Clone, Debug)]
pub enum Meaning {
    /// A module of this crate, by its index in [`Tree::modules`].
    Module(usize),
    /// An item written in this module, with the names of its variants if it is an enum.
    Item(BTreeSet<String>),
    /// A path that `use` brings in under this name.
    Import(Vec<String>),
}

/// A meaning of a name, and whether it is visible outside its module.
#[derive(Clone, Debug)]
pub struct Binding {
    pub meaning: Meaning,
    pub visible: bool,
}

/// The place of a path in the syntax.
#[derive(Clone, Debug, PartialEq)]
pub enum How {
    /// `use path as name`.
    Import { name: String, visible: bool },
    /// `use path::*`.
    Glob { visible: bool },
    /// A path in a type, an expression or a pattern.
    Code,
    /// A path among the tokens of a macro or an attribute, where a word need not be a name in scope.
    Token,
}

/// One path and its place.
#[derive(Clone, Debug)]
pub struct Mention {
    pub path: Vec<String>,
    pub line: usize,
    pub how: How,
}

/// One module, inline or a file of its own.
#[derive(Debug, Default)]
pub struct Module {
    pub parent: Option<usize>,
    pub file: String,
    pub bindings: BTreeMap<String, Vec<Binding>>,
    /// Words passed to a macro that writes items: each of them may name an item.
    pub generated: BTreeSet<String>,
    pub mentions: Vec<Mention>,
    /// The types to which an `impl` without a trait adds methods here.
    pub extended: Vec<Mention>,
}

/// Every module that `lib.rs` and `main.rs` reach.
#[derive(Debug, Default)]
pub struct Tree {
    pub modules: Vec<Module>,
    /// Index of the module of `lib.rs`.
    pub library: Option<usize>,
    /// Sources that could not be read: `file:line` and the reason.
    pub unread: Vec<String>,
}

impl Tree {
    /// Index of the root of the crate that holds `module`.
    pub fn root(&self, module: usize) -> usize {
        self.modules[module].parent.map_or(module, |parent| self.root(parent))
    }

    /// Whether `module` is `ancestor` or lies below it.
    pub fn is_within(&self, module: usize, ancestor: usize) -> bool {
        module == ancestor
            || self.modules[module].parent.is_some_and(|parent| self.is_within(parent, ancestor))
    }
}
