//! Who gets in, and what every reply carries.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on stops where it stands"
)]

mod support;

use serde_json::json;
use support::{Reply, Served};

fn alone() -> Served {
    Served::at("127.0.0.1:0", None, |_| ())
}

#[test]
fn a_foreign_host_or_origin_is_refused_everywhere() {
    let desk = alone();
    let port = desk.address.port();
    for path in [
        "/",
        "/api/variants",
        "/api/openapi.json",
        "/login",
        "/assets/x.js",
    ] {
        for host in [
            "evil.example",
            "evil.example:80",
            "127.0.0.1:1",
            "[::1]",
            "a b",
        ] {
            let reply = desk.ask("GET", path, &[("host", host)], b"");
            assert!(
                matches!(reply.status, 400 | 403),
                "{path} {host}: {}",
                reply.status
            );
        }
        let rebound = format!("evil.example:{port}");
        assert_eq!(
            desk.ask("GET", path, &[("host", &rebound)], b"").status,
            403
        );
        let origins = [
            "http://evil.example",
            "null",
            "",
            "https://127.0.0.1",
            "file://",
        ];
        for origin in origins {
            let reply = desk.ask("GET", path, &[("origin", origin)], b"");
            assert_eq!(
                (reply.status, reply.code().as_str()),
                (403, "origin"),
                "{origin}"
            );
        }
    }
}

#[test]
fn only_a_page_of_this_desk_changes_a_book() {
    let desk = alone();
    let here = format!("http://{}", desk.address);
    let body = json!({"name": "x", "author": "Ada"}).to_string();
    let ask =
        |headers: &[(&str, &str)]| desk.ask("POST", "/api/variants", headers, body.as_bytes());
    let kind = ("content-type", "application/json");
    assert_eq!(ask(&[kind, ("origin", "http://evil.example")]).status, 403);
    assert_eq!(ask(&[kind, ("sec-fetch-site", "cross-site")]).status, 403);
    assert_eq!(ask(&[("content-type", "text/plain")]).status, 415);
    assert_eq!(
        desk.get("/api/variants").good(),
        json!([]),
        "nothing came of it"
    );
    assert_eq!(
        ask(&[kind, ("origin", &here), ("sec-fetch-site", "same-origin")]).status,
        201
    );
}

#[test]
fn a_link_from_elsewhere_opens_the_page_under_a_known_name() {
    let desk = alone();
    let port = desk.address.port();
    let link = [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-mode", "navigate"),
    ];
    assert_eq!(desk.ask("GET", "/", &link, b"").status, 200);
    let known = format!("plant.example:{port}");
    assert_eq!(
        desk.ask("GET", "/api/health", &[("host", &known)], b"")
            .status,
        200
    );
    let two = format!(
        "GET /api/health HTTP/1.1\r\nhost: {0}\r\nhost: x\r\nconnection: close\r\n\r\n",
        desk.address
    );
    assert!(matches!(desk.raw(two.as_bytes()).status, 400 | 403));
    let none = b"GET /api/health HTTP/1.0\r\n\r\n";
    assert!(matches!(desk.raw(none).status, 400 | 403));
}

fn dressed(reply: &Reply) {
    let policy = reply.header("content-security-policy").expect("a policy");
    assert!(policy.contains("default-src 'none'"), "{policy}");
    assert!(policy.contains("frame-ancestors 'none'"), "{policy}");
    // neither script nor style stands in a page itself
    assert!(!policy.contains("unsafe"), "{policy}");
    assert_eq!(reply.header("x-content-type-options"), Some("nosniff"));
    assert_eq!(reply.header("referrer-policy"), Some("no-referrer"));
    assert!(reply.header("access-control-allow-origin").is_none());
    assert!(reply.header("cache-control").is_some());
}

#[test]
fn every_reply_carries_its_policy() {
    let desk = alone();
    for path in [
        "/",
        "/some/view",
        "/api/health",
        "/api/nothing",
        "/no.js",
        "/login",
    ] {
        dressed(&desk.get(path));
    }
    dressed(&desk.ask("GET", "/", &[("host", "evil.example")], b""));
    dressed(&desk.ask("DELETE", "/api/health", &[], b""));
    assert_eq!(
        desk.get("/api/health").header("cache-control"),
        Some("no-store")
    );
}

#[test]
fn views_get_the_page_and_files_that_are_not_there_do_not() {
    let desk = alone();
    for path in ["/", "/v/1/r/head/answer"] {
        let page = desk.get(path);
        assert_eq!(page.status, 200);
        assert!(
            page.header("content-type")
                .unwrap()
                .starts_with("text/html")
        );
    }
    for path in [
        "/../Cargo.toml",
        "/..%2f..%2fCargo.toml",
        "/%2e%2e/%2e%2e/etc/passwd.txt",
        "/assets/..%5c..%5cx.js",
        "//etc/passwd.x",
        "/.git/config.x",
        "/index.html%00.js",
    ] {
        let reply = desk.get(path);
        assert_eq!(reply.status, 404, "{path}: {:.80}", reply.text());
    }
    assert_eq!(desk.ask("POST", "/", &[], b"").status, 405);
    assert_eq!(desk.get("/api/no/such").code(), "not-found");
    assert_eq!(desk.ask("PUT", "/api/variants", &[], b"").code(), "method");
}

#[test]
fn bodies_have_limits_and_nonsense_is_answered_in_words() {
    let desk = alone();
    let kind = [("content-type", "application/json")];
    let large = vec![b' '; 100_000];
    assert_eq!(desk.ask("POST", "/api/variants", &kind, &large).status, 413);
    let larger = vec![b' '; 9 << 20];
    assert_eq!(
        desk.ask("POST", "/api/variants/1/edits", &kind, &larger)
            .status,
        413
    );
    for (path, body) in [
        ("/api/variants", "{"),
        ("/api/variants", "[]"),
        ("/api/variants", "{\"name\": 1, \"author\": \"Ada\"}"),
        ("/api/variants/1/edits", "{\"base\": \"one\"}"),
        ("/api/variants/1/restore", "null"),
        ("/api/revisions/1/runs", "{\"kind\": \"soon\"}"),
    ] {
        let reply = desk.ask("POST", path, &kind, body.as_bytes());
        assert_eq!(
            (reply.status, reply.code().as_str()),
            (400, "bad-request"),
            "{body}"
        );
    }
    for path in [
        "/api/revisions/x/book",
        "/api/revisions/99999999999999999999/plan",
        "/api/revisions/-1/plan",
        "/api/variants/7/revisions",
        "/api/jobs/7",
        "/api/revisions/1/compare/2",
    ] {
        assert_eq!(desk.get(path).status, 404, "{path}");
    }
    assert_eq!(desk.get("/api/revisions/1/answer").status, 400);
    assert_eq!(desk.get("/api/revisions/1/answer?kind=soon").status, 400);
}

#[test]
fn other_machines_need_the_token() {
    let mut token = String::new();
    let desk = Served::at("0.0.0.0:0", None, |store| {
        token = store.new_token().expect("random bytes");
    });
    assert_eq!(desk.get("/api/variants").code(), "no-session");
    let page = desk.get("/");
    assert_eq!(
        (page.status, page.header("location")),
        (303, Some("/login"))
    );
    let form = desk.get("/login");
    assert_eq!(form.status, 200);
    dressed(&form);
    assert!(!form.text().contains("<script"));

    assert_eq!(
        desk.post("/api/login", &json!({"token": "wrong"})).code(),
        "wrong-token"
    );
    let reply = desk.post("/api/login", &json!({"token": token}));
    assert_eq!(reply.status, 200);
    let cookie = reply.header("set-cookie").expect("a cookie");
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let pair = cookie.split(';').next().unwrap().to_owned();
    let inside = [("cookie", pair.as_str())];
    assert_eq!(desk.ask("GET", "/api/variants", &inside, b"").status, 200);
    assert_eq!(desk.ask("GET", "/", &inside, b"").status, 200);
    let forged = [("cookie", "linewright_session=0000")];
    assert_eq!(desk.ask("GET", "/api/variants", &forged, b"").status, 401);
    assert_eq!(desk.ask("POST", "/api/logout", &inside, b"").status, 204);
    assert_eq!(desk.ask("GET", "/api/variants", &inside, b"").status, 401);

    let by_form = format!("token={token}");
    let kind = [("content-type", "application/x-www-form-urlencoded")];
    let entered = desk.ask("POST", "/login", &kind, by_form.as_bytes());
    assert_eq!(entered.status, 303);
    assert!(entered.header("set-cookie").is_some());

    for _ in 0..12 {
        desk.post("/api/login", &json!({"token": "guess"}));
    }
    let slowed = desk.post("/api/login", &json!({"token": token}));
    assert_eq!(
        (slowed.status, slowed.code().as_str()),
        (429, "too-many-tries")
    );
}

#[test]
fn without_a_token_no_other_machine_is_served() {
    let folder = tempfile::tempdir().unwrap();
    let refused = desk::serve(desk::Options {
        store: folder.path().join("plant.lw"),
        address: "0.0.0.0:0".parse().unwrap(),
        hosts: Vec::new(),
        first_book: None,
        on_bound: Box::new(|_| panic!("it must not listen")),
        stop: desk::Stop::new(),
    });
    let message = refused.expect_err("no token").to_string();
    assert!(message.contains("make a token first"), "{message}");
}
