//! The one table of differentiation rules: name, statement, side condition, source.

use super::Rule;

/// What is known about a [`Rule`], as data; writers make sentences of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RuleEntry {
    /// Which rule.
    pub rule: Rule,
    /// Its name in running text: "product rule".
    pub name: &'static str,
    /// What it says. Primes are derivatives with respect to the independent variable; c and r are
    /// constants, u and v are functions, f is an elementary function.
    pub statement: &'static str,
    /// When it holds; `None`: wherever the derivatives on its right side exist.
    pub side_condition: Option<&'static str>,
    /// Where it comes from.
    pub citation: &'static str,
}

/// The rules of a first calculus course are common practice; no source is claimed for them.
const COMMON: &str = "common practice, no source";

/// Every rule once, in the order of [`Rule`].
pub const RULES: [RuleEntry; 11] = [
    RuleEntry {
        rule: Rule::Constant,
        name: "constant",
        statement: "(c)′ = 0",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Variable,
        name: "independent variable",
        statement: "(x)′ = 1",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Unknown,
        name: "derivative of the unknown",
        statement: "(y⁽ᵏ⁾)′ = y⁽ᵏ⁺¹⁾",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::ConstantMultiple,
        name: "constant multiple",
        statement: "(c u)′ = c u′",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Sum,
        name: "sum rule",
        statement: "(u + v)′ = u′ + v′",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Product,
        name: "product rule",
        statement: "(u v)′ = u′ v + u v′",
        side_condition: None,
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Quotient,
        name: "quotient rule",
        statement: "(u / v)′ = (u′ v − u v′) / v²",
        side_condition: Some("v ≠ 0"),
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Power,
        name: "power rule",
        statement: "(uʳ)′ = r uʳ⁻¹ u′",
        side_condition: Some("u ≠ 0 for negative r, u > 0 for r that is not an integer"),
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Chain,
        name: "chain rule",
        statement: "(f(u))′ = f′(u) u′",
        side_condition: Some("f is differentiable at u"),
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Exponential,
        name: "variable exponent",
        statement: "(uᵛ)′ = uᵛ (v′ ln u + v u′ / u)",
        side_condition: Some("u > 0"),
        citation: COMMON,
    },
    RuleEntry {
        rule: Rule::Leibniz,
        name: "Leibniz's rule",
        statement: "(u v)⁽ⁿ⁾ = Σ C(n, k) u⁽ᵏ⁾ v⁽ⁿ⁻ᵏ⁾, k from 0 to n",
        side_condition: None,
        citation: COMMON,
    },
];

impl Rule {
    /// Its entry in the table.
    pub fn entry(self) -> &'static RuleEntry {
        let [
            constant,
            variable,
            unknown,
            constant_multiple,
            sum,
            product,
            quotient,
            power,
            chain,
            exponential,
            leibniz,
        ] = &RULES;
        match self {
            Self::Constant => constant,
            Self::Variable => variable,
            Self::Unknown => unknown,
            Self::ConstantMultiple => constant_multiple,
            Self::Sum => sum,
            Self::Product => product,
            Self::Quotient => quotient,
            Self::Power => power,
            Self::Chain => chain,
            Self::Exponential => exponential,
            Self::Leibniz => leibniz,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_finds_its_own_entry() {
        for entry in &RULES {
            assert_eq!(entry.rule.entry(), entry, "{}", entry.name);
        }
    }

    #[test]
    fn names_and_statements_are_distinct() {
        for (index, entry) in RULES.iter().enumerate() {
            for other in RULES.iter().skip(index + 1) {
                assert_ne!(entry.name, other.name);
                assert_ne!(entry.statement, other.statement);
            }
        }
    }
}
