//! Who may ask: the checks every request passes, and the headers every response
//! carries.
//!
//! A page from elsewhere can make a browser send requests to this machine. It
//! cannot choose the `Host` and `Origin` that the browser writes: so a request
//! must name this server by an address that no foreign name can be rebound to,
//! and, where it says where it came from, come from here.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};

use super::Desk;
use super::failure::Failure;

/// The names under which the server may be asked.
#[derive(Clone, Debug)]
pub(crate) struct Names {
    bound: SocketAddr,
    also: Vec<String>,
}

impl Names {
    pub(crate) fn new(bound: SocketAddr, also: &[String]) -> Self {
        Self {
            bound,
            also: also.iter().map(|name| name.to_lowercase()).collect(),
        }
    }

    /// Whether a request may name its host so. A number cannot be rebound; of
    /// names only the machine's own for itself and those the operator gave.
    fn knows(&self, host: &str) -> bool {
        let host = host.to_lowercase();
        if self.also.contains(&host) {
            return true;
        }
        let (name, port) = split_port(&host);
        if port.unwrap_or(80) != self.bound.port() {
            return false;
        }
        if self.also.iter().any(|known| known == name) {
            return true;
        }
        let number: Option<IpAddr> = match name.strip_prefix('[') {
            Some(rest) => rest.strip_suffix(']').and_then(|inner| inner.parse().ok()),
            None => name.parse().ok(),
        };
        let own = self.bound.ip();
        match number {
            Some(number) => {
                own.is_unspecified() || number == own || (own.is_loopback() && number.is_loopback())
            }
            None => name == "localhost" && (own.is_loopback() || own.is_unspecified()),
        }
    }
}

fn split_port(host: &str) -> (&str, Option<u16>) {
    let after_name = host.rfind(']').unwrap_or(0);
    match host.rfind(':') {
        Some(colon) if colon >= after_name => match host[colon + 1..].parse() {
            Ok(port) => (&host[..colon], Some(port)),
            Err(_) => (host, None),
        },
        _ => (host, None),
    }
}

/// The middleware of all addresses.
pub(crate) async fn guard(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let path = request.uri().path().to_owned();
    let refused = place(&desk.names, &request).and_then(|()| member(&desk, &path, &request));
    let mut response = match refused {
        Ok(()) => next.run(request).await,
        Err(refusal) => refusal.into_response(),
    };
    dress(response.headers_mut(), &path);
    response
}

enum Refusal {
    Failure(Failure),
    LogIn,
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        match self {
            Self::Failure(failure) => failure.into_response(),
            Self::LogIn => Redirect::to("/login").into_response(),
        }
    }
}

fn text(headers: &HeaderMap, name: impl header::AsHeaderName) -> Option<&str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

/// Host, Origin and what the browser says about the page that asks.
fn place(names: &Names, request: &Request) -> Result<(), Refusal> {
    let refuse = |code, message: String, mend| {
        let failure = Failure::new(StatusCode::FORBIDDEN, code, message, mend);
        Err(Refusal::Failure(failure))
    };
    let headers = request.headers();
    let in_line = request.uri().authority().map(Authority::as_str);
    let several = headers.get_all(header::HOST).iter().count() > 1;
    let host = in_line.or_else(|| text(headers, header::HOST));
    let Some(host) = host.filter(|host| !several && names.knows(host)) else {
        return refuse(
            "host",
            "the request names another host".to_owned(),
            "open the address that the program printed",
        );
    };
    if headers.contains_key(header::ORIGIN) {
        let origin = text(headers, header::ORIGIN).unwrap_or("").to_lowercase();
        let from = origin
            .strip_prefix("http://")
            .or_else(|| origin.strip_prefix("https://"));
        if from != Some(host.to_lowercase().as_str()) {
            return refuse(
                "origin",
                "the request comes from another page".to_owned(),
                "open the address that the program printed",
            );
        }
    }
    let site = text(headers, HeaderName::from_static("sec-fetch-site"));
    let mode = text(headers, HeaderName::from_static("sec-fetch-mode"));
    // Following a link from elsewhere is fine, asking from elsewhere is not.
    let link = mode == Some("navigate") && request.method() == Method::GET;
    if matches!(site, Some("cross-site" | "same-site")) && !link {
        return refuse(
            "origin",
            "the request comes from another page".to_owned(),
            "open the address that the program printed",
        );
    }
    Ok(())
}

/// On an address that other machines can reach, only who has logged in.
fn member(desk: &Desk, path: &str, request: &Request) -> Result<(), Refusal> {
    if desk.sessions.open_to_all() || path == "/login" || path == "/api/login" {
        return Ok(());
    }
    if desk.sessions.knows(request.headers()) {
        return Ok(());
    }
    if path.starts_with("/api/") {
        return Err(Refusal::Failure(Failure::new(
            StatusCode::UNAUTHORIZED,
            "no-session",
            "nobody is logged in",
            "log in with the token",
        )));
    }
    Err(Refusal::LogIn)
}

/// Scripts, styles and data from here only; neither script nor style stands in
/// the page itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; \
     connect-src 'self'; frame-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; \
     frame-ancestors 'none'; base-uri 'none'";

/// A response that set a policy or a lifetime of its own keeps it.
fn dress(headers: &mut HeaderMap, path: &str) {
    let lifetime = if path.starts_with("/api/") {
        "no-store"
    } else {
        "no-cache"
    };
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (header::CACHE_CONTROL, lifetime),
    ] {
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::Names;

    fn names(bound: &str, also: &[&str]) -> Names {
        let also: Vec<String> = also.iter().map(ToString::to_string).collect();
        Names::new(bound.parse().expect("an address"), &also)
    }

    #[test]
    fn on_loopback_only_the_machines_own_names_count() {
        let names = names("127.0.0.1:4000", &[]);
        for host in [
            "127.0.0.1:4000",
            "localhost:4000",
            "[::1]:4000",
            "LOCALHOST:4000",
        ] {
            assert!(names.knows(host), "{host}");
        }
        for host in [
            "127.0.0.1",
            "127.0.0.1:4001",
            "localhost",
            "evil.example:4000",
            "localhost.evil.example:4000",
            "192.168.1.7:4000",
            "",
            ":4000",
            "[::1:4000",
        ] {
            assert!(!names.knows(host), "{host}");
        }
    }

    #[test]
    fn on_all_addresses_numbers_count_and_names_that_were_given() {
        let names = names("0.0.0.0:80", &["plant.example", "desk.example:443"]);
        for host in [
            "10.1.2.3",
            "10.1.2.3:80",
            "plant.example",
            "desk.example:443",
        ] {
            assert!(names.knows(host), "{host}");
        }
        for host in [
            "desk.example",
            "desk.example:80",
            "other.example",
            "10.1.2.3:81",
        ] {
            assert!(!names.knows(host), "{host}");
        }
    }
}
