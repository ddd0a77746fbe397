"""A restored background must stay far quicker than a new figure per change."""

from bench_picture import measure


def test_a_restored_background_is_at_least_fifteen_times_quicker():
    medians = measure(times=5)
    quickest = medians["restored background"]
    assert medians["new figure per change"] / quickest >= 15.0
    assert medians["kept artists, full draw"] / quickest >= 5.0
