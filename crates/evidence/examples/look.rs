//! Prints what is in files as JSON, one line for each, and how long reading took on the other channel.
//!
//! `cargo run --release -p loomwright-evidence --example look -- FILE..`
#![allow(clippy::disallowed_methods, reason = "an example reads files and looks at the clock")]

use loomwright_evidence::Reader;
use std::fs::File;
use std::io::Read;
use std::time::Instant;

/// How much is read at a time. **Unit**: octet. **Source**: own choice.
const PIECE: usize = 64 * 1024;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for name in std::env::args().skip(1) {
        let begin = Instant::now();
        let mut file = File::open(&name)?;
        let mut reader = Reader::new(&name);
        let mut piece = vec![0; PIECE];
        loop {
            let read = file.read(&mut piece)?;
            if read == 0 {
                break;
            }
            reader.feed(&piece[..read]);
        }
        let evidence = reader.finish();
        let seconds = begin.elapsed().as_secs_f64();
        let frames = evidence.sources[0].capture.as_ref().map_or(0, |capture| capture.frames);
        eprintln!("{name}: {frames} frames in {seconds:.3} s");
        println!("{}", serde_json::to_string(&evidence)?);
    }
    Ok(())
}
