"""Many repairs on several processes; what comes back is in the order of their numbers."""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Callable
from functools import partial
from typing import TypeVar

import numpy as np
from bench.fit_study.trial import SIZES, Misread, Trial, misread, plain
from bench.fit_study.truth import STEPS_MM, draw

T = TypeVar("T")


def one(number: int, *, seed: int, roundings: tuple[str, ...], misreads: bool) -> Trial:
    """Make and ask one repair in all ways."""
    begun = time.process_time()
    random = np.random.default_rng([seed, number])
    case = draw(random, number)
    asked = {rounding: plain(case, rounding, random) for rounding in roundings}
    wrong: dict[str, list[Misread]] = {}
    for rounding in roundings if misreads else ():
        found = misread(case, rounding, SIZES[number // 6 % len(SIZES)], random)
        wrong[rounding] = [found] if found is not None else []
    return Trial(number, asked, wrong, time.process_time() - begun)


def _told(work: Callable[[int], T], number: int) -> T:
    """An error must come home as plain text: not every exception can be sent."""
    try:
        return work(number)
    except Exception as error:
        raise RuntimeError(f"repair {number}: {type(error).__name__}: {error}") from None


def many(work: Callable[[int], T], count: int, jobs: int) -> list[T]:
    """Do the work for numbers from 0 on, on so many processes with one thread each."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    if jobs == 1:
        return [work(number) for number in range(count)]
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        found = []
        for k, done in enumerate(pool.imap(partial(_told, work), range(count), chunksize=8), 1):
            found.append(done)
            if k % 200 == 0:
                print(f"{k} of {count}", flush=True)
        return found


def first(
    count: int,
    seed: int,
    jobs: int,
    *,
    roundings: tuple[str, ...] = tuple(STEPS_MM),
    misreads: bool = True,
) -> list[Trial]:
    """The first study: truth as the model has it."""
    work = partial(one, seed=seed, roundings=roundings, misreads=misreads)
    return many(work, count, jobs)
