//! Logging in with the token, where the desk is open to other machines.

use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::Json;
use axum::extract::{ConnectInfo, FromRequest as _, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde::{Deserialize, Serialize};

use super::body::{Payload, Raw};
use super::failure::Failure;
use super::{Desk, on_a_thread};
use crate::doors::Peer;
use crate::store::{Digest, held, random};

const COOKIE: &str = "linewright_session";
/// A working day with room on both sides.
const SESSION: Duration = Duration::from_secs(14 * 3_600);
/// Wrong tokens from one place before it has to wait.
const FREE_TRIES: u32 = 5;
/// The longest wait.
const LONGEST_WAIT: Duration = Duration::from_secs(15 * 60);
/// Places and sessions remembered.
const MOST: usize = 10_000;

/// Sessions and failed tries; in memory only, so a restart ends all sessions.
pub(crate) struct Sessions {
    needed: bool,
    /// By the hash of the cookie, so that memory holds no key.
    live: Mutex<BTreeMap<Digest, Instant>>,
    tries: Mutex<BTreeMap<IpAddr, Tries>>,
    /// One token is hashed at a time: each takes memory and time by intent.
    turn: tokio::sync::Mutex<()>,
}

#[derive(Clone, Copy)]
struct Tries {
    failed: u32,
    last: Instant,
}

#[allow(clippy::disallowed_methods, reason = "sessions end by the clock")]
fn now() -> Instant {
    Instant::now()
}

impl Sessions {
    pub(crate) fn new(needed: bool) -> Self {
        Self {
            needed,
            live: Mutex::default(),
            tries: Mutex::default(),
            turn: tokio::sync::Mutex::default(),
        }
    }

    pub(crate) fn open_to_all(&self) -> bool {
        !self.needed
    }

    pub(crate) fn knows(&self, headers: &HeaderMap) -> bool {
        let Some(cookie) = cookie(headers) else {
            return false;
        };
        let until = held(&self.live)
            .get(&Digest::of(cookie.as_bytes()))
            .copied();
        until.is_some_and(|until| now() < until)
    }

    fn begin(&self) -> Result<String, Failure> {
        let bytes: [u8; 32] = random()?;
        let cookie: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let mut live = held(&self.live);
        let this_moment = now();
        live.retain(|_, until| this_moment < *until);
        if live.len() >= MOST {
            live.clear();
        }
        live.insert(Digest::of(cookie.as_bytes()), this_moment + SESSION);
        Ok(cookie)
    }

    fn end(&self, headers: &HeaderMap) {
        if let Some(cookie) = cookie(headers) {
            held(&self.live).remove(&Digest::of(cookie.as_bytes()));
        }
    }

    /// Seconds to wait before the next try.
    fn wait(&self, from: IpAddr) -> Option<u64> {
        let tries = held(&self.tries).get(&from).copied()?;
        let over = tries.failed.checked_sub(FREE_TRIES)?;
        let wait = Duration::from_secs(1 << over.min(10)).min(LONGEST_WAIT);
        let left = (tries.last + wait).checked_duration_since(now())?;
        (!left.is_zero()).then(|| left.as_secs() + 1)
    }

    fn failed(&self, from: IpAddr) {
        let mut tries = held(&self.tries);
        let this_moment = now();
        if tries.len() >= MOST {
            tries.retain(|_, tries| this_moment < tries.last + LONGEST_WAIT);
        }
        let entry = tries.entry(from).or_insert(Tries {
            failed: 0,
            last: this_moment,
        });
        if this_moment > entry.last + 4 * LONGEST_WAIT {
            entry.failed = 0;
        }
        entry.failed = entry.failed.saturating_add(1);
        entry.last = this_moment;
    }

    fn succeeded(&self, from: IpAddr) {
        held(&self.tries).remove(&from);
    }
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    let all = headers.get_all(header::COOKIE).iter();
    all.filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, value)| value)
}

/// Whoever has one address of a /64 has them all.
fn place(request: &Request) -> IpAddr {
    let from = request.extensions().get::<ConnectInfo<Peer>>();
    match from.map_or(IpAddr::V6(Ipv6Addr::UNSPECIFIED), |from| from.0.0.ip()) {
        IpAddr::V6(ip) => {
            let network = ip.to_bits() & !u128::from(u64::MAX);
            IpAddr::V6(Ipv6Addr::from_bits(network))
        }
        number => number,
    }
}

/// The token typed in.
#[derive(Deserialize, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct Login {
    /// The token.
    pub token: String,
}

/// That somebody is logged in.
#[derive(Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub(crate) struct LoggedIn {
    /// For how many seconds.
    pub seconds: u64,
}

async fn try_token(desk: &Arc<Desk>, from: IpAddr, token: String) -> Result<String, Failure> {
    // The turn comes first: tries sent at once wait for each other's failure.
    let turn = desk.sessions.turn.lock().await;
    if let Some(seconds) = desk.sessions.wait(from) {
        return Err(Failure::new(
            StatusCode::TOO_MANY_REQUESTS,
            "too-many-tries",
            format!("too many wrong tokens, the next try counts in {seconds} s"),
            "wait, then type the token again",
        ));
    }
    let right = on_a_thread(desk, move |office| Ok(office.store.is_token(&token)?)).await?;
    drop(turn);
    if !right {
        desk.sessions.failed(from);
        return Err(Failure::new(
            StatusCode::UNAUTHORIZED,
            "wrong-token",
            "this is not the token",
            "type the token that the program printed",
        ));
    }
    desk.sessions.succeeded(from);
    desk.sessions.begin()
}

fn set_cookie(value: &str, seconds: u64) -> [(header::HeaderName, String); 1] {
    let cookie = format!("{COOKIE}={value}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict");
    [(header::SET_COOKIE, cookie)]
}

/// `POST /api/login`.
pub(crate) async fn log_in(
    State(desk): State<Arc<Desk>>,
    request: Request,
) -> Result<Response, Failure> {
    let from = place(&request);
    let Payload(login) = Payload::<Login>::from_request(request, &desk).await?;
    let cookie = try_token(&desk, from, login.token).await?;
    let seconds = SESSION.as_secs();
    Ok((set_cookie(&cookie, seconds), Json(LoggedIn { seconds })).into_response())
}

/// `POST /api/logout`.
pub(crate) async fn log_out(State(desk): State<Arc<Desk>>, headers: HeaderMap) -> Response {
    desk.sessions.end(&headers);
    (StatusCode::NO_CONTENT, set_cookie("", 0)).into_response()
}

/// `GET /login`: a form that needs no script.
pub(crate) async fn form() -> Response {
    login_page("")
}

/// `POST /login`: the form's answer.
pub(crate) async fn form_sent(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let from = place(&request);
    let Ok(Raw(body)) = Raw::from_request(request, &desk).await else {
        return login_page("the form was too long");
    };
    let body = String::from_utf8_lossy(&body);
    // A token has letters and digits only, so nothing is ever escaped.
    let token = body
        .split('&')
        .find_map(|field| field.strip_prefix("token="))
        .unwrap_or("")
        .trim_matches('+')
        .to_owned();
    match try_token(&desk, from, token).await {
        Ok(cookie) => (set_cookie(&cookie, SESSION.as_secs()), Redirect::to("/")).into_response(),
        Err(failure) => login_page(failure.message()),
    }
}

fn login_page(said: &str) -> Response {
    let said = crate::report::escaped(said);
    Html(format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width\"><title>Log in</title></head>\
         <body><main><h1>Log in</h1><p role=\"alert\">{said}</p>\
         <form method=\"post\" action=\"/login\"><label for=\"token\">Token</label> \
         <input id=\"token\" name=\"token\" type=\"password\" autocomplete=\"current-password\" \
         required> <button>Log in</button></form></main></body></html>"
    ))
    .into_response()
}

#[cfg(test)]
mod tests {
    use super::{FREE_TRIES, Sessions};

    #[test]
    fn wrong_tokens_make_the_place_wait_and_no_other() {
        let sessions = Sessions::new(true);
        let (here, there) = ("10.0.0.1".parse(), "10.0.0.2".parse());
        let (here, there) = (here.expect("a number"), there.expect("a number"));
        for _ in 0..FREE_TRIES - 1 {
            sessions.failed(here);
            assert_eq!(sessions.wait(here), None);
        }
        for _ in 0..4 {
            sessions.failed(here);
        }
        assert!(sessions.wait(here).is_some_and(|seconds| seconds > 4));
        assert_eq!(sessions.wait(there), None);
        sessions.succeeded(here);
        assert_eq!(sessions.wait(here), None);
    }
}
