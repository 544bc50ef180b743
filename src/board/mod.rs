//! `wideenough board`: a place is drawn, dragged and answered in one's own browser, by a server that only this machine
//! reaches.
#![doc = include_str!("README.md")]
mod connections;
mod drawing;
mod failure;
mod folder;
mod guard;
mod live;
mod page;
mod routes;
mod studies;
mod temporary;

use crate::cli::inputs::Faults;
use clap::Args;
use live::Live;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use studies::Studies;
use temporary::Temporary;
use tokio::sync::Semaphore;

/// Draw a place in the browser, drag a post, and see the answer
///
/// Opens a page that this program serves to this machine alone: nothing leaves it, and nothing is fetched. Plans and
/// vehicles are read from and saved to one folder. Ctrl-C ends it.
#[derive(Debug, Args)]
pub struct BoardArgs {
    /// The site plan to open: a GeoJSON file; its folder is the board's
    #[arg(value_name = "PLAN")]
    plan: Option<PathBuf>,
    /// Folder that plans and vehicles are read from and saved to; the plan's, or the current one
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
    /// Port of the address; the next free one is taken if it is in use, and with 0 any free one
    #[arg(long, value_name = "N", default_value_t = 7431)]
    port: u16,
    /// Print the address without opening it in a browser
    #[arg(long)]
    no_open: bool,
}

/// Everything that the requests share.
pub struct Board {
    /// 32 hexadecimal digits, random for each run, in front of every path.
    token: String,
    /// Port of the address.
    port: u16,
    /// Name of the plan to open first, in the board's folder, which is the current one of this program.
    plan: Option<String>,
    /// Name of the folder, to show.
    folder: String,
    studies: Arc<Studies>,
    live: Arc<Live>,
}

/// Locks a value that is intact even if a thread that held it panicked.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
impl Board {
    /// A board that has nothing but its token and port.
    fn for_tests(token: &str, port: u16) -> Self {
        let live = Arc::new(Live::new());
        let studies = Arc::new(Studies::new(PathBuf::new(), Arc::clone(&live)));
        Self { token: token.to_owned(), port, plan: None, folder: String::new(), studies, live }
    }
}

/// Ports tried after the one wanted.
const PORTS_TRIED: u16 = 32;

/// Serves the board until Ctrl-C.
pub fn run(args: &BoardArgs) -> Result<ExitCode, Faults> {
    let plan = enter_folder(args)?;
    let (listeners, port) = listeners(args.port)?;
    let folder = std::env::current_dir().ok();
    let folder = folder.as_deref().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned());
    // Removed when this function returns.
    let temporary = Temporary::new(&std::env::temp_dir());
    let temporary = temporary.map_err(|e| Faults::one(format!("no room for studies: {e}")))?;
    let live = Arc::new(Live::new());
    let studies = Arc::new(Studies::new(temporary.path().to_owned(), Arc::clone(&live)));
    let board = Board { token: token()?, port, plan, folder: folder.unwrap_or_default(), studies, live };
    let address = format!("http://127.0.0.1:{port}/{}/", board.token);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let runtime = runtime.map_err(|e| Faults::one(format!("the board cannot start: {e}")))?;
    let served = runtime.block_on(serve(Arc::new(board), listeners, || {
        // Whoever started this program may have closed its output.
        _ = crate::cli::print(&format!(
            "The board: {address}\nOnly this machine reaches it. Ctrl-C ends it.\n"
        ));
        if !args.no_open {
            open(&address);
        }
    }));
    // Kills the studies that run, and gives up work on other threads.
    runtime.shutdown_background();
    drop(temporary);
    served.map(|()| ExitCode::SUCCESS)
}

/// Makes the board's folder the current one; the name of the plan in it.
fn enter_folder(args: &BoardArgs) -> Result<Option<String>, Faults> {
    let beside = args.plan.as_deref().and_then(Path::parent).filter(|folder| !folder.as_os_str().is_empty());
    let folder = args.folder.as_deref().or(beside).unwrap_or(Path::new("."));
    let fault = |path: &Path, e: &dyn std::fmt::Display| Faults::one(format!("{}: {e}", path.display()));
    let folder = folder.canonicalize().map_err(|e| fault(folder, &e))?;
    let name = match &args.plan {
        None => None,
        Some(plan) => {
            let whole = plan.canonicalize().map_err(|e| fault(plan, &e))?;
            if whole.parent() != Some(folder.as_path()) {
                return Err(fault(plan, &"is not in the folder given with --folder"));
            }
            whole.file_name().map(|name| name.to_string_lossy().into_owned())
        }
    };
    std::env::set_current_dir(&folder).map_err(|e| fault(&folder, &e))?;
    Ok(name)
}

/// Sockets on the loopback addresses, at the port wanted or the next free one.
fn listeners(wanted: u16) -> Result<(Vec<TcpListener>, u16), Faults> {
    let mut last = None;
    for port in (wanted..=u16::MAX).take(usize::from(PORTS_TRIED)) {
        match TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))) {
            Ok(listener) => {
                // Any port, if 0 was asked for.
                let port = listener.local_addr().map_or(port, |address| address.port());
                let other = TcpListener::bind(SocketAddr::from((Ipv6Addr::LOCALHOST, port)));
                return Ok(([Some(listener), other.ok()].into_iter().flatten().collect(), port));
            }
            Err(e) => last = Some(e),
        }
    }
    let why = last.map(|e| e.to_string()).unwrap_or_default();
    Err(Faults::one(format!("no port from {wanted} on is free on this machine: {why}")))
}

/// 32 hexadecimal digits that nobody can guess.
fn token() -> Result<String, Faults> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|e| Faults::one(format!("no random numbers: {e}")))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

async fn serve(board: Arc<Board>, listeners: Vec<TcpListener>, ready: impl FnOnce()) -> Result<(), Faults> {
    let router = routes::router(board);
    let mut serving = tokio::task::JoinSet::new();
    let fault = |e: std::io::Error| Faults::one(format!("the board cannot be served: {e}"));
    let room = Arc::new(Semaphore::new(connections::MOST));
    for listener in listeners {
        listener.set_nonblocking(true).map_err(fault)?;
        let listener = tokio::net::TcpListener::from_std(listener).map_err(fault)?;
        let listener = connections::Limited { listener, room: Arc::clone(&room) };
        let router = router.clone();
        serving.spawn(async move { axum::serve(listener, router).await });
    }
    ready();
    stopped().await;
    Ok(())
}

/// Waits for Ctrl-C, or a request to end.
async fn stopped() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut end) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = end.recv() => {}
            }
            return;
        }
    }
    // The window is closed, or the machine goes down.
    #[cfg(windows)]
    {
        use tokio::signal::windows::{ctrl_close, ctrl_shutdown};
        if let (Ok(mut close), Ok(mut shutdown)) = (ctrl_close(), ctrl_shutdown()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = close.recv() => {}
                _ = shutdown.recv() => {}
            }
            return;
        }
    }
    _ = tokio::signal::ctrl_c().await;
}

/// Opens an address in the browser. If there is none, the address is on the screen.
fn open(address: &str) {
    let (program, args): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let mut command = Command::new(program);
    command.args(args).arg(address).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    if let Ok(mut opener) = command.spawn() {
        // Waited for, so that the system forgets it when it ends.
        std::thread::spawn(move || opener.wait());
    }
}
