"""The pictures in README are what the panels draw today."""

from __future__ import annotations

import importlib.util
import io
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("figures_make", ROOT / "figures" / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_pictures_are_fresh(make: ModuleType) -> None:
    assert make.main(["--check"]) == 0


def test_a_moved_line_would_be_noticed(make: ModuleType, tmp_path: Path) -> None:
    path = ROOT / "figures" / "shape_the_stick.png"
    pixels = np.asarray(Image.open(path).convert("RGB"))
    moved = np.roll(pixels, 2, axis=0)
    out = io.BytesIO()
    Image.fromarray(moved).save(out, "PNG")
    assert make.differs(out.getvalue(), path)
    assert make.differs(path.read_bytes(), tmp_path / "missing.png")


def test_every_picture_is_shown_in_the_readme(make: ModuleType) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in make.PICTURES:
        assert f"figures/{name}" in readme
