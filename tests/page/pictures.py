"""Make the README's pictures of the pages from the demo yard: `python -m tests.page.pictures`."""

from __future__ import annotations

import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from stockyard.desk import job_list, jobs, planning, pulling
from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.door import Yardkeeper
from tests.page.server import CHROMIUM, served

TARGET = Path(__file__).parents[2] / "demo_data" / "pictures"
SIZE = {"width": 1024, "height": 720}
# File name and page; job 1 is planned, job 2 is at the saw.
SHOWN = (
    ("page-plan.png", "/jobs/1/plan"), ("page-pull.png", "/jobs/1/pull"), ("page-saw.png", "/jobs/2/saw"),
    ("page-racks.png", "/racks/place?code=SLOTS-6"),
)  # fmt: skip
LISTS = ("tool_cabinet.txt", "toy_crates.tsv")


def demo(folder: Path) -> Path:
    """Make the demo yard with two planned jobs, the second one pulled."""
    path = folder / "yard.db"
    build_yard(path).close()
    with Yardkeeper(path, "office").open() as y:
        for number, name in enumerate(LISTS, 1):
            text = (demo_folder() / "cut_lists" / name).read_text(encoding="utf-8")
            found = job_list.understand(y, text, job_list.Ways(first="along"))
            jobs.add_job(y, name.partition(".")[0].replace("_", " "), text, found.parts)
            planning.plan(y, str(number), planning.How(work=20))
        pulling.pull(y, (), "2")
    return path


def take(chromium: Browser, target: Path) -> None:
    """Write each picture, grey and small."""
    with tempfile.TemporaryDirectory() as folder, served(demo(Path(folder))) as (at, _):
        page = chromium.new_page(viewport=SIZE)
        for name, path in SHOWN:
            page.goto(at + path, wait_until="load")
            if path.endswith("/saw"):
                page.get_by_role("link", name="Cut, next").click()
                page.wait_for_url("**at=**")
            page.wait_for_function("[...document.images].every(i => i.complete)")
            image = Image.open(BytesIO(page.screenshot()))
            image.convert("L").resize((768, 540)).quantize(16).save(target / name, optimize=True)
        page.close()


def main() -> None:
    """Take the pictures for the README."""
    if CHROMIUM is None:
        sys.exit("no Chromium here")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        take(chromium, TARGET)
        chromium.close()


if __name__ == "__main__":
    main()
