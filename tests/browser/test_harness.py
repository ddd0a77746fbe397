"""The browser harness itself, on a notebook with one slider and one picture."""

import io
import os
import re
import subprocess
import sys
import urllib.error
import urllib.request
import zlib

import nbformat
import numpy as np
import pytest
from lab import LabError, LabServer
from PIL import Image

CODE = """
import asyncio
import zlib

import ipywidgets as widgets
import numpy as np
from curvelib.panels import look
from curvelib.panels.picture import Picture, PictureView

picture = Picture(600, 300)
axes = look.style_axes(picture.figure.add_subplot(), "stick (share)", "command (share)")
axes.set(xlim=(-1, 1), ylim=(-1, 1))
x = np.linspace(-1, 1, 101)
line = picture.moving(axes.plot(x, x, **look.SERIES[0].keywords())[0])

view = PictureView()
view.add_class("cv-view")
empty = PictureView(width=320, height=200, alt="soon")
empty.add_class("cv-empty")
slider = widgets.FloatSlider(0.0, min=0.0, max=1.0, step=0.01, description="Blend")
slider.add_class("cv-slider-blend")
steps = widgets.IntSlider(3, min=0, max=10, description="Stick steps")
label = widgets.HTML()
label.add_class("cv-label")
where = widgets.HTML("nowhere")
where.add_class("cv-where")
total = widgets.HTML()
total.add_class("cv-total")
broken = widgets.Button(description="Break")
broken.add_class("cv-break")
burst = widgets.Button(description="Burst")
burst.add_class("cv-burst")
wrong = widgets.ToggleButton(description="Wrong")
wrong.add_class("cv-wrong")


def update(_=None):
    show(slider.value)


def show(blend):
    line.set_ydata((1 - blend) * x + blend * x**3)
    label.value = f"blend {blend:.2f}, {steps.value} steps"
    view.show(picture, f"a curve with blend {blend:.2f}")
    total.value = str(zlib.crc32(view.png))


def point(change):
    at = picture.data_at(change.new["x"], change.new["y"])
    place = "beside" if at is None else f"{at.x:.2f} {at.y:.2f}"
    where.value = place + (" down" if change.new["down"] else " up")


def show_many(_):
    for blend in np.linspace(0, 1, 9):
        show(blend)


def fail(_):
    raise RuntimeError("a callback that fails")


def refuse(_):
    asyncio.get_running_loop().call_soon(fail_later)
    raise RuntimeError("an observer that fails")


def fail_later():
    raise RuntimeError("a timer that fails")


slider.observe(update, "value")
steps.observe(update, "value")
view.observe(point, "pointer")
broken.on_click(fail)
burst.on_click(show_many)
wrong.observe(refuse, "value")
update()
"""
SHOW = "widgets.VBox([slider, steps, label, where, total, broken, burst, wrong, view, empty])"
# Long enough to be seen running by a harness that does not wait for it.
LAST = "runs = globals().get('runs', 0) + 1; sum(range(10**7)); print(runs, 'runs')"

PICTURE, LABEL, WHERE = ".cv-view img", ".cv-label", ".cv-where"
READOUT = ".cv-slider-blend .widget-readout"
FAILURES = (
    "ZeroDivisionError",
    "a callback that fails",
    "an observer that fails",
    "a timer that fails",
    "a page that fails",
)
RUNS = ".jp-OutputArea-output pre"
OWN = ("http://127.0.0.1:", "blob:http://127.0.0.1:", "data:")

# Looks at the picture in every frame: is it blank, has it moved, are Blob URLs piling up?
WATCH = """(css) => {
  const img = document.querySelector(css);
  const pen = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const places = new Set();
  window.watch = { on: true, frames: 0, blank: 0, places: 0, urls: 0 };
  const { createObjectURL, revokeObjectURL } = URL;
  URL.createObjectURL = (blob) => { watch.urls += 1; return createObjectURL(blob); };
  URL.revokeObjectURL = (url) => { watch.urls -= 1; revokeObjectURL(url); };
  function look() {
    pen.clearRect(0, 0, 300, 150);
    pen.drawImage(img, 0, 0, 300, 150);
    const alpha = pen.getImageData(150, 75, 1, 1).data[3];
    const box = img.getBoundingClientRect();
    places.add([box.x, box.y, box.width, box.height].join());
    watch.frames += 1;
    watch.blank += alpha < 255;
    watch.places = places.size;
    if (watch.on) requestAnimationFrame(look);
  }
  look(); }"""


SLOW_DECODING = """() => {
  const { decode } = HTMLImageElement.prototype;
  HTMLImageElement.prototype.decode = async function () {
    for (let frame = 0; frame < 5; frame++) await new Promise(requestAnimationFrame);
    await decode.call(this);
  }; }"""


def write(folder, name, *sources):
    """Write a notebook of code cells."""
    cells = [nbformat.v4.new_code_cell(source) for source in sources]
    for place, cell in enumerate(cells):
        cell["id"] = f"cell-{place}"
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    book = nbformat.v4.new_notebook(cells=cells, metadata=kernel)
    nbformat.write(book, folder / name)
    return name


@pytest.fixture(scope="module")
def asked(shared_lab):
    """Open the tiny notebook; return what the page has asked for since."""
    urls = []
    shared_lab.page.on("request", lambda request: urls.append(request.url))
    shared_lab.open(write(shared_lab.folder, "tiny.ipynb", CODE, SHOW, LAST))
    return urls


@pytest.fixture
def tiny(shared_lab, asked):
    """Run the tiny notebook in a wide window."""
    shared_lab.page.set_viewport_size({"width": 1600, "height": 1000})
    shared_lab.run_all()
    shared_lab.settle()
    return shared_lab


def pixels(png):
    """Return the pixels of a PNG file."""
    return np.asarray(Image.open(io.BytesIO(png)))


def test_a_drag_changes_words_and_picture(tiny, tmp_path):
    words, shown, before = (
        tiny.text(LABEL),
        tiny.pictures_shown(PICTURE),
        tiny.picture_bytes(PICTURE),
    )
    assert words == "blend 0.00, 3 steps"
    tiny.drag("blend", 0.7)
    assert re.fullmatch(r"blend 0\.\d\d, 3 steps", tiny.wait_text_change(LABEL, words))
    assert tiny.wait_picture_change(PICTURE, shown) > shown
    tiny.settle()
    assert float(tiny.text(READOUT)) == pytest.approx(0.7, abs=0.02)
    assert (pixels(tiny.picture_bytes(PICTURE)) != pixels(before)).any()
    tiny.screenshot(tmp_path / "window.png")
    assert pixels((tmp_path / "window.png").read_bytes()).shape[:2] == (1000, 1600)
    tiny.screenshot(tmp_path / "picture.png", PICTURE)
    assert pixels((tmp_path / "picture.png").read_bytes()).shape[1] == 600
    assert tiny.errors() == []


def test_words_and_picture_have_settled_after_any_drag(tiny):
    for share in np.random.default_rng(4).uniform(0, 1, 5):
        tiny.drag("blend", share)
        tiny.settle()
        value = tiny.text(READOUT)
        assert float(value) == pytest.approx(share, abs=0.02)
        assert tiny.text(LABEL) == f"blend {value}, 3 steps"
        assert tiny.page.get_attribute(PICTURE, "alt") == f"a curve with blend {value}"
        assert zlib.crc32(tiny.picture_bytes(PICTURE)) == int(tiny.text(".cv-total"))


def test_the_last_of_many_pictures_stays_on_show_in_a_slow_browser(tiny):
    tiny.page.evaluate(SLOW_DECODING)
    tiny.click(".cv-burst")
    assert tiny.wait_text_change(LABEL, "blend 0.00, 3 steps")
    tiny.settle()
    assert tiny.text(LABEL) == "blend 1.00, 3 steps"
    assert zlib.crc32(tiny.picture_bytes(PICTURE)) == int(tiny.text(".cv-total"))


def test_a_slider_is_found_by_its_words(tiny):
    tiny.drag("Stick steps", 1.0)
    tiny.settle()
    assert tiny.text(LABEL) == "blend 0.00, 10 steps"


def test_the_picture_never_blinks_and_never_moves(tiny):
    tiny.drag("blend", 0.5)  # scrolls, if it has to
    tiny.settle()
    tiny.page.evaluate(WATCH, PICTURE)
    for share in (1.0, 0.2, 0.6):
        tiny.drag("blend", share, steps=20)
    tiny.settle()
    seen = tiny.page.evaluate("() => { watch.on = false; return watch; }")
    assert seen["frames"] > 20
    assert seen["blank"] == 0
    assert seen["places"] == 1
    assert seen["urls"] == 0, "every Blob URL but the one on show is given back"
    tiny.run_all()
    tiny.settle()
    assert tiny.page.evaluate("watch.urls") == 0, "a view taken away gives back its own"


def test_a_key_changes_the_picture_soon(tiny, capsys):
    def press():
        tiny.handle("blend").press("ArrowRight")

    taken = [tiny.latency_ms(PICTURE, press) for _ in range(10)]
    tiny.settle()
    assert tiny.text(LABEL) == "blend 0.10, 3 steps"
    with capsys.disabled():
        print(
            f"\nkey to changed picture: median {np.median(taken):.0f} ms, worst {max(taken):.0f} ms"
        )


@pytest.mark.parametrize("width", [1600, 560])
def test_the_pointer_is_read_in_picture_pixels_at_any_width(tiny, width):
    tiny.page.set_viewport_size({"width": width, "height": 1000})
    tiny.page.locator(PICTURE).scroll_into_view_if_needed()
    box = tiny.page.locator(PICTURE).bounding_box()
    assert box["width"] / box["height"] == pytest.approx(2.0, rel=0.01)
    assert (box["width"] == 600) == (width == 1600)
    # The axes fill 0.125 to 0.9 of the width and, from below, 0.11 to 0.88 of the height.
    x, y = (
        box["x"] + (0.125 + 0.775 * 0.75) * box["width"],
        box["y"] + (0.12 + 0.77 * 0.25) * box["height"],
    )
    tiny.page.mouse.move(x, y)
    at = tiny.wait_text_change(WHERE, "nowhere").split()
    assert [float(at[0]), float(at[1])] == pytest.approx([0.5, 0.5], abs=0.02)
    assert at[2] == "up"
    tiny.page.mouse.down()
    assert tiny.wait_text_change(WHERE, " ".join(at)).endswith("down")
    tiny.page.mouse.move(box["x"] - 20, y)
    assert tiny.wait_text_change(WHERE, " ".join([*at[:2], "down"])) == "beside down"
    tiny.page.mouse.up()
    assert tiny.wait_text_change(WHERE, "beside down") == "beside up"


def test_the_picture_has_a_name_and_takes_the_focus(tiny):
    image = tiny.page.get_by_role("img", name="a curve with blend 0.00")
    image.focus()
    assert image.evaluate("(img) => img === document.activeElement")


def test_the_place_of_a_picture_is_kept_before_there_is_one(tiny):
    box = tiny.page.locator(".cv-empty img").bounding_box()
    assert (box["width"], box["height"]) == (320, 200)


def test_what_fails_is_reported(lab):
    lab.open(write(lab.folder, "bad.ipynb", CODE, SHOW, "1 / 0", "print('never')"))
    with pytest.raises(LabError, match="ZeroDivisionError"):
        lab.run_all()
    lab.click(".cv-break")
    lab.click(".cv-wrong")
    lab.page.evaluate("() => void setTimeout(() => { throw new Error('a page that fails'); })")
    lab.settle()
    told = lab.errors()
    assert [sum(word in error for error in told) for word in FAILURES] == [1] * len(FAILURES)
    assert len(told) == len(FAILURES)


def test_a_run_is_over_when_it_says_so_and_a_notebook_opens_afresh(tiny):
    runs = int(tiny.text(RUNS).split()[0])
    tiny.drag("blend", 1.0)
    tiny.settle()
    assert tiny.text(LABEL) == "blend 1.00, 3 steps"
    tiny.run_all()
    assert tiny.page.locator(RUNS).all_inner_texts() == [f"{runs + 1} runs\n"]
    assert tiny.text(LABEL) == "blend 0.00, 3 steps"
    tiny.close()
    tiny.open("tiny.ipynb")
    tiny.run_all()
    assert tiny.text(RUNS) == "1 runs"


def test_nothing_is_fetched_from_elsewhere(tiny, asked):
    tiny.pictures_shown(PICTURE)
    assert sum(url.startswith("blob:") for url in asked) >= 1
    assert [url for url in asked if not url.startswith(OWN)] == []


def test_a_server_that_is_closed_is_gone(tmp_path):
    server = LabServer(tmp_path, tmp_path / "home")
    urllib.request.urlopen(f"{server.url}/api/status?token={server.token}").close()  # noqa: S310
    server.close()
    with pytest.raises(urllib.error.URLError, match="refused"):
        urllib.request.urlopen(f"{server.url}/api/status")  # noqa: S310


@pytest.mark.parametrize(("needed", "word"), [("0", "1 skipped"), ("1", "1 error")])
def test_without_a_browser_tests_skip_unless_it_is_needed(needed, word):
    command = [sys.executable, "-m", "pytest", __file__, "-q", "-p", "no:cacheprovider"]
    result = subprocess.run(
        [*command, "-k", "test_what_fails_is_reported"],
        env=os.environ | {"PATH": "", "CURVELIB_NEED_BROWSER": needed},
        capture_output=True,
        text=True,
        check=False,
    )
    assert word in result.stdout
    assert "no Chromium on PATH" in result.stdout
