//! The names that are read in formulas, and what they stand for.

/// Letters and signs that behave like a letter.
pub(super) const LETTERS: &[(&str, &str)] = &[
    ("alpha", "α"),
    ("beta", "β"),
    ("gamma", "γ"),
    ("delta", "δ"),
    ("epsilon", "ϵ"),
    ("varepsilon", "ε"),
    ("zeta", "ζ"),
    ("eta", "η"),
    ("theta", "θ"),
    ("vartheta", "ϑ"),
    ("iota", "ι"),
    ("kappa", "κ"),
    ("lambda", "λ"),
    ("mu", "μ"),
    ("nu", "ν"),
    ("xi", "ξ"),
    ("omicron", "ο"),
    ("pi", "π"),
    ("varpi", "ϖ"),
    ("rho", "ρ"),
    ("varrho", "ϱ"),
    ("sigma", "σ"),
    ("varsigma", "ς"),
    ("tau", "τ"),
    ("upsilon", "υ"),
    ("phi", "ϕ"),
    ("varphi", "φ"),
    ("chi", "χ"),
    ("psi", "ψ"),
    ("omega", "ω"),
    ("ell", "ℓ"),
    ("imath", "ı"),
    ("jmath", "ȷ"),
    ("hbar", "ℏ"),
];

/// Letters and signs that stand upright.
pub(super) const UPRIGHT: &[(&str, &str)] = &[
    ("Gamma", "Γ"),
    ("Delta", "Δ"),
    ("Theta", "Θ"),
    ("Lambda", "Λ"),
    ("Xi", "Ξ"),
    ("Pi", "Π"),
    ("Sigma", "Σ"),
    ("Upsilon", "Υ"),
    ("Phi", "Φ"),
    ("Psi", "Ψ"),
    ("Omega", "Ω"),
    ("infty", "∞"),
    ("partial", "∂"),
    ("nabla", "∇"),
    ("emptyset", "∅"),
    ("varnothing", "∅"),
    ("forall", "∀"),
    ("exists", "∃"),
    ("neg", "¬"),
    ("lnot", "¬"),
    ("Re", "ℜ"),
    ("Im", "ℑ"),
    ("aleph", "ℵ"),
    ("angle", "∠"),
    ("degree", "°"),
    ("ldots", "…"),
    ("dots", "…"),
    ("cdots", "⋯"),
    ("vdots", "⋮"),
    ("ddots", "⋱"),
    ("dotsc", "…"),
    ("dotsb", "⋯"),
    ("#", "#"),
    ("$", "$"),
    ("%", "%"),
    ("&", "&"),
    ("_", "_"),
    ("prime", "′"),
    ("top", "⊤"),
    ("bot", "⊥"),
    ("triangle", "△"),
    ("blacksquare", "∎"),
    ("qed", "∎"),
];

/// Signs between two things: sums, products, sets.
pub(super) const BINARY: &[(&str, &str)] = &[
    ("cdot", "⋅"),
    ("times", "×"),
    ("div", "÷"),
    ("pm", "±"),
    ("mp", "∓"),
    ("ast", "∗"),
    ("star", "⋆"),
    ("circ", "∘"),
    ("bullet", "∙"),
    ("cup", "∪"),
    ("cap", "∩"),
    ("setminus", "∖"),
    ("wedge", "∧"),
    ("land", "∧"),
    ("vee", "∨"),
    ("lor", "∨"),
    ("oplus", "⊕"),
    ("otimes", "⊗"),
];

/// Signs that compare two things.
pub(super) const RELATIONS: &[(&str, &str)] = &[
    ("le", "≤"),
    ("leq", "≤"),
    ("leqslant", "≤"),
    ("ge", "≥"),
    ("geq", "≥"),
    ("geqslant", "≥"),
    ("lt", "<"),
    ("gt", ">"),
    ("ne", "≠"),
    ("neq", "≠"),
    ("approx", "≈"),
    ("sim", "∼"),
    ("simeq", "≃"),
    ("cong", "≅"),
    ("equiv", "≡"),
    ("propto", "∝"),
    ("ll", "≪"),
    ("gg", "≫"),
    ("in", "∈"),
    ("notin", "∉"),
    ("ni", "∋"),
    ("subset", "⊂"),
    ("subseteq", "⊆"),
    ("supset", "⊃"),
    ("supseteq", "⊇"),
    ("to", "→"),
    ("rightarrow", "→"),
    ("longrightarrow", "⟶"),
    ("leftarrow", "←"),
    ("gets", "←"),
    ("leftrightarrow", "↔"),
    ("Rightarrow", "⇒"),
    ("implies", "⟹"),
    ("Leftarrow", "⇐"),
    ("Leftrightarrow", "⇔"),
    ("iff", "⟺"),
    ("mapsto", "↦"),
    ("uparrow", "↑"),
    ("downarrow", "↓"),
    ("nearrow", "↗"),
    ("searrow", "↘"),
    ("mid", "∣"),
    ("parallel", "∥"),
    ("perp", "⟂"),
    ("coloneqq", "≔"),
    ("doteq", "≐"),
    ("colon", ":"),
];

/// Relations struck through by `\not`.
pub(super) const NOT: &[(&str, &str)] = &[
    ("=", "≠"),
    ("<", "≮"),
    (">", "≯"),
    ("≤", "≰"),
    ("≥", "≱"),
    ("∈", "∉"),
    ("≡", "≢"),
    ("∼", "≁"),
    ("≈", "≉"),
    ("⊂", "⊄"),
    ("⊆", "⊈"),
];

/// Functions written upright.
pub(super) const FUNCTIONS: &[&str] = &[
    "sin", "cos", "tan", "cot", "sec", "csc", "sinh", "cosh", "tanh", "coth", "arcsin", "arccos",
    "arctan", "ln", "log", "lg", "exp", "arg", "deg", "dim", "ker", "hom",
];

/// The same with what is below them in displays.
pub(super) const LIMITS: &[(&str, &str)] = &[
    ("lim", "lim"),
    ("max", "max"),
    ("min", "min"),
    ("sup", "sup"),
    ("inf", "inf"),
    ("det", "det"),
    ("gcd", "gcd"),
    ("Pr", "Pr"),
    ("limsup", "lim sup"),
    ("liminf", "lim inf"),
];

/// Large signs; is what belongs to them below and above in displays?
pub(super) const LARGE: &[(&str, &str, bool)] = &[
    ("sum", "∑", true),
    ("prod", "∏", true),
    ("coprod", "∐", true),
    ("bigcup", "⋃", true),
    ("bigcap", "⋂", true),
    ("int", "∫", false),
    ("iint", "∬", false),
    ("iiint", "∭", false),
    ("oint", "∮", false),
];

/// Signs that enclose.
pub(super) const DELIMITERS: &[(&str, &str)] = &[
    ("{", "{"),
    ("}", "}"),
    ("lbrace", "{"),
    ("rbrace", "}"),
    ("lvert", "|"),
    ("rvert", "|"),
    ("vert", "|"),
    ("|", "‖"),
    ("lVert", "‖"),
    ("rVert", "‖"),
    ("Vert", "‖"),
    ("langle", "⟨"),
    ("rangle", "⟩"),
    ("lfloor", "⌊"),
    ("rfloor", "⌋"),
    ("lceil", "⌈"),
    ("rceil", "⌉"),
    ("lbrack", "["),
    ("rbrack", "]"),
    ("backslash", "\\"),
];

/// Which of them open, whatever stands before.
pub(super) const OPENING: &[&str] = &["(", "[", "{", "⟨", "⌊", "⌈"];
/// Which of them close.
pub(super) const CLOSING: &[&str] = &[")", "]", "}", "⟩", "⌋", "⌉"];

/// Marks over something; does the mark grow with it?
pub(super) const ACCENTS: &[(&str, &str, bool)] = &[
    ("hat", "^", false),
    ("widehat", "^", true),
    ("bar", "¯", false),
    ("overline", "¯", true),
    ("tilde", "~", false),
    ("widetilde", "~", true),
    ("vec", "→", false),
    ("dot", "˙", false),
    ("ddot", "¨", false),
    ("dddot", "⃛", false),
    ("check", "ˇ", false),
    ("breve", "˘", false),
    ("overrightarrow", "→", true),
    ("overbrace", "⏞", true),
];

/// Marks under something.
pub(super) const UNDER: &[(&str, &str)] = &[("underline", "_"), ("underbrace", "⏟")];

/// Spaces, in em (`TeX`'s: 3/18, 4/18, 5/18, 1, 2).
pub(super) const SPACES: &[(&str, &str)] = &[
    (",", "0.1667em"),
    ("thinspace", "0.1667em"),
    (":", "0.2222em"),
    (">", "0.2222em"),
    (";", "0.2778em"),
    ("!", "-0.1667em"),
    (" ", "0.2222em"),
    ("quad", "1em"),
    ("qquad", "2em"),
    ("enspace", "0.5em"),
];

/// Names that only ask for a size, or for a place of indices, that is taken anyway.
pub(super) const PASSED_OVER: &[&str] = &[
    "displaystyle",
    "textstyle",
    "scriptstyle",
    "limits",
    "nolimits",
    "big",
    "Big",
    "bigg",
    "Bigg",
    "bigl",
    "bigr",
    "Bigl",
    "Bigr",
    "biggl",
    "biggr",
    "Biggl",
    "Biggr",
    "bigm",
    "middle",
    "nonumber",
    "notag",
    "mathstrut",
    "strut",
    "/",
];

/// Environments in rows and columns: name, what stands left and right of it.
pub(super) const TABLES: &[(&str, &str, &str)] = &[
    ("matrix", "", ""),
    ("smallmatrix", "", ""),
    ("pmatrix", "(", ")"),
    ("bmatrix", "[", "]"),
    ("Bmatrix", "{", "}"),
    ("vmatrix", "|", "|"),
    ("Vmatrix", "‖", "‖"),
    ("cases", "{", ""),
    ("aligned", "", ""),
    ("align", "", ""),
    ("align*", "", ""),
    ("gathered", "", ""),
    ("gather", "", ""),
    ("gather*", "", ""),
    ("equation", "", ""),
    ("equation*", "", ""),
    ("array", "", ""),
    ("split", "", ""),
];

/// What stands for a name in a table.
pub(super) fn find(table: &[(&'static str, &'static str)], name: &str) -> Option<&'static str> {
    table
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, sign)| *sign)
}

/// Every name that is read, for the nearest one.
pub(super) fn all() -> impl Iterator<Item = &'static str> {
    let pairs = [
        LETTERS, UPRIGHT, BINARY, RELATIONS, LIMITS, DELIMITERS, UNDER,
    ];
    pairs
        .into_iter()
        .flat_map(|table| table.iter().map(|(name, _)| *name))
        .chain(LARGE.iter().map(|(name, _, _)| *name))
        .chain(ACCENTS.iter().map(|(name, _, _)| *name))
        .chain(FUNCTIONS.iter().copied())
        .chain([
            "frac",
            "dfrac",
            "tfrac",
            "binom",
            "sqrt",
            "text",
            "mathrm",
            "mathbf",
            "mathit",
            "mathbb",
            "operatorname",
            "left",
            "right",
            "begin",
            "end",
        ])
}
