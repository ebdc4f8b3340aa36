"""Every way of using the page, as people with other eyes and other screens see it: the accessibility
checker in light and dark, a window 320 CSS pixels wide, text set wider, and everything at 200 %."""

import contextlib
import urllib.parse

import pytest
from conftest import ARTEFACTS
from screens import has_screens, screen, wishing
from sheet import Sheet

TIDE = urllib.parse.urlencode({"equation": "y'' + (2 - cos 2t) y = 0", "conditions": "y(0) = 1, y'(0) = 0", "degree": "6"})
BEDS = urllib.parse.urlencode({"equation": "N' = N (3 - C); C' = C (N - 2)", "conditions": "N(0) = 1, C(0) = 2", "degree": "3"})

# The spacing of the Web Content Accessibility Guidelines 2.2, success criterion 1.4.12 (from memory).
SPACING = "* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important } p { margin-bottom: 2em !important }"

# What is cut off at a side, or lies over something else: nothing may need the page to scroll sideways,
# texts do not run out of what they stand in, and what can be pressed is on top in its own middle.
FAULTS = """
const out = [], page = document.documentElement;
const scrolls = e => { for (let n = e; n; n = n.parentElement) if (/auto|scroll/.test(getComputedStyle(n).overflowX)) return true; };
const seen = e => e.checkVisibility?.({ visibilityProperty: true, contentVisibilityAuto: true }) && e.getClientRects().length > 0;
if (page.scrollWidth > page.clientWidth + 1) {
    const wide = [...document.body.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > page.clientWidth + 1 && !scrolls(e.parentElement));
    out.push(['wide page', page.scrollWidth, page.clientWidth, ...wide.slice(-3).map(e => e.outerHTML.slice(0, 160))]);
}
for (const e of document.body.querySelectorAll('p, label, button, a, li, h1, h2, h3, summary, td, th, legend, input, select, textarea, canvas, svg')) {
    if (!seen(e)) continue;
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    if (box.right < 0 || box.width < 2) continue;
    if (box.right > page.clientWidth + 1 && !scrolls(e.parentElement)) out.push(['beyond the edge', e.outerHTML.slice(0, 120)]);
    if (/hidden|clip/.test(style.overflowX) && e.scrollWidth > e.clientWidth + 1) out.push(['cut off', e.outerHTML.slice(0, 120)]);
}
for (const e of document.body.querySelectorAll('button, a[href], input, select, textarea, summary')) {
    if (!seen(e) || e.disabled) continue;
    const dialog = document.querySelector('dialog[open]');
    if (dialog && !dialog.contains(e)) continue;
    e.scrollIntoView({ block: 'center', inline: 'nearest', behavior: 'instant' });
    const box = e.getClientRects()[0];
    if (!box || box.right < 0) continue;
    const top = document.elementFromPoint(Math.min(box.x + box.width / 2, innerWidth - 1), box.y + box.height / 2);
    const same = top && (e.contains(top) || top.contains(e) || [...(e.labels ?? [])].some(l => l.contains(top) || top.contains(l)));
    if (!same) out.push(['covered', e.outerHTML.slice(0, 120), top?.outerHTML.slice(0, 120) ?? 'outside']);
}
scrollTo(0, 0);
return out;
"""


class Way(Sheet):
    """A way of using the page: where it begins, and what is done there."""

    def __init__(self, driver, site):
        super().__init__(driver, site)

    def arrive(self, path, state="ready"):
        self.driver.get("about:blank")
        self.driver.get(self.address + path)
        self.wait(lambda: self.state() == state, state)

    def faults(self):
        # Pictures are drawn anew in the frame after the window has changed.
        self.driver.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(arguments[0], 60)))")
        return self.script(FAULTS)

    def work(self):
        self.arrive("#" + TIDE)
        self.wait(lambda: not self.script("return document.getElementById('far').hidden"), "how far")

    def system(self):
        self.arrive("#" + BEDS)
        self.wait(lambda: not self.script("return document.getElementById('phase-figure').hidden"), "the phase plane")

    def trouble(self):
        self.arrive("#" + urllib.parse.urlencode({"equation": "y'' = x y +", "conditions": "y(0) = 1", "degree": "4"}), "stale")

    def present(self):
        self.arrive("#" + TIDE)
        self.script("document.getElementById('present-begin').click()")
        self.wait(lambda: self.script("return document.documentElement.dataset.present") == "yes", "the presentation")
        self.script("document.getElementById('present-forward').click()")

    def share(self):
        self.arrive("#" + TIDE)
        self.script("document.getElementById('share').click()")
        self.wait(lambda: self.script("return document.querySelector('dialog ordinary-point')?.shadowRoot?.querySelector('.block')?.dataset.state") == "worked", "the preview")

    def file(self):
        self.arrive("file.html#from=worksheets/3-oysters.md")
        self.script("for (const d of document.querySelectorAll('#view details')) d.open = true")
        # Also what is not in sight is worked, a little later; what is half there has half a meaning.
        there = "return document.querySelectorAll('#view .block:not([data-state=filling])').length && !document.querySelector('#view .wait, #view [data-state=filling]')"
        self.wait(lambda: self.script(there), "all blocks")

    def edit(self):
        self.file()
        self.script("if (document.getElementById('editor').hidden) document.getElementById('edit').click(); document.querySelector('.help').open = true")
        self.wait_ready()

    def handout(self):
        self.arrive("handout.html#" + TIDE)
        self.script("document.querySelector('[name=kind][value=key]').click(); document.querySelector('[name=plot]').click()")
        self.wait_ready()

    def words(self):
        self.arrive("handout.html#" + TIDE)
        self.script("document.querySelector('#problems button').click()")
        self.wait(lambda: self.script("return document.querySelector('dialog').open"), "the dialog")

    def frame(self):
        self.driver.get("about:blank")
        self.driver.get(self.address + "embed.html#" + TIDE + "&show=problem+ledger+polynomial+plot+errors+table")
        self.wait(lambda: self.script("return document.querySelector('.block')?.dataset.state ?? document.querySelector('ordinary-point')?.shadowRoot?.querySelector('.block')?.dataset.state") == "worked", "the block")

    def writing(self):
        self.driver.get(self.address + "writing.html")

    def embedding(self):
        self.driver.get(self.address + "embedding.html")


WAYS = ["work", "system", "trouble", "present", "share", "file", "edit", "handout", "words", "frame", "writing", "embedding"]


@pytest.fixture
def way(engine, address, request):
    page = Way(engine, address)
    page.driver.get(address + "writing.html")
    page.script("localStorage.clear()")
    yield page
    ARTEFACTS.mkdir(exist_ok=True)
    if engine.engine != "webkit":  # its driver sometimes never answers
        page.screenshot(ARTEFACTS / f"{request.node.name.replace('[', '-').replace(']', '')}.png")
    page.script("document.adoptedStyleSheets = []; localStorage.clear()")
    engine.set_window_size(1440, 1000)


@pytest.mark.parametrize("name", WAYS)
def test_the_accessibility_checker_finds_nothing(way, name):
    getattr(way, name)()
    assert way.violations() == []
    if way.driver.engine == "chromium":
        with wishing(way.driver, "dark"):
            getattr(way, name)()
            assert way.violations() == []


@pytest.mark.parametrize("name", WAYS)
def test_nothing_is_lost_when_it_is_narrow_large_or_spaced(way, name):
    if not has_screens(way.driver):
        pytest.skip("its driver has no other screens")
    # In Firefox all of this is in the dark, so that each way is gone once more only.
    dark = wishing(way.driver, "dark") if way.driver.engine == "firefox" else contextlib.nullcontext()
    with dark:
        getattr(way, name)()
        if way.driver.engine == "firefox":
            assert way.script("return matchMedia('(prefers-color-scheme: dark)').matches")
            assert way.violations() == []
        found = {}
        # At 200 % a window of 1280 × 800 has half as many CSS pixels each way.
        for what, width, height, scale in [("narrow", 320, 640, 2), ("large", 640, 400, 2), ("as usual", 1280, 800, 1)]:
            with screen(way.driver, width, height, scale):
                assert way.script("return [innerWidth, devicePixelRatio]") == [width, scale]
                found[what] = way.script(FAULTS)
                if what == "narrow" and name == "work":
                    way.screenshot(ARTEFACTS / "narrow.png")
        sheet = "const s = new CSSStyleSheet(); s.replaceSync(arguments[0]); document.adoptedStyleSheets = [s]"
        way.script(sheet, SPACING)
        with screen(way.driver, 1280, 800):
            found["spaced"] = way.faults()
    assert {what: faults for what, faults in found.items() if faults} == {}
