//! Work on numbered cases in parallel, results in order.
//!
//! As many threads as the caller's pool has share the cases: each takes the next number when it is
//! free, and the calling thread hands the results on in the order of their numbers. Threads do not run
//! ahead of the slowest case by more than a few cases each, so that memory stays flat however long the
//! study is.
//!
//! Each of these threads has a small pool of its own for what is parallel within a case. In a common
//! pool a thread that waits for a piece of its case takes up whatever else there is to do, another
//! case too; that one could not end before the first, which lies under it, and the study would stand
//! still.

use std::any::Any;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// How many cases each thread may be ahead of the one that is waited for.
const AHEAD: u64 = 4;

struct State<T> {
    /// Next number to be worked on.
    next: u64,
    /// Number that is handed on next.
    wanted: u64,
    /// What is done and waits for its turn; an error is a panic of the work.
    done: BTreeMap<u64, Result<T, Box<dyn Any + Send>>>,
    stopped: bool,
}

struct Shared<T> {
    state: Mutex<State<T>>,
    changed: Condvar,
}

impl<T> Shared<T> {
    fn lock(&self) -> MutexGuard<'_, State<T>> {
        // No work is done under the lock, so a panic cannot leave the state half-changed.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait<'a>(&self, guard: MutexGuard<'a, State<T>>) -> MutexGuard<'a, State<T>> {
        self.changed.wait(guard).unwrap_or_else(PoisonError::into_inner)
    }
}

/// Does `work(number)` for all `numbers` in parallel and `take(number, result)` one after another.
///
/// # Errors
/// The first error of `take`; no more cases are begun then.
///
/// # Panics
/// Where `work` does, after the results before it have been handed on.
pub fn in_order<T: Send, E>(
    numbers: RangeInclusive<u64>,
    work: impl Fn(u64) -> T + Sync,
    mut take: impl FnMut(u64, T) -> Result<(), E>,
) -> Result<(), E> {
    let (first, last) = (*numbers.start(), *numbers.end());
    if first > last {
        return Ok(());
    }
    let allowed = rayon::current_num_threads().max(1) as u64;
    let threads = allowed.min(last - first + 1);
    let shared = Shared {
        state: Mutex::new(State {
            next: first,
            wanted: first,
            done: BTreeMap::new(),
            stopped: false,
        }),
        changed: Condvar::new(),
    };
    let worker = || {
        loop {
            let mut state = shared.lock();
            while !state.stopped
                && state.next <= last
                && state.next >= state.wanted + AHEAD * threads
            {
                state = shared.wait(state);
            }
            if state.stopped || state.next > last {
                return;
            }
            let number = state.next;
            state.next += 1;
            drop(state);
            let result = catch_unwind(AssertUnwindSafe(|| work(number)));
            shared.lock().done.insert(number, result);
            shared.changed.notify_all();
        }
    };
    let within = (allowed / threads) as usize;
    let started = || -> Option<rayon::ThreadPool> {
        rayon::ThreadPoolBuilder::new().num_threads(within).build().ok()
    };
    let pools: Vec<rayon::ThreadPool> = (0..threads).map_while(|_| started()).collect();
    if pools.is_empty() {
        // No threads to be had: one after another.
        return (first..=last).try_for_each(|number| take(number, work(number)));
    }
    thread::scope(|scope| {
        let waiting = pools.iter().filter_map(|pool| {
            thread::Builder::new().spawn_scoped(scope, || pool.install(worker)).ok()
        });
        if waiting.count() == 0 {
            return (first..=last).try_for_each(|number| take(number, work(number)));
        }
        let stop = StopAtLast(&shared);
        let handed_on = hand_on(first..=last, &shared, take);
        drop(stop);
        match handed_on {
            Ok(taken) => taken,
            Err(panic) => resume_unwind(panic),
        }
    })
}

/// Tells the threads to end when it goes, also when it goes because of a panic.
struct StopAtLast<'a, T>(&'a Shared<T>);

impl<T> Drop for StopAtLast<'_, T> {
    fn drop(&mut self) {
        self.0.lock().stopped = true;
        self.0.changed.notify_all();
    }
}

/// Waits for each number in turn and takes it; the outer error is a panic of the work.
fn hand_on<T, E>(
    numbers: RangeInclusive<u64>,
    shared: &Shared<T>,
    mut take: impl FnMut(u64, T) -> Result<(), E>,
) -> Result<Result<(), E>, Box<dyn Any + Send>> {
    for number in numbers {
        let mut state = shared.lock();
        let result = loop {
            match state.done.remove(&number) {
                Some(result) => break result,
                None => state = shared.wait(state),
            }
        };
        state.wanted = number + 1;
        drop(state);
        shared.changed.notify_all();
        let taken = take(number, result?);
        if taken.is_err() {
            return Ok(taken);
        }
    }
    Ok(Ok(()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU64, Ordering};

    fn pool(threads: usize) -> rayon::ThreadPool {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
    }

    /// Work of uneven length, every number once, in order, and never far ahead.
    #[test]
    fn results_come_in_order() {
        // Also called from a thread of a pool that has no other.
        for threads in [1, 3] {
            let handed = AtomicU64::new(4);
            let mut seen = Vec::new();
            let work = |n: u64| {
                assert!(n <= handed.load(Ordering::SeqCst) + 1 + AHEAD * threads as u64);
                (0..(n * 7919 % 13) * 1000).for_each(|i| {
                    std::hint::black_box(i);
                });
                n * n
            };
            let done = pool(threads).scope(|_| {
                in_order(5..=200, work, |n, square| {
                    handed.store(n, Ordering::SeqCst);
                    seen.push((n, square));
                    Ok::<(), ()>(())
                })
            });
            assert_eq!(done, Ok(()));
            assert_eq!(seen, (5..=200).map(|n| (n, n * n)).collect::<Vec<_>>());
        }
        #[expect(clippy::reversed_empty_ranges, reason = "an empty piece of a study")]
        let none = in_order(2..=1, |n| n, |_, _| Err("called"));
        assert_eq!(none, Ok(()));
    }

    /// Cases that are parallel within: a thread that waits for a piece of its case must not take up
    /// another case meanwhile.
    #[test]
    fn cases_that_are_parallel_within_do_not_hold_each_other_up() {
        use rayon::prelude::*;
        for round in 0..40 {
            let work = |n: u64| {
                let pieces = (0..8).into_par_iter().map(|i| {
                    thread::yield_now();
                    (0..2000 * (n + round + i) % 7000).fold(0, |a, b| std::hint::black_box(a ^ b))
                });
                pieces.sum::<u64>()
            };
            let mut taken = 0;
            let done = pool(2).install(|| {
                in_order(1..=60, work, |_, _| {
                    taken += 1;
                    Ok::<(), ()>(())
                })
            });
            assert_eq!((done, taken), (Ok(()), 60));
        }
    }

    #[test]
    fn an_error_stops_the_rest() {
        let begun = AtomicU64::new(0);
        let work = |n: u64| {
            begun.fetch_max(n, Ordering::SeqCst);
            n
        };
        let taken = in_order(1..=1_000_000, work, |n, _| if n == 3 { Err(n) } else { Ok(()) });
        assert_eq!(taken, Err(3));
        let most = 4 + AHEAD * rayon::current_num_threads() as u64;
        assert!(begun.load(Ordering::SeqCst) <= most);
    }

    #[test]
    fn a_panic_of_the_work_is_passed_on_and_does_not_hang() {
        let mut handed = Vec::new();
        let run = AssertUnwindSafe(|| {
            in_order(
                1..=100,
                |n| {
                    assert!(n != 7, "seven");
                    n
                },
                |n, _| {
                    handed.push(n);
                    Ok::<(), ()>(())
                },
            )
        });
        assert!(catch_unwind(run).is_err());
        assert_eq!(handed, [1, 2, 3, 4, 5, 6]);
    }
}
