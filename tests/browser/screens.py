"""Other screens, and other wishes of readers, where a driver has them to give: Chromium's and Firefox's
have, WebKit's has not."""

import contextlib

# What a reader wishes: the media feature, its value, and the setting and its number in Firefox.
WISHES = {
    "dark": ("prefers-color-scheme", "dark", "layout.css.prefers-color-scheme.content-override", 0),
    "light": ("prefers-color-scheme", "light", "layout.css.prefers-color-scheme.content-override", 1),
    "still": ("prefers-reduced-motion", "reduce", "ui.prefersReducedMotion", 1),
}


def has_screens(driver):
    return driver.engine in ("chromium", "firefox")


@contextlib.contextmanager
def wishing(driver, wish):
    """As for a reader whose system is dark, or light, or still."""
    feature, value, setting, number = WISHES[wish]

    def firefox(call, *arguments):
        with driver.context("chrome"):
            driver.execute_script(f"Services.prefs.{call}(...arguments)", *arguments)

    if driver.engine == "firefox":
        firefox("setIntPref", setting, number)
    elif driver.engine == "chromium":
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": feature, "value": value}]})
    try:
        yield
    finally:
        if driver.engine == "firefox":
            firefox("clearUserPref", setting)
        elif driver.engine == "chromium":
            driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@contextlib.contextmanager
def screen(driver, width, height, scale=1):
    """A window of so many CSS pixels, each of `scale` times as many points each way."""
    def firefox(viewport, ratio):
        driver.browsing_context.set_viewport(context=driver.current_window_handle, viewport=viewport, device_pixel_ratio=ratio)

    size = {"width": width, "height": height}
    if driver.engine == "firefox":
        firefox(size, float(scale))
    else:
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {**size, "deviceScaleFactor": scale, "mobile": False})
    try:
        yield
    finally:
        if driver.engine == "firefox":
            firefox(None, None)
        else:
            driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@contextlib.contextmanager
def offline(driver):
    """Without a network. (WebKit's driver cannot take it away.)"""
    def off(yes):
        if driver.engine == "firefox":
            with driver.context("chrome"):
                driver.execute_script("Services.io.offline = arguments[0]", yes)
        elif driver.engine == "chromium":
            driver.execute_cdp_cmd("Network.enable", {})
            driver.execute_cdp_cmd("Network.emulateNetworkConditions", {"offline": yes, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})

    off(True)
    try:
        yield
    finally:
        off(False)
