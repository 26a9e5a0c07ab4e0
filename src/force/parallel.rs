//! The same work for each of many items, in order: side by side on the cores of a native machine, one after another in
//! WebAssembly, whose module here has one thread. The result never depends on which.
#[cfg(not(target_arch = "wasm32"))]
use std::sync::atomic::{AtomicUsize, Ordering};

/// Applies `work` to every item and gives the results to `take` in the items' order; one by one where there is one thread.
pub(crate) fn in_order<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync, mut take: impl FnMut(&T, R)) {
    #[cfg(not(target_arch = "wasm32"))]
    {
        // A thread costs some 50 µs, a trial hundreds; and to ask for the cores costs as much, for the system reads files.
        let cores = if items.len() < 4 { 1 } else { std::thread::available_parallelism().map_or(1, core::num::NonZero::get) };
        if cores > 1 {
            // Whoever is free takes the next: the cores of a busy machine are not equally quick.
            let next = AtomicUsize::new(0);
            let some = || {
                let mut done = Vec::with_capacity(items.len() / cores + 1);
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(at) else { return done };
                    done.push((at, work(item)));
                }
            };
            let mut results: Vec<(usize, R)> = std::thread::scope(|scope| {
                let others: Vec<_> = (1..cores).map(|_| scope.spawn(some)).collect();
                let mut results = some();
                for other in others {
                    match other.join() {
                        Ok(part) => results.extend(part),
                        // What went wrong there goes wrong here.
                        Err(panic) => std::panic::resume_unwind(panic),
                    }
                }
                results
            });
            results.sort_unstable_by_key(|(at, _)| *at);
            items.iter().zip(results).for_each(|(item, (_, result))| take(item, result));
            return;
        }
    }
    items.iter().for_each(|item| take(item, work(item)));
}

/// Does two things, side by side where there are threads.
pub(crate) fn both<B>(a: impl FnOnce() + Send, b: impl FnOnce() -> B) -> B {
    #[cfg(not(target_arch = "wasm32"))]
    return std::thread::scope(|scope| {
        scope.spawn(a);
        b()
    });
    #[cfg(target_arch = "wasm32")]
    {
        a();
        b()
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_order_is_kept_whatever_the_number() {
        for n in [0_usize, 1, 3, 4, 5, 17, 100] {
            let items: Vec<usize> = (0..n).collect();
            let mut found = Vec::new();
            super::in_order(&items, |i| i * i, |i, square| found.push((*i, square)));
            assert_eq!(found, items.iter().map(|i| (*i, i * i)).collect::<Vec<_>>());
        }
    }
}
