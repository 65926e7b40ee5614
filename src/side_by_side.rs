//! Many things done at once, with an answer that does not depend on how many processors there are.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Does one thing with each of many, on the processors at hand, in their order. Whoever is free takes the
/// next, since some take much longer than others.
pub fn side_by_side<T: Sync, R: Send>(all: &[T], one: impl Fn(&T) -> R + Sync) -> Vec<R> {
    const MOST_THREADS: usize = 4;
    let threads =
        std::thread::available_parallelism().map_or(1, usize::from).min(MOST_THREADS).min(all.len());
    let next = AtomicUsize::new(0);
    let some = || -> Vec<(usize, R)> {
        let turns = std::iter::repeat_with(|| next.fetch_add(1, Ordering::Relaxed));
        turns.map_while(|at| Some((at, one(all.get(at)?)))).collect()
    };
    let mut done = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(some)).collect();
        let mut done = some();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        }
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, found)| found).collect()
}
