//! The server: binds, serves, ends.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use book::raw::Workbook;
use tokio::net::TcpListener;
use tokio::sync::watch;

use crate::doors::{Doors, Patience, Peer};
use crate::http::{Desk, Names, Sessions, router};
use crate::jobs::Lane;
use crate::office::Office;
use crate::store::{Author, Incoming, Store, StoreError};

/// How long replies under way may take once the server is told to end.
const LAST_WORDS: Duration = Duration::from_secs(10);

/// How to serve. There is no usual: whoever serves says how.
pub struct Options {
    /// The store's file, made if there is none.
    pub store: PathBuf,
    /// Where to listen; port 0 takes a free one. Other than loopback needs a
    /// token in the store ([`Store::new_token`]).
    pub address: SocketAddr,
    /// Names beside numbers under which other machines ask, such as
    /// `plant.example` or `plant.example:443`.
    pub hosts: Vec<String>,
    /// The first variant's book, where the store has no variant yet.
    pub first_book: Option<Workbook>,
    /// Called once with the address, when it can be asked.
    pub on_bound: Box<dyn FnOnce(SocketAddr) + Send>,
    /// Ends the server; Ctrl-C and the system's signal to terminate do too.
    pub stop: Stop,
}

/// Ends a server from another thread.
#[derive(Clone, Debug)]
pub struct Stop(Arc<watch::Sender<bool>>);

impl Stop {
    /// One that was not used yet.
    #[allow(clippy::new_without_default, reason = "a flag has no usual value")]
    pub fn new() -> Self {
        Self(Arc::new(watch::Sender::new(false)))
    }

    /// Ends the server: requests at work are answered, runs are cancelled.
    pub fn now(&self) {
        self.0.send_replace(true);
    }
}

/// Why nothing is served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The address.
    #[error("can't listen on {address}: {source}; choose another address or port")]
    Address {
        /// The address asked for.
        address: SocketAddr,
        /// What the system said.
        source: std::io::Error,
    },
    /// The address is open to others and there is no token.
    #[error(
        "{address} can be reached from other machines and the store has no token; make a token \
         first, or listen on 127.0.0.1"
    )]
    NoToken {
        /// The address asked for.
        address: SocketAddr,
    },
    /// The system gave no threads or sockets.
    #[error("the system refused: {0}")]
    System(std::io::Error),
}

/// Serves the desk until it is stopped.
///
/// # Errors
/// When the store cannot be opened, the address not be taken, or the address
/// is open to others and the store has no token.
pub fn serve(options: Options) -> Result<(), ServeError> {
    let store = Store::open(&options.store)?;
    let guarded = !options.address.ip().is_loopback();
    if guarded && !store.has_token()? {
        return Err(ServeError::NoToken {
            address: options.address,
        });
    }
    if let Some(workbook) = &options.first_book {
        first_variant(&store, workbook)?;
    }
    let office = Arc::new(Office::new(store));
    let workers = crew(&office)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(64)
        .enable_all()
        .build()
        .map_err(ServeError::System)?;
    let served = runtime.block_on(listen(options, Arc::clone(&office), guarded));
    office.close();
    for worker in workers {
        // A worker that broke off has nothing left to end.
        let _ = worker.join();
    }
    served
}

async fn listen(options: Options, office: Arc<Office>, guarded: bool) -> Result<(), ServeError> {
    let address = options.address;
    let failed = |source| ServeError::Address { address, source };
    let listener = TcpListener::bind(address).await.map_err(failed)?;
    let bound = listener.local_addr().map_err(failed)?;
    let mut stopped = options.stop.0.subscribe();
    let desk = Arc::new(Desk {
        office: Arc::clone(&office),
        names: Names::new(bound, &options.hosts),
        sessions: Sessions::new(guarded),
        ending: options.stop.0.subscribe(),
        imports: tokio::sync::Semaphore::new(2),
    });
    (options.on_bound)(bound);
    let stop = options.stop.clone();
    let end = async move {
        tokio::select! {
            _ = stopped.wait_for(|stopped| *stopped) => {}
            () = told_to_end() => {}
        }
        // Streams of events end, and runs with them.
        stop.now();
        office.close();
    };
    let service = router(desk).into_make_service_with_connect_info::<Peer>();
    let served = axum::serve(Doors::new(listener, Patience::USUAL), service)
        .with_graceful_shutdown(end)
        .into_future();
    let mut ending = options.stop.0.subscribe();
    let out_of_patience = async {
        // An error means that nobody is left to say so.
        let _ = ending.wait_for(|ending| *ending).await;
        tokio::time::sleep(LAST_WORDS).await;
    };
    tokio::select! {
        served = served => served.map_err(ServeError::System),
        () = out_of_patience => Ok(()),
    }
}

/// Ctrl-C, or on Unix the signal by which a system ends its services.
async fn told_to_end() {
    let pressed = async {
        if tokio::signal::ctrl_c().await.is_err() {
            // No signal can come: only the caller ends the server.
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                () = pressed => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    pressed.await;
}

/// The threads that run plants and plan shops, and the one that takes plans to
/// the disk. Previews and shops have all cores; other runs leave one free, where
/// there are several, so that the page stays quick.
fn crew(office: &Arc<Office>) -> Result<Vec<std::thread::JoinHandle<()>>, ServeError> {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let kinds = [
        ("previews", Lane::Previews, cores),
        ("shops", Lane::Plans, cores),
        ("carts", Lane::Carts, cores.saturating_sub(1).max(1)),
        ("logs", Lane::Logs, cores),
        ("runs", Lane::Runs, cores.saturating_sub(1).max(1)),
    ];
    let mut workers = Vec::new();
    for (name, lane, threads) in kinds {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .thread_name(move |index| format!("{name} {index}"))
            .build()
            .map_err(|error| ServeError::System(std::io::Error::other(error)))?;
        let office = Arc::clone(office);
        let worker = std::thread::Builder::new()
            .name(name.to_owned())
            .spawn(move || {
                office
                    .jobs
                    .serve(lane, |job| pool.install(|| office.work(job)));
            });
        workers.push(worker.map_err(ServeError::System)?);
    }
    let office = Arc::clone(office);
    let keeper = std::thread::Builder::new()
        .name("keeper".to_owned())
        .spawn(move || office.keep_plans());
    workers.push(keeper.map_err(ServeError::System)?);
    Ok(workers)
}

fn first_variant(store: &Store, workbook: &Workbook) -> Result<(), StoreError> {
    if !store.variants()?.is_empty() {
        return Ok(());
    }
    let by = |note| Author::new("Linewright", note);
    let variant = store.new_variant("plan", None, &by("an empty book"))?;
    let what = Incoming::Book { workbook, name: "" };
    store.import(variant.variant, what, &by("the book as it was opened"))?;
    Ok(())
}
