//! Stable sorting that costs little code. The standard library's sort is compiled anew, at about
//! four kilobytes, for every element type and every comparison; here only a few lines are.

use std::cmp::Ordering;

/// Up to here, insertion is as fast as anything.
const SHORT: usize = 20;

/// Sorts, keeping the order of equal elements.
pub fn sort_by<T>(items: &mut [T], mut compare: impl FnMut(&T, &T) -> Ordering) {
    if items.len() <= SHORT {
        for sorted in 1..items.len() {
            let mut at = sorted;
            while at > 0 && compare(&items[at - 1], &items[at]) == Ordering::Greater {
                items.swap(at - 1, at);
                at -= 1;
            }
        }
        return;
    }
    let order = order(items.len(), &mut |a, b| compare(&items[a], &items[b]));
    rearrange(order, &mut |a, b| items.swap(a, b));
}

/// Sorts by a key, keeping the order of elements with equal keys.
pub fn sort_by_key<T, K: Ord>(items: &mut [T], mut key: impl FnMut(&T) -> K) {
    sort_by(items, |a, b| key(a).cmp(&key(b)));
}

/// Where the element of each place comes from.
fn order(length: usize, compare: &mut dyn FnMut(usize, usize) -> Ordering) -> Vec<usize> {
    let mut order: Vec<usize> = (0..length).collect();
    order.sort_by(|&a, &b| compare(a, b));
    order
}

/// Carries out an order by exchanges, cycle by cycle.
fn rearrange(mut order: Vec<usize>, swap: &mut dyn FnMut(usize, usize)) {
    for start in 0..order.len() {
        let mut at = start;
        loop {
            let from = std::mem::replace(&mut order[at], at);
            if from == start {
                break;
            }
            swap(at, from);
            at = from;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{sort_by, sort_by_key};

    #[test]
    fn the_same_as_the_standard_sort_and_stable() {
        let mut seed = 20_240_229_u64;
        for length in (0..60).chain([1000]) {
            let items: Vec<(u64, usize)> = (0..length)
                .map(|position| {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    ((seed >> 40) % 17, position)
                })
                .collect();
            let mut expected = items.clone();
            expected.sort_by_key(|item| item.0);
            let mut by_key = items.clone();
            sort_by_key(&mut by_key, |item| item.0);
            assert_eq!(by_key, expected, "{length}");
            let mut falling = items;
            sort_by(&mut falling, |a, b| b.0.cmp(&a.0));
            assert!(
                falling
                    .windows(2)
                    .all(|pair| pair[0].0 > pair[1].0
                        || pair[0].0 == pair[1].0 && pair[0].1 < pair[1].1),
                "{falling:?}"
            );
        }
    }
}
