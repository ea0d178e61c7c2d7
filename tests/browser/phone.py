"""A browser in the hand of somebody: Chromium by its driver, as a phone or as a laptop, dark or bright."""
import pathlib
import tempfile
import time

from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By

SIZES = {"phone": (390, 844), "desk": (1366, 768)}

# Told to the page before it runs: when each rep was first on the screen, by the wall clock.
WATCH_REPS = """
if (!window.repsShown) {
  window.repsShown = {};
  const look = () => requestAnimationFrame(() => setTimeout(() => {
    const now = performance.timeOrigin + performance.now();
    for (const each of document.querySelectorAll('#reps li'))
      if (!(each.dataset.key in window.repsShown)) window.repsShown[each.dataset.key] = [now, each.dataset.verdict];
  }));
  new MutationObserver(look).observe(document.getElementById('reps'), { childList: true });
}
"""


class Phone:
    def __init__(self, size, address, through_network=False):
        options = Options()
        for each in ("--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update",
                     "--disable-sync", "--disable-quic", "--disable-extensions", "--disable-dev-shm-usage", "--autoplay-policy=no-user-gesture-required",
                     "--disable-background-timer-throttling", "--disable-renderer-backgrounding"):
            options.add_argument(each)
        if through_network:
            options.add_argument("--host-resolver-rules=MAP localhost 127.0.0.2")
        self.profile = tempfile.TemporaryDirectory(prefix="breakstep-chromium-")
        options.add_argument(f"--user-data-dir={self.profile.name}")
        self.driver = webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)
        self.driver.set_script_timeout(60)
        self.address = address
        self.size(size)
        self.theme("dark")

    def size(self, name):
        width, height = SIZES[name]
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", dict(width=width, height=height, deviceScaleFactor=1, mobile=name == "phone"))

    def theme(self, name):
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": name}]})

    def go(self, path):
        self.driver.get(self.address + path)

    def js(self, script, *arguments):
        return self.driver.execute_script(script, *arguments)

    def later(self, script, *arguments):
        return self.driver.execute_async_script(script, *arguments)

    def one(self, selector):
        return self.driver.find_element(By.CSS_SELECTOR, selector)

    def all(self, selector):
        return self.driver.find_elements(By.CSS_SELECTOR, selector)

    def text(self, selector):
        return self.js("return document.querySelector(arguments[0])?.textContent ?? ''", selector)

    def click(self, selector):
        for _ in range(3):
            try:
                element = self.one(selector)
                self.js("arguments[0].scrollIntoView({block: 'center'})", element)
                return element.click()
            except StaleElementReferenceException:
                continue
        self.one(selector).click()

    def keys(self, *keys):
        for key in keys:
            ActionChains(self.driver).send_keys(key).perform()

    def until(self, script, within=30, *arguments):
        """What the script returns, once it is something; None if it never was."""
        end = time.monotonic() + within
        while True:
            got = self.js(script, *arguments)
            if got or time.monotonic() > end:
                return got
            time.sleep(0.05)

    def pair(self, digits, role="command"):
        self.go("/pair")
        self.one("#code").send_keys(digits)
        if role == "watch":
            self.click("input[value=watch]")
        self.click("button.main")

    def picture(self, folder, name):
        pathlib.Path(folder).mkdir(parents=True, exist_ok=True)
        file = pathlib.Path(folder) / f"{name}.png"
        self.driver.save_screenshot(str(file))
        return file

    def complaints(self):
        return [each["message"] for each in self.driver.get_log("browser") if each["level"] == "SEVERE"]

    def close(self):
        self.driver.quit()
        self.profile.cleanup()
