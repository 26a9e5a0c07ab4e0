//! A small driver for one Chromium over its DevTools pipe: enough for what this page's tests do, and no more.
//!
//! Messages are JSON, each ended by a zero byte, on the browser's file descriptors 3 (in) and 4 (out). A shell puts
//! this process's pipes there, so that no crate and no unsafe code is needed. Every target (page, worker, service
//! worker) is attached to as it appears, so that no request of any of them is missed; Chromium's own net log says the
//! same from below.

mod page;
pub mod shown;

use serde_json::{Value, json};
use std::{
    env, fs,
    io::{BufRead as _, BufReader, Write as _},
    path::{Path, PathBuf},
    process::{Child, ChildStdin, Command, Stdio},
    sync::mpsc,
    thread,
    time::{Duration, Instant},
};

/// Longest wait for anything; a loaded two-core machine is slow, not stuck.
const PATIENCE: Duration = Duration::from_secs(30);

/// What every step of a test returns.
pub type Outcome<T> = Result<T, String>;

/// Starts browsers.
#[derive(Clone, Debug)]
pub struct Launcher {
    program: PathBuf,
    scratch: PathBuf,
}

impl Launcher {
    /// Looks for Chromium: `TARSAL_CHROMIUM`, then the usual names on the PATH.
    pub fn find(scratch: &Path) -> Option<Self> {
        let named = env::var_os("TARSAL_CHROMIUM").map(PathBuf::from);
        let found = named.filter(|path| path.is_file()).or_else(|| {
            let folders: Vec<PathBuf> = env::split_paths(&env::var_os("PATH")?).collect();
            let names = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"];
            names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name))).find(|path| path.is_file())
        });
        found.map(|program| Self { program, scratch: scratch.to_path_buf() })
    }

    /// A browser with a fresh profile and one empty page. `name` keeps the folders of tests apart.
    pub fn launch(&self, name: &str) -> Outcome<Browser> {
        Browser::launch(&self.program, &self.scratch.join(format!("{name}-profile")), &self.scratch.join(format!("{name}-netlog.json")))
    }
}

/// One running browser and its page.
pub struct Browser {
    child: Child,
    to_browser: ChildStdin,
    from_browser: mpsc::Receiver<Value>,
    next_id: u64,
    /// Session of the window that is driven, and those of the others.
    page: String,
    others: Vec<String>,
    requests: Vec<String>,
    console: Vec<String>,
    net_log: PathBuf,
}

impl Browser {
    fn launch(program: &Path, profile: &Path, net_log: &Path) -> Outcome<Self> {
        fs::create_dir_all(profile).map_err(|error| format!("{}: {error}", profile.display()))?;
        let mut child = Command::new("sh")
            .args(["-c", r#"exec "$@" 3<&0 4>&1 </dev/null >/dev/null 2>&1"#, "sh"])
            .arg(program)
            .args(["--remote-debugging-pipe", "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"])
            .args(["--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"])
            // The browser's own errands must not reach the network either while testing.
            .arg("--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1")
            .args(["--disable-default-apps", "--disable-extensions", "--window-size=1280,900", "--lang=en-GB"])
            .arg(format!("--user-data-dir={}", profile.display()))
            .arg(format!("--log-net-log={}", net_log.display()))
            .arg("about:blank")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| format!("{}: {error}", program.display()))?;
        let to_browser = child.stdin.take().ok_or("the browser has no input")?;
        let output = child.stdout.take().ok_or("the browser has no output")?;
        let (send, from_browser) = mpsc::channel();
        thread::spawn(move || {
            let mut reader = BufReader::new(output);
            let mut message = Vec::new();
            while reader.read_until(0, &mut message).is_ok_and(|count| count > 0) {
                message.pop();
                let Ok(value) = serde_json::from_slice(&message) else { break };
                if send.send(value).is_err() {
                    break;
                }
                message.clear();
            }
        });
        let mut browser = Self {
            child,
            to_browser,
            from_browser,
            next_id: 0,
            page: String::new(),
            others: Vec::new(),
            requests: Vec::new(),
            console: Vec::new(),
            net_log: net_log.to_path_buf(),
        };
        browser.attach_to_first_page()?;
        Ok(browser)
    }

    fn attach_to_first_page(&mut self) -> Outcome<()> {
        let deadline = Instant::now() + PATIENCE;
        let target = loop {
            let targets = self.call_in(None, "Target.getTargets", json!({}))?;
            let page = targets["targetInfos"].as_array().into_iter().flatten().find(|target| target["type"] == "page");
            if let Some(id) = page.and_then(|page| page["targetId"].as_str()) {
                break id.to_owned();
            }
            if Instant::now() > deadline {
                return Err("the browser opened no page".into());
            }
            thread::sleep(Duration::from_millis(50));
        };
        self.call_in(None, "Target.setAutoAttach", watch(&["service_worker", "shared_worker"]))?;
        self.page = self.enter(&target)?;
        Ok(())
    }

    /// Attaches to a page and to whatever it starts; returns the session.
    fn enter(&mut self, target: &str) -> Outcome<String> {
        let attached = self.call_in(None, "Target.attachToTarget", json!({ "targetId": target, "flatten": true }))?;
        let session = attached["sessionId"].as_str().ok_or("no session for the page")?.to_owned();
        for domain in ["Page", "Runtime", "Network", "Log", "DOM"] {
            self.call_in(Some(&session), &format!("{domain}.enable"), json!({}))?;
        }
        self.call_in(Some(&session), "Target.setAutoAttach", watch(&["worker", "iframe"]))?;
        Ok(session)
    }

    /// Opens a second window of the same profile and makes it the one that is driven.
    pub fn open_window(&mut self) -> Outcome<()> {
        let made = self.call_in(None, "Target.createTarget", json!({ "url": "about:blank", "newWindow": true }))?;
        let target = made["targetId"].as_str().ok_or("no window was made")?.to_owned();
        let session = self.enter(&target)?;
        self.others.push(std::mem::replace(&mut self.page, session));
        Ok(())
    }

    /// Drives the next window, in turn.
    pub fn switch_window(&mut self) -> Outcome<()> {
        if self.others.is_empty() {
            return Err("there is only one window".into());
        }
        let next = self.others.remove(0);
        self.others.push(std::mem::replace(&mut self.page, next));
        self.call("Page.bringToFront", json!({})).map(drop)
    }

    // ---- messages

    /// Calls a DevTools method on the page.
    pub fn call(&mut self, method: &str, parameters: Value) -> Outcome<Value> {
        let session = self.page.clone();
        self.call_in(Some(&session), method, parameters)
    }

    fn call_in(&mut self, session: Option<&str>, method: &str, parameters: Value) -> Outcome<Value> {
        let id = self.post(session, method, parameters)?;
        let deadline = Instant::now() + PATIENCE;
        loop {
            let message = self.receive(deadline).map_err(|error| format!("{method}: {error}"))?;
            if message["id"] == id {
                return match message.get("error") {
                    Some(error) => Err(format!("{method}: {error}")),
                    None => Ok(message["result"].clone()),
                };
            }
            self.note(message)?;
        }
    }

    fn post(&mut self, session: Option<&str>, method: &str, parameters: Value) -> Outcome<u64> {
        self.next_id += 1;
        let mut message = json!({ "id": self.next_id, "method": method, "params": parameters });
        if let Some(session) = session {
            message["sessionId"] = json!(session);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        self.to_browser.write_all(&bytes).and_then(|()| self.to_browser.flush()).map_err(|error| format!("{method}: {error}"))?;
        Ok(self.next_id)
    }

    fn receive(&mut self, deadline: Instant) -> Outcome<Value> {
        let left = deadline.saturating_duration_since(Instant::now());
        self.from_browser.recv_timeout(left).map_err(|error| format!("no answer from the browser: {error}"))
    }

    /// Keeps what an event tells, and lets every new worker run once its requests are being noted.
    fn note(&mut self, message: Value) -> Outcome<()> {
        let parameters = &message["params"];
        match message["method"].as_str().unwrap_or_default() {
            "Target.attachedToTarget" => {
                let session = parameters["sessionId"].as_str().unwrap_or_default().to_owned();
                self.post(Some(&session), "Network.enable", json!({}))?;
                self.post(Some(&session), "Runtime.enable", json!({}))?;
                self.post(Some(&session), "Runtime.runIfWaitingForDebugger", json!({}))?;
            }
            "Network.requestWillBeSent" => self.requests.extend(parameters["request"]["url"].as_str().map(str::to_owned)),
            "Runtime.consoleAPICalled" => {
                let words: Vec<String> = parameters["args"]
                    .as_array()
                    .into_iter()
                    .flatten()
                    .map(|part| {
                        part["value"].as_str().or(part["description"].as_str()).map_or_else(|| part["value"].to_string(), str::to_owned)
                    })
                    .collect();
                self.console.push(words.join(" "));
            }
            "Runtime.exceptionThrown" => self.console.push(parameters["exceptionDetails"].to_string()),
            "Log.entryAdded" => self.console.push(parameters["entry"]["text"].as_str().unwrap_or_default().to_owned()),
            "Page.javascriptDialogOpening" => {
                let session = self.page.clone();
                self.post(Some(&session), "Page.handleJavaScriptDialog", json!({ "accept": true }))?;
            }
            _ => {}
        }
        Ok(())
    }

    // ---- what left the browser

    /// Every address requested so far by the page and all its workers, in order; `blob:` and `data:` included.
    pub fn requests(&mut self) -> Outcome<Vec<String>> {
        // One round trip first, so that events already on their way are counted.
        self.eval("0")?;
        Ok(self.requests.clone())
    }

    /// What the console said so far.
    pub fn console(&self) -> &[String] {
        &self.console
    }

    /// Ends the browser at once, as a flat battery does; nothing is said to the page.
    pub fn kill(mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Ends the browser in good order and returns every address that its net log shows a page or worker asking for.
    /// The browser's own errands (its clock, its updates) carry no origin as initiator and are left out.
    pub fn close_and_list_requests(mut self) -> Outcome<Vec<String>> {
        self.finish();
        let text = fs::read_to_string(&self.net_log).map_err(|error| format!("{}: {error}", self.net_log.display()))?;
        let mut urls: Vec<String> = Vec::new();
        // One event a line, with a comma at its end.
        for line in text.lines() {
            // The lines around the events are no JSON of their own; no event ends with a bracket.
            let Ok(event) = serde_json::from_str::<Value>(line.trim_end_matches([',', ']'])) else { continue };
            let parameters = &event["params"];
            if let (Some(url), Some(initiator)) = (parameters["url"].as_str(), parameters["initiator"].as_str())
                && initiator != "not an origin"
                && !urls.iter().any(|seen| seen == url)
            {
                urls.push(url.to_owned());
            }
        }
        Ok(urls)
    }

    fn finish(&mut self) {
        let _ = self.post(None, "Browser.close", json!({}));
        let deadline = Instant::now() + Duration::from_secs(10);
        while self.child.try_wait().is_ok_and(|status| status.is_none()) {
            if Instant::now() > deadline {
                let _ = self.child.kill();
                let _ = self.child.wait();
                return;
            }
            thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if self.child.try_wait().is_ok_and(|status| status.is_none()) {
            self.finish();
        }
    }
}

/// Attach to targets of these kinds as they appear, held until their requests are being noted. Service workers belong
/// to the browser, dedicated workers to their page: each is watched from above. The browser's own hidden pages are not.
fn watch(kinds: &[&str]) -> Value {
    let filter: Vec<Value> = kinds.iter().map(|kind| json!({ "type": kind })).collect();
    json!({ "autoAttach": true, "waitForDebuggerOnStart": true, "flatten": true, "filter": filter })
}
