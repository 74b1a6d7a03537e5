#!/usr/bin/env python3
"""Opens the pages of an output folder in a browser and looks at them as a reader would.

    python3 tests/reference/report_check.py OUT [--browser PATH] [--printed N]

For `index.html`, `variants.html` where there is one, and each `parcels/*/report.html`, from the disk and with all network requests told:

- nothing is asked of the network, nothing is complained of on the console;
- nothing is wider than a window of 1200 and of 400 px, in light and dark;
- `axe-core` (an open checker of accessibility rules, Deque Systems) finds nothing serious or critical in light or dark;
- it is complete without script;
- a report has at most 3 MB for each 2 ha of turf, and never needs less than 1 MB to pass.

For the index and N reports (3), printed on A4 and A3 as the paper alone decides, one of them on US letter too:

- every page has that paper's size, lying or standing;
- every drawing and table is inside the page, and every true-scale drawing has on paper the size it asks for;
- the last words of the page are in the PDF, and the sheet of that paper is and that of the other is not.

Needs `pip install playwright axe-playwright-python`, an installed Chromium, and `pdftotext`, `pdfinfo` of poppler. Downloads nothing.
"""

import argparse
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SCHEMES = ("light", "dark")
PAPERS_MM = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
# Which sheet a paper picks; on the third, drawings shrink and need not be to scale.
SHEETS = {"A4": "A4", "A3": "A3", "Letter": "A4"}
TRUE = ("A4", "A3")
MARGIN_MM = 10.0
MM_PER_POINT = 25.4 / 72.0
PX_PER_MM = 96.0 / 25.4
BYTES_PER_HA = 1.5e6

# Widest a drawing or table stands to its page: `page` is `across` where it lies.
BOXES = """() => [...document.querySelectorAll("svg.drawing, svg.chart, table")].filter(e => e.checkVisibility()).map(e => {
  const box = e.getBoundingClientRect(), style = getComputedStyle(e);
  return { what: e.tagName + " " + (e.querySelector("title, caption")?.textContent ?? ""), wide: box.width, high: box.height,
    left: box.left + scrollX, inside: e.scrollWidth <= e.clientWidth + 1 || e.tagName !== "TABLE",
    across: !!e.closest(".across"), w: style.getPropertyValue("--w"), h: style.getPropertyValue("--h") };
})"""


class Watch:
    """Collects what is wrong."""

    def __init__(self):
        self.wrong = []

    def say(self, page, text):
        self.wrong.append(f"{page}: {text}")


def opened(context, path, watch, name):
    page = context.new_page()
    page.on("console", lambda m: watch.say(name, f"console: {m.text}") if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda e: watch.say(name, f"script fails: {e}"))
    asked = []
    page.on("request", lambda r: asked.append(r.url))
    page.goto(path.as_uri())
    page.wait_for_load_state("load")
    for url in asked:
        if url != path.as_uri():
            watch.say(name, f"asks for {url}")
    return page


def overflow(page):
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


def look(browser, path, watch, name):
    """Screen, both schemes, both widths, accessibility."""
    for scheme in SCHEMES:
        context = browser.new_context(color_scheme=scheme, viewport={"width": 1200, "height": 900})
        page = opened(context, path, watch, name)
        for width in (1200, 400):
            page.set_viewport_size({"width": width, "height": 900})
            if overflow(page) > 1:
                watch.say(name, f"{scheme}: {overflow(page)} px too wide in a window of {width} px")
        if name != "index" and scheme == "light":
            use(page, watch, name)
        accessible(page, watch, f"{name}, {scheme}")
        context.close()
    context = browser.new_context(java_script_enabled=False)
    page = opened(context, path, watch, name)
    if page.locator("main h2").count() < 3 or page.locator(".tools:visible").count():
        watch.say(name, "without script: sections are missing, or tools that do nothing show")
    context.close()


def accessible(page, watch, name):
    """Rows beyond the sixth of a table are made by the same template: without them the checker takes seconds, not minutes."""
    page.evaluate("document.querySelectorAll('tbody').forEach(body => [...body.rows].slice(6).forEach(row => row.remove()))")
    page.set_viewport_size({"width": 1200, "height": 900})
    for violation in Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]:
        if violation["impact"] in ("serious", "critical"):
            node = violation["nodes"][0]["html"][:160]
            watch.say(name, f"{violation['id']} ({violation['impact']}), {len(violation['nodes'])} times: {node}")


def use(page, watch, name):
    """The script's own work: one station alone on the plan, a sorted table, a filtered table."""
    page.set_viewport_size({"width": 1200, "height": 900})
    if page.locator("[data-only] option").count() > 2:
        page.select_option("[data-only]", "1")
        shown = page.evaluate("[...document.querySelectorAll('.sheet [data-s]')].filter(e => getComputedStyle(e).visibility == 'visible').map(e => e.dataset.s)")
        if set(shown) != {"1"}:
            watch.say(name, f"one station asked for, shown are {sorted(set(shown))}")
        page.select_option("[data-only]", "")
    table = "#settings table"
    if page.locator(f"{table} tbody tr").count() > 12:
        button = page.locator(f"{table} thead button").nth(8)
        button.click()
        cells = page.locator(f"{table} tbody tr td:nth-child(9)").all_inner_texts()
        numbers = [float(cell.replace("\u202f", "")) for cell in cells if cell != "–"]
        if numbers != sorted(numbers):
            watch.say(name, "sorting the settings by pressure does not sort them")
        page.fill("#settings [data-filter]", "no such head")
        if page.locator(f"{table} tbody tr:visible").count():
            watch.say(name, "the filter of the settings hides nothing")
        page.fill("#settings [data-filter]", "")


def printed(browser, path, watch, name, folder, papers=TRUE):
    """Paper: geometry by the browser's own layout for print, then the PDF itself."""
    for paper in papers:
        wide_mm, high_mm = PAPERS_MM[paper]
        context = browser.new_context(color_scheme="dark")
        page = opened(context, path, watch, name)
        page.emulate_media(media="print")
        room = {False: wide_mm - 2 * MARGIN_MM, True: high_mm - 2 * MARGIN_MM}
        tall = {False: high_mm - 2 * MARGIN_MM, True: wide_mm - 2 * MARGIN_MM}
        # Laid out in a window as large as what a page holds, sheet by sheet as the paper picks them.
        for across in (False, True):
            page.set_viewport_size({"width": int(room[across] * PX_PER_MM), "height": int(tall[across] * PX_PER_MM)})
            for box in page.evaluate(BOXES):
                if box["across"] == across:
                    inside(box, room[across], tall[across], watch, f"{name} on {paper}", paper in TRUE)
        pdf = folder / f"{name}-{paper}.pdf"
        page.pdf(path=str(pdf), format=paper, prefer_css_page_size=False)
        pages(pdf, paper, watch, f"{name} on {paper}", page.locator("footer").inner_text(), name != "index")
        context.close()


def inside(box, wide_mm, high_mm, watch, name, to_scale):
    slack_px = 1.5
    if box["left"] < -slack_px or box["left"] + box["wide"] > wide_mm * PX_PER_MM + slack_px or not box["inside"]:
        watch.say(name, f"wider than the page: {box['what']}, {box['wide'] / PX_PER_MM:.0f} of {wide_mm:.0f} mm")
    if not box["what"].lower().startswith("table") and box["high"] > high_mm * PX_PER_MM + slack_px:
        watch.say(name, f"higher than the page: {box['what']}")
    if to_scale and box["w"] and "map" not in box["what"].lower():
        for asked, is_px in ((box["w"], box["wide"]), (box["h"], box["high"])):
            if abs(float(asked.removesuffix("mm")) * PX_PER_MM - is_px) > 0.5:
                watch.say(name, f"not to scale: {box['what']} should have {asked}, has {is_px / PX_PER_MM:.2f} mm")


def pages(pdf, paper, watch, name, footer, has_sheets):
    told = subprocess.run(["pdfinfo", "-l", "9999", pdf], capture_output=True, text=True, check=True).stdout
    sizes = re.findall(r"size: +([\d.]+) x ([\d.]+) pts", told)
    for wide, high in sizes:
        is_mm = sorted((float(wide) * MM_PER_POINT, float(high) * MM_PER_POINT))
        if any(abs(a - b) > 1.0 for a, b in zip(is_mm, PAPERS_MM[paper])):
            watch.say(name, f"a page of {is_mm[0]:.0f} mm by {is_mm[1]:.0f} mm")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    words = " ".join(text.split())
    for line in footer.splitlines():
        # A name behind them may have letters that no font here has.
        if " ".join(line.split()[:5]) not in words:
            watch.say(name, f"the PDF lacks the words: {line}")
    if has_sheets:
        own = SHEETS[paper]
        other = "A3" if own == "A4" else "A4"
        if not re.search(rf"Plan, 1:\d+ on {own}", words) or re.search(rf"Plan, 1:\d+ on {other}", words):
            watch.say(name, "the wrong sheet, or none")
    print(f"{name}: {len(sizes)} pages")


def turf_ha(report):
    figures = json.loads((report.parent / "design.json").read_text(encoding="utf-8"))
    return (figures["turf_m2"] or 0.0) / 1e4


def small_enough(report, watch, name):
    size, ground = report.stat().st_size, turf_ha(report)
    print(f"{name}: {size / 1e6:.2f} MB for {ground:.2f} ha")
    if size > max(BYTES_PER_HA * ground, 1e6):
        watch.say(name, f"{size} bytes are too many for {ground:.2f} ha")


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("out", type=pathlib.Path)
    arguments.add_argument("--browser", default=next(filter(None, map(shutil.which, BROWSERS)), None))
    arguments.add_argument("--printed", type=int, default=3)
    arguments = arguments.parse_args()
    if not arguments.browser or not shutil.which("pdftotext"):
        sys.exit("no Chromium or no pdftotext here")
    out = arguments.out.resolve()
    reports = sorted(out.glob("parcels/*/report.html"))
    if not reports:
        sys.exit(f"no reports in {out}")
    watch = Watch()
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=arguments.browser, args=["--no-sandbox"])
        for report in reports:
            small_enough(report, watch, report.parent.name)
            look(browser, report, watch, report.parent.name)
        lists = [page for page in ("index.html", "variants.html") if (out / page).exists()]
        for page in lists:
            look(browser, out / page, watch, "index")
        # The largest are the likeliest to be cut.
        large = sorted(reports, key=lambda report: -report.stat().st_size)[: arguments.printed]
        for number, report in enumerate(large):
            papers = SHEETS if number == 0 else TRUE
            printed(browser, report, watch, report.parent.name, pathlib.Path(folder), papers)
        for page in lists:
            printed(browser, out / page, watch, "index", pathlib.Path(folder))
        browser.close()
    for line in watch.wrong:
        print("WRONG", line)
    print(f"{len(reports)} reports and {', '.join(lists)} looked at, {len(watch.wrong)} things wrong")
    sys.exit(1 if watch.wrong else 0)


if __name__ == "__main__":
    main()
