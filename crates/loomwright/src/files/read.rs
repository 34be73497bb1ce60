//! Reading whole files, up to a size that no plan reaches.

use crate::outcome::Failure;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// Largest file that is read. Own choice: nine times a plan of 10,000 devices (1.8 MB).
const LARGEST: u64 = 16 * 1024 * 1024;

/// The bytes of a file; `None` if it is not there.
///
/// **Errors**: it cannot be read, is empty, or is larger than any plan.
pub fn bytes(path: &Path) -> Result<Option<Vec<u8>>, Failure> {
    let fail = |error: std::io::Error| Failure::of_file("read", path, &error);
    let file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(fail(error)),
    };
    let mut bytes = Vec::new();
    file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(fail)?;
    if bytes.len() as u64 > LARGEST {
        return Err(Failure::new(
            format!("{} is larger than {} MB, more than any plan needs", path.display(), LARGEST / 1024 / 1024),
            "Check that this is the file you mean.",
        ));
    }
    Ok(Some(bytes))
}
