"""Machine files: read strictly, written so that nothing of the owner's is lost."""

from __future__ import annotations

import os
import stat
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from curvelib import CubicBlend, Deadband, Independent, Shape, TuneError, load_tune, save_tune
from curvelib.files import BACKUP_MARK, ChangedOnDisk, parse_tune
from curvelib.tune import CHANNELS, ChannelSetup, Machine, Tune

DEMOS = sorted((Path(__file__).resolve().parents[2] / "workbooks" / "machines").glob("*.toml"))

CART = """\
# my cart, do not touch
format = 1
name = "Cart"   # hers
[machine]
track_m = 0.8   # measured twice
top_speed_m_s = 1.5
[stick]
low_us = 1000
centre_us = 1500
high_us = 2000
[throttle]
shape = [{ kind = "deadband", width = 0.03 }, # it creeps
  { kind = "cubic blend", blend = 0.6 }]
[steer]
# nothing yet
"""


@pytest.fixture
def cart(tmp_path: Path) -> Path:
    path = tmp_path / "cart.toml"
    path.write_text(CART, encoding="utf-8")
    return path


def backups(path: Path) -> list[Path]:
    return sorted(path.parent.glob(f"{path.stem}{BACKUP_MARK}*"))


def test_what_is_written_is_what_is_read(cart: Path) -> None:
    tune = load_tune(cart)
    assert tune.name == "Cart"
    assert tune.machine == Machine(track_m=0.8, top_speed_m_s=1.5)
    assert tune.throttle.shape == Deadband(0.03) >> CubicBlend(0.6)
    assert tune.steer == ChannelSetup()


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_machines_read_well_and_say_that_they_are_invented(path: Path) -> None:
    load_tune(path)
    assert path.read_text(encoding="utf-8").startswith("# INVENTED DATA")


def test_an_unchanged_save_touches_nothing(cart: Path) -> None:
    before = cart.stat().st_mtime_ns, cart.read_bytes()
    save_tune(load_tune(cart), cart)
    assert (cart.stat().st_mtime_ns, cart.read_bytes()) == before
    assert backups(cart) == []


def test_a_save_changes_only_what_changed(cart: Path) -> None:
    """One number differs; every other line, comments included, is as it was."""
    tune = load_tune(cart)
    shape = Deadband(0.05) >> CubicBlend(0.6)
    save_tune(tune.with_shape("throttle", shape), cart)
    assert cart.read_text(encoding="utf-8") == CART.replace("width = 0.03", "width = 0.05")


def test_another_order_of_stages_is_written_and_read_back(cart: Path) -> None:
    shape = CubicBlend(0.2) >> Deadband(0.1)
    save_tune(load_tune(cart).with_shape("throttle", shape), cart)
    text = cart.read_text(encoding="utf-8")
    assert load_tune(cart).throttle.shape == shape
    assert "# measured twice" in text
    assert "# my cart, do not touch" in text


def test_a_number_no_longer_known_leaves_the_file(cart: Path) -> None:
    tune = load_tune(cart)
    save_tune(replace(tune, machine=replace(tune.machine, track_m=None)), cart)
    assert "track_m" not in cart.read_text(encoding="utf-8")
    assert load_tune(cart).machine.track_m is None


def test_the_tank_mixs_own_keys_wait_for_its_return(cart: Path) -> None:
    cart.write_text(CART + '[mix]\nkind = "tank"\nsteer_share = 0.7\n', encoding="utf-8")
    save_tune(replace(load_tune(cart), mix=Independent()), cart)
    assert load_tune(cart).mix == Independent()
    assert "steer_share = 0.7" in cart.read_text(encoding="utf-8")


def test_tables_of_stages_in_their_own_lines_are_updated_too(cart: Path) -> None:
    long_form = CART.replace(
        CART[CART.index("shape = [") : CART.index("[steer]")],
        '[[throttle.shape]]\nkind = "expo"\ngain = 2.0\n',
    )
    cart.write_text(long_form, encoding="utf-8")
    tune = load_tune(cart)
    for shape in (Shape(), Deadband(0.1) >> CubicBlend(0.3)):
        tune = save_tune(tune.with_shape("throttle", shape), cart)
        assert load_tune(cart) == tune


def test_one_dated_backup_is_kept(cart: Path) -> None:
    tune = save_tune(replace(load_tune(cart), name="one"), cart)
    assert [path.read_text(encoding="utf-8") for path in backups(cart)] == [CART]
    other = cart.with_name("cart.backup-notes.toml")
    other.write_text("the owner's own", encoding="utf-8")
    before = cart.read_text(encoding="utf-8")
    old = backups(cart)[0]
    older = old.with_name(f"cart{BACKUP_MARK}2001-01-01-000000.toml")
    old.rename(older)
    save_tune(replace(tune, name="two"), cart)
    kept = [path for path in backups(cart) if path != other]
    assert len(kept) == 1
    assert kept[0] != older
    assert kept[0].read_text(encoding="utf-8") == before
    assert other.read_text(encoding="utf-8") == "the owner's own"


def test_a_file_changed_on_disk_is_not_overwritten(cart: Path) -> None:
    tune = load_tune(cart)
    theirs = CART.replace("0.8", "0.9")
    cart.write_text(theirs, encoding="utf-8")
    with pytest.raises(ChangedOnDisk, match="changed on disk"):
        save_tune(replace(tune, name="mine"), cart)
    assert cart.read_text(encoding="utf-8") == theirs
    save_tune(replace(tune, name="mine"), cart, overwrite=True)
    assert load_tune(cart).name == "mine"
    assert backups(cart)[0].read_text(encoding="utf-8") == theirs


def test_another_file_is_not_overwritten_by_a_new_tune(cart: Path) -> None:
    with pytest.raises(ChangedOnDisk, match="another file is there"):
        save_tune(Tune(), cart)
    assert cart.read_text(encoding="utf-8") == CART


def test_the_same_tune_can_be_saved_again_after_its_own_save(cart: Path) -> None:
    """A caller that keeps the tune it loaded may save variants of it one after the other."""
    tune = load_tune(cart)
    save_tune(replace(tune, name="first"), cart)
    save_tune(replace(tune, name="second"), cart)
    assert load_tune(cart).name == "second"


def test_a_copy_keeps_the_comments(cart: Path) -> None:
    copy = cart.with_name("copy.toml")
    save_tune(replace(load_tune(cart), name="Copy"), copy)
    assert copy.read_text(encoding="utf-8") == CART.replace('"Cart"', '"Copy"')


def test_a_failed_write_leaves_the_old_file_whole(
    cart: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    tune = load_tune(cart)
    monkeypatch.setattr("curvelib.atomic.os.fsync", full)
    with pytest.raises(TuneError, match="No space left"):
        save_tune(replace(tune, name="new"), cart)
    assert cart.read_text(encoding="utf-8") == CART
    assert [path.name for path in cart.parent.iterdir()] == ["cart.toml"]


def test_a_link_stays_a_link_and_rights_stay(cart: Path) -> None:
    link = cart.with_name("link.toml")
    link.symlink_to(cart)
    cart.chmod(0o640)
    save_tune(replace(load_tune(link), name="linked"), link)
    assert link.is_symlink()
    assert load_tune(cart).name == "linked"
    assert stat.S_IMODE(os.stat(cart).st_mode) == 0o640


def test_windows_line_ends_and_a_byte_order_mark_are_read_and_line_ends_kept(cart: Path) -> None:
    cart.write_bytes(b"\xef\xbb\xbf" + CART.replace("\n", "\r\n").encode())
    tune = load_tune(cart)
    save_tune(replace(tune, name="Win"), cart)
    assert b'name = "Win"   # hers\r\n' in cart.read_bytes()


def test_a_fresh_file_explains_itself_and_reads_back(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    tune = Tune(name='Odd "name" \\ with\nlines', throttle=ChannelSetup(shape=Deadband(0.03)))
    save_tune(tune, path)
    text = path.read_text(encoding="utf-8")
    assert load_tune(path) == tune
    assert "Switch off the transmitter's own curve" in text
    assert "# Silence longer than this stops both motors." in text


FAULTS = {
    'name = "x"\n[stick]\n[throttle]\n[steer]\n': ("format", "is missing"),
    "format = 2\n[stick]\n[throttle]\n[steer]\n": ("format = 2", "give format = 1"),
    "format = true\n[stick]\n[throttle]\n[steer]\n": ("format = true", "give format = 1"),
    "format = 1\n[stick]\n[throttle]\n": ("steer", "is missing"),
    "format = 1\nname = 3\n[stick]\n[throttle]\n[steer]\n": ("name = 3", "text in quotes"),
    "format = 1\nstick = 3\n[throttle]\n[steer]\n": ("stick = 3", "give a section"),
}


@pytest.mark.parametrize("text", FAULTS, ids=range(len(FAULTS)))
def test_faults_at_the_top_name_key_value_and_what_would_be_right(text: str) -> None:
    with pytest.raises(TuneError) as caught:
        parse_tune(text, "cart.toml")
    for words in ("cart.toml: ", *FAULTS[text]):
        assert words in str(caught.value)


LINES = {
    "track_m = true": ("machine.track_m = true", "a number above 0"),
    'track_m = "0.8"': ("machine.track_m = '0.8'", "a number above 0"),
    "track_m = nan": ("machine.track_m = nan", "a number above 0"),
    "track_m = inf": ("machine.track_m = inf", "a number above 0"),
    "track_m = 1e300": ("machine.track_m = 1e+300", "below 5 m"),
    f"track_m = {'9' * 400}": ("machine.track_m = 999", "below 5 m"),
    "track_m = -0.8": ("machine.track_m = -0.8", "above 0"),
    "track_m = 2026-01-01": ("machine.track_m = 2026-01-01", "a number above 0"),
    "track_m = [1]": ("machine.track_m = [1]", "a number above 0"),
    "trakc_m = 0.8": ("machine.trakc_m = 0.8", "did you mean 'track_m'"),
    'contact = "hover"': ("machine.contact = 'hover'", "'wheels', 'tracks' or 'casters'"),
    "[mix]\noverflow = 1": ("mix.overflow = 1", "'scale', 'clip' or 'keep turn'"),
    "[mix]\nsteer_share = 1.1": ("mix.steer_share = 1.1", "from 0 to 1"),
    "[sides]\nswapped = 1": ("sides.swapped = 1", "true or false"),
    "[sides]\nleft_start = 0.4\nleft_top = 0.3": ("sides", "top above the start"),
    "[sides]\nleft_measured = [[0, 0.1], [0.5, 0.05], [1, 1]]": ("sides", "commands never fall"),
    "[sides]\nleft_measured = [[0.0, 0.1]]": ("sides", "from 2 to 63"),
    "[output]\nfull = 40000": ("output.full = 40000", "whole number from 1 to 32767"),
    "[output]\nfull = 10.0": ("output.full = 10.0", "whole number"),
    "[slew]\nto_full_s = 1e300": ("slew.to_full_s = 1e+300", "from 0 to 10 s"),
    "[slwe]\nto_full_s = 1": ("slwe", "did you mean 'slew'"),
}


@pytest.mark.parametrize("line", LINES, ids=range(len(LINES)))
def test_faults_in_sections_name_key_value_and_what_would_be_right(line: str) -> None:
    text = CART.replace("track_m = 0.8   # measured twice", "")
    key = line if line.startswith("[") else f"[machine]\n{line}"
    text = text.replace("[machine]\n\ntop_speed_m_s = 1.5", key)
    with pytest.raises(TuneError) as caught:
        parse_tune(text)
    for words in LINES[line]:
        assert words in str(caught.value)


SHAPES = {
    '[{ kind = "cubik blend", blend = 0.1 }]': ("shape[0].kind", "did you mean 'cubic blend'"),
    "[{ blend = 0.1 }]": ("shape[0].kind", "unknown kind"),
    '[{ kind = "expo" }]': ("shape[0].gain", "from 0 to 8"),
    '[{ kind = "expo", gain = true }]': ("shape[0].gain = true", "from 0 to 8"),
    '[{ kind = "expo", gain = 1, x = 2 }]': ("shape[0].x = 2", "unknown key"),
    '[{ kind = "two zone", knee_x = 0.2, knee_y = 0.9 }]': ("shape[0]", "at most 0.3333"),
    '[{ kind = "points", x = [0.5, 0.4], y = [0.1, 0.2] }]': ("shape[0]", "ascending"),
    '[{ kind = "points", x = [0.5], y = [true] }]': ("shape[0].y[0] = true", "from 0 to 1"),
    '[{ kind = "points", x = 0.5, y = [0.1] }]': ("shape[0].x = 0.5", "give a list"),
    '"expo"': ("throttle.shape = 'expo'", "give a list of stages"),
    "[" + '{ kind = "linear" },' * 9 + "]": ("throttle.shape", "fewer"),
}


@pytest.mark.parametrize("shape", SHAPES, ids=range(len(SHAPES)))
def test_faults_in_shapes_name_the_stage(shape: str) -> None:
    text = f"format = 1\n[stick]\n[steer]\n[throttle]\nshape = {shape}\n"
    with pytest.raises(TuneError) as caught:
        parse_tune(text)
    for words in SHAPES[shape]:
        assert words in str(caught.value)


def test_every_fault_is_listed_at_once() -> None:
    text = CART.replace("0.8", "true").replace("1000", '"low"').replace("0.6", "7")
    with pytest.raises(TuneError) as caught:
        parse_tune(text)
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    ("pulses", "words"),
    [
        ("low_us = 1600", "low below centre"),
        ("high_us = 1500.5", "at least 1 us apart"),
    ],
)
def test_a_sticks_own_pulses_are_checked_together_with_the_common_ones(
    pulses: str, words: str
) -> None:
    with pytest.raises(TuneError, match=words):
        parse_tune(CART.replace("[steer]", f"[steer]\n{pulses}"))


def test_what_is_no_toml_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("format = 1\nname = 'x\n", encoding="utf-8")
    with pytest.raises(TuneError, match=r"bad\.toml: this is not a TOML file.*line 2"):
        load_tune(path)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"\x80abc"])
def test_what_is_no_text_says_so(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "picture.toml"
    path.write_bytes(content)
    with pytest.raises(TuneError, match="not a text file"):
        load_tune(path)


def test_missing_files_folders_and_giants_say_so(tmp_path: Path) -> None:
    with pytest.raises(TuneError, match="no such file"):
        load_tune(tmp_path / "none.toml")
    with pytest.raises(TuneError, match="not a file"):
        load_tune(tmp_path)
    (tmp_path / "giant.toml").write_bytes(b"#" * 1_000_001)
    with pytest.raises(TuneError, match="too large"):
        load_tune(tmp_path / "giant.toml")


@given(st.text(max_size=200))
def test_any_text_is_a_tune_or_a_clear_fault(text: str) -> None:
    """Whatever the text, nothing but TuneError comes out."""
    try:
        said = parse_tune(text).name or "a tune without a name"
    except TuneError as err:
        said = str(err)
    assert said


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@given(
    section=st.sampled_from(["machine", "stick", "throttle", "mix", "sides", "output", "supply"]),
    key=st.sampled_from(["track_m", "steps", "shape", "kind", "left_measured", "full", "cells"]),
    value=plain,
)
def test_any_value_at_any_key_is_a_tune_or_a_clear_fault(
    section: str, key: str, value: object
) -> None:
    from curvelib.filemodel import read_plain

    data = {"format": 1, "stick": {}, "throttle": {}, "steer": {}}
    tune, faults = read_plain({**data, section: {key: value}})
    assert (tune is None) == bool(faults)
    assert all(str(fault) for fault in faults)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.text(max_size=60),
    width=st.floats(0.0, 0.5),
    blend=st.floats(0.0, 1.0),
    track=st.none() | st.floats(1e-6, 4.9),
    channel=st.sampled_from(CHANNELS),
)
def test_any_tune_comes_back_from_its_file(
    tmp_path: Path, name: str, width: float, blend: float, track: float | None, channel: str
) -> None:
    tune = Tune(name=name, machine=Machine(track_m=track)).with_shape(
        "steer" if channel == "steer" else "throttle", Deadband(width) >> CubicBlend(blend)
    )
    path = tmp_path / "any.toml"
    save_tune(tune, path, overwrite=True)
    assert load_tune(path) == tune


def test_the_schema_knows_every_key_and_its_range() -> None:
    from curvelib.filemodel import schema

    made = schema()
    assert set(made["properties"]) >= {"format", "name", "machine", "throttle", "supply"}
    machine = made["$defs"]["Machine"]["properties"]
    assert machine["track_m"]["exclusiveMaximum"] == 5.0
    assert machine["top_speed_m_s"]["description"].startswith("Speed over ground")
