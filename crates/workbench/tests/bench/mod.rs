//! A plan in a folder of its own, opened and asked without a socket.
#![allow(dead_code, reason = "each test binary uses a part of it")]
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use loomwright_workbench::{Workbench, router};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;
use tower::ServiceExt;

pub const PLAN: &str = include_str!("demo.toml");
pub const WIRING: &str = include_str!("demo.wiring.toml");
const HOST: &str = "localhost:8750";

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or("")
    }
}

/// A disk of 64 kB in memory, taken away at the end. Only where the tests may mount.
pub struct SmallDisk(TempDir);

impl SmallDisk {
    pub fn mounted() -> Option<Self> {
        let folder = tempfile::tempdir().expect("a folder");
        let mount = Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"]).arg(folder.path()).output();
        mount.is_ok_and(|done| done.status.success()).then(|| Self(folder))
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// Writes until nothing fits any more.
    pub fn fill(&self) {
        use std::io::Write;
        let mut file = fs::File::create(self.0.path().join("filler")).expect("created");
        while file.write_all(&[0; 1024]).is_ok() {}
    }

    pub fn make_room(&self) {
        fs::remove_file(self.0.path().join("filler")).expect("removed");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

pub struct Bench {
    folder: PathBuf,
    _own: Option<TempDir>,
    router: Router,
}

impl Bench {
    pub fn with_demo() -> Self {
        Self::with(PLAN, Some(WIRING))
    }

    pub fn with(plan: &str, wiring: Option<&str>) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let folder_path = folder.path().to_owned();
        fs::write(folder.path().join("demo.toml"), plan).expect("written");
        if let Some(wiring) = wiring {
            fs::write(folder.path().join("demo.wiring.toml"), wiring).expect("written");
        }
        Self { _own: Some(folder), ..Self::opened(folder_path) }
    }

    /// The demo in a folder that is somebody else's.
    pub fn on(folder: &Path) -> Self {
        fs::write(folder.join("demo.toml"), PLAN).expect("written");
        fs::write(folder.join("demo.wiring.toml"), WIRING).expect("written");
        Self::opened(folder.to_owned())
    }

    /// The same folder after a restart.
    pub fn reopened(before: Self) -> Self {
        Self { _own: before._own, ..Self::opened(before.folder) }
    }

    /// The demo, with the workbench itself.
    pub fn with_handle() -> (Self, Workbench) {
        let bench = Self::with_demo();
        let workbench = Workbench::open(&bench.path(), 8750).expect("opened");
        (Self { router: router(workbench.clone()), ..bench }, workbench)
    }

    fn opened(folder: PathBuf) -> Self {
        let workbench = Workbench::open(&folder.join("demo.toml"), 8750).expect("opened");
        Self { router: router(workbench), folder, _own: None }
    }

    pub fn folder(&self) -> &Path {
        &self.folder
    }

    pub fn path(&self) -> PathBuf {
        self.folder.join("demo.toml")
    }

    pub fn on_disk(&self) -> String {
        fs::read_to_string(self.path()).expect("readable")
    }

    pub fn wiring_on_disk(&self) -> String {
        fs::read_to_string(self.folder.join("demo.wiring.toml")).expect("readable")
    }

    /// Writes the plan as another program would.
    pub fn write(&self, text: &str) {
        fs::write(self.path(), text).expect("written");
    }

    pub fn request(&self, (method, path): (&str, &str), headers: &[(&str, &str)], body: &str) -> Request<Body> {
        let mut request = Request::builder().method(method).uri(path);
        if !headers.iter().any(|(name, _)| *name == "host") {
            request = request.header("host", HOST);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        request.body(Body::from(body.to_owned())).expect("a request")
    }

    pub async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 64 * 1024 * 1024).await.expect("a body");
        Answer { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    pub async fn get(&self, path: &str) -> (StatusCode, String) {
        self.get_with(path, &[]).await
    }

    pub async fn get_with(&self, path: &str, headers: &[(&str, &str)]) -> (StatusCode, String) {
        let answer = self.send(self.request(("GET", path), headers, "")).await;
        (answer.status, answer.text)
    }

    /// Posts a form as the script does.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> (StatusCode, String) {
        self.post_with(path, fields, &[("x-fragment", "1"), ("sec-fetch-site", "same-origin")]).await
    }

    pub async fn post_with(&self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> (StatusCode, String) {
        let body: Vec<String> = fields.iter().map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect();
        let mut headers = headers.to_vec();
        headers.push(("content-type", "application/x-www-form-urlencoded"));
        let answer = self.send(self.request(("POST", path), &headers, &body.join("&"))).await;
        (answer.status, answer.text)
    }
}

fn encoded(text: &str) -> String {
    text.bytes().map(|byte| if byte.is_ascii_alphanumeric() { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect()
}
