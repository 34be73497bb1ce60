//! `loomwright compare PLAN EVIDENCE..`: what was seen against what was planned.

use super::load;
use super::proved::proved;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, progress, text};
use loomwright_evidence::{Evidence, Reader};
use loomwright_linecheck::compare_proved;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// How much of a file is read at a time. Own choice. **Unit**: octet.
const PIECE: usize = 64 * 1024;

/// Prints the differences. One that is certain or likely is something to put right, and so is evidence that cannot be read:
/// nobody may take it for a clean line check.
pub fn run(arguments: &arguments::Compare) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (&opened.loaded.plan, &opened.loaded.wiring);
    let mut files = Vec::new();
    for given in &arguments.evidence {
        collect(given, &mut files)?;
    }
    let seen = progress::during_steps("reading evidence", |say| read_all(&files, say))?;
    let seen = Evidence::merged(seen);
    let comparison = compare_proved((plan, wiring), &seen, &proved(&opened.loaded, &seen));
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

/// All files, and how far that is.
fn read_all(files: &[PathBuf], say: &mut dyn FnMut(&str)) -> Result<Vec<Evidence>, Failure> {
    let size = |path: &PathBuf| fs::metadata(path).map_or(0, |about| about.len());
    let all: u64 = files.iter().map(size).fold(0, u64::saturating_add);
    let mut before = 0;
    let mut seen = Vec::new();
    for path in files {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let mut told = None;
        let mut far = |octets: u64| {
            let percent = u128::from(octets.saturating_add(before)) * 100 / u128::from(all.max(1));
            if told != Some(percent) {
                told = Some(percent);
                say(&format!("{percent} %, {name}"));
            }
        };
        seen.push(read(path, &mut far)?);
        before = before.saturating_add(size(path));
    }
    Ok(seen)
}

/// One file, piece by piece: captures can be large. `far` hears how many octets were read.
fn read(path: &Path, far: &mut dyn FnMut(u64)) -> Result<Evidence, Failure> {
    let fail = |error: std::io::Error| Failure::of_file("read", path, &error);
    let mut file = File::open(path).map_err(fail)?;
    let mut reader = Reader::new(&path.to_string_lossy());
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece).map_err(fail)? {
            0 => return Ok(reader.finish()),
            read => reader.feed(&piece[..read]),
        }
        far(reader.octets());
    }
}
