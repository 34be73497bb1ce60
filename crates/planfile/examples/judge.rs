//! Reads a plan and, if named, its wiring, and prints what is wrong.
#![allow(clippy::disallowed_methods, reason = "an example does the reading that the crate leaves to its caller")]

use loomwright_planfile::{Source, read_bytes, render_plain};
fn main() {
    let names: Vec<String> = std::env::args().skip(1).collect();
    let bytes: Vec<Vec<u8>> = names.iter().map(|n| std::fs::read(n).expect("a file")).collect();
    let wiring = names.get(1).map(|n| (n.as_str(), bytes[1].as_slice()));
    match read_bytes((&names[0], &bytes[0]), wiring) {
        Ok(loaded) => println!("ok: {} devices, {} cables", loaded.plan.devices.len(), loaded.wiring.cables.len()),
        Err(problems) => {
            let texts: Vec<String> = bytes.iter().map(|b| String::from_utf8_lossy(b).into_owned()).collect();
            let sources: Vec<Source> = names.iter().zip(&texts).map(|(n, t)| Source { name: n, text: t }).collect();
            println!("{}", render_plain(problems.as_slice(), &sources));
        }
    }
}
