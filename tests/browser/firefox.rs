//! Drives a page in Firefox through Marionette, its remote protocol: a local connection, on which each message is its
//! length in digits, a colon, and JSON.

use crate::Browser;
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A page in a Firefox of its own.
pub struct Firefox {
    browser: Child,
    stream: TcpStream,
    next_id: u64,
    url: String,
    _folder: tempfile::TempDir,
}

/// Time after which starting the browser fails.
const PATIENCE: Duration = Duration::from_secs(60);

impl Firefox {
    /// Starts the browser and opens a lesson's file in it.
    pub fn open(file: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        // A port that was free a moment ago.
        let port = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap().local_addr().unwrap().port();
        let preferences = format!(
            "user_pref(\"marionette.port\", {port});\nuser_pref(\"browser.shell.checkDefaultBrowser\", false);\n\
             user_pref(\"app.update.disabledForTesting\", true);\n\
             user_pref(\"datareporting.policy.dataSubmissionEnabled\", false);\n\
             user_pref(\"network.captive-portal-service.enabled\", false);\nuser_pref(\"browser.startup.page\", 0);\n"
        );
        std::fs::write(folder.path().join("user.js"), preferences).unwrap();
        let name = std::env::var("COILWRIGHT_FIREFOX").unwrap_or_else(|_| "firefox-esr".into());
        let browser = Command::new(&name)
            .args(["--headless", "--marionette", "--no-remote", "--profile"])
            .arg(folder.path())
            .env("HOME", folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let begun = Instant::now();
        let stream = loop {
            match TcpStream::connect((Ipv4Addr::LOCALHOST, port)) {
                Ok(stream) => break stream,
                Err(error) => assert!(begun.elapsed() < PATIENCE, "Firefox does not answer: {error}"),
            }
            std::thread::sleep(Duration::from_millis(50));
        };
        let url = format!("file://{}", file.to_str().unwrap());
        let mut page = Self { browser, stream, next_id: 0, url, _folder: folder };
        assert_eq!(page.receive()["marionetteProtocol"], 3);
        page.call("WebDriver:NewSession", &json!({"capabilities": {}}));
        page.call("WebDriver:SetTimeouts", &json!({"script": PATIENCE.as_millis() as u64}));
        page.reload();
        page
    }

    fn call(&mut self, command: &str, parameters: &Value) -> Value {
        self.next_id += 1;
        let message = json!([0, self.next_id, command, parameters]).to_string();
        self.stream.write_all(format!("{}:{message}", message.len()).as_bytes()).unwrap();
        let answer = self.receive();
        assert_eq!(answer[1], self.next_id);
        assert!(answer[2].is_null(), "{command}: {}", answer[2]);
        answer[3].clone()
    }

    fn receive(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut byte = [0];
            self.stream.read_exact(&mut byte).unwrap();
            match byte[0] {
                b':' => break,
                digit => length = 10 * length + usize::from(digit - b'0'),
            }
        }
        let mut message = vec![0; length];
        self.stream.read_exact(&mut message).unwrap();
        serde_json::from_slice(&message).unwrap()
    }
}

impl Browser for Firefox {
    fn evaluate(&mut self, expression: &str) -> Value {
        let script = format!(
            "const done = arguments[arguments.length - 1];
             Promise.resolve().then(() => ({expression}))
               .then((value) => done({{value: value ?? null}}), (error) => done({{error: String(error)}}));"
        );
        // Without a sandbox the script can call the page's functions.
        let parameters = json!({"script": script, "args": [], "sandbox": null, "newSandbox": false});
        let answer = self.call("WebDriver:ExecuteAsyncScript", &parameters);
        let answer = &answer["value"];
        assert!(answer.get("error").is_none(), "{expression:.300}: {}", answer["error"]);
        answer["value"].clone()
    }

    fn reload(&mut self) {
        let url = self.url.clone();
        self.call("WebDriver:Navigate", &json!({"url": url}));
        let begun = Instant::now();
        while self.evaluate("typeof window.bench === 'object' && document.readyState === 'complete'")
            != json!(true)
        {
            assert!(begun.elapsed() < PATIENCE, "the page does not get ready");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Firefox {
    fn drop(&mut self) {
        // Errors are ignored, because the browser may have ended already.
        let _ = self.browser.kill();
        let _ = self.browser.wait();
    }
}
