//! Serves a book on a free port of this machine: `serve STORE [BOOK] [PORT]`.
#![allow(clippy::print_stdout, reason = "an example tells where it listens")]

use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let store = arguments.next().ok_or("name the store's file")?;
    let first_book = arguments
        .next()
        .map(|book| book::read_path(Path::new(&book)))
        .transpose()?;
    let port: u16 = arguments.next().map_or(Ok(0), |port| port.parse())?;
    desk::serve(desk::Options {
        store: store.into(),
        address: SocketAddr::from((Ipv4Addr::LOCALHOST, port)),
        hosts: Vec::new(),
        first_book,
        on_bound: Box::new(|address| println!("http://{address}/")),
        stop: desk::Stop::new(),
    })?;
    Ok(())
}
