"""All formats by their names, through the command line."""

import pytest
from export.samples import NASTY, SHAPES, asked, tune_for

from curvelib import Points, Shape, save_tune
from curvelib.__main__ import main
from curvelib.export.formats import FORMATS
from curvelib.filemodel import LONGEST_NAME
from curvelib.output import Output

# As much of it as a machine file takes for a name.
NAME = NASTY[:LONGEST_NAME]


@pytest.fixture
def cart(tmp_path):
    """A machine file with a name that tries everything."""
    path = tmp_path / "cart.toml"
    save_tune(tune_for(SHAPES["dead zone"], Output(), NAME), path)
    return path


def test_the_formats_of_the_contract_are_there():
    assert set(FORMATS) == {"csv", "json", "c", "st", "python"}


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_the_command_gives_what_the_library_gives(cart, capsysbinary, name, spacing):
    """In UTF-8, byte for byte."""
    words = ["table", str(cart), "--points", "17", "--spacing", spacing, "--format", name]
    assert main(words) == 0
    printed = capsysbinary.readouterr()
    wanted = FORMATS[name](asked("dead zone", 17, spacing, Output(), name=NAME))
    assert printed.out == wanted.encode("utf-8")
    assert printed.err == b""


@pytest.mark.parametrize("name", ["c", "st", "python"])
def test_points_too_close_for_whole_numbers_are_one_clear_message(tmp_path, capsys, name):
    """A step of a thousandth of the travel holds no hundred breakpoints of 1/16384."""
    path = tmp_path / "steep.toml"
    save_tune(tune_for(Shape([Points([0.5, 0.501], [0.1, 0.9])]), Output()), path)
    words = ["table", str(path), "--points", "1025", "--spacing", "fitted", "--format", name]
    assert main(words) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "too close" in said.err
    assert "give fewer points" in said.err


def test_a_dead_zone_and_three_fitted_points_are_one_clear_message(cart, capsys):
    assert main(["table", str(cart), "--points", "3", "--spacing", "fitted"]) == 1
    assert "give 5 points or more, or even spacing" in capsys.readouterr().err
