//! The places where a file may be put: a free name, or a regular file to replace, but never a file that the run reads.

use crate::{Error, Result};
use std::fs;
use std::fs::FileType;
use std::path::{Path, PathBuf};

/// What exists at a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Found {
    /// Nothing.
    Free,
    /// A regular file, which may be replaced if the user allows it.
    File,
}

/// Examines a path without following a link.
///
/// A folder, link, device, pipe or socket is an error, because putting a file in its place would remove it.
pub(super) fn look(path: &Path) -> Result<Found> {
    match fs::symlink_metadata(path) {
        Err(_) => Ok(Found::Free),
        Ok(found) if found.is_file() => Ok(Found::File),
        Ok(found) => Err(Error::Write {
            path: path.to_owned(),
            reason: format!("{} of that name is in the way", kind(found.file_type())),
            hint: Some(match found.is_symlink() {
                true => "name the file that the link points to, or choose another place".into(),
                false => "only a regular file is replaced: choose another place".into(),
            }),
        }),
    }
}

fn kind(file_type: FileType) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if file_type.is_block_device() || file_type.is_char_device() {
            return "a device";
        }
        if file_type.is_fifo() {
            return "a named pipe";
        }
        if file_type.is_socket() {
            return "a socket";
        }
    }
    match () {
        () if file_type.is_dir() => "a folder",
        () if file_type.is_symlink() => "a link",
        () => "something that is no file",
    }
}

/// Refuses a set in which two files have the same path.
pub(super) fn refuse_shared<'a>(paths: impl IntoIterator<Item = &'a PathBuf>) -> Result<()> {
    let mut places = std::collections::BTreeSet::new();
    for path in paths {
        if !places.insert(resolved(path)) {
            return Err(Error::Write {
                path: path.clone(),
                reason: "two files of this run would have that name".into(),
                hint: Some("choose another name or folder for one of them".into()),
            });
        }
    }
    Ok(())
}

/// Refuses to write a file over one that the run reads.
pub(super) fn refuse_inputs(paths: &[PathBuf], inputs: &[&Path]) -> Result<()> {
    for path in paths {
        if inputs.iter().any(|input| same_file(path, input)) {
            return Err(Error::Write {
                path: path.clone(),
                reason: "this run reads that file".into(),
                hint: Some("choose another place: not even --force replaces an input file".into()),
            });
        }
    }
    Ok(())
}

fn same_file(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    if let (Ok(a), Ok(b)) = (fs::metadata(a), fs::metadata(b)) {
        use std::os::unix::fs::MetadataExt;
        return (a.dev(), a.ino()) == (b.dev(), b.ino());
    }
    resolved(a) == resolved(b)
}

/// A path with its folder's links resolved; the last name need not exist.
fn resolved(path: &Path) -> PathBuf {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match (fs::canonicalize(folder), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn only_a_free_name_or_a_regular_file_is_written_to() {
        let parent = tempfile::tempdir().unwrap();
        let at = |name: &str| parent.path().join(name);
        fs::write(at("file"), "").unwrap();
        fs::create_dir(at("folder")).unwrap();
        std::os::unix::fs::symlink(at("file"), at("link")).unwrap();
        std::os::unix::fs::symlink(at("nowhere"), at("dangling")).unwrap();
        let _socket = std::os::unix::net::UnixListener::bind(at("socket")).unwrap();
        assert_eq!(look(&at("free")).unwrap(), Found::Free);
        assert_eq!(look(&at("file")).unwrap(), Found::File);
        for (path, what) in [
            (at("folder"), "a folder"),
            (at("link"), "a link"),
            (at("dangling"), "a link"),
            (at("socket"), "a socket"),
            ("/dev/null".into(), "a device"),
        ] {
            let refused = look(&path).unwrap_err();
            assert!(
                refused.to_string().ends_with(&format!("{what} of that name is in the way")),
                "{refused}"
            );
            assert!(refused.hint().is_some());
        }
    }

    #[test]
    fn two_names_of_one_file_are_seen_as_one() {
        let parent = tempfile::tempdir().unwrap();
        let at = |name: &str| parent.path().join(name);
        fs::create_dir(at("real")).unwrap();
        std::os::unix::fs::symlink(at("real"), at("other")).unwrap();
        let refused = refuse_shared(&[at("real/a"), at("other/a")]).unwrap_err();
        assert!(refused.to_string().contains("two files of this run"), "{refused}");
        refuse_shared(&[at("real/a"), at("other/b")]).unwrap();
        fs::write(at("spec"), "").unwrap();
        fs::hard_link(at("spec"), at("twin")).unwrap();
        let refused = refuse_inputs(&[at("twin")], &[&at("spec")]).unwrap_err();
        assert!(refused.to_string().ends_with("twin: this run reads that file"), "{refused}");
    }
}
