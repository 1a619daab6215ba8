"""Draw the icons of the installed pages from `mark.svg`: python -m tests.project.icons."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

SHOP = Path(__file__).parents[2] / "shop/site/static/shop"
# Name, side in pixels, share of the side that the mark fills, ground. What is masked keeps a
# margin: a mask may take a tenth of each side.
ICONS = (
    ("mark-192.png", 192, 1.0, "transparent"),
    ("mark-512.png", 512, 1.0, "transparent"),
    ("mark-maskable.png", 512, 0.66, "#cfc6ae"),
)


def main() -> None:
    """Write the pictures."""
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for name, side, share, ground in ICONS:
            page = browser.new_page(viewport={"width": side, "height": side})
            inner = round(side * share)
            frame = f"margin:{(side - inner) // 2}px;width:{inner}px;height:{inner}px;display:block"
            mark = (SHOP / "mark.svg").read_text().replace("<svg ", f'<svg style="{frame}" ', 1)
            page.set_content(f'<body style="margin:0;background:{ground}">{mark}')
            page.screenshot(path=str(SHOP / name), omit_background=True)
        browser.close()


if __name__ == "__main__":
    main()
