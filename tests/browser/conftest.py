"""Browsers, and the built site served from a sub-path as a college would.

The site is built beforehand (`cargo worksheet build`); its folder is in SITE or target/site.
Screenshots of every test go to tests/artefacts.
"""

import functools
import http.server
import os
import pathlib
import shutil
import threading

import pytest
from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.chrome.service import Service as ChromeService
from selenium.webdriver.firefox.service import Service as FirefoxService
from selenium.webdriver.webkitgtk.service import Service as WebKitService
from urllib3.exceptions import HTTPError

ROOT = pathlib.Path(__file__).resolve().parents[2]
SITE = pathlib.Path(os.environ.get("SITE", ROOT / "target" / "site"))
ARTEFACTS = ROOT / "tests" / "artefacts"
SUB_PATH = "/college/sheets/taylor"


# The site with one file changed, below /NAME/SUB_PATH: (file, what is replaced, by what).
CHANGED = {
    # A worker that traps on problems with the letter ω, as a defect in the module would.
    "trapping": (
        "worker.js",
        "await ready;",
        "await ready; if (JSON.stringify(data).includes('%CF%89')) throw new WebAssembly.RuntimeError('unreachable');",
    ),
    # A browser that keeps nothing for this page.
    "forgetful": (
        "loader.js",
        "const address",
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('refused', 'SecurityError'); } });\nconst address",
    ),
    # A disk without room for what is written.
    "full": (
        "draft.js",
        "const KEY",
        "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };\nconst KEY",
    ),
    # A page of files that is never at rest, so that nothing is worked beforehand.
    "restless": ("file.js", "self.requestIdleCallback ?? ((then) => setTimeout(then, 200))", "() => {}"),
    # A browser that tells the page nothing before it leaves.
    "abrupt": (
        "loader.js",
        "await follow();",
        "const add = window.addEventListener;\n"
        "window.addEventListener = function (name, ...rest) { if (name !== 'beforeunload') add.call(this, name, ...rest); };\n"
        "await follow();",
    ),
    # A site without the module's second part, which keeps nothing either.
    "lone": ("loader.js", "more.wasm", "no-such-part.wasm"),
    # A page that keeps nothing, so that the second part must be fetched.
    "unhurried": ("loader.js", "import(\"./offline.js\")", "new Promise(() => {})"),
    "patient": ("loader.js", "import(\"./offline.js\")", "new Promise(() => {})"),
    # A page that needs the second part before anything else.
    "needy": ("loader.js", "await follow();", "now(rest, take);\nawait follow();"),
    # A site that was put there by halves.
    "strange": ("loader.js", "more.wasm", "reading.wasm"),
    # A server that has spoilt the worker's script.
    "workerless": ("worker.js", "let ready;", "let let;"),
}


class Handler(http.server.SimpleHTTPRequestHandler):
    """Serves the site below SUB_PATH only, and notes what was asked for."""

    extensions_map = {
        **http.server.SimpleHTTPRequestHandler.extensions_map,
        ".wasm": "application/wasm",
        ".js": "text/javascript",
        ".woff2": "font/woff2",
    }
    asked: list[str] = []

    def translate_path(self, path):
        plain = path.split("?")[0].split("#")[0]
        Handler.asked.append(plain)
        if not plain.startswith(SUB_PATH + "/"):
            return str(SITE / "no-such-file")
        return super().translate_path(plain[len(SUB_PATH):])

    def do_GET(self):
        # A page of ours that shows the worksheet in a narrow frame, as a phone would.
        if self.path.startswith("/phone?"):
            page = f"<!doctype html><title>phone</title><iframe id=phone style='border:0;width:{int(self.path[7:])}px;height:800px'></iframe>"
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(page.encode())
            return
        changed = self.path.split("/")[1]
        if changed in CHANGED:
            self.path = self.path.removeprefix("/" + changed)
            name, old, new = CHANGED[changed]
            if self.path == f"{SUB_PATH}/{name}":
                text = (SITE / name).read_text()
                assert old in text, f"{name} has no {old!r}"
                self.send_response(200)
                self.send_header("content-type", self.extensions_map[".js"])
                self.end_headers()
                self.wfile.write(text.replace(old, new).encode())
                return
        super().do_GET()

    def log_message(self, *_):
        pass


@pytest.fixture(scope="session")
def address():
    assert (SITE / "index.html").is_file(), f"build the site first: {SITE} has no index.html"
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(SITE)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}{SUB_PATH}/"
    server.shutdown()


def chromium():
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or "chromium"
    for flag in (
        "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync "
        "--disable-background-networking --disable-component-update --disable-dev-shm-usage "
        "--host-resolver-rules=MAP * ~NOTFOUND,EXCLUDE 127.0.0.1"
    ).split(" --"):
        options.add_argument("--" + flag.removeprefix("--"))
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return webdriver.Chrome(options, ChromeService(shutil.which("chromedriver")))


def firefox():
    options = webdriver.FirefoxOptions()
    options.add_argument("-headless")
    options.binary_location = shutil.which("firefox-esr") or shutil.which("firefox")
    cargo_bin = pathlib.Path(os.environ.get("CARGO_HOME", pathlib.Path.home() / ".cargo")) / "bin"
    driver = shutil.which("geckodriver") or str(cargo_bin / "geckodriver")
    # For what only the browser itself can set: a dark system, a window narrower than its least one.
    options.enable_bidi = True
    return webdriver.Firefox(options, FirefoxService(driver, service_args=["--allow-system-access"]))


def webkit():
    options = webdriver.WebKitGTKOptions()
    found = sorted(pathlib.Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"))
    options.binary_location = str(found[-1])
    options.add_argument("--automation")
    # The engine's own sandbox needs a user namespace, which containers seldom grant.
    os.environ.setdefault("WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS", "1")
    os.environ.setdefault("WEBKIT_DISABLE_COMPOSITING_MODE", "1")
    return webdriver.WebKitGTK(options, service=WebKitService(shutil.which("WebKitWebDriver")))


ENGINES = {"chromium": chromium, "firefox": firefox, "webkit": webkit}


class Browser:
    """One engine's browser for all tests; one that no longer answers is replaced before the next test."""

    def __init__(self, name):
        self.name = name
        self.driver = None

    def open(self):
        self.driver = ENGINES[self.name]()
        self.driver.engine = self.name
        # A driver that does not answer fails its test; it does not hold up the rest.
        config = self.driver.command_executor.client_config
        config.timeout = 60
        config.keep_alive = False  # a kept connection would ignore the line below
        config.init_args_for_pool_manager = {"init_args_for_pool_manager": {"retries": False}}
        self.driver.set_window_size(1440, 1000)
        self.driver.set_script_timeout(30)

    def close(self):
        driver, self.driver = self.driver, None
        if driver is None:
            return
        try:
            driver.quit()
        except (WebDriverException, HTTPError):
            driver.service.process.kill()

    def live(self):
        if self.driver is not None:
            try:
                self.driver.current_url
            except (WebDriverException, HTTPError):
                self.close()
        if self.driver is None:
            self.open()
        return self.driver


@pytest.fixture(scope="session", params=os.environ.get("ENGINES", "chromium firefox webkit").split())
def browser(request):
    browser = Browser(request.param)
    yield browser
    browser.close()


@pytest.fixture
def engine(browser):
    return browser.live()


@pytest.fixture
def page(engine, address, request):
    """A fresh worksheet: nothing kept from an earlier test."""
    from sheet import Sheet

    sheet = Sheet(engine, address)
    sheet.open_fresh()
    yield sheet
    ARTEFACTS.mkdir(exist_ok=True)
    name = request.node.name.replace("/", "-").replace("[", "-").replace("]", "")
    sheet.screenshot(ARTEFACTS / f"{name}.png")
    engine.set_window_size(1440, 1000)
