"""Blocks in other people's pages: as elements, and in frames that have no origin."""

import base64
import functools
import http.server
import threading
import types
import zlib

import pytest
from conftest import SITE, SUB_PATH, Handler
from selenium.webdriver.common.by import By
from sheet import Sheet

# What a website's own policy may allow at most (its pages have one of their own besides).
POLICY = "script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:"


class OpenSite(Handler):
    """The site as `embedding.html` asks for it: anyone may fetch its files. `strict` has the policy."""

    def end_headers(self):
        self.send_header("access-control-allow-origin", "*")
        if self.server.strict:
            self.send_header("content-security-policy", POLICY)
        super().end_headers()


class PlainSite(Handler):
    """The same from a server that sends nothing of its own."""


class Course(http.server.BaseHTTPRequestHandler):
    """Somebody's course, on another origin, with a policy."""

    pages: dict[str, str] = {}

    def do_GET(self):
        self.send_response(200)
        self.send_header("content-type", "text/html; charset=utf-8")
        open_site, *others = self.server.sites
        self.send_header(
            "content-security-policy",
            f"default-src 'none'; script-src {open_site} 'wasm-unsafe-eval'; worker-src blob:; connect-src {open_site}; "
            f"font-src {open_site}; style-src 'unsafe-inline'; frame-src {open_site} {' '.join(others)}",
        )
        self.end_headers()
        self.wfile.write(Course.pages.get(self.path, "").encode())

    def log_message(self, *_):
        pass


@pytest.fixture(scope="session")
def world():
    def serve(handler, **more):
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        for name, value in more.items():
            setattr(server, name, value)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        return f"http://127.0.0.1:{server.server_port}"

    site = functools.partial(OpenSite, directory=str(SITE))
    loose, strict = serve(site, strict=False), serve(site, strict=True)
    plain = serve(functools.partial(PlainSite, directory=str(SITE)))
    course = serve(Course, sites=(loose, strict, plain))
    return types.SimpleNamespace(**{name: f"{origin}{SUB_PATH}/" for name, origin in [("loose", loose), ("strict", strict), ("plain", plain)]}, course=course)


@pytest.fixture
def course(engine, world):
    """Opens a page of the course with this body."""

    def open_page(body, scripts=("embed.js",)):
        tags = "".join(f'<script type="module" src="{world.loose}{name}"></script>' for name in scripts)
        Course.pages["/week-5"] = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Week 5</title><main><h1>Week 5</h1>{body}</main>{tags}'
        sheet = Sheet(engine, world.course)
        engine.get("about:blank")
        engine.get(f"{world.course}/week-5")
        return sheet

    return open_page


STATES = "return [...document.querySelectorAll('ordinary-point')].map(e => e.shadowRoot?.querySelector('.block')?.dataset.state ?? null)"
TEXT = "return document.querySelectorAll('ordinary-point')[arguments[0]].shadowRoot.querySelector('.block').textContent"


def filled(page, count):
    return page.wait(lambda: page.script(STATES).count("worked") == count, f"{count} blocks")


def test_elements_work_their_problems_out_on_another_origin(course):
    page = course(
        """
        <ordinary-point equation="y'' = x y" conditions="y(0) = 1, y'(0) = 0" degree="6"></ordinary-point>
        <ordinary-point fragment="#equation=y%27+%3D+y&amp;conditions=y(0)+%3D+1" degree="3" show="polynomial, table" heading="Oysters, alone" level="3"></ordinary-point>
        <ordinary-point equation="y' = &lt;img src=x onerror='window.hit = 1'&gt;" conditions="y(0) = 1"></ordinary-point>
        """
    )
    page.wait(lambda: page.script(STATES) == ["worked", "worked", "stopped"], "the blocks")
    first, second = page.script(TEXT, 0), page.script(TEXT, 1)
    assert "Taylor polynomial of degree 6" in first and "product rule" in first and "180" in first
    assert "Oysters, alone" in second and "product rule" not in second
    assert page.script("return window.hit ?? null") is None
    fetched = page.script("return performance.getEntriesByType('resource').map(e => e.name.split('/').pop())")
    assert [fetched.count(name) for name in ("web.wasm", "more.wasm", "block.css")] == [1, 1, 1], fetched
    assert page.script("return document.cookie + localStorage.length") == "0"
    # It is followed while it changes.
    page.script("document.querySelector('ordinary-point').setAttribute('degree', '9'); document.querySelector('ordinary-point').setAttribute('show', 'polynomial')")
    page.wait(lambda: "12960" in page.script(TEXT, 0), "degree 9")
    assert "product rule" not in page.script(TEXT, 0)
    # Light or dark like the place where it stands.
    paper = "return getComputedStyle(document.querySelector('ordinary-point').shadowRoot.querySelector('.block')).backgroundColor"
    light = page.script(paper)
    assert page.violations() == []
    page.script("document.documentElement.style.colorScheme = 'dark'; document.body.style.background = '#111'; document.body.style.color = '#eee'")
    assert page.script(paper) != light
    assert page.violations() == []
    # A packed link is a fragment like any other; one that is broken says so.
    packed = [line for line in (SITE.parents[1] / "tests/browser/links.txt").read_text().splitlines() if line.startswith("1.")][0].split()[0]
    page.script("const e = document.createElement('ordinary-point'); e.setAttribute('fragment', arguments[0]); document.querySelector('h1').after(e)", packed)
    page.wait(lambda: "degree 6" in page.script(TEXT, 0), "the packed problem")
    page.script("document.querySelector('ordinary-point').setAttribute('fragment', '1.AAAA')")
    page.wait(lambda: "broken" in page.script("return document.querySelector('ordinary-point').shadowRoot.textContent"), "the message")


def test_ten_on_a_page_are_worked_out_as_they_come_into_view(course):
    body = "".join(
        f"<p style='height: 30rem'>Problem {n}</p><ordinary-point equation=\"y'' = x y\" conditions=\"y(0) = {n}, y'(0) = 1\" degree=\"5\"></ordinary-point>" for n in range(1, 11)
    )
    page = course(body)
    page.wait(lambda: "worked" in page.script(STATES), "the first block")
    assert None in page.script(STATES), "those far below wait"
    for element in page.driver.find_elements(By.CSS_SELECTOR, "ordinary-point"):
        page.script("arguments[0].scrollIntoView()", element)
        page.wait(lambda element=element: page.script("return !!arguments[0].shadowRoot.querySelector('.block')", element), "a block in view")
    filled(page, 10)
    assert page.script("return performance.getEntriesByType('resource').filter(e => e.name.endsWith('web.wasm')).length") == 1


def deep(css):
    """What a selector finds in all of the page's elements, and in elements in these."""
    return (
        "const all = (root, css) => [...root.querySelectorAll(css), ...[...root.querySelectorAll('ordinary-point')].flatMap(e => all(e.shadowRoot, css))];"
        f"return all(document, {css!r})"
    )


FILE = """# Lamps $T$

See [below](#the-lamp), [a site](https://college.example/) and [a trick](javascript:window.hit=1).
<script>window.hit = 1</script> <img src=x onerror="window.hit = 1">

| a | b |
|--:|---|
| 1 | 2 |

## The lamp

```ivp
T' = -T
T(0) = 1
degree: 3
show: problem, ledger
ask: What vanishes?
reason order-2: By the teacher.
```
"""


def packed(text):
    press = zlib.compressobj(9, zlib.DEFLATED, -15)
    return "1." + base64.urlsafe_b64encode(press.compress(text.encode()) + press.flush()).decode().rstrip("=")


def test_a_worksheet_file_stands_in_another_page_as_a_whole(course, world):
    page = course(
        f"""
        <ordinary-point file="{world.loose}worksheets/1-rainbow.md" level="2"></ordinary-point>
        <ordinary-point fragment="{packed(FILE)}" level="3"></ordinary-point>
        <ordinary-point file="{world.loose}worksheets/none.md"></ordinary-point>
        """
    )
    page.wait(lambda: len(page.script(deep(".view.alone"))) == 2, "the files")
    page.script(deep("details") + ".forEach(d => { d.open = true })")
    for element in page.script(deep(".worked ordinary-point")):
        page.script("arguments[0].scrollIntoView()", element)
        page.wait(lambda element=element: page.script("return arguments[0].shadowRoot.querySelector('.block')?.dataset.state", element) == "worked", "a problem")
    assert page.script(deep("h2") + ".map(e => e.textContent)")[0] == "The bright edge of the rainbow"
    assert page.script(deep("h3") + ".map(e => e.textContent)")[-1] == "Lamps T"
    blocks = page.script(deep(".block") + ".map(e => e.textContent)")
    assert len(blocks) == 4 and "By the teacher." in blocks[3], blocks[3][:300]
    assert "404" in page.script("return document.querySelectorAll('ordinary-point')[2].shadowRoot.textContent")
    # Nothing of a file is carried out; its own links lead to its own places.
    assert page.script(deep("script, img, [onerror]") + ".filter(e => e.getRootNode() !== document).length") == 0
    assert page.script(deep(".alone a") + ".map(e => e.protocol)") == ["http:", "https:"]
    page.script("scrollTo(0, 0)")
    page.script(deep(".alone a[href^='#']") + "[0].click()")
    page.wait(lambda: abs(page.script(deep("#in-the-lamp") + "[0].getBoundingClientRect().top")) < 300, "the place of the link")
    assert page.script("return location.hash + (window.hit ?? '')") == ""
    fetched = page.script("return performance.getEntriesByType('resource').map(e => e.name.split('/').pop())")
    assert fetched.count("web.wasm") == 1 and fetched.count("reading.wasm") == 1, fetched
    assert page.violations() == []


def test_a_worksheet_file_stands_in_a_frame_as_a_whole(course, world, engine):
    frame = '<iframe title="A worksheet" sandbox="allow-scripts" width="700" height="90" src="{}#{}"></iframe>'
    page = course(frame.format(world.loose + "embed.html", packed(FILE)), scripts=("fit.js",))
    page.wait(lambda: page.script("return document.querySelector('iframe').getBoundingClientRect().height") > 300, "the frame to fit")
    for address, words in [("worksheets/3-oysters.md", "breakwater"), ("https://college.example/a.md", "cannot-be-opened")]:
        page = course(frame.format(world.loose + "embed.html", "file=" + address), scripts=("fit.js",))
        engine.switch_to.frame(engine.find_element(By.TAG_NAME, "iframe"))
        try:
            text = "return document.querySelector('ordinary-point')?.shadowRoot.textContent ?? ''"
            page.wait(lambda: words in page.script(text) or "404" in page.script(text), "the file")
            assert (words in page.script(text)) == address.startswith("worksheets")
            asked = page.script("return performance.getEntriesByType('resource').map(e => e.name)")
            assert all(name.startswith((world.loose, "blob:", "data:")) for name in asked), asked
        finally:
            engine.switch_to.default_content()


FRAME = """<iframe title="A problem worked out" sandbox="allow-scripts" width="700" height="90" src="{}#equation=y%27+%3D+y^2&amp;conditions=y(0)+%3D+1/2&amp;degree=4&amp;show=problem+polynomial+plot"></iframe>"""


@pytest.mark.parametrize("kind", ["open", "strict", "one file"])
def test_a_frame_without_an_origin_works_and_fits(course, world, engine, kind):
    if kind == "strict" and engine.engine == "webkit":
        pytest.skip("there, 'self' is nothing in a frame without an origin; embedding.html says what to send instead")
    source = {"open": world.loose + "embed.html", "strict": world.strict + "embed.html", "one file": world.plain + "embed-whole.html"}[kind]
    page = course(FRAME.format(source), scripts=("fit.js",))
    if kind == "open":
        page.wait(lambda: page.script("return document.querySelector('iframe').getBoundingClientRect().height") > 300, "the frame to fit")
    engine.switch_to.frame(engine.find_element(By.TAG_NAME, "iframe"))
    try:
        page.wait(lambda: "worked" in page.script(STATES), "the block")
        assert page.script("return self.origin") == "null"
        assert "radius of convergence" in page.script(TEXT, 0)
        asked = page.script("return performance.getEntriesByType('resource').map(e => e.name)")
        assert all(name.startswith((source.rsplit("/", 1)[0], "blob:", "data:")) for name in asked), asked
    finally:
        engine.switch_to.default_content()


def test_heights_are_taken_from_our_own_frames_only(course, world):
    page = course(FRAME.format(world.loose + "embed.html"), scripts=("fit.js",))
    height = "return document.querySelector('iframe').getBoundingClientRect().height"
    page.wait(lambda: page.script(height) > 300, "the frame to fit")
    page.script("postMessage({ ordinaryPoint: 1, height: 5000 }, '*')")
    page.driver.execute_async_script("setTimeout(arguments[0], 100)")
    assert 300 < page.script(height) < 2000
