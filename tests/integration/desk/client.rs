//! A desk under test, and a client that says exactly what a test wants said.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// No answer takes longer, however slow the machine.
const PATIENCE: Duration = Duration::from_secs(30);
/// A spec that is right.
pub const SPEC: &str = include_str!("../../../coil-specs/window-bench.json");

/// A running desk.
pub struct Desk {
    child: Child,
    pub port: u16,
    /// The token of the address that it printed.
    pub entrance: String,
    /// `name=value`, once entered.
    pub cookie: String,
    /// The folder that it shows, where the test made none.
    home: TempDir,
    /// Where its temporary files go.
    work: TempDir,
    /// What it says on standard error.
    told: tempfile::NamedTempFile,
}

impl Desk {
    /// A desk on a folder of its own that holds one spec, entered.
    pub fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        std::fs::write(home.path().join("pair.json"), SPEC).unwrap();
        Self::on(home, Command::new(env!("CARGO_BIN_EXE_coilwright"))).entered()
    }

    /// A desk that this command starts on this folder; not entered yet.
    pub fn on(home: TempDir, mut command: Command) -> Self {
        let work = tempfile::tempdir().unwrap();
        let told = tempfile::NamedTempFile::new().unwrap();
        let mut child = command
            .args(["desk", home.path().to_str().unwrap(), "--no-browser"])
            .env("TMPDIR", work.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(std::fs::File::create(told.path()).unwrap())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let (place, token) = line.trim_end().split_once("/open?token=").unwrap_or_else(|| panic!("{line:?}"));
        let port = place.strip_prefix("http://127.0.0.1:").unwrap().parse().unwrap();
        Self { child, port, entrance: token.into(), cookie: String::new(), home, work, told }
    }

    /// Exchanges the token for the cookie.
    pub fn entered(mut self) -> Self {
        let answer = self.get(&format!("/open?token={}", self.entrance)).send();
        assert_eq!(answer.status, 200, "{answer:?}");
        self.cookie = answer.header("set-cookie").unwrap().split(';').next().unwrap().into();
        self
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.home.path().join(name)
    }

    pub fn put(&self, name: &str, contents: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), contents).unwrap();
    }

    /// What stands in the system's folder for temporary files.
    pub fn work(&self) -> &Path {
        self.work.path()
    }

    pub fn process(&self) -> u32 {
        self.child.id()
    }

    /// How it ended, if it did within this time.
    pub fn ends_within(&mut self, time: Duration) -> Option<ExitStatus> {
        let begun = Instant::now();
        loop {
            match self.child.try_wait().unwrap() {
                Some(status) => return Some(status),
                None if begun.elapsed() > time => return None,
                None => std::thread::sleep(Duration::from_millis(10)),
            }
        }
    }

    /// A request of the desk's own page, without a page's token.
    pub fn get(&self, path: &str) -> Ask<'_> {
        Ask::new(self, "GET", path)
    }

    /// A request of the desk's own page for data, with the page's token.
    pub fn data(&self, path: &str) -> Ask<'_> {
        self.get(path).with("x-desk-page", &self.page_token())
    }

    /// A change, as a page of the desk asks for it.
    pub fn change(&self, method: &'static str, path: &str, body: impl Into<Vec<u8>>) -> Ask<'_> {
        let token = self.page_token();
        Ask::new(self, method, path).with("x-desk-page", &token).with("origin", &self.origin()).body(body)
    }

    /// A form that a page of the desk posts.
    pub fn form(&self, path: &str, filled: &[(&str, &str)]) -> Ask<'_> {
        let pairs: Vec<_> =
            filled.iter().map(|(id, value)| format!("{}={}", encoded(id), encoded(value))).collect();
        self.change("POST", path, pairs.join("&")).with("content-type", "application/x-www-form-urlencoded")
    }

    pub fn origin(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// The token of a page that was just loaded.
    pub fn page_token(&self) -> String {
        let page = self.get("/ask/wires").send();
        let text = page.text();
        let token = text.split("name=\"page-token\" content=\"").nth(1).unwrap_or_else(|| panic!("{page:?}"));
        token.split('"').next().unwrap().into()
    }

    /// A connection that nothing was said on yet.
    pub fn connection(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream.set_write_timeout(Some(PATIENCE)).unwrap();
        stream
    }

    /// The markup of an answer, waited for.
    pub fn answered(&self, question: &str, filled: &[(&str, &str)]) -> String {
        let mut text = self.form(&format!("/do/ask/{question}"), filled).send().text();
        let begun = Instant::now();
        while let Some(run) = under_way(&text) {
            assert!(begun.elapsed() < 2 * PATIENCE, "{question} {filled:?} does not end");
            std::thread::sleep(Duration::from_millis(30));
            let page = self.get(&format!("/do/run/{run}")).with("x-desk-page", &self.page_token());
            text = page.send().text();
        }
        text
    }

    /// Whether it still answers a page as it should.
    pub fn assert_serves(&self) {
        let answer = self.get("/").send();
        assert_eq!(answer.status, 200, "{answer:?}");
        assert!(answer.text().contains("pair.json"), "{answer:?}");
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        // It has ended already where the test is about that.
        drop(self.child.kill());
        drop(self.child.wait());
        let told = std::fs::read_to_string(self.told.path()).unwrap_or_default();
        assert!(std::thread::panicking() || !told.contains("panicked"), "{told}");
    }
}

/// A request on its way.
#[derive(Clone)]
pub struct Ask<'a> {
    desk: &'a Desk,
    method: &'static str,
    target: String,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
}

impl<'a> Ask<'a> {
    fn new(desk: &'a Desk, method: &'static str, path: &str) -> Self {
        let headers = vec![
            ("host".to_owned(), format!("127.0.0.1:{}", desk.port)),
            ("sec-fetch-site".into(), "same-origin".into()),
            ("connection".into(), "close".into()),
        ];
        let ask = Self { desk, method, target: path.into(), headers, body: Vec::new() };
        if desk.cookie.is_empty() { ask } else { ask.with("cookie", &desk.cookie) }
    }

    /// One more header, beside any of the same name.
    pub fn and(mut self, name: &str, value: &str) -> Self {
        self.headers.push((name.into(), value.into()));
        self
    }

    /// This header instead of any of the same name.
    pub fn with(self, name: &str, value: &str) -> Self {
        self.without(name).and(name, value)
    }

    pub fn without(mut self, name: &str) -> Self {
        self.headers.retain(|(it, _)| it != name);
        self
    }

    pub fn method(mut self, method: &'static str) -> Self {
        self.method = method;
        self
    }

    pub fn body(mut self, body: impl Into<Vec<u8>>) -> Self {
        self.body = body.into();
        self
    }

    /// The bytes of the request.
    pub fn bytes(&self) -> Vec<u8> {
        let mut bytes = format!("{} {} HTTP/1.1\r\n", self.method, self.target).into_bytes();
        for (name, value) in &self.headers {
            bytes.extend(format!("{name}: {value}\r\n").bytes());
        }
        if !self.body.is_empty() || self.method != "GET" {
            bytes.extend(format!("content-length: {}\r\n", self.body.len()).bytes());
        }
        bytes.extend(b"\r\n");
        bytes.extend(&self.body);
        bytes
    }

    /// The answer; the server closes the connection after it.
    pub fn send(&self) -> Answer {
        let mut stream = self.desk.connection();
        // A server that refuses a body may close before it has read it all.
        drop(stream.write_all(&self.bytes()));
        Answer::read_from(&mut stream)
            .unwrap_or_else(|| panic!("no answer to {} {}", self.method, self.target))
    }

    pub fn status(&self) -> u16 {
        self.send().status
    }
}

/// An answer.
#[derive(Clone)]
pub struct Answer {
    pub status: u16,
    headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl std::fmt::Debug for Answer {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let text = self.text();
        write!(out, "{} {:?}\n{}", self.status, self.headers, text.chars().take(2000).collect::<String>())
    }
}

impl Answer {
    /// Reads until the server closes.
    pub fn read_from(stream: &mut TcpStream) -> Option<Self> {
        let mut bytes = Vec::new();
        // A connection that is reset after the answer has given it all the same.
        drop(stream.read_to_end(&mut bytes));
        Self::parse(&bytes)
    }

    fn parse(bytes: &[u8]) -> Option<Self> {
        let end = bytes.windows(4).position(|at| at == b"\r\n\r\n")?;
        let head = std::str::from_utf8(&bytes[..end]).ok()?;
        let mut lines = head.split("\r\n");
        let status = lines.next()?.split(' ').nth(1)?.parse().ok()?;
        let headers: Vec<_> = lines
            .filter_map(|line| line.split_once(':'))
            .map(|(name, value)| (name.to_ascii_lowercase(), value.trim().to_owned()))
            .collect();
        Some(Self { status, headers, body: bytes[end + 4..].to_vec() })
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(it, _)| it == name).map(|(_, value)| value.as_str())
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// A text in per cent, but for letters, digits and `-._~`.
pub fn encoded(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'-' | b'.' | b'_' | b'~' => char::from(byte).to_string(),
            _ if byte.is_ascii_alphanumeric() => char::from(byte).to_string(),
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

/// The number of a run that is under way, by the markup that tells of it.
pub fn under_way(markup: &str) -> Option<String> {
    Some(markup.split("data-told=\"/told/").nth(1)?.split('"').next()?.to_owned())
}

/// The addresses of the files that a run made.
pub fn made(markup: &str) -> Vec<String> {
    let mut made: Vec<_> =
        markup.split('"').filter(|text| text.starts_with("/made/")).map(str::to_owned).collect();
    made.sort();
    made.dedup();
    made
}
