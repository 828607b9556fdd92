//! Follows every path to the file that defines the item it names.

use std::collections::{BTreeMap, BTreeSet};

use super::tree::{How, Meaning, Mention, Tree};

/// The name by which the program refers to this crate.
const CRATE: &str = "coilwright";

/// One file names an item that another defines.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrow {
    pub from: String,
    pub line: usize,
    pub to: String,
    /// The item's name where it is defined, or that of the module.
    pub name: String,
    /// The path as written in `from`.
    pub path: String,
}

impl std::fmt::Display for Arrow {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { from, line, to, name, path } = self;
        write!(f, "src/{from}:{line}: {path} (src/{to}, {name})")
    }
}

/// Every arrow, once for each pair of files and name, and the paths that lead nowhere.
#[derive(Debug, Default)]
pub struct Imports {
    pub arrows: Vec<Arrow>,
    /// From a file that adds methods to a type, to the file that defines the type.
    pub extensions: Vec<Arrow>,
    pub unresolved: Vec<String>,
}

/// The target of a path.
#[derive(Clone, Debug, PartialEq)]
enum Found {
    Module(usize),
    /// An item and the module that defines it.
    Item(usize, String),
    /// Another crate.
    Outside,
}

/// Names being looked up, to stop at imports that run in a ring.
type Asked = Vec<(usize, String, bool)>;

/// Follows every mention in `tree`; `outside` are the crates it may name.
pub fn imports(tree: &Tree, outside: &BTreeSet<String>) -> Imports {
    let resolver = Resolver { tree, outside };
    let mut first: BTreeMap<(String, String, String), Arrow> = BTreeMap::new();
    let mut unresolved = tree.unread.clone();
    let mut extensions = vec![];
    for module in 0..tree.modules.len() {
        for mention in &tree.modules[module].mentions {
            match resolver.arrow(module, mention) {
                Ok(Some(arrow)) => {
                    let key = (arrow.from.clone(), arrow.to.clone(), arrow.name.clone());
                    let kept = first.entry(key).or_insert_with(|| arrow.clone());
                    if arrow.line < kept.line {
                        *kept = arrow;
                    }
                }
                Ok(None) => {}
                Err(missing) => unresolved.push(missing),
            }
        }
        let extended = tree.modules[module].extended.iter();
        extensions.extend(extended.filter_map(|mention| resolver.arrow(module, mention).ok().flatten()));
    }
    Imports { arrows: first.into_values().collect(), extensions, unresolved }
}

struct Resolver<'a> {
    tree: &'a Tree,
    outside: &'a BTreeSet<String>,
}

impl Resolver<'_> {
    /// The arrow of a mention; `None` if it stays in its file, is another crate's or is covered by a later mention.
    fn arrow(&self, module: usize, mention: &Mention) -> Result<Option<Arrow>, String> {
        let file = &self.tree.modules[module].file;
        let path = mention.path.join("::");
        let Some(found) = self.follow(module, &mention.path, true, &mut vec![]) else {
            let missing = format!("src/{file}:{}: {path} leads nowhere", mention.line);
            return if self.must_resolve(mention) { Err(missing) } else { Ok(None) };
        };
        let (target, name) = match found {
            Found::Outside => return Ok(None),
            Found::Module(target) if self.is_told_elsewhere(module, target, mention) => return Ok(None),
            Found::Module(target) => (target, mention.path[mention.path.len() - 1].clone()),
            Found::Item(target, name) => (target, name),
        };
        let handed_on =
            matches!(mention.how, How::Import { visible: true, .. } | How::Glob { visible: true })
                && self.tree.is_within(target, module);
        let to = &self.tree.modules[target].file;
        if handed_on || to == file {
            return Ok(None);
        }
        Ok(Some(Arrow { from: file.clone(), line: mention.line, to: to.clone(), name, path }))
    }

    /// Whether a path that leads nowhere is a failure. A capital may be a type parameter or a name of the prelude, and
    /// a macro's tokens may be anything but a path from a known place.
    fn must_resolve(&self, mention: &Mention) -> bool {
        let first = mention.path[0].as_str();
        let anchored = ["crate", "super", "self", CRATE].contains(&first);
        match mention.how {
            How::Import { .. } | How::Glob { .. } => true,
            How::Token => anchored && mention.path.len() > 1,
            How::Code => mention.path.len() > 1 && (anchored || !first.starts_with(char::is_uppercase)),
        }
    }

    /// Whether the mentions through an imported module, or through a glob, show which of its items are used.
    fn is_told_elsewhere(&self, module: usize, target: usize, mention: &Mention) -> bool {
        let mut mentions = self.tree.modules[module].mentions.iter();
        match &mention.how {
            How::Import { name, .. } => mentions.any(|other| {
                matches!(other.how, How::Code | How::Token) && other.path.len() > 1 && other.path[0] == *name
            }),
            How::Glob { .. } => mentions.any(|other| {
                let word = &other.path[0];
                !self.tree.modules[module].bindings.contains_key(word)
                    && self.lookup_from(target, word, other.path.len() == 1, module, &mut vec![]).is_some()
            }),
            How::Code | How::Token => mention.path.len() == 1,
        }
    }

    /// Follows `path` as written in `module`, to an item rather than a module of that name if `to_item`. `None` if a
    /// word of it cannot be found.
    fn follow(&self, module: usize, path: &[String], to_item: bool, asked: &mut Asked) -> Option<Found> {
        let wants_item = |index: usize| to_item && index + 1 == path.len();
        let mut found = self.first(module, &path[0], wants_item(0), asked)?;
        for (index, word) in path.iter().enumerate().skip(1) {
            let Found::Module(at) = found else { return Some(found) };
            found = match word.as_str() {
                "super" => Found::Module(self.tree.modules[at].parent?),
                "self" => found,
                _ => self.lookup_from(at, word, wants_item(index), module, asked)?,
            };
        }
        Some(found)
    }

    /// The meaning of the first word of a path.
    fn first(&self, module: usize, word: &str, to_item: bool, asked: &mut Asked) -> Option<Found> {
        match word {
            "crate" => return Some(Found::Module(self.tree.root(module))),
            "self" => return Some(Found::Module(module)),
            "super" => return self.tree.modules[module].parent.map(Found::Module),
            _ => {}
        }
        let in_scope = self.lookup_from(module, word, to_item, module, asked);
        in_scope.or_else(|| match word {
            CRATE if self.tree.library != Some(self.tree.root(module)) => {
                self.tree.library.map(Found::Module)
            }
            _ => self.outside.contains(word).then_some(Found::Outside),
        })
    }

    /// The meaning of `word` in the module `at`, seen from the module `from`: first by its own bindings, then by globs,
    /// then by items that its macros may write. If `to_item`, an item rather than a module.
    fn lookup_from(
        &self,
        at: usize,
        word: &str,
        to_item: bool,
        from: usize,
        asked: &mut Asked,
    ) -> Option<Found> {
        let question = (at, word.to_string(), to_item);
        if asked.contains(&question) {
            return None;
        }
        asked.push(question);
        let found = self
            .bound(at, word, to_item, from, asked)
            .or_else(|| self.through_globs(at, word, to_item, from, asked))
            .or_else(|| {
                let generated = self.tree.modules[at].generated.contains(word);
                generated.then(|| Found::Item(at, word.into()))
            });
        asked.pop();
        found
    }

    fn bound(&self, at: usize, word: &str, to_item: bool, from: usize, asked: &mut Asked) -> Option<Found> {
        let bindings = self.tree.modules[at].bindings.get(word)?;
        let seen = bindings.iter().filter(|binding| binding.visible || self.tree.is_within(from, at));
        let mut found: Vec<Found> = seen
            .filter_map(|binding| match &binding.meaning {
                Meaning::Module(module) => Some(Found::Module(*module)),
                Meaning::Item(_) => Some(Found::Item(at, word.into())),
                Meaning::Import(path) => self.follow(at, path, to_item, asked),
            })
            .collect();
        found.sort_by_key(|found| matches!(found, Found::Module(_)) == to_item);
        found.into_iter().next()
    }

    fn through_globs(
        &self,
        at: usize,
        word: &str,
        to_item: bool,
        from: usize,
        asked: &mut Asked,
    ) -> Option<Found> {
        let globs = self.tree.modules[at].mentions.iter().filter(|mention| match mention.how {
            How::Glob { visible } => visible || self.tree.is_within(from, at),
            _ => false,
        });
        globs.into_iter().find_map(|glob| match self.follow(at, &glob.path, false, asked)? {
            Found::Module(module) => self.lookup_from(module, word, to_item, at, asked),
            Found::Item(module, name) => {
                let is_variant = self.variants(module, &name).any(|variant| variant == word);
                is_variant.then_some(Found::Item(module, name))
            }
            Found::Outside => None,
        })
    }

    /// Names of the variants of an enum; none of any other item.
    fn variants(&self, module: usize, name: &str) -> impl Iterator<Item = &str> {
        let bindings = self.tree.modules[module].bindings.get(name);
        bindings.into_iter().flatten().flat_map(|binding| match &binding.meaning {
            Meaning::Item(variants) => variants.iter().map(String::as_str).collect(),
            _ => vec![],
        })
    }
}
