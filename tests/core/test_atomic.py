"""Writing a file: the old one or the new one, never half of each."""

import os
import stat

import pytest

from curvelib.atomic import write_text


@pytest.fixture
def target(tmp_path):
    """A file that is there already."""
    path = tmp_path / "cart.toml"
    path.write_bytes(b"old\n")
    return path


def test_text_is_written_as_it_is(tmp_path):
    """UTF-8, newlines untouched on every system, nothing added."""
    path = tmp_path / "new.toml"
    write_text(path, 'a = 1\r\nname = "Mäher"\nlast')
    assert path.read_bytes() == 'a = 1\r\nname = "Mäher"\nlast'.encode()
    assert os.listdir(tmp_path) == ["new.toml"]


def test_a_file_that_is_there_is_replaced(target):
    write_text(target, "new\n")
    assert target.read_bytes() == b"new\n"
    assert os.listdir(target.parent) == [target.name]


def test_readers_of_the_old_file_keep_it(target):
    """Put in place in one step: what was open stays whole, nothing is written into it."""
    with target.open("rb") as reader:
        before = os.stat(target).st_ino
        write_text(target, "new and longer\n")
        assert reader.read() == b"old\n"
    assert os.stat(target).st_ino != before


@pytest.mark.parametrize("broken", ["replace", "fsync"])
def test_a_write_that_fails_leaves_the_old_file_and_no_other(target, monkeypatch, broken):
    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, broken, fail)
    with pytest.raises(OSError, match="No space left"):
        write_text(target, "new\n")
    assert target.read_bytes() == b"old\n"
    assert os.listdir(target.parent) == [target.name]


def test_a_write_that_is_stopped_leaves_the_old_file_and_no_other(target, monkeypatch):
    """Ctrl-C at the worst moment."""

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(KeyboardInterrupt):
        write_text(target, "new\n")
    assert target.read_bytes() == b"old\n"
    assert os.listdir(target.parent) == [target.name]


def test_text_that_is_no_text_leaves_the_old_file(target):
    """Half a surrogate pair has no UTF-8."""
    with pytest.raises(UnicodeEncodeError):
        write_text(target, "\ud800")
    assert target.read_bytes() == b"old\n"
    assert os.listdir(target.parent) == [target.name]


def test_a_folder_that_is_missing_is_an_os_error(tmp_path):
    with pytest.raises(OSError, match="No such file"):
        write_text(tmp_path / "none" / "cart.toml", "new\n")


@pytest.mark.skipif(os.name != "posix", reason="permissions are a POSIX matter")
def test_permissions_are_kept_and_new_files_get_the_usual_ones(target):
    target.chmod(0o640)
    write_text(target, "new\n")
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    before = os.umask(0o027)
    try:
        fresh = target.with_name("fresh.toml")
        write_text(fresh, "new\n")
        assert stat.S_IMODE(fresh.stat().st_mode) == 0o640
        assert os.umask(0o027) == 0o027
    finally:
        os.umask(before)


@pytest.mark.skipif(os.name != "posix", reason="links need no rights on POSIX")
def test_a_link_is_followed(target, tmp_path):
    """The file it points to is replaced, the link stays a link."""
    elsewhere = tmp_path / "links"
    elsewhere.mkdir()
    link = elsewhere / "cart.toml"
    link.symlink_to(target)
    write_text(link, "new\n")
    assert link.is_symlink()
    assert target.read_bytes() == b"new\n"
    assert os.listdir(elsewhere) == ["cart.toml"]
