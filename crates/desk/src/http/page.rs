//! The embedded page.
//!
//! Files are found by comparing the whole address with a list made at build
//! time: there is no folder to climb out of.

use axum::http::{Method, StatusCode, Uri, header};
use axum::response::{Html, IntoResponse, Response};

use super::failure::Failure;

include!(concat!(env!("OUT_DIR"), "/page_files.rs"));

/// Shown where the program was built without its page.
const NOT_BUILT: &str = "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
    <title>Linewright</title></head><body><main><h1>The page is not built in</h1>\
    <p>This program was built before its page. Run <code>cargo xtask run</code>, which builds \
    both, or <code>npm ci</code> and <code>npm run build</code> in <code>web/</code> and build \
    the program again. The interface under <code>/api</code> works as it is.</p>\
    </main></body></html>";

fn file(address: &str) -> Option<&'static [u8]> {
    let found = FILES.iter().find(|(name, _)| *name == address);
    found.map(|(_, bytes)| *bytes)
}

/// Everything that is no `/api`.
pub(crate) async fn page(method: Method, uri: Uri) -> Response {
    if method != Method::GET && method != Method::HEAD {
        return Failure::new(
            StatusCode::METHOD_NOT_ALLOWED,
            "method",
            "this address can only be read",
            "look into the interface's description",
        )
        .into_response();
    }
    let address = uri.path().trim_start_matches('/');
    if let Some(bytes) = file(address) {
        return found(address, bytes);
    }
    // A view's address has no dot; a file's has one, and must not be answered
    // with the page.
    if address.contains('.') {
        return Failure::not_found(format!("there is no file {}", uri.path())).into_response();
    }
    match file("index.html") {
        Some(bytes) => found("index.html", bytes),
        None => Html(NOT_BUILT).into_response(),
    }
}

fn found(address: &str, bytes: &'static [u8]) -> Response {
    // Built files carry a hash in their name; the page itself does not.
    let lifetime = if address.starts_with("assets/") {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let headers = [
        (header::CONTENT_TYPE, kind(address)),
        (header::CACHE_CONTROL, lifetime),
    ];
    (headers, bytes).into_response()
}

fn kind(address: &str) -> &'static str {
    match address.rsplit('.').next().unwrap_or("") {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
