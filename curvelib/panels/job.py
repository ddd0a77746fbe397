"""Long work in a notebook: done bit by bit, with its progress shown and a button that stops it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import ipywidgets as widgets

from curvelib.panels.controls import button, words


class Job(widgets.VBox):
    """A Run button, a Stop button, a progress bar and a line of words.

    In a notebook the work shares the kernel's own event loop: between two bits
    of it the kernel answers buttons and sliders.  Where no loop runs, as in a
    test or a script, `start` works through to the end before it returns.

    Parameters
    ----------
    label : str
        On the Run button.
    name : str
        Own name, unique in the panel.
    make : callable
        Returns the work: an iterator that yields the share done, 0..1.
    done : callable
        Called with True when the work has ended by itself, with False when it
        was stopped.
    """

    def __init__(
        self,
        label: str,
        name: str,
        make: Callable[[], Iterator[float]],
        done: Callable[[bool], None],
    ) -> None:
        self._make, self._done = make, done
        self._going = self._stopped = self._again = False
        self._task: asyncio.Task[None] | None = None
        self.run_button = button(label, f"run-{name}", self.start)
        self.stop_button = button("Stop", f"stop-{name}", self.stop)
        self.stop_button.disabled = True
        self.progress = widgets.FloatProgress(
            0.0, min=0.0, max=1.0, layout=widgets.Layout(width="300px", margin="4px 2px")
        )
        self.progress.add_class(f"cv-progress-{name}")
        self.note = words("", "cv-help")
        self.note.add_class(f"cv-note-{name}")
        row = widgets.HBox([self.run_button, self.stop_button])
        parts = [row, self.progress, self.note]
        super().__init__(parts, layout=widgets.Layout(width="100%"))

    @property
    def going(self) -> bool:
        """True while there is work being done."""
        return self._going

    def start(self) -> None:
        """Begin the work; where some is going on, that goes on."""
        if self._going:
            return
        self._begin()
        work = self._make()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            with self._ending():
                for share in work:
                    self._show(share)
                    if self._stopped:
                        break
        else:
            self._task = loop.create_task(self._share_the_loop(work))

    def stop(self) -> None:
        """End the work at the next chance."""
        self._stopped = True

    def restart(self) -> None:
        """Begin anew: at once, or as soon as the work going on has stopped."""
        if self._going:
            self._again = True
            self.stop()
        else:
            self.start()

    async def _share_the_loop(self, work: Iterator[float]) -> None:
        with self._ending():
            for share in work:
                self._show(share)
                # Long enough for the kernel to look for messages, a click on Stop among them.
                await asyncio.sleep(0.001)
                if self._stopped:
                    break

    @contextmanager
    def _ending(self) -> Iterator[None]:
        """Free the buttons after the work; what went wrong is said, and goes on as an error."""
        try:
            yield
        except Exception:
            self._free("Something went wrong; the message stands in the log.")
            raise
        self._end()

    def _begin(self) -> None:
        self._going, self._stopped = True, False
        self.progress.value = 0.0
        self.run_button.disabled, self.stop_button.disabled = True, False
        self.say("Working.")

    def _show(self, share: float) -> None:
        # A message to the page for each hundredth is enough.
        if share - self.progress.value >= 0.01 or share >= 1.0:
            self.progress.value = share

    def _end(self) -> None:
        self._going = False
        if self._again:
            self._again = False
            self.start()
            return
        if not self._stopped:
            self.progress.value = 1.0  # work may end sooner than its longest
        self.say("Stopped." if self._stopped else "Done.")
        try:
            self._done(not self._stopped)
        finally:  # last, so that who waits for the button finds the result
            self._free()

    def _free(self, text: str = "") -> None:
        self._going = self._again = False
        self.run_button.disabled, self.stop_button.disabled = False, True
        if text:
            self.say(text)

    def say(self, text: str) -> None:
        """Show a line of words; our own, no HTML from elsewhere."""
        if self.note.value != text:
            self.note.value = text

    def close(self) -> Any:
        """Stop, and take the widgets away."""
        self.stop()
        return super().close()
