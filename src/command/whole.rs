//! Files that are there whole or not at all: written beside their place and put there in the end.

use std::fs::{File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::reason;
use crate::house::folder_of;

/// A file on its way. Until [`Whole::keep`] an older one in its place stays as it is, whatever happens.
pub struct Whole {
    path: PathBuf,
    to: To,
}

enum To {
    /// A file beside the one that it takes the place of.
    Beside(BufWriter<NamedTempFile>, PathBuf),
    /// A device or a pipe: it is written to and never replaced.
    Straight(BufWriter<File>),
}

impl Whole {
    /// Opens a file to be written; the folder must take new files.
    ///
    /// # Errors
    /// When it does not; the error names the file.
    pub fn open(path: &Path) -> io::Result<Self> {
        let open = || -> io::Result<To> {
            match path.metadata() {
                Ok(old) if old.is_dir() => Err(io::Error::other("it is a folder")),
                Ok(old) if !old.is_file() => {
                    Ok(To::Straight(BufWriter::new(OpenOptions::new().write(true).open(path)?)))
                }
                Ok(old) => {
                    // Through a link the file is replaced that it leads to; the link stays.
                    let target = path.canonicalize()?;
                    let file = beside(&target)?;
                    file.as_file().set_permissions(old.permissions())?;
                    Ok(To::Beside(BufWriter::new(file), target))
                }
                Err(_) => Ok(To::Beside(BufWriter::new(beside(path)?), path.to_owned())),
            }
        };
        let to = open().map_err(|error| of_file(path, &error))?;
        Ok(Self { path: path.to_owned(), to })
    }

    /// Writes a file that is there whole already; an older one gives way to it.
    ///
    /// # Errors
    /// When it cannot be written; the error names the file.
    pub fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = Self::open(path)?;
        file.write_all(bytes)?;
        file.keep()
    }

    /// Puts a file where there is none.
    ///
    /// # Errors
    /// When there is one, or when it cannot be written; the error names the file.
    pub fn create(path: &Path, text: &str) -> io::Result<()> {
        let create = || -> io::Result<()> {
            let mut file = beside(path)?;
            file.write_all(text.as_bytes())?;
            file.as_file().sync_all()?;
            file.persist_noclobber(path).map(|_| ()).map_err(|error| error.error)
        };
        create().map_err(|error| of_file(path, &error))
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// When that cannot be; the error names the file.
    pub fn keep(self) -> io::Result<()> {
        let keep = || -> io::Result<()> {
            match self.to {
                To::Straight(mut file) => file.flush(),
                To::Beside(file, target) => {
                    let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
                    // Some file systems tell only now that there is no space left.
                    file.as_file().sync_all()?;
                    file.persist(target).map(|_| ()).map_err(|error| error.error)
                }
            }
        };
        keep().map_err(|error| of_file(&self.path, &error))
    }
}

impl Write for Whole {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let done = match &mut self.to {
            To::Beside(file, _) => file.write(bytes),
            To::Straight(file) => file.write(bytes),
        };
        done.map_err(|error| of_file(&self.path, &error))
    }

    fn flush(&mut self) -> io::Result<()> {
        let done = match &mut self.to {
            To::Beside(file, _) => file.flush(),
            To::Straight(file) => file.flush(),
        };
        done.map_err(|error| of_file(&self.path, &error))
    }
}

/// An unfinished file in the folder of another, with the rights that any new file gets.
fn beside(path: &Path) -> io::Result<NamedTempFile> {
    let folder = folder_of(path);
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.prefix(".testlamp-").tempfile_in(folder)
}

/// An error that names the file it is about. What only says that a call is to be repeated stays as it is.
fn of_file(path: &Path, error: &io::Error) -> io::Error {
    match error.kind() {
        io::ErrorKind::Interrupted => io::ErrorKind::Interrupted.into(),
        _ => io::Error::other(format!("{}: {}", path.display(), reason(error))),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn the_old_file_stays_until_the_new_one_is_kept() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a");
        fs::write(&path, "old").expect("a file");
        let mut dropped = Whole::open(&path).expect("it opens");
        dropped.write_all(b"new").expect("memory");
        drop(dropped);
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "old");
        let mut kept = Whole::open(&path).expect("it opens");
        kept.write_all(b"new").expect("memory");
        kept.keep().expect("it is kept");
        assert_eq!(fs::read_to_string(&path).expect("it is there"), "new");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "nothing is left beside it");
    }

    #[cfg(unix)]
    #[test]
    fn rights_and_links_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().expect("a folder");
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        fs::write(&real, "old").expect("a file");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("rights");
        symlink("real", &link).expect("a link");
        let mut file = Whole::open(&link).expect("it opens");
        file.write_all(b"new").expect("memory");
        file.keep().expect("it is kept");
        assert_eq!(fs::read_to_string(&real).expect("it is there"), "new");
        assert_eq!(real.metadata().expect("a file").permissions().mode() & 0o777, 0o640);
        assert!(link.is_symlink());
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_is_written_to_and_never_replaced() {
        let mut null = Whole::open(Path::new("/dev/null")).expect("it opens");
        null.write_all(b"words").expect("it takes them");
        null.keep().expect("it takes them");
        assert!(!Path::new("/dev/null").metadata().expect("a device").is_file());
        let mut full = Whole::open(Path::new("/dev/full")).expect("it opens");
        full.write_all(b"words").expect("memory");
        let told = full.keep().expect_err("it is full").to_string();
        assert_eq!(told, "/dev/full: there is no space left");
    }
}
