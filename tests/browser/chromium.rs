//! Drives a page in Chromium through the pipe of its debugging protocol. Messages are JSON, each followed by a zero
//! byte.

use serde_json::{Value, json};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A page in a browser of its own.
pub struct Page {
    browser: Child,
    to: File,
    from: BufReader<File>,
    next_id: u64,
    /// The tab that commands go to.
    tab: Option<Tab>,
    url: String,
    requests: Vec<String>,
    complaints: Vec<String>,
    /// What the page's dialogs asked.
    asked: Vec<String>,
    /// Whether a dialog of the page is answered with yes.
    says_yes: bool,
    folder: tempfile::TempDir,
}

/// Time after which a wait fails.
const PATIENCE: Duration = Duration::from_secs(60);

impl Page {
    /// Starts the browser and opens a lesson's file in it.
    pub fn open(file: &Path) -> Self {
        let mut page = Self::start();
        page.url = format!("file://{}", file.to_str().unwrap());
        page.go();
        page
    }

    /// Starts the browser with an empty page.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (into, out) = (folder.path().join("in"), folder.path().join("out"));
        let made = Command::new("mkfifo").args([&into, &out]).status().unwrap();
        assert!(made.success());
        let name = std::env::var("COILWRIGHT_CHROMIUM").unwrap_or_else(|_| "chromium".into());
        // The shell connects the browser's pipe to its file descriptors 3 and 4.
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
        let mut page = Self {
            browser,
            to,
            from,
            next_id: 0,
            tab: None,
            url: String::new(),
            requests: Vec::new(),
            complaints: Vec::new(),
            asked: Vec::new(),
            says_yes: true,
            folder,
        };
        std::fs::create_dir(page.downloads()).unwrap();
        let downloads = json!({"behavior": "allow", "downloadPath": page.downloads()});
        page.call("Browser.setDownloadBehavior", downloads);
        page.another_tab();
        page
    }

    /// Opens another tab and sends commands to it from now on. Returns the tab used before.
    pub fn another_tab(&mut self) -> Option<Tab> {
        let before = self.tab.take();
        let target = self.call("Target.createTarget", json!({"url": "about:blank"}));
        let target = target["targetId"].as_str().unwrap().to_owned();
        let attached = self.call("Target.attachToTarget", json!({"targetId": target, "flatten": true}));
        let session = attached["sessionId"].as_str().unwrap().to_owned();
        self.tab = Some(Tab { target, session });
        for domain in ["Page", "Network", "Runtime", "Log"] {
            self.call(&format!("{domain}.enable"), json!({}));
        }
        self.call("Emulation.setFocusEmulationEnabled", json!({"enabled": true}));
        before
    }

    /// Sends commands to another tab from now on. Returns the tab used before.
    pub fn turn_to(&mut self, tab: Tab) -> Tab {
        self.tab.replace(tab).unwrap()
    }

    /// Closes the current tab and sends commands to another one from now on.
    pub fn close_and_turn_to(&mut self, tab: Tab) {
        let closed = self.tab.take().unwrap();
        self.call("Target.closeTarget", json!({"targetId": closed.target}));
        self.tab = Some(tab);
    }

    /// Folder for downloads.
    pub fn downloads(&self) -> PathBuf {
        self.folder.path().join("downloads")
    }

    /// Goes to an address and waits until an expression is true there.
    pub fn visit(&mut self, url: &str, ready: &str) {
        self.evaluate("window.isLeft = true");
        self.call("Page.navigate", json!({"url": url}));
        self.wait_for(&format!("!window.isLeft && document.readyState === 'complete' && ({ready})"));
    }

    /// Waits until an expression is true.
    pub fn wait_for(&mut self, expression: &str) {
        let begun = Instant::now();
        // While one page replaces another, there may be no document to ask.
        while self.evaluated(expression).is_none_or(|value| value != json!(true)) {
            if begun.elapsed() > PATIENCE {
                let text = self.evaluate("location.href + '\\n' + document.body.innerText");
                panic!("waited for {expression:.400}\non {}", text.as_str().unwrap_or_default());
            }
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Presses and releases a key: `Tab`, `Enter`, `Space`, `End` or `Backspace`, with `Shift+` in front if wanted.
    pub fn press(&mut self, key: &str) {
        let (name, modifiers) = match key.strip_prefix("Shift+") {
            Some(name) => (name, 8),
            None => (key, 0),
        };
        let (code, text) = match name {
            "Tab" => (9, ""),
            "Enter" => (13, "\r"),
            "Space" => (32, " "),
            "Backspace" => (8, ""),
            "End" => (35, ""),
            other => panic!("no key {other}"),
        };
        let key = if name == "Space" { " " } else { name };
        let mut message = json!({"type": if text.is_empty() { "rawKeyDown" } else { "keyDown" }, "key": key,
                                 "code": name, "windowsVirtualKeyCode": code, "modifiers": modifiers});
        if !text.is_empty() {
            message["text"] = text.into();
        }
        self.call("Input.dispatchKeyEvent", message.clone());
        message["type"] = "keyUp".into();
        self.call("Input.dispatchKeyEvent", message);
    }

    /// Types or pastes a text where the focus is.
    pub fn insert(&mut self, text: &str) {
        self.call("Input.insertText", json!({"text": text}));
    }

    /// Moves the mouse to a position in the window.
    pub fn move_mouse(&mut self, [x, y]: [f64; 2]) {
        self.call("Input.dispatchMouseEvent", json!({"type": "mouseMoved", "x": x, "y": y}));
    }

    /// Clicks with the left button at a position in the window.
    pub fn click_at(&mut self, [x, y]: [f64; 2]) {
        self.move_mouse([x, y]);
        for kind in ["mousePressed", "mouseReleased"] {
            let event =
                json!({"type": kind, "x": x, "y": y, "button": "left", "buttons": 1, "clickCount": 1});
            self.call("Input.dispatchMouseEvent", event);
        }
    }

    /// Collects garbage. Returns the bytes that the page's scripts still hold.
    pub fn collect_garbage(&mut self) -> f64 {
        self.call("HeapProfiler.collectGarbage", json!({}));
        self.call("Runtime.getHeapUsage", json!({}))["usedSize"].as_f64().unwrap()
    }

    /// The value of an expression in the page's print layout.
    pub fn printed(&mut self, expression: &str) -> Value {
        self.call("Emulation.setEmulatedMedia", json!({"media": "print"}));
        let value = self.evaluate(expression);
        self.call("Emulation.setEmulatedMedia", json!({"media": ""}));
        value
    }

    /// Chooses files in a file field.
    pub fn choose_files(&mut self, selector: &str, files: &[PathBuf]) {
        let root = self.call("DOM.getDocument", json!({}));
        let root = &root["root"]["nodeId"];
        let node = self.call("DOM.querySelector", json!({"nodeId": root, "selector": selector}));
        self.call("DOM.setFileInputFiles", json!({"nodeId": node["nodeId"], "files": files}));
    }

    /// Saves a picture of the whole page if COILWRIGHT_SHOTS names a folder.
    pub fn keep_picture(&mut self, name: &str) {
        let Some(folder) = std::env::var_os("COILWRIGHT_SHOTS") else { return };
        let answer = self.call("Page.captureScreenshot", json!({"captureBeyondViewport": true}));
        let path = PathBuf::from(folder).join(format!("{name}.png.base64"));
        std::fs::write(path, answer["data"].as_str().unwrap()).unwrap();
    }

    /// Goes back to the page before, as the browser's button does.
    pub fn back(&mut self) {
        // Goes back only after the answer, which a page that is being left would not give.
        self.evaluate("setTimeout(() => history.back()); 0");
    }

    /// Reloads the page, as the browser's button does.
    pub fn load_anew(&mut self, ready: &str) {
        self.evaluate("window.isLeft = true");
        self.call("Page.reload", json!({}));
        self.wait_for(&format!("!window.isLeft && document.readyState === 'complete' && ({ready})"));
    }

    /// Opens the file again, as after closing the page.
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

    /// The value of an expression in the page. A promise is awaited.
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

    /// The value of an expression. `None` if the page cannot evaluate it at the moment.
    fn evaluated(&mut self, expression: &str) -> Option<Value> {
        let parameters = json!({"expression": expression, "returnByValue": true});
        let answer = self.tried("Runtime.evaluate", parameters).ok()?;
        answer["result"].get("value").cloned()
    }

    /// Changes the size of the page.
    pub fn resize(&mut self, width: u32, height: u32) {
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false}),
        );
    }

    /// Addresses of everything that the page requested, itself included.
    pub fn requests(&self) -> &[String] {
        &self.requests
    }

    /// Errors and warnings on the console.
    pub fn complaints(&self) -> &[String] {
        &self.complaints
    }

    /// What the page's dialogs asked so far.
    pub fn asked(&self) -> &[String] {
        &self.asked
    }

    /// Answers the page's dialogs with yes or no from now on.
    pub fn answer_dialogs(&mut self, says_yes: bool) {
        self.says_yes = says_yes;
    }

    /// Forgets the complaints so far, which were expected.
    pub fn forget_complaints(&mut self) {
        self.complaints.clear();
    }

    fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.tried(method, parameters).unwrap_or_else(|error| panic!("{method}: {error}"))
    }

    /// Sends a message and waits for its answer or error.
    fn tried(&mut self, method: &str, parameters: Value) -> Result<Value, Value> {
        let id = self.send(method, parameters);
        loop {
            let mut bytes = Vec::new();
            self.from.read_until(0, &mut bytes).unwrap();
            assert!(!bytes.is_empty(), "the browser is gone");
            bytes.pop();
            let answer: Value = serde_json::from_slice(&bytes).unwrap();
            if answer["id"] == json!(id) {
                return match answer.get("error") {
                    Some(error) => Err(error.clone()),
                    None => Ok(answer["result"].clone()),
                };
            }
            self.hear(&answer);
        }
    }

    fn send(&mut self, method: &str, parameters: Value) -> u64 {
        self.next_id += 1;
        let id = self.next_id;
        let mut message = json!({"id": id, "method": method, "params": parameters});
        if let Some(tab) = &self.tab {
            message["sessionId"] = tab.session.as_str().into();
        }
        self.to.write_all(format!("{message}\0").as_bytes()).unwrap();
        id
    }

    fn hear(&mut self, event: &Value) {
        match event["method"].as_str() {
            Some("Network.requestWillBeSent") => {
                self.requests.push(event["params"]["request"]["url"].as_str().unwrap_or_default().into());
            }
            Some("Runtime.exceptionThrown") => self.complaints.push(event["params"].to_string()),
            Some("Log.entryAdded") => self.complaints.push(event["params"]["entry"]["text"].to_string()),
            Some("Runtime.consoleAPICalled") => {
                if let Some("error" | "warning" | "assert") = event["params"]["type"].as_str() {
                    self.complaints.push(event["params"]["args"].to_string());
                }
            }
            Some("Page.javascriptDialogOpening") => {
                self.asked.push(event["params"]["message"].as_str().unwrap_or_default().into());
                self.send("Page.handleJavaScriptDialog", json!({"accept": self.says_yes}));
            }
            _ => {}
        }
    }
}

/// A tab of the browser.
pub struct Tab {
    target: String,
    session: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        // Kills the browser. Errors are ignored, because it may have ended already.
        let _ = self.browser.kill();
        let _ = self.browser.wait();
    }
}
