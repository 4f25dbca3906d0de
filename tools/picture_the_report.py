"""Take the picture of the report that the README shows; needs Chromium and `make demo` before."""

import os
from pathlib import Path

from playwright.sync_api import sync_playwright

HOUSE = Path(__file__).parent.parent
REPORT = HOUSE / "examples" / "attic-cinema" / "out" / "report.html"
PICTURE = HOUSE / "docs" / "report.png"
SIZE = {"width": 1180, "height": 1500}


def main() -> None:
    """Open the report without a window and save its head."""
    quiet = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=quiet
        )
        page = browser.new_page(viewport=SIZE, color_scheme="light")
        page.goto(REPORT.as_uri())
        PICTURE.parent.mkdir(exist_ok=True)
        page.screenshot(path=PICTURE)
        browser.close()


if __name__ == "__main__":
    main()
