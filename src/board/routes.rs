//! The paths that the page asks, and what answers each.
use super::failure::{Failure, Sent};
use super::guard::{FILE_POLICY, guard};
use super::live::Question;
use super::studies;
use super::{Board, drawing, folder, page};
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::middleware::from_fn_with_state;
use axum::response::sse::{KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;
use tokio::task::spawn_blocking;

/// The router of a board.
pub fn router(board: Arc<Board>) -> Router {
    let at = |path: &str| format!("/{}/{path}", board.token);
    Router::new()
        .route(&at(""), get(async || page_file("index.html")))
        .route(&at("page/{name}"), get(async |Path(name): Path<String>| page_file(&name)))
        .route(&at("start"), get(start))
        .route(
            &at("open"),
            post(async |Sent(sent): Sent<Named>| work(move || folder::open(&sent.name)).await),
        )
        .route(&at("check"), post(async |Sent(sent): Sent<Plan>| work(move || Ok(sent.check())).await))
        .route(&at("local"), post(async |Sent(sent): Sent<Plan>| work(move || sent.local()).await))
        .route(&at("sketch"), post(sketch))
        .route(&at("live"), post(live))
        .route(&at("study"), post(study))
        .route(&at("study/{id}/events"), get(study_events))
        .route(&at("study/{id}/file/{name}"), get(study_file))
        .route(&at("fix"), post(fix))
        .route(&at("save"), post(save))
        .route(&at("draft"), post(save_draft).delete(drop_draft))
        .route(&at("vehicle"), post(vehicle))
        .route(&at("vehicle/save"), post(save_vehicle))
        .route(&at("vehicle/{name}"), get(vehicle_file))
        .fallback(async || Failure::not_found())
        .layer(DefaultBodyLimit::max(folder::MOST_BYTES))
        .layer(from_fn_with_state(Arc::clone(&board), guard))
        .with_state(board)
}

/// An answer, or what is wrong.
pub type Answer = Result<Json<Value>, Failure>;

/// Runs work on a thread of its own, so that a slow one keeps nobody waiting; a panic there is a failure here.
pub async fn work(work: impl FnOnce() -> Result<Value, Failure> + Send + 'static) -> Answer {
    Ok(Json(spawn_blocking(work).await??))
}

fn page_file(name: &str) -> Result<Response, Failure> {
    let file = page::FILES.iter().find(|(file, _, _)| *file == name);
    let (_, kind, text) = file.ok_or_else(Failure::not_found)?;
    Ok(([(CONTENT_TYPE, *kind)], *text).into_response())
}

async fn start(State(board): State<Arc<Board>>) -> Answer {
    work(move || {
        let plan = board.plan.as_deref().map(folder::open).transpose()?;
        let drafts = match &plan {
            Some(plan) => plan["drafts"].as_array().cloned().unwrap_or_default(),
            None => folder::drafts(None),
        };
        let said: Option<Value> =
            plan.as_ref().and_then(|plan| serde_json::from_str(plan["text"].as_str()?).ok());
        let meters = said.is_some_and(|said| said["plan"]["units"] == "m");
        Ok(json!({
            "units": if meters { "m" } else { "ft" },
            "folder": board.folder,
            "plan": plan,
            "draft": drafts.first(),
            "drafts": drafts,
            "examples": drawing::examples(),
            "plans": folder::listed(folder::PLAN),
            "vehicles": drawing::vehicles(),
        }))
    })
    .await
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

/// The text of a plan; faults name it as it will be saved.
#[derive(Deserialize)]
struct Plan {
    text: String,
    name: Option<String>,
}

impl Plan {
    fn name(&self) -> &str {
        self.name
            .as_deref()
            .filter(|name| folder::name(name, folder::PLAN).is_ok())
            .unwrap_or(drawing::UNNAMED)
    }

    fn check(&self) -> Value {
        drawing::check(&self.text, self.name())
    }

    fn local(&self) -> Result<Value, Failure> {
        Ok(json!({ "text": drawing::local(&self.text, self.name())? }))
    }
}

async fn sketch(Sent(tape): Sent<drawing::Tape>) -> Answer {
    work(move || Ok(json!({ "text": drawing::sketch(&tape)? }))).await
}

async fn live(State(board): State<Arc<Board>>, Sent(question): Sent<Question>) -> Answer {
    Ok(Json(board.live.answer(question).await?))
}

async fn study(State(board): State<Arc<Board>>, Sent(asked): Sent<studies::Asked>) -> Answer {
    work(move || board.studies.ask(asked)).await
}

async fn study_events(State(board): State<Arc<Board>>, Path(id): Path<String>) -> Result<Response, Failure> {
    // Also written where nothing happens: that is how a page that is gone is noticed.
    let alive = KeepAlive::new().interval(std::time::Duration::from_secs(2));
    Ok(Sse::new(board.studies.events(&id)?).keep_alive(alive).into_response())
}

async fn study_file(
    State(board): State<Arc<Board>>,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, Failure> {
    let kind = match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json" | "geojson") => "application/json",
        Some("pdf") => "application/pdf",
        Some("png") => "image/png",
        _ => "text/plain; charset=utf-8",
    };
    let bytes = spawn_blocking(move || board.studies.file(&id, &name)).await??;
    Ok(([(CONTENT_TYPE, kind), (CONTENT_SECURITY_POLICY, FILE_POLICY)], bytes).into_response())
}

#[derive(Deserialize)]
struct Fix {
    text: String,
    fix: Value,
    study: String,
}

async fn fix(State(board): State<Arc<Board>>, Sent(sent): Sent<Fix>) -> Answer {
    work(move || board.studies.fix(&sent.study, &sent.text, &sent.fix)).await
}

#[derive(Deserialize)]
struct Saved {
    name: String,
    text: String,
    revision: Option<String>,
}

async fn save(Sent(sent): Sent<Saved>) -> Answer {
    work(move || folder::save(&sent.name, &sent.text, sent.revision.as_deref())).await
}

/// Unsaved work of one tab of the browser.
#[derive(Deserialize)]
struct Draft {
    name: String,
    tab: Option<String>,
    text: String,
}

async fn save_draft(Sent(sent): Sent<Draft>) -> Answer {
    work(move || folder::save_draft(&sent.name, sent.tab.as_deref(), &sent.text)).await
}

#[derive(Deserialize)]
struct NamedDraft {
    name: String,
    tab: Option<String>,
}

async fn drop_draft(Sent(sent): Sent<NamedDraft>) -> Answer {
    work(move || folder::drop_draft(&sent.name, sent.tab.as_deref())).await
}

/// A vehicle file: as text, or as the object it holds.
#[derive(Deserialize)]
struct VehicleFile {
    name: Option<String>,
    file: Value,
}

async fn vehicle(Sent(sent): Sent<VehicleFile>) -> Answer {
    work(move || {
        let name = sent.name.as_deref().filter(|name| folder::name(name, folder::VEHICLE).is_ok());
        Ok(drawing::vehicle(&sent.file, name.unwrap_or("vehicle.json")))
    })
    .await
}

async fn save_vehicle(Sent(sent): Sent<VehicleFile>) -> Answer {
    work(move || drawing::save_vehicle(sent.name.as_deref().unwrap_or_default(), &sent.file)).await
}

async fn vehicle_file(Path(name): Path<String>) -> Result<Response, Failure> {
    let text = spawn_blocking(move || drawing::vehicle_file(&name)).await??;
    Ok(([(CONTENT_TYPE, "application/json")], text).into_response())
}
