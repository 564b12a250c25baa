"""Makes the pictures in README from the examples: `python -m tests.journeys.readme_pictures [FOLDER]`.

Each is small enough to load at once. The bench page is shown by Chromium; without it that picture stays as it was.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path

from PIL import Image

from almanac.actions.look import look as read
from almanac.actions.paper import bench_sheet_pages
from almanac.pictures.chart import chart_long
from almanac.pictures.chart_rows import season_of
from almanac.pictures.paper import png
from almanac.pictures.site_year import site_picture
from almanac.pictures.svg import svg
from almanac.web.app import create_app
from almanac.web.keys import load_keys

HERE = Path(__file__).parents[2]
EXAMPLE, DAY = HERE / "examples" / "quince-lane", date(2026, 2, 24)
FOLDER = EXAMPLE / "pictures"
_SHEET_WIDE = 640
_PHONE, _SHARP = (360, 740), 2  # what a small phone shows, drawn with so many dots a pixel


def make(folder: Path) -> list[Path]:
    """Write the pictures into a folder; those that could be made."""
    folder.mkdir(parents=True, exist_ok=True)
    noon = datetime(DAY.year, DAY.month, DAY.day, 17, tzinfo=UTC)
    with tempfile.TemporaryDirectory() as scratch:
        nursery = Path(scratch) / "nursery"
        shutil.copytree(EXAMPLE, nursery, ignore=shutil.ignore_patterns("calendar", "phone-keys.toml"))
        seen = read(nursery, noon, DAY)
        texts = {
            "chart.svg": svg(chart_long(season_of(seen.plan, seen.nursery), 250.0)),
            "site.svg": svg(site_picture(seen.nursery, seen.nursery.settings.frost.accept)),
        }
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8")
        whole, sheet = Path(scratch) / "sheet.png", folder / "sheet.png"
        whole.write_bytes(png(bench_sheet_pages(seen)[0], DAY))
        with Image.open(whole) as shown:
            small = shown.convert("L").resize((_SHEET_WIDE, round(shown.height * _SHEET_WIDE / shown.width)))
            small.quantize(16).save(sheet, optimize=True)
        made = [*(folder / name for name in texts), sheet]
        page = _bench_page(nursery, noon, Path(scratch), folder / "bench.png")
        return [*made, page] if page else made


def _bench_page(nursery: Path, noon: datetime, scratch: Path, file: Path) -> Path | None:
    """The page as a phone shows it, where there is a browser."""
    browser = shutil.which("chromium")
    if browser is None:
        return None
    phone = create_app(nursery, lambda: noon, ["localhost"], DAY).test_client()
    phone.get(f"/k/{load_keys(nursery).write}")
    look = (HERE / "almanac" / "web" / "assets" / "page.css").read_text(encoding="utf-8")
    html = scratch / "page.html"
    linked = '<link rel="stylesheet" href="/look/page.css">'
    html.write_text(phone.get("/").text.replace(linked, f"<style>{look}</style>"), encoding="utf-8")
    wide, high = _PHONE
    inner = f'<iframe src="{html.name}" width="{wide}" height="{high}" style="border:0">'  # no window is that narrow
    frame, whole = scratch / "frame.html", scratch / "page.png"
    frame.write_text(f'<body style="margin:0">{inner}', encoding="utf-8")
    # A browser keeps part of the height for itself, and does not paint what lies below.
    size = f"--window-size={wide * 2},{high * 2}", f"--force-device-scale-factor={_SHARP}"
    options = ("--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", *size, f"--screenshot={whole}")
    subprocess.run((browser, *options, frame), check=True, capture_output=True, timeout=120)
    with Image.open(whole) as shown:
        page = shown.convert("RGB").crop((0, 0, wide * _SHARP, high * _SHARP))
        page.quantize(32).save(file, optimize=True)
    return file


if __name__ == "__main__":
    for path in make(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER):
        print(f"{path} {path.stat().st_size / 1000:.0f} kB")
