//! Who is let in: what a foreign page, a foreign program or a stolen address gets is a status and no data.

use super::client::{Answer, Desk};

/// A refusal names no file of the folder and gives no secret away.
fn assert_refused(answer: &Answer, what: &str) {
    assert!(answer.status >= 400, "{what}: {answer:?}");
    let text = answer.text();
    for secret in ["pair.json", "Saltmarsh College, window bench", "page-token"] {
        assert!(!text.contains(secret), "{what}: {answer:?}");
    }
    assert!(answer.header("set-cookie").is_none() && answer.header("etag").is_none(), "{what}: {answer:?}");
}

#[test]
fn a_name_that_was_made_to_point_here_gets_nothing() {
    let desk = Desk::new();
    let port = desk.port;
    for host in [
        format!("evil.example:{port}"),
        format!("localhost:{port}"),
        format!("127.0.0.1.evil.example:{port}"),
        format!("127.0.0.1:{port}.evil.example"),
        format!("[::1]:{port}"),
        format!("user@127.0.0.1:{port}"),
        format!("127.1:{port}"),
        format!("2130706433:{port}"),
        format!("0.0.0.0:{port}"),
        "127.0.0.1".into(),
        format!("127.0.0.1:{}", port ^ 1),
        String::new(),
    ] {
        let answer = desk.get("/").with("host", &host).send();
        assert_refused(&answer, &host);
        assert!(matches!(answer.status, 400 | 421), "{host}: {answer:?}");
    }
    assert_refused(&desk.get("/").without("host").send(), "no host");
    let right = format!("127.0.0.1:{port}");
    assert_refused(&desk.get("/").and("host", "evil.example").send(), "two hosts");
    assert_refused(
        &desk.get("/").without("host").and("host", "evil.example").and("host", &right).send(),
        "two hosts",
    );
    // The absolute form of a request line goes before the header (RFC 9112, 3.2.2).
    for target in [format!("http://evil.example:{port}/"), format!("http://{right}/")] {
        assert_refused(&desk.get(&target).send(), &target);
    }
    desk.assert_serves();
}

#[test]
fn a_page_of_another_site_gets_nothing_and_changes_nothing() {
    let desk = Desk::new();
    // The cookie is strict and would not come along; the guards do not rest on that.
    for site in ["cross-site", "same-site", "none", "SAME-ORIGIN", "same-origin, cross-site", ""] {
        for (mode, to) in [
            ("no-cors", "image"),
            ("cors", "empty"),
            ("no-cors", "script"),
            ("navigate", "iframe"),
            ("websocket", "websocket"),
        ] {
            let from = |path: &str| {
                desk.get(path)
                    .with("sec-fetch-site", site)
                    .and("sec-fetch-mode", mode)
                    .and("sec-fetch-dest", to)
            };
            // What the user types comes from no site, and is a navigation of the whole window.
            if site != "none" {
                for path in ["/", "/file/pair.json", "/bytes/pair.json", "/ask/sheet", "/assets/desk.js"] {
                    assert_refused(&from(path).send(), &format!("{site} {mode} {to} {path}"));
                }
            }
            assert_refused(&from("/do/run/0").with("x-desk-page", &desk.page_token()).send(), site);
        }
        let forged = desk.form("/do/ask/sheet", &[("spec", "pair.json")]).with("sec-fetch-site", site);
        assert_refused(
            &forged.and("sec-fetch-mode", "navigate").and("sec-fetch-dest", "document").send(),
            site,
        );
    }
    let save = || desk.change("PUT", "/do/file/pair.json", "{}").with("if-none-match", "*");
    let other = format!("http://127.0.0.1:{}", desk.port ^ 1);
    for origin in [
        "null",
        "http://evil.example",
        "",
        other.as_str(),
        &desk.origin().replace("http:", "https:"),
        &(desk.origin() + "/"),
    ] {
        let answer = save().with("origin", origin).send();
        assert_eq!(answer.status, 403, "{origin}: {answer:?}");
        assert_refused(&answer, origin);
    }
    assert_eq!(save().without("origin").status(), 403);
    assert_eq!(save().and("origin", "http://evil.example").status(), 403);
    // The same request of the desk's own page is heard.
    assert_eq!(save().status(), 412);
}

#[test]
fn nothing_changes_by_a_request_that_only_reads() {
    let desk = Desk::new();
    for path in [
        "/do/quit",
        "/do/new",
        "/do/first",
        "/do/copy/pair.json",
        "/do/file/pair.json",
        "/do/ask/sheet",
        "/do/stop/0",
    ] {
        for method in ["GET", "HEAD", "OPTIONS", "TRACE", "DELETE", "PATCH", "BREW"] {
            let answer = desk.change(method, path, "").send();
            assert!(answer.status >= 400, "{method} {path}: {answer:?}");
        }
    }
    assert_eq!(std::fs::read_dir(desk.path("")).unwrap().count(), 1);
    desk.assert_serves();
}

#[test]
fn without_the_cookie_there_is_no_data() {
    let desk = Desk::new();
    let (name, value) = desk.cookie.split_once('=').unwrap();
    assert_eq!(name, format!("desk-{}", desk.port));
    let other_port = format!("desk-{}={value}", desk.port ^ 1);
    let cut = &desk.cookie[..desk.cookie.len() - 1];
    for cookie in [
        "",
        "desk",
        &other_port,
        cut,
        &format!("{}0", desk.cookie),
        &format!("{name}="),
        &format!("x{}", desk.cookie),
    ] {
        for path in [
            "/",
            "/file/pair.json",
            "/bytes/pair.json",
            "/ask/sheet",
            "/assets/desk.js",
            "/made/0/x.svg",
            "/told/0",
            "/first",
            "/files.zip",
            "/do/at/pair.json",
        ] {
            let answer = desk.get(path).with("cookie", cookie).send();
            assert_eq!(answer.status, 401, "{cookie} {path}: {answer:?}");
            assert_refused(&answer, cookie);
        }
        let save = desk.change("PUT", "/do/file/new.json", "{}").with("if-none-match", "*");
        assert_eq!(save.with("cookie", cookie).status(), 401, "{cookie}");
    }
    assert_eq!(desk.get("/").without("cookie").status(), 401);
    // Another server of this machine may have set cookies of the same name: the right one is found among them.
    assert_eq!(desk.get("/").with("cookie", &format!("a=b; {name}=forged; {}", desk.cookie)).status(), 200);
    assert!(!desk.path("new.json").exists());
}

#[test]
fn the_address_works_once() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("pair.json"), "{}").unwrap();
    let desk = Desk::on(home, std::process::Command::new(env!("CARGO_BIN_EXE_coilwright")));
    assert_eq!(desk.entrance.len(), 32);
    let open = |token: &str| desk.get(&format!("/open?token={token}")).send();
    let wrong = desk.entrance.chars().rev().collect::<String>();
    for token in
        ["", "0", &wrong, &desk.entrance[1..], &desk.entrance.to_uppercase(), &format!("{}0", desk.entrance)]
    {
        if token != desk.entrance {
            assert_refused(&open(token), token);
        }
    }
    // A page that guesses at the address in an image does not use it up.
    let image = desk.get(&format!("/open?token={}", desk.entrance)).with("sec-fetch-site", "cross-site");
    assert_refused(&image.and("sec-fetch-dest", "image").and("sec-fetch-mode", "no-cors").send(), "image");
    // A look at the address does not use it up either.
    let head = desk.get(&format!("/open?token={}", desk.entrance)).method("HEAD").send();
    assert_eq!(head.status, 405);
    assert!(head.header("set-cookie").is_none());
    let first = open(&desk.entrance);
    assert_eq!(first.status, 200);
    let cookie = first.header("set-cookie").unwrap();
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(!cookie.contains("Domain"), "{cookie}");
    assert!(!first.text().contains(&desk.entrance));
    assert_refused(&open(&desk.entrance), "second use");
}

#[test]
fn a_token_that_leaked_by_a_referrer_opens_nothing_and_the_pages_send_none() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("pair.json"), "{}").unwrap();
    let mut desk = Desk::on(home, std::process::Command::new(env!("CARGO_BIN_EXE_coilwright")));
    let address = format!("{}/open?token={}", desk.origin(), desk.entrance);
    let entered = desk.get(&format!("/open?token={}", desk.entrance)).send();
    assert_eq!(entered.header("referrer-policy"), Some("no-referrer"));
    // Whoever reads the address in a header, a history or a log has a token that is used up, and no cookie.
    for path in [format!("/open?token={}", desk.entrance), "/".into(), "/bytes/pair.json".into()] {
        assert_refused(&desk.get(&path).with("referer", &address).send(), &path);
    }
    // The address itself is no cookie and no page's token, for whoever has one of the two.
    desk.cookie = entered.header("set-cookie").unwrap().split(';').next().unwrap().into();
    let save = desk.change("PUT", "/do/file/new.json", "{}").with("if-none-match", "*");
    assert_refused(
        &save.with("x-desk-page", &desk.entrance.clone()).with("referer", &address).send(),
        "page token",
    );
    let name = desk.cookie.split('=').next().unwrap().to_owned();
    assert_refused(&desk.get("/").with("cookie", &format!("{name}={}", desk.entrance)).send(), "cookie");
    // No page has the token in its address, its text or a link.
    for path in ["/", "/file/pair.json", "/ask/sheet?spec=pair.json", "/first"] {
        assert!(!desk.get(path).send().text().contains(&desk.entrance), "{path}");
    }
    assert!(!desk.path("new.json").exists());
}

#[test]
fn the_address_leads_to_pages_of_the_desk_alone() {
    for (page, leads_to) in [
        ("//evil.example/", "/evil.example"),
        ("https://evil.example/", "/https%3A/evil.example"),
        ("\\\\evil.example", "/%5C%5Cevil.example"),
        ("..%2F..%2Fdo/quit", "/..%252F..%252Fdo/quit"),
        ("javascript:alert(1)", "/javascript%3Aalert%281%29"),
        ("\"><script>alert(1)</script>", "/%22%3E%3Cscript%3Ealert%281%29%3C/script%3E"),
        ("x\r\nset-cookie: a=b", "/x%0D%0Aset-cookie%3A%20a%3Db"),
        ("ask/map?spec=a b.json&step=1 cm", "/ask/map?spec=a%20b.json&amp;step=1%20cm"),
    ] {
        let desk = Desk::on(
            tempfile::tempdir().unwrap(),
            std::process::Command::new(env!("CARGO_BIN_EXE_coilwright")),
        );
        let answer =
            desk.get(&format!("/open?token={}&page={}", desk.entrance, super::client::encoded(page))).send();
        assert_eq!(answer.status, 200);
        assert!(answer.text().contains(&format!("content=\"0;url={leads_to}\"")), "{page}: {answer:?}");
        assert_eq!(answer.header("set-cookie").unwrap().matches('=').count(), 3);
    }
}

#[test]
fn a_change_needs_a_token_that_a_page_was_given() {
    let desk = Desk::new();
    let (token, other) = (desk.page_token(), Desk::new().page_token());
    let (number, proof) = token.split_once('.').unwrap();
    let forged = [
        String::new(),
        ".".into(),
        number.into(),
        format!("{number}."),
        format!("{number}.{}", "0".repeat(32)),
        format!("{}.{proof}", "0".repeat(32)),
        format!("{token}0"),
        format!(".{proof}"),
        other,
    ];
    for (method, path) in [
        ("POST", "/do/copy/pair.json"),
        ("POST", "/do/quit"),
        ("PUT", "/do/file/new.json"),
        ("POST", "/do/ask/sheet"),
        ("GET", "/do/run/0"),
        ("GET", "/do/at/pair.json"),
        ("POST", "/do/at/pair.json"),
        ("POST", "/do/first"),
    ] {
        let ask = || desk.change(method, path, "spec=pair.json").with("if-none-match", "*");
        assert_eq!(ask().without("x-desk-page").status(), 403, "{path}");
        for token in &forged {
            let answer = ask().with("x-desk-page", token).send();
            assert_eq!(answer.status, 403, "{path} {token}: {answer:?}");
        }
    }
    assert_eq!(std::fs::read_dir(desk.path("")).unwrap().count(), 1);
    assert_eq!(desk.change("PUT", "/do/file/new.json", "{}").with("if-none-match", "*").status(), 200);
}

/// Every kind of answer, right and wrong.
fn answers(desk: &Desk) -> Vec<(String, Answer)> {
    let mut answers: Vec<_> = [
        "/",
        "/file/pair.json",
        "/file/none.json",
        "/file/x.html",
        "/bytes/pair.json",
        "/bytes/none.json",
        "/ask/sheet",
        "/ask/none",
        "/assets/desk.js",
        "/assets/none",
        "/made/0",
        "/made/0/x.svg",
        "/told/0",
        "/none",
        "/do/run/0",
        "/open?token=0",
        "/ask/map?%ff",
        "/file/%ff",
        "/open?token=%ff",
        "/first",
        "/files.zip",
        "/files.zip?file=none.json",
        "/file/pair.json?see=beam",
        "/do/at/pair.json",
        "/do/winding/0/1",
    ]
    .iter()
    .map(|path| ((*path).to_owned(), desk.get(path).send()))
    .collect();
    let mut add = |what: &str, answer| answers.push((what.to_owned(), answer));
    add("no cookie", desk.get("/").without("cookie").send());
    add("host", desk.get("/").with("host", "evil.example").send());
    add("site", desk.get("/").with("sec-fetch-site", "cross-site").send());
    add("origin", desk.change("POST", "/do/quit", "").with("origin", "null").send());
    add("method", desk.change("DELETE", "/do/file/pair.json", "").send());
    add("form", desk.form("/do/ask/sheet", &[("spec", "none.json")]).send());
    add("no form", desk.change("POST", "/do/new", "\u{0}").send());
    add("save", desk.change("PUT", "/do/file/pair.json", "").with("if-match", "\"0\"").send());
    add("told", desk.change("PUT", "/do/file/pair.json", "").send());
    add(
        "long",
        desk.change("PUT", "/do/file/pair.json", vec![b' '; (16 << 20) + 1]).with("if-match", "\"0\"").send(),
    );
    add("sheet", desk.form("/do/ask/sheet", &[("spec", "pair.json")]).send());
    let data = |path: &str| desk.get(path).with("x-desk-page", &desk.page_token()).send();
    add("field", data("/do/at/pair.json"));
    add("winding", data("/do/winding/0/1"));
    add("field at", desk.form("/do/at/pair.json", &[("x", "1 furlong")]).send());
    add("first", desk.form("/do/first", &[("/spacing", "1 furlong")]).send());
    add("so far", desk.form("/do/first/so-far", &[("/spacing", "1 furlong")]).send());
    answers
}

#[test]
fn every_answer_bears_the_headers_that_keep_it_to_itself() {
    let desk = Desk::new();
    for (what, answer) in answers(&desk) {
        let has =
            |name: &str, value: &str| assert_eq!(answer.header(name), Some(value), "{what}: {answer:?}");
        has("referrer-policy", "no-referrer");
        has("x-content-type-options", "nosniff");
        has("cross-origin-resource-policy", "same-origin");
        has("cross-origin-opener-policy", "same-origin");
        let policy = answer.header("content-security-policy").unwrap_or_else(|| panic!("{what}: {answer:?}"));
        if !policy.starts_with("sandbox") {
            has("x-frame-options", "DENY");
            for part in [
                "default-src 'none'",
                "script-src 'self'",
                "frame-ancestors 'none'",
                "base-uri 'none'",
                "form-action 'self'",
            ] {
                assert!(policy.contains(part), "{what}: {policy}");
            }
            assert!(!policy.contains("unsafe"), "{what}: {policy}");
        }
        for header in ["access-control-allow-origin", "server", "location"] {
            assert_eq!(answer.header(header), None, "{what}: {answer:?}");
        }
        if !what.starts_with("/assets/d") {
            has("cache-control", "no-store");
        }
    }
}

#[test]
fn no_page_has_script_or_style_of_its_own() {
    let desk = Desk::new();
    let inline = regex::Regex::new(
        r#"(?i)<script(?: [^>]*)?>[^<]|<style|\son[a-z]+\s*=|\sstyle\s*=|javascript:|hx-on|hx-vals="js"#,
    )
    .unwrap();
    for (what, answer) in answers(&desk) {
        if answer.header("content-type").is_some_and(|kind| kind.starts_with("text/html")) {
            let text = answer.text();
            let found = inline.find(&text).map(|found| found.as_str());
            assert_eq!(found, None, "{what}: {answer:?}");
        }
    }
}

#[test]
fn a_download_needs_the_link_of_a_page_and_a_browser_says_once_where_it_comes_from() {
    let desk = Desk::new();
    for path in ["/bytes/pair.json", "/files.zip", "/files.zip?file=pair.json", "/kept/page.html"] {
        assert_eq!(desk.get(path).status(), 403, "{path}");
    }
    for (page, start) in [("/file/pair.json", "/bytes/pair.json?key="), ("/", "/files.zip?key=")] {
        let text = desk.get(page).send().text();
        let link = text
            .split('"')
            .find(|part| part.starts_with(start))
            .unwrap_or_else(|| panic!("{text}"))
            .to_owned();
        assert_eq!(desk.get(&link).status(), 200, "{link}");
        assert_eq!(desk.get(&link).without("cookie").status(), 401);
        assert_eq!(desk.get(&format!("{link}0")).status(), 403);
    }
    let twice = desk.get("/").and("sec-fetch-site", "same-origin");
    assert_eq!(twice.status(), 403);
    assert_eq!(desk.get("/").and("sec-fetch-site", "cross-site").status(), 403);
}
