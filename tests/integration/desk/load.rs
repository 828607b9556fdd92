//! Too much, too slow, too long and malformed.

use super::client::{Answer, Desk, SPEC, under_way};
use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

/// A generator of numbers: xorshift64 (Marsaglia 2003, Xorshift RNGs, triplet 13, 7, 17).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, most: usize) -> usize {
        (self.next() % most as u64) as usize
    }

    fn one_of<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len())]
    }
}

const METHODS: [&str; 9] = ["GET", "POST", "PUT", "HEAD", "DELETE", "OPTIONS", "TRACE", "PATCH", "M-SEARCH"];
const PATHS: [&str; 27] = [
    "/",
    "/open",
    "/open?token=",
    "/open?token=%00&token=1",
    "/ask/map",
    "/ask/map?=&&=;&spec=%F0%9F",
    "/ask/%ff",
    "/file/pair.json",
    "/file/%00",
    "/file/..%2f..%2fetc",
    "/bytes/pair.json",
    "/made/0/0",
    "/made/%2e%2e/%2e%2e",
    "/told/0",
    "/assets/..",
    "/do/ask/sheet",
    "/do/run/%ff",
    "/do/keep/0/%00",
    "/do/file/pair.json",
    "/do/typed/pair.json",
    "/do/at/pair.json",
    "/do/first",
    "/files.zip?file=%ff",
    "/do/new",
    "/do/copy/pair.json",
    "//",
    "/%",
];
const HEADERS: [&str; 18] = [
    "cookie: desk=",
    "cookie: ;;;===;;",
    "cookie: \u{ff}\u{fe}",
    "origin: null",
    "if-match: \"",
    "if-match: *",
    "if-none-match: *",
    "sec-fetch-site: same-origin, none",
    "sec-fetch-site: ",
    "x-desk-page: .",
    "x-desk-page: a.b.c",
    "content-type: text/plain",
    "content-type: multipart/form-data; boundary=",
    "content-type: application/x-www-form-urlencoded",
    "expect: 100-continue",
    "range: bytes=0-,-1",
    "accept-encoding: gzip;q=nan",
    "upgrade: websocket",
];
const BODIES: [&str; 8] = [
    "",
    "{}",
    "spec=pair.json",
    "=&=&%",
    "name=&template=&text=",
    "name=%00.json&text=%ff",
    "\u{0}\u{1}\u{2}",
    "[[[[[[[[",
];

/// A request that is framed as it should be and makes no sense.
fn senseless(numbers: &mut Numbers, desk: &Desk, token: &str) -> Vec<u8> {
    let (method, body) = (numbers.one_of(&METHODS), numbers.one_of(&BODIES));
    let mut request =
        format!("{method} {} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\n", numbers.one_of(&PATHS), desk.port);
    for _ in 0..numbers.below(5) {
        request += &format!("{}\r\n", numbers.one_of(&HEADERS));
    }
    // Half of them come from somebody who has entered.
    if numbers.below(2) == 0 {
        request +=
            &format!("cookie: {}\r\nx-desk-page: {token}\r\norigin: {}\r\n", desk.cookie, desk.origin());
    }
    request += &format!("content-length: {}\r\n\r\n{body}", body.len());
    request.into_bytes()
}

/// A request whose bytes were changed, cut and repeated.
fn broken(numbers: &mut Numbers, desk: &Desk, token: &str) -> Vec<u8> {
    let mut bytes = senseless(numbers, desk, token);
    for _ in 0..=numbers.below(6) {
        let at = numbers.below(bytes.len());
        match numbers.below(5) {
            0 => bytes[at] = numbers.next() as u8,
            1 => bytes.truncate(at.max(1)),
            2 => bytes.insert(at, b"\r\n \0:%/"[numbers.below(7)]),
            3 => drop(bytes.splice(at..at, vec![b'a'; numbers.below(3000)])),
            _ => drop(bytes.remove(at)),
        }
        if bytes.is_empty() {
            bytes.push(b' ');
        }
    }
    bytes
}

/// Everything that comes back until the server closes.
fn said(mut stream: TcpStream, request: &[u8]) -> String {
    drop(stream.write_all(request));
    drop(stream.shutdown(Shutdown::Write));
    let mut answer = Vec::new();
    drop(stream.read_to_end(&mut answer));
    String::from_utf8_lossy(&answer).into_owned()
}

#[test]
fn ten_thousand_malformed_requests_break_nothing() {
    const TOGETHER: usize = 20;
    let mut desk = Desk::new();
    let token = desk.page_token();
    let mut numbers = Numbers(0x005e_ed0f_c011);
    let statuses = regex::Regex::new(r"HTTP/1\.1 (\d{3}) ").unwrap();
    let mut answered = 0;
    for _ in 0..5000 / TOGETHER {
        let requests: Vec<u8> = (0..TOGETHER).flat_map(|_| senseless(&mut numbers, &desk, &token)).collect();
        let said = said(desk.connection(), &requests);
        for status in statuses.captures_iter(&said) {
            answered += 1;
            assert!(!matches!(&status[1], "500" | "503"), "{said}");
        }
    }
    // Most connections were kept alive to their last request.
    assert!(answered > 4000, "{answered}");
    for _ in 0..5000 {
        let request = broken(&mut numbers, &desk, &token);
        let said = said(desk.connection(), &request);
        assert!(!said.starts_with("HTTP/1.1 500"), "{}\n{said}", String::from_utf8_lossy(&request));
    }
    desk.assert_serves();
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
    assert!(desk.ends_within(Duration::ZERO).is_none());
}

/// Open files of the desk.
#[cfg(target_os = "linux")]
fn open_files(desk: &Desk) -> usize {
    std::fs::read_dir(format!("/proc/{}/fd", desk.process())).unwrap().count()
}

#[cfg(target_os = "linux")]
#[test]
fn the_slow_are_left_and_the_others_are_served() {
    const DRIPPING: usize = 100;
    let desk = Desk::new();
    let page = desk.get("/").bytes();
    let begun = Instant::now();
    let mut slow: Vec<_> = (0..DRIPPING).map(|_| desk.connection()).collect();
    // These say nothing at all.
    let idle: Vec<_> = (0..100).map(|_| desk.connection()).collect();
    for byte in page.iter().take(6) {
        for stream in &mut slow {
            stream.write_all(&[*byte]).unwrap();
        }
        let asked = Instant::now();
        desk.assert_serves();
        // The slow are left after ten seconds: who had to wait for them would wait longer.
        assert!(asked.elapsed() < Duration::from_secs(9), "{:?}", asked.elapsed());
        std::thread::sleep(Duration::from_secs(1));
    }
    for stream in
        slow.iter_mut().chain(&mut idle.iter().map(|it| it.try_clone().unwrap()).collect::<Vec<_>>())
    {
        let mut rest = Vec::new();
        // Closed, with or without a word.
        drop(stream.read_to_end(&mut rest));
        let waited = begun.elapsed();
        assert!(waited < Duration::from_secs(16), "{waited:?}");
    }
    assert!(begun.elapsed() > Duration::from_secs(8), "{:?}", begun.elapsed());
    desk.assert_serves();
    assert!(open_files(&desk) < 40, "{}", open_files(&desk));
}

#[test]
fn those_who_do_not_read_their_answers_are_left() {
    let desk = Desk::new();
    let large = "a,b\n".repeat(3 << 20);
    std::fs::write(desk.path("large.csv"), &large).unwrap();
    let asked = desk.data("/bytes/large.csv").bytes();
    let mut deaf: Vec<_> = (0..12)
        .map(|_| {
            let mut stream = desk.connection();
            stream.write_all(&asked).unwrap();
            stream
        })
        .collect();
    std::thread::sleep(Duration::from_secs(28));
    desk.assert_serves();
    for stream in &mut deaf {
        let mut got = Vec::new();
        // Cut off: what the system had taken is all that comes.
        drop(stream.read_to_end(&mut got));
        assert!(got.len() < large.len(), "{}", got.len());
    }
}

#[cfg(target_os = "linux")]
#[test]
fn two_hundred_are_served_at_once_and_more_than_256_wait() {
    let desk = Desk::new();
    let page = desk.get("/").bytes();
    let mut many: Vec<_> = (0..200).map(|_| desk.connection()).collect();
    many.iter_mut().for_each(|stream| stream.write_all(&page).unwrap());
    for stream in &mut many {
        assert_eq!(Answer::read_from(stream).unwrap().status, 200);
    }
    // A client that opens far more than it may leaves the desk files enough for its work.
    let crowd: Vec<_> = (0..360).map(|_| desk.connection()).collect();
    std::thread::sleep(Duration::from_millis(300));
    let open = open_files(&desk);
    assert!((200..300).contains(&open), "{open} open files");
    drop(crowd);
    desk.assert_serves();
}

#[test]
fn a_body_over_the_limit_is_refused() {
    let desk = Desk::new();
    let put = |length: usize| {
        desk.change("PUT", "/do/file/new.json", vec![b' '; length]).with("if-none-match", "*")
    };
    assert_eq!(put((16 << 20) + 1).status(), 413);
    assert_eq!(put(40 << 20).status(), 413);
    assert!(!desk.path("new.json").exists());
    assert_eq!(put(16 << 20).status(), 200);
    // Without a length told before, as chunks.
    let ask = put(0).and("transfer-encoding", "chunked").bytes();
    let mut stream = desk.connection();
    let head = String::from_utf8(ask)
        .unwrap()
        .replace("content-length: 0\r\n", "")
        .replace("new.json", "chunks.json");
    stream.write_all(head.as_bytes()).unwrap();
    let mut chunk = format!("{:x}\r\n", 1 << 20).into_bytes();
    chunk.extend(vec![b' '; 1 << 20]);
    chunk.extend(b"\r\n");
    for _ in 0..20 {
        // It may be refused before all of it is sent.
        drop(stream.write_all(&chunk));
    }
    drop(stream.write_all(b"0\r\n\r\n"));
    assert_eq!(Answer::read_from(&mut stream).map(|answer| answer.status), Some(413));
    assert!(!desk.path("chunks.json").exists());
    for (path, field) in [("/do/new", "text"), ("/do/ask/sheet", "spec")] {
        let long = format!("{field}={}", "x".repeat((16 << 20) + 1));
        let ask = desk.change("POST", path, long).with("content-type", "application/x-www-form-urlencoded");
        assert_eq!(ask.status(), 413, "{path}");
    }
    // A header without end, and too many of them.
    for header in [("x".to_owned(), "y".repeat(1 << 20)), ("z".into(), "y\r\nz: y".repeat(500))] {
        let answer = desk.get("/").and(&header.0, &header.1).send();
        assert!(answer.status >= 400, "{answer:?}");
    }
    desk.assert_serves();
}

#[cfg(target_os = "linux")]
#[test]
fn two_runs_work_some_wait_and_more_are_refused() {
    use super::ending::{LONG, children, wait_until};
    let desk = Desk::new();
    let asked: Vec<_> =
        (0..24).map(|_| desk.form(&format!("/do/ask/{}", LONG.0), &LONG.1).send().text()).collect();
    let runs: Vec<_> = asked.iter().filter_map(|text| under_way(text)).collect();
    assert_eq!(runs.len(), 18);
    assert!(asked[18..].iter().all(|text| text.contains("Too many runs are waiting")), "{:?}", &asked[18..]);
    wait_until(|| children(&desk).len() == 2, "two runs");
    std::thread::sleep(Duration::from_millis(200));
    assert_eq!(children(&desk).len(), 2);
    desk.assert_serves();
    for run in &runs {
        assert_eq!(desk.change("POST", &format!("/do/stop/{run}"), "").status(), 200);
    }
    wait_until(|| children(&desk).is_empty(), "all are stopped");
    assert!(desk.answered("sheet", &[("spec", "pair.json")]).contains("answer done"));
    // Of the answers only so many are kept.
    for _ in 0..30 {
        desk.answered("wires", &[]);
    }
    let home = std::fs::read_dir(desk.work()).unwrap().next().unwrap().unwrap().path();
    let kept = std::fs::read_dir(home).unwrap().filter(|it| it.as_ref().unwrap().path().is_dir());
    assert!(kept.count() <= 24);
}

#[test]
fn an_archive_of_more_than_64_mib_is_refused() {
    let desk = Desk::new();
    for number in 0..5 {
        desk.put(&format!("table {number}.csv"), vec![b' '; 14 << 20]);
    }
    let answer = desk.data("/files.zip").send();
    assert_eq!(answer.status, 404, "{answer:?}");
    assert!(answer.text().contains("64 MiB"), "{answer:?}");
    std::fs::remove_file(desk.path("table 0.csv")).unwrap();
    let archive = zip::ZipArchive::new(std::io::Cursor::new(desk.data("/files.zip").send().body)).unwrap();
    assert_eq!(archive.len(), 5);
    // A file named again and again counts each time.
    let again = ["file=table%201.csv"; 5].join("&");
    assert!(desk.data(&format!("/files.zip?{again}")).status() >= 400);
    desk.assert_serves();
}

/// The memory that the desk has in use, in KiB.
#[cfg(target_os = "linux")]
fn memory(desk: &Desk) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", desk.process())).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
    line.trim().trim_end_matches(" kB").parse().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn a_thousand_pages_leave_the_memory_as_it_was() {
    let desk = Desk::new();
    let ask = |count: usize| {
        for number in 0..count {
            let path =
                ["/ask/map?spec=pair.json", "/ask/sheet?spec=pair.json", "/", "/file/pair.json"][number % 4];
            assert_eq!(desk.get(path).status(), 200);
        }
    };
    ask(200);
    for _ in 0..30 {
        desk.answered("sheet", &[("spec", "pair.json")]);
    }
    let before = memory(&desk);
    ask(1000);
    for _ in 0..30 {
        desk.answered("sheet", &[("spec", "pair.json")]);
    }
    let after = memory(&desk);
    println!("{before} KiB before, {after} KiB after 1000 pages and 30 answers");
    // What an answer leaves is bounded by the number kept; the rest is the allocator's.
    assert!(after < before + 6 * 1024, "{before} KiB before, {after} KiB after");
}
