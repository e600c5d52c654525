//! A browser, driven by WebDriver (W3C, <https://www.w3.org/TR/webdriver2/>): the few calls that
//! the tests need, over plain HTTP to a driver of our own.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, getpgid, kill_process, kill_process_group};
use serde_json::{Value, json};

use super::wire::call;

/// How long something may take to be seen.
const PATIENCE: Duration = Duration::from_secs(40);

/// How often it is looked for.
const STEP: Duration = Duration::from_millis(50);

/// Nothing but the page: no network of its own, no first run, no GPU.
const FLAGS: &[&str] = &[
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
];

const BROWSERS: &[&str] =
    &["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/chromium-headless-shell"];

/// Enter and Tab, as the protocol writes them.
pub const ENTER: char = '\u{e007}';
pub const TAB: char = '\u{e004}';

/// An element's name in the protocol.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";

/// A driver; ended with the value.
pub struct Driver {
    child: Child,
    at: String,
    flags: Vec<String>,
    /// What its browsers are set to, in Chromium's own names.
    preferences: Value,
}

impl Driver {
    /// Starts one at a free port.
    pub fn start() -> Self {
        Self::start_by(&mut Command::new("chromedriver"), &[])
    }

    /// One whose browsers take this folder for their home, and are started with these flags too.
    pub fn start_at_home(home: &Path, flags: &[String]) -> Self {
        Self::start_by(Command::new("chromedriver").env("HOME", home), flags)
    }

    /// One whose browsers keep nothing for any page.
    pub fn start_keeping_nothing() -> Self {
        let mut driver = Self::start();
        driver.preferences = json!({ "profile.default_content_setting_values.cookies": 2 });
        driver
    }

    fn start_by(command: &mut Command, flags: &[String]) -> Self {
        let mut child = command
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver: `cargo xtask setup --pictures` installs it");
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let port = lines.find_map(|line| {
            let (_, port) = line.split_once("started successfully on port ")?;
            Some(port.trim_end_matches('.').to_owned())
        });
        let at = format!("127.0.0.1:{}", port.expect("a port"));
        // What it says later goes nowhere, but must go: a full pipe would stop it.
        std::thread::spawn(move || lines.for_each(drop));
        let flags = FLAGS.iter().map(|flag| (*flag).to_owned()).chain(flags.iter().cloned()).collect();
        Self { child, at, flags, preferences: json!({}) }
    }

    /// A phone's browser on this profile, which outlives it.
    pub fn browser(&self, profile: &Path) -> Browser {
        let binary = BROWSERS.iter().map(PathBuf::from).find(|path| path.exists()).expect("a browser");
        let mut arguments = self.flags.clone();
        arguments.push(format!("--user-data-dir={}", profile.display()));
        let metrics = json!({ "width": 390, "height": 844, "pixelRatio": 2, "touch": true });
        let options = json!({
            "binary": binary, "args": arguments,
            "mobileEmulation": { "deviceMetrics": metrics }, "prefs": self.preferences,
        });
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "goog:chromeOptions": options, "goog:loggingPrefs": { "browser": "ALL" },
        } } });
        let session = call(&self.at, "POST", "/session", &wanted).expect("a session");
        let id = session["sessionId"].as_str().unwrap().to_owned();
        let process = session["capabilities"]["goog:processID"].as_i64();
        Browser { at: self.at.clone(), id, process }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _gone = self.child.kill();
        let _waited = self.child.wait();
    }
}

/// A browser with a tab.
pub struct Browser {
    at: String,
    id: String,
    process: Option<i64>,
}

impl Browser {
    fn call(&self, method: &str, path: &str, body: &Value) -> Result<Value, String> {
        call(&self.at, method, &format!("/session/{}{path}", self.id), body)
    }

    pub fn go(&self, url: &str) {
        self.tries_to_go(url).unwrap();
    }

    /// Goes there, or says why not.
    pub fn tries_to_go(&self, url: &str) -> Result<(), String> {
        self.call("POST", "/url", &json!({ "url": url })).map(drop)
    }

    /// Runs a function's body in the page.
    pub fn script(&self, body: &str) -> Value {
        self.call("POST", "/execute/sync", &json!({ "script": body, "args": [] })).unwrap()
    }

    /// As [`Browser::script`], of one that says later what it came to: its last argument is who to tell.
    pub fn script_later(&self, body: &str) -> Value {
        self.call("POST", "/timeouts", &json!({ "script": 120_000 })).unwrap();
        self.call("POST", "/execute/async", &json!({ "script": body, "args": [] })).unwrap()
    }

    /// Another tab, which is the one that is driven from now on.
    pub fn new_tab(&self) -> String {
        let made = self.call("POST", "/window/new", &json!({ "type": "tab" })).unwrap();
        let handle = made["handle"].as_str().unwrap().to_owned();
        self.turn_to(&handle);
        handle
    }

    pub fn tab(&self) -> String {
        self.call("GET", "/window", &Value::Null).unwrap().as_str().unwrap().to_owned()
    }

    pub fn turn_to(&self, tab: &str) {
        self.call("POST", "/window", &json!({ "handle": tab })).unwrap();
    }

    pub fn close_tab(&self) {
        self.call("DELETE", "/window", &Value::Null).unwrap();
    }

    /// Makes its processor so many times slower (Chromium's own protocol).
    pub fn slower(&self, times: u32) {
        let how = json!({ "cmd": "Emulation.setCPUThrottlingRate", "params": { "rate": times } });
        self.call("POST", "/goog/cdp/execute", &how).unwrap();
    }

    /// Gives a page so much room for what it keeps, in bytes, while this browser lives (Chromium's own
    /// protocol).
    pub fn room(&self, origin: &str, bytes: u64) {
        let params = json!({ "origin": origin, "quotaSize": bytes });
        let how = json!({ "cmd": "Storage.overrideQuotaForOrigin", "params": params });
        self.call("POST", "/goog/cdp/execute", &how).unwrap();
    }

    /// Shows what it shows by day or by night (Chromium's own protocol).
    pub fn theme(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        let features = json!([
            { "name": "prefers-color-scheme", "value": value },
            { "name": "prefers-reduced-motion", "value": "reduce" },
        ]);
        let how = json!({ "cmd": "Emulation.setEmulatedMedia", "params": { "features": features } });
        self.call("POST", "/goog/cdp/execute", &how).unwrap();
    }

    /// The whole page as a PNG.
    pub fn picture(&self) -> Vec<u8> {
        let how = json!({ "cmd": "Page.captureScreenshot", "params": { "captureBeyondViewport": true } });
        let taken = self.call("POST", "/goog/cdp/execute", &how).unwrap();
        data_encoding::BASE64.decode(taken["data"].as_str().unwrap().as_bytes()).unwrap()
    }

    /// The page as it is printed, a PDF.
    pub fn paper(&self) -> Vec<u8> {
        let printed = self.call("POST", "/print", &json!({ "background": true })).unwrap();
        data_encoding::BASE64.decode(printed.as_str().unwrap().as_bytes()).unwrap()
    }

    /// Ends it without a word, as a phone whose battery fails.
    pub fn kill(self) {
        self.killer().kills();
        // The driver notices when it is asked next.
        let _gone = self.call("DELETE", "", &Value::Null);
    }

    /// What ends it so while somebody else has it in hand.
    pub fn killer(&self) -> Killer {
        let process = self.process.and_then(|id| i32::try_from(id).ok()).expect("its process");
        Killer(Pid::from_raw(process).unwrap())
    }

    /// All that is to be read on the page.
    pub fn text(&self) -> String {
        self.tries_text().unwrap()
    }

    /// The same of one that may be gone.
    pub fn tries_text(&self) -> Result<String, String> {
        let text = json!({ "script": "return document.body.innerText", "args": [] });
        let text = self.call("POST", "/execute/sync", &text)?;
        Ok(text.as_str().unwrap_or_default().to_owned())
    }

    /// Waits until the page says this.
    pub fn says(&self, words: &str) {
        self.until(words, || self.text().contains(words));
    }

    /// Waits until something is so.
    pub fn until(&self, what: &str, is_so: impl Fn() -> bool) {
        let until = Instant::now() + PATIENCE;
        while !is_so() {
            assert!(
                Instant::now() < until,
                "not seen: {what}\non the page:\n{}\nlog: {}",
                self.text(),
                self.log()
            );
            std::thread::sleep(STEP);
        }
    }

    /// Types into the field of that name, in the place of what is there.
    pub fn types(&self, field: &str, text: &str) {
        let element = self.find(&format!(
            "//label[span[.='{field}']]//*[self::input or self::textarea] | //*[@id=//label[normalize-space(.)='{field}']/@for]"
        ));
        self.call("POST", &format!("/element/{element}/clear"), &json!({})).unwrap();
        self.call("POST", &format!("/element/{element}/value"), &json!({ "text": text })).unwrap();
    }

    /// Types on the keyboard, as a gauge does that types: wherever the focus is.
    pub fn keys(&self, text: &str) {
        self.tries_keys(text).unwrap();
    }

    /// The same on one that may be gone.
    pub fn tries_keys(&self, text: &str) -> Result<(), String> {
        let stroke = |key: char| {
            let key = |kind: &str| json!({ "type": kind, "value": key.to_string() });
            [key("keyDown"), key("keyUp")]
        };
        let strokes: Vec<Value> = text.chars().flat_map(stroke).collect();
        let keyboard = json!({ "type": "key", "id": "keyboard", "actions": strokes });
        self.call("POST", "/actions", &json!({ "actions": [keyboard] })).map(drop)
    }

    /// Presses the button or link of that name, once it is there and can be pressed.
    pub fn presses(&self, name: &str) {
        let path = format!(
            "//*[(self::button or self::a) and not(@disabled) and (normalize-space(.)='{name}' or @aria-label='{name}')]"
        );
        self.presses_at(&path);
    }

    /// Presses the first button whose words begin so.
    pub fn presses_beginning(&self, words: &str) {
        self.presses_at(&format!("//button[not(@disabled) and starts-with(normalize-space(.), '{words}')]"));
    }

    /// Presses what stands at an XPath.
    pub fn presses_at(&self, path: &str) {
        let until = Instant::now() + PATIENCE;
        loop {
            let element = self.find(path);
            let clicked = self.call("POST", &format!("/element/{element}/click"), &json!({}));
            match clicked {
                Ok(_) => return,
                // It was drawn anew between finding and pressing, or lies under the bar at the foot of
                // the screen: a hand moves the page.
                Err(said) => {
                    assert!(Instant::now() < until, "{path}: {said}");
                    let middle = json!({
                        "script": "arguments[0].scrollIntoView({ block: 'center' })", "args": [{ ELEMENT: element }],
                    });
                    let _gone = self.call("POST", "/execute/sync", &middle);
                }
            }
            std::thread::sleep(STEP);
        }
    }

    fn find(&self, path: &str) -> String {
        let wanted = json!({ "using": "xpath", "value": path });
        let until = Instant::now() + PATIENCE;
        loop {
            if let Ok(found) = self.call("POST", "/element", &wanted) {
                return found[ELEMENT].as_str().unwrap().to_owned();
            }
            assert!(
                Instant::now() < until,
                "not there: {path}\non the page:\n{}\nlog: {}",
                self.text(),
                self.log()
            );
            std::thread::sleep(STEP);
        }
    }

    /// What the page has said to its console.
    pub fn log(&self) -> String {
        let said = self.call("POST", "/se/log", &json!({ "type": "browser" })).unwrap_or_default();
        let lines = said.as_array().cloned().unwrap_or_default();
        lines.iter().filter_map(|line| line["message"].as_str()).collect::<Vec<_>>().join("\n")
    }
}

/// Ends a browser, with all the processes that it has.
pub struct Killer(Pid);

impl Killer {
    pub fn kills(self) {
        let Self(process) = self;
        // It may be gone already.
        let _gone = if getpgid(Some(process)) == Ok(process) {
            kill_process_group(process, Signal::KILL)
        } else {
            kill_process(process, Signal::KILL)
        };
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _gone = self.call("DELETE", "", &Value::Null);
    }
}
