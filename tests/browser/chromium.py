"""Where Chromium is on this machine. ``python -m tests.browser.chromium`` tells it, or fails."""

import os
import shutil
import sys

from playwright.sync_api import sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def chromium_path(playwright):
    """Return the system's Chromium, or the one playwright installed for itself, or None."""
    for name in NAMES:
        if path := shutil.which(name):
            return path
    own = playwright.chromium.executable_path
    return own if os.path.exists(own) else None


if __name__ == "__main__":
    with sync_playwright() as playwright:
        path = chromium_path(playwright)
    print(path or "There is no Chromium.")
    sys.exit(path is None)
