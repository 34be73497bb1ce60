//! Writes what is generated of `plans/`: `cargo run -p loomwright-demo --example write`.
//!
//! The wirings of the written plans come from the design; the faulty twins and the campus are
//! generated whole. The tests of this crate check that the files in the tree are what this writes.

#![allow(clippy::disallowed_methods)] // A chore at the desk: it may write files.

use std::fs;
use std::path::Path;

fn main() -> std::io::Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plans");
    for (path, text) in loomwright_demo::generated() {
        let path = root.join(path);
        fs::create_dir_all(path.parent().unwrap_or(&root))?;
        fs::write(&path, text)?;
        println!("{}", path.display());
    }
    Ok(())
}
