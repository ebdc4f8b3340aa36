"""The worksheet as its user knows it: fields by their labels, buttons by their names."""

import time
from pathlib import Path

from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.keys import Keys

ROOT = Path(__file__).resolve().parents[2]

CANDIDATES = {
    "textbox": "input:not([type]), input[type=text], textarea, [role=textbox]",
    "button": "button, [role=button]",
    "slider": "input[type=range], [role=slider]",
    "combobox": "select, [role=combobox]",
    "checkbox": "input[type=checkbox]",
    "radio": "input[type=radio]",
    "region": "section, [role=region]",
    "img": "canvas, img, [role=img]",
    "link": "a[href]",
}


class Sheet:
    def __init__(self, driver, address):
        self.driver = driver
        self.address = address

    def open_fresh(self, fragment=""):
        # A page of the same origin that starts nothing.
        self.driver.get(self.address + "writing.html")
        self.driver.execute_script("try { localStorage.clear() } catch {}")
        self.load(fragment)

    def open(self, fragment=""):
        # A changed fragment alone does not reload a page.
        self.driver.get("about:blank")
        self.load(fragment)

    def load(self, fragment):
        self.driver.get(self.address + ("#" + fragment if fragment else ""))
        self.wait_ready()

    def script(self, code, *arguments):
        return self.driver.execute_script(code, *arguments)

    def wait(self, condition, what, seconds=30):
        # Long enough for a machine that does other things: three browsers share it with other checks.
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                found = condition()
            except Exception as error:  # an element was replaced while it was read
                found, what = None, f"{what} ({type(error).__name__})"
            if found:
                return found
            time.sleep(0.05)
        raise AssertionError(f"waited {seconds} s for {what}")

    def state(self):
        return self.script("return document.body.dataset.state")

    def wait_ready(self):
        self.wait(lambda: self.state() == "ready", "the worksheet to be ready")

    def role(self, role, name):
        # Those that hold the name, or have a label that does, are asked first: there can be hundreds.
        likely_first = """
            const rank = e => [e.textContent, e.getAttribute('aria-label'), ...[...(e.labels ?? [])].map(l => l.textContent)]
                .some(text => text?.replace(/\\s+/g, ' ').includes(arguments[1])) ? 0 : 1;
            return [...document.querySelectorAll(arguments[0])].sort((a, b) => rank(a) - rank(b));
        """
        for element in self.script(likely_first, CANDIDATES[role], name):
            try:
                if element.accessible_name == name:
                    return element
            except WebDriverException:
                # WebKit's driver fails on elements that are not shown: nobody can see this one.
                assert not element.is_displayed(), f"a shown {role} has no name"
        raise AssertionError(f"no {role} named {name!r}")

    def field(self, name):
        return self.role("textbox", name)

    def type(self, name, text):
        """Replaces a field's text by typing, as a user would."""
        field = self.field(name)
        # WebKit's driver does not scroll what scrolls by itself, such as the column of pictures.
        self.script("arguments[0].scrollIntoView({ block: 'nearest' })", field)
        field.click()
        field.send_keys(Keys.CONTROL, "a")
        field.send_keys(Keys.BACKSPACE)
        if text:  # WebKit's driver takes no empty text
            field.send_keys(text.replace("\n", Keys.ENTER))

    def press(self, name):
        button = self.role("button", name)
        # Rows are measured only when they come into sight, and then push the button away: it is
        # pressed once it stays where it was scrolled to.
        places = [None]

        def still():
            places.append(
                self.script(
                    """
                    const button = arguments[0], box = button.getBoundingClientRect();
                    const seen = button.contains(document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2));
                    if (!seen) button.scrollIntoView({block: 'center'});
                    return seen && box.y;
                    """,
                    button,
                )
            )
            return places[-1] is not False and places[-1] == places[-2]

        self.wait(still, f"{name} to come into sight")
        button.click()

    def work(self, equation, conditions, degree=None):
        self.type("Equation", equation)
        self.type("Conditions", conditions)
        if degree is not None:
            self.type("Degree", str(degree))

    def text(self, css):
        return self.script(
            "return [...document.querySelectorAll(arguments[0])].map(e => e.textContent).join('\\n')", css
        )

    def row(self, key):
        return self.text(f"[data-key='{key}']")

    def keys(self):
        return self.script("return [...document.querySelectorAll('[data-key]')].map(e => e.dataset.key)")

    def violations(self):
        """What the accessibility checker finds wrong, with the places."""
        self.script((ROOT / "tests/node_modules/axe-core/axe.min.js").read_text())
        return self.driver.execute_async_script(
            "const done = arguments[0]; axe.run().then(r => done(r.violations.map(v => [v.id, v.nodes.map(n => n.html.slice(0, 160))])), e => done([['failed', [String(e)]]]))"
        )

    def screenshot(self, path):
        # WebKit's driver never answers for a page that is not taller than its window.
        if self.driver.engine == "webkit" and self.script("return document.documentElement.scrollHeight <= window.innerHeight"):
            return
        self.driver.save_screenshot(str(path))

    def downloaded(self, button):
        """The text of what a download button offers."""
        # The file itself is not saved: some browsers would ask where to, and wait.
        self.script(
            """
            window.offered = null;
            window.create ??= URL.createObjectURL;
            URL.createObjectURL = blob => { window.offered = blob; return window.create.call(URL, blob); };
            HTMLAnchorElement.prototype.click = function () {
                if (!this.download) this.dispatchEvent(new MouseEvent('click', {bubbles: true}));
            };
            """
        )
        self.press(button)
        self.wait(lambda: self.script("return !!window.offered"), f"{button} to offer a file")
        return self.driver.execute_async_script(
            "const done = arguments[0]; window.offered.text().then(done, e => done(String(e)));"
        )

    def messages(self):
        """What the page says about the input."""
        return self.text("[role=status], [role=alert], [data-diagnostic]")
