"""Importing the library is quick: it loads numpy and leaves the rest for when it is used."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import curvelib

HEAVY = ("sympy", "pydantic", "tomlkit", "jinja2", "matplotlib", "ipywidgets", "scipy", "mpmath")
HEAVY += ("anywidget", "PIL", "IPython", "traitlets", "platformdirs", "hypothesis")

# Names that the contract asks for at the top of the package.
STAGES = ("Linear", "CubicBlend", "Expo", "Deadband", "Limit", "TwoZone", "Points", "Shape")
PATH = ("TankMix", "Independent", "SlewLimit", "Chain", "Table", "slow_end")
CONTRACT = (*STAGES, *PATH, "load_tune", "save_tune", "TuneError")


def in_a_fresh_interpreter(code):
    """Run code in an interpreter that has loaded nothing yet, and return what it prints."""
    root = str(Path(curvelib.__file__).resolve().parents[1])
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env={**os.environ, "PYTHONPATH": root},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def loaded():
    """Top-level names of all modules that `import curvelib` loads."""
    code = "import curvelib, sys; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    return set(in_a_fresh_interpreter(code).split())


def test_importing_loads_numpy(loaded):
    """The list below is of a package that was really loaded."""
    assert {"curvelib", "numpy"} <= loaded


@pytest.mark.parametrize("name", HEAVY)
def test_importing_loads_nothing_heavy(loaded, name):
    """Algebra, files, checking, templates, pictures and widgets load when they are used."""
    assert name not in loaded


def test_shaping_loads_nothing_heavy_either():
    """Working with numbers needs no algebra; asking for a formula does."""
    code = (
        "import sys, curvelib as c; s = c.Deadband(0.03) >> c.CubicBlend(0.6); s(0.5)\n"
        "s.inverse(0.1); c.Chain.from_tune(c.Tune()).run([1500.0], [1500.0], 0.02)\n"
        "print('sympy' in sys.modules); s.formula(); print('sympy' in sys.modules)"
    )
    assert in_a_fresh_interpreter(code).split() == ["False", "True"]


@pytest.mark.parametrize("name", CONTRACT)
def test_the_names_of_the_contract_are_at_the_top(name):
    """What the contract names imports from the package itself and is listed."""
    assert name in curvelib.__all__
    assert getattr(curvelib, name).__module__.startswith("curvelib.")


def test_all_that_is_listed_exists():
    """No listed name is missing, and none is listed twice."""
    assert len(set(curvelib.__all__)) == len(curvelib.__all__)
    assert all(hasattr(curvelib, name) for name in curvelib.__all__)
