"""The built page as a user meets it, in three engines."""

import json
import subprocess
import sys
import urllib.parse
import urllib.request

import pytest
from conftest import ARTEFACTS, ROOT, SUB_PATH, Handler
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

sys.path.insert(0, str(ROOT / "tests" / "outside"))
import derive  # noqa: E402

AIRY = ("y'' = x y", "y(0) = 1, y'(0) = 0")


def worked(page, key):
    return page.wait(lambda: page.state() == "ready" and key in page.keys(), f"row {key}")


def test_the_first_example_is_in_the_page_before_any_script(address):
    text = urllib.request.urlopen(address).read().decode()
    assert "<math" in text and 'data-key="order-2"' in text
    for script in [part.split(">")[0] for part in text.split("<script")[1:]]:
        assert "src=" in script, "an inline script needs a weaker content-security policy"


def test_typing_a_problem_works_it_out(page):
    page.work(*AIRY, 6)
    worked(page, "order-6")
    polynomial = page.role("region", "Polynomial").text.replace("\n", "")
    assert "180" in polynomial and "6!" in polynomial, polynomial
    # y‴ = y + x y′ at 0 is 1, and the row says by which rule it was obtained.
    assert "product rule" in page.row("order-3")
    assert "missing" in page.row("order-4"), "y⁗(0) = 0: the row names the missing degree"


def test_every_ledger_row_names_its_reason(page):
    page.work("y' = y^2 - x/(1 + x)", "y(0) = 2", 4)
    worked(page, "order-4")
    reasons = page.script(
        "return [...document.querySelectorAll('[data-key]')].map(r => [r.dataset.key, r.querySelector('.reason')?.textContent.trim() ?? ''])"
    )
    assert len(reasons) >= 7
    assert all(text for _, text in reasons), reasons


def test_the_reading_follows_every_keystroke(page):
    page.type("Equation", "theta'' + sin(the")
    assert page.wait(lambda: "θ" in page.text(".reads"), "the reading to follow")
    # Half-typed: nothing is scolded at once, and the old worksheet stays.
    assert "order-2" in page.keys()


def test_a_mistake_is_pointed_at_and_one_click_repairs_it(page):
    page.work("y'' = sine x + y", "y(0) = 1, y'(0) = 0", 3)
    page.wait(lambda: "sine" in page.messages(), "the message")
    assert "order-2" in page.keys(), "the last good worksheet stays"
    assert page.state() == "stale"
    assert page.text("#equation-marks mark") == "sine", "the mistake is underlined in the field"
    page.role("button", "write sin").click()
    page.wait(lambda: page.state() == "ready", "the repaired problem")
    assert page.field("Equation").get_attribute("value") == "y'' = sin x + y"


@pytest.mark.parametrize(
    ("equation", "conditions", "word"),
    [
        ("y'' = (x + y", "y(0) = 1, y'(0) = 0", "bracket"),
        ("x y'' + y = 0", "y(0) = 1, y'(0) = 0", "singular"),
        ("y'' = y", "y(0) = 1, y(1) = 0", "boundary"),
        ("y' = 1/y", "y(0) = 0", "zero"),
        ("y = x", "y(0) = 0", "derivative"),
    ],
)
def test_bad_input_gets_its_own_message_and_keeps_what_was_typed(page, equation, conditions, word):
    page.work(equation, conditions, 4)
    page.wait(lambda: word in page.messages().lower(), f"a message about {word}")
    assert page.field("Equation").get_attribute("value") == equation
    assert page.field("Conditions").get_attribute("value") == conditions
    page.work(*AIRY)
    page.wait(lambda: page.state() == "ready", "the page to go on working")


@pytest.mark.parametrize(
    "rubbish",
    ["(" * 10_000, "<img src=x onerror=alert(1)>", "y' = " + "2^" * 300 + "x", "\u202e\U0001f980 y' = ☃", "y' = " + "x*" * 2000 + "y"],
    ids=["brackets", "markup", "tower", "symbols", "long"],
)
def test_rubbish_neither_freezes_nor_enters_the_page(page, rubbish):
    page.script(
        """
        const field = arguments[0]; field.value = arguments[1];
        field.dispatchEvent(new InputEvent('input', {bubbles: true}));
        """,
        page.field("Equation"), rubbish,
    )
    page.wait(lambda: page.state() in ("stale", "ready") and page.messages().strip(), "an answer")
    assert page.script("return document.querySelector('img[src=x]')") is None
    page.work(*AIRY, 3)
    page.wait(lambda: page.state() == "ready" and "order-3" in page.keys(), "the page to go on working")


def test_a_reload_and_a_shared_link_bring_the_same_worksheet(page):
    page.work("(4 + x^2) y'' + 3 y = 0", "y(1) = 2, y'(1) = 0", 5)
    worked(page, "order-5")
    page.wait(lambda: "#" in page.driver.current_url, "the address to follow")
    address, before = page.driver.current_url, page.text("[data-key]")
    page.driver.refresh()
    page.wait_ready()
    page.wait(lambda: page.text("[data-key]") == before, "the same ledger after a reload")
    page.driver.get("about:blank")
    page.driver.get(address)
    page.wait(lambda: page.state() == "ready" and page.text("[data-key]") == before, "the same ledger from the link")
    assert page.field("Conditions").get_attribute("value") == "y(1) = 2, y'(1) = 0"


def test_what_was_typed_just_now_survives_a_reload(page):
    page.type("Equation", "y'' = 2 x y")
    page.driver.refresh()
    page.wait_ready()
    assert page.field("Equation").get_property("value") == "y'' = 2 x y"


def test_first_non_zero_terms(page):
    page.work(*AIRY, "first 4 non-zero terms")
    worked(page, "order-9")
    assert "order-10" not in page.keys()


def test_the_download_is_what_the_machine_prints(page):
    """The same bytes natively and in this engine's wasm."""
    for equation, conditions, degree in [
        ("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 6),
        ("y' = x^2 + y^2", "y(0) = 0", 8),
        ("x y'' - 2y' = x^2", "y(3) = 1, y'(3) = 1/2", 5),
    ]:
        page.work(equation, conditions, degree)
        worked(page, f"order-{degree}")
        page.wait(lambda: page.state() == "ready", "the reference")
        ours = page.downloaded("Download data (JSON)")
        native = subprocess.run(
            [derive.BINARY, equation, conditions, "--degree", str(degree)], capture_output=True, text=True, check=True
        ).stdout
        assert json.loads(ours) == json.loads(native)
        assert ours.strip() == native.strip()


def test_other_values_and_another_center_are_set_beside(page):
    page.work("y' = y^2", "y(0) = 1/2", 4)
    worked(page, "order-4")
    page.type("Beside it", "y(0) = 1/4")
    worked(page, "beside-2")
    assert "other initial values" in page.row("beside-2")
    page.wait(lambda: "y2" in page.text("#readout"), "the second solution to be read out")
    page.press("recenter at the read-out")
    worked(page, "beside-3")
    assert "An estimate" in page.row("beside-3")
    field = page.field("Beside it").get_property("value")
    assert field.startswith("y(0) = 1/4 or x = "), field
    page.wait(lambda: page.state() == "ready", "the worksheet")
    page.driver.refresh()
    page.wait_ready()
    assert page.field("Beside it").get_property("value") == field
    worked(page, "beside-3")
    # What cannot be read is said, and the rest stands.
    page.type("Beside it", "y(0) = ")
    page.wait(lambda: "equals sign" in page.messages(), "the message")
    worked(page, "order-4")


def test_the_plot_is_drawn_and_read_by_keyboard(page):
    page.work(*AIRY, 5)
    worked(page, "order-5")
    inked = page.wait(
        lambda: page.script(
            """
            return [...document.querySelectorAll('canvas')].filter(c => {
                const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
                let n = 0; for (let i = 3; i < d.length; i += 4) n += d[i] > 0; return n > 500;
            }).length
            """
        ) >= 2,
        "both pictures",
    )
    assert inked
    slider = page.role("slider", "Degree shown")
    slider.send_keys(Keys.ARROW_LEFT)
    page.wait(lambda: slider.get_attribute("value") == "4", "the slider")
    svg = page.downloaded("Download picture (SVG)")
    assert svg.lstrip().startswith("<svg") or "<svg" in svg[:200]
    assert "<script" not in svg
    plot = page.driver.find_element(By.CSS_SELECTOR, "canvas[tabindex], [tabindex] canvas")
    plot.send_keys(Keys.ARROW_RIGHT)
    page.wait(lambda: "about" in page.text("aside"), "the read-out")


def test_ancestry_is_shown_on_focus(page):
    page.work("y'' = x y'", "y(0) = 1, y'(0) = 2", 5)
    worked(page, "order-5")
    term = page.driver.find_element(By.CSS_SELECTOR, "[data-key='order-4'] [data-term]")
    page.script("arguments[0].focus()", term)
    page.wait(lambda: page.script("return document.querySelectorAll('[data-term].lit').length") >= 2, "related terms to light up")


def test_a_formula_is_put_to_the_test_and_kept(page):
    page.work("y'' + y = 0", "y(0) = 1, y'(0) = 2", 5)
    worked(page, "order-5")
    assert not page.script("return document.getElementById('testing').open")
    page.driver.find_element(By.CSS_SELECTOR, "#testing summary").click()
    page.type("Formula", "y = cos x + 2 sin x")
    page.wait(lambda: "this formula is the solution" in page.row("candidate"), "the formula to be the solution")
    page.script("document.getElementById('curves').scrollIntoView({block: 'center'})")
    page.screenshot(ARTEFACTS / f"formula-{page.driver.engine}.png")
    page.type("Formula", "y = cos x + 3 sin x")
    page.wait(lambda: "not the solution" in page.row("candidate"), "the slip to be found")
    assert "not satisfied" in page.row("candidate")
    worked(page, "candidate")
    # The address carries it, and the field is open then.
    here = page.driver.current_url.split("#")[1]
    assert "candidate=" in here
    page.open(here)
    worked(page, "candidate")
    assert page.field("Formula").is_displayed()
    assert page.field("Formula").get_property("value") == "y = cos x + 3 sin x"
    # Half a formula is no reason to lose the worksheet.
    page.type("Formula", "y = cos(")
    page.wait(lambda: "missing behind" in page.messages(), "the message")
    assert page.state() == "ready" and "order-5" in page.keys()


def test_ways_of_writing_are_listed_on_a_page_of_their_own(page):
    page.work(r"\ddot{\theta} + 9\sin\theta = 0", r"\theta = \frac{\pi}{6}, \dot\theta = 0 at t = 0", 4)
    worked(page, "order-4")
    page.role("link", "ways of writing").click()
    page.wait(lambda: "Ways of writing" in page.text("h1"), "the page on ways of writing")
    assert r"\frac{dy}{dx} = x y" in page.text("td")
    sizes = "const d = document.documentElement; return d.scrollWidth - d.clientWidth"
    assert page.script(sizes) <= 1
    assert page.violations() == []


def test_copying_the_polynomial(page):
    page.work(*AIRY, 3)
    worked(page, "order-3")
    page.script("navigator.clipboard && (navigator.clipboard.writeText = async t => { window.copied = t; });")
    for button, mark in [("Copy as LaTeX", "\\frac"), ("Copy as MathML", "<math"), ("Copy as plain text", "x^3/6"), ("Copy as Markdown", "$")]:
        page.script("window.copied = ''")
        page.press(button)
        page.wait(lambda: mark in (page.script("return window.copied") or ""), f"{button} to copy {mark}")


def test_keyboard_alone_reaches_everything(page):
    page.script("document.activeElement?.blur()")
    names = []
    for _ in range(40):
        page.driver.switch_to.active_element.send_keys(Keys.TAB)
        active = page.driver.switch_to.active_element
        names.append(active.accessible_name)
    for needed in ["Equation", "Conditions", "Degree"]:
        assert needed in names, names


@pytest.mark.parametrize("width", [360, 768, 1280, 1920])
def test_nothing_overflows_sideways(page, width):
    page.driver.set_window_size(width, 900)
    page.work("y'' = 2(1 - y^2) y' - y", "y(0) = 1/2, y'(0) = 1", 6)
    worked(page, "order-6")
    # Headless browsers do not go below about 450 px: a frame of the wanted width is the phone.
    if page.script("return innerWidth") > width:
        here = page.driver.current_url
        page.driver.get(urllib.parse.urljoin(here, f"/phone?{width}"))
        page.script("document.getElementById('phone').src = arguments[0]", here)
        page.wait(
            lambda: page.script("return document.getElementById('phone').contentDocument?.body?.dataset.state") == "ready", "the phone"
        )
        sizes = "const d = document.getElementById('phone').contentDocument.documentElement; return [d.scrollWidth, d.clientWidth]"
        assert page.script("return document.getElementById('phone').contentWindow.innerWidth") == width
    else:
        sizes = "const d = document.documentElement; return [d.scrollWidth, d.clientWidth]"
    scroll, client = page.script(sizes)
    assert scroll <= client + 1, (scroll, client)
    page.screenshot(ARTEFACTS / f"width-{width}-{page.driver.engine}.png")


def test_no_request_leaves_the_site(page):
    page.work(*AIRY, 8)
    worked(page, "order-8")
    origin = page.script("return location.origin")
    asked = page.script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert asked
    assert all(name.startswith((origin, "blob:", "data:")) for name in asked), asked
    strays = [p for p in Handler.asked if not p.startswith(SUB_PATH + "/") and p != "/favicon.ico"]
    assert not strays, strays


def test_accessibility_checker_finds_nothing(page):
    page.work("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 5)
    worked(page, "order-5")
    assert page.violations() == []
    page.work("x y'' + y = 0", "y(0) = 1, y'(0) = 0")
    page.wait(lambda: "singular" in page.messages(), "the message")
    assert page.violations() == []


def test_accessibility_checker_finds_nothing_in_the_dark(page):
    if page.driver.engine != "chromium":
        pytest.skip("only this driver can ask for the dark scheme")
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": "dark"}]})
    try:
        page.work("y' = y(1 - y/4)", "y(0) = 1", 5)
        worked(page, "order-5")
        assert page.violations() == []
        page.screenshot(ARTEFACTS / "dark.png")
    finally:
        page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_a_newer_request_supersedes_a_slow_one(page):
    page.work("y'''' = tan(sin(y) + exp(y' y''))/(2 + cos(y''')) + sqrt(4 + y^2)", "y(0)=1/3, y'(0)=1/7, y''(0)=1/5, y'''(0)=1/9", 50)
    page.work(*AIRY, 4)
    page.wait(lambda: page.state() == "ready" and "order-4" in page.keys() and "order-5" not in page.keys(), "the newer problem")


def test_printing_gives_the_worked_solution(page):
    if page.driver.engine == "webkit":
        pytest.skip("this driver cannot print")
    page.work("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 5)
    worked(page, "order-5")
    import base64

    ARTEFACTS.mkdir(exist_ok=True)
    pdf = ARTEFACTS / f"print-{page.driver.engine}.pdf"
    for old in ARTEFACTS.glob(f"print-{page.driver.engine}-*.png"):
        old.unlink()
    pdf.write_bytes(base64.b64decode(page.driver.print_page()))
    subprocess.run(["pdftoppm", "-r", "60", "-png", pdf, pdf.with_suffix("")], check=True)
    pages = sorted(ARTEFACTS.glob(f"print-{page.driver.engine}-*.png"))
    assert 1 <= len(pages) <= 6, "a worked solution of degree 5 fits a few sheets"


def test_pointing_at_the_plot_reads_it_out(page):
    page.work(*AIRY, 5)
    worked(page, "order-5")
    canvas = page.driver.find_element(By.CSS_SELECTOR, "canvas")
    page.script("arguments[0].scrollIntoView({block: 'center'})", canvas)
    ActionChains(page.driver).move_to_element_with_offset(canvas, 40, 0).perform()
    page.wait(lambda: "about" in page.text("aside"), "the read-out")


def test_letters_stay_in_the_ledger_and_numbers_drive_the_plot(page):
    page.work("y'' + c y' + k y = 0", "y(0) = a, y'(0) = b", 4)
    worked(page, "general")
    ledger = page.text("#rows")
    assert "order-4" in page.keys() and "General solution" in ledger, ledger
    assert page.wait(lambda: page.text("#drawn-for") == "Drawn for c = 1, k = 1, a = 1, b = 1.", "the first picture")
    # A slider, by keyboard: the picture changes, no row does.
    before = page.text("#rows"), page.text("#readout")
    slider = page.role("slider", "k")
    for _ in range(20):
        slider.send_keys(Keys.ARROW_RIGHT)
    page.wait(lambda: "k = 3" in page.text("#drawn-for") and page.state() == "ready", "a picture for k = 3")
    assert page.field("k").get_attribute("value") == "3"
    assert page.text("#rows") == before[0]
    assert page.text("#readout") != before[1]
    # A number, typed; one that cannot be read is said to be so, and the ledger stays.
    page.type("c", "1/")
    page.wait(lambda: page.text("#letters-notes"), "a message about the number")
    assert "order-4" in page.keys()
    page.type("c", "1/4")
    page.wait(lambda: "c = 1/4" in page.text("#drawn-for"), "a picture for c = 1/4")
    # All of it comes back with a reload, and with a link.
    page.wait(lambda: "c%3D1%2F4" in page.script("return location.hash"), "the address to follow")
    fragment = page.script("return location.hash.slice(1)")
    page.driver.refresh()
    page.wait_ready()
    page.wait(lambda: "c = 1/4, k = 3, a = 1" in page.text("#drawn-for"), "the same picture")
    page.open_fresh(fragment)
    page.wait(lambda: page.field("k").get_attribute("value") == "3", "the same number")
    # Without letters there is nothing to set.
    page.work(*AIRY, 4)
    page.wait(lambda: page.script("return document.getElementById('letters').hidden"), "the numbers to go")


def test_no_conditions_are_no_mistake(page):
    page.work("(1 - x^2) y'' - 2x y' + n(n+1) y = 0", "", 6)
    worked(page, "general")
    page.wait(lambda: "c₀" in page.text("#notes") and "write y(0) = 1" in page.text("#notes"), "the notice")
    assert page.wait(lambda: "n = 1" in page.text("#drawn-for"), "a picture")


def test_an_answer_without_a_polynomial_shows_its_lines(page):
    page.work("x y' = 2y", "y(0) = 0", 4)
    page.wait(lambda: "free" in page.messages(), "the free value")
    # The ledger is this problem's, not an earlier one's.
    given = lambda: page.row("given").replace("\N{INVISIBLE TIMES}", "")
    page.wait(lambda: "xy′=2y" in given(), "its ledger")
    page.press("write y''(0) = 1")
    worked(page, "order-4")
    page.work("x y' = y + x", "y(0) = 0", 4)
    page.wait(lambda: "xy′=y+x" in given(), "the ledger of a contradiction")
    page.work("x y'' + y' + x y = 0", "y(0) = 1", 6)
    worked(page, "order-6")
    assert "Forced by the equation" in page.row("order-1")


def test_a_branch_is_chosen_by_its_slope(page):
    page.work("y'^2 = 1 + y", "y(0) = 3", 4)
    page.wait(lambda: "write y'(0) = -2" in page.messages(), "the choice")
    page.press("write y'(0) = -2")
    worked(page, "order-4")
    assert page.field("Conditions").get_property("value") == "y(0) = 3, y'(0) = -2"


def test_a_root_without_a_closed_form_is_chosen(page):
    """One of three enclosed roots; the address keeps the choice."""
    page.work("y'^3 - 3y' + 1 = y", "y(0) = 0", 3)
    page.wait(lambda: "write y'(0) ≈ 0.3473" in page.messages(), "the choice")
    page.press("write y'(0) ≈ 0.3473")
    worked(page, "order-3")
    chosen = "y(0) = 0, y'(0) ≈ 0.3473"
    assert page.field("Conditions").get_property("value") == chosen
    page.open_fresh(page.script("return location.hash.slice(1)"))
    worked(page, "order-3")
    assert page.field("Conditions").get_property("value") == chosen
    assert "The one nearest to" in page.row("order-1") and "because" in page.row("order-2")


def test_more_certain_digits_on_request(page):
    """Thirty digits are enclosed when they are asked for, and the address says so."""
    page.open_fresh("equation=T'=-(T-12)/40&conditions=T(0)=80&degree=3&to=10&from=0")
    page.wait_ready()
    most = """document.getElementById("data").open = true; return Math.max(0, ...[...document.querySelectorAll("#table td")].map(cell => cell.textContent.replace(/\\D/g, "").length))"""
    page.wait(lambda: 15 <= page.script(most) < 25, "the table")
    page.script("document.querySelector('input[name=digits][value=\"30\"]').click()")
    page.wait(lambda: page.script(most) >= 30, "thirty digits")
    page.wait(lambda: "digits=30" in page.script("return location.hash"), "the address")
    page.open(page.script("return location.hash.slice(1)"))
    page.wait_ready()
    page.wait(lambda: page.script(most) >= 30, "thirty digits again")
    assert page.script("return document.querySelector('input[name=digits]:checked').value") == "30"
