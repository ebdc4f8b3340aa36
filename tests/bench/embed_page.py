"""A page with ten problems in it: how long its main thread is busy at a time while they fill.

    embed_page.py [--rounds 3] [--check]

In headless Chromium, the page on another origin than the site, scrolled from top to bottom so that
all ten are worked out. Prints one JSON line: the first paint, when the first and the last block stood
there (in milliseconds from the page's beginning), and the longest main-thread task, by the clock and
of the thread's own time: median of the rounds and best. `--check` ends with an error where the
median by the clock is over 50 ms.
"""

import argparse
import functools
import http.server
import json
import statistics
import sys
import threading
import time

from page import SITE, SUB_PATH, Handler, Tracing, chromium, longest_tasks

PROBLEMS = [
    ("y'' = -y + y^3/6 - y'/5", "y(0) = 1/2, y'(0) = 1"),
    ("dT/dt = -(T - 12)/40", "T(0) = 90"),
    ("y'' = x y", "y(0) = 1, y'(0) = 0"),
    ("y'' + (2 - cos 2t) y = 0", "y(0) = 1, y'(0) = 0"),
    ("y'' = sqrt(1 + y'^2)/4", "y(0) = 4, y'(0) = 0"),
    ("dN/dt = N (1 - N/4)", "N(0) = 1"),
    ("(4 + t^2) q'' + 3 q = 0", "q(0) = 1, q'(0) = -1/2"),
    ("d^2 theta/dt^2 = -sin theta", "theta(0) = 0, theta'(0) = 1"),
    ("N' = N (3 - C); C' = C (N - 2)", "N(0) = 1, C(0) = 2"),
    ("y' = x^2 + y^2", "y(0) = 0"),
]
MOST = 50


class Open(Handler):
    def end_headers(self):
        self.send_header("access-control-allow-origin", "*")
        super().end_headers()


class Course(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        blocks = "".join(f'<h2>Problem</h2><ordinary-point equation="{equation}" conditions="{conditions}" degree="6"></ordinary-point>' for equation, conditions in PROBLEMS)
        page = f'''<!doctype html><title>Course</title><body style="max-width:60rem"><h1>Course</h1>{blocks}<script type="module" src="{self.server.site}embed.js"></script>'''
        self.send_response(200)
        self.send_header("content-type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(page.encode())

    def log_message(self, *_):
        pass


def serve(handler):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def round_of(driver, tracing, address):
    driver.get("about:blank")
    tracing.start()
    driver.get(address)
    driver.execute_script(
        """
        window.at = [];
        document.addEventListener('worked', () => at.push(performance.now()), true);
        document.querySelectorAll('ordinary-point').forEach(e => e.addEventListener('worked', () => at.push(performance.now())));
        const down = () => { scrollBy(0, 40); requestAnimationFrame(down); };
        down();
        """
    )
    end = time.monotonic() + 60
    done = "return [...document.querySelectorAll('ordinary-point')].filter(e => e.shadowRoot?.querySelector('.block')).length"
    while driver.execute_script(done) < len(PROBLEMS):
        assert time.monotonic() < end, "not all of them were filled"
        time.sleep(0.1)
    time.sleep(0.5)
    clock, own = longest_tasks(tracing.stop(), driver)
    paint = driver.execute_script("return performance.getEntriesByName('first-paint')[0]?.startTime ?? null")
    return paint, driver.execute_script("return Math.max(...at)"), clock, own


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--check", action="store_true")
    asked = parser.parse_args()
    site = serve(functools.partial(Open, directory=str(SITE)))
    course = serve(Course)
    course.site = f"http://127.0.0.1:{site.server_port}{SUB_PATH}/"
    driver = chromium()
    driver.set_window_size(1200, 900)
    tracing = Tracing(driver)
    rounds = [round_of(driver, tracing, f"http://127.0.0.1:{course.server_port}/") for _ in range(asked.rounds)]
    driver.quit()
    paint, last, clock, own = zip(*rounds)
    middle = statistics.median(clock)
    print(
        json.dumps(
            {
                "first_paint_ms": round(statistics.median(paint)),
                "last_block_ms": round(statistics.median(last)),
                "longest_task": {
                    "clock_ms": {"median": round(middle, 1), "best": round(min(clock), 1)},
                    "own_time_ms": {"median": round(statistics.median(own), 1), "best": round(min(own), 1)},
                },
            }
        )
    )
    return 1 if asked.check and middle > MOST else 0


if __name__ == "__main__":
    sys.exit(main())
