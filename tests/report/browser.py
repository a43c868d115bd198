"""A headless Chromium spoken to over a pipe, with the standard library alone."""

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless=new", "--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader", "--disable-background-networking", "--disable-extensions",
    "--disable-component-update", "--disable-sync", "--no-first-run", "--hide-scrollbars",
    "--no-default-browser-check", "--disable-dev-shm-usage", "--remote-debugging-pipe",
)  # fmt: skip


def find_browser():
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """One browser with one page; records requests, console errors and exceptions."""

    def __enter__(self):
        self.profile = tempfile.mkdtemp(prefix="barbwright-browser-")
        to_child, self.to = os.pipe()
        self.back, from_child = os.pipe()
        # The browser reads from descriptor 3 and writes to 4; a shell puts them there.
        line = 'exec 3<&"$0" 4>&"$1"; shift; exec "$@"'
        program = [find_browser(), *FLAGS, f"--user-data-dir={self.profile}", "about:blank"]
        self.process = subprocess.Popen(
            ["bash", "-c", line, str(to_child), str(from_child), *program],
            pass_fds=(to_child, from_child), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(to_child)
        os.close(from_child)
        self.buffer, self.number, self.events = b"", 0, []
        targets = self.call("Target.getTargets")["targetInfos"]
        page = next(one["targetId"] for one in targets if one["type"] == "page")
        self.session = None
        self.session = self.call("Target.attachToTarget", targetId=page, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")
        return self

    def __exit__(self, *_):
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self.to)
        os.close(self.back)
        shutil.rmtree(self.profile, ignore_errors=True)

    session = None

    def call(self, method, **values):
        self.number += 1
        message = {"id": self.number, "method": method, "params": values}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next(60.0)
            if answer is None:
                raise TimeoutError(method)
            if answer.get("id") == self.number:
                assert "error" not in answer, answer
                return answer["result"]
            self.events.append(answer)

    def _next(self, seconds):
        end = time.monotonic() + seconds
        while b"\0" not in self.buffer:
            if not select.select([self.back], [], [], max(end - time.monotonic(), 0.0))[0]:
                return None
            piece = os.read(self.back, 1 << 16)
            if not piece:
                return None
            self.buffer += piece
        text, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(text)

    def open(self, path, width, height, dark=False):
        self.events.clear()
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=width < 500)  # fmt: skip
        look = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.call("Emulation.setEmulatedMedia", features=look)
        self.call("Page.navigate", url=Path(path).resolve().as_uri())
        for _ in range(100):
            if self.run("document.readyState") == "complete":
                break
            time.sleep(0.1)
        # Two frames, so that the part is drawn.
        self.run("new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))")

    def run(self, script):
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True,
                           awaitPromise=True)  # fmt: skip
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def complaints(self):
        found = []
        for event in self.events:
            method, values = event.get("method"), event.get("params", {})
            if method == "Runtime.exceptionThrown":
                found.append(values["exceptionDetails"])
            elif method == "Runtime.consoleAPICalled" and values["type"] in {"error", "warning"}:
                found.append(values["args"])
            elif method == "Log.entryAdded" and values["entry"]["level"] == "error":
                found.append(values["entry"])
        return found

    def requests(self):
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]

    def screenshot(self, full=False):
        clip = {}
        if full:
            size = self.call("Page.getLayoutMetrics")["cssContentSize"]
            clip = {"clip": {**size, "scale": 1}, "captureBeyondViewport": True}
        return base64.b64decode(self.call("Page.captureScreenshot", **clip)["data"])

    def pdf(self, width_in, height_in):
        answer = self.call("Page.printToPDF", paperWidth=width_in, paperHeight=height_in,
                           preferCSSPageSize=False, printBackground=True)  # fmt: skip
        return base64.b64decode(answer["data"])

    def key(self, key):
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key, code=key)

    def drag(self, start, end):
        for kind, (x, y) in (("mousePressed", start), ("mouseMoved", end), ("mouseReleased", end)):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=1,
                      clickCount=1)  # fmt: skip
            time.sleep(0.1)
