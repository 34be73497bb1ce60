//! What a syntax tree says about size and habits.

use super::Fault;
use super::sources::Source;
use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};
use syn::{Attribute, FnArg, Meta, Signature, UseTree, Visibility};

/// One function or method with a body.
pub struct Function {
    /// Its name.
    pub name: String,
    /// Where it begins.
    pub line: usize,
    /// From its signature to its closing brace.
    pub lines: usize,
    /// Parameters, `self` not counted.
    pub parameters: usize,
    /// Whether it is test code.
    pub is_test: bool,
}

/// A line and what is wrong there.
pub type Spot = (usize, String);

/// What one file's syntax tree says.
#[derive(Default)]
pub struct Measures {
    /// Every function with a body.
    pub functions: Vec<Function>,
    /// Lines in test modules.
    pub test_lines: usize,
    /// Public items.
    pub public: usize,
    /// Public items with a doc comment.
    pub documented: usize,
    /// Functions marked as tests.
    pub tests: usize,
    /// Habits that the house does not allow.
    pub habits: Vec<Spot>,
    /// Paths named outside tests, `a::b::c`.
    pub paths: Vec<Spot>,
    depth_in_tests: usize,
}

impl Measures {
    /// Measures a parsed file.
    pub fn of(file: &syn::File, is_test: bool) -> Self {
        let mut measures = Self { depth_in_tests: usize::from(is_test), ..Self::default() };
        measures.visit_file(file);
        measures
    }

    fn in_test(&self) -> bool {
        self.depth_in_tests > 0
    }

    fn function(&mut self, signature: &Signature, end: usize) {
        let line = signature.fn_token.span.start().line;
        let parameters = signature.inputs.iter().filter(|input| !matches!(input, FnArg::Receiver(_))).count();
        let is_test = self.in_test();
        self.functions.push(Function { name: signature.ident.to_string(), line, lines: end + 1 - line, parameters, is_test });
    }

    fn public_item(&mut self, visibility: &Visibility, attributes: &[Attribute]) {
        if matches!(visibility, Visibility::Public(_)) {
            self.public_part(attributes);
        }
    }

    fn public_part(&mut self, attributes: &[Attribute]) {
        if !self.in_test() {
            self.public += 1;
            self.documented += usize::from(attributes.iter().any(|attribute| attribute.path().is_ident("doc")));
        }
    }

    fn within(&mut self, attributes: &[Attribute], visit: impl FnOnce(&mut Self)) {
        let enters = usize::from(attributes.iter().any(is_test_attribute));
        self.depth_in_tests += enters;
        visit(self);
        self.depth_in_tests -= enters;
    }

    fn tokens(&mut self, tokens: TokenStream) {
        let mut path = String::new();
        let mut line = 0;
        for token in tokens {
            match token {
                TokenTree::Group(group) => {
                    self.end_of_path(&mut path, line);
                    self.tokens(group.stream());
                }
                TokenTree::Ident(ident) if path.is_empty() || path.ends_with(':') || path.ends_with('.') => {
                    line = ident.span().start().line;
                    path.push_str(&ident.to_string());
                }
                TokenTree::Punct(punct) if matches!(punct.as_char(), ':' | '.') => path.push(punct.as_char()),
                _ => self.end_of_path(&mut path, line),
            }
        }
        self.end_of_path(&mut path, line);
    }

    fn end_of_path(&mut self, path: &mut String, line: usize) {
        let path = std::mem::take(path);
        if self.in_test() {
            return;
        }
        if path.ends_with(".unwrap") {
            self.habits.push((line, "`unwrap` outside tests: say the invariant with `expect`, or handle it".to_owned()));
        }
        if path.contains("::") {
            self.paths.push((line, path));
        }
    }

    fn imports(&mut self, tree: &UseTree, before: &str, line: usize) {
        let join = |name: &syn::Ident| if before.is_empty() { name.to_string() } else { format!("{before}::{name}") };
        match tree {
            UseTree::Path(path) => self.imports(&path.tree, &join(&path.ident), line),
            UseTree::Name(name) => self.paths.push((line, join(&name.ident))),
            UseTree::Rename(rename) => self.paths.push((line, join(&rename.ident))),
            UseTree::Glob(_) => self.paths.push((line, format!("{before}::*"))),
            UseTree::Group(group) => group.items.iter().for_each(|item| self.imports(item, before, line)),
        }
    }
}

fn is_test_attribute(attribute: &Attribute) -> bool {
    match &attribute.meta {
        Meta::List(list) if list.path.is_ident("cfg") => {
            let condition = list.tokens.to_string();
            condition == "test" || (condition.starts_with("all") && condition.contains("test"))
        }
        Meta::Path(path) => path.segments.last().is_some_and(|last| last.ident == "test"),
        Meta::List(list) => list.path.segments.last().is_some_and(|last| last.ident == "test"),
        Meta::NameValue(_) => false,
    }
}

impl<'ast> Visit<'ast> for Measures {
    fn visit_attribute(&mut self, attribute: &'ast Attribute) {
        for word in ["ignore", "should_panic"] {
            if attribute.path().is_ident(word) {
                let line = attribute.pound_token.spans[0].start().line;
                self.habits.push((line, format!("`#[{word}]` hides what a test knows: assert the behaviour instead")));
            }
        }
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.tests += usize::from(item.attrs.iter().any(|attribute| attribute.path().segments.last().is_some_and(|s| s.ident == "test")));
        self.public_item(&item.vis, &item.attrs);
        self.within(&item.attrs, |measures| {
            measures.function(&item.sig, item.block.brace_token.span.close().end().line);
            visit::visit_item_fn(measures, item);
        });
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.public_item(&item.vis, &item.attrs);
        self.within(&item.attrs, |measures| {
            measures.function(&item.sig, item.block.brace_token.span.close().end().line);
            visit::visit_impl_item_fn(measures, item);
        });
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.function(&item.sig, block.brace_token.span.close().end().line);
        }
        visit::visit_trait_item_fn(self, item);
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        let was_in_test = self.in_test();
        self.within(&item.attrs, |measures| {
            if let (Some((brace, _)), false, true) = (&item.content, was_in_test, measures.in_test()) {
                measures.test_lines += brace.span.close().end().line + 1 - item.mod_token.span.start().line;
            }
            visit::visit_item_mod(measures, item);
        });
    }

    fn visit_item_struct(&mut self, item: &'ast syn::ItemStruct) {
        self.public_item(&item.vis, &item.attrs);
        if matches!(item.vis, Visibility::Public(_)) {
            item.fields.iter().filter(|field| field.ident.is_some()).for_each(|field| self.public_item(&field.vis, &field.attrs));
        }
        visit::visit_item_struct(self, item);
    }

    fn visit_item_enum(&mut self, item: &'ast syn::ItemEnum) {
        self.public_item(&item.vis, &item.attrs);
        if matches!(item.vis, Visibility::Public(_)) {
            item.variants.iter().for_each(|variant| self.public_part(&variant.attrs));
        }
        visit::visit_item_enum(self, item);
    }

    fn visit_item_trait(&mut self, item: &'ast syn::ItemTrait) {
        self.public_item(&item.vis, &item.attrs);
        visit::visit_item_trait(self, item);
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.public_item(&item.vis, &item.attrs);
        visit::visit_item_const(self, item);
    }

    fn visit_item_type(&mut self, item: &'ast syn::ItemType) {
        self.public_item(&item.vis, &item.attrs);
        visit::visit_item_type(self, item);
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let line = item.use_token.span.start().line;
        self.within(&item.attrs, |measures| {
            if !measures.in_test() {
                measures.imports(&item.tree, "", line);
            }
        });
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        if !self.in_test() && path.segments.len() > 1 {
            let names: Vec<String> = path.segments.iter().map(|segment| segment.ident.to_string()).collect();
            let line = path.segments.first().map_or(0, |segment| segment.ident.span().start().line);
            self.paths.push((line, names.join("::")));
        }
        visit::visit_path(self, path);
    }

    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        if call.method == "unwrap" && call.args.is_empty() && !self.in_test() {
            let line = call.method.span().start().line;
            self.habits.push((line, "`unwrap` outside tests: say the invariant with `expect`, or handle it".to_owned()));
        }
        visit::visit_expr_method_call(self, call);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        for word in ["todo", "unimplemented"] {
            if call.path.is_ident(word) {
                self.habits.push((call.bang_token.span.start().line, format!("`{word}!` is a hole in the work")));
            }
        }
        visit::visit_macro(self, call);
        if !call.path.is_ident("macro_rules") {
            self.tokens(call.tokens.clone());
        }
    }
}

/// Habits that the house does not allow, in one file.
pub fn habit_faults(source: &Source) -> Vec<Fault> {
    source.measures.habits.iter().map(|(line, says)| Fault::new(format!("{}:{line}", source.path), says)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(text: &str) -> Measures {
        Measures::of(&syn::parse_str(text).expect("the test's own source"), false)
    }

    #[test]
    fn counts_lines_and_parameters() {
        let measures = measured("impl A {\n  fn f(&self, a: u8, b: u8) {\n    g();\n  }\n}\nfn g() {}\n");
        let seen: Vec<_> = measures.functions.iter().map(|f| (f.name.as_str(), f.line, f.lines, f.parameters)).collect();
        assert_eq!(seen, [("f", 2, 3, 2), ("g", 6, 1, 0)]);
    }

    #[test]
    fn sees_bad_habits_also_inside_macros_but_not_in_tests() {
        for (text, count) in [
            ("fn f() { a.unwrap(); }", 1),
            ("fn f() { println!(\"{}\", a.b().unwrap()); }", 1),
            ("fn f() { a.unwrap_or_default(); }", 0),
            ("fn f() { todo!() }", 1),
            ("#[test]\n#[ignore]\nfn f() {}", 1),
            ("#[cfg(test)]\nmod tests { fn f() { a.unwrap(); } }", 0),
            ("#[test]\nfn f() { a.unwrap(); }", 0),
        ] {
            assert_eq!(measured(text).habits.len(), count, "{text}");
        }
    }

    #[test]
    fn counts_public_items_and_their_docs() {
        let measures = measured("/// A.\npub struct A {\n /// B.\n pub b: u8,\n pub c: u8,\n d: u8 }\npub(crate) fn f() {}\n");
        assert_eq!((measures.public, measures.documented), (3, 2));
    }

    #[test]
    fn lists_every_imported_path() {
        let measures = measured("use std::{fmt, fs::{self, File as F}};\nfn f() { std::env::args(); }");
        let paths: Vec<&str> = measures.paths.iter().map(|(_, path)| path.as_str()).collect();
        assert_eq!(paths, ["std::fmt", "std::fs::self", "std::fs::File", "std::env::args"]);
    }
}
