//! Starts the workbench, a driver and browsers, and takes them down again.

use fantoccini::elements::Element;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Map, Value, json};
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// Longest wait for anything to appear. Own choice: far above what a loaded machine needs.
const PATIENCE: Duration = Duration::from_secs(10);

/// How a browser looks at the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Window {
    /// 1280 px.
    Wide,
    /// 390 px with touch.
    Phone,
    /// 1280 px, script switched off.
    WithoutScript,
}

/// A served plan and a driver.
pub struct Stage {
    folder: TempDir,
    driver: Child,
    driver_port: u16,
    address: String,
}

/// One open browser.
pub struct Open {
    pub client: Client,
    pub kind: Window,
    address: String,
    driver_port: u16,
    _profile: TempDir,
}

impl Stage {
    /// Sets everything up; `None` where no browser is installed.
    pub async fn set() -> Option<Self> {
        let (driver, driver_port) = start_driver()?;
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("demo.toml"), include_str!("../bench/demo.toml")).expect("written");
        fs::write(folder.path().join("demo.wiring.toml"), include_str!("../bench/demo.wiring.toml")).expect("written");
        let (send, receive) = mpsc::channel();
        let plan = folder.path().join("demo.toml");
        std::thread::spawn(move || {
            let on_open = Box::new(move |address: &str| send.send(address.to_owned()).expect("somebody listens"));
            loomwright_workbench::serve(loomwright_workbench::Options { port: 0, on_open, ..loomwright_workbench::Options::for_plan(plan) })
        });
        let address = receive.recv_timeout(PATIENCE).expect("the server starts");
        Some(Self { folder, driver, driver_port, address: address.trim_end_matches('/').to_owned() })
    }

    pub fn on_disk(&self) -> String {
        fs::read_to_string(self.folder.path().join("demo.toml")).expect("readable")
    }

    pub fn log(&self) -> String {
        fs::read_to_string(self.folder.path().join("demo.crewlog")).unwrap_or_default()
    }

    pub fn write(&self, text: &str) {
        fs::write(self.folder.path().join("demo.toml"), text).expect("written");
    }

    pub async fn window(&self, kind: Window) -> Open {
        let profile = tempfile::tempdir().expect("a folder");
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(capabilities(kind, &profile));
        let client = builder.connect(&format!("http://127.0.0.1:{}", self.driver_port)).await.expect("a browser");
        Open { client, kind, address: self.address.clone(), driver_port: self.driver_port, _profile: profile }
    }
}

/// A server that can be taken away.
pub struct Passing {
    runtime: tokio::runtime::Runtime,
    pub address: String,
    _folder: TempDir,
}

impl Passing {
    pub fn served() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("demo.toml"), include_str!("../bench/demo.toml")).expect("written");
        fs::write(folder.path().join("demo.wiring.toml"), include_str!("../bench/demo.wiring.toml")).expect("written");
        let line = std::net::TcpListener::bind(("127.0.0.1", 0)).expect("a port");
        line.set_nonblocking(true).expect("set");
        let at = line.local_addr().expect("an address");
        let bench = loomwright_workbench::Workbench::open(&folder.path().join("demo.toml"), at.port()).expect("opens");
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().expect("a runtime");
        runtime.spawn(async move {
            let line = tokio::net::TcpListener::from_std(line).expect("a listener");
            axum::serve(line, loomwright_workbench::router(bench)).await
        });
        Self { runtime, address: format!("http://{at}"), _folder: folder }
    }

    /// Ends it and every connection to it.
    pub fn stop(self) {
        self.runtime.shutdown_background();
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

fn start_driver() -> Option<(Child, u16)> {
    Command::new("chromium").arg("--version").output().ok()?;
    let mut driver = Command::new("chromedriver").arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().ok()?;
    let lines = BufReader::new(driver.stdout.take()?).lines();
    let said =
        lines.map_while(Result::ok).find_map(|line| line.split_once("started successfully on port ").map(|(_, port)| port.to_owned()))?;
    let port = said.trim_end_matches('.').parse().ok()?;
    Some((driver, port))
}

fn capabilities(kind: Window, profile: &TempDir) -> Map<String, Value> {
    let mut arguments: Vec<String> = [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--disable-dev-shm-usage",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--hide-scrollbars",
        "--force-color-profile=srgb",
        "--window-size=1280,900",
    ]
    .map(str::to_owned)
    .into();
    arguments.push(format!("--user-data-dir={}", profile.path().display()));
    let mut options = json!({ "args": arguments });
    match kind {
        Window::Wide => {}
        Window::Phone => {
            options["mobileEmulation"] = json!({ "deviceMetrics": { "width": 390, "height": 844, "pixelRatio": 2, "touch": true } })
        }
        Window::WithoutScript => options["prefs"] = json!({ "profile.managed_default_content_settings.javascript": 2 }),
    }
    let all = json!({ "browserName": "chrome", "goog:chromeOptions": options, "goog:loggingPrefs": { "browser": "ALL" } });
    all.as_object().cloned().expect("an object")
}

/// Asks the driver for the browser's console, which the client library has no call for.
fn driver_log(port: u16, session: &str) -> Value {
    driver_post(port, (session, "se/log"), r#"{"type":"browser"}"#)
}

/// Asks the driver for something that the client library has no call for.
fn driver_post(port: u16, (session, what): (&str, &str), body: &str) -> Value {
    let head = format!(
        "POST /session/{session}/{what} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    let mut line = TcpStream::connect(("127.0.0.1", port)).expect("the driver answers");
    line.write_all(format!("{head}{body}").as_bytes()).expect("sent");
    let mut answer = BufReader::new(line);
    let mut length = 0;
    loop {
        let mut head = String::new();
        answer.read_line(&mut head).expect("read");
        match head.trim().to_ascii_lowercase().split_once("content-length:") {
            Some((_, digits)) => length = digits.trim().parse().expect("a number"),
            None if head.trim().is_empty() => break,
            None => {}
        }
    }
    let mut json = vec![0; length];
    answer.read_exact(&mut json).expect("read");
    serde_json::from_slice(&json).expect("the driver speaks JSON")
}

impl Open {
    /// Opens a page and waits until its script is ready.
    pub async fn open(&self, path: &str) {
        self.open_plain(path).await;
        self.wait_until("'live' in document.documentElement.dataset").await;
    }

    pub async fn open_plain(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.address)).await.expect("opened");
    }

    pub async fn find(&self, css: &str) -> Element {
        self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"))
    }

    async fn value(&self, expression: &str) -> Value {
        self.client.execute(&format!("return {expression};"), vec![]).await.unwrap_or_else(|error| panic!("{expression}: {error}"))
    }

    pub async fn run(&self, statement: &str) {
        self.client.execute(statement, vec![]).await.unwrap_or_else(|error| panic!("{statement}: {error}"));
    }

    pub async fn number(&self, expression: &str) -> i64 {
        let value = self.value(expression).await;
        value.as_i64().unwrap_or_else(|| panic!("{expression} gave {value}"))
    }

    pub async fn text(&self, expression: &str) -> String {
        let value = self.value(expression).await;
        value.as_str().unwrap_or_else(|| panic!("{expression} gave {value}")).to_owned()
    }

    pub async fn wait_until(&self, condition: &str) {
        let start = Instant::now();
        while self.value(&format!("Boolean({condition})")).await != Value::Bool(true) {
            assert!(start.elapsed() < PATIENCE, "never true: {condition}");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Presses one key on what has the focus.
    pub async fn press(&self, key: &str) {
        let script = format!(
            "document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {{ key: '{key}', bubbles: true, cancelable: true }}))"
        );
        self.run(&script).await;
    }

    /// Takes the network away from the page, or gives it back.
    pub async fn offline(&self, is_offline: bool) {
        let session = self.client.session_id().await.expect("asked").expect("a session");
        let body = json!({ "cmd": "Network.emulateNetworkConditions",
            "params": { "offline": is_offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 } });
        driver_post(self.driver_port, (&session, "goog/cdp/execute"), &json!({ "cmd": "Network.enable", "params": {} }).to_string());
        driver_post(self.driver_port, (&session, "goog/cdp/execute"), &body.to_string());
    }

    /// What the browser wrote to its console, without the refusals that the tests provoke.
    pub async fn complaints(&self) -> Vec<String> {
        let session = self.client.session_id().await.expect("asked").expect("a session");
        let log = driver_log(self.driver_port, &session);
        let lines = log["value"].as_array().cloned().expect("a list of lines");
        let texts = lines.iter().filter_map(|line| line["message"].as_str().map(str::to_owned));
        texts.filter(|text| !text.contains("422") && !text.contains("ERR_INTERNET_DISCONNECTED")).collect()
    }

    pub async fn close(self) {
        self.client.close().await.expect("closed");
    }
}
