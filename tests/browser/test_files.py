"""Worksheet files: opened, edited beside the live sheet, kept, dropped, and hostile ones."""

import hashlib

import pytest
from selenium.webdriver.common.keys import Keys

from conftest import ARTEFACTS
from sheet import Sheet

RAINBOW = "worksheets/1-rainbow.md"
SMALL = "# Lamp\n\nIt cools: $T' = -T$.\n\n```ivp\nT' = -T\nT(0) = 1\ndegree: 3\nshow: polynomial\n```\n"
EDITOR = "Text of the file"


class Page(Sheet):
    """The page of worksheet files."""

    def __init__(self, driver, address):
        super().__init__(driver, address + "file.html")
        self.site = address

    def open_fresh(self, fragment="from=" + RAINBOW):
        # A page of the same origin that starts nothing.
        self.driver.get(self.site + "writing.html")
        self.script("localStorage.clear()")
        self.open(fragment)

    def edit(self):
        if self.script("return document.body.dataset.editing") == "no":
            self.script("document.getElementById('edit').click()")

    def write(self, text):
        """Replaces the whole text, as by pasting it."""
        self.edit()
        self.script(
            "const t = document.getElementById('text'); t.focus(); t.select();"
            "document.execCommand('insertText', false, arguments[0]) || (t.value = arguments[0], t.dispatchEvent(new Event('input')))",
            text,
        )
        self.wait_ready()

    def drop(self, name, text):
        self.script(
            """
            const data = new DataTransfer();
            data.items.add(new File([arguments[1]], arguments[0], {type: 'text/markdown'}));
            document.body.dispatchEvent(new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true}));
            """,
            name,
            text,
        )

    def source(self):
        return self.script("return document.getElementById('text').value")

    def view(self):
        return self.text("#view")

    def remarks(self):
        return self.text("#notes li")


@pytest.fixture
def file(engine, address, request):
    page = Page(engine, address)
    page.open_fresh()
    yield page
    # WebKit's driver now and then never answers when a picture is wanted of a page whose blocks grow.
    if engine.engine != "webkit":
        ARTEFACTS.mkdir(exist_ok=True)
        name = request.node.name.replace("/", "-").replace("[", "-").replace("]", "")
        page.screenshot(ARTEFACTS / f"{name}.png")
    engine.set_window_size(1440, 1000)


def test_a_shipped_file_reads_as_prose_with_live_ledgers(file):
    assert file.text("#view h1") == "The bright edge of the rainbow"
    assert file.script("return document.querySelectorAll('#view > .worked').length") == 3
    assert file.script("return document.querySelectorAll('#view .unread').length") == 0
    # The question is asked before the ledger is shown.
    question = file.script("return document.querySelector('#view summary').textContent")
    assert question.startswith("Which of the derivatives")
    file.script("document.querySelector('#view summary').click()")
    ledger = file.wait(lambda: file.text("#view .worked .block[data-state=worked] .ledger"), "the ledger")
    assert "product rule" in ledger and "One factor is x" in ledger
    # Each problem has its own worksheet.
    link = file.script("return document.querySelector('#view .own a').href")
    assert "index.html#equation=y%27%27+%3D+x+y" in link
    # Every shipped file can be chosen and says nothing is wrong with it.
    choices = file.script("return [...document.getElementById('shipped').options].map(o => o.value).filter(Boolean)")
    assert len(choices) == 3
    for choice in choices[1:]:
        file.open("from=" + choice)
        assert file.text("#view h1") and not file.remarks(), choice
        assert file.role("button", "Edit")


def test_the_view_follows_the_text_and_only_what_changed_changes(file):
    file.write(SMALL)
    assert "Lamp" in file.text("#view h1")
    file.wait(lambda: file.text("#view .strip"), "the polynomial")
    file.wait_ready()
    file.script("for (const node of document.getElementById('view').children) node.mark = true")
    text = file.script("const t = document.getElementById('text'); t.focus(); const at = t.value.indexOf('It cools'); t.setSelectionRange(at, at + 8); return t.value")
    assert text == SMALL
    file.driver.switch_to.active_element.send_keys("So")
    file.wait(lambda: "So: " in file.view(), "the new words")
    marks = file.script("return [...document.getElementById('view').children].map(node => !!node.mark)")
    assert marks == [True, False, True]
    assert file.text("#unsaved") == "not saved" and file.script("return !document.getElementById('unsaved').hidden")
    # Tab leaves the text; nothing holds the keyboard.
    file.driver.switch_to.active_element.send_keys(Keys.TAB)
    assert file.script("return document.activeElement.id") != "text"


def test_what_is_wrong_is_said_at_its_line_and_repaired(file):
    file.write("# T\n\n$\\alhpa$\n\n```ivp\nT' = -bluub(T)\nT(0) = 1\ndegre: 3\n```\n")
    file.wait(lambda: "bluub" in file.remarks(), "the solver's message")
    remarks = file.remarks()
    for place in ("Line 3, column 2 ", "Line 6, column 7 ", "Line 8, column 1 "):
        assert place in remarks, remarks
    assert file.role("button", "Edit (2 to mend)")
    file.press("write degree")
    file.wait_ready()
    file.press("write \\alpha")
    file.wait_ready()
    assert "degree: 3" in file.source() and "$\\alpha$" in file.source()
    file.press("Line 6, column 7")
    chosen = file.script("const t = document.getElementById('text'); return t.value.slice(t.selectionStart, t.selectionEnd)")
    assert chosen == "bluub"


def test_nothing_is_lost(file):
    file.write(SMALL)
    file.open()
    assert file.source() == SMALL and "not saved" in file.text("#unsaved, #said")
    # Another file does not take it away.
    file.drop("buoy.md", "# Buoy\n\n```ivp\ny'' = -y\ny(0) = 1, y'(0) = 0\n```\n")
    file.wait(lambda: file.text("#view h1") == "Buoy", "the dropped file")
    assert file.text("#name") == "buoy.md"
    file.wait_ready()
    file.script("document.getElementById('before-open').click()")
    file.wait_ready()
    assert file.source() == SMALL
    # Saving offers exactly the text.
    assert file.downloaded("Save") == SMALL
    assert file.script("return document.getElementById('unsaved').hidden")


def test_a_browser_that_keeps_nothing_says_so(engine, address):
    page = Page(engine, address.replace("/college/", "/full/college/"))
    page.driver.get(page.address)
    page.wait_ready()
    page.write(SMALL)
    page.wait(lambda: "keeps nothing" in page.text("#said"), "the message")
    assert page.source() == SMALL and "Lamp" in page.view()
    # The page is left without a question the next test would have to answer.
    page.script("document.getElementById('save').click()")


HOSTILE = """# <img src=x onerror="window.stolen = 1">

<script>window.stolen = 1</script>

[a](javascript:window.stolen=1) [b](JAVASCRIPT:window.stolen=1) ![c](https://evil.example/c.png)
<svg onload="window.stolen=1"> $\\text{<img src=x onerror=window.stolen=1>}$ <https://ok.example>

```ivp
y' = <img src=x onerror=window.stolen=1>
title: <script>window.stolen=1</script>
reason order-1: <img src=x onerror=window.stolen=1>
ask: <img src=x onerror=window.stolen=1>
```
"""


def test_hostile_files_change_nothing_and_give_a_message(file):
    file.drop("hostile.md", HOSTILE)
    file.wait(lambda: file.text("#name") == "hostile.md", "the file")
    file.wait_ready()
    file.edit()
    file.wait(lambda: "HTML is not read" in file.remarks() and "A link may lead" in file.remarks(), "the messages")
    file.wait_ready()
    file.script("for (const d of document.querySelectorAll('details')) d.open = true")
    found = file.script(
        """
        const view = document.getElementById('view');
        const bad = view.querySelectorAll('script, iframe, object, embed, [onerror], [onload], [style], img');
        const links = [...view.querySelectorAll('a')].map(a => a.protocol);
        return [window.stolen ?? null, bad.length, links.filter(p => !['http:', 'https:', 'mailto:'].includes(p)).length, links.includes('https:')];
        """
    )
    assert found == [None, 0, 0, True]
    # Too long, and deeply nested: a message, and the page answers.
    file.drop("long.md", "word " * 100_000)
    file.wait(lambda: "too long" in file.remarks(), "the message about the length")
    file.drop("deep.md", "> " * 5000 + "a\n\n" + "$" + "{" * 5000 + "$\n\n" + "```ivp\ny'' = " + "(" * 5000 + "y\n```\n")
    file.wait(lambda: "nested too deeply" in file.remarks(), "the message about the depth")
    file.wait_ready()
    file.write(SMALL)
    assert "Lamp" in file.view()


def test_only_files_beside_the_page_are_fetched(file):
    before = file.source()
    for path in ("https://evil.example/a.md", "//evil.example/a.md", "../../../secret.md", "web.wasm", "no-such-file.md"):
        file.driver.execute_script("location.hash = 'from=' + arguments[0]", path)
        file.wait(lambda: file.text("#said").strip(), f"a message about {path}")
        assert file.source() == before
        file.script("document.getElementById('said').textContent = ''")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_accessible_and_fits(file, scheme):
    if file.driver.engine == "chromium":
        file.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]})
    elif scheme == "dark":
        pytest.skip("only Chromium's driver switches the scheme")
    try:
        file.script("document.querySelector('#view summary').click()")
        file.write(file.source() + "\n$\\alhpa$\n")
        assert file.violations() == []
        file.driver.set_window_size(500, 900)
        file.driver.execute_script("document.documentElement.style.width = '320px'")
        # 320 CSS px: nothing of the page is wider.
        widest = file.script(
            """
            const page = document.documentElement;
            const scrolls = e => { for (let n = e.parentElement; n; n = n.parentElement) if (/auto|scroll|hidden|clip/.test(getComputedStyle(n).overflowX)) return true; };
            return [...document.body.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > 322 && e.getBoundingClientRect().width > 0 && !scrolls(e)).map(e => e.outerHTML.slice(0, 120)).slice(0, 4);
            """
        )
        assert widest == []
    finally:
        if file.driver.engine == "chromium":
            file.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def follow(file, link):
    """Follows a link of the page to another page."""
    before = file.driver.current_url
    file.script("arguments[0].focus()", file.role("link", link))
    file.driver.switch_to.active_element.send_keys(Keys.ENTER)
    file.wait(lambda: file.driver.current_url.split("#")[0] != before.split("#")[0], f"the page behind {link}")
    file.wait_ready()


def test_a_file_becomes_a_hand_out_and_comes_back_with_the_teachers_words(file):
    file.write(SMALL.replace("degree: 3", "degree: 3\nmarks: order-2 = 2"))
    source = file.source()
    follow(file, "Hand out")
    assert "Find the Taylor polynomial of degree 3" in file.text(".sheet")
    file.role("radio", "answer key").click()
    file.wait_ready()
    assert file.text("[data-key=order-2] .marks") == "2"
    assert file.downloaded("worksheet file") == source, "nothing is changed on the way"
    file.script("document.querySelector('[data-key=order-2] .edit').click()")
    file.type("Remark below the line", "It cools.")
    file.press("Keep")
    file.wait(lambda: file.text("[data-key=order-2] .remark") == "It cools.", "the remark")
    file.wait_ready()
    follow(file, "Read and edit as a worksheet file")
    file.wait(lambda: "remark order-2: It cools." in file.source(), "the words")
    assert "It cools: $T' = -T$." in file.source(), "the prose is still there"
    # The text from before can be had back.
    file.script("document.getElementById('before-open').click()")
    file.wait_ready()
    assert file.source() == source


def test_a_file_is_given_away_as_a_link_or_as_itself_when_it_is_long(file):
    file.write(SMALL)

    def share():
        file.press("Share")
        file.wait(lambda: file.script("return document.getElementById('sharing')?.open") and file.field("Link").get_property("value"), "the dialog")
        return file.field("Link").get_property("value")

    link = share()
    assert link.startswith(file.address + "#1.") and file.script("return document.getElementById('sharing-long').hidden")
    # The code that shows all of it in another page, and how that looks.
    code = file.field("Embedding code").get_property("value")
    assert f'fragment="{link.split("#")[1]}"' in code and "embed.js" in code, code
    preview = "return document.querySelector('#sharing-preview ordinary-point')?.shadowRoot.querySelector('.view')?.textContent ?? ''"
    file.wait(lambda: "It cools" in file.script(preview), "the preview")
    file.script("document.querySelector('[name=sharing-kind][value=frame]').click()")
    assert f"embed.html#{link.split('#')[1]}" in file.field("Embedding code").get_property("value")
    assert file.violations() == []
    file.press("close")
    # Words that nothing compresses.
    digits = hashlib.sha512(b"oysters").hexdigest()
    words = " ".join(hashlib.sha512(f"{digits}{n}".encode()).hexdigest() for n in range(120))
    file.write(f"# Long\n\n{words}\n")
    file.script("const make = URL.createObjectURL; URL.createObjectURL = blob => { window.offered = blob; return make.call(URL, blob); }")
    link = share()
    assert len(link) > 8000
    said = file.text("#sharing-long")
    assert f"This link has {len(link)} characters; beyond 8000" in said, said
    offered = file.role("link", "Give away the file instead")
    text = file.driver.execute_async_script("const done = arguments[0]; window.offered.text().then(done, e => done(String(e)))")
    assert offered.get_attribute("download").endswith(".md")
    assert text == file.source()
    file.press("close")
    # The short link opens the file, whatever was there.
    file.write(SMALL)
    short = share()
    file.press("close")
    file.open_fresh()
    file.driver.get("about:blank")
    file.driver.get(short)
    file.wait_ready()
    file.wait(lambda: file.source() == SMALL, "the file")


def test_the_tolerance_of_a_problem_is_kept_to(file):
    if file.driver.engine == "webkit":
        pytest.skip("its driver is slow, and this says nothing about an engine")
    block = "# T\n\n```ivp\ny' = y\ny(0) = 1\ndegree: 3\ntolerance: {}\nshow: plot\n```\n"

    def said(tolerance):
        file.write(block.format(tolerance))
        file.wait(lambda: file.script("return document.querySelector('#view .block')?.dataset.state") == "worked", "the block")
        file.wait_ready()
        return file.text("#view .block")

    loose, tight = said("0.1"), said("0.0001")
    assert "proved to be at most 1/10," in loose and "proved to be at most 1/10000," in tight
    link = file.script("return document.querySelector('#view .own a').href")
    assert "tolerance=0.0001" in link


STATES = "return [...document.querySelectorAll('#view .worked')].map(n => n.querySelector('.block')?.dataset.state ?? n.querySelector('.place').textContent)"


def test_every_problem_is_on_the_paper(file):
    file.script("window.print = () => { window.printed = (() => { " + STATES + " })() }")
    file.press("Print")
    assert file.wait(lambda: file.script("return window.printed ?? null"), "the printer") == ["worked"] * 3
    # The browser's own command waits for nothing; but what nobody has looked at is worked, too.
    file.open_fresh()
    file.wait(lambda: file.script(STATES) == ["worked"] * 3, "the problems that were never in sight")


def test_paper_says_what_was_not_worked_yet(engine, address):
    if engine.engine == "webkit":
        pytest.skip("its driver is slow, and this says nothing about an engine")
    page = Page(engine, address.replace("/college/", "/restless/college/"))
    page.driver.get(page.address)
    page.wait_ready()
    page.script("dispatchEvent(new Event('beforeprint'))")
    states = page.script(STATES)
    words = "not worked yet when the page was printed"
    assert all(state == "worked" or words in state for state in states) and words in states[-1], states


def test_a_file_keeps_its_name_on_the_way_to_a_hand_out_and_back(file):
    if file.driver.engine == "webkit":
        pytest.skip("its driver is slow, and this says nothing about an engine")
    file.drop("käse & lamp.md", SMALL)
    file.wait(lambda: file.text("#name") == "käse & lamp.md", "the dropped file")
    file.wait_ready()
    follow(file, "Hand out")
    file.script("HTMLAnchorElement.prototype.click = function () { window.names = [...(window.names ?? []), this.download] }")
    file.press("worksheet file")
    file.press("coefficients (CSV)")
    file.wait(lambda: file.script("return window.names?.length") == 2, "two files")
    assert file.script("return window.names") == ["käse & lamp.md", "käse & lamp-coefficients.csv"]
    follow(file, "Read and edit as a worksheet file")
    assert file.text("#name") == "käse & lamp.md"
