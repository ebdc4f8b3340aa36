"""Links that hold a worksheet, the dialog that makes them, the site without a network, and the page in one file."""

import base64
import functools
import http.server
import pathlib
import threading
import zlib

import pytest
from conftest import ROOT, SITE, SUB_PATH, Handler
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from screens import offline
from sheet import Sheet

LINKS = [line.split(" ", 1) for line in (ROOT / "tests/browser/links.txt").read_text().splitlines() if line and not line.startswith("# ")]
PROBLEMS = [link for link, text in LINKS if text.startswith("equation=")]


def dialog(page):
    """Opens the dialog by keyboard."""
    page.role("button", "Share").send_keys(Keys.ENTER)
    page.wait(lambda: page.script("return document.querySelector('dialog')?.open") and page.field("Link").get_property("value"), "the dialog")
    page.wait(lambda: page.script("return document.querySelector('dialog ordinary-point')?.shadowRoot.querySelector('.block')?.dataset.state") == "worked", "the preview")


def test_a_link_brings_the_worksheet_back(page):
    page.work("(4 + x^2) y'' + 3 y = 0", "y(1) = 2, y'(1) = 0", 5)
    page.wait(lambda: page.state() == "ready" and "order-5" in page.keys(), "the worksheet")
    before = page.text("[data-key]")
    dialog(page)
    link = page.field("Link").get_property("value")
    assert link.startswith(page.address + "#1."), link
    code = page.field("Embedding code").get_property("value")
    assert f'src="{page.address}embed.js"' in code and 'degree="5"' in code and 'equation="(4 + x^2)' in code
    page.role("radio", "a frame").send_keys(Keys.SPACE)
    page.wait(lambda: "<iframe" in page.field("Embedding code").get_property("value"), "the code for a frame")
    assert 'sandbox="allow-scripts"' in page.field("Embedding code").get_property("value")
    page.wait(lambda: page.script("return getComputedStyle(document.getElementById('sharing')).borderTopWidth") == "2px", "its style sheet")
    assert page.violations() == []
    # Narrow, and with spacing as WCAG 1.4.12 has it.
    page.script(
        """
        const d = document.getElementById('sharing'); d.style.width = '300px';
        const sheet = new CSSStyleSheet(); sheet.replaceSync('#sharing * { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }');
        document.adoptedStyleSheets = [sheet];
        """
    )
    assert page.script("const d = document.getElementById('sharing'); return d.scrollWidth <= d.clientWidth"), "nothing is cut off at the side"
    page.script("document.adoptedStyleSheets = []; document.getElementById('sharing').style.width = ''")
    page.driver.switch_to.active_element.send_keys(Keys.ESCAPE)
    page.wait(lambda: not page.script("return document.querySelector('dialog').open"), "the dialog to close")
    assert page.script("return document.activeElement.id") == "share", "the focus goes back"
    page.open_fresh(link.split("#")[1])
    page.wait(lambda: page.text("[data-key]") == before, "the same ledger")
    assert page.field("Conditions").get_property("value") == "y(1) = 2, y'(1) = 0"


def test_links_of_all_times_open(page):
    # What they hold is compared natively (web/src/share.rs), where all of them are read.
    for link in PROBLEMS:
        page.script("location.hash = arguments[0]", link)
        page.wait(lambda link=link: page.script("return location.hash") == "#" + dict(LINKS)[link], f"the worksheet of {link}")
        page.wait(lambda: page.state() == "ready" and any(key.startswith("order-1") for key in page.keys()), "its ledger")


def test_a_packed_worksheet_file_opens_on_its_page(page):
    (link,) = [link for link, text in LINKS if text.startswith("# ")]
    page.driver.get("about:blank")
    page.driver.get(page.address + "#" + link)
    page.wait(lambda: page.script("return location.pathname.endsWith('/file.html') && document.body.dataset.state") == "ready", "the page of files")
    page.wait(lambda: "bright edge" in page.text("#view h1"), "the file")
    assert page.script("return document.getElementById('text').value").count("```ivp") == 2


def packed(text):
    """A link that holds this text."""
    press = zlib.compressobj(9, zlib.DEFLATED, -15)
    return "1." + base64.urlsafe_b64encode(press.compress(text.encode()) + press.flush()).decode().rstrip("=")


def test_links_that_mean_harm_change_nothing(page):
    page.work("y'' = x y", "y(0) = 1, y'(0) = 0", 4)
    page.wait(lambda: page.state() == "ready" and "order-4" in page.keys(), "the worksheet")
    page.wait(lambda: "equation" in page.script("return location.hash"), "the address to follow")
    before = page.text("[data-key]")
    whole = packed("equation=y%27+%3D+y")
    for link, word in [
        ("1.", "broken"),
        ("1.<script>window.hit=1</script>", "broken"),
        ("1.AAAA", "broken"),
        (whole[:-4], "broken"),
        ("1." + "A" * 500_000, "more than"),
        (packed("equation=" + "x" * 30_000_000), "more than"),
        ("7.abc", "newer"),
    ]:
        page.script("location.hash = arguments[0]", link)
        page.wait(lambda word=word: word in page.text("#link-trouble"), f"a message on {link[:20]}")
        assert page.text("[data-key]") == before and page.field("Equation").get_property("value") == "y'' = x y"
        assert page.script("return location.hash") == ""
    # What a good link holds is typed text and nothing else.
    for text in ["equation=<img src=x onerror=window.hit=1>", "equation=javascript:window.hit=1", "equation=" + "%28" * 5000]:
        page.script("location.hash = arguments[0]", packed(text))
        page.wait(lambda: page.state() == "stale", "a message on the text")
        assert page.script("return window.hit ?? null") is None and not page.script("return document.querySelector('img')")
    page.script("location.hash = arguments[0]", whole)
    page.wait(lambda: page.field("Equation").get_property("value") == "y' = y" and page.text("#link-trouble") == "", "a good link to open")


class Newer(Handler):
    """The site in a version that can change, by itself on a server that can be stopped."""

    def do_GET(self):
        if self.path.endswith("/service.js") and self.server.newer:
            text = (SITE / "service.js").read_text().replace('const VERSION = "', 'const VERSION = "newer ', 1)
            self.send_response(200)
            self.send_header("content-type", "text/javascript")
            self.end_headers()
            self.wfile.write(text.encode())
            return
        super().do_GET()


def test_the_site_is_kept_and_a_newer_version_waits(engine):
    if engine.engine == "webkit":
        pytest.skip("its driver's browser keeps nothing for pages")
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Newer, directory=str(SITE)))
    server.newer = False
    threading.Thread(target=server.serve_forever, daemon=True).start()
    page = Sheet(engine, f"http://127.0.0.1:{server.server_port}{SUB_PATH}/")
    page.open()
    ready = "const done = arguments[0]; navigator.serviceWorker.ready.then(r => { const check = () => r.active?.state === 'activated' ? done(true) : setTimeout(check, 20); check(); })"
    assert engine.execute_async_script(ready)
    page.open("equation=y%27+%3D+2y&conditions=y%280%29+%3D+1&degree=3")
    assert page.script("return !!navigator.serviceWorker.controller")
    # A newer version waits until the reader says so.
    server.newer = True
    engine.execute_async_script("const done = arguments[0]; navigator.serviceWorker.ready.then(r => r.update()).then(() => done())")
    page.wait(lambda: not page.script("return document.getElementById('newer').hidden"), "the announcement")
    assert page.violations() == []
    assert "order-3" in page.keys() and page.field("Equation").get_property("value") == "y' = 2y"
    page.script("window.before = true")
    page.role("button", "use it now").click()
    page.wait(lambda: not page.script("return window.before ?? false") and page.state() == "ready", "the newer version")
    assert page.field("Equation").get_property("value") == "y' = 2y", "what was typed is still there"
    names = engine.execute_async_script("const done = arguments[0]; caches.keys().then(done)")
    assert len(names) == 1 and "newer" in names[0], names
    # Nobody answers any more.
    server.shutdown()
    server.server_close()
    engine.get("about:blank")
    page.open("equation=y%27+%3D+3y&conditions=y%280%29+%3D+1&degree=4")
    assert "order-4" in page.keys() and page.field("Equation").get_property("value") == "y' = 3y"
    # What needs the module's second part, too.
    page.open("equation=y%27+%3D+tan+y+%2B+arcsin+x&conditions=y%280%29+%3D+1/3&degree=3")
    page.wait(lambda: "order-3" in page.keys(), "an answer without a network")
    assert "tan" in page.text("#rows") and "broke" not in page.messages()


def test_the_page_in_one_file_works_from_a_disk(engine, tmp_path):
    path = tmp_path / "ordinary point.html"
    path.write_bytes((SITE / "ordinary-point.html").read_bytes())
    page = Sheet(engine, pathlib.Path(path).as_uri())
    with offline(engine):
        engine.get(page.address)
        page.wait_ready()
        page.work("y'' = x y", "y(0) = 1, y'(0) = 0", 6)
        page.wait(lambda: page.state() == "ready" and "order-6" in page.keys(), "the worksheet")
        assert page.wait(lambda: "about" in page.text("#readout"), "the read-out")
        assert "polynomial" in page.downloaded("Download data (JSON)")
        assert "<svg" in page.downloaded("Download picture (SVG)")
        assert page.script("return document.fonts.check('16px \"Ordinary Point Math\"') && [...document.fonts].some(f => f.status === 'loaded')")
        page.role("button", "Share").click()
        page.wait(lambda: page.script("return document.querySelector('dialog')?.open") and page.field("Link").get_property("value"), "the dialog")
        link = page.field("Link").get_property("value")
        page.role("button", "close").click()
        engine.get("about:blank")
        engine.get(link)
        page.wait_ready()
        page.wait(lambda: page.field("Equation").get_property("value") == "y'' = x y" and "order-6" in page.keys(), "the worksheet from the link")
        asked = page.script("return performance.getEntriesByType('resource').map(e => e.name)")
        assert all(name.startswith(("blob:", "data:")) for name in asked), asked


def test_a_block_in_one_file_works_from_a_disk(engine, tmp_path):
    (tmp_path / "embed-whole.html").write_bytes((SITE / "embed-whole.html").read_bytes())
    problem = "embed-whole.html#equation=y%27+%3D+y^2&conditions=y(0)+%3D+1/2&degree=4&show=problem+ledger+polynomial+plot"
    host = tmp_path / "week 5.html"
    host.write_text(f'<!doctype html><title>Week 5</title><iframe title="A problem" sandbox="allow-scripts" width="700" height="600" src="{problem}"></iframe>')
    page = Sheet(engine, "")
    with offline(engine):
        for alone in (True, False):
            engine.get(tmp_path.as_uri() + "/" + problem if alone else host.as_uri())
            if not alone:
                engine.switch_to.frame(engine.find_element(By.TAG_NAME, "iframe"))
            try:
                block = "return document.querySelector('ordinary-point')?.shadowRoot.querySelector('.block[data-state=worked]')?.textContent ?? ''"
                page.wait(lambda: "radius of convergence" in page.script(block), "the block")
                assert "product rule" in page.script(block) or "chain rule" in page.script(block) or "power rule" in page.script(block)
                asked = page.script("return performance.getEntriesByType('resource').map(e => e.name)")
                assert all(name.startswith(("blob:", "data:")) for name in asked), asked
            finally:
                engine.switch_to.default_content()
