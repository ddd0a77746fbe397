"""A picture made by moving lines alone is the picture an ordinary draw makes."""

import io

import matplotlib.pyplot as plt
import numpy as np
import pytest
import traitlets
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from PIL import Image

from curvelib.panels import look
from curvelib.panels.picture import Picture, PictureView, _inches
from curvelib.panels.png import encode

X = np.linspace(-1.0, 1.0, 101)


class Scene:
    """Two axes with every kind of moving artist the panels use."""

    def __init__(self):
        self.picture = Picture(500, 220)
        self.curve_axes, self.yard_axes = self.picture.figure.subplots(
            1, 2, gridspec_kw={"bottom": 0.3}
        )
        self._draw_curve()
        self._draw_yard()
        self.note = self.picture.moving(self.picture.figure.text(0.5, 0.02, ""))
        self.set(0.0)

    def _draw_curve(self):
        axes = look.style_axes(self.curve_axes, "stick (share)", "command (share)", "Throttle")
        axes.set(xlim=(-1, 1), ylim=(-1, 1))
        axes.plot(X, X, label="linear", **look.COMPARISON.keywords())
        lines = axes.plot(X, X, X, X, label="yours")
        self.curve, self.other = self.picture.moving(*lines)
        self.label = self.picture.moving(
            axes.annotate("", (0, 0), xytext=(0.3, -0.7), arrowprops={"arrowstyle": "->"})
        )
        self.legend = self.picture.moving(axes.legend())

    def _draw_yard(self):
        axes = self.yard_axes
        axes.set(xlim=(0, 4), ylim=(0, 3), aspect="equal")
        self.title = self.picture.moving(axes.title)
        body = Polygon(np.zeros((3, 2)), alpha=0.5)
        self.body = self.picture.moving(axes.add_patch(body))
        self.marks = self.picture.moving(axes.scatter([0.0], [0.0]))

    def set(self, share):
        """Move everything to one state."""
        self.curve.set_ydata((1 - share) * X + share * X**3)
        self.other.set_ydata(share * X)
        self.label.xy = (share, share**3)
        self.label.set_text(f"{share:.3f}")
        self.legend.get_texts()[1].set_text(f"yours {share:.1f}")
        self.title.set_text("Yard" if share < 0.5 else "Yard, turning")
        self.body.set_xy(np.array([[0, 0], [1, 0], [1, 1]]) + 2 * share)
        self.marks.set_offsets([[3 * share, 1.0]])
        self.note.set_text(f"share {share:.2f}")


def draws(picture):
    """Return a list that grows by one with every full draw."""
    seen = []
    picture.figure.canvas.mpl_connect("draw_event", seen.append)
    return seen


def decoded(png):
    """Return the pixels of a PNG file as another library reads them."""
    return np.asarray(Image.open(io.BytesIO(png)))


# --- the same pixels ---------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=1, max_size=6))
def test_after_any_sweep_the_picture_is_that_of_a_full_draw(states):
    scene = Scene()
    for share in states:
        scene.set(share)
        scene.picture.png()
    np.testing.assert_array_equal(scene.picture.pixels(), scene.picture.fresh_pixels())
    assert scene.picture.png() == scene.picture.fresh_png()


def test_the_picture_does_not_depend_on_the_way_there():
    swept, direct = Scene(), Scene()
    for share in np.random.default_rng(20).uniform(-1, 1, 20):
        swept.set(share)
        swept.picture.png()
    swept.set(0.4)
    direct.set(0.4)
    assert swept.picture.png() == direct.picture.png()


def test_moving_artists_show():
    scene = Scene()
    scene.set(0.1)
    before = scene.picture.pixels()
    scene.set(0.9)
    assert (scene.picture.pixels() != before).any(axis=2).sum() > 1000


def test_a_sweep_draws_the_furniture_once():
    scene = Scene()
    count = draws(scene.picture)
    for share in np.linspace(0, 1, 30):
        scene.set(share)
        scene.picture.png()
    assert len(count) == 1


def test_moving_artists_lie_above_furniture_and_in_their_own_order():
    scene = Scene()
    axes = scene.curve_axes
    furniture = max(spine.get_zorder() for spine in axes.spines.values())
    assert furniture < scene.curve.get_zorder() < scene.label.get_zorder()
    scene.curve.set_zorder(scene.label.get_zorder() + 1)
    np.testing.assert_array_equal(scene.picture.pixels(), scene.picture.fresh_pixels())


def test_the_order_of_registering_does_not_matter():
    picture = Picture(200, 150)
    axes = picture.figure.add_subplot()
    under, over = axes.plot([0, 1], [0, 1], "k", [0, 1], [1, 0], "r", linewidth=30)
    picture.moving(over)
    picture.moving(under)
    np.testing.assert_array_equal(picture.pixels(), picture.fresh_pixels())


def test_an_artist_registered_twice_keeps_its_place():
    scene = Scene()
    place = scene.curve.get_zorder()
    assert scene.picture.moving(scene.curve) is scene.curve
    assert scene.curve.get_zorder() == place


def test_layout_runs_once_and_then_holds():
    picture = Picture(300, 200)
    picture.figure.set_layout_engine("constrained")
    axes = picture.figure.add_subplot(xlabel="time (s)")
    text = picture.moving(axes.text(0.5, 0.5, "short"))
    picture.png()
    place = axes.get_position().bounds
    text.set_text("so long that it reaches far out of the axes on either side")
    np.testing.assert_array_equal(picture.pixels(), picture.fresh_pixels())
    axes.set_xlabel("time\n(s)")
    picture.png()
    assert axes.get_position().bounds == place


# --- never stale -------------------------------------------------------------------------


def _own_tick_text(scene):
    scene.curve_axes.xaxis.get_major_ticks()[0].label1.set_color("red")


def _set_view(axes):
    axes.viewLim.intervalx = (-2, 2)


CHANGES = {
    "x limit": lambda scene: scene.curve_axes.set_xlim(-2, 2),
    "y limit": lambda scene: scene.yard_axes.set_ylim(0, 5),
    "both limits by bounds": lambda scene: scene.curve_axes.axis((-3, 3, -2, 2)),
    "limits behind the axes' back": lambda scene: _set_view(scene.curve_axes),
    "autoscale": lambda scene: scene.curve_axes.autoscale(),
    "inverted axis": lambda scene: scene.curve_axes.invert_yaxis(),
    "scale": lambda scene: scene.curve_axes.set_xscale("symlog"),
    "ticks": lambda scene: scene.curve_axes.set_xticks([-1, 0.25, 1]),
    "tick labels": lambda scene: scene.curve_axes.set_xticks([-1, 1], ["back", "ahead"]),
    "one tick label": _own_tick_text,
    "tick formatter": lambda scene: scene.curve_axes.xaxis.set_major_formatter("{x:.3f}"),
    "axis label": lambda scene: scene.curve_axes.set_xlabel("stick (%)"),
    "static title": lambda scene: scene.curve_axes.set_title("Steer", loc="left"),
    "static line": lambda scene: scene.curve_axes.lines[0].set_ydata(-X),
    "new static artist": lambda scene: scene.curve_axes.axhline(0.5),
    "removed static artist": lambda scene: scene.curve_axes.lines[0].remove(),
    "removed moving artist": lambda scene: scene.curve.remove(),
    "hidden axes": lambda scene: scene.yard_axes.set_visible(False),
    "position of axes": lambda scene: scene.yard_axes.set_position([0.6, 0.3, 0.2, 0.2]),
    "grid": lambda scene: scene.curve_axes.grid(False),
    "figure text": lambda scene: scene.picture.figure.text(0.1, 0.9, "new"),
    "figure size": lambda scene: scene.picture.figure.set_size_inches(4, 3),
    "resolution": lambda scene: scene.picture.figure.set_dpi(80),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_background_is_noticed(name):
    scene = Scene()
    before = scene.picture.pixels()
    CHANGES[name](scene)
    after = scene.picture.pixels()
    assert after.shape != before.shape or (after != before).any()
    np.testing.assert_array_equal(after, scene.picture.fresh_pixels())


def test_a_draw_to_a_file_in_between_hides_no_change():
    scene = Scene()
    scene.picture.png()
    scene.curve_axes.set_title("Steer", loc="left")
    scene.picture.figure.savefig(io.BytesIO())
    np.testing.assert_array_equal(scene.picture.pixels(), scene.picture.fresh_pixels())


def test_a_fresh_draw_in_between_hides_no_change():
    scene = Scene()
    scene.picture.png()
    scene.curve_axes.set_title("Steer", loc="left")
    fresh = scene.picture.fresh_pixels()
    np.testing.assert_array_equal(scene.picture.pixels(), fresh)


def test_refresh_draws_what_cannot_be_noticed():
    scene = Scene()
    unit = ["m"]
    scene.curve_axes.xaxis.set_major_formatter(lambda x, _place: f"{x:g}{unit[0]}")
    before = scene.picture.png()
    unit[0] = "ft"
    assert scene.picture.png() == before
    scene.picture.refresh()
    assert scene.picture.png() != before


# --- what is refused ---------------------------------------------------------------------


def test_overlapping_axes_are_refused_before_they_give_a_wrong_picture():
    picture = Picture(300, 200)
    axes = picture.figure.add_subplot()
    picture.moving(*axes.plot([0, 1]))
    twin = axes.twinx()
    with pytest.raises(ValueError, match="axes overlap"):
        picture.png()
    twin.set_axis_off()
    np.testing.assert_array_equal(picture.pixels(), picture.fresh_pixels())


def test_an_artist_of_another_figure_is_refused():
    (line,) = Figure().add_subplot().plot([0, 1])
    with pytest.raises(ValueError, match="not drawn by this figure"):
        Picture().moving(line)


def test_an_artist_drawn_by_an_axis_is_refused():
    picture = Picture()
    axes = picture.figure.add_subplot()
    with pytest.raises(ValueError, match="not drawn by this figure"):
        picture.moving(axes.xaxis.label)


# --- pointer -----------------------------------------------------------------------------


@given(st.sampled_from([0, 1]), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
@settings(max_examples=30, deadline=None)
def test_data_at_undoes_the_transform_of_the_axes(index, across, up):
    scene = Scene()
    axes = scene.picture.figure.axes[index]
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    wanted = (x0 + across * (x1 - x0), y0 + up * (y1 - y0))
    scene.picture.png()
    x_px, y_up = axes.transData.transform(wanted)
    found = scene.picture.data_at(x_px, scene.picture.height - y_up)
    assert found is not None
    assert found.axes == index
    assert (found.x, found.y) == pytest.approx(wanted, abs=1e-9)


def test_data_at_reads_downwards_from_the_top_left_corner():
    picture = Picture(400, 200)
    axes = picture.figure.add_axes((0.25, 0.0, 0.5, 0.5))
    axes.set(xlim=(0, 2), ylim=(0, 1))
    assert picture.data_at(150.0, 125.0) == pytest.approx((0, 0.5, 0.75))
    assert picture.data_at(150.0, 75.0) is None
    assert picture.data_at(99.0, 150.0) is None


def test_data_at_follows_a_limit_changed_since_the_last_picture():
    scene = Scene()
    scene.picture.png()
    place = (scene.curve_axes.bbox.x0 + 1, scene.picture.height - scene.curve_axes.bbox.y0 - 1)
    scene.curve_axes.set_xlim(5, 6)
    found = scene.picture.data_at(*place)
    assert found is not None
    assert 5 < found.x < 5.1


def test_data_at_needs_no_picture_first():
    picture = Picture(400, 200)
    picture.figure.set_layout_engine("constrained")
    picture.figure.add_subplot(xlim=(0, 1), ylim=(0, 1), aspect="equal", ylabel="y (m)")
    before = picture.data_at(200.0, 100.0)
    picture.png()
    assert before == picture.data_at(200.0, 100.0)


def test_data_at_passes_over_hidden_axes():
    scene = Scene()
    scene.picture.png()
    box = scene.yard_axes.bbox
    place = (box.x0 + 5, scene.picture.height - box.y0 - 5)
    assert scene.picture.data_at(*place) is not None
    scene.yard_axes.set_visible(False)
    assert scene.picture.data_at(*place) is None


# --- the file ----------------------------------------------------------------------------


def test_the_file_decodes_to_the_pixels():
    scene = Scene()
    np.testing.assert_array_equal(decoded(scene.picture.png()), scene.picture.pixels())


@pytest.mark.parametrize("channels", [3, 4])
def test_every_byte_value_survives_the_file(channels):
    pixels = np.random.default_rng(7).integers(0, 256, (37, 53, channels), dtype=np.uint8)
    np.testing.assert_array_equal(decoded(encode(pixels)), pixels[:, :, :3])


def test_a_picture_of_one_pixel_is_a_file():
    assert decoded(encode(np.full((1, 1, 3), 9, dtype=np.uint8))).tolist() == [[[9, 9, 9]]]


def test_equal_pictures_are_equal_bytes():
    assert Scene().picture.png() == Scene().picture.png()


@pytest.mark.parametrize("dpi", [72.0, 96.0, 100.0, 110.0, 144.0])
def test_the_size_is_exact_to_the_pixel(dpi):
    sizes = {(one.width, one.height) for one in (Picture(n, n, dpi) for n in (1, 829, 1200))}
    assert sizes == {(1, 1), (829, 829), (1200, 1200)}
    # And would be on a canvas that cuts off what follows the point.
    assert [n for n in range(1, 4000) if int(_inches(n, dpi) * dpi) != n] == []


def test_the_file_has_the_size_asked_for():
    assert decoded(Picture(829, 331).png()).shape == (331, 829, 3)


def test_pixels_are_the_callers_own():
    picture = Picture(20, 10)
    taken = picture.pixels()
    taken[:] = 0
    assert picture.pixels().min() == 255


def test_pyplot_keeps_no_figure():
    Scene().picture.png()
    Scene().picture.fresh_png()
    assert plt.get_fignums() == []


# --- the view ----------------------------------------------------------------------------


@pytest.fixture
def view():
    """Yield a view and close it."""
    made = PictureView()
    yield made
    made.close()


def messages(view, monkeypatch):
    """Return a list that grows with every message to the browser."""
    sent = []
    monkeypatch.setattr(
        view, "_send", lambda message, buffers=None: sent.append((message, buffers))
    )
    return sent


def test_showing_sends_picture_words_and_size_in_one_message(view, monkeypatch):
    sent = messages(view, monkeypatch)
    picture = Picture(320, 160)
    view.show(picture, "an empty picture")
    ((message, buffers),) = sent
    assert message["state"] == {"width": 320, "height": 160, "alt": "an empty picture"}
    assert message["buffer_paths"] == [["png"]]
    assert [bytes(one) for one in buffers] == [picture.png()]


def test_an_unchanged_picture_is_not_sent_again(view, monkeypatch):
    picture = Picture(320, 160)
    view.show(picture, "nothing")
    sent = messages(view, monkeypatch)
    view.show(picture, "nothing")
    assert sent == []


@pytest.mark.parametrize(
    ("name", "bad"), [("png", "text"), ("alt", None), ("width", 0), ("height", 2.5)]
)
def test_a_trait_takes_only_what_it_means(view, name, bad):
    with pytest.raises(traitlets.TraitError):
        setattr(view, name, bad)


def test_a_pointer_from_the_browser_reaches_observers(view):
    seen = []
    view.observe(lambda change: seen.append(change.new), "pointer")
    view.set_state({"pointer": {"x": 12.5, "y": 40.0, "down": True}})
    assert seen == [{"x": 12.5, "y": 40.0, "down": True}]


def test_the_page_code_comes_with_the_view_and_fetches_nothing(view):
    code = view.get_state(["_esm", "_css"])
    assert "export default { render }" in code["_esm"]
    assert ".cv-picture" in code["_css"]
    for word in ("http:", "https:", "fetch(", "import(", "XMLHttpRequest", "WebSocket"):
        assert word not in code["_esm"] + code["_css"]
