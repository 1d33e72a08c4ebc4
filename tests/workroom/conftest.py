"""One browser for the tests of a module, and windows that are closed after each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, expect, sync_playwright

CHROMIUM = Path("/usr/bin/chromium")
WAIT_MS = 30_000

expect.set_options(timeout=WAIT_MS)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium without a screen; whoever has none skips what needs it."""
    if not CHROMIUM.exists():
        pytest.skip("the pages need a browser: install chromium")
    with sync_playwright() as driver:
        try:
            found = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        except Error as error:
            pytest.skip(f"chromium does not start here: {str(error).splitlines()[0]}")
        yield found
        found.close()


@pytest.fixture
def window(browser: Browser) -> Iterator[BrowserContext]:
    """A browser of its own: no cookies, nothing kept."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(WAIT_MS)
    yield context
    context.close()
