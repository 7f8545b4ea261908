//! Many things worked on at once by a crew of threads, taken in their order by one.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError, mpsc};

/// How a crew works.
pub(super) struct Crew<'a> {
    /// How many threads.
    pub(super) workers: usize,
    /// How many of the heavy things at once.
    pub(super) heavy: usize,
    /// Once this is set nothing more is begun; what was begun is done and taken.
    pub(super) stop: &'a AtomicBool,
}

/// What the threads agree on.
#[derive(Default)]
struct Desk {
    /// The first thing nobody has begun.
    next: usize,
    /// How many were taken. No thread runs further ahead of it than the crew is large, so no more results wait than that.
    taken: usize,
    /// Heavy things being worked on.
    heavy: usize,
    closed: bool,
}

impl Crew<'_> {
    /// Does `work` on every item, each thread with its own tools made by `tools`; hands every result to `take` in the order of
    /// the items, on the calling thread. At most one result more than there are threads exists at any time. An error of `take`
    /// ends it.
    pub(super) fn run<T: Sync, W, R: Send, E>(
        &self,
        items: &[T],
        is_heavy: impl Fn(&T) -> bool + Sync,
        tools: impl Fn() -> W + Sync,
        work: impl Fn(&mut W, &T) -> R + Sync,
        mut take: impl FnMut(&T, R) -> Result<(), E>,
    ) -> Result<(), E> {
        let (desk, turn) = (Mutex::new(Desk::default()), Condvar::new());
        let change = |f: &dyn Fn(&mut Desk)| {
            f(&mut lock(&desk));
            turn.notify_all();
        };
        let begin = || {
            let mut d = lock(&desk);
            loop {
                if d.closed || self.stop.load(Ordering::SeqCst) || d.next == items.len() {
                    return None;
                }
                let heavy = is_heavy(&items[d.next]);
                if d.next <= d.taken + self.workers && (!heavy || d.heavy < self.heavy.max(1)) {
                    d.next += 1;
                    d.heavy += usize::from(heavy);
                    return Some((d.next - 1, heavy));
                }
                d = turn.wait(d).unwrap_or_else(PoisonError::into_inner);
            }
        };
        let (give, given) = mpsc::channel();
        std::thread::scope(|scope| {
            for _ in 0..self.workers.max(1) {
                let (give, begin, change, tools, work) = (give.clone(), &begin, &change, &tools, &work);
                scope.spawn(move || {
                    let mut own = None;
                    while let Some((i, heavy)) = begin() {
                        // A panic is handed on like a result: a thread that only went away would leave the others waiting.
                        let done = catch_unwind(AssertUnwindSafe(|| work(own.get_or_insert_with(tools), &items[i])));
                        change(&|d| d.heavy -= usize::from(heavy));
                        if give.send((i, done)).is_err() {
                            return;
                        }
                    }
                });
            }
            drop(give);
            let (mut early, mut next) = (BTreeMap::new(), 0);
            let mut end = Ok(());
            for (i, done) in given {
                early.insert(i, done);
                while let Some(done) = early.remove(&next) {
                    let done = done.unwrap_or_else(|panic| {
                        change(&|d| d.closed = true);
                        resume_unwind(panic)
                    });
                    if end.is_ok() {
                        end = take(&items[next], done);
                    }
                    next += 1;
                    let failed = end.is_err();
                    change(&|d| {
                        d.taken += 1;
                        d.closed |= failed;
                    });
                }
            }
            end
        })
    }
}

fn lock(desk: &Mutex<Desk>) -> MutexGuard<'_, Desk> {
    desk.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;
    use std::time::Duration;

    fn crew(workers: usize, stop: &AtomicBool) -> Crew<'_> {
        Crew { workers, heavy: 1, stop }
    }

    #[test]
    fn results_come_in_order_and_few_wait() {
        let stop = AtomicBool::new(false);
        for workers in [1, 2, 5] {
            let (alive, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
            let items: Vec<usize> = (0..60).collect();
            let mut got = Vec::new();
            let work = |_: &mut (), i: &usize| {
                most.fetch_max(alive.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                // The first of every few is slow, so that the others run ahead as far as they may.
                std::thread::sleep(Duration::from_millis(if i.is_multiple_of(7) { 12 } else { 0 }));
                *i
            };
            let done = crew(workers, &stop).run(
                &items,
                |_| false,
                || (),
                work,
                |_, i| {
                    alive.fetch_sub(1, Ordering::SeqCst);
                    got.push(i);
                    Ok::<_, ()>(())
                },
            );
            assert_eq!((done, got), (Ok(()), items));
            assert!(most.load(Ordering::SeqCst) <= workers + 1, "{most:?} results of {workers} workers at once");
        }
    }

    #[test]
    fn heavy_things_are_worked_on_one_at_a_time() {
        let stop = AtomicBool::new(false);
        let (now, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let work = |_: &mut (), i: &u32| {
            if i.is_multiple_of(2) {
                most.fetch_max(now.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                std::thread::sleep(Duration::from_millis(3));
                now.fetch_sub(1, Ordering::SeqCst);
            }
        };
        let items: Vec<u32> = (0..30).collect();
        let mut n = 0;
        let done = crew(4, &stop).run(
            &items,
            |i| i.is_multiple_of(2),
            || (),
            work,
            |_, ()| {
                n += 1;
                Ok::<_, ()>(())
            },
        );
        assert_eq!((done, n, most.load(Ordering::SeqCst)), (Ok(()), 30, 1));
    }

    #[test]
    fn an_error_a_stop_and_a_panic_end_it() {
        let stop = AtomicBool::new(false);
        let items: Vec<u32> = (0..1000).collect();
        let begun = AtomicUsize::new(0);
        let work = |_: &mut (), i: &u32| {
            begun.fetch_add(1, Ordering::SeqCst);
            assert!(*i != 500, "at 500");
            *i
        };
        let end = crew(3, &stop).run(&items, |_| false, || (), work, |_, i| if i == 10 { Err("ten") } else { Ok(()) });
        assert_eq!(end, Err("ten"));
        assert!(begun.load(Ordering::SeqCst) <= 15, "{begun:?}");
        let mut got = Vec::new();
        let end = crew(3, &stop).run(
            &items,
            |_| false,
            || (),
            work,
            |_, i| {
                got.push(i);
                stop.store(i >= 20, Ordering::SeqCst);
                Ok::<_, ()>(())
            },
        );
        assert!(end.is_ok() && got.len() >= 21 && got.len() <= 25, "what was begun is taken: {}", got.len());
        assert_eq!(got, (0..got.len() as u32).collect::<Vec<_>>());
        stop.store(false, Ordering::SeqCst);
        let whole = crew(3, &stop);
        let run = || whole.run(&items, |_| false, || (), work, |_, _| Ok::<_, ()>(()));
        assert!(catch_unwind(AssertUnwindSafe(run)).is_err());
    }
}
