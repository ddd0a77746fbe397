"""Long work: runs through without a loop, shares a loop with buttons, stops, begins anew."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator

import pytest

from curvelib.panels.job import Job


class Worker:
    """Ten bits of work, and notes of what was done."""

    def __init__(self) -> None:
        self.begun = 0
        self.bits = 0
        self.ended: list[bool] = []
        self.job = Job("Go", "test", self.make, self.ended.append)

    def make(self) -> Iterator[float]:
        """Begin the work."""
        self.begun += 1
        for bit in range(1, 11):
            self.bits += 1
            yield bit / 10


def idle(job: Job) -> bool:
    return not job.going and not job.run_button.disabled and job.stop_button.disabled


def test_without_a_loop_start_works_through() -> None:
    worker = Worker()
    worker.job.start()
    assert (worker.bits, worker.ended) == (10, [True])
    assert worker.job.progress.value == 1.0
    assert idle(worker.job)
    assert worker.job.note.value == "Done."


def test_buttons_are_answered_while_it_works() -> None:
    """In a loop the work takes turns with everything else, and Stop ends it."""
    worker = Worker()

    async def use() -> None:
        worker.job.run_button.click()
        assert worker.job.going
        assert worker.job.run_button.disabled
        assert not worker.job.stop_button.disabled
        while worker.bits < 3:
            await asyncio.sleep(0)
        worker.job.run_button.click()  # a second click begins nothing
        worker.job.stop_button.click()
        while worker.job.going:
            await asyncio.sleep(0)

    asyncio.run(use())
    assert worker.begun == 1
    assert 3 <= worker.bits < 10
    assert worker.ended == [False]
    assert 0.0 < worker.job.progress.value < 1.0
    assert idle(worker.job)
    assert worker.job.note.value == "Stopped."


def test_a_restart_while_it_works_ends_the_old_work_and_begins_new() -> None:
    worker = Worker()

    async def use() -> None:
        worker.job.start()
        while worker.bits < 3:
            await asyncio.sleep(0)
        worker.job.restart()
        while worker.job.going:
            await asyncio.sleep(0)

    asyncio.run(use())
    assert worker.begun == 2
    assert 13 <= worker.bits < 20
    assert worker.ended == [True], "the old work, stopped half way, is not shown"
    assert idle(worker.job)


def test_a_restart_at_rest_is_a_start() -> None:
    worker = Worker()
    worker.job.restart()
    worker.job.restart()
    assert worker.begun == 2
    assert worker.ended == [True, True]


def test_work_that_fails_says_so_and_frees_the_buttons() -> None:
    """The error is not swallowed."""

    def fails() -> Iterator[float]:
        yield 0.1
        raise RuntimeError("no good")

    job = Job("Go", "test", fails, lambda _: None)
    with pytest.raises(RuntimeError, match="no good"):
        job.start()
    assert idle(job)
    assert "went wrong" in job.note.value
