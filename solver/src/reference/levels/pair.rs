//! What two runs that differ in step, order and precision say together.

use super::super::agree::Agreed;
use super::super::integrate::approximate;
use super::super::run::Solution;
use super::super::{Stop, StopReason};
use super::Sample;

/// Takes over what this pair of runs agrees on, where that is more than what was known.
pub(super) fn compare(samples: &mut [Sample], coarse: &dyn Solution, fine: &dyn Solution) {
    let distance_of = |sample: &Sample| sample.place.distance.clone();
    for sample in samples {
        let distance = distance_of(sample);
        for (unknown, known) in sample.agreed.iter_mut().enumerate() {
            let (Some(a), Some(b)) = (
                coarse.value(unknown, &distance),
                fine.value(unknown, &distance),
            ) else {
                continue;
            };
            let agreed = Agreed::new(&a, &b, coarse.bits());
            if known
                .as_ref()
                .is_none_or(|known| agreed.doubt < known.doubt)
            {
                *known = Some(agreed);
            }
        }
    }
}

/// Did the coarser run give up (its numbers overflowed) where the finer one went on?
pub(super) fn held_back(coarse: &dyn Solution, fine: &dyn Solution) -> bool {
    [false, true].into_iter().any(|right| {
        let gave_up = coarse
            .stop(right)
            .is_some_and(|stop| stop.reason == StopReason::Budget);
        gave_up && approximate(&fine.covered(right)) > 1.01 * approximate(&coarse.covered(right))
    })
}

/// The stop of the run that got less far.
pub(super) fn nearer_stop(coarse: &dyn Solution, fine: &dyn Solution, right: bool) -> Option<Stop> {
    let nearer = match (coarse.stop(right), fine.stop(right)) {
        // Both met the same thing: the finer run's place.
        (Some(a), Some(b)) if a.reason == b.reason => Some(b),
        (Some(_), Some(_)) => {
            if coarse.covered(right) < fine.covered(right) {
                coarse.stop(right)
            } else {
                fine.stop(right)
            }
        }
        (a, b) => a.or(b),
    };
    nearer.cloned()
}
