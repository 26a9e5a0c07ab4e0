//! A small server for one computer: answers from memory, to this computer only.

use super::{assemble::Site, error::SiteError};
use std::{
    io,
    net::TcpListener,
    sync::{Arc, PoisonError, RwLock},
    thread::JoinHandle,
};
use tiny_http::{Header, Method, Request, Response};

/// What the server thread and its owner share.
struct Shared {
    http: tiny_http::Server,
    site: RwLock<Arc<Site>>,
    base: String,
}

/// A running server. Stops when dropped.
pub struct Server {
    shared: Option<Arc<Shared>>,
    thread: Option<JoinHandle<()>>,
    port: u16,
    base: String,
}

/// Starts serving at `http://127.0.0.1:<port><base>`; port 0 takes any free one. `base` is `/` or a path such as
/// `/some/club/`, for trying how the site behaves below the root of a host.
///
/// # Errors
/// [`SiteError::PortTaken`] when another program listens there.
pub fn serve(site: Site, port: u16, base: &str) -> Result<Server, SiteError> {
    let base = normalised(base);
    let http = tiny_http::Server::http(("127.0.0.1", port)).map_err(|error| match error.downcast_ref::<io::Error>() {
        Some(inner) if inner.kind() == io::ErrorKind::AddrInUse => SiteError::PortTaken { port },
        _ => SiteError::Listen(error.to_string()),
    })?;
    let port = http.server_addr().to_ip().map_or(port, |address| address.port());
    let shared = Arc::new(Shared { http, site: RwLock::new(Arc::new(site)), base: base.clone() });
    let for_thread = Arc::clone(&shared);
    let thread = std::thread::spawn(move || {
        for request in for_thread.http.incoming_requests() {
            for_thread.answer(request);
        }
    });
    Ok(Server { shared: Some(shared), thread: Some(thread), port, base })
}

/// Whether a port could be served on just now.
///
/// # Errors
/// [`SiteError::PortTaken`] when another program listens there.
pub fn ensure_free(port: u16) -> Result<(), SiteError> {
    match TcpListener::bind(("127.0.0.1", port)) {
        Err(error) if error.kind() == io::ErrorKind::AddrInUse => Err(SiteError::PortTaken { port }),
        // Anything else is for the real attempt to report.
        _ => Ok(()),
    }
}

impl Server {
    /// The address to open.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}{}", self.port, self.base)
    }

    /// The port in use.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// Serves another build from now on, as a host does after an upload.
    pub fn replace(&self, site: Site) {
        if let Some(shared) = &self.shared {
            *shared.site.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(site);
        }
    }

    /// Waits until the server ends, which for the program is when the reader stops it.
    pub fn wait(mut self) {
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let Some(shared) = self.shared.take() {
            shared.http.unblock();
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl Shared {
    fn answer(&self, request: Request) {
        let site = Arc::clone(&self.site.read().unwrap_or_else(PoisonError::into_inner));
        let path = request.url().split(['?', '#']).next().unwrap_or("/");
        // A reader who has gone away is no concern of the server.
        let _ = match (request.method(), self.file_name(path)) {
            (Method::Get | Method::Head, Some(name)) => match site.files.get(name) {
                Some(bytes) => {
                    let headers =
                        [header("Content-Type", content_type(name)), header("Cache-Control", "no-cache")].into_iter().flatten().collect();
                    let response = Response::new(200.into(), headers, bytes.as_slice(), Some(bytes.len()), None);
                    request.respond(response)
                }
                None => request.respond(plain(404, "There is no such file here.\n", None)),
            },
            (Method::Get | Method::Head, None) if path.len() < self.base.len() && self.base.starts_with(path) => {
                request.respond(plain(302, "", header("Location", &self.base)))
            }
            (Method::Get | Method::Head, None) => request.respond(plain(404, "There is no such file here.\n", None)),
            _ => request.respond(plain(405, "This server only hands out files.\n", header("Allow", "GET, HEAD"))),
        };
    }

    /// The site's name for a request path. Names are looked up in the list of files, never on the disk, so that a
    /// path with `..` or an encoded slash is only a name nobody has.
    fn file_name<'a>(&self, path: &'a str) -> Option<&'a str> {
        let name = path.strip_prefix(self.base.as_str())?;
        Some(if name.is_empty() { "index.html" } else { name })
    }
}

fn normalised(base: &str) -> String {
    let inner = base.trim_matches('/');
    if inner.is_empty() { "/".into() } else { format!("/{inner}/") }
}

fn plain(status: u16, text: &str, extra: Option<Header>) -> Response<io::Cursor<Vec<u8>>> {
    let mut response = Response::from_string(text).with_status_code(status);
    for header in [header("Cache-Control", "no-cache"), extra].into_iter().flatten() {
        response.add_header(header);
    }
    response
}

/// `None` for text that is no header; every caller passes plain ASCII, and without it the answer is still right.
fn header(name: &str, value: &str) -> Option<Header> {
    Header::from_bytes(name, value).ok()
}

fn content_type(name: &str) -> &'static str {
    match name.rsplit_once('.').map_or("", |(_, extension)| extension) {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "webmanifest" => "application/manifest+json",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
