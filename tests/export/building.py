"""Compiling exported C, as strictly as compilers can be asked to, and running it."""

import functools
import os
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

STRICT = ("-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Werror", "-pedantic")
SANITIZED = ("-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
# gcc is needed; where there is no clang, gcc alone has its say.
_WANTED = shutil.which("clang") or os.environ.get("CURVELIB_NEED_TOOLS") == "1"
COMPILERS = ("gcc", "clang") if _WANTED else ("gcc",)


def compiled(folder: Path, files: dict[str, str], compiler: str, flags=SANITIZED) -> Path:
    """Write files, compile ``main.c`` among them, and return the program."""
    if shutil.which(compiler) is None:
        if os.environ.get("CURVELIB_NEED_TOOLS") == "1":
            pytest.fail(f"no {compiler} on PATH, and CURVELIB_NEED_TOOLS=1")
        pytest.skip(f"no {compiler} on PATH")
    for name, text in files.items():
        (folder / name).write_bytes(text.encode("utf-8"))
    program = folder / f"{compiler}-run"
    words = [compiler, *STRICT, *flags, "main.c", "-o", program.name]
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return program


def by_all_compilers(folder: Path, files: dict[str, str]) -> list[Path]:
    """Compile the same files by every compiler, side by side."""
    folder.mkdir(parents=True, exist_ok=True)
    with ThreadPoolExecutor() as pool:
        return list(pool.map(functools.partial(compiled, folder, files), COMPILERS))


def output_of(program: Path, given: bytes = b"") -> bytes:
    """Run a program, which must neither fail nor say anything on standard error."""
    done = subprocess.run([program], input=given, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    assert done.stderr == b""
    return done.stdout


def without_comments(folder: Path, text: str) -> str:
    """What the compiler is left with; comments and line breaks that it splices are gone."""
    source = folder / "source.c"
    source.write_bytes(text.encode("utf-8"))
    words = ["gcc", *STRICT, "-trigraphs", "-Wbidi-chars=any", "-E", "-P", source.name]
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return done.stdout


def instructions(folder: Path, text: str, compiler: str, level: str = "-O2") -> list[str]:
    """Disassembled instructions of object code, which stays in the folder."""
    source, made = folder / f"{compiler}.c", folder / f"{compiler}.o"
    source.write_bytes(text.encode("utf-8"))
    words = [compiler, *STRICT, level, "-c", source.name, "-o", made.name]
    subprocess.run(words, cwd=folder, check=True, capture_output=True)
    listed = subprocess.run(
        ["objdump", "-d", "--no-show-raw-insn", made.name],
        cwd=folder,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    rows = [line.split("\t") for line in listed.splitlines() if "\t" in line]
    return [row[1].split()[0] for row in rows if len(row) > 1 and row[1].split()]
