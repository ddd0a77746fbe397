"""The machine file on the desk: which one is open, what changed, saving it.

No widgets here: panels draw what the desk holds and ask it to act.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from curvelib.faults import TuneError, one_fault
from curvelib.files import BACKUP_MARK, load_tune, save_tune
from curvelib.panels import settings
from curvelib.tune import Tune

DEMO_FOLDER = "machines"
OWN_FOLDER = "my_machines"


class Desk:
    """One open machine file.

    Parameters
    ----------
    folder : Path, optional
        Folder that holds the demo machines (``machines``, only read) and the
        builder's own (``my_machines``).  Left out: the working folder, which
        in a notebook is the notebook's own.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = (folder or Path.cwd()).resolve()
        self.path: Path | None = None
        self.saved = Tune()
        self.tune = self.saved
        self._watchers: list[Callable[[], None]] = []
        self._open_first()

    def watch(self, watcher: Callable[[], None]) -> None:
        """Call `watcher` whenever another file was opened or the file was saved."""
        self._watchers.append(watcher)

    def files(self) -> list[Path]:
        """Machine files to choose from: the builder's own first, then the demos."""
        return [*self._in(OWN_FOLDER), *self._in(DEMO_FOLDER)]

    def label(self, path: Path) -> str:
        """Name of a file for a list."""
        return f"{path.stem} (demo)" if self.is_demo(path) else path.stem

    def is_demo(self, path: Path | None = None) -> bool:
        """Say whether a file is one of the demo machines, which are only read."""
        looked_at = path or self.path
        return looked_at is not None and looked_at.parent == self.folder / DEMO_FOLDER

    @property
    def changed(self) -> bool:
        """True while the tune differs from the file."""
        return self.tune != self.saved

    def open(self, path: Path) -> None:
        """Open a file; what is on the desk stays if it cannot be read."""
        tune = load_tune(path)
        self.path, self.saved, self.tune = path, tune, tune
        settings.keep_last_file(str(path))
        self._tell()

    def revert(self) -> None:
        """Go back to the file as it is on disk now."""
        if self.path is None:
            self.tune = self.saved
            self._tell()
        else:
            self.open(self.path)

    def begin_new(self) -> None:
        """Put a machine of which nothing is known on the desk; it has no file yet."""
        self.path, self.saved = None, Tune()
        self.tune = self.saved
        self._tell()

    def save(self, overwrite: bool = False) -> None:
        """Write the tune into its file; demos are refused."""
        if self.path is None or self.is_demo():
            raise one_fault("this has no file of your own yet: use Save as to make one.")
        self._kept(save_tune(self.tune, self.path, overwrite))

    def save_as(self, name: str) -> None:
        """Write the tune into a new file of the builder's own, named after `name`."""
        clean = " ".join(name.split())
        stem = file_stem(clean)
        own = self.folder / OWN_FOLDER
        path = own / f"{stem}.toml"
        if path.exists():
            raise one_fault(f"there is a machine file {path.name} already: give another name.")
        try:
            own.mkdir(exist_ok=True)
        except OSError as err:
            raise one_fault(f"the folder cannot be made: {err.strerror}.", str(own)) from None
        saved = save_tune(replace(self.tune, name=clean), path)
        self.path = path
        self._kept(saved)
        settings.keep_last_file(str(path))

    def _kept(self, tune: Tune) -> None:
        self.saved = self.tune = tune
        self._tell()

    def _tell(self) -> None:
        for watcher in self._watchers:
            watcher()

    def _in(self, name: str) -> list[Path]:
        found = (self.folder / name).glob("*.toml")
        return sorted(path for path in found if BACKUP_MARK not in path.name)

    def _open_first(self) -> None:
        """Open the file used last if it is one of these, else the first that can be read."""
        last = settings.last_file()
        files = self.files()
        first = [path for path in files if last and os.path.realpath(last) == str(path.resolve())]
        for path in [*first, *files]:
            try:
                self.open(path)
            except TuneError:
                continue
            return


def file_stem(name: str) -> str:
    """Turn a machine's name into a file name that every system takes."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_")[:60]
    # Names that one system keeps for its devices get a harmless tail.
    if re.fullmatch(r"con|prn|aux|nul|com\d|lpt\d", stem):
        stem += "_machine"
    if not stem:
        raise one_fault(f"the name {name!r} holds no letter or number: give one that does.")
    return stem
