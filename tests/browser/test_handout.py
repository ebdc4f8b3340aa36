"""Sheets to hand out: from the worksheet to paper and files."""

import base64
import re
import subprocess
import urllib.parse

import pytest
from conftest import ARTEFACTS, ROOT
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.common.print_page_options import PrintOptions

TIDE = {"equation": "y'' + (2 - cos 2t) y = 0", "conditions": "y(0) = 1, y'(0) = 0", "degree": "6"}
LAMP = {"equation": "dT/dt = -(T - 12)/40", "conditions": "T(0) = 90", "degree": "3"}
NATIVE = ROOT / "target" / "release" / "examples" / "handout"


def shown(page):
    page.wait(lambda: page.state() == "ready", "the paper")


def arrive(page, problem):
    page.driver.get("about:blank")
    page.driver.get(page.address + "handout.html#" + urllib.parse.urlencode(problem))
    shown(page)


def choose(page, *names):
    for name in names:
        kind = "checkbox" if name in ("pictures", "tables of values", "every rule on a line of its own") else "radio"
        page.role(kind, name).click()
        shown(page)


def sheets(page):
    return page.driver.find_elements(By.CSS_SELECTOR, ".sheet")


def cut(page):
    """Lines, rows of tables and pictures that are not whole on their sheet."""
    return page.script(
        """
        const out = [];
        for (const sheet of document.querySelectorAll('.sheet')) {
            const body = sheet.querySelector('.body').getBoundingClientRect();
            for (const line of sheet.querySelectorAll('.body > *, .lines > p, tr, .room > p, svg, math')) {
                const box = line.getBoundingClientRect();
                if (box.top < body.top - 1 || box.bottom > body.bottom + 1.5 || box.right > body.right + 1) out.push(line.outerHTML.slice(0, 200));
            }
        }
        return out;
        """
    )


def test_from_the_worksheet_to_three_papers(page):
    page.open_fresh(urllib.parse.urlencode(LAMP))
    link = page.role("link", "Hand out")
    page.script("arguments[0].focus()", link)
    link.send_keys(Keys.ENTER)
    page.wait(lambda: "handout.html" in page.driver.current_url, "the page of hand-outs")
    shown(page)
    arrive(page, TIDE)
    page.press("add this problem to it")
    shown(page)
    text = page.text(".sheet")
    assert "Find the Taylor polynomial of degree 6" in text and "degree 3" in text
    assert len(page.driver.find_elements(By.CSS_SELECTOR, ".sheet .room p")) == 16
    assert not page.driver.find_elements(By.CSS_SELECTOR, ".sheet .row"), "no line of the work on the problem sheet"
    assert cut(page) == []
    choose(page, "worked solutions", "every rule on a line of its own", "pictures", "tables of values")
    assert "esidual" not in page.text(".sheet") and "twice" not in page.text(".sheet")
    assert cut(page) == []
    page.screenshot(ARTEFACTS / f"handout-{page.driver.engine}.png")
    choose(page, "answer key")
    assert page.text(".sheet").count("Each value was found twice") == 2
    assert cut(page) == []
    count = len(sheets(page))
    feet = [e.text for e in page.driver.find_elements(By.CSS_SELECTOR, ".foot > :last-child")]
    assert count > 2 and feet == [f"{n + 1} / {count}" for n in range(count)]
    if page.driver.engine == "webkit":
        return  # this driver cannot print
    pdf = ARTEFACTS / f"handout-{page.driver.engine}.pdf"
    options = PrintOptions()
    options.page_width, options.page_height = 21.0, 29.7
    options.margin_top = options.margin_bottom = options.margin_left = options.margin_right = 0.0
    options.shrink_to_fit = False
    pdf.write_bytes(base64.b64decode(page.driver.print_page(options)))
    pages = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    assert int(re.search(r"Pages:\s+(\d+)", pages)[1]) == count, "a sheet is a page"
    words = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True, check=True).stdout
    assert "Back to the worksheet" not in words and f"2/{count}" in words.replace(" ", "")


def test_the_teachers_words_are_kept_in_the_file(page):
    arrive(page, TIDE)
    choose(page, "answer key")
    button = page.driver.find_element(By.CSS_SELECTOR, "[data-key=order-2] .edit")
    page.script("arguments[0].focus()", button)
    button.send_keys(Keys.ENTER)
    page.type("Reason", "Now put in $t = 0$")
    page.type("Remark below the line", "The gauge is <b>read</b> by hand.")
    marks = page.driver.find_element(By.CSS_SELECTOR, "#words [name=marks]")
    marks.send_keys("3", Keys.TAB)
    page.press("Keep")
    row = "[data-key=order-2]"
    page.wait(lambda: "Now put in" in page.text(f"{row} .why") and page.state() == "ready", "the reason")
    assert page.text(f"{row} .remark") == "The gauge is <b>read</b> by hand."
    assert page.text(f"{row} .marks") == "3" and "(3 marks)" in page.text("h2")
    assert page.driver.find_elements(By.CSS_SELECTOR, f"{row} .why math")
    page.driver.refresh()
    shown(page)
    assert "Now put in" in page.text(f"{row} .why"), "kept"
    # Of the students' paper the marks are gone, not the words; and changing a word there keeps marks.
    choose(page, "worked solutions")
    assert page.text(f"{row} .marks") == "" and page.text(f"{row} .remark")
    text = page.downloaded("worksheet file")
    assert "marks: order-2 = 3" in text and "reason order-2: Now put in $t = 0$" in text
    native = subprocess.run([NATIVE, "solution", "latex", "far"], input=text, capture_output=True, text=True, check=True).stdout
    assert page.downloaded("LaTeX") == native
    assert page.downloaded("coefficients (CSV)").startswith("problem,unknown,order,value,coefficient,decimal\r\n1,y,0,1,1,")


def test_small_screens_and_the_accessibility_checker(page):
    arrive(page, LAMP)
    choose(page, "answer key")
    assert page.violations() == []
    page.driver.set_window_size(500, 900)
    here = page.driver.current_url
    page.driver.get(urllib.parse.urljoin(here, "/phone?320"))
    page.script("document.getElementById('phone').src = arguments[0]", here)
    inside = "document.getElementById('phone').contentDocument"
    page.wait(lambda: page.script(f"return {inside}?.body?.dataset.state") == "ready", "the phone")
    scroll, client = page.script(f"const d = {inside}.documentElement; return [d.scrollWidth, d.clientWidth]")
    assert scroll <= client + 1
    if page.driver.engine == "chromium":
        page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": "dark"}]})
        try:
            arrive(page, LAMP)
            page.press("words of problem 1: dT/dt = -(T - 12)/40")
            assert page.violations() == []
            page.screenshot(ARTEFACTS / "handout-dark.png")
        finally:
            page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
