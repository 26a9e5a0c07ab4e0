//! The same work for each of many items, in order: side by side on the cores of a native machine, one after another in
//! WebAssembly, whose module here has one thread. The result never depends on which.

/// Applies `work` to every item and gives the results to `take` in the items' order; one by one where there is one thread.
pub(crate) fn in_order<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync, mut take: impl FnMut(&T, R)) {
    #[cfg(not(target_arch = "wasm32"))]
    {
        let cores = std::thread::available_parallelism().map_or(1, core::num::NonZero::get);
        // A thread costs some 50 µs, a trial about a millisecond.
        if cores > 1 && items.len() >= 4 {
            let work = &work;
            let results: Vec<R> = std::thread::scope(|scope| {
                let share = items.len().div_ceil(cores);
                let threads: Vec<_> =
                    items.chunks(share).map(|part| scope.spawn(move || part.iter().map(work).collect::<Vec<R>>())).collect();
                let joined = threads.into_iter().map(|thread| match thread.join() {
                    Ok(part) => part,
                    // What went wrong there goes wrong here.
                    Err(panic) => std::panic::resume_unwind(panic),
                });
                joined.flatten().collect()
            });
            items.iter().zip(results).for_each(|(item, result)| take(item, result));
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
