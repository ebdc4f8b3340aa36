"""How long the main thread is busy at a time while someone types, in headless Chromium.

Prints one JSON line per case: the longest main-thread task while someone types at the end of the
equation, until the plot has settled; in milliseconds by the clock, and of the thread's own time
(which other work on the machine does not lengthen).
"""

import functools
import http.server
import json
import pathlib
import shutil
import sys
import threading
import time
import urllib.request

import websocket

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "browser"))
from conftest import SITE, SUB_PATH, Handler  # noqa: E402
from selenium import webdriver  # noqa: E402
from selenium.webdriver.chrome.service import Service  # noqa: E402
from selenium.webdriver.common.keys import Keys  # noqa: E402
from selenium.webdriver.support.select import Select  # noqa: E402
from sheet import Sheet  # noqa: E402


# A constant term more, written in four keystrokes: every prefix is a problem or half of one.
LETTERS = " + 1"


def chromium():
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium")
    for flag in ["headless=new", "no-sandbox", "disable-gpu", "no-first-run", "disable-background-networking", "disable-sync"]:
        options.add_argument("--" + flag)
    return webdriver.Chrome(options, Service(shutil.which("chromedriver")))


class Tracing:
    """The browser's own trace, over its debugging socket."""

    def __init__(self, driver):
        where = driver.capabilities["goog:chromeOptions"]["debuggerAddress"]
        about = json.loads(urllib.request.urlopen(f"http://{where}/json/version").read())
        self.socket = websocket.create_connection(about["webSocketDebuggerUrl"], suppress_origin=True, timeout=60)
        self.number = 0

    def call(self, method, **parameters):
        self.number += 1
        self.socket.send(json.dumps({"id": self.number, "method": method, "params": parameters}))

    def start(self):
        self.call("Tracing.start", transferMode="ReportEvents", traceConfig={"includedCategories": ["toplevel", "devtools.timeline"]})
        self.until(lambda message: message.get("id") == self.number)

    def stop(self):
        self.call("Tracing.end")
        found = []

        def done(message):
            if message.get("method") == "Tracing.dataCollected":
                found.extend(message["params"]["value"])
            return message.get("method") == "Tracing.tracingComplete"

        self.until(done)
        return found

    def until(self, done):
        while not done(json.loads(self.socket.recv())):
            pass


def longest_tasks(found):
    """Longest RunTask of the renderer's main thread, in ms: by the clock, and of its own time."""
    names = {(e["pid"], e["tid"]): e["args"]["name"] for e in found if e.get("name") == "thread_name"}
    main = {key for key, name in names.items() if name == "CrRendererMain"}
    tasks = [e for e in found if e.get("ph") == "X" and e.get("name", "").endswith("RunTask") and (e["pid"], e["tid"]) in main]
    assert tasks, "the trace holds no task of the page"
    return max(e["dur"] for e in tasks) / 1000, max(e.get("tdur", e["dur"]) for e in tasks) / 1000


def main():
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(SITE)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    driver = chromium()
    driver.set_window_size(1440, 1000)
    sheet = Sheet(driver, f"http://127.0.0.1:{server.server_port}{SUB_PATH}/")
    sheet.open_fresh()
    tracing = Tracing(driver)

    def measure(name):
        sheet.wait(lambda: sheet.state() == "ready", name, 30)
        time.sleep(1.5)
        tracing.start()
        sheet.field("Equation").send_keys(Keys.END)
        for letter in LETTERS:
            driver.switch_to.active_element.send_keys(letter)
            time.sleep(0.15)
        sheet.wait(lambda: sheet.state() == "ready", name, 30)
        time.sleep(1.5)
        clock, own = longest_tasks(tracing.stop())
        terms = sheet.script("return document.querySelectorAll('[data-term]').length")
        print(json.dumps({"case": name, "terms": terms, "longest_task_ms": round(clock, 1), "own_time_ms": round(own, 1)}), flush=True)

    examples = Select(sheet.role("combobox", "From the harbor"))
    for title in [option.text for option in examples.options[1:]]:
        examples.select_by_visible_text(title)
        sheet.wait(lambda: sheet.state() == "ready", title)
        measure(title)
    sheet.script("document.querySelector('input[name=depth][value=rules]').click()")
    sheet.work("y' = y^2 + x^3 y + x^2", "y(0) = 1", 30)
    sheet.wait(lambda: "order-30" in sheet.keys(), "the long ledger", 30)
    measure("a long ledger, degree 30, every rule")
    driver.quit()


main()
