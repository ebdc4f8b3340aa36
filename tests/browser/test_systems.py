"""Systems of equations as a user meets them, in three engines."""

import subprocess
import sys

import pytest
from conftest import ARTEFACTS, ROOT
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from test_worksheet import AIRY, worked

sys.path.insert(0, str(ROOT / "tests" / "outside"))
import derive  # noqa: E402

OYSTERS = ("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1; v(0) = 2")
THREE = ("x' = y z; y' = -x z; z' = -x y/2", "x(0) = 0, y(0) = 1, z(0) = 1")


def strip(page):
    """The polynomial in the strip, without what MathML has between its letters."""
    text = page.text("#strip .lead .same, #strip .exact")
    return text.replace("\N{INVISIBLE TIMES}", "").replace("\N{FUNCTION APPLICATION}", "")


def inked(page, canvas):
    return page.script(
        """
        const c = document.getElementById(arguments[0]);
        const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
        let n = 0; for (let i = 3; i < d.length; i += 4) n += d[i] > 0; return n
        """,
        canvas,
    )


def test_one_ledger_takes_turns_and_each_unknown_has_its_polynomial(page):
    page.work(*OYSTERS, 4)
    worked(page, "order-1-4")
    orders = [key for key in page.keys() if key.startswith("order-")]
    assert orders == [f"order-{unknown}-{order}" for order in range(5) for unknown in (0, 1)]
    assert "Every line needs only values that stand above it" in page.row("turns")
    assert "product rule" in page.row("order-1-2")
    assert page.wait(lambda: "u4(t)" in strip(page), "the strip of u") and "1124t4" in strip(page)
    for key in ("polynomial-0", "polynomial-1", "residual-0", "residual-1"):
        assert key in page.keys()
    # The other unknown, by keyboard.
    chosen = page.role("radio", "u")
    assert chosen.is_selected()
    chosen.send_keys(Keys.ARROW_RIGHT)
    page.wait(lambda: "v4(t)" in strip(page) and "112t4" in strip(page), "the strip of v")
    page.wait(lambda: "v4" in page.text("#readout"), "the read-out of v")
    # The keyboard stays where it was, and leads back.
    page.driver.switch_to.active_element.send_keys(Keys.ARROW_LEFT)
    page.wait(lambda: "u4(t)" in strip(page), "the strip of u again")
    page.driver.switch_to.active_element.send_keys(Keys.ARROW_RIGHT)
    page.wait(lambda: "v4(t)" in strip(page), "the strip of v again")
    # The choice comes back with a reload.
    page.wait(lambda: "unknown=v" in page.script("return location.hash"), "the address to follow")
    page.driver.refresh()
    page.wait_ready()
    page.wait(lambda: "v4(t)" in strip(page), "the strip of v after a reload")
    assert page.role("radio", "v").is_selected()


def test_the_phase_plane_has_a_name_and_is_read_by_keyboard(page):
    page.work(*OYSTERS, 5)
    worked(page, "order-1-5")
    page.wait(lambda: inked(page, "phase") > 500, "the phase plane")
    names = []
    page.script("document.getElementById('shown').focus()")
    for _ in range(3):
        page.driver.switch_to.active_element.send_keys(Keys.TAB)
        names.append(page.driver.switch_to.active_element.accessible_name)
        if names[-1].startswith("Phase plane"):
            break
    assert names[-1].startswith("Phase plane: one unknown against another"), names
    before = page.text("#readout")
    page.driver.switch_to.active_element.send_keys(Keys.ARROW_LEFT)
    page.wait(lambda: page.text("#readout") != before, "the read-out to move")
    dot = lambda: page.script("return document.getElementById('phase-solution').style.transform")
    here = dot()
    page.driver.switch_to.active_element.send_keys(Keys.ARROW_LEFT)
    page.wait(lambda: dot() != here, "the dot to follow")
    page.script("document.getElementById('phase').scrollIntoView({block: 'center'})")
    page.screenshot(ARTEFACTS / f"phase-{page.driver.engine}.png")
    # One equation has none.
    page.work(*AIRY, 4)
    worked(page, "order-4")
    page.wait(lambda: not page.driver.find_element(By.ID, "phase").is_displayed(), "the phase plane to go")
    assert not page.driver.find_element(By.ID, "followed").is_displayed()


def test_any_two_of_three_unknowns_stand_against_each_other(page):
    page.work(*THREE, 5)
    worked(page, "order-2-5")
    page.wait(lambda: inked(page, "phase") > 500, "the phase plane")
    across, up = page.role("combobox", "across"), page.role("combobox", "upwards")
    assert (across.get_property("value"), up.get_property("value")) == ("x", "y")
    before = page.script("return document.getElementById('phase').toDataURL()")
    up.send_keys("z")
    page.wait(lambda: page.script("return document.getElementById('phase').toDataURL()") != before, "another picture")
    # An unknown that is there already changes places.
    page.role("combobox", "across").send_keys("z")
    page.wait(lambda: page.role("combobox", "upwards").get_property("value") == "x", "them to change places")
    page.wait(lambda: "across=z" in page.script("return location.hash"), "the address to follow")


@pytest.mark.parametrize(
    ("equations", "conditions", "degree"),
    [(*OYSTERS, 6), ("x'' = -3y\ny' = x", "x(0) = 1, x'(0) = 0, y(0) = 2", 7), ("u' + v' = t - u; u' - v' = 2v", "u(0) = 4; v(0) = 1", 5)],
    ids=["predator", "mixed", "coupled"],
)
def test_the_download_is_what_the_machine_prints(page, equations, conditions, degree):
    """The same bytes natively and in this engine's wasm."""
    page.work(equations, conditions, degree)
    worked(page, f"order-1-{degree}")
    ours = page.downloaded("Download data (JSON)")
    native = subprocess.run(
        [derive.BINARY, equations, conditions, "--degree", str(degree)], capture_output=True, text=True, check=True
    )
    assert ours.strip() == native.stdout.strip()


def test_lines_are_typed_below_each_other_and_the_field_makes_room(page):
    field = page.field("Equation")
    page.work("x' = 2x - y\ny' = x", "x(0) = 1\ny(0) = 0", 3)
    worked(page, "order-1-3")
    assert field.get_property("rows") == 2
    assert page.field("Conditions").get_property("rows") == 2
    page.work(*AIRY, 3)
    worked(page, "order-3")
    assert field.get_property("rows") == 1


def test_what_is_missing_is_named_and_one_click_adds_it(page):
    page.work("u' = v; v' = -u", "u(0) = 1", 3)
    page.wait(lambda: "v(0) is missing" in page.messages(), "the message")
    page.press("write v(0) = 1")
    worked(page, "order-1-3")
    assert page.field("Conditions").get_property("value") == "u(0) = 1, v(0) = 1"
    page.work("x' = x + y; x = y", "x(0) = 1, y(0) = 1", 3)
    page.wait(lambda: "no derivative in this equation" in page.messages(), "the message about the second equation")
    assert page.text("#equation-marks mark") == "x = y"


def test_accessibility_checker_finds_nothing_about_a_system(page):
    page.work(*THREE, 4)
    worked(page, "order-2-4")
    page.wait(lambda: inked(page, "phase") > 500, "the phase plane")
    assert page.violations() == []
