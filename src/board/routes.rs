//! The paths that the page asks, and what answers each.
use super::failure::Failure;
use super::guard::guard;
use super::{Board, page};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::header::CONTENT_TYPE;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use serde_json::{Value, json};
use std::sync::Arc;

/// Largest body of a request: as much as the largest plan drawn by hand, many times over.
const MOST_BYTES: usize = 2 << 20;

/// The router of a board.
pub fn router(board: Arc<Board>) -> Router {
    let at = |path: &str| format!("/{}/{path}", board.token);
    Router::new()
        .route(&at(""), get(async || file("index.html")))
        .route(&at("page/{name}"), get(async |Path(name): Path<String>| file(&name)))
        .route(&at("start"), get(start))
        .fallback(async || Failure::not_found())
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(from_fn_with_state(Arc::clone(&board), guard))
        .with_state(board)
}

fn file(name: &str) -> Result<Response, Failure> {
    let file = page::FILES.iter().find(|(file, _, _)| *file == name);
    let (_, kind, text) = file.ok_or_else(Failure::not_found)?;
    Ok(([(CONTENT_TYPE, *kind)], *text).into_response())
}

async fn start(State(board): State<Arc<Board>>) -> axum::Json<Value> {
    axum::Json(json!({ "units": "ft", "folder": board.folder, "plan": null, "draft": null, "examples": [], "plans": [], "vehicles": [] }))
}
