//! The server: binds to the loopback interface, and answers until it is told to stop.

use crate::answer::{self, Answer};
use crate::api;
use crate::assets;
use crate::desk::Desk;
use crate::folder::Folder;
use crate::guard::{self, Guard, Token};
use axum::body::{Body, to_bytes};
use axum::http::header::{LOCATION, SET_COOKIE};
use axum::http::{HeaderValue, Method, Request, StatusCode};
use std::fmt;
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Largest body of a request: two models and room.
const LARGEST_BODY: usize = 3 << 20;
/// How often the stop flag is looked at.
const LOOK: Duration = Duration::from_millis(100);
/// Threads for what takes long.
const WORKING_THREADS: usize = 64;

/// A server that has its address and does not answer yet.
pub struct Server {
    listener: TcpListener,
    port: u16,
    token: Token,
    desk: Arc<Desk>,
}

/// Why there is no server.
#[derive(Debug)]
pub enum ServeError {
    /// The folder or model cannot be opened.
    Folder(io::Error),
    /// The port cannot be had: which, and what the system says.
    Port(u16, io::Error),
    /// The machine gives no threads or no entropy, in words.
    Machine(String),
}

impl fmt::Display for ServeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(error) => write!(f, "cannot be opened: {error}"),
            Self::Port(port, error) => write!(f, "port {port} cannot be had: {error}"),
            Self::Machine(words) => f.write_str(words),
        }
    }
}

impl std::error::Error for ServeError {}

impl fmt::Debug for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Server").field("port", &self.port).finish_non_exhaustive()
    }
}

impl Server {
    /// Takes a port of the loopback interface, for the models of a folder or for one model. Port 0 takes a free one.
    ///
    /// # Errors
    /// If the folder or the port cannot be had.
    pub fn bind(models: &Path, port: u16) -> Result<Self, ServeError> {
        let folder = Folder::open(models).map_err(ServeError::Folder)?;
        let listener =
            TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|error| ServeError::Port(port, error))?;
        listener.set_nonblocking(true).map_err(|error| ServeError::Port(port, error))?;
        let port = listener.local_addr().map_err(|error| ServeError::Port(port, error))?.port();
        let token = Token::draw().map_err(ServeError::Machine)?;
        Ok(Self { listener, port, token, desk: Arc::new(Desk::new(folder)) })
    }

    /// The address to open, with the token of this session. Whoever has it can use the page.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.port, self.token.text())
    }

    /// Answers until `stop` is raised. Work under way is then ended.
    ///
    /// # Errors
    /// If the machine gives no threads, or the socket fails.
    pub fn run(self, stop: &AtomicBool) -> Result<(), ServeError> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(WORKING_THREADS)
            .enable_all()
            .build()
            .map_err(|error| ServeError::Machine(format!("the machine gave no threads: {error}")))?;
        let port = self.port;
        let desk = Arc::clone(&self.desk);
        let outcome = runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener)
                .map_err(|error| ServeError::Port(port, error))?;
            let (guard, desk) = (Guard::new(port, self.token), self.desk);
            let answering = axum::serve(
                listener,
                axum::Router::new().fallback(move |request: Request<Body>| {
                    let (guard, desk) = (guard.clone(), Arc::clone(&desk));
                    async move { answered(&guard, &desk, request).await }
                }),
            );
            let stopped = async {
                while !stop.load(Ordering::Relaxed) {
                    tokio::time::sleep(LOOK).await;
                }
            };
            tokio::select! {
                ended = async { answering.await } => ended.map_err(|error| ServeError::Port(port, error)),
                () = stopped => Ok(()),
            }
        });
        desk.close();
        runtime.shutdown_timeout(Duration::from_secs(5));
        outcome
    }
}

/// One request and its answer.
async fn answered(guard: &Guard, desk: &Arc<Desk>, request: Request<Body>) -> Answer {
    let mut answer = match guard.look_at(&request) {
        Err(refusal) => refusal.into(),
        Ok(()) => match guard.token_in_address(&request) {
            Some(cookie) => without_token(cookie),
            None => passed(desk, request).await,
        },
    };
    guard::harden(answer.headers_mut());
    answer
}

/// The token goes into a cookie and out of the address.
fn without_token(cookie: HeaderValue) -> Answer {
    let mut answer = answer::of(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", "");
    answer.headers_mut().insert(LOCATION, HeaderValue::from_static("/"));
    answer.headers_mut().insert(SET_COOKIE, cookie);
    answer
}

/// A request of our own page.
async fn passed(desk: &Arc<Desk>, request: Request<Body>) -> Answer {
    let (head, body) = request.into_parts();
    let too_large =
        || answer::wrong(StatusCode::PAYLOAD_TOO_LARGE, "the request is larger than the page ever sends");
    if head.method == Method::GET
        && let Some(asset) = assets::at(head.uri.path())
    {
        return asset;
    }
    let stated =
        head.headers.get("content-length").and_then(|length| length.to_str().ok()?.parse::<usize>().ok());
    if stated.is_some_and(|length| length > LARGEST_BODY) {
        return too_large();
    }
    match to_bytes(body, LARGEST_BODY).await {
        Ok(body) => api::answer(desk, &head, body.to_vec()).await,
        Err(_) => too_large(),
    }
}
