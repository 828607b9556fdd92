//! A page in Chromium, spoken to through a pipe: messages in JSON, each ended by a nought byte.

use serde_json::{Value, json};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// One page in a browser of its own.
pub struct Page {
    browser: Child,
    to: File,
    from: BufReader<File>,
    next_id: u64,
    session: Option<String>,
    url: String,
    requests: Vec<String>,
    complaints: Vec<String>,
    _folder: tempfile::TempDir,
}

impl Page {
    /// Starts the browser and opens a file in it.
    pub fn open(file: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (into, out) = (folder.path().join("in"), folder.path().join("out"));
        let made = Command::new("mkfifo").args([&into, &out]).status().unwrap();
        assert!(made.success());
        let name = std::env::var("COILWRIGHT_CHROMIUM").unwrap_or_else(|_| "chromium".into());
        // The shell gives the browser its pipe as files 3 and 4.
        let script = "exec \"$0\" --headless=new --no-sandbox --disable-gpu --no-first-run --remote-debugging-pipe \
                      --user-data-dir=\"$1/profile\" --window-size=1280,800 about:blank 3<\"$1/in\" 4>\"$1/out\"";
        let browser = Command::new("sh")
            .args(["-c", script, &name])
            .arg(folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let to = OpenOptions::new().write(true).open(&into).unwrap();
        let from = BufReader::new(File::open(&out).unwrap());
        let url = format!("file://{}", file.to_str().unwrap());
        let mut page = Self {
            browser,
            to,
            from,
            next_id: 0,
            session: None,
            url,
            requests: Vec::new(),
            complaints: Vec::new(),
            _folder: folder,
        };
        let target = page.call("Target.createTarget", json!({"url": "about:blank"}));
        let attached =
            page.call("Target.attachToTarget", json!({"targetId": target["targetId"], "flatten": true}));
        page.session = Some(attached["sessionId"].as_str().unwrap().into());
        for domain in ["Page", "Network", "Runtime", "Log"] {
            page.call(&format!("{domain}.enable"), json!({}));
        }
        page.go();
        page
    }

    /// Opens the file once more, as after the page was closed.
    pub fn reload(&mut self) {
        self.go();
    }

    fn go(&mut self) {
        let url = self.url.clone();
        self.call("Page.navigate", json!({"url": url}));
        while self.evaluate("typeof window.bench === 'object' && document.readyState === 'complete'")
            != json!(true)
        {
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
    }

    /// The value of an expression in the page; a promise is waited for.
    pub fn evaluate(&mut self, expression: &str) -> Value {
        let answer = self.call(
            "Runtime.evaluate",
            json!({"expression": expression, "awaitPromise": true, "returnByValue": true}),
        );
        assert!(
            answer.get("exceptionDetails").is_none(),
            "{expression:.300}: {}",
            answer["exceptionDetails"]
        );
        answer["result"].get("value").cloned().unwrap_or(Value::Null)
    }

    /// Gives the page another size.
    pub fn resize(&mut self, width: u32, height: u32) {
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false}),
        );
    }

    /// Everything that the page asked for, itself included.
    pub fn requests(&self) -> &[String] {
        &self.requests
    }

    /// Errors and warnings of the console.
    pub fn complaints(&self) -> &[String] {
        &self.complaints
    }

    fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.next_id += 1;
        let id = self.next_id;
        let mut message = json!({"id": id, "method": method, "params": parameters});
        if let Some(session) = &self.session {
            message["sessionId"] = session.as_str().into();
        }
        self.to.write_all(format!("{message}\0").as_bytes()).unwrap();
        loop {
            let mut bytes = Vec::new();
            self.from.read_until(0, &mut bytes).unwrap();
            assert!(!bytes.is_empty(), "the browser is gone");
            bytes.pop();
            let answer: Value = serde_json::from_slice(&bytes).unwrap();
            if answer["id"] == json!(id) {
                assert!(answer.get("error").is_none(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
            self.hear(&answer);
        }
    }

    fn hear(&mut self, event: &Value) {
        match event["method"].as_str() {
            Some("Network.requestWillBeSent") => {
                self.requests.push(event["params"]["request"]["url"].as_str().unwrap_or_default().into());
            }
            Some("Runtime.exceptionThrown") => self.complaints.push(event["params"].to_string()),
            Some("Log.entryAdded") => self.complaints.push(event["params"]["entry"]["text"].to_string()),
            _ => {}
        }
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        // The page is done with; a browser that is gone already needs no end.
        let _ = self.browser.kill();
        let _ = self.browser.wait();
    }
}
