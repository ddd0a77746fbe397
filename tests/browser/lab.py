"""A JupyterLab of its own for the tests, and the hands that use it in a browser.

`LabServer` runs the server on a free port of this machine, with its own home,
settings and a copy of the workbooks.  `Lab` is one browser page: it opens a
notebook, presses Run All, drags sliders with the mouse and reads the page.
Everything waits for what it waits for; nothing sleeps.
"""

from __future__ import annotations

import base64
import importlib.util
import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import ConsoleMessage, Locator, Page

START_S = 60.0  # a cold start on a busy machine; usually about 2 s
WAIT_MS = 30_000  # longest wait for anything on the page

# Asks nothing over the network and shows nothing that would cover the notebook.
SETTINGS = {
    "@jupyterlab/apputils-extension/notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    },
    "@jupyterlab/extensionmanager-extension/plugin": {"enabled": False},
    "@jupyterlab/docmanager-extension/plugin": {"autosave": False},
}


class LabError(AssertionError):
    """A cell, a callback or the page failed; the text is what it said."""


class LabServer:
    """JupyterLab on this machine, ended by `close`.

    Parameters
    ----------
    folder : Path
        What it serves.
    home : Path
        An empty folder for its home, settings and log.
    """

    def __init__(self, folder: Path, home: Path) -> None:
        self.folder = folder
        self.token = secrets.token_hex(16)
        self._home = home
        self._log = home / "server.log"
        _write_settings(home / "settings")
        _write_kernelspec(home / "data")
        _copy_font_list(home / "matplotlib")
        with self._log.open("wb") as log:
            self._process = subprocess.Popen(
                self._command(),
                env=_environment(home),
                stdout=log,
                stderr=subprocess.STDOUT,
                stdin=subprocess.DEVNULL,  # else it would ask whether to stop
            )
        try:
            self.url = self._wait_until_it_answers()
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """End the server; its kernels end with it, or when they find it gone."""
        if self._process.poll() is None:
            self._process.terminate()
            try:
                self._process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()

    def _command(self) -> list[str]:
        return [
            *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
            *("--ip=127.0.0.1", "--port=0"),  # 0: the system gives a free port
            f"--IdentityProvider.token={self.token}",
            f"--ServerApp.root_dir={self.folder}",
            "--LabApp.expose_app_in_browser=True",  # lets the tests ask what a cell is doing
            "--LabApp.extension_manager=readonly",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            "--LabApp.news_url=",
            # If the tests are killed and cannot end it, it ends by itself.
            "--MappingKernelManager.cull_idle_timeout=900",
            "--ServerApp.shutdown_no_activity_timeout=900",
        ]

    def _wait_until_it_answers(self) -> str:
        """Return the address, once the server answers there."""
        deadline = time.monotonic() + START_S
        while time.monotonic() < deadline:
            for note in (self._home / "runtime").glob("jpserver-*.json"):
                url = self._answering(note)
                if url is not None:
                    return url
            self._pause()
        raise LabError(f"JupyterLab did not answer:\n{self._log.read_text(errors='replace')}")

    def _answering(self, note: Path) -> str | None:
        """Return the address in the server's own note, if it answers there."""
        try:
            url = str(json.loads(note.read_text(encoding="utf-8"))["url"]).rstrip("/")
            request = urllib.request.Request(  # noqa: S310 (this machine, the server just started)
                f"{url}/api/status", headers={"Authorization": f"token {self.token}"}
            )
            with urllib.request.urlopen(request, timeout=5):  # noqa: S310
                return url
        except (ValueError, urllib.error.URLError, TimeoutError):
            return None  # half written, or not listening yet

    def _pause(self) -> None:
        """Wait a moment for the server to die, which it should not."""
        try:
            self._process.wait(timeout=0.05)
        except subprocess.TimeoutExpired:
            return
        raise LabError(f"JupyterLab ended:\n{self._log.read_text(errors='replace')}")


class Lab:
    """One browser page on the server.

    Parameters
    ----------
    page : playwright Page
        Already open, used by nothing else.
    url, token : str
        Of the server.
    folder : Path
        What the server serves; notebooks put there can be opened by name.
    """

    def __init__(self, page: Page, url: str, token: str, folder: Path) -> None:
        self.page = page
        self.folder = folder
        self._url = url
        self._token = token
        self._page_errors: list[str] = []
        page.set_default_timeout(WAIT_MS)
        page.on("pageerror", lambda error: self._page_errors.append(str(error)))
        page.on("console", self._note_console)
        page.on("dialog", lambda dialog: dialog.accept())  # "leave without saving?"

    def open(self, name: str) -> None:
        """Open a notebook alone on the page and wait for its kernel."""
        place = urllib.parse.quote(name)
        self.page.goto(f"{self._url}/doc/tree/{place}?reset&token={self._token}")
        self.page.wait_for_function(_READY)
        self.page.evaluate(_LISTEN)
        self._page_errors.clear()

    def close(self) -> None:
        """End the notebook's kernel, so that the next test starts with a new one."""
        self.page.evaluate(_SHUT_DOWN)

    def run_all(self, longest_s: float = 60.0) -> None:
        """Press Run > Run All Cells and wait for the last cell.

        Parameters
        ----------
        longest_s : float
            Longest wait, in seconds.

        Raises
        ------
        LabError
            If a cell or a callback fails.
        """
        before = self.page.evaluate(_HIGHEST_COUNT)
        self.page.click('#jp-MainMenu .lm-MenuBar-itemLabel:text-is("Run")')
        self.page.click('.lm-Menu .lm-Menu-itemLabel:text-is("Run All Cells")')
        self.page.wait_for_function(_RAN, arg=before, timeout=1e3 * longest_s)
        if self.errors():
            raise LabError("\n".join(self.errors()))

    def slider(self, label: str) -> Locator:
        """Return a slider by the name our factory gave it, or by its label.

        Parameters
        ----------
        label : str
            NAME of the class `cv-slider-NAME`, or the words beside the slider.
        """
        if re.fullmatch(r"[\w-]+", label):
            named = self.page.locator(f".cv-slider-{label}")
            if named.count():
                return named
        words = self.page.locator(
            ".widget-label", has_text=re.compile(rf"^\s*{re.escape(label)}\s*$")
        )
        return self.page.locator(".widget-slider").filter(has=words)

    def handle(self, label: str) -> Locator:
        """Return the part of a slider that is dragged and takes arrow keys."""
        return self.slider(label).locator(".noUi-handle")

    def drag(self, label: str, share: float, steps: int = 8) -> None:
        """Drag a slider's handle with the mouse.

        Parameters
        ----------
        label : str
            See `slider`.
        share : float
            Where to let go: 0 at the low end of the track, 1 at the high end.
        steps : int
            Mouse moves on the way.
        """
        handle = self.handle(label)
        handle.scroll_into_view_if_needed()
        start = handle.bounding_box()
        track = self.slider(label).locator(".noUi-base").bounding_box()
        assert start is not None
        assert track is not None
        middle = start["y"] + start["height"] / 2
        self.page.mouse.move(start["x"] + start["width"] / 2, middle)
        self.page.mouse.down()
        self.page.mouse.move(track["x"] + share * track["width"], middle, steps=steps)
        self.page.mouse.up()

    def settle(self) -> None:
        """Wait until everything done so far has been answered and shown."""
        self.page.evaluate(_SETTLE)

    def text(self, css: str) -> str:
        """Return the words of an element, once it is there."""
        return self.page.locator(css).inner_text().strip()

    def wait_text_change(self, css: str, old: str) -> str:
        """Wait until an element's words differ from `old`; return the new ones."""
        self.page.wait_for_function(_OTHER_TEXT, arg=[css, old])
        return self.text(css)

    def pictures_shown(self, css: str) -> int:
        """Return how many pictures an image has shown; wait for the first."""
        self.page.wait_for_function(_SHOWN_OTHER, arg=[css, 0])
        return int(self.page.locator(css).get_attribute("data-shown") or 0)

    def wait_picture_change(self, css: str, old_counter: int) -> int:
        """Wait until an image has shown more than `old_counter`; return its count."""
        self.page.wait_for_function(_SHOWN_OTHER, arg=[css, old_counter])
        return self.pictures_shown(css)

    def picture_bytes(self, css: str) -> bytes:
        """Return the PNG file an image shows."""
        self.pictures_shown(css)
        return base64.b64decode(self.page.evaluate(_IMAGE_DATA, css))

    def click(self, css: str) -> None:
        """Click an element, once it can be clicked."""
        self.page.click(css)

    def latency_ms(self, css: str, act: Callable[[], Any]) -> float:
        """Return the time from the first input event of `act` to a changed picture."""
        self.pictures_shown(css)
        self.page.evaluate(_START_CLOCK, css)
        act()
        self.page.wait_for_function("() => window.curvelibClock.took !== null")
        return float(self.page.evaluate("() => window.curvelibClock.took"))

    def screenshot(self, path: Path | str, css: str | None = None) -> None:
        """Save the window, or one element scrolled into it, as a PNG file."""
        shown = self.page if css is None else self.page.locator(css)
        shown.screenshot(path=str(path))

    def errors(self) -> list[str]:
        """Return every failure since `open`: cells, callbacks and the page's own code."""
        kernel = self.page.evaluate("() => window.curvelibErrors ?? []")
        return [re.sub(r"\x1b\[[0-9;]*m", "", one) for one in (*kernel, *self._page_errors)]

    def _note_console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self._page_errors.append(message.text)


def _environment(home: Path) -> dict[str, str]:
    """Return this process's environment, with nothing of this user's own in it."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("JUPYTER")}
    package = importlib.util.find_spec("curvelib")
    assert package is not None
    assert package.submodule_search_locations is not None
    source = str(Path(package.submodule_search_locations[0]).resolve().parent)
    return kept | {
        "HOME": str(home),
        "USERPROFILE": str(home),
        "XDG_CONFIG_HOME": str(home / "config"),
        "XDG_DATA_HOME": str(home / "share"),
        "XDG_CACHE_HOME": str(home / "cache"),
        "IPYTHONDIR": str(home / "ipython"),
        "MPLCONFIGDIR": str(home / "matplotlib"),
        "JUPYTER_CONFIG_DIR": str(home / "jupyter"),
        "JUPYTER_DATA_DIR": str(home / "data"),
        "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"),
        "PYTHONPATH": os.pathsep.join(filter(None, [source, kept.get("PYTHONPATH")])),
    }


def _write_settings(folder: Path) -> None:
    for name, values in SETTINGS.items():
        path = folder / f"{name}.jupyterlab-settings"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(values), encoding="utf-8")


def _write_kernelspec(data: Path) -> None:
    """Make `python3` the interpreter that runs the tests."""
    folder = data / "kernels" / "python3"
    folder.mkdir(parents=True)
    argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    spec = {"argv": argv, "display_name": "Python 3", "language": "python"}
    (folder / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")


def _copy_font_list(folder: Path) -> None:
    """Spare the kernel the search for fonts, which takes seconds the first time."""
    import matplotlib

    folder.mkdir()
    for found in Path(matplotlib.get_cachedir()).glob("fontlist-*.json"):
        shutil.copy(found, folder)


# --- what is asked of the page ------------------------------------------------------------

_PANEL = "const panel = window.jupyterapp?.shell?.currentWidget;"
_CODE = """const cells = panel.content.widgets.filter(
    (cell) => cell.model.type === "code" && cell.model.sharedModel.source.trim());"""

_READY = f"""() => {{ {_PANEL}
  return panel?.context?.isReady && panel.sessionContext?.isReady
    && panel.sessionContext.session?.kernel?.status === "idle"; }}"""

# Every message of the kernel passes here, those of widget callbacks included,
# which no cell shows.
_LISTEN = f"""() => {{ {_PANEL}
  window.curvelibErrors = [];
  panel.sessionContext.iopubMessage.connect((_, message) => {{
    const {{ content }} = message;
    if (message.header.msg_type === "error")
      window.curvelibErrors.push(content.traceback.join("\\n"));
    else if (content.name === "stderr" && content.text.includes("Traceback"))
      window.curvelibErrors.push(content.text);
  }}); }}"""

_SHUT_DOWN = f"""async () => {{ {_PANEL} await panel?.sessionContext?.shutdown(); }}"""

_HIGHEST_COUNT = f"""() => {{ {_PANEL} {_CODE}
  return Math.max(0, ...cells.map((cell) => cell.model.executionCount ?? 0)); }}"""

_RAN = f"""(before) => {{ {_PANEL} {_CODE}
  const idle = panel.sessionContext.session.kernel.status === "idle";
  const ran = (cell) => cell.model.executionState === "idle"
    && cell.model.executionCount > before;
  return idle && (window.curvelibErrors.length > 0 || cells.every(ran)); }}"""

# The kernel answers in order, so its answer to a question of ours comes after
# all that was sent before.  A slider holds one change back while the last one
# is being worked on: hence more than one question.
_SETTLE = f"""async () => {{ {_PANEL}
  for (let round = 0; round < 3; round++) {{
    await panel.sessionContext.session.kernel.requestKernelInfo();
    await new Promise(requestAnimationFrame);
  }}
  while (document.querySelector('img.cv-picture[data-busy="true"]'))
    await new Promise(requestAnimationFrame); }}"""

_OTHER_TEXT = """([css, old]) => {
  const element = document.querySelector(css);
  return element !== null && element.innerText.trim() !== old; }"""

_SHOWN_OTHER = """([css, old]) =>
  Number(document.querySelector(css)?.dataset.shown ?? 0) > old"""

# A picture replaced between the question and the fetch has no bytes any more.
_IMAGE_DATA = """async (css) => {
  for (;;) {
    try {
      const answer = await fetch(document.querySelector(css).src);
      const bytes = new Uint8Array(await answer.arrayBuffer());
      return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
    } catch { await new Promise(requestAnimationFrame); }
  } }"""

_START_CLOCK = """(css) => {
  const clock = (window.curvelibClock = { start: null, took: null });
  const started = (event) => { clock.start ??= event.timeStamp; };
  for (const kind of ["keydown", "pointerdown", "pointermove"])
    document.addEventListener(kind, started, { capture: true });
  const seen = new MutationObserver(() => {
    if (clock.start === null) return;
    clock.took = performance.now() - clock.start;
    seen.disconnect();
  });
  seen.observe(document.querySelector(css), { attributeFilter: ["data-shown"] }); }"""
