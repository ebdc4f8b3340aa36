"""Random problems with letters in them, from a seed; the reference puts fractions in place of the
letters and lets sympy differentiate and substitute."""

import random
import re

import sympy as sp

X, Y = sp.symbols("x_own y_own")
LETTERS = ["a", "b", "k", "m", "lambda", "omega_0", "K", "r"]
KINDS = ["constant", "variable", "standing", "polynomial", "functions", "quotient", "exponent", "roots", "general"]


def read(text, letters):
    """An exact string of the worksheet, as sympy reads it, with these symbols for its letters."""
    text = re.sub(r"\blambda\b", "lamda", text.replace("^", "**"))
    names = {"ln": sp.log, **{("lamda" if name == "lambda" else name): symbol for name, symbol in letters.items()}}
    return sp.sympify(text, locals=names)


class Problem:
    """An equation in two writings: for the worksheet, and as a sympy expression for the highest derivative."""

    def __init__(self, seed):
        rng = random.Random(7000 + seed)
        self.kind = KINDS[seed % len(KINDS)]
        p, q, s = rng.sample(LETTERS, 3)
        self.center = rng.choice([0, 0, 0, 1, -1])
        self.degree = rng.choice([4, 5])
        n, m = rng.choice([1, 2, 3]), rng.choice([2, 3, 5])
        initial = [rng.choice([s, s, "2", f"{s}/2", f"1+{s}"]), rng.choice(["u_0", "1", "-1/3"])]
        self.order = 2
        match self.kind:
            case "constant":
                self.left, self.right = "y''", rng.choice([
                    f"-{p} y' - {q} y", f"{p}^2 y + {n}", f"({p} - {q}) y' + {p} {q} y", f"{q} y' - y/{p}",
                ])
            case "variable":
                self.left, self.right = "y''", rng.choice([
                    f"{p} x y - {q} y'", f"({p} + {n} x^2) y", f"x y' - {p} y + {q} x", f"({p} - x^2/4) y",
                    f"{n} x y' - {p} ({p} + 1) y",
                ])
            case "standing":
                if self.center == 1 or self.center == -1:
                    self.center = 0
                self.left, self.right = f"(1 - x^2) y''", rng.choice([
                    f"{n} x y' - {p} ({p} + 1) y", f"x y' - {p}^2 y", f"({p} + {q} + 1) x y' + {p} {q} y",
                ])
            case "polynomial":
                self.order = 1
                self.left, self.right = "y'", rng.choice([
                    f"{p} y (1 - y)", f"{p} y (1 - y/{q})", f"{p} + {q} y^2", f"x^{n} - {p} y^2", f"{p} y - {q} y^3",
                ])
            case "functions":
                self.order = rng.choice([1, 2])
                self.left, self.right = "y'" if self.order == 1 else "y''", rng.choice([
                    f"{p} sin({q} x) - y", f"e^(-{p} x) y + {q}", f"cos({p} x) - {q} y", f"-{p} sin y", f"{p} e^y - {q} x",
                ])
            case "quotient":
                self.order = 1
                self.left, self.right = "y'", rng.choice([
                    f"y/({p} + {n} + x)", f"{p} y/(1 + x^2)", f"({p} x + {q})/(y + {m})", f"{p}/({q} + y)",
                ])
            case "exponent":
                self.order = 1
                initial[0] = rng.choice([s, "1", "2"])
                self.left, self.right = "y'", rng.choice([f"-{p} y^{q}", f"y^{p} + x", f"{q} x - y^({p} + 1)"])
            case "roots":
                self.order = 1
                initial[0] = rng.choice([s, "4"])
                self.left, self.right = "y'", rng.choice([
                    f"-{p} sqrt(y)", f"{p} ln(y) - {q}", f"sqrt({p} + y)", f"y/sqrt({p}) + x",
                ])
            case "general":
                self.left, self.right = "y''", rng.choice([f"x y - {p} y'", f"{p} y", "-x^2 y", f"{p} x y' + {q} y + 1"])
        self.equation = f"{self.left} = {self.right}"
        if self.kind == "general":
            self.center = 0
            self.conditions = ""
            used = {name.split("_")[0] for name in re.findall(r"[A-Za-z]\w*", self.right)}
            base = next(b for b in ["c", "a", "b", "C", "A", "B", "K"] if b not in used)
            initial = [f"{base}_0", f"{base}_1"]
        else:
            heads = ["y", "y'"][: self.order]
            self.conditions = ", ".join(f"{head}({self.center}) = {value}" for head, value in zip(heads, initial))
        self.initial = initial[: self.order]
        text = self.right + " " + " ".join(self.initial)
        words = set(re.findall(r"[A-Za-z]\w*", text)) - {"x", "y", "sin", "cos", "ln", "sqrt", "e"}
        self.letters = {name: sp.Symbol(name + "_letter", positive=True) for name in sorted(words)}
        self.samples = [
            {symbol: sp.Rational(rng.randint(2, 40), rng.randint(3, 23)) for symbol in self.letters.values()} for _ in range(2)
        ]

    def expression(self, text, y, dy):
        """The worksheet's writing as sympy reads it."""
        text = text.replace("y'", "dy")
        text = re.sub(r"\blambda\b", "lamda", text).replace("^", "**")
        # Juxtaposition: a space or a bracket behind a letter, number or bracket.
        text = re.sub(r"\b(sin|cos) (\w+)", r"\1(\2)", text)
        text = re.sub(r"(?<=[\w)]) (?=[\w(])", "*", text)
        names = {("lamda" if name == "lambda" else name): symbol for name, symbol in self.letters.items()}
        return sp.sympify(text, locals={**names, "x": X, "y": y, "dy": dy, "ln": sp.log, "e": sp.E})

    def reference(self, sample):
        """Values of y, y′, … at the center with these fractions for the letters."""
        function = sp.Function("f")(X)
        right = self.expression(self.right, function, function.diff(X)).subs(sample)
        leading = self.expression(self.left.replace("y''", "1").replace("y'", "1"), function, function)
        right = right / leading
        values = [sp.nsimplify(self.expression(value, Y, Y).subs(sample)) for value in self.initial]
        for order in range(self.order, self.degree + 1):
            if order > self.order:
                right = right.diff(X)
            # Highest derivative first, so that none is taken for a derivative of a value.
            at = right
            for k in range(order - 1, 0, -1):
                at = at.subs(function.diff(X, k), values[k])
            values.append(at.subs(function, values[0]).subs(X, self.center))
        return values
