//! The doors: how many connections at once, and how long a silent or a slow one
//! is kept.
//!
//! A request has to arrive at a least pace and a reply to be taken, or the
//! connection is closed; so a client that dribbles its headers holds one place
//! for a minute and no more. A stream of events says something every 15 s and
//! stays open.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep, sleep_until};

/// How patient the doors are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Patience {
    /// Connections at once; further ones wait outside.
    pub(crate) connections: usize,
    /// How long a client that sends may pause.
    pub(crate) sending: Duration,
    /// Bytes a second that buy a sender no loss of that time.
    pub(crate) pace: u32,
    /// How long a connection may be silent after a reply, or a reply not be
    /// taken.
    pub(crate) silent: Duration,
}

impl Patience {
    /// For a shop's office: two dozen readers with six connections each, lines
    /// down to 100 kbit/s.
    pub(crate) const USUAL: Self = Self {
        connections: 512,
        sending: Duration::from_secs(60),
        pace: 10_000,
        silent: Duration::from_secs(120),
    };
}

/// A listener with [`Patience`].
pub(crate) struct Doors {
    listener: TcpListener,
    room: Arc<Semaphore>,
    patience: Patience,
}

impl Doors {
    pub(crate) fn new(listener: TcpListener, patience: Patience) -> Self {
        Self {
            listener,
            room: Arc::new(Semaphore::new(patience.connections)),
            patience,
        }
    }
}

impl Listener for Doors {
    type Io = Line;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Line, SocketAddr) {
        // The semaphore is never closed, so that a place always comes.
        let place = Arc::clone(&self.room).acquire_owned().await.ok();
        let (stream, from) = Listener::accept(&mut self.listener).await;
        // A reply is written in few pieces; waiting to fill packets delays the last.
        let _ = stream.set_nodelay(true);
        (Line::new(stream, place, self.patience), from)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// Where a connection comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Peer(pub(crate) SocketAddr);

impl Connected<IncomingStream<'_, Doors>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Doors>) -> Self {
        Self(*stream.remote_addr())
    }
}

/// A connection.
pub(crate) struct Line {
    stream: TcpStream,
    patience: Patience,
    /// Whether a request is coming in: something was read since the last write.
    sending: bool,
    until: Instant,
    alarm: Pin<Box<Sleep>>,
    /// Given back when the connection ends.
    _place: Option<OwnedSemaphorePermit>,
}

impl Line {
    fn new(stream: TcpStream, place: Option<OwnedSemaphorePermit>, patience: Patience) -> Self {
        // Whoever opens a connection has something to say.
        let until = Instant::now() + patience.sending;
        Self {
            stream,
            patience,
            sending: true,
            until,
            alarm: Box::pin(sleep_until(until)),
            _place: place,
        }
    }

    fn heard(&mut self, bytes: usize) {
        let latest = Instant::now() + self.patience.sending;
        let bought = u32::try_from(bytes).unwrap_or(u32::MAX);
        let bought = Duration::from_secs_f64(f64::from(bought) / f64::from(self.patience.pace));
        self.until = if self.sending {
            (self.until + bought).min(latest)
        } else {
            latest
        };
        self.sending = true;
    }

    fn said(&mut self) {
        self.sending = false;
        self.until = Instant::now() + self.patience.silent;
    }

    /// An error once the patience is at its end.
    fn wait(&mut self, context: &mut Context<'_>) -> Poll<io::Error> {
        if self.alarm.deadline() != self.until {
            self.alarm.as_mut().reset(self.until);
        }
        ready!(self.alarm.as_mut().poll(context));
        Poll::Ready(io::Error::new(io::ErrorKind::TimedOut, "too slow"))
    }

    /// Passes on what came of writing.
    fn written(
        &mut self,
        context: &mut Context<'_>,
        what: Poll<io::Result<usize>>,
    ) -> Poll<io::Result<usize>> {
        match what {
            Poll::Ready(Ok(bytes)) => {
                self.said();
                Poll::Ready(Ok(bytes))
            }
            Poll::Pending => self.wait(context).map(Err),
            Poll::Ready(error) => Poll::Ready(error),
        }
    }
}

impl AsyncRead for Line {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = into.filled().len();
        match Pin::new(&mut self.stream).poll_read(context, into) {
            Poll::Pending => self.wait(context).map(Err),
            Poll::Ready(read) => {
                self.heard(into.filled().len() - before);
                Poll::Ready(read)
            }
        }
    }
}

impl AsyncWrite for Line {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let what = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.written(context, what)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        pieces: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let what = Pin::new(&mut self.stream).poll_write_vectored(context, pieces);
        self.written(context, what)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use std::io::{Read as _, Write as _};
    use std::net::TcpStream;
    use std::time::Duration;

    use axum::Router;
    use axum::routing::get;

    use super::{Doors, Patience};

    const QUICK: Patience = Patience {
        connections: 2,
        sending: Duration::from_millis(150),
        pace: 10_000,
        silent: Duration::from_millis(150),
    };

    /// A server that says "here", at work until the test's end.
    fn serve(patience: Patience) -> std::net::SocketAddr {
        let (tell, told) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .expect("a runtime");
            runtime.block_on(async {
                let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await;
                let listener = listener.expect("a port");
                tell.send(listener.local_addr().expect("an address"))
                    .expect("a test that waits");
                let app = Router::new().route("/", get(async || "here"));
                axum::serve(Doors::new(listener, patience), app)
                    .await
                    .expect("a server");
            });
        });
        told.recv().expect("an address")
    }

    fn connect(to: std::net::SocketAddr) -> TcpStream {
        let stream = TcpStream::connect(to).expect("a connection");
        let patience = Some(Duration::from_secs(30));
        stream.set_read_timeout(patience).expect("a patience");
        stream
    }

    fn ask(stream: &mut TcpStream) -> usize {
        let asked = stream.write_all(b"GET / HTTP/1.1\r\nhost: x\r\n\r\n");
        asked.expect("a line that is open");
        let mut reply = [0; 512];
        stream.read(&mut reply).expect("a reply")
    }

    #[test]
    fn a_client_that_never_ends_its_headers_is_let_go() {
        let mut stream = connect(serve(QUICK));
        stream
            .write_all(b"GET / HTTP/1.1\r\nhost: x\r\n")
            .expect("open");
        let mut rest = Vec::new();
        // The end of the line, or its reset; in any case not for ever.
        let _ = stream.read_to_end(&mut rest);
        assert!(rest.is_empty() || rest.starts_with(b"HTTP/1.1 408"));
    }

    #[test]
    fn a_line_that_falls_silent_after_its_reply_is_let_go() {
        let mut stream = connect(serve(QUICK));
        assert!(ask(&mut stream) > 0);
        let mut rest = Vec::new();
        let _ = stream.read_to_end(&mut rest);
        assert!(rest.is_empty());
    }

    #[test]
    fn one_connection_too_many_waits_until_another_ends() {
        let patience = Patience {
            sending: Duration::from_secs(60),
            silent: Duration::from_secs(60),
            ..QUICK
        };
        let to = serve(patience);
        let (mut first, mut second) = (connect(to), connect(to));
        assert!(ask(&mut first) > 0 && ask(&mut second) > 0);
        let mut third = connect(to);
        third
            .write_all(b"GET / HTTP/1.1\r\nhost: x\r\n\r\n")
            .expect("open");
        let brief = Some(Duration::from_millis(200));
        third.set_read_timeout(brief).expect("a patience");
        let mut reply = [0; 512];
        third.read(&mut reply).expect_err("nobody listens yet");
        drop(first);
        let long = Some(Duration::from_secs(30));
        third.set_read_timeout(long).expect("a patience");
        assert!(third.read(&mut reply).expect("a reply") > 0);
    }
}
