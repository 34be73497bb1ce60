//! Opening, listening, and stopping.

use crate::access::{Access, Invitation};
use crate::crew::{CrewStore, Photos};
use crate::live;
use crate::pages;
use crate::seen::{Incoming, SeenStore};
use crate::store::{Refusal, Store, View};
use loomwright_crewlog::Entry;
use loomwright_evidence::Evidence;
use loomwright_model::Id;
use std::fmt;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, RwLock};
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
    /// Called once with what is open, before it is served: whoever listens to the network says there what is heard.
    pub on_bench: Box<dyn FnOnce(Workbench) + Send>,
    /// Called once with the address to open in a browser.
    pub on_open: Box<dyn FnOnce(&str) + Send>,
    /// The one address of the show's own network at which phones of the crew may come in; `None` keeps that door shut.
    pub crew: Option<IpAddr>,
    /// Called once with what to hand out, if the crew's door is open.
    pub on_crew: Box<dyn FnOnce(&Invitation) + Send>,
}

impl Options {
    /// The plan at `plan_path` on `http://127.0.0.1:8750/`, announced on stderr.
    pub fn for_plan(plan_path: impl Into<PathBuf>) -> Self {
        Self {
            plan_path: plan_path.into(),
            address: IpAddr::from([127, 0, 0, 1]),
            port: 8750,
            on_bench: Box::new(drop),
            on_open: Box::new(|address| eprintln!("open {address} in a browser; stop with Ctrl-C")),
            crew: None,
            on_crew: Box::new(|given| eprintln!("the crew joins at {} with the PIN {}", given.tick, given.pin)),
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
    crew: Mutex<CrewStore>,
    seen: Mutex<SeenStore>,
    view: RwLock<View>,
    changes: watch::Sender<Changes>,
    hosts: RwLock<Vec<String>>,
    access: OnceLock<Arc<Access>>,
}

/// Counts what pages would show differently.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Changes {
    /// Plan and wiring.
    pub plan: u64,
    /// The crew's log and the evidence.
    pub crew: u64,
}

impl Workbench {
    /// Opens the plan at `path`; answers to the loopback names at `port`.
    ///
    /// **Errors**: the file is not there or cannot be read. A plan with errors in it opens and shows them.
    pub fn open(path: &Path, port: u16) -> Result<Self, Failure> {
        let store = Store::open(path).map_err(|error| Failure::Open(path.to_owned(), error))?;
        let (crew, seen) = (CrewStore::beside(path), SeenStore::beside(path));
        let inner = Inner {
            view: RwLock::new(View { crew: crew.view(), seen: seen.view(), ..store.view() }),
            changes: watch::Sender::new(Changes { plan: store.changes(), crew: 0 }),
            store: Mutex::new(store),
            crew: Mutex::new(crew),
            seen: Mutex::new(seen),
            hosts: RwLock::new(Vec::new()),
            access: OnceLock::new(),
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

    /// Opens the crew's door at `host`, the address with its port. Once; a second call gives the first door.
    ///
    /// **Errors**: the system gives no chance for secrets.
    pub fn open_to_crew(&self, host: &str) -> Result<Arc<Access>, Failure> {
        let access = Arc::new(Access::new(host.to_owned()).map_err(Failure::Serve)?);
        Ok(Arc::clone(self.0.access.get_or_init(|| access)))
    }

    /// The crew's door, if it is open.
    pub(crate) fn access(&self) -> Option<&Arc<Access>> {
        self.0.access.get()
    }

    /// What stands before a cable's name in the QR codes of labels: the page of the cable where phones reach it, else nothing.
    pub(crate) fn link_prefix(&self) -> String {
        self.access().map_or_else(String::new, |access| format!("http://{}/c/", access.host()))
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
        if let Ok(mut crew) = self.0.crew.try_lock()
            && crew.refresh()
        {
            self.show_crew(|view| view.crew = crew.view());
        }
        if let Ok(mut seen) = self.0.seen.try_lock()
            && seen.refresh()
        {
            self.show_crew(|view| view.seen = seen.view());
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

    /// Writes down what somebody of the crew said and tells every browser; returns when it lies on the medium.
    pub(crate) fn say(&self, entry: Entry) -> Result<(), String> {
        let mut crew = self.0.crew.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = crew.add(entry);
        self.show_crew(|view| view.crew = crew.view());
        kept
    }

    /// The folder of pictures.
    pub(crate) fn photos(&self) -> Photos {
        self.0.crew.lock().unwrap_or_else(PoisonError::into_inner).photos.clone()
    }

    /// Changes what was seen on the network, and tells every browser.
    pub(crate) fn with_seen<T>(&self, how: impl FnOnce(&mut SeenStore) -> T) -> T {
        let mut seen = self.0.seen.lock().unwrap_or_else(PoisonError::into_inner);
        let before = seen.view().changes;
        let result = how(&mut seen);
        seen.refresh();
        if seen.view().changes != before {
            self.show_crew(|view| view.seen = seen.view());
        }
        result
    }

    /// Where a file of evidence called `name` is collected.
    pub(crate) fn incoming(&self, name: &str) -> Result<Incoming, String> {
        self.0.seen.lock().unwrap_or_else(PoisonError::into_inner).incoming(name)
    }

    /// Takes what something that listens on `networks` has seen so far, in place of what it said before under that name. It is held
    /// against the plan together with the files, and every browser is told.
    pub fn hear(&self, name: &str, networks: &[Id], evidence: Evidence) {
        self.with_seen(|seen| seen.hear(name, networks, evidence));
    }

    fn show_crew(&self, how: impl FnOnce(&mut View)) {
        let mut view = self.0.view.write().unwrap_or_else(PoisonError::into_inner);
        how(&mut view);
        view.crew_changes += 1;
        let crew = view.crew_changes;
        drop(view);
        self.0.changes.send_modify(|changes| changes.crew = crew);
    }

    /// Wakes up at each change.
    pub(crate) fn changes(&self) -> watch::Receiver<Changes> {
        self.0.changes.subscribe()
    }

    fn lock(&self) -> MutexGuard<'_, Store> {
        self.0.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn publish(&self, store: &Store) {
        if store.changes() == self.0.changes.borrow().plan {
            return;
        }
        let mut view = self.0.view.write().unwrap_or_else(PoisonError::into_inner);
        let (crew, seen, crew_changes) = (view.crew.clone(), view.seen.clone(), view.crew_changes);
        *view = View { crew, seen, crew_changes, ..store.view() };
        drop(view);
        self.0.changes.send_modify(|changes| changes.plan = store.changes());
    }
}

/// Every page and action of one open plan, for the engineer's desk. Testable without a socket.
pub fn router(workbench: Workbench) -> axum::Router {
    everything()
        .merge(crate::access::owner_routes())
        .layer(axum::middleware::from_fn_with_state(workbench.clone(), crate::guard::guard))
        .with_state(workbench)
}

/// The same for phones that come in by the crew's door: behind a link and a PIN, without editing. Testable without a socket.
pub fn crew_router(workbench: Workbench, access: Arc<Access>) -> axum::Router {
    everything()
        .merge(crate::access::crew_routes())
        .layer(axum::middleware::from_fn_with_state(access, crate::access::door))
        .with_state(workbench)
}

fn everything() -> axum::Router<Workbench> {
    pages::routes().merge(live::routes()).layer(axum::extract::DefaultBodyLimit::max(LARGEST_BODY))
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
    let crew = match options.crew {
        Some(address) => Some(let_in(&workbench, (address, at)).await?),
        None => None,
    };
    (options.on_bench)(workbench.clone());
    (options.on_open)(&format!("http://{}:{}/", host_name(at.ip()), at.port()));
    if let Some((listener, access)) = crew {
        (options.on_crew)(&access.invitation());
        let phones = axum::serve(listener, crew_router(workbench.clone(), access));
        tokio::spawn(phones.into_future());
    }
    tokio::spawn(look_often(workbench.clone()));
    tokio::select! {
        served = axum::serve(listener, router(workbench)).into_future() => served.map_err(Failure::Serve),
        _ = tokio::signal::ctrl_c() => Ok(()),
    }
}

/// Listens for phones at one address, with the port of the desk where that is free there.
async fn let_in(workbench: &Workbench, (address, desk): (IpAddr, SocketAddr)) -> Result<(tokio::net::TcpListener, Arc<Access>), Failure> {
    let wanted = SocketAddr::new(address, if address == desk.ip() { 0 } else { desk.port() });
    let listener = tokio::net::TcpListener::bind(wanted).await.map_err(|error| Failure::Listen(wanted, error))?;
    let at = listener.local_addr().map_err(Failure::Serve)?;
    let access = workbench.open_to_crew(&format!("{}:{}", host_name(at.ip()), at.port()))?;
    Ok((listener, access))
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
