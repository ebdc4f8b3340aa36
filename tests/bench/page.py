"""How long the main thread is busy at a time while someone types, in headless Chromium.

    page.py [--cases 0,1,8] [--rounds 3] [--check] [SITE...]

Types a constant term at the end of the equation and takes it away again, on every example and on a
ledger of more than a thousand terms, several rounds; where several built sites are named, the
rounds go in turn through them all, so that they can be compared on a machine that is doing other
work as well; `--cases` takes some of the cases, counted from 0, the long ledger last. Prints one JSON line per case and site: the longest main-thread task of a round
(from the first keystroke until the plot has settled), in milliseconds of the thread's own time and
by the clock, the median of the rounds and the best of them. `--check` ends with an error where the
median of the thread's own time is over 16 ms on an example or over 50 ms on the long ledger. The clock also counts the time in
which other programs had the processor; the thread's own time counts it only through cold caches.
On two processors those others are, besides the machine's, the browser's own threads (the compositor
and the painting in software, which a graphics card would do) and the page's worker: the page waits
with its rows until the worker is done. Collecting garbage is the browser's and counts like the rest.

No assistive technology is attached, and the driver is not asked for accessible names: either makes
the browser keep an accessibility tree, whose upkeep would be counted too.
"""

import argparse
import functools
import http.server
import json
import pathlib
import shutil
import statistics
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
from sheet import Sheet  # noqa: E402

# A constant term more, in four keystrokes and back: every prefix is a problem or half of one.
LETTERS = " + 1"
MOST_MS, MOST_LONG_MS = 16, 50
LONG = {"equation": "y' = y^2 + x^3 y + x^2", "conditions": "y(0) = 1", "degree": "30"}


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


def main_threads(found, frame):
    """Where the page of a frame runs. The browser's own surfaces and pages left behind have other processes."""

    def names_it(event):
        arguments = event.get("args", {})
        return any(frame == (arguments.get(key) or {}).get("frame") for key in ("data", "beginData"))

    pages = {e["pid"] for e in found if names_it(e)}
    names = {(e["pid"], e["tid"]): e["args"]["name"] for e in found if e.get("name") == "thread_name"}
    return {key for key, name in names.items() if name == "CrRendererMain" and key[0] in pages}


def longest_tasks(found, driver):
    """Longest RunTask of the driver's page's main thread, in ms: by the clock, and of its own time."""
    # The handle of a tab is the name of its frame.
    main = main_threads(found, driver.current_window_handle)
    tasks = [e for e in found if e.get("ph") == "X" and e.get("name", "").endswith("RunTask") and (e["pid"], e["tid"]) in main]
    assert tasks, "the trace holds no task of the page"
    return max(e["dur"] for e in tasks) / 1000, max(e.get("tdur", e["dur"]) for e in tasks) / 1000


class Case:
    """A worksheet open in a tab."""

    def __init__(self, driver, address):
        self.driver = driver
        self.sheet = Sheet(driver, address)

    def set(self, **fields):
        for field, text in fields.items():
            self.sheet.script(
                """
                const field = document.getElementById(arguments[0]);
                field.value = arguments[1];
                field.dispatchEvent(new Event(field.matches('select') ? 'change' : 'input', {bubbles: true}));
                """,
                field,
                text,
            )

    def settle(self):
        self.sheet.wait(lambda: self.sheet.state() == "ready", "the worksheet to be ready", 60)
        time.sleep(1)

    def type(self, keys):
        for key in keys:
            self.driver.switch_to.active_element.send_keys(key)
            time.sleep(0.15)
        self.settle()

    def round(self, tracing):
        self.sheet.script("const e = document.getElementById('equation'); e.focus(); e.setSelectionRange(e.value.length, e.value.length)")
        tracing.start()
        self.type(LETTERS)
        self.type([Keys.BACKSPACE] * len(LETTERS))
        return longest_tasks(tracing.stop(), self.driver)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=lambda text: [int(part) for part in text.split(",")])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("sites", nargs="*", type=pathlib.Path)
    asked = parser.parse_args()
    sites = asked.sites or [SITE]
    addresses = []
    for site in sites:
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(site)))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        addresses.append(f"http://127.0.0.1:{server.server_port}{SUB_PATH}/")
    slow = 0
    driver = chromium()
    driver.set_window_size(1440, 1000)
    tracing = Tracing(driver)
    cases = [Case(driver, address) for address in addresses]
    cases[0].sheet.open()
    titles = cases[0].sheet.script("return [...document.querySelectorAll('#examples option')].slice(1).map(e => e.text)")
    for index, title in enumerate([*titles, "a long ledger, degree 30, every rule"]):
        if asked.cases is not None and index not in asked.cases:
            continue
        found = [[] for _ in sites]
        terms = [0 for _ in sites]
        for _ in range(asked.rounds):
            for which, case in enumerate(cases):
                case.sheet.open()
                if index < len(titles):
                    case.set(examples=str(index))
                else:
                    case.sheet.script("document.querySelector('input[name=depth][value=rules]').click()")
                    case.set(**LONG)
                    case.sheet.wait(lambda case=case: "order-30" in case.sheet.keys(), "the long ledger", 60)
                case.settle()
                # Once warm: the first edit after opening is not measured.
                case.sheet.script("document.getElementById('equation').focus()")
                case.type([Keys.END, " "])
                found[which].append(case.round(tracing))
                terms[which] = case.sheet.script("return document.querySelectorAll('[data-term]').length")
                case.sheet.script("document.querySelector('input[name=depth][value=lines]').click(); localStorage.clear()")
        for site, count, rounds in zip(sites, terms, found):
            clock, own = zip(*rounds)
            slow += statistics.median(own) > (MOST_MS if index < len(titles) else MOST_LONG_MS)
            print(
                json.dumps(
                    {
                        "case": title,
                        **({"site": str(site)} if len(sites) > 1 else {}),
                        "terms": count,
                        "own_time_ms": {"median": round(statistics.median(own), 1), "best": round(min(own), 1)},
                        "clock_ms": {"median": round(statistics.median(clock), 1), "best": round(min(clock), 1)},
                    }
                ),
                flush=True,
            )
    driver.quit()
    return 1 if asked.check and slow else 0


if __name__ == "__main__":
    sys.exit(main())
