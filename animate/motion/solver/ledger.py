"""Rows as they are said, and the program made of them."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.motion.chain import Chain, Settings
from animate.motion.solver.blocks import Whole
from animate.motion.solver.form import FREE_MIRROR, basis
from animate.motion.solver.instants import Group, Instant
from animate.motion.solver.phasor import Quantity
from animate.motion.solver.places import N, Places
from animate.motion.solver.program import Falls, Joins, Lines, Part, Program


class Ledger(Places):
    """Collects instants and linear rows; adds those that join the phases."""

    def __init__(self, chain: Chain, body: Body, settings: Settings, posed: bool = True) -> None:
        super().__init__(chain, body, settings, posed)
        self.known: dict[tuple[object, ...], Mapping[str, Quantity]] = {}
        self.instants: list[Instant] = []
        self.lines: list[tuple[list[tuple[int, float]], float, float, str]] = []

    def guess(self) -> Array:
        """Unknowns at the key poses."""
        return np.array(self.start)

    def line(self, terms: Iterable[tuple[int, float]], low: float, high: float, name: str) -> None:
        """A linear row; one without unknowns is left out."""
        real = [(int(col), value) for col, value in terms if col >= 0]
        if real:
            self.lines.append((real, low, high, name))

    def _at(self, i: int, tau: float, kind: tuple[object, ...], extra: Whole) -> Instant:
        instant = Instant(i, tau, kind, self.known[kind], extra)
        self.instants.append(instant)
        return instant

    def program(self) -> Program:
        """Everything collected, as arrays."""
        kinds: dict[object, list[Instant]] = {}
        for instant in self.instants:
            kinds.setdefault(instant.kind, []).append(instant)
        n = len(self.low)
        breaks = [s.breaks for s in self.phases]
        index = [self._curves(i) for i in range(len(self.phases))]
        for instant in self.instants:
            instant.extra = np.where(instant.extra < 0, n, instant.extra)
        times = [p.time for p in self.places]
        parts: list[Part] = [Group(found, breaks, index, times) for found in kinds.values()]
        return Program(
            [*parts, self._joins(), self._falls(), *self._linear()],
            np.array(self.ends),
            (np.array(self.low), np.array(self.high)),
            self.quadratic,
            np.array(self.lean),
        )

    def _curves(self, i: int) -> Whole:
        """Coefficients of a phase as its mechanics take them: those of a left foot mirrored."""
        slot, place = self.phases[i], self.places[i]
        index = place.angles
        if slot.kind == "contact" and slot.support.side == "l":
            index = index[:, FREE_MIRROR]
        if place.base is not None:
            index = np.hstack([index, place.base])
        return np.where(index < 0, len(self.low), index)

    def _joins(self) -> Joins:
        """Rates agree where phases meet; at take-off second derivatives too."""
        cells, w, order, labels = [], [], [], []
        for i, (a, b) in enumerate(itertools.pairwise(self.phases)):
            ends = self.places[i].angles[-3:], self.places[i + 1].angles[:3]
            for k in (1, 2) if a.kind == "contact" else (1,):
                before = basis(np.array(a.breaks), np.array([1.0]), k)[0, -3:]
                after = -basis(np.array(b.breaks), np.array([0.0]), k)[0, :3]
                for d in range(N):
                    times = self.places[i].time, self.places[i + 1].time
                    cells.append([*ends[0][:, d], times[0], *ends[1][:, d], times[1]])
                    w.append([before, after] if k == 1 else [0.01 * before, 0.01 * after])
                    order.append(float(k))
                    labels.append(f"{i}: {('rate', 'second')[k - 1]} {d}")
        found = np.array(cells)
        found = np.where(found < 0, len(self.low), found)
        return Joins(found, np.array(w), np.array(order), labels)

    def _falls(self) -> Falls:
        """The centre of mass falls from a take-off to the next touchdown; its speeds are linear rows."""
        cells, falls, labels = [], [], []
        for i, place in enumerate(self.places):
            if place.fall is None:
                continue
            landing = self.places[i + 1].landing
            assert landing is not None
            for axis in (0, 1):
                further = len(self.low) if axis else self.further.get(i, len(self.low))
                flown = place.time, place.fall[axis], place.fall[2 + axis], landing[axis]
                cells.append([*flown, further])
                falls.append(float(axis))
                labels.append(f"{i}: touchdown {axis}")
                terms = [(int(place.fall[2 + axis]), 1.0), (int(landing[2 + axis]), -1.0)]
                terms += [(place.time, -GRAVITY)] if axis else []
                self.line(terms, 0, 0, f"{i}: touchdown speed {axis}")
        return Falls(np.array(cells), np.array(falls), labels)

    def _linear(self) -> list[Lines]:
        """The linear rows, by how many unknowns they have."""
        out = []
        for size in sorted({len(terms) for terms, *_ in self.lines}):
            rows = [row for row in self.lines if len(row[0]) == size]
            cells = np.array([[col for col, _ in terms] for terms, *_ in rows])
            slope = np.array([[value for _, value in terms] for terms, *_ in rows])
            low, high = (np.array([float(row[k]) for row in rows]) for k in (1, 2))  # type: ignore[arg-type]
            out.append(Lines(cells, slope, low, high, [row[3] for row in rows]))
        return out
