//! Where nothing can be proved: what the points of an estimated solution show.

/// |y − Pₙ| at one place, by degree; a missing one is not known.
#[derive(Clone, Debug)]
pub struct Seen<'a> {
    /// The place.
    pub x: f64,
    /// The errors.
    pub errors: &'a [Option<f64>],
}

/// Estimates of one polynomial's partial sums over an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct About {
    /// The unknown.
    pub unknown: usize,
    /// The part of the interval in which the solution is known.
    pub interval: (f64, f64),
    /// By degree, from 0.
    pub degrees: Vec<AboutDegree>,
    /// Of the degrees worked out those that keep the tolerance at the place asked for; `None`: not known.
    pub needed: Option<Vec<usize>>,
}

/// Of one partial sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AboutDegree {
    /// The largest error.
    pub largest: f64,
    /// The tolerance is kept at the points between these places, and not at the next ones.
    pub kept: (f64, f64),
}

/// From points in ascending order. `asked`: what is seen at the place asked for.
pub fn about(
    unknown: usize,
    (center, count): (f64, usize),
    seen: &[Seen<'_>],
    tolerance: f64,
    asked: Option<&Seen<'_>>,
) -> Option<About> {
    let known: Vec<&Seen<'_>> = seen
        .iter()
        .filter(|one| one.errors.first().is_some_and(Option::is_some))
        .collect();
    let interval = (known.first()?.x, known.last()?.x);
    let error = |one: &Seen<'_>, n: usize| one.errors.get(n).copied().flatten();
    let degrees = (0..count).map(|n| {
        let sizes = known.iter().filter_map(|one| error(one, n));
        // Outward from the center, as long as it is kept.
        let far = |right: bool| {
            let side = |one: &&&Seen<'_>| (one.x > center) == right;
            let kept = |one: &&&Seen<'_>| error(one, n).is_some_and(|e| e <= tolerance);
            let own = known.iter().filter(side);
            let last = if right {
                own.take_while(kept).last()
            } else {
                own.rev().take_while(kept).last()
            };
            last.map_or(center, |one| one.x)
        };
        AboutDegree {
            largest: sizes.fold(0.0, f64::max),
            kept: (far(false), far(true)),
        }
    });
    let needed = asked.and_then(|one| {
        let all = (0..count).map(|n| Some((n, error(one, n)?)));
        let all: Vec<(usize, f64)> = all.collect::<Option<_>>()?;
        let kept = all.into_iter().filter(|(_, e)| *e <= tolerance);
        Some(kept.map(|(n, _)| n).collect())
    });
    Some(About {
        unknown,
        interval,
        degrees: degrees.collect(),
        needed,
    })
}
