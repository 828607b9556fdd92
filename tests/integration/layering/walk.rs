//! Walks the syntax of a file: binds its items and records its paths. Items for tests alone are skipped.

use std::collections::BTreeSet;

use syn::visit::{self, Visit};

use super::source::{Reader, is_for_tests};
use super::tokens;
use super::tree::{How, Meaning, Mention};

/// Keywords that stand before the name of an item.
const WRITES_ITEM: &[&str] = &["const", "enum", "fn", "static", "struct", "trait", "type"];

/// The line of the source with `word`.
fn line(word: &syn::Ident) -> usize {
    word.span().start().line
}

/// Names that a function's patterns bind: its arguments, variables and the arguments of its closures.
#[derive(Default)]
struct Locals(BTreeSet<String>);

impl Visit<'_> for Locals {
    fn visit_pat_ident(&mut self, pattern: &syn::PatIdent) {
        let name = pattern.ident.to_string();
        if !name.starts_with(char::is_uppercase) {
            self.0.insert(name);
        }
        visit::visit_pat_ident(self, pattern);
    }
}

impl Reader<'_> {
    /// Records a path, unless it is a single word that is a variable of the enclosing function.
    fn mention(&mut self, path: Vec<String>, line: usize, how: How) {
        let is_local = path.len() == 1 && self.locals.iter().any(|names| names.contains(&path[0]));
        if !is_local && !["Self", "self"].contains(&path.join("::").as_str()) {
            self.tree.modules[self.at].mentions.push(Mention { path, line, how });
        }
    }

    fn mention_tokens(&mut self, tokens: proc_macro2::TokenStream) {
        for (path, line) in tokens::paths(tokens) {
            self.mention(path, line, How::Token);
        }
    }

    /// Binds and records every name of a `use` tree.
    fn import(&mut self, before: &[String], tree: &syn::UseTree, visibility: &syn::Visibility) {
        let with = |word: &syn::Ident| [before, &[word.to_string()]].concat();
        let visible = !matches!(visibility, syn::Visibility::Inherited);
        match tree {
            syn::UseTree::Path(path) => self.import(&with(&path.ident), &path.tree, visibility),
            syn::UseTree::Group(group) => {
                group.items.iter().for_each(|tree| self.import(before, tree, visibility));
            }
            syn::UseTree::Glob(glob) => {
                let line = glob.star_token.spans[0].start().line;
                self.mention(before.to_vec(), line, How::Glob { visible });
            }
            syn::UseTree::Name(name) => self.import_as(with(&name.ident), &name.ident, None, visibility),
            syn::UseTree::Rename(name) => {
                self.import_as(with(&name.ident), &name.ident, Some(name.rename.to_string()), visibility);
            }
        }
    }

    fn import_as(
        &mut self,
        mut path: Vec<String>,
        word: &syn::Ident,
        rename: Option<String>,
        visibility: &syn::Visibility,
    ) {
        if path.len() > 1 && word == "self" {
            path.pop();
        }
        let name = rename.unwrap_or_else(|| path[path.len() - 1].clone());
        self.bind(&name, Meaning::Import(path.clone()), visibility);
        let visible = !matches!(visibility, syn::Visibility::Inherited);
        self.mention(path, line(word), How::Import { name, visible });
    }

    /// Binds the name of an item defined here.
    fn bind_item(&mut self, item: &syn::Item) {
        let (name, visibility) = match item {
            syn::Item::Const(item) => (&item.ident, &item.vis),
            syn::Item::Enum(item) => {
                let variants = item.variants.iter().map(|variant| variant.ident.to_string()).collect();
                return self.bind(&item.ident.to_string(), Meaning::Item(variants), &item.vis);
            }
            syn::Item::Fn(item) => (&item.sig.ident, &item.vis),
            syn::Item::Static(item) => (&item.ident, &item.vis),
            syn::Item::Struct(item) => (&item.ident, &item.vis),
            syn::Item::Trait(item) => (&item.ident, &item.vis),
            syn::Item::Type(item) => (&item.ident, &item.vis),
            syn::Item::Union(item) => (&item.ident, &item.vis),
            syn::Item::Macro(item) => return self.bind_macro(item),
            _ => return,
        };
        self.bind(&name.to_string(), Meaning::Item(BTreeSet::new()), visibility);
    }

    /// Binds a `macro_rules!`. Keeps the names of the items it writes, or those passed to the call of a macro.
    fn bind_macro(&mut self, item: &syn::ItemMacro) {
        let words = tokens::words(item.mac.tokens.clone());
        let generated = &mut self.tree.modules[self.at].generated;
        let Some(name) = &item.ident else { return generated.extend(words) };
        let named = words.windows(2).filter(|pair| WRITES_ITEM.contains(&pair[0].as_str()));
        generated.extend(named.map(|pair| pair[1].clone()));
        self.bind(&name.to_string(), Meaning::Item(BTreeSet::new()), &syn::Visibility::Inherited);
    }
}

/// Words of a path, without its generic arguments.
fn path_words(path: &syn::Path) -> Vec<String> {
    path.segments.iter().map(|segment| segment.ident.to_string()).collect()
}

impl<'a> Visit<'a> for Reader<'_> {
    fn visit_item(&mut self, item: &'a syn::Item) {
        let attributes = match item {
            syn::Item::Const(item) => &item.attrs,
            syn::Item::Enum(item) => &item.attrs,
            syn::Item::Fn(item) => &item.attrs,
            syn::Item::Impl(item) => &item.attrs,
            syn::Item::Macro(item) => &item.attrs,
            syn::Item::Mod(item) => &item.attrs,
            syn::Item::Static(item) => &item.attrs,
            syn::Item::Struct(item) => &item.attrs,
            syn::Item::Trait(item) => &item.attrs,
            syn::Item::Type(item) => &item.attrs,
            syn::Item::Use(item) => &item.attrs,
            _ => &vec![],
        };
        if !is_for_tests(attributes) {
            self.bind_item(item);
            visit::visit_item(self, item);
        }
    }

    fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
        let bindings = self.tree.modules[self.at].bindings.get(&item.ident.to_string());
        let module = bindings.into_iter().flatten().find_map(|binding| match binding.meaning {
            Meaning::Module(module) => Some(module),
            _ => None,
        });
        if let (Some(module), Some(_)) = (module, &item.content) {
            let outside = std::mem::replace(&mut self.at, module);
            visit::visit_item_mod(self, item);
            self.at = outside;
        }
    }

    fn visit_item_use(&mut self, item: &'a syn::ItemUse) {
        if item.leading_colon.is_none() {
            self.import(&[], &item.tree, &item.vis);
        }
    }

    fn visit_item_fn(&mut self, item: &'a syn::ItemFn) {
        let mut locals = Locals::default();
        locals.visit_item_fn(item);
        self.locals.push(locals.0);
        visit::visit_item_fn(self, item);
        self.locals.pop();
    }

    fn visit_item_impl(&mut self, item: &'a syn::ItemImpl) {
        if let (None, syn::Type::Path(of)) = (&item.trait_, &*item.self_ty) {
            let (path, line) = (path_words(&of.path), line(&of.path.segments[0].ident));
            self.tree.modules[self.at].extended.push(Mention { path, line, how: How::Code });
        }
        visit::visit_item_impl(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'a syn::ImplItemFn) {
        if is_for_tests(&item.attrs) {
            return;
        }
        let mut locals = Locals::default();
        locals.visit_impl_item_fn(item);
        self.locals.push(locals.0);
        visit::visit_impl_item_fn(self, item);
        self.locals.pop();
    }

    fn visit_trait_item_fn(&mut self, item: &'a syn::TraitItemFn) {
        let mut locals = Locals::default();
        locals.visit_trait_item_fn(item);
        self.locals.push(locals.0);
        visit::visit_trait_item_fn(self, item);
        self.locals.pop();
    }

    fn visit_field(&mut self, field: &'a syn::Field) {
        if !is_for_tests(&field.attrs) {
            visit::visit_field(self, field);
        }
    }

    fn visit_local(&mut self, local: &'a syn::Local) {
        if !is_for_tests(&local.attrs) {
            visit::visit_local(self, local);
        }
    }

    /// The path in `pub(in path)` is not an import.
    fn visit_visibility(&mut self, _: &'a syn::Visibility) {}

    fn visit_path(&mut self, path: &'a syn::Path) {
        if path.leading_colon.is_none() {
            self.mention(path_words(path), line(&path.segments[0].ident), How::Code);
        }
        visit::visit_path(self, path);
    }

    /// A name in a pattern with a capital is a constant or a variant.
    fn visit_pat_ident(&mut self, pattern: &'a syn::PatIdent) {
        let name = pattern.ident.to_string();
        if name.starts_with(char::is_uppercase) {
            self.mention(vec![name], line(&pattern.ident), How::Code);
        }
        visit::visit_pat_ident(self, pattern);
    }

    fn visit_macro(&mut self, call: &'a syn::Macro) {
        self.visit_path(&call.path);
        self.mention_tokens(call.tokens.clone());
    }

    fn visit_attribute(&mut self, attribute: &'a syn::Attribute) {
        match &attribute.meta {
            syn::Meta::List(list) => self.mention_tokens(list.tokens.clone()),
            syn::Meta::NameValue(pair) if !attribute.path().is_ident("doc") => self.visit_expr(&pair.value),
            _ => {}
        }
    }
}
