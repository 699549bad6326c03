//! Folders of files to try the program in.

use std::fs;

use tempfile::TempDir;

/// A folder of its own with these files, each by name or by its path below the folder.
///
/// # Panics
/// When they cannot be written.
pub fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    for (name, text) in files {
        write(&folder, name, text);
    }
    folder
}

/// Writes a file below a folder.
///
/// # Panics
/// When it cannot be written.
pub fn write(folder: &TempDir, name: &str, text: &str) {
    let path = folder.path().join(name);
    fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    fs::write(path, text).expect("a file");
}
