//! Runs a search under a limit of time.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// What `search` returns, with the seconds on the wall and of processor that
/// it took; its flag is set after `limit_s` seconds.
pub(crate) fn timed<T>(limit_s: f64, search: impl FnOnce(&AtomicBool) -> T) -> (T, f64, f64) {
    let cancel = AtomicBool::new(false);
    let (done, waits) = mpsc::channel::<()>();
    let start = Instant::now();
    let cpu = cpu_s();
    let found = std::thread::scope(|scope| {
        let flag = &cancel;
        scope.spawn(move || {
            if waits
                .recv_timeout(Duration::from_secs_f64(limit_s))
                .is_err()
            {
                flag.store(true, Ordering::Relaxed);
            }
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
