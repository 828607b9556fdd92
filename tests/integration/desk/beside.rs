//! A second call on the folder of a desk that runs.

use super::client::{Answer, Desk, SPEC};
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// The user's own folders, and a browser that keeps the page it is given.
struct User(TempDir);

impl User {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        std::fs::create_dir(home.path().join("bin")).unwrap();
        std::fs::create_dir(home.path().join("run")).unwrap();
        let browser = home.path().join("bin/xdg-open");
        std::fs::write(&browser, "#!/bin/sh\nexec cp \"$1\" \"$HOME/opened\"\n").unwrap();
        std::fs::set_permissions(&browser, std::fs::Permissions::from_mode(0o755)).unwrap();
        Self(home)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn program(&self) -> Command {
        let mut program = Command::new(env!("CARGO_BIN_EXE_coilwright"));
        let path = format!("{}:{}", self.path("bin").display(), std::env::var("PATH").unwrap_or_default());
        program.env("HOME", self.0.path()).env("XDG_RUNTIME_DIR", self.path("run")).env("PATH", path);
        program.env_remove("XDG_DATA_HOME").env_remove("XDG_STATE_HOME");
        program
    }

    /// A desk of this user on a folder with one spec, entered.
    fn desk(&self) -> Desk {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("pair.json"), SPEC).unwrap();
        Desk::on(folder, self.program()).entered()
    }

    /// The notes of this user's desks.
    fn notes(&self) -> Vec<PathBuf> {
        let folder = std::fs::read_dir(self.path("run/coilwright-desk"));
        folder.into_iter().flatten().map(|entry| entry.unwrap().path()).collect()
    }

    fn menu(&self, folder: &Path) -> Output {
        self.program().arg("desk").arg(folder).arg("--menu-entry").output().unwrap()
    }
}

/// The address that a call printed.
fn address(output: &Output) -> String {
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout.clone()).unwrap().lines().next().unwrap().to_owned()
}

#[test]
fn a_second_call_opens_the_desk_that_runs_and_its_token_works_once() {
    let user = User::new();
    let desk = user.desk();
    let notes = user.notes();
    assert_eq!(notes.len(), 1);
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&notes[0]), mode(notes[0].parent().unwrap())), (0o600, 0o700));
    assert!(!desk.path("").join(notes[0].file_name().unwrap()).exists());
    // The call waits until the browser has entered.
    let call = user
        .program()
        .arg("desk")
        .arg(desk.path(""))
        .args(["--open", "first"])
        .stdout(std::process::Stdio::piped())
        .spawn();
    let opened = user.path("opened");
    let begun = std::time::Instant::now();
    while !std::fs::read_to_string(&opened).is_ok_and(|page| page.contains("</p>")) {
        assert!(begun.elapsed().as_secs() < 20, "no browser was opened");
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let page = std::fs::read_to_string(opened).unwrap();
    let target = page.split("href=\"").nth(1).unwrap().split('"').next().unwrap().replace("&amp;", "&");
    let place = target.strip_prefix(&desk.origin()).unwrap().to_owned();
    assert!(place.ends_with("&page=first"), "{place}");
    let enter = || desk.get(&place).without("cookie").with("sec-fetch-site", "none").send();
    let entered = enter();
    assert_eq!(entered.status, 200, "{entered:?}");
    assert!(entered.header("set-cookie").is_some());
    assert_eq!(enter().status, 403, "a second time");
    let output = call.unwrap().wait_with_output().unwrap();
    assert_eq!(address(&output), target);
    desk.assert_serves();
}

#[test]
fn a_stranger_gets_no_token() {
    let user = User::new();
    let desk = user.desk();
    for path in ["/beside/token", "/beside/used"] {
        for (header, value) in
            [("x-desk-beside", "0.0"), ("origin", "http://evil.example"), ("x-desk-page", "1.2")]
        {
            let ask = desk.change("POST", path, "").with(header, value);
            assert_eq!(ask.status(), 403, "{path} {header}");
        }
        assert!(desk.get(path).status() >= 400, "{path}");
    }
}

#[test]
fn the_note_of_a_desk_that_is_gone_misleads_nobody() {
    let user = User::new();
    let desk = user.desk();
    let note = user.notes().remove(0);
    let folder = desk.path("");
    let kept = std::fs::read_to_string(&note).unwrap();
    drop(desk);
    std::fs::create_dir_all(&folder).unwrap();
    // The desk was killed, and a stranger has its port, or a process its number.
    let stranger = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = stranger.local_addr().unwrap().port();
    let secret = kept.split_whitespace().nth(2).unwrap().to_owned();
    std::fs::write(&note, format!("{} {port} {secret}\n", std::process::id())).unwrap();
    let heard = std::thread::spawn(move || {
        let (mut stream, _) = stranger.accept().unwrap();
        let mut heard = [0; 2000];
        let length = std::io::Read::read(&mut stream, &mut heard).unwrap();
        stream.write_all(b"HTTP/1.1 200 OK\r\n\r\n0123 0123").unwrap();
        String::from_utf8_lossy(&heard[..length]).into_owned()
    });
    let mut call =
        user.program().arg("desk").arg(&folder).stdout(std::process::Stdio::piped()).spawn().unwrap();
    let mut line = String::new();
    std::io::BufRead::read_line(&mut std::io::BufReader::new(call.stdout.as_mut().unwrap()), &mut line)
        .unwrap();
    assert!(line.contains("/open?token=") && !line.contains(&format!(":{port}/")), "{line}");
    let heard = heard.join().unwrap();
    assert!(heard.contains("x-desk-beside") && !heard.contains(&secret), "{heard}");
    let renewed = std::fs::read_to_string(&note).unwrap();
    assert!(renewed.starts_with(&format!("{} ", call.id())), "{renewed}");
    call.kill().unwrap();
    call.wait().unwrap();
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn each_folder_has_a_menu_entry_of_its_own_and_a_moved_program_is_followed() {
    let user = User::new();
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let entries = || {
        let mut found: Vec<PathBuf> = std::fs::read_dir(user.path(".local/share/applications"))
            .unwrap()
            .map(|it| it.unwrap().path())
            .collect();
        found.sort();
        found
    };
    for folder in &folders {
        let told = user.menu(folder.path());
        assert!(told.status.success(), "{told:?}");
    }
    let both = entries();
    assert_eq!(both.len(), 2, "{both:?}");
    let first = both.iter().find(|path| path.ends_with("coilwright-desk.desktop")).unwrap();
    let entry = std::fs::read_to_string(first).unwrap();
    std::fs::write(first, entry.replace(env!("CARGO_BIN_EXE_coilwright"), "/gone/coilwright")).unwrap();
    assert!(user.menu(folders[0].path()).status.success());
    assert_eq!(std::fs::read_to_string(first).unwrap(), entry);
    assert_eq!(entries().len(), 2);
    // The folder's page does the same.
    let desk = user.desk();
    let told: Answer = desk.change("POST", "/do/menu-entry", "").send();
    assert!(told.status == 200 && told.text().contains("menu has it"), "{told:?}");
    assert_eq!(entries().len(), 3);
}
