//! Answers that say what is wrong, as JSON.
use crate::cli::inputs::Faults;
use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::time::Duration;
use tokio::task::JoinError;
use tokio::time::timeout;

/// HTTP error response: a status, and a JSON body with a message for the page.
#[derive(Debug)]
pub struct Failure {
    status: StatusCode,
    body: Value,
}

impl Failure {
    /// Creates a failure with a message.
    pub fn new(status: StatusCode, message: impl Into<String>) -> Self {
        Self { status, body: json!({ "message": message.into() }) }
    }

    /// Creates a failure in the status's own words.
    pub fn of(status: StatusCode) -> Self {
        Self::new(status, status.canonical_reason().unwrap_or("refused").to_lowercase())
    }

    /// 409, with what the page needs to go on.
    pub fn conflict(message: &str, mut body: Value) -> Self {
        body["message"] = message.into();
        Self { status: StatusCode::CONFLICT, body }
    }

    /// 422: every fault of what was sent.
    pub fn faults(faults: &Faults) -> Self {
        let body = json!({ "message": faults.to_string(), "faults": faults.messages() });
        Self { status: StatusCode::UNPROCESSABLE_ENTITY, body }
    }

    /// 400.
    pub fn bad(message: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, message)
    }

    /// 403.
    pub fn forbidden(message: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, message)
    }

    /// 404.
    pub fn not_found() -> Self {
        Self::of(StatusCode::NOT_FOUND)
    }

    /// 500.
    pub fn internal() -> Self {
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, "the board could not do this; what is drawn is not lost")
    }
}

impl From<JoinError> for Failure {
    /// Work that panicked, on a thread of its own.
    fn from(_: JoinError) -> Self {
        Self::internal()
    }
}

impl IntoResponse for Failure {
    fn into_response(self) -> Response {
        (self.status, Json(self.body)).into_response()
    }
}

/// A body that has not come whole by then is given up.
const SENT_WITHIN: Duration = Duration::from_secs(30);

/// The body of a request, as JSON of a known shape.
pub struct Sent<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Sent<T> {
    type Rejection = Failure;

    async fn from_request(request: Request, state: &S) -> Result<Self, Failure> {
        let Ok(read) = timeout(SENT_WITHIN, Json::<T>::from_request(request, state)).await else {
            return Err(Failure::of(StatusCode::REQUEST_TIMEOUT));
        };
        match read {
            Ok(Json(sent)) => Ok(Self(sent)),
            // A field that is missing or of another kind is as wrong as a missing brace.
            Err(JsonRejection::JsonDataError(e)) => Err(Failure::bad(e.body_text())),
            Err(e) => Err(Failure::new(e.status(), e.body_text())),
        }
    }
}
