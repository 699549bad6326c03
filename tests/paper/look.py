"""Looks at pages as a phone, a tablet and paper show them, over the browser's own DevTools protocol.

look.py FOLDER PAGE… leaves pictures in FOLDER and ends with status 1 when something is wrong with a page. PAGE#one,two
also asks for elements of these names, with words or drawings in them.
"""

import base64
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import time

import websocket

# Name, width and height in CSS pixels, colour scheme.
SCREENS = [("phone", 360, 740, "light"), ("phone-dark", 360, 740, "dark"), ("tablet", 820, 1180, "light"),
           ("tablet-dark", 820, 1180, "dark")]
# Name, width and height in inches (ISO 216, ANSI/ASME Y14.1).
PAPERS = [("a4", 8.27, 11.69), ("letter", 8.5, 11.0)]
# The margins of paper above and below, in inches.
TOP, BOTTOM = 0.55, 0.63
# Longer pictures are cut.
TALLEST = 16000

# Small signs at the end of every cell and every line of a list, and one at each heading and at what follows it: on paper
# those of one row have to lie on one page, and a heading with what it is the heading of.
MARK = """(() => {
  const sign = (into, name, first) => {
    const span = document.createElement('span');
    span.textContent = name;
    span.style.cssText = 'position:absolute;font:2px monospace;color:#fefefe;white-space:nowrap;letter-spacing:0;text-indent:0';
    first ? into.prepend(span) : into.append(span);
  };
  let rows = 0;
  for (const row of document.querySelectorAll('tr, li, .verdict')) {
    if (row.querySelector('tr, li') || !row.checkVisibility()) continue;
    const cells = row.matches('tr') ? [...row.children] : [row];
    cells.forEach(cell => { sign(cell, `qr${rows}q`, true); sign(cell, `qr${rows}q`, false); });
    rows += 1;
  }
  let heads = 0;
  for (const head of document.querySelectorAll('h2, h3')) {
    let next = head.nextElementSibling;
    if (!next || !head.checkVisibility()) continue;
    while (next.querySelector(':scope > tbody > tr > th, :scope > li')) next = next.querySelector(':scope > tbody > tr > th, :scope > li');
    if (next.matches('svg, figure, .place')) continue;
    sign(head, `qh${heads}q`, false);
    sign(next, `qh${heads}q`, true);
    heads += 1;
  }
  return [rows, heads];
})()"""


# What the file holds and the page does not show: parts, drawings and links within the page; and drawings side by side at
# two heights. Words in brackets are the elements asked for.
ABSENT = """(asked => {
  const has_room = e => { const box = e.getBoundingClientRect(); return box.width > 1 && box.height > 1; };
  const out = [];
  for (const name of asked) {
    const part = document.getElementById(name);
    if (!part) out.push(`has no #${name}`);
    else if (!has_room(part) || (part.innerText.trim().length < 30 && !part.querySelector('svg'))) out.push(`#${name} is empty`);
  }
  for (const shown of document.querySelectorAll('main section, main figure, main svg, main article, main table'))
    if (!has_room(shown)) out.push(`${shown.tagName} #${shown.id} has no room: ${shown.textContent.slice(0, 40)}`);
  for (const drawing of document.querySelectorAll('svg'))
    if (!drawing.querySelector('text, path, polyline, rect')) out.push(`an empty drawing: ${drawing.textContent.slice(0, 40)}`);
  for (const row of document.querySelectorAll('.beside')) {
    const [one, other] = [...row.querySelectorAll('svg')].map(drawing => drawing.getBoundingClientRect());
    if (other && one.left < other.left && Math.abs(one.top - other.top) > 1) out.push(`drawings side by side begin at two heights: ${row.textContent.slice(0, 40)}`);
  }
  for (const link of document.querySelectorAll('a[href^="#"]'))
    if (!document.getElementById(link.getAttribute('href').slice(1))) out.push(`a link to nothing: ${link.getAttribute('href')}`);
  return out;
})"""


class Browser:
    def __init__(self, folder):
        self.process = subprocess.Popen(
            ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run",
             "--disable-background-networking", "--disable-component-update", "--remote-debugging-port=0",
             f"--user-data-dir={folder}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        port = pathlib.Path(folder) / "DevToolsActivePort"
        for _ in range(300):
            if port.exists() and len(port.read_text().splitlines()) == 2:
                break
            time.sleep(0.1)
        number, path = port.read_text().splitlines()
        self.socket = websocket.create_connection(
            f"ws://127.0.0.1:{number}{path}", timeout=60, suppress_origin=True)
        self.last = 0
        self.events = []

    def call(self, method, session=None, **params):
        self.last += 1
        message = {"id": self.last, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        self.socket.send(json.dumps(message))
        while True:
            answer = json.loads(self.socket.recv())
            if answer.get("id") == self.last:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def wait(self, event, session):
        for known in self.events:
            if known.get("method") == event and known.get("sessionId") == session:
                return
        while True:
            answer = json.loads(self.socket.recv())
            self.events.append(answer)
            if answer.get("method") == event and answer.get("sessionId") == session:
                return

    def close(self):
        try:
            self.call("Browser.close")
        except Exception:
            self.process.terminate()
        self.process.wait(timeout=20)


class Page:
    def __init__(self, browser, path):
        self.browser = browser
        self.folder = path.resolve(strict=True).parent
        self.url = path.resolve().as_uri()
        browser.events.clear()
        self.target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = browser.call("Target.attachToTarget", targetId=self.target, flatten=True)["sessionId"]
        for domain in ["Network", "Runtime", "Log", "Page"]:
            self.call(f"{domain}.enable")
        browser.events.clear()
        self.call("Page.navigate", url=self.url)
        browser.wait("Page.loadEventFired", self.session)

    def call(self, method, **params):
        return self.browser.call(method, self.session, **params)

    def value(self, expression):
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(answer["exceptionDetails"])
        return answer["result"].get("value")

    def screen(self, width, height, scheme, media=""):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=media == "")
        self.call("Emulation.setEmulatedMedia", media=media,
                  features=[{"name": "prefers-color-scheme", "value": scheme}])

    def too_wide(self):
        """What reaches beyond the screen, if the page can be pushed sideways."""
        return self.value("""(() => {
          const room = document.documentElement.clientWidth;
          if (document.documentElement.scrollWidth <= room) return null;
          const out = [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > room + 0.5);
          return `${document.documentElement.scrollWidth} px on ${room}: ` + out.slice(-3).map(e => e.tagName + ' ' + e.textContent.slice(0, 40)).join(' | ');
        })()""")

    def picture(self, path):
        height = min(self.value("document.documentElement.scrollHeight"), TALLEST)
        width = self.value("document.documentElement.clientWidth")
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=True,
                         clip={"x": 0, "y": 0, "width": width, "height": height, "scale": 1})
        path.write_bytes(base64.b64decode(shot["data"]))

    def print(self, path, width, height):
        pdf = self.call("Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True,
                        marginTop=TOP, marginBottom=BOTTOM, marginLeft=0.51, marginRight=0.51)
        path.write_bytes(base64.b64decode(pdf["data"]))

    def is_own(self, url):
        """The page itself, or a style or a script that lies beside it."""
        beside = [file.as_uri() for end in ("css", "js") for file in self.folder.glob(f"*.{end}")]
        return url == self.url or url in beside

    def messages(self):
        for event in self.browser.events:
            params = event.get("params", {})
            match event.get("method"):
                case "Network.requestWillBeSent" if not self.is_own(params["request"]["url"].split("#")[0]):
                    yield f"asks for {params['request']['url'][:120]}"
                case "Runtime.exceptionThrown":
                    yield f"breaks: {params['exceptionDetails'].get('text')}"
                case "Runtime.consoleAPICalled" if params["type"] in ("error", "warning"):
                    yield f"complains: {params['args']}"
                case "Log.entryAdded" if params["entry"]["level"] in ("error", "warning"):
                    yield f"complains: {params['entry']['text']}"


def cut(pdf, rows, heads):
    """Rows and headings whose signs lie on more than one page, or on none."""
    text = subprocess.run(["pdftotext", "-raw", str(pdf), "-"], check=True, capture_output=True, text=True).stdout
    pages = {}
    for number, page in enumerate(text.split("\f"), 1):
        for name in re.findall(r"q([rh]\d+)q", page):
            pages.setdefault(name, set()).add(number)
    for name in [f"r{at}" for at in range(rows)] + [f"h{at}" for at in range(heads)]:
        where = sorted(pages.get(name, []))
        if len(where) != 1:
            what = "row" if name[0] == "r" else "heading"
            yield f"{what} {name[1:]} lies on pages {where}"


def words(pdf):
    """The words of each page, each with its left, upper, right and lower edge as shares of the page."""
    text = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], check=True, capture_output=True, text=True).stdout
    for page in text.split("<page ")[1:]:
        width, height = (float(side) for side in re.findall(r'="([\d.]+)"', page)[:2])
        found = re.findall(r'<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</word>', page)
        yield height, [(*(float(edge) / side for edge, side in zip(box, (width, height) * 2)), word) for *box, word in found]


def empty(pdf):
    """Pages but for the last that are less than two fifths full: drawings and short tables stay whole, and the page before
    them ends early."""
    pages = list(words(pdf))
    for number, (height, found) in enumerate(pages[:-1], 1):
        # The number of the page stands below everything else.
        upper, lower = TOP * 72 / height, 1 - BOTTOM * 72 / height
        full = (max((bottom for *_, bottom, _ in found if bottom < lower), default=0) - upper) / (lower - upper)
        if full < 2 / 5:
            yield f"page {number} is {full:.0%} full"


def look(browser, path, asked, folder):
    wrong = []
    page = Page(browser, path)
    for name, width, height, scheme in SCREENS:
        page.screen(width, height, scheme)
        if wide := page.too_wide():
            wrong.append(f"{name}: wider than the screen: {wide}")
        wrong += [f"{name}: {words}" for words in page.value(f"{ABSENT}({json.dumps(asked)})")]
        page.picture(folder / f"{path.stem}-{name}.png")
    for name, width, height in PAPERS:
        # What paper leaves between its margins, at 96 px an inch.
        room = int((width - 2 * 0.51) * 96)
        page.screen(room, 1000, "dark", media="print")
        if wide := page.too_wide():
            wrong.append(f"{name}: wider than the paper: {wide}")
        page.call("Emulation.setEmulatedMedia", media="", features=[])
        page.call("Emulation.clearDeviceMetricsOverride")
        page.print(folder / f"{path.stem}-{name}.pdf", width, height)
        # A rule of the book begins a page; the parts of a sheet, which are asked for, follow each other.
        wrong += [f"{name}: {words}" for words in (empty(folder / f"{path.stem}-{name}.pdf") if asked else [])]
    page.call("Emulation.setEmulatedMedia", media="print", features=[])
    rows, heads = page.value(MARK)
    for name, width, height in PAPERS:
        with tempfile.TemporaryDirectory() as kept:
            pdf = pathlib.Path(kept) / "marked.pdf"
            page.print(pdf, width, height)
            wrong += [f"{name}: {words}" for words in cut(pdf, rows, heads)]
    wrong += list(page.messages())
    browser.call("Target.closeTarget", targetId=page.target)
    return wrong, rows


def main(folder, *paths):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    all_rows, bad = 0, 0
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        browser = Browser(profile)
        try:
            for named in paths:
                path, _, asked = named.partition("#")
                path = pathlib.Path(path)
                wrong, rows = look(browser, path, [name for name in asked.split(",") if name], folder)
                all_rows += rows
                bad += bool(wrong)
                for words in wrong:
                    print(f"{path}: {words}")
        finally:
            browser.close()
    print(f"{len(paths)} pages looked at, {all_rows} rows on paper, {bad} with something wrong")
    return 1 if bad or not paths else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
