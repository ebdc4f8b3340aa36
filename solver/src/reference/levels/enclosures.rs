//! Enclosed runs of rising precision.

use super::super::agree::Agreed;
use super::super::enclosing::Setting;
use super::super::integrate::{DOUBLE_DOUBLE_BITS, approximate};
use super::super::run::Solution;
use super::super::{Evidence, StopReason, enclosing};
use super::{LEAST_SHARE, Level, Sample, Work};
use crate::budget::Budget;
use crate::enclosed::walk::Begin;
use crate::number::{BigFloat, DoubleDouble};

/// Enclosures, of rising precision; tolerances are those of a tail.
const ENCLOSURES: [Level; 4] = [
    Level {
        bits: 0,
        degree: 24,
        tolerance: -68.0,
        share: 200,
    },
    Level {
        bits: 160,
        degree: 44,
        tolerance: -112.0,
        share: 250,
    },
    Level {
        bits: 256,
        degree: 68,
        tolerance: -190.0,
        share: 250,
    },
    Level {
        bits: 400,
        degree: 104,
        tolerance: -370.0,
        share: 250,
    },
];

/// An enclosed solution, and its values where they are wanted.
pub(super) struct Enclosure {
    pub(super) run: Box<dyn Solution>,
    pub(super) samples: Vec<Sample>,
}

impl Enclosure {
    pub(super) fn evidence(&self) -> Evidence {
        let run = &self.run;
        Evidence {
            proved: true,
            orders: (run.degree(), run.degree()),
            bits: (run.bits(), run.bits()),
            steps: (run.steps(), run.steps()),
        }
    }
}

/// Bits that so many decimal digits take.
fn approximate_bits(digits: u32) -> usize {
    digits as usize * 10 / 3 + 1
}

/// So many bits more than the wanted digits take are worked with at least.
const SPARE_BITS: usize = 36;

impl Work {
    /// The enclosure of the precision that suffices, or the best one found.
    pub(super) fn enclose(
        &self,
        budget: &Budget,
        left: &mut u64,
        progress: &mut dyn FnMut(u32) -> bool,
    ) -> Option<Enclosure> {
        if self.start.is_some() && self.fuchs.is_none() {
            return None;
        }
        let mut best: Option<Enclosure> = None;
        for level in &ENCLOSURES {
            let bits = if level.bits == 0 {
                DOUBLE_DOUBLE_BITS
            } else {
                level.bits
            };
            let lasting = approximate_bits(self.digits) + SPARE_BITS;
            if bits < lasting {
                continue;
            }
            let Some(run) = self.enclosing_run(level, bits, budget, left) else {
                continue;
            };
            let mut samples = self.samples(run.as_ref(), run.as_ref());
            for sample in &mut samples {
                for (unknown, known) in sample.agreed.iter_mut().enumerate() {
                    *known = run
                        .enclosed(unknown, &sample.place.distance)
                        .map(Agreed::enclosed);
                }
            }
            let found = Enclosure { run, samples };
            let lost = |found: &Enclosure| {
                [false, true].into_iter().any(|right| {
                    let stop = found.run.stop(right).map(|stop| stop.reason);
                    matches!(stop, Some(StopReason::LostDigits | StopReason::Unproved))
                })
            };
            let enough = self.enough(&found.samples) && !lost(&found);
            let farther = best.as_ref().is_none_or(|best| {
                [false, true].into_iter().all(|right| {
                    approximate(&found.run.covered(right))
                        >= 0.99 * approximate(&best.run.covered(right))
                })
            });
            if farther {
                best = Some(found);
            }
            let goes_on = progress(20);
            if enough || *left < budget.steps / 100 * LEAST_SHARE || !goes_on {
                break;
            }
        }
        best
    }

    fn enclosing_run(
        &self,
        level: &Level,
        bits: usize,
        budget: &Budget,
        left: &mut u64,
    ) -> Option<Box<dyn Solution>> {
        let units = (budget.steps / 100).saturating_mul(level.share).min(*left);
        let mut unused = units;
        let begin = Begin {
            origin: &self.center,
            initial: &self.initial,
            bits,
            orders: level.degree,
            tolerance: level.tolerance,
        };
        let courses = (&self.left, &self.right);
        let singular = self.fuchs.as_ref().zip(self.start.as_ref());
        let singular = singular.map(|(fuchs, start)| fuchs.center(start));
        let setting = Setting {
            begin: &begin,
            singular: singular.as_ref(),
            proof: &self.proof,
        };
        let found = if level.bits == 0 {
            enclosing::run::<DoubleDouble>(&self.tape, setting, courses, &mut unused)
        } else {
            enclosing::run::<BigFloat>(&self.tape, setting, courses, &mut unused)
        };
        *left -= units - unused;
        found.ok()
    }
}
