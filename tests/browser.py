"""A headless browser with an accessibility checker, for the tests of pages.

They need chromium and chromedriver (Debian: chromium, chromium-driver), selenium, and the checker
axe-core (npm); CALLER_AXE names its axe.min.js. With CALLER_BROWSER_TESTS=required a test fails
where one of them is missing and it would otherwise be skipped.
"""

import importlib.util
import os
import shutil
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest

AXE = Path(os.environ.get("CALLER_AXE", "node_modules/axe-core/axe.min.js"))
WCAG_22 = tuple(f"wcag{version}{level}" for version in (2, 21, 22) for level in ("a", "aa", "aaa"))


def why_not() -> str | None:
    """What is missing; None when pages can be checked."""
    missing = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    if importlib.util.find_spec("selenium") is None:
        missing.append("selenium")
    if not AXE.is_file():
        missing.append("axe-core (set CALLER_AXE)")
    if not missing:
        return None
    reason = f"no {', '.join(missing)}"
    if os.environ.get("CALLER_BROWSER_TESTS") == "required":
        pytest.fail(reason)
    return reason


class Browser:
    """One headless browser with a profile of its own, closed at the end of the `with` block."""

    def __init__(self) -> None:
        from selenium.webdriver import Chrome, ChromeOptions
        from selenium.webdriver.chrome.service import Service

        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        options = ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            f"--user-data-dir={self._profile.name}",
        ):
            options.add_argument(flag)
        self.driver = Chrome(options, Service(shutil.which("chromedriver")))
        self.driver.set_script_timeout(120)

    def __enter__(self) -> "Browser":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.driver.quit()
        self._profile.cleanup()

    def open(self, page: Path, scheme: str = "light", width: int = 800, height: int = 1000) -> None:
        """Open a page as wide as `width` CSS pixels, for a reader who likes light, dark or forced
        colours."""
        forced = {"name": "forced-colors", "value": "active" if scheme == "forced" else "none"}
        liked = {"name": "prefers-color-scheme", "value": "dark" if scheme == "dark" else "light"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [liked, forced]})
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
        )
        self.driver.get(page.resolve().as_uri())

    def ask(self, script: str) -> Any:
        """What a piece of JavaScript returns in the page."""
        return self.driver.execute_script(script)

    def find(self, selector: str) -> list[Any]:
        """The elements that a CSS selector finds."""
        return list(self.driver.find_elements("css selector", selector))

    def click(self, element: Any) -> None:
        """Bring an element to the middle of the screen and press it there."""
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
        element.click()

    def type(self, keys: str) -> None:
        """Press keys one after the other, wherever the focus is; as selenium's Keys name them."""
        from selenium.webdriver import ActionChains

        ActionChains(self.driver).send_keys(keys).perform()

    def checked(self) -> dict[str, list[str]]:
        """axe-core's findings: "violations", "incomplete" and "passes", as "rule: element"."""
        self.driver.execute_script(AXE.read_text(encoding="utf-8"))
        found = self.driver.execute_async_script(
            "const done = arguments[arguments.length - 1];"
            "axe.run(document, {runOnly: {type: 'tag', values: arguments[0]}}).then(done);",
            [*WCAG_22, "best-practice"],
        )
        return {
            kind: [
                f"{rule['id']}: {node['html']}" for rule in found[kind] for node in rule["nodes"]
            ]
            for kind in ("violations", "incomplete", "passes")
        }
