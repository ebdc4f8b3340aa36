"""What the page does when things go wrong around it, and how its parts follow each other."""

import urllib.parse

import pytest
from conftest import SUB_PATH
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.select import Select

AIRY = ("y'' = x y", "y(0) = 1, y'(0) = 0")
LONG = ("(1+u)u' + v' = w; u' + (2+w) v' - w' = u v; v' + sin(t) w' + u' = 1 - w^2/3", "u(0)=1, v(0)=2, w(0)=1/5")


def at(page, changed):
    """The page from the site with one file changed."""
    page.driver.get(urllib.parse.urljoin(page.address, f"/{changed}{SUB_PATH}/"))


def worked(page, key):
    page.wait(lambda: page.state() == "ready" and key in page.keys(), f"row {key}")


def typed(page, name):
    return page.field(name).get_attribute("value")


def test_a_trapped_worker_is_replaced_and_the_input_kept(page):
    at(page, "trapping")
    page.wait_ready()
    page.work("ω'' = x ω", "ω(0) = 1, ω'(0) = 0", 4)
    page.wait(lambda: "defect" in page.messages(), "the defect to be admitted")
    assert typed(page, "Equation") == "ω'' = x ω"
    page.wait(lambda: page.state() == "stale", "the page to settle")
    assert "order-2" in page.keys(), "the last good worksheet stays"
    page.work(*AIRY, 6)
    worked(page, "order-6")
    assert "defect" not in page.messages()


def test_without_a_worker_the_page_says_so(page):
    at(page, "workerless")
    page.wait(lambda: "could not be started" in page.messages(), "the page to say what is wrong")
    assert "order-2" in page.keys(), "the first example is still there to read"


def test_a_browser_that_keeps_nothing(page):
    at(page, "forgetful")
    page.wait_ready()
    page.work(*AIRY, 6)
    worked(page, "order-6")
    page.driver.refresh()
    page.wait_ready()
    assert typed(page, "Equation") == AIRY[0], "the address carries the problem all the same"


def test_what_was_typed_just_now_survives_a_reload_that_comes_unannounced(page):
    at(page, "abrupt")
    page.wait_ready()
    page.type("Equation", "y'' = 3 x y")
    page.driver.refresh()
    page.wait_ready()
    assert typed(page, "Equation") == "y'' = 3 x y"
    # Another address is another worksheet: what was typed over the first does not follow.
    page.load("equation=y'+%3D+x&conditions=y(0)+%3D+1&degree=4")
    assert typed(page, "Equation") == "y' = x"


def test_slow_work_can_be_stopped(page):
    page.work(*LONG, 50)
    stop = """
        const progress = document.getElementById('progress');
        if (progress.hidden) return false;
        document.getElementById('stop').click();
        return true;
    """
    page.wait(lambda: page.script(stop), "slow work to say so")
    page.wait(lambda: "Stopped" in page.messages() and page.state() == "stale", "the work to stop")
    assert typed(page, "Equation") == LONG[0]
    page.work(*AIRY, 4)
    worked(page, "order-4")


def test_back_and_forward_go_from_example_to_example(page):
    examples = page.role("combobox", "From the harbor")
    first = typed(page, "Equation")
    Select(examples).select_by_visible_text("The oyster beds")
    page.wait(lambda: "N" in typed(page, "Equation") and page.state() == "ready", "the oyster beds")
    second = typed(page, "Equation")
    assert second != first
    Select(examples).select_by_visible_text("The tide gauge")
    page.wait(lambda: "cos" in typed(page, "Equation") and page.state() == "ready", "the tide gauge")
    # By script: after its own "back" WebKit's driver waits for a page load that never comes.
    page.script("history.back()")
    page.wait(lambda: typed(page, "Equation") == second and page.state() == "ready", "the example before")
    page.script("history.forward()")
    page.wait(lambda: "cos" in typed(page, "Equation") and page.state() == "ready", "the example after")


@pytest.mark.parametrize(
    "fragment",
    ["%", "equation=%FF%00&degree=%F0", "equation=" + "(" * 9000, "conditions=y(0)=1", "<script>", "equation=y'=y&route=%00&depth=x&figures=", "a" * 40_000],
    ids=["percent", "bytes", "brackets", "no-equation", "markup", "switches", "long"],
)
def test_a_strange_address_does_no_harm(page, fragment):
    page.driver.get("about:blank")
    page.driver.get(page.address + "#" + fragment)
    page.wait(lambda: page.state() in ("ready", "stale"), "the page to settle")
    page.work(*AIRY, 4)
    worked(page, "order-4")


def test_the_interval_is_shown_when_chosen_and_corrected_at_its_fields(page):
    page.work(*AIRY, 4)
    worked(page, "order-4")
    page.wait(lambda: "chosen" in (page.field("From").get_attribute("placeholder") or ""), "the chosen interval")
    page.type("From", "-pi/2")
    page.type("To", "1.5")
    page.wait(lambda: page.state() == "ready" and not page.text("#interval-notes"), "the new interval")
    page.type("To", "−2")
    page.wait(lambda: "left end" in page.text("#interval-notes"), "the message by the fields")
    assert "true" in [page.field(name).get_attribute("aria-invalid") for name in ("From", "To")]


def test_the_degree_shown_is_marked_in_ledger_and_strip(page):
    page.work("y' = y(1 - y/4)", "y(0) = 1", 5)
    worked(page, "order-5")
    degrees = "return [...document.querySelectorAll(arguments[0])].map(e => e.dataset.degree).join()"
    page.script("document.querySelector('#strip [data-degree=\"2\"] .coefficient').click()")
    slider = page.role("slider", "Degree shown")
    page.wait(lambda: slider.get_attribute("value") == "2", "the slider to follow the strip")
    assert page.script(degrees, "#strip .beyond") == "3,4,5"
    assert page.script(degrees, "#rows .beyond") == "3,4,5"
    page.press("Degree 4: show it in the plot")
    page.wait(lambda: page.script(degrees, "#strip .current") == "4", "the strip to follow the row")


def test_decimals_say_about_only_when_they_are_rounded(page):
    lead = "return document.querySelector('#strip .lead').innerText"
    choose = "document.querySelector(`input[name=figures][value=${arguments[0]}]`).click()"
    for equation, sign, other in [("y' = y^2 - x", "=", "≈"), ("y' = y/3", "≈", "=")]:
        page.work(equation, "y(0) = 1/2", 2)
        worked(page, "order-2")
        page.script(choose, "decimals")
        assert sign in page.script(lead) and other not in page.script(lead)
        page.script(choose, "exact")
        assert "=" in page.script(lead)


def test_the_strip_never_hides_what_has_the_focus(page):
    page.driver.set_window_size(1100, 640)
    page.work("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 6)
    worked(page, "order-6")
    page.script("document.querySelector('input[name=depth]:checked').focus()")
    covered = """
        const one = document.activeElement, strip = document.getElementById('polynomial');
        if (!one.closest('#ledger')) return null;
        if (strip.contains(one)) return '';
        const box = one.getBoundingClientRect(), bar = strip.getBoundingClientRect();
        return box.bottom > bar.top + 1 && box.top < bar.bottom - 1 ? one.outerHTML.slice(0, 80) : '';
    """
    inside = 0
    for _ in range(60):
        page.driver.switch_to.active_element.send_keys(Keys.TAB)
        if page.script(covered) is None:
            break
        inside += 1
        # Rows are measured as they come into sight: it may take a moment to settle.
        page.wait(lambda: not page.script(covered), "the strip to uncover " + str(page.script(covered)))
    assert inside > 12, "the ledger's buttons and terms were reached"


def test_a_long_value_in_the_margin_is_not_cut_off(page):
    page.work("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 6)
    worked(page, "order-6")
    cut = page.script(
        """
        const row = document.querySelector("[data-key='order-6']");
        row.scrollIntoView({block: 'center'});
        const cell = row.querySelector('.known'), right = cell.getBoundingClientRect().right;
        const scrolls = e => getComputedStyle(e.closest('span')).overflowX === 'auto';
        const terms = [...cell.querySelectorAll(':scope > span math')];
        return [terms.length, terms.filter(e => e.getBoundingClientRect().right > right + 1 && !scrolls(e)).map(e => e.textContent)];
        """
    )
    assert cut[0] >= 3 and cut[1] == [], cut
