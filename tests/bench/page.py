"""How long the main thread is busy at a time while someone types, in headless Chromium.

Run by `tests/bench/run`. Prints one JSON line per case: the longest main-thread task in ms
during warm typing, and until the plot has settled.
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
from sheet import Sheet  # noqa: E402


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


def longest_task(found):
    """Longest RunTask of the renderer's main thread, in ms."""
    names = {(e["pid"], e["tid"]): e["args"]["name"] for e in found if e.get("name") == "thread_name"}
    main = {key for key, name in names.items() if name == "CrRendererMain"}
    tasks = [e for e in found if e.get("ph") == "X" and e.get("name", "").endswith("RunTask") and (e["pid"], e["tid"]) in main]
    return max((e["dur"] / 1000 for e in tasks), default=None), len(tasks)


def main():
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(SITE)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    driver = chromium()
    driver.set_window_size(1440, 1000)
    sheet = Sheet(driver, f"http://127.0.0.1:{server.server_port}{SUB_PATH}/")
    cases = [
        ("airy", "y'' = x y", "y(0) = 1, y'(0) = 0", 8),
        ("pendulum", "y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 6),
        ("logistic", "y' = y(1 - y/4)", "y(0) = 1", 8),
        ("long ledger", "y' = y^2 + x^3 y + x^2", "y(0) = 1", 30),
    ]
    sheet.open_fresh()
    tracing = Tracing(driver)
    for name, equation, conditions, degree in cases:
        sheet.work(equation, conditions, degree)
        sheet.wait(lambda: sheet.state() == "ready" and f"order-{degree}" in sheet.keys(), name)
        time.sleep(1.5)
        tracing.start()
        sheet.field("Equation").click()
        for letter in " + 2x":
            driver.switch_to.active_element.send_keys(letter)
            time.sleep(0.15)
        time.sleep(1.5)
        longest, count = longest_task(tracing.stop())
        terms = sheet.script("return document.querySelectorAll('[data-term]').length")
        print(json.dumps({"case": name, "longest_main_thread_task_ms": longest, "tasks": count, "terms": terms}))
    driver.quit()


main()
