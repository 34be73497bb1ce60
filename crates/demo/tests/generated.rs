//! The generated files in the tree are what the generator writes.
#![allow(clippy::disallowed_methods)] // Tests may read the tree.

#[test]
fn files_in_the_tree_are_what_the_generator_writes() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plans");
    for (path, text) in loomwright_demo::generated() {
        let on_disk = std::fs::read_to_string(root.join(&path)).unwrap_or_default();
        assert!(on_disk == text, "{path} differs: run `cargo run -p loomwright-demo --example write`");
    }
}
