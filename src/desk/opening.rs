//! Brings the desk to the screen: opens the browser, and writes an entry for the system's menu.

use super::folder::Folder;
use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use sha2::{Digest, Sha256};
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
fn desktop_entry(program: &Path, folder: &Path, name: &str) -> String {
    format!(
        "[Desktop Entry]\nType=Application\nVersion=1.0\nName={name}\n\
         Comment=Coil pairs of the beam bench: field, heat, calibration, lessons\nExec={}{}\n\
         Terminal=false\nCategories=Science;Physics;\n",
        argument(program),
        opens(folder)
    )
}

/// What follows the program in the entry of this folder.
fn opens(folder: &Path) -> String {
    format!(" desk {}", argument(folder))
}

/// An entry with its program replaced by this one. `None` if the entry does not open the desk on this folder. What a
/// user changed in the entry stays.
fn with_program(entry: &str, program: &Path, folder: &Path) -> Option<String> {
    let opens = opens(folder);
    let is_ours = |line: &str| line.starts_with("Exec=\"") && line.ends_with(&opens);
    let is_entry = entry.starts_with("[Desktop Entry]") && entry.lines().any(is_ours);
    let exec = format!("Exec={}{opens}", argument(program));
    is_entry.then(|| {
        entry.lines().map(|line| if is_ours(line) { exec.as_str() } else { line }.to_owned() + "\n").collect()
    })
}

/// File name and title of a folder's entry. The first entry has the plain ones, any other its folder's.
fn names(folder: &Path) -> [(String, String); 2] {
    let last = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let word: String =
        last.chars().map(|it| if it.is_ascii_alphanumeric() { it } else { '-' }).take(40).collect();
    let digest = Sha256::digest(folder.as_os_str().as_encoded_bytes());
    let digits: String = digest.iter().take(4).map(|byte| format!("{byte:02x}")).collect();
    // A backslash would begin an escape.
    let title = format!("Coilwright desk, {}", last.replace('\\', "/"));
    [
        ("coilwright-desk.desktop".into(), "Coilwright desk".into()),
        (format!("coilwright-desk-{word}-{digits}.desktop"), title),
    ]
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
/// An entry for another folder stays, and this one gets a name of its own. An entry for this folder opens this program
/// from now on.
///
/// # Errors
/// If there is no home folder, if another file has the entry's name, or if it cannot be written.
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
    let program = std::env::current_exe().map_err(|error| said(&applications, error))?;
    std::fs::create_dir_all(&applications).map_err(|error| said(&applications, error))?;
    let [first, own] = names(folder.path());
    for (name, _) in [&first, &own] {
        let path = applications.join(name);
        let there = std::fs::read_to_string(&path).ok();
        let Some(entry) = there.as_deref().and_then(|there| with_program(there, &program, folder.path()))
        else {
            continue;
        };
        if there != Some(entry.clone()) {
            replace(&path, &entry).map_err(|error| said(&path, error))?;
        }
        return Ok(path);
    }
    let is_taken = std::fs::symlink_metadata(applications.join(&first.0)).is_ok();
    let (name, title) = if is_taken { own } else { first };
    let path = applications.join(name);
    let entry = desktop_entry(&program, folder.path(), &title);
    let written = OpenOptions::new().write(true).create_new(true).open(&path);
    written.and_then(|mut file| file.write_all(entry.as_bytes())).map_err(|error| said(&path, error))?;
    Ok(path)
}

fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    let mut file = tempfile::NamedTempFile::new_in(path.parent().unwrap_or(Path::new(".")))?;
    file.write_all(text.as_bytes())?;
    #[cfg(unix)]
    file.as_file().set_permissions(std::fs::metadata(path)?.permissions())?;
    file.persist(path).map(drop).map_err(|error| error.error)
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
        let folder = Path::new("/home/a/100% \"x\" $y");
        let entry = desktop_entry(Path::new("/opt/coil wright"), folder, "Coilwright desk");
        assert!(
            entry.contains("Exec=\"/opt/coil wright\" desk \"/home/a/100%% \\\\\"x\\\\\" \\\\$y\"\n"),
            "{entry}"
        );
        // The program has moved, and the user has changed the name.
        let named = entry.replace("Name=Coilwright desk", "Name=The bench");
        let moved = with_program(&named, Path::new("/opt/new"), folder).unwrap();
        assert_eq!(moved, named.replace("/opt/coil wright", "/opt/new"));
        assert!(with_program(&entry, Path::new("/opt/new"), Path::new("/home/a")).is_none());
    }
}
