//! A folder that is hostile, full, read-only or gone.

use super::client::{Desk, SPEC};
use super::saving::assert_nothing_unfinished;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

fn tag(desk: &Desk) -> String {
    let page = desk.get("/file/pair.json").send().text();
    page.split("data-tag=\"").nth(1).unwrap_or_else(|| panic!("{page}")).split('"').next().unwrap().to_owned()
}

fn save(desk: &Desk, text: impl Into<Vec<u8>>) -> super::client::Answer {
    desk.change("PUT", "/do/file/pair.json", text).with("if-match", &tag(desk)).send()
}

#[test]
fn links_pipes_and_devices_are_no_files_and_nobody_waits_for_them() {
    let desk = Desk::new();
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret.json");
    std::fs::write(&secret, SPEC.replace("Saltmarsh College, window bench", "Secret bench")).unwrap();
    symlink(&secret, desk.path("link.json")).unwrap();
    symlink("pair.json", desk.path("inner.json")).unwrap();
    symlink("none.json", desk.path("dangling.json")).unwrap();
    symlink("/dev/zero", desk.path("zero.json")).unwrap();
    symlink(outside.path(), desk.path("folder-link.json")).unwrap();
    std::fs::create_dir(desk.path("folder.json")).unwrap();
    let pipe = |name: &str| Command::new("mkfifo").arg(desk.path(name)).status().unwrap();
    assert!(pipe("pipe.json").success() && pipe("pipe.register").success());
    let _socket = std::os::unix::net::UnixListener::bind(desk.path("socket.json")).unwrap();
    // Only root may make one; without it the link above stands for it.
    drop(Command::new("mknod").arg(desk.path("device.json")).args(["c", "1", "5"]).output());
    let begun = Instant::now();
    let page = desk.get("/").send().text();
    assert_eq!(page.matches("href=\"/file/").count(), 1, "{page}");
    for name in [
        "link.json",
        "inner.json",
        "dangling.json",
        "zero.json",
        "folder-link.json",
        "folder.json",
        "pipe.json",
        "socket.json",
        "device.json",
    ] {
        for route in ["/file/", "/bytes/"] {
            let answer = desk.data(&format!("{route}{name}")).send();
            assert_eq!(answer.status, 404, "{route}{name}: {answer:?}");
            assert!(!answer.text().contains("Secret"), "{answer:?}");
        }
        let put = || desk.change("PUT", &format!("/do/file/{name}"), "{}");
        for ask in [put().with("if-match", "\"0\""), put().with("if-match", &tag(&desk))] {
            let answer = ask.send();
            assert!(answer.status >= 400 && !answer.text().contains("Secret"), "{name}: {answer:?}");
        }
        if name != "device.json" {
            assert_eq!(put().with("if-none-match", "*").status(), 412, "{name}");
        }
        for (path, field) in [("/do/ask/sheet", "spec"), ("/do/ask/calibrate", "readings")] {
            let text = desk.form(path, &[("spec", "pair.json"), (field, name)]).send().text();
            assert!(path.ends_with("sheet") || text.starts_with("<p class=\"alert\""), "{name}: {text}");
            assert!(!text.contains("Secret"), "{name}: {text}");
        }
        let copied = desk.change("POST", &format!("/do/copy/{name}"), "").send();
        assert!(copied.text().starts_with("<p class=\"alert\""), "{name}: {copied:?}");
    }
    let filled = [("spec", "pair.json"), ("register", "pipe.register"), ("date", "2026-03-01")];
    assert!(desk.answered("calibrate", &filled).starts_with("<p class=\"alert\""));
    assert!(begun.elapsed() < Duration::from_secs(30), "{:?}", begun.elapsed());
    assert!(std::fs::read_to_string(&secret).unwrap().contains("Secret"));
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
    desk.assert_serves();
}

#[test]
fn a_file_that_becomes_a_link_while_it_is_saved_takes_nothing_with_it() {
    let desk = Desk::new();
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret.json");
    let (is_over, rounds) = (AtomicBool::new(false), 150);
    let (path, file, link) = (desk.path("pair.json"), desk.path("file.new"), desk.path("link.new"));
    // Both hold the same, so that only the kind of the file tells them apart.
    std::fs::write(&secret, SPEC).unwrap();
    let saved = std::thread::scope(|scope| {
        scope.spawn(|| {
            while !is_over.load(Ordering::Relaxed) {
                std::fs::write(&file, SPEC).unwrap();
                std::fs::rename(&file, &path).unwrap();
                symlink(&secret, &link).unwrap();
                std::fs::rename(&link, &path).unwrap();
            }
        });
        let tag = format!("\"{}\"", digest());
        let asks = (0..rounds).map(|round| {
            desk.change("PUT", "/do/file/pair.json", format!("{{\"round\": {round}}}")).with("if-match", &tag)
        });
        let saved = asks.filter(|ask| ask.status() == 200).count();
        is_over.store(true, Ordering::Relaxed);
        saved
    });
    // A save may win where it met the file; whatever it met, what the link leads to is what it was.
    println!("{saved} of {rounds} saves met the file");
    assert_eq!(std::fs::read_to_string(&secret).unwrap(), SPEC);
    let found = std::fs::symlink_metadata(desk.path("pair.json")).unwrap();
    assert!(found.is_symlink());
    for kept in std::fs::read_dir(desk.path(".coilwright-desk")).into_iter().flatten() {
        let kept = kept.unwrap();
        // A link that was put there between two steps of a save is kept as the link that it is, and not followed.
        let is_link = std::fs::read_link(kept.path()).is_ok_and(|to| to == secret);
        assert!(kept.file_type().unwrap().is_file() || is_link, "{kept:?}");
    }
    assert_nothing_unfinished(&desk);
}

/// The tag of the example as the desk shows it.
fn digest() -> String {
    let desk = Desk::new();
    tag(&desk)
}

#[test]
fn where_the_replaced_cannot_be_kept_nothing_is_replaced() {
    let outside = tempfile::tempdir().unwrap();
    let ways: [&dyn Fn(&Path); 3] = [
        &|kept| symlink(outside.path(), kept).unwrap(),
        &|kept| std::fs::write(kept, "a file").unwrap(),
        &|kept| symlink("nowhere", kept).unwrap(),
    ];
    for way in ways {
        let desk = Desk::new();
        way(&desk.path(".coilwright-desk"));
        let answer = save(&desk, "{}");
        assert_eq!(answer.status, 403, "{answer:?}");
        assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
        assert_eq!(std::fs::read_dir(outside.path()).unwrap().count(), 0);
        assert_nothing_unfinished(&desk);
    }
}

#[test]
fn a_saved_file_has_the_rights_that_it_had() {
    let desk = Desk::new();
    for rights in [0o600, 0o640, 0o664] {
        std::fs::set_permissions(desk.path("pair.json"), PermissionsExt::from_mode(rights)).unwrap();
        assert_eq!(save(&desk, format!("{{\"rights\": {rights}}}")).status, 200);
        let found = std::fs::metadata(desk.path("pair.json")).unwrap().permissions().mode() & 0o777;
        assert_eq!(found, rights, "{found:o}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_was_renamed_is_told_of_on_every_page_and_when_something_is_saved() {
    let desk = Desk::new();
    let save = || {
        let seen = tag(&desk);
        desk.change("PUT", "/do/file/pair.json", SPEC).with("if-match", &seen).send()
    };
    assert_eq!((save().status, save().text()), (200, String::new()));
    assert!(!desk.get("/").send().text().contains("class=\"moved\""));
    let elsewhere = desk.path("").with_extension("renamed");
    std::fs::rename(desk.path(""), &elsewhere).unwrap();
    for path in ["/", "/file/pair.json", "/ask/sheet"] {
        assert!(desk.get(path).send().text().contains("This folder was renamed or moved."), "{path}");
    }
    let saved = save();
    assert!(saved.status == 200 && saved.text().contains("renamed or moved"), "{saved:?}");
    assert!(elsewhere.join(".coilwright-desk").exists(), "it is written where the folder is now");
    std::fs::rename(elsewhere, desk.path("")).unwrap();
    assert!(!desk.get("/").send().text().contains("class=\"moved\""));
}

#[test]
fn a_folder_that_is_gone_is_told_of_and_ends_nothing() {
    let mut desk = Desk::new();
    let seen = tag(&desk);
    std::fs::remove_dir_all(desk.path("")).unwrap();
    for path in ["/", "/ask/sheet", "/ask/map?spec=pair.json"] {
        assert_eq!(desk.get(path).status(), 200, "{path}");
    }
    for path in ["/file/pair.json", "/bytes/pair.json"] {
        assert_eq!(desk.data(path).status(), 404, "{path}");
    }
    assert!(desk.get("/").send().text().contains("This folder was removed."));
    let put = || desk.change("PUT", "/do/file/pair.json", SPEC);
    for put in [put().with("if-match", &seen), put().with("if-none-match", "*")] {
        let answer = put.send();
        assert_eq!(answer.status, 410);
        assert!(answer.text().contains("the folder was removed"), "{answer:?}");
    }
    for (path, filled) in [
        ("/do/new", [("name", "a.json"), ("template", "spec")]),
        ("/do/ask/sheet", [("spec", "pair.json"), ("", "")]),
    ] {
        assert!(desk.form(path, &filled).send().text().starts_with("<p class=\"alert\""));
    }
    // One of the same name that comes later is another folder.
    std::fs::create_dir(desk.path("")).unwrap();
    desk.put("pair.json", SPEC);
    assert_eq!(desk.get("/file/pair.json").status(), 404);
    super::ending::signal(&desk, "TERM");
    assert!(desk.ends_within(Duration::from_secs(6)).unwrap().success());
}

#[test]
fn a_disk_that_refuses_a_part_keeps_the_old_whole() {
    // A limit on the size of files stands for the disk here: it needs no rights.
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("pair.json"), SPEC).unwrap();
    let mut limited = Command::new("sh");
    limited.args(["-c", "ulimit -f 256; exec \"$@\"", "sh", env!("CARGO_BIN_EXE_coilwright")]);
    let mut desk = Desk::on(home, limited).entered();
    let answer = save(&desk, vec![b' '; 1 << 20]);
    assert_eq!(answer.status, 413, "{answer:?}");
    let new = desk.change("PUT", "/do/file/new.json", vec![b' '; 1 << 20]).with("if-none-match", "*").send();
    assert_eq!(new.status, 413, "{new:?}");
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
    assert!(!desk.path("new.json").exists());
    assert_nothing_unfinished(&desk);
    assert_eq!(save(&desk, "{}").status, 200);
    desk.assert_serves();
    assert!(desk.ends_within(Duration::ZERO).is_none());
}

/// A small filesystem of its own; `None` where the system allows none.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn on(path: &Path) -> Option<Self> {
        let mounted =
            Command::new("mount").args(["-t", "tmpfs", "-o", "size=256k", "tmpfs"]).arg(path).output();
        mounted.is_ok_and(|it| it.status.success()).then(|| Self(path.to_owned()))
    }

    fn read_only(&self, is_read_only: bool) {
        let how = if is_read_only { "remount,ro" } else { "remount,rw" };
        assert!(Command::new("mount").args(["-o", how]).arg(&self.0).status().unwrap().success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // Lazily: the desk that is ended after this still holds it.
        drop(Command::new("umount").arg("-l").arg(&self.0).status());
    }
}

#[test]
fn a_full_disk_and_a_read_only_one_keep_the_old_whole() {
    let home = tempfile::tempdir().unwrap();
    let Some(disk) = SmallDisk::on(home.path()) else {
        println!("left out: no filesystem can be mounted here");
        return;
    };
    std::fs::write(home.path().join("pair.json"), SPEC).unwrap();
    let desk = Desk::on(home, Command::new(env!("CARGO_BIN_EXE_coilwright"))).entered();
    std::fs::write(desk.path("fill"), vec![b' '; 200 << 10]).unwrap();
    for text in [vec![b' '; 100 << 10], vec![b' '; 1 << 20]] {
        let answer = save(&desk, text.clone());
        assert_eq!(answer.status, 507, "{answer:?}");
        let new = desk.change("PUT", "/do/file/new.json", text).with("if-none-match", "*").send();
        assert_eq!(new.status, 507, "{new:?}");
    }
    std::fs::remove_file(desk.path("fill")).unwrap();
    assert_eq!(save(&desk, vec![b' '; 100 << 10]).status, 200);
    assert_eq!(std::fs::read(desk.path("pair.json")).unwrap().len(), 100 << 10);
    std::fs::write(desk.path("pair.json"), SPEC).unwrap();
    disk.read_only(true);
    assert_eq!(save(&desk, "{}").status, 403);
    assert_eq!(desk.change("PUT", "/do/file/new.json", "{}").with("if-none-match", "*").status(), 403);
    assert!(desk.change("POST", "/do/copy/pair.json", "").send().text().starts_with("<p class=\"alert\""));
    assert!(desk.answered("sheet", &[("spec", "pair.json")]).contains("answer done"));
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
    assert!(!desk.path("new.json").exists());
    assert_nothing_unfinished(&desk);
    disk.read_only(false);
    assert_eq!(save(&desk, "{}").status, 200);
}
