//! The connections: how many there may be, how long they may take, and how they end.

use super::refusal::refusal;
use super::state::State;
use super::{guard, pages, peer};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::Response;
use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpStream;
use tokio::sync::Semaphore;
use tokio::task::JoinSet;
use tokio_io_timeout::TimeoutStream;

/// Largest number of simultaneous connections; further ones wait.
const MOST_CONNECTIONS: usize = 256;
/// A client that takes longer than this to send its headers is dropped.
const HEADERS_WITHIN: Duration = Duration::from_secs(10);
/// Longest time for a request and its answer, except for streams of progress.
const ANSWER_WITHIN: Duration = Duration::from_secs(60);
/// A client that accepts nothing of its answer for this long is dropped, so that it holds neither a connection nor
/// memory.
const TAKES_WITHIN: Duration = Duration::from_secs(20);
/// Longest wait for work in progress when the desk ends.
const ENDS_WITHIN: Duration = Duration::from_secs(5);
/// Longest body of a request, in bytes.
const LONGEST_BODY: usize = 16 << 20;

/// The content security policy of the pages: they load only the desk's own files, nothing inline, and no other site may
/// frame them.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; \
                      form-action 'self'; frame-src 'self'; frame-ancestors 'none'; base-uri 'none'";

/// Serves on this listener until the state is told to end.
pub fn run(listener: TcpListener, state: Arc<State>) -> Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| refused(&error))?;
    let served = runtime.block_on(serve(listener, Arc::clone(&state)));
    state.runs.stop_all();
    // A write in progress is completed; nothing else is waited for.
    runtime.shutdown_timeout(ENDS_WITHIN);
    state.runs.remove_all();
    served.map_err(|error| refused(&error))
}

async fn serve(listener: TcpListener, state: Arc<State>) -> std::io::Result<()> {
    listener.set_nonblocking(true)?;
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let router = router(Arc::clone(&state));
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let mut connections = JoinSet::new();
    loop {
        // A connection without a free place stays in the system's queue. It then uses no file handle that a run or a
        // write needs.
        let accepted = async {
            let place = Arc::clone(&places).acquire_owned().await.map_err(std::io::Error::other)?;
            listener.accept().await.map(|(stream, from)| (stream, from, place))
        };
        tokio::select! {
            accepted = accepted => match accepted {
                Ok((stream, from, place)) => {
                    let router = router.clone();
                    connections.spawn(async move {
                        if stream.local_addr().is_ok_and(|here| peer::is_of_this_user(from, here)) {
                            answer(stream, router).await;
                        }
                        drop(place);
                    });
                }
                // No further file can be opened, or the client is gone. It may work a moment later.
                Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
            },
            Some(_) = connections.join_next() => {}
            () = state.end.notified() => return Ok(()),
        }
    }
}

async fn answer(stream: TcpStream, router: Router) {
    let service = TowerToHyperService::new(router);
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(TAKES_WITHIN));
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS_WITHIN)
        .max_buf_size(64 << 10)
        .serve_connection(TokioIo::new(Box::pin(stream)), service);
    // A client that disconnects or sends nonsense affects nobody else.
    drop(connection.await);
}

fn router(state: Arc<State>) -> Router {
    pages::routes()
        .layer(middleware::from_fn(in_time))
        .layer(middleware::from_fn_with_state(Arc::clone(&state), guard::check))
        .layer(middleware::from_fn(with_headers))
        .layer(DefaultBodyLimit::max(LONGEST_BODY))
        .with_state(state)
}

async fn in_time(request: Request, next: Next) -> Response {
    match tokio::time::timeout(ANSWER_WITHIN, next.run(request)).await {
        Ok(response) => response,
        Err(_) => refusal(StatusCode::REQUEST_TIMEOUT, "The request took too long."),
    }
}

/// Adds the headers that every answer has. An answer with a policy of its own keeps it.
async fn with_headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    // Files made by runs may be framed by the desk's own pages. The pages themselves may be framed by none.
    let framed = if headers.contains_key(header::CONTENT_SECURITY_POLICY) { "SAMEORIGIN" } else { "DENY" };
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("cross-origin-resource-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("x-frame-options", framed),
        ("cache-control", "no-store"),
    ] {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

/// The error for something that a server needs and the system refuses.
pub fn refused(error: &std::io::Error) -> Error {
    Error::Usage { message: format!("the desk cannot be served: {}", said_by_system(error)), hint: None }
}
