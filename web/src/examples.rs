//! The problems that the page offers: from a second-year course at a coastal college whose
//! workshop looks after a small harbor.

use crate::inputs::{Inputs, RouteChoice};

/// A problem to start from.
#[derive(Clone, Copy, Debug)]
pub struct Example {
    /// What the choice is called.
    pub title: &'static str,
    /// The equation.
    pub equation: &'static str,
    /// The conditions.
    pub conditions: &'static str,
    /// The degree.
    pub degree: &'static str,
    /// Left and right end of the plot; empty: chosen for the problem.
    pub interval: (&'static str, &'static str),
    /// Is it about something that could hurt people when worked out wrongly?
    pub caution: bool,
}

/// What stands beside the examples about structures and vessels.
pub const CAUTION: &str = "A truncated series is a teaching approximation, not a design calculation: local codes and licensed practice decide.";

/// The examples; the page opens with the first.
pub const EXAMPLES: &[Example] = &[
    Example {
        title: "The buoy that leans",
        equation: "y'' = -y + y^3/6 - y'/5",
        conditions: "y(0) = 1/2, y'(0) = 1",
        degree: "5",
        interval: ("", ""),
        caution: true,
    },
    Example {
        title: "The lamp that cools",
        equation: "dT/dt = -(T - 12)/40",
        conditions: "T(0) = 90",
        degree: "3",
        interval: ("", ""),
        caution: false,
    },
    Example {
        title: "The bright edge of a rainbow",
        equation: "y'' = x y",
        conditions: "y(0) = 1, y'(0) = 0",
        degree: "first 4 non-zero terms",
        interval: ("-5", "3"),
        caution: false,
    },
    Example {
        title: "The tide gauge",
        equation: "y'' + (2 - cos 2t) y = 0",
        conditions: "y(0) = 1, y'(0) = 0",
        degree: "6",
        interval: ("", ""),
        caution: false,
    },
    Example {
        title: "The mooring cable",
        equation: "y'' = sqrt(1 + y'^2)/4",
        conditions: "y(0) = 4, y'(0) = 0",
        degree: "6",
        interval: ("", ""),
        caution: true,
    },
    Example {
        title: "The oyster beds",
        equation: "dN/dt = N (1 - N/4)",
        conditions: "N(0) = 1",
        degree: "5",
        interval: ("", ""),
        caution: false,
    },
    Example {
        title: "A ferry's battery",
        equation: "(4 + t^2) q'' + 3 q = 0",
        conditions: "q(0) = 1, q'(0) = -1/2",
        degree: "6",
        interval: ("", ""),
        caution: true,
    },
    Example {
        title: "The pendulum clock",
        equation: "d^2 theta/dt^2 = -sin theta",
        conditions: "theta(0) = 0, theta'(0) = 1",
        degree: "7",
        interval: ("", ""),
        caution: false,
    },
    Example {
        title: "Oysters and crabs",
        equation: "N' = N (3 - C)\nC' = C (N - 2)",
        conditions: "N(0) = 1, C(0) = 2",
        degree: "5",
        interval: ("", ""),
        caution: false,
    },
];

impl Example {
    /// The inputs that show it.
    pub fn inputs(&self) -> Inputs {
        Inputs {
            equation: self.equation.into(),
            conditions: self.conditions.into(),
            degree: self.degree.into(),
            from: self.interval.0.into(),
            to: self.interval.1.into(),
            route: RouteChoice::Natural,
            ..Inputs::default()
        }
    }
}

/// The caution that belongs to these inputs, if they are an example that needs one.
pub fn caution(inputs: &Inputs) -> Option<&'static str> {
    EXAMPLES
        .iter()
        .any(|example| example.caution && example.equation == inputs.equation)
        .then_some(CAUTION)
}

/// Which example these inputs are.
pub fn find(inputs: &Inputs) -> Option<usize> {
    EXAMPLES.iter().position(|example| {
        example.equation == inputs.equation && example.conditions == inputs.conditions
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_follow_the_equation() {
        let buoy = EXAMPLES[0].inputs();
        assert_eq!(caution(&buoy), Some(CAUTION));
        assert_eq!(
            caution(&Inputs {
                equation: "y' = y".into(),
                ..buoy
            }),
            None
        );
    }
}
