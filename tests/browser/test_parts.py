"""The module's two parts: most examples need the first one alone; everything else fetches the second,
whoever comes first to need it."""

from conftest import SUB_PATH, Handler
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select
from sheet import Sheet

# A right side with functions that no example has.
EQUATION, CONDITIONS = "y' = tan y + arcsin x", "y(0) = 1/3"

# How the page itself has fetched the second part; the worker's requests are not listed here.
FETCHED = "performance.getEntriesByType('resource').filter(e => e.name.endsWith('more.wasm')).map(e => e.initiatorType)"


def other(engine, address, name):
    """The same site with a file changed (CHANGED in conftest.py)."""
    # A page that was open before may still ask.
    engine.get("about:blank")
    Handler.asked.clear()
    sheet = Sheet(engine, address.replace(SUB_PATH, f"/{name}{SUB_PATH}"))
    sheet.open_fresh()
    return sheet


def asked(name):
    return sum(path.endswith("/" + name) for path in Handler.asked)


def settled(page, what):
    """Waits until everything is on the page, pictures too."""
    page.wait(lambda: page.state() == "ready" and not page.script("return document.getElementById('far').hidden"), what)
    page.driver.execute_async_script("const done = arguments[0]; setTimeout(() => requestAnimationFrame(() => done()), 300)")


def paste(page, name, text):
    """Empties a field and puts a text there in one step."""
    page.script(
        """
        const [field, text] = arguments;
        for (const value of ["", text]) {
            field.value = value;
            field.dispatchEvent(new InputEvent("input", { bubbles: true }));
        }
        """,
        page.field(name),
        text,
    )


def test_most_examples_need_the_first_part_alone(engine, address):
    page = other(engine, address, "lone")
    select = page.role("combobox", "From the harbor")
    # The page opens with the first one behind the invitation to choose.
    titles = [option.text for option in Select(select).options][1:]
    assert len(titles) >= 9, titles
    needy = []
    for title in titles:
        before = page.field("Equation").get_attribute("value")
        Select(page.role("combobox", "From the harbor")).select_by_visible_text(title)
        page.wait(lambda: page.field("Equation").get_attribute("value") != before or title == titles[0], title)
        settled(page, title)
        slider = page.role("slider", "Degree shown")
        slider.send_keys(Keys.HOME, Keys.ARROW_RIGHT)
        page.role("radio", "every rule").click()
        settled(page, title)
        page.role("radio", "one line per derivative").click()
        for field in ("Equation", "Conditions"):
            paste(page, field, page.field(field).get_attribute("value"))
            settled(page, title)
        # Whoever needed it has asked, and said that it is not there.
        if asked("no-such-part.wasm"):
            needy.append(title)
            Handler.asked.clear()
            page.open_fresh()
    # What runs depends a little on the engine and on its speed; the example that the page opens with
    # never needs it.
    assert titles[0] not in needy and 2 * len(needy) < len(titles), needy


def test_the_page_needs_the_first_part_alone_while_an_example_is_typed(engine, address):
    # Who pauses within a line asks the worker about half of it, and that may need the second part.
    page = other(engine, address, "unhurried")
    titles = [option.text for option in Select(page.role("combobox", "From the harbor")).options][:0:-1]
    for title in titles[::3]:
        Select(page.role("combobox", "From the harbor")).select_by_visible_text(title)
        page.wait_ready()
        for field in ("Equation", "Conditions"):
            page.type(field, page.field(field).get_attribute("value"))
        page.wait_ready()
        assert page.script(f"return {FETCHED}") == [], title


def test_the_worker_fetches_the_second_part_when_it_needs_it(engine, address):
    # No other test has this address, so the browser has kept nothing from there.
    page = other(engine, address, "patient")
    page.work(EQUATION, CONDITIONS, "3")
    page.wait(lambda: page.state() == "ready" and "order-3" in page.keys(), "the answer")
    assert asked("more.wasm") >= 1
    assert "tan" in page.text("#rows") and "broke" not in page.messages()


def test_the_page_fetches_the_second_part_when_it_needs_it(engine, address):
    page = other(engine, address, "needy")
    page.work(EQUATION, CONDITIONS, "3")
    page.wait(lambda: page.state() == "ready" and "order-3" in page.keys(), "the answer")
    assert "xmlhttprequest" in page.script(f"return {FETCHED}")


def test_without_the_second_part_its_lack_is_said_and_examples_work_on(engine, address):
    page = other(engine, address, "lone")
    page.work(EQUATION, CONDITIONS, "3")
    page.wait(lambda: "could not be fetched" in page.messages(), "the message")
    assert "defect" not in page.messages()
    titles = [option.text for option in Select(page.role("combobox", "From the harbor")).options]
    Select(page.role("combobox", "From the harbor")).select_by_visible_text(titles[-1])
    page.wait(lambda: page.state() == "ready", "an example")
    assert "could not be fetched" not in page.messages()


def test_a_second_part_of_another_version_is_refused(engine, address):
    page = other(engine, address, "strange")
    page.work(EQUATION, CONDITIONS, "3")
    page.wait(lambda: "could not be fetched" in page.messages(), "the message")
