//! Fingerprint of a study's inputs, so that a plan whose inputs have not changed is not studied again.
//!
//! The hash covers everything that the answer follows from: the program itself, the options of the command line, the
//! plan's text, and the plan and its vehicles as they were read, whatever files they came from. It is stored in the
//! site's folder beside the hash of the results.json that was written with it.
use super::output::{self, FINGERPRINT, RESULTS};
use serde_json::{Value, json};
use siphasher::sip128::{Hasher128, SipHasher24};
use std::fmt::Debug;
use std::hash::Hasher;
use std::io::Read;
use std::path::Path;
use wideenough::report::layout;

/// Name of the format, its first field.
const FORMAT: &str = "wideenough-fingerprint";

/// 128-bit hash of bytes: SipHash-2-4. It detects changed inputs; it does not protect against people who want two
/// inputs to look alike.
#[derive(Clone)]
pub struct Hash(SipHasher24);

impl Hash {
    pub fn new() -> Self {
        Self(SipHasher24::new())
    }
    /// Adds a piece of input, so that the hash depends on where the pieces are cut.
    pub fn and(mut self, bytes: &[u8]) -> Self {
        let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
        self.0.write(&length.to_le_bytes());
        self.0.write(bytes);
        self
    }
    /// Adds everything that a value shows in its `Debug` form.
    pub fn and_value(self, value: &impl Debug) -> Self {
        self.and(format!("{value:?}").as_bytes())
    }
    pub fn hex(&self) -> String {
        format!("{:032x}", self.0.finish128().as_u128())
    }
}

/// Initial hash, of this very program. Of two builds of one version one may contain a fix.
pub fn of_this_program() -> Hash {
    let hash = Hash::new().and(env!("CARGO_PKG_VERSION").as_bytes());
    let bytes = std::env::current_exe().and_then(|path| {
        let mut file = std::fs::File::open(path)?;
        let mut own = SipHasher24::new();
        let mut piece = vec![0; 1 << 16];
        loop {
            match file.read(&mut piece)? {
                0 => return Ok(own.finish128().as_u128()),
                length => own.write(&piece[..length]),
            }
        }
    });
    // Where a program may not read its own file, its version must do.
    bytes.map_or_else(|_| hash.clone(), |digits| hash.clone().and(&digits.to_le_bytes()))
}

/// True if the folder holds a whole study made from exactly these inputs.
pub fn is_current(folder: &Path, inputs: &str) -> bool {
    let read = |name: &str| std::fs::read(folder.join(name)).ok();
    let (Some(kept), Some(results)) = (read(FINGERPRINT), read(RESULTS)) else { return false };
    let Ok(kept) = serde_json::from_slice::<Value>(&kept) else { return false };
    kept["format"] == FORMAT
        && kept["inputs"] == inputs
        && kept["results"] == Hash::new().and(&results).hex()
        && output::listed(&folder.join(RESULTS)).iter().all(|name| folder.join(name).is_file())
}

/// Text of the fingerprint file kept beside a results.json of these inputs.
pub fn text(inputs: &str, results: &[u8]) -> String {
    layout::pretty(&json!({ "format": FORMAT, "inputs": inputs, "results": Hash::new().and(results).hex() }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn pieces_are_told_apart_however_they_are_cut() {
        let of = |pieces: &[&str]| pieces.iter().fold(Hash::new(), |hash, p| hash.and(p.as_bytes())).hex();
        assert_eq!(of(&["ab", "c"]), of(&["ab", "c"]));
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
        assert_ne!(of(&["ab"]), of(&["ab", ""]));
        assert_eq!(of(&[]).len(), 32);
    }

    #[test]
    fn a_study_is_current_only_while_it_is_whole() {
        let temp = tempfile::tempdir().unwrap();
        let folder = temp.path();
        let results = json!({ "format": wideenough::report::FORMAT, "files": ["a.svg"] }).to_string();
        fs::write(folder.join(RESULTS), &results).unwrap();
        fs::write(folder.join("a.svg"), "drawn").unwrap();
        assert!(!is_current(folder, "inputs"), "nothing is known of it");
        fs::write(folder.join(FINGERPRINT), text("inputs", results.as_bytes())).unwrap();
        assert!(is_current(folder, "inputs"));
        assert!(!is_current(folder, "other inputs"));
        fs::write(folder.join(RESULTS), &results[..results.len() - 1]).unwrap();
        assert!(!is_current(folder, "inputs"), "results.json is cut short");
        fs::write(folder.join(RESULTS), &results).unwrap();
        assert!(is_current(folder, "inputs"));
        fs::remove_file(folder.join("a.svg")).unwrap();
        assert!(!is_current(folder, "inputs"), "a drawing is gone");
    }
}
