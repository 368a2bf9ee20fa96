//! Runs a search under a limit of time.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// When a search is ended.
#[derive(Clone, Copy)]
pub(crate) enum Limit {
    /// After so many seconds on the wall.
    Wall(f64),
    /// After so many seconds of processor, all threads together: what others
    /// do on the machine does not change what a search can reach.
    Processor(f64),
}

impl std::str::FromStr for Limit {
    type Err = std::num::ParseFloatError;

    /// `10` for ten seconds on the wall, `20cpu` for twenty of processor.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.strip_suffix("cpu") {
            Some(seconds) => seconds.parse().map(Self::Processor),
            None => text.parse().map(Self::Wall),
        }
    }
}

/// What `search` returns, with the seconds on the wall and of processor that
/// it took; its flag is set at the limit.
pub(crate) fn timed<T>(limit: Limit, search: impl FnOnce(&AtomicBool) -> T) -> (T, f64, f64) {
    let cancel = AtomicBool::new(false);
    let (done, waits) = mpsc::channel::<()>();
    let start = Instant::now();
    let cpu = cpu_s();
    let found = std::thread::scope(|scope| {
        let flag = &cancel;
        scope.spawn(move || {
            let over = || match limit {
                Limit::Wall(seconds) => start.elapsed().as_secs_f64() >= seconds,
                Limit::Processor(seconds) => cpu_s() - cpu >= seconds,
            };
            while !over() {
                let waited = waits.recv_timeout(Duration::from_millis(5));
                if waited != Err(mpsc::RecvTimeoutError::Timeout) {
                    return;
                }
            }
            flag.store(true, Ordering::Relaxed);
        });
        let found = search(&cancel);
        // The waiter may be gone, its time having come.
        let _ = done.send(());
        found
    });
    (found, start.elapsed().as_secs_f64(), cpu_s() - cpu)
}

/// Seconds of processor that this program has used, where the system tells.
fn cpu_s() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = text.rsplit(')').next().unwrap_or("");
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    let ticks = |at: usize| -> f64 { fields.get(at).and_then(|f| f.parse().ok()).unwrap_or(0.0) };
    (ticks(11) + ticks(12)) / 100.0
}
