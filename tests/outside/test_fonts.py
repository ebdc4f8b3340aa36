"""The page's fonts hold what the page sets: subsetting must not leave a formula to another font."""

import html.parser
import os
import pathlib

import pytest
from fontTools.ttLib import TTFont

ROOT = pathlib.Path(__file__).resolve().parents[2]
SITE = pathlib.Path(os.environ.get("SITE", ROOT / "target" / "site"))

# Characters without a shape of their own (Unicode: invisible times, function application).
UNSEEN = set("\n\u2061\u2062")


def held(name: str) -> set[str]:
    return {chr(code) for code in TTFont(ROOT / "www" / "fonts" / name).getBestCmap()}


class Text(html.parser.HTMLParser):
    """What a page shows: characters of prose, and the texts of the elements of formulas."""

    def __init__(self, page: str):
        super().__init__()
        self.open: list[str] = []
        self.prose: set[str] = set()
        self.formulas: list[tuple[str, str]] = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        if tag not in ("meta", "link", "input", "br", "mspace"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, data):
        if "math" in self.open:
            self.formulas.append((self.open[-1], data))
        elif not {"title", "script", "option"} & set(self.open):
            self.prose |= set(data)


def italic(letter: str) -> str:
    """The mathematical italic that MathML Core (section 4.2, math-auto) makes of a lone identifier."""
    if letter == "h":
        return "\u210e"
    for first, last, start in (("A", "Z", 0x1D434), ("a", "z", 0x1D44E), ("Α", "Ω", 0x1D6E2), ("α", "ω", 0x1D6FC)):
        if first <= letter <= last:
            return chr(start + ord(letter) - ord(first))
    return letter


@pytest.fixture(scope="module")
def page() -> Text:
    text = Text((SITE / "index.html").read_text())
    assert len(text.formulas) > 100
    return text


def test_formulas_of_the_first_page_are_set_in_the_pages_fonts(page):
    mathematics, text = held("pagella-math.woff2"), held("pagella-regular.woff2")
    for element, piece in page.formulas:
        shown = italic(piece) if element == "mi" and len(piece) == 1 else piece
        wanted = mathematics if len(shown) == 1 and element != "mtext" else mathematics | text
        assert set(shown) - UNSEEN <= wanted, (element, piece)


def test_prose_is_set_in_the_text_face(page):
    assert page.prose - UNSEEN <= held("pagella-regular.woff2")


def test_every_letter_that_can_be_an_unknown_has_its_italic():
    mathematics = held("pagella-math.woff2")
    # Capitals that look like Latin ones are written with Latin ones; omicron is an o.
    greek = "αβγδεζηθικλμνξπρστυφχψωΓΔΘΛΞΠΣΦΨΩ"
    latin = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert [letter for letter in latin + greek if italic(letter) not in mathematics] == []


def test_brackets_and_roots_grow():
    font = TTFont(ROOT / "www" / "fonts" / "pagella-math.woff2")
    tall = font["MATH"].table.MathVariants.VertGlyphCoverage.glyphs
    names = font.getBestCmap()
    for sign in "()|√":
        assert names[ord(sign)] in tall, sign
