"""Hand-outs: the LaTeX source compiles with a plain installation (Debian's texlive-latex-base and
-recommended), HTML is well-formed XML with MathML, CSV is read back by another program."""

import csv
import fractions
import io
import pathlib
import re
import shutil
import subprocess
import xml.etree.ElementTree

import pytest
from derive import ROOT, TARGET

BINARY = TARGET / "release" / "examples" / "handout"
# Shipped worksheets, and every problem that the solver's own worksheets have.
SHIPPED = sorted((ROOT / "www" / "worksheets").glob("*.md"))
PROBLEMS = sorted((ROOT / "solver" / "tests" / "worksheets").glob("*.md"))
MATHML = "{http://www.w3.org/1998/Math/MathML}"

WORDS = r"""# Tides, lamps & 100 % of the \harbor_

```sheet
course: Mathématiques 2, „Größen“ #1 ~ {a}
date: 2026‑11‑28 <α> "x"
version: 1^2 | √2 ≤ 3 → Жук
```

```ivp
y'' = x y
y(0) = 1, y'(0) = 0
degree: 6
title: The rainbow's edge $5 _ & \end{document}
ask: Which terms vanish at $x = 0$, and *why*?
room: 4
marks: order-2 = 3, polynomial = 2
reason order-3: Once more: $y''' = y + x y'$ (**not** $ only & 100 %)
remark order-2: \input{secret} costs $5
```
"""


def handout(text, *words):
    done = subprocess.run([BINARY, *words], input=text, capture_output=True, text=True, timeout=120, check=True)
    return done.stdout


def gathered(paths):
    """The problems of several files as one file."""
    blocks = [block for path in paths for block in re.findall(r"^```ivp\n.*?^```\n", path.read_text(), re.S | re.M)]
    return blocks


def compiled(source, folder):
    """The log of a run of LaTeX, and the pages."""
    assert shutil.which("pdflatex"), "LaTeX is not installed: tests/all does that"
    (folder / "sheet.tex").write_text(source)
    done = subprocess.run(
        ["pdflatex", "-interaction=nonstopmode", "-halt-on-error", "sheet.tex"],
        cwd=folder, capture_output=True, timeout=120, check=False,
    )
    log = (folder / "sheet.log").read_text(errors="replace")
    assert done.returncode == 0, log[-2000:]
    return log, int(re.search(r"Output written on \S+ \((\d+) page", log.replace("\n", " "))[1])


def check_log(log):
    wrong = [line for line in log.splitlines() if line.startswith(("!", "Overfull", "Missing character", "LaTeX Warning"))]
    assert not wrong, wrong


@pytest.mark.parametrize("kind", ["problems", "solution", "key"])
def test_latex_compiles_without_a_line_that_is_too_long(kind, tmp_path):
    blocks = gathered(SHIPPED + PROBLEMS)
    assert len(blocks) > 50
    # A file has at most 60 problems.
    pages = 0
    for number, start in enumerate(range(0, len(blocks), 50)):
        folder = tmp_path / str(number)
        folder.mkdir()
        text = "\n".join(blocks[start : start + 50])
        log, count = compiled(handout(text, kind, "latex", "plot", "table", "far", "rules"), folder)
        check_log(log)
        pages += count
    assert pages > len(blocks) / 4


@pytest.mark.parametrize("kind", ["problems", "solution", "key"])
def test_words_with_any_characters_compile(kind, tmp_path):
    source = handout(WORDS, kind, "latex", "plot", "table")
    check_log(compiled(source, tmp_path)[0])
    assert "\\input{secret" not in source


def test_html_is_well_formed_and_has_a_formula_a_line():
    for kind in ["problems", "solution", "key"]:
        text = handout(WORDS, kind, "html", "plot", "table")
        tree = xml.etree.ElementTree.fromstring(text.removeprefix("<!DOCTYPE html>"))
        formulas = [e for e in tree.iter() if e.tag.endswith("}math")]
        assert len(formulas) > (2 if kind == "problems" else 20)
        # Presentation MathML alone.
        known = set("math mi mo mn mrow mfrac msup msub msubsup msqrt mroot mtext mspace".split())
        assert {e.tag.split("}")[1] for f in formulas for e in f.iter()} <= known
        assert not [e for e in tree.iter() if e.tag.split("}")[1] in ("script", "iframe", "object")]


def test_csv_is_read_back():
    rows = list(csv.DictReader(io.StringIO(handout(WORDS, "key", "coefficients"))))
    # y'' = x y, y(0) = 1, y'(0) = 0: DLMF 9.4.1 (from memory), 1 + x³/3! + 1·4 x⁶/6! + …
    exact = [fractions.Fraction(row["coefficient"]) for row in rows]
    assert exact == [1, 0, 0, fractions.Fraction(1, 6), 0, 0, fractions.Fraction(4, 720)]
    assert all(abs(float(row["decimal"]) - value) < 1e-14 for row, value in zip(rows, exact, strict=True))
    rows = list(csv.DictReader(io.StringIO(handout(WORDS, "key", "values"))))
    assert len(rows) > 10
    for row in rows:
        x = float(fractions.Fraction(row["place"]))
        sums = [sum(float(c) * x**k for k, c in enumerate(exact[: degree + 1])) for degree in range(7)]
        assert all(abs(float(row[f"degree {degree}"]) - value) < 1e-12 * max(1, abs(value)) for degree, value in enumerate(sums))
        error = abs(float(row["solution"]) - sums[6])
        assert abs(float(row["difference 6 (estimate)"] or "0") - error) < 0.01 * error + 1e-12
