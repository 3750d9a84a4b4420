//! The same work on many things, side by side.

use std::num::NonZero;
use std::thread;

/// What `work` makes of each of some things, in their order, on as many threads as there are processors. What it makes must
/// not depend on which other things there are: the result is that of one thread.
///
/// # Panics
/// Where `work` does.
pub fn each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(things.len());
    if threads < 2 {
        return things.iter().map(work).collect();
    }
    // Dealt out in turn: neighbours tend to be alike, and some take much longer than others.
    let dealt = |hand: usize| things.iter().skip(hand).step_by(threads).map(&work).collect::<Vec<R>>();
    let hands: Vec<Vec<R>> = thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|hand| scope.spawn(move || dealt(hand))).collect();
        let own = dealt(0);
        let done =
            others.into_iter().map(|other| other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        std::iter::once(own).chain(done).collect()
    });
    let mut hands: Vec<_> = hands.into_iter().map(Vec::into_iter).collect();
    (0..things.len()).filter_map(|n| hands[n % threads].next()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_it_is_in_order_however_many_there_are() {
        for count in [0, 1, 2, 3, 7, 1_000] {
            let things: Vec<usize> = (0..count).collect();
            assert_eq!(each(&things, |n| n * n), things.iter().map(|n| n * n).collect::<Vec<_>>());
        }
    }

    #[test]
    #[should_panic(expected = "the fifth")]
    fn a_panic_comes_through() {
        each(&[1, 2, 3, 4, 5, 6], |n| assert!(*n != 5, "the fifth"));
    }
}
