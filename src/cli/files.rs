//! Reading descriptions and writing sheets. In: paths. Out: text, or files that are whole or not
//! there at all, never outside the folder they belong in.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use crate::describe::LARGEST;

/// A description as read.
pub struct Text {
    /// The name for messages.
    pub name: String,
    pub bytes: Vec<u8>,
}

/// Reads a file, or standard input for `-`. Reads no further than a description can go.
pub fn read(path: &Path) -> Result<Text, String> {
    let mut bytes = Vec::new();
    let limit = LARGEST as u64 + 1;
    if path == Path::new("-") {
        let result = io::stdin().lock().take(limit).read_to_end(&mut bytes);
        result.map_err(|e| format!("standard input can't be read: {e}"))?;
        return Ok(Text { name: "standard input".to_owned(), bytes });
    }
    let name = path.display().to_string();
    let fault = |e: io::Error| match e.kind() {
        io::ErrorKind::NotFound => format!("there is no file {name}"),
        io::ErrorKind::PermissionDenied => format!("{name} may not be read"),
        _ => format!("{name} can't be read: {e}"),
    };
    if path.is_dir() {
        return Err(format!("{name} is a folder, not a description"));
    }
    File::open(path).and_then(|f| f.take(limit).read_to_end(&mut bytes)).map_err(fault)?;
    Ok(Text { name, bytes })
}

/// Files that appear together or not at all.
pub struct Batch {
    folder: PathBuf,
    /// Temporary and final paths.
    waiting: Vec<(PathBuf, PathBuf)>,
}

impl Batch {
    /// Makes the folder where it is missing.
    pub fn new(folder: &Path) -> Result<Batch, String> {
        fs::create_dir_all(folder)
            .map_err(|e| format!("the folder {} can't be made: {e}", folder.display()))?;
        Ok(Batch { folder: folder.to_owned(), waiting: Vec::new() })
    }

    /// Writes a file under a temporary name. Names are letters, digits, hyphens and one dot:
    /// nothing that could lead out of the folder.
    pub fn add(&mut self, name: &str, bytes: &[u8]) -> Result<PathBuf, String> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        let sound = name.split_once('.').is_some_and(|(stem, ending)| {
            !stem.is_empty()
                && !ending.is_empty()
                && stem.chars().all(plain)
                && ending.chars().all(plain)
        });
        if !sound {
            return Err(format!("{name:?} is no name for a sheet"));
        }
        let target = self.folder.join(name);
        if target.is_dir() {
            return Err(format!("{} is a folder", target.display()));
        }
        let temporary = self.folder.join(format!(".{name}.{}.part", std::process::id()));
        // Listed first, so that a half-written one is taken away too.
        self.waiting.push((temporary.clone(), target.clone()));
        write_new(&temporary, bytes)
            .map_err(|e| format!("{} can't be written: {e}", target.display()))?;
        Ok(target)
    }

    /// Puts all files in their places.
    pub fn commit(mut self) -> Result<(), String> {
        for (temporary, target) in &self.waiting {
            fs::rename(temporary, target)
                .map_err(|e| format!("{} can't be written: {e}", target.display()))?;
        }
        self.waiting.clear();
        Ok(())
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        for (temporary, _) in &self.waiting {
            let _ = fs::remove_file(temporary);
        }
    }
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // One left behind by a process of the same number that was killed.
    let _ = fs::remove_file(path);
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Replaces a file by another text in one step.
pub fn replace(path: &Path, text: &str) -> Result<(), String> {
    let fault = |e: io::Error| format!("{} can't be written: {e}", path.display());
    // Through a link to the file behind it.
    let target = fs::canonicalize(path).map_err(fault)?;
    let name = target.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let temporary = target.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let permissions = fs::metadata(&target).map_err(fault)?.permissions();
    let result = write_new(&temporary, text.as_bytes())
        .and_then(|()| fs::set_permissions(&temporary, permissions))
        .and_then(|()| fs::rename(&temporary, &target));
    if result.is_err() {
        let _ = fs::remove_file(&temporary);
    }
    result.map_err(fault)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_lead_elsewhere_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let mut batch = Batch::new(folder.path()).unwrap();
        for name in
            ["../x.svg", "/x.svg", "a/b.svg", "x", ".svg", "x.", "X.svg", "x.svg.exe", "a b.svg"]
        {
            assert!(batch.add(name, b"").is_err(), "{name}");
        }
        assert!(batch.add("setting-out-back.svg", b"x").is_ok());
    }

    #[test]
    fn nothing_appears_before_all_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let seen = || fs::read_dir(folder.path()).unwrap().count();
        let mut batch = Batch::new(folder.path()).unwrap();
        batch.add("a.svg", b"x").unwrap();
        batch.add("bad name.svg", b"x").unwrap_err();
        drop(batch);
        assert_eq!(seen(), 0);
        let mut batch = Batch::new(folder.path()).unwrap();
        batch.add("a.svg", b"x").unwrap();
        batch.commit().unwrap();
        assert_eq!(seen(), 1);
    }
}
