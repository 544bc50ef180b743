//! Whole studies. Each runs as a child of this program, the same `study` that a person types: so its files have the
//! same bytes, its memory is gone when it ends, and it can be stopped at any moment.
use super::failure::Failure;
use super::live::Live;
use super::{drawing, folder, locked};
use crate::cli::study_folder;
use axum::http::StatusCode;
use axum::response::sse::Event;
use futures_core::Stream;
use serde::Deserialize;
use serde_json::{Value, json};
use std::convert::Infallible;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::process::Stdio;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::task::{Context, Poll};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::sync::{Notify, Semaphore, mpsc};
use tokio::task::spawn_blocking;
use wideenough::report::layout::pretty;

/// Studies kept with their files; of more, the oldest is forgotten.
const MOST_KEPT: usize = 6;
/// Studies that run at once; others wait.
const MOST_RUNNING: usize = 2;
/// As much of what a failed study says as anyone reads.
const MOST_SAID: u64 = 64 << 10;

/// The studies of a board.
pub struct Studies {
    /// Folder for their files; removed with the board.
    folder: PathBuf,
    live: Arc<Live>,
    list: Mutex<Vec<Arc<StudyRun>>>,
    last_id: AtomicU64,
    running: Semaphore,
}

/// Request for a whole study.
#[derive(Deserialize)]
pub struct Asked {
    session: String,
    text: String,
    name: Option<String>,
    #[serde(default)]
    vehicles: Vec<String>,
    #[serde(default)]
    fix: bool,
    #[serde(default)]
    how_to_drive: bool,
    /// Also draw sheets on this paper, as `study --paper`.
    paper: Option<String>,
}

/// One study.
struct StudyRun {
    id: String,
    asked: Asked,
    /// Name of the plan.
    name: String,
    folder: PathBuf,
    state: Mutex<RunState>,
    stop: Notify,
}

#[derive(Clone, Debug, PartialEq)]
enum RunState {
    /// Nobody listens: it has not begun, or was stopped.
    Idle,
    Running,
    /// With its exit status.
    Done(i32),
    Failed(String),
}

impl Studies {
    /// Creates an empty list; files go into subfolders of `folder`.
    pub fn new(folder: PathBuf, live: Arc<Live>) -> Self {
        Self {
            folder,
            live,
            list: Mutex::default(),
            last_id: AtomicU64::new(0),
            running: Semaphore::new(MOST_RUNNING),
        }
    }

    /// Prepares a study; it begins when someone listens. One that the same session still runs is stopped.
    pub fn ask(&self, asked: Asked) -> Result<Value, Failure> {
        let name = asked.name.as_deref().unwrap_or(drawing::UNNAMED);
        let name = folder::name(name, folder::PLAN)?.to_owned();
        if asked
            .paper
            .as_deref()
            .is_some_and(|paper| !paper.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'))
        {
            return Err(Failure::bad("there is no such paper"));
        }
        // The faults that `check` lists; this also keeps the child from reading outside the folder.
        drawing::read(&asked.text, &name).map_err(|faults| Failure::faults(&faults))?;
        for vehicle in &asked.vehicles {
            drawing::vehicle_named(vehicle).map_err(|faults| Failure::faults(&faults))?;
        }
        let id = (self.last_id.fetch_add(1, Ordering::Relaxed) + 1).to_string();
        let run = StudyRun {
            folder: self.folder.join(&id),
            id: id.clone(),
            asked,
            name,
            state: Mutex::new(RunState::Idle),
            stop: Notify::new(),
        };
        let fault = |e: std::io::Error| {
            Failure::new(StatusCode::INSUFFICIENT_STORAGE, format!("no room for a study: {e}"))
        };
        std::fs::create_dir_all(&run.folder).map_err(fault)?;
        std::fs::write(run.text_file(), &run.asked.text).map_err(fault)?;
        let mut list = locked(&self.list);
        for other in list.iter().filter(|other| other.asked.session == run.asked.session) {
            other.stop.notify_waiters();
        }
        list.push(Arc::new(run));
        while list.len() > MOST_KEPT {
            let oldest = list.remove(0);
            oldest.stop.notify_waiters();
            _ = std::fs::remove_dir_all(&oldest.folder);
        }
        Ok(json!({ "id": id }))
    }

    fn find(&self, id: &str) -> Result<Arc<StudyRun>, Failure> {
        locked(&self.list).iter().find(|run| run.id == id).cloned().ok_or_else(Failure::not_found)
    }

    /// The events of a study, which runs as long as someone takes them.
    pub fn events(self: &Arc<Self>, id: &str) -> Result<Events, Failure> {
        let run = self.find(id)?;
        let (sender, receiver) = mpsc::channel(16);
        let mut state = locked(&run.state);
        if *state == RunState::Running {
            let message = "this study is being followed by another";
            return Err(Failure::new(StatusCode::CONFLICT, message));
        }
        if *state == RunState::Idle {
            *state = RunState::Running;
        }
        drop(state);
        let studies = Arc::clone(self);
        tokio::spawn(async move {
            if *locked(&run.state) == RunState::Running {
                let ended = tokio::select! {
                    ended = run_child(&studies, &run, &sender) => ended,
                    () = sender.closed() => RunState::Idle,
                    () = run.stop.notified() => RunState::Failed("the study was stopped by a newer one".to_owned()),
                };
                let done = matches!(ended, RunState::Done(_));
                *locked(&run.state) = ended;
                if done {
                    let (live, run) = (Arc::clone(&studies.live), Arc::clone(&run));
                    spawn_blocking(move || live.refresh(&run.asked.session, &run.asked.text, &run.name));
                }
            }
            let last = run.last_event();
            // A page that is gone takes no last event.
            if let Some(last) = last {
                _ = sender.send(last).await;
            }
        });
        Ok(Events(receiver))
    }

    /// A file of a study that is done.
    pub fn file(&self, id: &str, name: &str) -> Result<Vec<u8>, Failure> {
        let run = self.find(id)?;
        let plain = name.chars().all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c));
        if !plain || name.starts_with('.') || !matches!(*locked(&run.state), RunState::Done(_)) {
            return Err(Failure::not_found());
        }
        std::fs::read(run.results_folder().join(name)).map_err(|_| Failure::not_found())
    }

    /// The plan of a study with one of its fixes made: `fix` is its index, or the fix itself.
    pub fn fix(&self, id: &str, text: &str, fix: &Value) -> Result<Value, Failure> {
        let run = self.find(id)?;
        let parsed = |text: &str| serde_json::from_str::<Value>(text.trim_start_matches('\u{feff}')).ok();
        let drawn = parsed(text).ok_or_else(|| Failure::bad("the plan is no JSON"))?;
        if parsed(&run.asked.text).as_ref() != Some(&drawn) {
            let message = "the place has changed since this study; study it again";
            return Err(Failure::conflict(message, json!({})));
        }
        let results: Value =
            serde_json::from_slice(&self.file(id, "results.json")?).map_err(|_| Failure::internal())?;
        let index = fix.as_u64().and_then(|index| usize::try_from(index).ok());
        let found = results["fixes"]["found"].as_array().map_or(&[][..], Vec::as_slice);
        let found = match index {
            Some(index) => found.get(index),
            None => found.iter().find(|found| found["file"] == fix["file"]),
        };
        let file = found.and_then(|found| found["file"].as_str()).ok_or_else(Failure::not_found)?;
        let changed = self.file(id, file)?;
        let mut changed: Value = serde_json::from_slice(&changed).map_err(|_| Failure::internal())?;
        // There they are named from where the files of the study lie.
        if let Some(vehicles) = changed.pointer_mut("/plan/vehicles") {
            vehicles.clone_from(&drawn["plan"]["vehicles"]);
        }
        Ok(json!({ "text": pretty(&changed) }))
    }
}

impl StudyRun {
    fn text_file(&self) -> PathBuf {
        self.folder.join("plan.txt")
    }

    /// Folder that the files are written to.
    fn results_folder(&self) -> PathBuf {
        study_folder(&self.folder, Path::new(&self.name))
    }

    /// The event that ends a stream; none for a study that was stopped.
    fn last_event(&self) -> Option<Event> {
        let failed =
            |message: &str| Event::default().event("failed").data(json!({ "message": message }).to_string());
        match &*locked(&self.state) {
            RunState::Idle | RunState::Running => None,
            RunState::Failed(message) => Some(failed(message)),
            RunState::Done(status) => {
                match std::fs::read_to_string(self.results_folder().join("results.json")) {
                    Err(_) => Some(failed("the files of this study are gone; study it again")),
                    // Line breaks stand only between values. Reading and writing it again might change a last digit.
                    Ok(results) => {
                        let results = results.replace(['\n', '\r'], " ");
                        Some(
                            Event::default()
                                .event("done")
                                .data(format!("{{\"status\":{status},\"results\":{results}}}")),
                        )
                    }
                }
            }
        }
    }
}

/// Runs a study and tells how far it is; the child is killed when this future is dropped.
async fn run_child(studies: &Studies, run: &StudyRun, sender: &mpsc::Sender<Event>) -> RunState {
    let Ok(_permit) = studies.running.acquire().await else { return RunState::Idle };
    let mut child = match start(run) {
        Ok(child) => child,
        Err(e) => return RunState::Failed(format!("the study cannot start: {e}")),
    };
    let (Some(out), Some(err)) = (child.stdout.take(), child.stderr.take()) else {
        return RunState::Failed("the study cannot be followed".to_owned());
    };
    let mut said = Vec::new();
    let mut err = err.take(MOST_SAID);
    let mut lines = BufReader::new(out).lines();
    let follow = async {
        while let Ok(Some(line)) = lines.next_line().await {
            // A page that is slow to take one is told the next.
            _ = sender.try_send(Event::default().event("progress").data(line));
        }
    };
    let listen = async {
        _ = err.read_to_end(&mut said).await;
        _ = tokio::io::copy(&mut err.into_inner(), &mut tokio::io::sink()).await;
    };
    tokio::join!(follow, listen);
    match child.wait().await.map(|status| status.code()) {
        Ok(Some(status @ 0..=1)) => RunState::Done(status),
        _ => {
            let said = String::from_utf8_lossy(&said).trim().to_owned();
            RunState::Failed(if said.is_empty() {
                "the study ended without an answer".to_owned()
            } else {
                said
            })
        }
    }
}

fn start(run: &StudyRun) -> std::io::Result<Child> {
    let mut command = Command::new(std::env::current_exe()?);
    command.arg("study").arg("--for-board").arg(run.text_file()).arg("--out").arg(&run.folder);
    if run.asked.fix {
        command.arg("--fix");
    }
    if run.asked.how_to_drive {
        command.arg("--how-to-drive");
    }
    if let Some(paper) = &run.asked.paper {
        command.arg(format!("--paper={paper}"));
    }
    for vehicle in &run.asked.vehicles {
        command.arg(format!("--vehicle={vehicle}"));
    }
    command.arg("--").arg(&run.name);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).kill_on_drop(true).spawn()
}

/// The events of a study; the study is stopped when this is dropped.
pub struct Events(mpsc::Receiver<Event>);

impl Stream for Events {
    type Item = Result<Event, Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        self.0.poll_recv(context).map(|event| event.map(Ok))
    }
}
