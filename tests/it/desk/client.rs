//! A server in this process, and requests as they go over the wire.

use linewake_desk::Server;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

/// A running server; it ends when this is dropped.
pub(crate) struct Desk {
    pub(crate) port: u16,
    pub(crate) token: String,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Reply {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Reply {
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }

    /// The data of every event of that name, in order.
    pub(crate) fn events(&self, name: &str) -> Vec<serde_json::Value> {
        let head = format!("event: {name}\ndata: ");
        let data = self.body.split("\n\n").filter_map(|event| event.strip_prefix(&head));
        data.map(|data| serde_json::from_str(data).expect("JSON")).collect()
    }
}

impl Desk {
    pub(crate) fn serve(models: &Path) -> Self {
        let server = Server::bind(models, 0).expect("a free port");
        let address = server.address();
        let (host, token) =
            address.strip_prefix("http://").and_then(|it| it.split_once("/?token=")).expect("an address");
        let port = host.rsplit_once(':').and_then(|(_, port)| port.parse().ok()).expect("a port");
        let (stop, token) = (Arc::new(AtomicBool::new(false)), token.to_owned());
        let flag = Arc::clone(&stop);
        let thread = std::thread::spawn(move || server.run(&flag).expect("it runs until it is stopped"));
        Self { port, token, stop, thread: Some(thread) }
    }

    pub(crate) fn models() -> Self {
        Self::serve(&linewake_tests::workspace_root().join("models"))
    }

    /// Headers of our own page.
    pub(crate) fn ours(&self) -> String {
        format!(
            "Host: 127.0.0.1:{port}\r\nCookie: linewake-{port}={token}\r\nX-Linewake: test\r\n",
            port = self.port,
            token = self.token
        )
    }

    /// Sends a request as it stands, and reads until the server hangs up.
    pub(crate) fn raw(&self, request: &[u8]) -> Reply {
        let mut stream = self.connect();
        // A server that refuses a body may hang up while it is being sent.
        let _refused = stream.write_all(request);
        let mut answer = Vec::new();
        let _cut = stream.read_to_end(&mut answer);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap_or((&answer, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
        let is_chunked = head.to_ascii_lowercase().contains("transfer-encoding: chunked");
        let body = if is_chunked { without_chunks(body) } else { body.to_owned() };
        Reply { status, head: head.to_owned(), body }
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the server listens");
        stream.set_read_timeout(Some(Duration::from_secs(120))).expect("a time limit");
        stream
    }

    pub(crate) fn request(&self, method: &str, target: &str, headers: &str, body: &str) -> Reply {
        let request = format!(
            "{method} {target} HTTP/1.1\r\n{headers}Connection: close\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        );
        self.raw(request.as_bytes())
    }

    pub(crate) fn get(&self, target: &str) -> Reply {
        self.request("GET", target, &self.ours(), "")
    }

    pub(crate) fn post(&self, target: &str, body: &serde_json::Value) -> Reply {
        self.request("POST", target, &self.ours(), &body.to_string())
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ended = thread.join();
        }
    }
}

fn without_chunks(body: &str) -> String {
    let (mut rest, mut whole) = (body, String::new());
    while let Some((length, after)) = rest.split_once("\r\n") {
        let length = usize::from_str_radix(length.trim(), 16).unwrap_or(0);
        if length == 0 || length > after.len() {
            break;
        }
        whole.push_str(&after[..length]);
        rest = after[length..].trim_start_matches("\r\n");
    }
    whole
}
