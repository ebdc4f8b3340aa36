"""How long the worker takes from the page's question to its two answers, in headless Chromium.

    tests/.venv/bin/python tests/bench/worker_page.py [--degree 8] [--check]

For each example of the page: the degree is typed anew three times, so that everything is warm; the
shortest times by the clock count, from the moment the question is posted to the moment the page is
handed the ledger, and the picture. Prints one JSON line each. The site is target/site, or SITE.
`--check` ends with an error where an answer took 100 ms or more.
"""

import argparse
import functools
import http.server
import json
import pathlib
import subprocess
import sys
import threading

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "browser"))
from conftest import ROOT, SITE, SUB_PATH, Handler, chromium  # noqa: E402
from sheet import Sheet  # noqa: E402

RUNS = 3
MOST_MS = 100

# The page's own worker, with a note of when it is asked and when it answers. The first byte of an
# answer says whether it is the ledger or the picture, the next four are its question's number.
WATCH = """
window.asked = [];
window.Worker = class extends Worker {
  constructor(...parts) {
    super(...parts);
    this.addEventListener("message", ({ data }) => {
      const last = window.asked.at(-1);
      if (last?.sequence !== new DataView(data.buffer, data.byteOffset).getUint32(1, true)) return;
      if (data[0] === 0) last.ledger = performance.now() - last.start;
      if (data[0] === 1) last.picture = performance.now() - last.start;
    });
  }
  postMessage(message, ...rest) {
    if (!(message instanceof WebAssembly.Module)) window.asked.push({ sequence: message[0], start: performance.now() });
    super.postMessage(message, ...rest);
  }
};
"""


def fragments(degree):
    """The page's examples at this degree, as addresses."""
    command = ("cargo", "run", "--quiet", "--release", "--package", "web", "--example", "answers", "--", "--examples", str(degree))
    return subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout.split()


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--degree", type=int, default=8)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    degree = options.degree
    slow = 0
    asked = fragments(degree)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(SITE)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    driver = chromium()
    driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": WATCH})
    sheet = Sheet(driver, f"http://127.0.0.1:{server.server_port}{SUB_PATH}/")
    sheet.open_fresh()
    for fragment in asked:
        sheet.open(fragment)
        times = []
        for _ in range(RUNS):
            for wanted in (degree - 1, degree):
                before = sheet.script("return asked.length")
                sheet.type("Degree", str(wanted))
                answered = "const last = asked.at(-1); return asked.length > arguments[0] && last.picture && last"
                last = sheet.wait(lambda: sheet.script(answered, before), f"an answer at degree {wanted}", 30)  # noqa: B023
            # Of a system each unknown has its rows.
            rows = {f"order-{degree}", f"order-0-{degree}"}
            sheet.wait(lambda: rows & set(sheet.keys()), "the answer to be on the page")  # noqa: B023
            times.append((last["ledger"], last["picture"]))
        ledger, picture = (min(column) for column in zip(*times, strict=True))
        slow += picture >= MOST_MS
        print(json.dumps({"case": sheet.field("Equation").get_property("value"), "degree": degree,
                          "ledger_ms": round(ledger, 1), "answer_ms": round(picture, 1)}), flush=True)
    driver.quit()
    return 1 if options.check and slow else 0


sys.exit(main())
