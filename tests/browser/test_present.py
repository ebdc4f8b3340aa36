"""Presenting the ledger to a room, by keyboard alone."""

import urllib.parse

import pytest
from conftest import ARTEFACTS
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from screens import has_screens, wishing

PROBLEM = urllib.parse.urlencode({"equation": "y'' = x y' + y^2", "conditions": "y(0) = 1, y'(0) = 2", "degree": "4"})


def keys(page, *pressed):
    for key in pressed:
        ActionChains(page.driver).send_keys(key).perform()


def begin(page):
    page.open_fresh(PROBLEM)
    button = page.role("button", "Present")
    page.script("arguments[0].focus()", button)
    button.send_keys(Keys.ENTER)
    page.wait(lambda: page.script("return document.documentElement.dataset.present") == "yes", "the presentation")


def place(page):
    return urllib.parse.parse_qs(page.script("return location.hash")[1:])["present"][0]


def at(page, where):
    return page.wait(lambda: place(page) == where, f"the place {where}")


def seen(page, css):
    """The texts of what a selector finds and a person can see."""
    # In one go: rows may be replaced while they are read.
    return page.script(
        "return [...document.querySelectorAll(arguments[0])].filter(e => e.getClientRects().length && e.checkVisibility({ visibilityProperty: true })).map(e => e.innerText.trim())",
        css,
    )


def test_one_line_at_a_time_with_what_is_known(page):
    begin(page)
    at(page, "given.0")
    assert len(seen(page, "#rows .row .work")) == 1
    assert not seen(page, "#strip [data-degree]"), "no value is known yet"
    keys(page, "3")
    at(page, "order-3.0")
    assert len(seen(page, "#rows .at")) == 1 and not seen(page, "#rows .ahead")
    known = " ".join(seen(page, "#rows .known"))
    assert known.count("=") == 3, known
    keys(page, *[Keys.PAGE_DOWN] * 2)
    at(page, "order-3.2")
    known = " ".join(seen(page, "#rows .known"))
    assert known.count("=") == 4, known
    assert len(seen(page, "#strip [data-degree]")) == 4
    assert page.script("return document.getElementById('shown').value") == "3", "the plot has gained a curve"
    keys(page, Keys.PAGE_UP, Keys.ARROW_LEFT, Keys.ARROW_LEFT)
    page.wait(lambda: place(page).startswith("order-2."), "the row before")
    keys(page, Keys.END)
    page.wait(lambda: not page.script("return document.querySelector('#far-rows > .row.now').nextElementSibling"), "the last row")
    keys(page, Keys.HOME)
    at(page, "given.0")


def test_how_far_comes_behind_the_ledger(page):
    # The address leads there before the numerical solution has come.
    page.open_fresh(PROBLEM + "&present=far-radius.0")
    dataset = "return document.documentElement.dataset.far"
    page.wait(lambda: page.script(dataset) == "plane", "the radius")
    page.wait(lambda: seen(page, "#far-rows .at"), "its row")
    assert not seen(page, "#rows .row .work")
    page.wait(lambda: seen(page, "#plane"), "the complex plane")
    assert not seen(page, "#curves")
    keys(page, Keys.END)
    page.wait(lambda: page.script(dataset) == "plot", "the tolerance")
    assert place(page).startswith("within-0-4."), "of the polynomial's own degree"
    assert len(seen(page, "#far-rows .at")) == 1 and not seen(page, "#plane")
    assert page.script("return document.getElementById('curves').checkVisibility({ visibilityProperty: true })")
    inside, width = page.script("return [window.innerHeight, window.innerWidth]")
    for css in ["#far-rows .at", "#strip", "#curves"]:
        box = page.script("const b = document.querySelector(arguments[0]).getBoundingClientRect(); return [b.top, b.bottom, b.right]", css)
        assert box[0] >= -1 and box[1] <= inside + 1 and box[2] <= width + 1, (css, box)
    keys(page, Keys.HOME)
    at(page, "given.0")
    assert len(seen(page, "#rows .row .work")) == 1 and not seen(page, "#far-rows .row")
    keys(page, Keys.ESCAPE)
    page.wait(lambda: seen(page, "#far-rows .row"), "the section on the worksheet again")


@pytest.mark.parametrize(("width", "height"), [(1280, 720), (1920, 1080), (1024, 768)])
def test_the_line_in_focus_can_be_read_from_the_back(page, width, height):
    begin(page)
    page.driver.set_window_size(width, height)
    keys(page, "4", Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    page.wait(lambda: place(page).startswith("order-4."), "degree 4")
    size, inside = page.script("return [parseFloat(getComputedStyle(document.querySelector('#rows .at .terms')).fontSize), window.innerHeight]")
    assert size >= inside / 25, (size, inside)
    # Nothing is cut off at the sides, and the line, the strip and the picture are in sight.
    assert page.script("return document.documentElement.scrollWidth <= window.innerWidth")
    for css in ["#rows .at", "#strip", "#curves", "#presenting"]:
        top, bottom, right = page.script(
            "const b = document.querySelector(arguments[0]).getBoundingClientRect(); return [b.top, b.bottom, b.right]", css
        )
        assert top >= -1 and bottom <= inside + 1, (css, top, bottom, inside)
        assert right <= page.script("return window.innerWidth") + 1, css
    page.screenshot(ARTEFACTS / f"present-{width}-{page.driver.engine}.png")


def test_a_reload_shows_the_same_place_and_a_visit_begins_with_the_worksheet(page):
    begin(page)
    keys(page, "2", Keys.ARROW_RIGHT)
    at(page, "order-2.1")
    page.driver.refresh()
    page.wait_ready()
    page.wait(lambda: len(seen(page, "#rows .at")) == 1, "the line")
    assert place(page) == "order-2.1" and "order-2" == page.script("return document.querySelector('#rows .now').dataset.key")
    page.open("")
    assert page.script("return document.documentElement.dataset.present") != "yes"
    assert "y^2" in page.field("Equation").get_attribute("value")


def test_the_room_is_asked_before_it_is_told(page):
    begin(page)
    keys(page, "3", "h", Keys.ARROW_RIGHT)
    at(page, "order-3.1.ask")
    visible = "return [...document.querySelectorAll('#rows .at .t.value, #rows .at .t.gone small')].map(e => getComputedStyle(e).visibility)"
    assert set(page.script(visible)) == {"hidden"}
    assert len(page.script(visible)) == 2, "the value, and why a term vanishes"
    keys(page, " ")
    at(page, "order-3.1")
    assert set(page.script(visible)) == {"visible"}


def test_dark_screen_detail_and_leaving(page):
    begin(page)
    keys(page, "3", ".")
    page.wait(lambda: page.script("return document.documentElement.dataset.blank") == "yes", "the dark screen")
    keys(page, Keys.ARROW_RIGHT)
    page.wait(lambda: page.script("return document.documentElement.dataset.blank") == "no", "light")
    assert place(page) == "order-3.0", "light first, without a step"
    lines = page.script("return document.querySelectorAll('#rows .now .work > *').length")
    keys(page, "d")
    page.wait(lambda: page.script("return document.querySelectorAll('#rows .now .work > *').length") > lines, "every rule")
    assert place(page) == "order-3.0"
    keys(page, Keys.ESCAPE)
    page.wait(lambda: page.script("return document.documentElement.dataset.present") == "no", "the worksheet")
    assert len(seen(page, "#rows .row .work")) > 1 and "present=" not in page.script("return location.hash")


def test_click_goes_on_and_at_the_left_goes_back(page):
    begin(page)
    keys(page, "3")
    at(page, "order-3.0")
    page.driver.find_element(By.ID, "curves").click()
    at(page, "order-3.1")
    page.driver.find_element(By.CSS_SELECTOR, "#rows .now .degree").click()
    at(page, "order-3.0")


def test_the_accessibility_checker_finds_nothing_while_presenting(page):
    begin(page)
    keys(page, "3", Keys.ARROW_RIGHT)
    at(page, "order-3.1")
    assert page.violations() == []


# Every text that can be seen, with how its color stands out from what is behind it (WCAG 2.2, relative
# luminance and contrast ratio; the formulas from memory), least first.
CONTRAST = """
const parts = color => { const [r, g, b, a = 1] = color.match(/[\\d.]+/g).map(Number); return [r, g, b, a]; };
const over = ([r, g, b, a], [x, y, z]) => [r * a + x * (1 - a), g * a + y * (1 - a), b * a + z * (1 - a), 1];
const light = ([r, g, b]) => [r, g, b].map(c => c / 255).map(c => c <= .04045 ? c / 12.92 : ((c + .055) / 1.055) ** 2.4).reduce((sum, c, n) => sum + c * [.2126, .7152, .0722][n], 0);
const out = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let text; (text = walker.nextNode());) {
    const e = text.parentElement;
    if (!text.data.trim() || !e.checkVisibility({ visibilityProperty: true })) continue;
    const box = e.getBoundingClientRect();
    if (box.right < 0 || box.bottom < 0) continue;
    let behind = [255, 255, 255, 1];
    const layers = [];
    for (let n = e; n; n = n.parentElement) layers.unshift(parts(getComputedStyle(n).backgroundColor));
    for (const layer of layers) behind = over(layer, behind);
    const front = over(parts(getComputedStyle(e).color), behind);
    const [a, b] = [light(front), light(behind)].sort((a, b) => b - a);
    out.push([(a + .05) / (b + .05), text.data.trim().slice(0, 40), e.className.toString()]);
}
return out.sort((a, b) => a[0] - b[0]);
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everything_stands_out_seven_to_one(page, scheme):
    if scheme == "dark" and not has_screens(page.driver):
        pytest.skip("its driver has no other schemes")
    with wishing(page.driver, scheme):
        begin(page)
        texts = 0
        for degree in "245":  # degree 5 is beyond the last: the last row stays
            keys(page, degree, Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
            found = page.script(CONTRAST)
            texts += len(found)
            assert found[0][0] >= 7, found[:4]
        assert texts > 100, texts


def test_a_finger_goes_on_and_back_and_the_list_jumps(page):
    begin(page)
    keys(page, "3")
    at(page, "order-3.0")
    if page.driver.engine != "webkit":  # its driver has no fingers

        def tap(css):
            finger = ActionBuilder(page.driver, mouse=PointerInput("touch", "finger"))
            action = finger.pointer_action
            action.move_to(page.driver.find_element(By.CSS_SELECTOR, css)).pointer_down().pointer_up()
            finger.perform()

        tap("#curves")
        at(page, "order-3.1")
        tap("#rows .now .degree")
        at(page, "order-3.0")
    # The list of rows, by keyboard: its keys stay its own.
    rows = page.driver.find_element(By.ID, "present-row") if page.driver.engine == "webkit" else page.role("combobox", "row")
    page.script("arguments[0].focus()", rows)
    before = place(page)
    if page.driver.engine == "webkit":  # there the list opens in a window of its own
        page.script("arguments[0].value = '1'; arguments[0].dispatchEvent(new Event('change', { bubbles: true }))", rows)
    else:
        rows.send_keys(Keys.ARROW_UP)
        if page.driver.engine == "firefox":
            rows.send_keys(Keys.ENTER)
    page.wait(lambda: place(page) != before and len(seen(page, "#rows .at")) == 1, "another row")


def test_a_second_window_shows_the_same_place(page):
    begin(page)
    keys(page, "3", Keys.PAGE_DOWN)
    at(page, "order-3.1")
    here = page.script("return location.href")
    line = seen(page, "#rows .at")
    first = page.driver.current_window_handle
    page.driver.switch_to.new_window("window")
    try:
        page.driver.get(here)
        page.wait_ready()
        page.wait(lambda: seen(page, "#rows .at") == line, "the same line")
        assert place(page) == "order-3.1"
    finally:
        page.driver.close()
        page.driver.switch_to.window(first)


def test_nothing_moves_for_those_who_want_it_still(page):
    if not has_screens(page.driver):
        pytest.skip("its driver cannot ask for stillness")
    with wishing(page.driver, "still"):
        begin(page)
        for key in ("3", Keys.PAGE_DOWN, Keys.PAGE_DOWN, "d", "b", "b"):
            keys(page, key)
            moving = """
                const still = e => { const s = getComputedStyle(e); return s.animationName === 'none' && /^0s(, 0s)*$/.test(s.transitionDuration) && s.scrollBehavior === 'auto'; };
                return [document.getAnimations().length, [...document.querySelectorAll('*')].filter(e => !still(e)).map(e => e.outerHTML.slice(0, 80)).slice(0, 3)];
            """
            assert page.script(moving) == [0, []]
