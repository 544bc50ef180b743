//! Middleware in front of every route: checks Host, Origin, token and length of a request before it is read, and adds the
//! security headers to every response.
use super::Board;
use super::failure::Failure;
use super::folder::MOST_BYTES;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::future::Future;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

/// Content security policy of the page: its own scripts and styles, pictures it was given, and requests to this server.
const PAGE_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; \
     connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Content security policy of the files of a study. Reports carry their own style and script; in a sandbox they have no
/// origin, so that nothing in them can send a request to the board.
pub const FILE_POLICY: &str = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; \
     img-src data:; font-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; \
     sandbox allow-scripts allow-downloads allow-modals allow-popups";

/// Headers of every answer, unless a handler has set them.
const HEADERS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, PAGE_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Refuses what does not come from the board's own page, answers 500 where a handler panics, and adds the headers.
pub async fn guard(State(board): State<Arc<Board>>, request: Request, next: Next) -> Response {
    let mut response = match refused(&board, &request) {
        Some(failure) => failure.into_response(),
        None => {
            Caught(Box::pin(next.run(request))).await.unwrap_or_else(|()| Failure::internal().into_response())
        }
    };
    // The router's own refusals have no body, or one in plain words.
    let status = response.status();
    let says = response.headers().get(header::CONTENT_TYPE).is_some_and(|kind| kind == "application/json");
    if status.is_client_error() && !says {
        let allow = response.headers().get(header::ALLOW).cloned();
        response = Failure::of(status).into_response();
        response.headers_mut().extend(allow.map(|allow| (header::ALLOW, allow)));
    }
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

fn refused(board: &Board, request: &Request) -> Option<Failure> {
    let headers = request.headers();
    let Some(host) = own_host(board, headers) else {
        return Some(Failure::forbidden("this board answers only at its own address"));
    };
    if !own_origin(&host, headers) {
        return Some(Failure::forbidden("this board answers only its own page"));
    }
    let token = request.uri().path().strip_prefix('/').and_then(|path| path.split('/').next());
    if !token.is_some_and(|token| same(token.as_bytes(), board.token.as_bytes())) {
        return Some(Failure::not_found());
    }
    // A body that says it is too long is not waited for.
    let length =
        headers.get(header::CONTENT_LENGTH).map(|length| length.to_str().ok()?.parse::<usize>().ok());
    let too_long = length.is_some_and(|length| length.is_none_or(|length| length > MOST_BYTES));
    too_long.then(|| Failure::of(StatusCode::PAYLOAD_TOO_LARGE))
}

/// The host asked for, if it is one of the board's own; a page of elsewhere that has its name point here asks for its
/// own.
fn own_host(board: &Board, headers: &HeaderMap) -> Option<String> {
    let mut hosts = headers.get_all(header::HOST).iter();
    let host = hosts.next()?.to_str().ok()?.to_ascii_lowercase();
    let name = host.strip_suffix(&format!(":{}", board.port))?;
    (hosts.next().is_none() && ["127.0.0.1", "localhost", "[::1]"].contains(&name)).then_some(host)
}

/// True if the request was not sent by a page of elsewhere. Browsers say where from, in one way or the other.
fn own_origin(host: &str, headers: &HeaderMap) -> bool {
    let origins = headers.get_all(header::ORIGIN);
    let own = format!("http://{host}");
    let site = headers.get("sec-fetch-site");
    origins.iter().all(|origin| origin == own.as_str())
        && site.is_none_or(|site| site == "same-origin" || site == "none")
}

/// Compares without telling by its time how much is alike.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
}

/// A future whose panic is an answer.
struct Caught<F>(Pin<Box<F>>);

impl<F: Future> Future for Caught<F> {
    type Output = Result<F::Output, ()>;

    fn poll(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Self::Output> {
        let future = self.0.as_mut();
        match catch_unwind(AssertUnwindSafe(|| future.poll(context))) {
            Ok(Poll::Pending) => Poll::Pending,
            Ok(Poll::Ready(output)) => Poll::Ready(Ok(output)),
            Err(_) => Poll::Ready(Err(())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::Router;
    use axum::middleware::from_fn_with_state;
    use axum::routing::get;
    use std::io::{Read, Write};
    use std::net::{TcpListener, TcpStream};

    fn asked(port: u16, path: &str) -> String {
        let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
        let host = format!("127.0.0.1:{port}");
        write!(stream, "GET /secret/{path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").unwrap();
        let mut text = String::new();
        stream.read_to_string(&mut text).unwrap();
        text
    }

    /// A handler that panics, on the server's thread or on one of its own, answers 500, and the server goes on.
    #[test]
    fn a_panic_is_an_answer() {
        let listener = TcpListener::bind(("127.0.0.1", 0)).unwrap();
        listener.set_nonblocking(true).unwrap();
        let port = listener.local_addr().unwrap().port();
        let board = Arc::new(Board::for_tests("secret", port));
        let here = async || -> Response { panic!("on the server's thread") };
        let elsewhere = async || super::super::routes::work(|| panic!("on a thread of its own")).await;
        let router = Router::new()
            .route("/secret/here", get(here))
            .route("/secret/elsewhere", get(elsewhere))
            .route("/secret/well", get(async || "well"))
            .layer(from_fn_with_state(board, guard));
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            runtime.block_on(async {
                let listener = tokio::net::TcpListener::from_std(listener).unwrap();
                axum::serve(listener, router).await
            })
        });
        for path in ["here", "elsewhere"] {
            let answer = asked(port, path);
            assert!(answer.starts_with("HTTP/1.1 500"), "{answer}");
            assert!(answer.contains("x-content-type-options: nosniff"), "{answer}");
            assert!(asked(port, "well").ends_with("well"));
        }
    }
}
