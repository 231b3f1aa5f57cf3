//! Work shared by two threads: figures of many cases are asked for while somebody waits.
//!
//! What it does not do: no thread outlives the call, and what comes out does not depend on which thread did it.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Threads that figures are computed on; a tablet has more, and the window needs one. Common practice, no source.
const THREADS: usize = 2;
/// Fewer cases than this are not worth a thread. Common practice, no source.
const WORTH: usize = 2_000;

/// What `work` makes of each of the items, in their order; on two threads where there are cases enough.
pub(super) fn share<T: Sync, R: Send>(cases: usize, items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    if cases < WORTH {
        return items.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::with_capacity(items.len()));
    let take = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { return };
            let made = work(item);
            done.lock().expect("no work panics while it holds the list").push((at, made));
        }
    };
    std::thread::scope(|scope| {
        (1..THREADS).for_each(|_| drop(scope.spawn(take)));
        take();
    });
    let mut done = done.into_inner().expect("no work panics while it holds the list");
    done.sort_unstable_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, made)| made).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_out_stands_in_the_order_of_the_items() {
        let items: Vec<usize> = (0..100).collect();
        for cases in [0, WORTH] {
            assert_eq!(share(cases, &items, |item| item * 2), (0..100).map(|item| item * 2).collect::<Vec<_>>());
        }
    }
}
