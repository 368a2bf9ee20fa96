//! A desk on a free port, and a browser in forty lines.
#![allow(dead_code, reason = "each test file uses its part")]

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::Duration;

use book::raw::{RawRow, RawTable};
use serde_json::Value;
use tempfile::TempDir;

/// A desk at work; it ends when this is dropped.
pub(crate) struct Served {
    pub(crate) address: SocketAddr,
    pub(crate) folder: TempDir,
    stop: desk::Stop,
    thread: Option<JoinHandle<()>>,
}

/// A table of text; commas separate cells.
pub(crate) fn table(name: &str, text: &str) -> RawTable {
    let mut lines = text.lines();
    let cells = |line: &str| line.split(',').map(ToOwned::to_owned).collect::<Vec<_>>();
    let columns = cells(lines.next().unwrap());
    let rows = lines.zip(2..).map(|(line, number)| RawRow {
        line: number,
        cells: cells(line),
    });
    RawTable {
        name: name.to_owned(),
        columns,
        rows: rows.collect(),
        ..RawTable::default()
    }
}

/// The demo plant.
pub(crate) fn demo() -> book::raw::Workbook {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/merrow-quay");
    book::read_path(Path::new(folder)).expect("the demo plant")
}

impl Served {
    /// On loopback, with the demo plant as revision 2 of variant 1.
    pub(crate) fn demo() -> Self {
        Self::at("127.0.0.1:0", Some(demo()), |_| ())
    }

    /// At an address, after `before` has seen the store.
    pub(crate) fn at(
        address: &str,
        first_book: Option<book::raw::Workbook>,
        before: impl FnOnce(&desk::Store),
    ) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = folder.path().join("plant.lw");
        before(&desk::Store::open(&store).expect("a new store"));
        let (tell, told) = mpsc::channel();
        let stop = desk::Stop::new();
        let options = desk::Options {
            store,
            address: address.parse().expect("an address"),
            hosts: vec!["plant.example".into()],
            first_book,
            on_bound: Box::new(move |address| tell.send(address).expect("a listener")),
            stop: stop.clone(),
        };
        let thread = std::thread::spawn(move || desk::serve(options).expect("a desk"));
        let address = told.recv().expect("a bound address");
        Self {
            address: SocketAddr::new([127, 0, 0, 1].into(), address.port()),
            folder,
            stop,
            thread: Some(thread),
        }
    }

    pub(crate) fn get(&self, path: &str) -> Reply {
        self.ask("GET", path, &[], b"")
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Reply {
        let kind = ("content-type", "application/json");
        self.ask("POST", path, &[kind], body.to_string().as_bytes())
    }

    /// One request; the host is the right one where none is given.
    pub(crate) fn ask(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> Reply {
        let mut all = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
        if !headers.iter().any(|(name, _)| *name == "host") {
            all += &format!("host: {}\r\n", self.address);
        }
        for (name, value) in headers {
            all += &format!("{name}: {value}\r\n");
        }
        all += &format!("content-length: {}\r\n\r\n", body.len());
        self.raw(&[all.as_bytes(), body].concat())
    }

    /// Bytes as they are, and the reply to them.
    pub(crate) fn raw(&self, request: &[u8]) -> Reply {
        let mut stream = TcpStream::connect(self.address).expect("a connection");
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .expect("a patience");
        // A refused body is not read to its end, so that writing may fail.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        Reply::read(&bytes)
    }

    /// Waits for a job's end and gives its last state.
    pub(crate) fn job(&self, id: &Value) -> Value {
        let events = self.get(&format!("/api/jobs/{id}/events")).text();
        let last = events
            .lines()
            .filter_map(|line| line.strip_prefix("data: "))
            .next_back();
        serde_json::from_str(last.expect("an event")).expect("JSON")
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop.now();
        if let Some(thread) = self.thread.take() {
            let ended = thread.join();
            assert!(
                ended.is_ok() || std::thread::panicking(),
                "the desk broke off"
            );
        }
    }
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Reply {
    pub(crate) status: u16,
    pub(crate) headers: Vec<(String, String)>,
    pub(crate) body: Vec<u8>,
}

impl Reply {
    fn read(bytes: &[u8]) -> Self {
        let end = bytes.windows(4).position(|four| four == b"\r\n\r\n");
        let end = end.unwrap_or_else(|| panic!("no reply: {:?}", String::from_utf8_lossy(bytes)));
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines.next().and_then(|line| line.split(' ').nth(1));
        let headers: Vec<(String, String)> = lines
            .filter_map(|line| line.split_once(": "))
            .map(|(name, value)| (name.to_lowercase(), value.to_owned()))
            .collect();
        let rest = &bytes[end + 4..];
        let chunked = headers.iter().any(|(name, _)| name == "transfer-encoding");
        Self {
            status: status.and_then(|status| status.parse().ok()).unwrap_or(0),
            headers,
            body: if chunked {
                unchunked(rest)
            } else {
                rest.to_vec()
            },
        }
    }

    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.as_str())
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|_| panic!("no JSON ({}): {:.300}", self.status, self.text()))
    }

    /// The JSON of a reply that must be good.
    pub(crate) fn good(&self) -> Value {
        assert!(
            (200..300).contains(&self.status),
            "{}: {:.500}",
            self.status,
            self.text()
        );
        self.json()
    }

    pub(crate) fn code(&self) -> String {
        self.json()["error"]["code"]
            .as_str()
            .unwrap_or("")
            .to_owned()
    }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let size = usize::from_str_radix(&String::from_utf8_lossy(&rest[..end]), 16).unwrap_or(0);
        rest = &rest[end + 2..];
        if size == 0 || rest.len() < size + 2 {
            break;
        }
        body.extend_from_slice(&rest[..size]);
        rest = &rest[size + 2..];
    }
    body
}
