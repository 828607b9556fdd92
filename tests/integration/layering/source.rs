//! Reads the files into modules, starting from the two roots and following every `mod`.

use std::collections::BTreeSet;

use syn::visit::Visit;

use super::tree::{Binding, Meaning, Module, Sources, Tree};

impl Tree {
    /// Reads every module from the two roots; a file that no `mod` declares is listed as unread.
    ///
    /// # Panics
    /// If a source is not Rust.
    pub fn read(sources: &Sources) -> Self {
        let mut reader =
            Reader { sources, tree: Self::default(), at: 0, folder: String::new(), locals: vec![] };
        let mut reached = BTreeSet::new();
        for root in ["lib.rs", "main.rs"] {
            if sources.contains_key(root) {
                let index = reader.add_module(None, root);
                if root == "lib.rs" {
                    reader.tree.library = Some(index);
                }
                reader.read_file(root, index, "", &mut reached);
            }
        }
        let Reader { mut tree, .. } = reader;
        for file in sources.keys().filter(|file| !reached.contains(*file)) {
            tree.unread.push(format!("src/{file}: no `mod` declares it"));
        }
        tree
    }
}

/// Whether the attributes restrict an item to test builds.
pub fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("test")
            || attribute.path().is_ident("cfg")
                && attribute.parse_args::<syn::Meta>().is_ok_and(|condition| match condition {
                    syn::Meta::Path(path) => path.is_ident("test"),
                    syn::Meta::List(list) if list.path.is_ident("all") => {
                        list.tokens.into_iter().any(|token| token.to_string() == "test")
                    }
                    _ => false,
                })
    })
}

/// A module file declared by `mod name;` and not yet read.
struct Declared {
    module: usize,
    file: String,
    folder: String,
}

/// Walks one file after another.
pub struct Reader<'a> {
    sources: &'a Sources,
    pub tree: Tree,
    /// The module being read.
    pub at: usize,
    /// Folder in which the files of that module's children lie, with its slash.
    folder: String,
    /// Names that the patterns of each enclosing function bind.
    pub locals: Vec<BTreeSet<String>>,
}

impl Reader<'_> {
    fn add_module(&mut self, parent: Option<usize>, file: &str) -> usize {
        self.tree.modules.push(Module { parent, file: file.into(), ..Module::default() });
        self.tree.modules.len() - 1
    }

    fn read_file(&mut self, file: &str, module: usize, folder: &str, reached: &mut BTreeSet<String>) {
        reached.insert(file.into());
        let parsed = syn::parse_file(&self.sources[file])
            .unwrap_or_else(|error| panic!("src/{file}:{}: {error}", error.span().start().line));
        (self.at, self.folder) = (module, folder.into());
        for declared in self.declare(&parsed.items, reached) {
            self.read_file(&declared.file, declared.module, &declared.folder, reached);
        }
        (self.at, self.folder) = (module, folder.into());
        self.visit_file(&parsed);
    }

    /// Adds the modules among `items`, inline ones with their contents, and lists the files to read.
    fn declare(&mut self, items: &[syn::Item], reached: &mut BTreeSet<String>) -> Vec<Declared> {
        let mut declared = vec![];
        for item in items {
            let syn::Item::Mod(item) = item else { continue };
            let name = item.ident.to_string();
            let folder = format!("{}{name}/", self.folder);
            if is_for_tests(&item.attrs) {
                self.pass_over(&folder, reached);
                continue;
            }
            let candidates = [format!("{}{name}.rs", self.folder), format!("{folder}mod.rs")];
            let own = self.tree.modules[self.at].file.clone();
            let found = candidates.into_iter().find(|file| self.sources.contains_key(file));
            let Some(file) = (if item.content.is_some() { Some(own.clone()) } else { found }) else {
                self.tree
                    .unread
                    .push(format!("src/{own}:{}: no file for `mod {name}`", item.ident.span().start().line));
                continue;
            };
            let module = self.add_module(Some(self.at), &file);
            self.bind(&name, Meaning::Module(module), &item.vis);
            if let Some((_, items)) = &item.content {
                let outside = (self.at, std::mem::replace(&mut self.folder, folder));
                self.at = module;
                declared.extend(self.declare(items, reached));
                (self.at, self.folder) = outside;
            } else {
                declared.push(Declared { module, file, folder });
            }
        }
        declared
    }

    /// Marks the files of a test module as reached, without reading them.
    fn pass_over(&self, folder: &str, reached: &mut BTreeSet<String>) {
        let file = format!("{}.rs", folder.trim_end_matches('/'));
        let below = self.sources.keys().filter(|name| name.starts_with(folder) || **name == file);
        reached.extend(below.cloned());
    }

    pub fn bind(&mut self, name: &str, meaning: Meaning, visibility: &syn::Visibility) {
        let visible = !matches!(visibility, syn::Visibility::Inherited);
        let bindings = &mut self.tree.modules[self.at].bindings;
        bindings.entry(name.into()).or_default().push(Binding { meaning, visible });
    }
}
