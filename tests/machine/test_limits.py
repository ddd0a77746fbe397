"""The door to all limits, and what importing it costs."""

import subprocess
import sys

from curvelib.machine import limits


def test_everything_named_is_there_and_documented():
    """Each name of the door exists; each function and class has its docstring."""
    for name in limits.__all__:
        thing = getattr(limits, name)
        assert not callable(thing) or thing.__doc__


def test_the_contract_s_names_are_there():
    """What is called by name from outside."""
    wanted = {"tip_deceleration", "grip_deceleration", "stopping_distance", "ramp_window"}
    assert wanted <= set(limits.__all__)


def test_importing_loads_numpy_alone():
    """No scipy, sympy or picture library comes along, and the package itself loads nothing."""
    heavy = {"scipy", "sympy", "matplotlib", "pydantic", "tomlkit", "jinja2", "ipywidgets"}
    modules = ["limits", "motion", "outline", "plan", "recording", "spin"]
    code = (
        "import sys, curvelib.machine\n"
        "assert not [m for m in sys.modules if m.startswith('curvelib.machine.')]\n"
        + "".join(f"import curvelib.machine.{name}\n" for name in modules)
        + f"print(sorted({heavy!r} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
