//! Opening, listening, and stopping.

use crate::live;
use crate::pages;
use crate::store::{Refusal, Store, View};
use std::fmt;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};
use std::time::Duration;
use tokio::sync::watch;

/// How often the files are looked at while nobody asks for a page. Own choice: below what feels late.
const LOOK: Duration = Duration::from_millis(500);
/// Largest request body. Own choice: well above a plan of 10,000 devices (1.8 MB).
pub const LARGEST_BODY: usize = 8 * 1024 * 1024;

/// What to open and where to listen.
pub struct Options {
    /// The plan file; the wiring file lies beside it.
    pub plan_path: PathBuf,
    /// The address to listen on. Anything but a loopback address lets others on the network read and edit.
    pub address: IpAddr,
    /// The port; 0 takes any free one.
    pub port: u16,
    /// Called once with the address to open in a browser.
    pub on_open: Box<dyn FnOnce(&str) + Send>,
}

impl Options {
    /// The plan at `plan_path` on `http://127.0.0.1:8750/`, announced on stderr.
    pub fn for_plan(plan_path: impl Into<PathBuf>) -> Self {
        Self {
            plan_path: plan_path.into(),
            address: IpAddr::from([127, 0, 0, 1]),
            port: 8750,
            on_open: Box::new(|address| eprintln!("open {address} in a browser; stop with Ctrl-C")),
        }
    }
}

/// Why the workbench could not start.
#[derive(Debug)]
pub enum Failure {
    /// The plan file is not there or cannot be read.
    Open(PathBuf, io::Error),
    /// The address cannot be listened on.
    Listen(SocketAddr, io::Error),
    /// The server stopped by itself.
    Serve(io::Error),
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Open(path, _) => write!(f, "cannot open the plan {}", path.display()),
            Self::Listen(at, error) if error.kind() == io::ErrorKind::AddrInUse => {
                write!(f, "something else already listens on {at}: close it, or choose another port (port 0 takes any free one)")
            }
            Self::Listen(at, _) => write!(f, "cannot listen on {at}"),
            Self::Serve(_) => f.write_str("the server stopped"),
        }
    }
}

impl std::error::Error for Failure {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Open(_, error) | Self::Listen(_, error) | Self::Serve(error) => Some(error),
        }
    }
}

/// One open plan, shared by every request. Cheap to clone.
#[derive(Clone)]
pub struct Workbench(Arc<Inner>);

struct Inner {
    store: Mutex<Store>,
    view: RwLock<View>,
    changes: watch::Sender<u64>,
    hosts: RwLock<Vec<String>>,
}

impl Workbench {
    /// Opens the plan at `path`; answers to the loopback names at `port`.
    ///
    /// **Errors**: the file is not there or cannot be read. A plan with errors in it opens and shows them.
    pub fn open(path: &Path, port: u16) -> Result<Self, Failure> {
        let store = Store::open(path).map_err(|error| Failure::Open(path.to_owned(), error))?;
        let inner = Inner {
            view: RwLock::new(store.view()),
            changes: watch::Sender::new(store.changes()),
            store: Mutex::new(store),
            hosts: RwLock::new(Vec::new()),
        };
        let workbench = Self(Arc::new(inner));
        for name in ["localhost", "127.0.0.1", "[::1]"] {
            workbench.answer_to(name, port);
        }
        Ok(workbench)
    }

    /// Adds a name or address that browsers may use for this server.
    pub fn answer_to(&self, name: &str, port: u16) {
        let mut hosts = self.0.hosts.write().unwrap_or_else(PoisonError::into_inner);
        hosts.push(format!("{name}:{port}"));
        if port == 80 {
            hosts.push(name.to_owned());
        }
    }

    /// Whether `host` is one of our names, with the port.
    pub(crate) fn answers_to(&self, host: &str) -> bool {
        let hosts = self.0.hosts.read().unwrap_or_else(PoisonError::into_inner);
        hosts.iter().any(|own| own.eq_ignore_ascii_case(host))
    }

    /// What the pages show now, after a look at the files. Never waits for an edit that is being proved.
    pub(crate) fn view(&self) -> View {
        if let Ok(mut store) = self.0.store.try_lock() {
            store.refresh();
            self.publish(&store);
        }
        self.0.view.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Changes the store and tells every browser.
    pub(crate) fn change<T>(&self, how: impl FnOnce(&mut Store) -> Result<T, Refusal>) -> Result<T, Refusal> {
        let mut store = self.lock();
        let result = how(&mut store);
        self.publish(&store);
        result
    }

    /// Wakes up at each change.
    pub(crate) fn changes(&self) -> watch::Receiver<u64> {
        self.0.changes.subscribe()
    }

    fn lock(&self) -> MutexGuard<'_, Store> {
        self.0.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn publish(&self, store: &Store) {
        let news = store.changes() != *self.0.changes.borrow();
        if news {
            *self.0.view.write().unwrap_or_else(PoisonError::into_inner) = store.view();
            self.0.changes.send_replace(store.changes());
        }
    }
}

/// Every page and action of one open plan. Testable without a socket.
pub fn router(workbench: Workbench) -> axum::Router {
    pages::routes()
        .merge(live::routes())
        .layer(axum::extract::DefaultBodyLimit::max(LARGEST_BODY))
        .layer(axum::middleware::from_fn_with_state(workbench.clone(), crate::guard::guard))
        .with_state(workbench)
}

/// Opens the plan and serves it until Ctrl-C. Blocks.
///
/// **Errors**: see [`Failure`].
pub fn serve(options: Options) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(Failure::Serve)?;
    let result = runtime.block_on(listen(options));
    runtime.shutdown_timeout(Duration::from_secs(1));
    result
}

async fn listen(options: Options) -> Result<(), Failure> {
    let wanted = SocketAddr::new(options.address, options.port);
    let listener = tokio::net::TcpListener::bind(wanted).await.map_err(|error| Failure::Listen(wanted, error))?;
    let at = listener.local_addr().map_err(Failure::Serve)?;
    let workbench = Workbench::open(&options.plan_path, at.port())?;
    workbench.answer_to(&host_name(at.ip()), at.port());
    (options.on_open)(&format!("http://{}:{}/", host_name(at.ip()), at.port()));
    tokio::spawn(look_often(workbench.clone()));
    tokio::select! {
        served = axum::serve(listener, router(workbench)).into_future() => served.map_err(Failure::Serve),
        _ = tokio::signal::ctrl_c() => Ok(()),
    }
}

/// How an address stands in front of the colon.
fn host_name(address: IpAddr) -> String {
    match address {
        IpAddr::V4(address) if address.is_unspecified() => "localhost".to_owned(),
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => format!("[{address}]"),
    }
}

/// Notices what others write while nobody asks for a page, so that open pages follow.
async fn look_often(workbench: Workbench) {
    let mut pause = tokio::time::interval(LOOK);
    pause.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        pause.tick().await;
        let workbench = workbench.clone();
        if tokio::task::spawn_blocking(move || workbench.view()).await.is_err() {
            return;
        }
    }
}
