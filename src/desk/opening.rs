//! Brings the desk to the screen: opens the browser, and writes an entry for the system's menu.

use super::folder::Folder;
use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// Opens the address in the user's browser. The address is passed in a file that only the user can read, because
/// everybody on the machine can read the arguments of a process. The file exists until the returned folder is dropped.
pub fn open(address: &str) -> Option<TempDir> {
    let folder = tempfile::Builder::new().prefix("coilwright-desk-open-").tempdir().ok()?;
    let page = folder.path().join("open.html");
    write_for_user(&page, &handing_over(address)).ok()?;
    let opener = match std::env::consts::OS {
        "macos" => "open",
        "windows" => "explorer",
        _ => "xdg-open",
    };
    let started = Command::new(opener)
        .arg(&page)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    if started.is_err() {
        eprintln!("No browser could be started: open the address above in one.");
    }
    Some(folder)
}

fn handing_over(address: &str) -> String {
    let address = address.replace('&', "&amp;");
    format!(
        "<!doctype html><meta charset=\"utf-8\"><meta name=\"referrer\" content=\"no-referrer\"><title>The desk</title>\
         <meta http-equiv=\"refresh\" content=\"0;url={address}\"><p><a href=\"{address}\">Open the desk</a></p>\n"
    )
}

fn write_for_user(path: &Path, text: &str) -> std::io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)?.write_all(text.as_bytes())
}

/// The menu entry that opens the desk on a folder (Desktop Entry Specification 1.5).
fn desktop_entry(program: &Path, folder: &Path) -> String {
    format!(
        "[Desktop Entry]\nType=Application\nVersion=1.0\nName=Coilwright desk\n\
         Comment=Coil pairs of the beam bench: field, heat, calibration, lessons\nExec={} desk {}\n\
         Terminal=false\nCategories=Science;Physics;\n",
        argument(program),
        argument(folder)
    )
}

/// A path as one argument of `Exec`: in double quotes, with special characters escaped and `%` doubled.
fn argument(path: &Path) -> String {
    let mut out = String::from("\"");
    for character in path.to_string_lossy().chars() {
        match character {
            '"' | '`' | '$' => out.extend(['\\', '\\', character]),
            '\\' => out += r"\\\\",
            '%' => out += "%%",
            other => out.push(other),
        }
    }
    out + "\""
}

/// Writes the menu entry where the system finds it. Returns its path.
///
/// # Errors
/// If there is no home folder, if the entry exists already, or if it cannot be written.
pub fn write_desktop_entry(folder: &Path) -> Result<PathBuf> {
    let said = |path: &Path, error: std::io::Error| Error::Write {
        path: path.to_owned(),
        reason: said_by_system(&error),
        hint: (error.kind() == std::io::ErrorKind::AlreadyExists)
            .then(|| "an entry that is there already is left alone: remove it to have another".into()),
    };
    let folder = Folder::open(folder)?;
    let is_plain = |path: &Path| path.to_str().is_some_and(|text| !text.chars().any(char::is_control));
    if !is_plain(folder.path()) {
        return Err(Error::Usage {
            message:
                "the folder's name cannot stand in a menu entry: it holds control characters or is no text"
                    .into(),
            hint: Some("rename the folder".into()),
        });
    }
    let data = std::env::var_os("XDG_DATA_HOME").map(PathBuf::from).filter(|path| path.is_absolute());
    let home = || {
        let home = std::env::var_os("HOME").map(PathBuf::from).filter(|path| path.is_absolute());
        home.map(|home| home.join(".local/share"))
    };
    let data = data.or_else(home).ok_or_else(|| Error::Usage {
        message: "there is no home folder to write the menu entry to".into(),
        hint: Some("set HOME".into()),
    })?;
    let applications = data.join("applications");
    let path = applications.join("coilwright-desk.desktop");
    let program = std::env::current_exe().map_err(|error| said(&path, error))?;
    std::fs::create_dir_all(&applications).map_err(|error| said(&applications, error))?;
    let mut file =
        OpenOptions::new().write(true).create_new(true).open(&path).map_err(|error| said(&path, error))?;
    file.write_all(desktop_entry(&program, folder.path()).as_bytes()).map_err(|error| said(&path, error))?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_is_handed_over_in_a_file_of_the_users_alone() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("open.html");
        write_for_user(&path, &handing_over("http://127.0.0.1:1/open?token=0&page=x")).unwrap();
        #[cfg(unix)]
        assert_eq!(
            std::os::unix::fs::PermissionsExt::mode(&std::fs::metadata(&path).unwrap().permissions()) & 0o777,
            0o600
        );
        let page = std::fs::read_to_string(&path).unwrap();
        assert!(page.contains("url=http://127.0.0.1:1/open?token=0&amp;page=x"), "{page}");
        assert!(page.contains("name=\"referrer\" content=\"no-referrer\""), "{page}");
    }

    #[test]
    fn a_menu_entry_holds_paths_of_any_kind() {
        let entry = desktop_entry(Path::new("/opt/coil wright"), Path::new("/home/a/100% \"x\" $y"));
        assert!(
            entry.contains("Exec=\"/opt/coil wright\" desk \"/home/a/100%% \\\\\"x\\\\\" \\\\$y\"\n"),
            "{entry}"
        );
    }
}
