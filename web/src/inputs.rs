//! What the reader has typed and chosen: the part of the page that an address can carry.

/// Which line of differentiation is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum RouteChoice {
    /// What a person would choose for this equation.
    #[default]
    Natural,
    /// The equation solved for its highest derivative.
    Solved,
    /// The equation as it stands.
    Standing,
}

/// How much of the differentiation is written out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Depth {
    /// One line per derivative.
    #[default]
    Lines,
    /// Every rule on a line of its own.
    Rules,
}

/// How the polynomial's coefficients are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Figures {
    /// Exact and simplified.
    #[default]
    Exact,
    /// Value over factorial.
    Factorials,
    /// Decimals.
    Decimals,
}

/// How many digits of the solution's values shall be certain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Digits {
    /// As many as a pocket calculator has, and a few more.
    #[default]
    Fifteen,
    /// Thirty.
    Thirty,
    /// Fifty.
    Fifty,
}

/// A value that is one of a few, with a name in the address and in the page's controls.
pub trait Choice: Sized + Copy + PartialEq + 'static {
    /// Every value with its name, the default first.
    const NAMES: &'static [(Self, &'static str)];

    /// The name of a value.
    fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(value, _)| *value == self)
            .map_or("", |(_, name)| name)
    }

    /// The value of a name; `None` for names that are not in the table.
    fn parse(name: &str) -> Option<Self> {
        Self::NAMES
            .iter()
            .find(|(_, known)| *known == name)
            .map(|(value, _)| *value)
    }
}

impl Choice for RouteChoice {
    const NAMES: &'static [(Self, &'static str)] = &[
        (Self::Natural, "natural"),
        (Self::Solved, "solved"),
        (Self::Standing, "standing"),
    ];
}

impl Choice for Depth {
    const NAMES: &'static [(Self, &'static str)] =
        &[(Self::Lines, "lines"), (Self::Rules, "rules")];
}

impl Choice for Figures {
    const NAMES: &'static [(Self, &'static str)] = &[
        (Self::Exact, "exact"),
        (Self::Factorials, "factorials"),
        (Self::Decimals, "decimals"),
    ];
}

impl Choice for Digits {
    const NAMES: &'static [(Self, &'static str)] = &[
        (Self::Fifteen, "15"),
        (Self::Thirty, "30"),
        (Self::Fifty, "50"),
    ];
}

/// The fields and switches.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Inputs {
    /// The equation, as typed.
    pub equation: String,
    /// The conditions, as typed.
    pub conditions: String,
    /// The degree, or how many non-zero terms, as typed.
    pub degree: String,
    /// Left end of the plot; empty: chosen for the problem.
    pub from: String,
    /// Right end of the plot.
    pub to: String,
    /// How far a partial sum may be from the solution, as typed; empty: the usual.
    pub tolerance: String,
    /// Where the degree that this needs is asked for, as typed; may be empty.
    pub at: String,
    /// What is set beside the problem, as typed.
    pub beside: String,
    /// Letters with the numbers typed for them, for the plot.
    pub numbers: Vec<(String, String)>,
    /// A formula to test, as typed; empty: none.
    pub candidate: String,
    /// The line of differentiation.
    pub route: RouteChoice,
    /// How much is written out.
    pub depth: Depth,
    /// How the coefficients are written.
    pub figures: Figures,
    /// Certain digits wanted.
    pub digits: Digits,
    /// Of a system: the unknown that strip, pictures and table follow; empty: the first.
    pub unknown: String,
    /// Of a system: the unknowns across and upwards in the phase plane; empty: the first two.
    pub across: String,
    /// Upwards.
    pub up: String,
    /// Where the presentation is; empty: there is none.
    pub present: String,
    /// Does the presentation ask before it shows what vanishes and what comes out?
    pub ask: bool,
}

impl Inputs {
    /// The request this makes of the solver.
    pub fn request(&self) -> solver::worksheet::Request {
        use solver::problem::Route;
        solver::worksheet::Request {
            equation: self.equation.clone(),
            conditions: self.conditions.clone(),
            degree: self.degree.clone(),
            interval: (self.from.clone(), self.to.clone()),
            at: Some(&self.at)
                .filter(|at| !at.trim().is_empty())
                .cloned()
                .into_iter()
                .collect(),
            tolerance: self.tolerance.clone(),
            beside: self.beside.clone(),
            parameters: self.numbers.clone(),
            candidate: self.candidate.clone(),
            digits: match self.digits {
                Digits::Fifteen => None,
                Digits::Thirty => Some(30),
                Digits::Fifty => Some(50),
            },
            route: match self.route {
                RouteChoice::Natural => None,
                RouteChoice::Solved => Some(Route::Solved),
                RouteChoice::Standing => Some(Route::Standing),
            },
        }
    }

    /// The number typed for a letter.
    pub fn number(&self, letter: &str) -> Option<&str> {
        let mut numbers = self.numbers.iter();
        let (_, text) = numbers.find(|(name, _)| name == letter)?;
        Some(text)
    }

    /// Takes the number for a letter.
    pub fn set_number(&mut self, letter: &str, text: String) {
        match self.numbers.iter_mut().find(|(name, _)| name == letter) {
            Some((_, own)) => *own = text,
            None => self.numbers.push((letter.to_owned(), text)),
        }
    }

    /// Do both ask the same work of the solver? (The switches that only change the look don't count.)
    pub fn same_work(&self, other: &Self) -> bool {
        self.request() == other.request()
    }
}
