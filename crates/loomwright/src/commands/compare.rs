//! `loomwright compare PLAN EVIDENCE..`: what was seen against what was planned.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, progress, text};
use loomwright_evidence::{Evidence, Reader};
use loomwright_linecheck::compare;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// How much of a file is read at a time. Own choice. **Unit**: octet.
const PIECE: usize = 256 * 1024;

/// Prints the differences. One that is certain or likely is something to put right, and so is evidence that cannot be read:
/// nobody may take it for a clean line check.
pub fn run(arguments: &arguments::Compare) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (&opened.loaded.plan, &opened.loaded.wiring);
    let mut files = Vec::new();
    for given in &arguments.evidence {
        collect(given, &mut files)?;
    }
    let seen = progress::during("reading evidence", || files.iter().map(|path| read(path)).collect::<Result<Vec<_>, _>>())?;
    let comparison = compare(plan, wiring, &Evidence::merged(seen));
    if arguments.json {
        output::json(&comparison)?
    } else {
        output::data(&text::differences::comparison(&comparison, plan))?
    }
    Ok(Outcome::ready_if(comparison.is_as_planned() && comparison.is_whole()))
}

/// A file, or every file of a folder in the order of their names; what begins with a dot is left out.
fn collect(given: &Path, files: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let fail = |error: std::io::Error| Failure::of_file("read", given, &error);
    if !fs::metadata(given).map_err(fail)?.is_dir() {
        files.push(given.to_owned());
        return Ok(());
    }
    let mut inside = fs::read_dir(given).map_err(fail)?.map(|entry| Ok(entry?.path())).collect::<Result<Vec<_>, _>>().map_err(fail)?;
    inside.retain(|path| path.is_file() && !path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.')));
    inside.sort();
    files.extend(inside);
    Ok(())
}

/// One file, piece by piece: captures can be large.
fn read(path: &Path) -> Result<Evidence, Failure> {
    let fail = |error: std::io::Error| Failure::of_file("read", path, &error);
    let mut file = File::open(path).map_err(fail)?;
    let mut reader = Reader::new(&path.to_string_lossy());
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece).map_err(fail)? {
            0 => return Ok(reader.finish()),
            read => reader.feed(&piece[..read]),
        }
    }
}
