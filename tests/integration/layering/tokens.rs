//! Paths among the tokens of macros and attributes, which have no syntax tree.

use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// Every path with its line: `a::b::c`, a lone word, `a::{b, c}` as two paths, and a path in quotes as `serde` takes it.
///
/// Words after a dot (methods, fields), after `$` (except `$crate`) and before a colon (fields) are left out.
pub fn paths(tokens: TokenStream) -> Vec<(Vec<String>, usize)> {
    let mut found = vec![];
    collect(tokens, &[], &mut found);
    found
}

/// Every word.
pub fn words(tokens: TokenStream) -> Vec<String> {
    let words = tokens.into_iter().map(|token| match token {
        TokenTree::Ident(word) => vec![word.to_string()],
        TokenTree::Group(group) => words(group.stream()),
        _ => vec![],
    });
    words.flatten().collect()
}

fn is_mark(token: Option<&TokenTree>, mark: char) -> bool {
    matches!(token, Some(TokenTree::Punct(punct)) if punct.as_char() == mark)
}

fn is_double_colon(tokens: &[TokenTree]) -> bool {
    is_mark(tokens.first(), ':') && is_mark(tokens.get(1), ':')
}

fn collect(tokens: TokenStream, before: &[String], found: &mut Vec<(Vec<String>, usize)>) {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let mut at = 0;
    while at < tokens.len() {
        match &tokens[at] {
            TokenTree::Group(group) => collect(group.stream(), &[], found),
            TokenTree::Literal(literal) => found.extend(quoted(literal)),
            TokenTree::Ident(_) => {
                let taken = take_path(&tokens[at..], before, found, is_word_of_its_own(&tokens, at));
                at += taken;
                continue;
            }
            TokenTree::Punct(_) => {}
        }
        at += 1;
    }
}

/// Whether the word at `at` starts a path, rather than naming a field, a method or a macro's argument.
fn is_word_of_its_own(tokens: &[TokenTree], at: usize) -> bool {
    let before = at.checked_sub(1).map(|before| &tokens[before]);
    let after_dot = is_mark(before, '.') && !(at > 1 && is_mark(Some(&tokens[at - 2]), '.'));
    let given = is_mark(before, '$') && tokens[at].to_string() != "crate";
    let after = &tokens[at + 1..];
    let is_field = is_mark(after.first(), ':') && !is_double_colon(after);
    let in_path = at > 1 && is_double_colon(&tokens[at - 2..]);
    !(after_dot || given || is_field || in_path || is_mark(before, '\''))
}

/// Records the path at the start of `tokens` and returns the number of its tokens.
fn take_path(
    tokens: &[TokenTree],
    before: &[String],
    found: &mut Vec<(Vec<String>, usize)>,
    counts: bool,
) -> usize {
    let line = tokens[0].span().start().line;
    let mut path = before.to_vec();
    path.push(tokens[0].to_string());
    let mut taken = 1;
    while is_double_colon(&tokens[taken..]) {
        match tokens.get(taken + 2) {
            Some(TokenTree::Ident(word)) => path.push(word.to_string()),
            Some(TokenTree::Group(group)) if group.delimiter() == Delimiter::Brace => {
                collect(group.stream(), &path, found);
                return taken + 3;
            }
            _ => break,
        }
        taken += 3;
    }
    if counts {
        found.push((path, line));
    }
    taken
}

/// A path of at least two words in quotes.
fn quoted(literal: &proc_macro2::Literal) -> Option<(Vec<String>, usize)> {
    let text = literal.to_string();
    let text = text.strip_prefix('"')?.strip_suffix('"')?;
    let path: syn::Path = syn::parse_str(text).ok()?;
    let words: Vec<String> = path.segments.iter().map(|segment| segment.ident.to_string()).collect();
    (words.len() > 1 && path.leading_colon.is_none()).then(|| (words, literal.span().start().line))
}
