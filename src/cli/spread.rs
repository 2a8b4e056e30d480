//! One piece of work for each of many items, on all cores.

use std::sync::atomic::{AtomicUsize, Ordering};

/// The answers in the items' order. `done` hears how many are finished, from any thread.
pub(crate) fn spread<'i, T: Sync, R: Send>(
    items: &'i [T],
    threads: usize,
    work: impl Fn(&'i T) -> R + Sync,
    done: impl Fn(usize) + Sync,
) -> Vec<R> {
    let (next, finished) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let share = || {
        let mut answers = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(index) else { return answers };
            answers.push((index, work(item)));
            done(finished.fetch_add(1, Ordering::Relaxed) + 1);
        }
    };
    let mut answers: Vec<(usize, R)> = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads.min(items.len())).map(|_| scope.spawn(share)).collect();
        let mut all = share();
        for other in others {
            match other.join() {
                Ok(answers) => all.extend(answers),
                Err(fault) => std::panic::resume_unwind(fault),
            }
        }
        all
    });
    answers.sort_by_key(|(index, _)| *index);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_is_answered_once_and_in_its_order() {
        let items: Vec<u32> = (0..1000).collect();
        let heard = AtomicUsize::new(0);
        for threads in [0, 1, 4, 2000] {
            let answers = spread(
                &items,
                threads,
                |item| item * 2,
                |_| {
                    heard.fetch_add(1, Ordering::Relaxed);
                },
            );
            assert_eq!(answers, items.iter().map(|item| item * 2).collect::<Vec<_>>());
        }
        assert_eq!(heard.into_inner(), 4000);
        assert_eq!(spread(&[] as &[u32], 4, |item| *item, |_| {}), [] as [u32; 0]);
    }
}
