"""Force traces: weight, moments, impulse and heights from the samples of a plate. Pure numpy.

Times are counted in samples from the start of the trace. A moment is the first sample of what it
begins: take-off the first in the air, landing the first back on the plate.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from pipeline.units import STANDARD_GRAVITY

Samples = NDArray[np.float64]

JUMP, DROP_JUMP, ISOMETRIC = "jump", "drop jump", "isometric"
"""The kinds of tests a trace may be of, as the battery names them."""

SQUAT_JUMP = "squat jump"
"""The battery's name of the jump that must begin without a dip."""

BRAKING = "braking"
RATE_WINDOWS_MS = (100, 200)

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 200.0, 20_000.0
SHORTEST_FLIGHT_S, LONGEST_FLIGHT_S = 0.10, 1.0
"""1.2 cm and 1.23 m: nothing outside is a jump."""
LEAST_CONTACT_N = 10.0
DEVIATIONS = 5.0
"""Of flight, for the contact threshold; of quiet standing, for the onset (Owen et al. 2014)."""
ONSET_LEAD_S = 0.030
HEIGHTS_APART = 0.10
MASS_APART = 0.10
DIP = 0.10
"""A squat jump whose force falls by more than this share of the weight first has a dip."""

# Common practice, no source: what tells standing from moving, a flight from a light moment.
_LIGHTEST_KG, _HEAVIEST_KG = 20.0, 250.0
_BLOCK_S = 0.05
_UNQUIET, _DRIFT, _ZERO, _AFTER = 0.06, 0.03, 0.10, (0.04, 0.30)
_LOADED, _LOW, _FLAT, _PUSH = 0.10, 0.25, 0.03, 1.2
_REST_S = 0.5
_STANDING = (0.6, 1.5)
_STANDING_TO_PULL = (0.15, 1.5)  # a pull is most of its trace, far over the weight
_CLIP_S, _SURE_CLIP_S, _CLIP_EDGE_S, _CLIP_EDGE = 0.005, 0.015, 0.003, 0.01
_FINE = 0.002  # coarser digits make a level top of any smooth one
_LEAST_BAND = 0.0025
_COUNTER_MPS, _LEAST_TAKEOFF_MPS = -0.1, 0.3


class RefusedError(Exception):
    """The trace cannot be used; the text completes “cannot be used: …”."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a comparison with printed figures may want otherwise; production uses the defaults.

    Attributes:
        gravity: m/s².
        threshold_n: contact threshold over the zero; None is max(10 N, 5 SD of flight).
        zero_n: what the empty plate reads; None takes it from the flight (0 without one).
        quiet_s: how long the quiet weighing is.
    """

    gravity: float = STANDARD_GRAVITY
    threshold_n: float | None = None
    zero_n: float | None = None
    quiet_s: float = 1.0


DEFAULT = Settings()


@dataclass(frozen=True, slots=True)
class Reading:
    """What a trace holds, SI; NaN where its kind has none. Moments are samples, -1 for none.

    Attributes:
        weight_n: mean force of quiet standing less the zero; 0 where the mass is from a scale.
        zero_n: what the plate reads with nobody on it.
        threshold_n: of contact, as the plate reads.
        mass_kg: weight over gravity, else the scale's.
        onset, lowest, turn, takeoff, landing, rest: first movement (touchdown of a drop jump);
            greatest speed down; lowest point; flight; plate again; landing over.
        impulse: net, N·s: to take-off, or over a drop jump's contact.
        time_s: onset to take-off; of a drop jump its contact.
        flight_s: time in the air.
        peak_n: greatest force of the push or pull, body weight included.
        rises: (window, newtons gained, seconds).
        dip: the force fell by more than a tenth of the weight before the push.
    """

    weight_n: float
    zero_n: float
    threshold_n: float
    mass_kg: float
    peak_n: float
    onset: int = -1
    lowest: int = -1
    turn: int = -1
    takeoff: int = -1
    landing: int = -1
    rest: int = -1
    impulse: float = np.nan
    time_s: float = np.nan
    flight_s: float = np.nan
    rises: tuple[tuple[str, float, float], ...] = ()
    dip: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """One trace: the plates' sum in N (samples,), its reading, and whether its newtons are real.

    ``absolute`` is false for a trace in body weights of somebody nobody weighed: then only what
    is told for each kg is told.
    """

    kind: str
    rate_hz: float
    force: Samples = field(repr=False)
    reading: Reading
    absolute: bool = True


def clipped(plate: Samples, rate_hz: float) -> bool:
    """Whether one plate's samples (samples,) stand level at their greatest value, cut off there."""
    top = float(plate.max())
    starts, ends = _runs(plate >= top)
    longest = int(np.argmax(ends - starts))
    start, end = int(starts[longest]), int(ends[longest])
    length = (end - start) / rate_hz
    if length < _CLIP_S or end - start < 3:  # noqa: PLR2004  # two equal samples are chance
        return False
    step = max(round(_CLIP_EDGE_S * rate_hz), 1)
    around = [plate[i] for i in (start - step, end - 1 + step) if 0 <= i < len(plate)]
    fall = top - min(around, default=top)
    steps = np.abs(np.diff(plate))
    fine = float(steps[steps > 0].min(initial=np.inf)) < _FINE * abs(top)
    return (fine and length >= _SURE_CLIP_S) or fall > _CLIP_EDGE * abs(top)


def analyse(
    force: Samples,
    rate_hz: float,
    kind: str,
    body_mass: float = np.nan,
    settings: Settings = DEFAULT,
) -> Reading:
    """Read one trace.

    Args:
        force: vertical force in N, plates summed (samples,).
        rate_hz: samples a second.
        kind: ``jump``, ``drop jump`` or ``isometric``.
        body_mass: kg, of a scale on that day; NaN where nobody weighed.
        settings: thresholds and gravity.

    Raises:
        RefusedError: it holds nothing that can be trusted, with the reason.
    """
    found = _Analysis(np.asarray(force, dtype=np.float64), rate_hz, body_mass, settings)
    return {JUMP: found.jump, DROP_JUMP: found.drop_jump, ISOMETRIC: found.isometric}[kind]()


def heights(reading: Reading, gravity: float = STANDARD_GRAVITY) -> tuple[float, float]:
    """Height in m by impulse, v² / 2g, and by flight time, g t² / 8 (Linthorne 2001)."""
    speed = reading.impulse / reading.mass_kg
    return speed**2 / (2 * gravity), gravity * reading.flight_s**2 / 8


def net_impulse(force: Samples, weight: float, rate_hz: float) -> float:
    """The impulse of the samples over a weight, N·s, by the trapezoid rule."""
    net = force - weight
    return float((net.sum() - (net[0] + net[-1]) / 2) / rate_hz)


def edges(force: Samples, start: int, end: int, threshold: float) -> tuple[int, int]:
    """Take-off and landing around a stretch ``start:end`` that is surely in the air.

    Take-off is the first sample under the threshold from the last sure contact on, landing the
    first sample after the last one under it.
    """
    under = force[start - 1 : end + 1] < threshold
    return start - 1 + int(np.argmax(under)), end + 1 - int(np.argmax(under[::-1]))


MOST_POINTS = 400


def outline(trace: Trace) -> dict[str, Any]:
    """A trace as it is drawn: at most ``MOST_POINTS`` points around what happened.

    Of each stretch the least and the greatest force are kept, so no peak is lost. Force is in
    body weights: newtons would tell what the athlete weighs.

    Returns:
        ``kind``, ``times`` in s from the onset, ``force``, and ``moments`` in s by their names.
    """
    found, rate = trace.reading, trace.rate_hz
    last = max(found.rest, found.landing + round(0.4 * rate), 0)
    end = last + round(0.25 * rate) if found.landing >= 0 else found.onset + round(3.0 * rate)
    first = max(found.onset - round(0.3 * rate), 0)
    piece = trace.force[first : min(end, len(trace.force))]
    kept = np.arange(len(piece))
    if len(piece) > MOST_POINTS:
        parts = np.array_split(piece, MOST_POINTS // 2)
        starts = np.cumsum([0, *(len(part) for part in parts[:-1])])
        ends = [
            (at + part.argmin(), at + part.argmax()) for at, part in zip(starts, parts, strict=True)
        ]
        kept = np.unique(ends)
    weights = (piece[kept] - found.zero_n) / (found.mass_kg * STANDARD_GRAVITY)
    names = ("onset", "lowest", "turn", "takeoff", "landing", "rest")
    return {
        "kind": trace.kind,
        "times": [round(float(t), 4) for t in (kept + first - found.onset) / rate],
        "force": [round(float(w), 3) for w in weights],
        "moments": {
            name: round((at - found.onset) / rate, 4)
            for name in names
            if (at := getattr(found, name)) >= 0
        },
    }


def _runs(mask: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Starts and ends of the stretches where a mask holds."""
    padded = np.concatenate(([False], mask, [False]))
    changes = np.flatnonzero(padded[1:] != padded[:-1])
    return changes[::2], changes[1::2]


def _noise(samples: Samples) -> float:
    """SD of what differs from one sample to the next: the plate's noise, movement left out."""
    if len(samples) < 2:  # noqa: PLR2004  # a difference needs two
        return 0.0
    return float(np.abs(np.diff(samples)).mean() * np.sqrt(np.pi) / 2)  # of white noise


def _refuse(why: str) -> NoReturn:
    raise RefusedError(why)


class _Analysis:
    """One trace under analysis."""

    def __init__(
        self, force: Samples, rate_hz: float, body_mass: float, settings: Settings
    ) -> None:
        self._force, self._rate, self._g = force, rate_hz, settings.gravity
        self._body_mass, self._settings = body_mass, settings
        self._block = max(round(_BLOCK_S * rate_hz), 1)
        if not np.isfinite(force).all():
            _refuse("some of its samples are no numbers")
        if len(force) < self._samples(settings.quiet_s):
            _refuse(f"it is shorter than the {settings.quiet_s:g} s of quiet standing it needs")
        high = float(np.percentile(force, 99))
        loaded = force[force > _LOADED * high]
        self._scale = float(np.median(loaded)) if high > 0 and len(loaded) else 0.0
        if self._scale < _LIGHTEST_KG * self._g / 4:
            _refuse(
                f"its force is about {self._scale:.3g} N, less than anybody weighs; "
                "are these volts, kilograms or body weights?"
            )
        lowest = float(self._means(0, len(force)).min(initial=0.0))
        if lowest < -0.3 * self._scale:
            _refuse(f"the force falls to {lowest:.0f} N: body weight was subtracted already")

    # --- the kinds ------------------------------------------------------------------------

    def jump(self) -> Reading:
        """Quiet standing, push, flight, landing."""
        start, end = self._flight()
        zero, threshold = self._air(start, end)
        takeoff, landing = edges(self._force, start, end, threshold)
        first, last = self._standing(start)
        quiet = self._force[first:last]
        level = float(quiet.mean())
        weight = level - zero
        mass = self._mass(weight)
        self._drift_after(landing, level)
        band = max(DEVIATIONS * float(quiet.std()), _LEAST_BAND * weight)
        leaves = self._leaves(first, last, takeoff, level, band)
        onset = max(leaves - self._samples(ONSET_LEAD_S), first)
        push = self._force[onset : takeoff + 1]
        speed = self._speed(push, level, mass)
        if speed[-1] < _LEAST_TAKEOFF_MPS:
            _refuse("the force before the flight gives no speed upwards: a step off, not a jump")
        lowest, turn = self._countermovement(speed, onset)
        top = int(np.argmax(push))
        before = push[: top + 1]
        arrest = self._speed(self._force[landing:], level, mass) - speed[-1]
        rest = int(np.argmax(arrest >= 0)) if (arrest >= 0).any() else len(arrest) - 1
        if turn > lowest:
            gained = float(self._force[turn] - self._force[lowest])
            rises: tuple[tuple[str, float, float], ...] = (
                (BRAKING, gained, (turn - lowest) / self._rate),
            )
        else:
            rises = self._rises(leaves, takeoff)
        return Reading(
            weight_n=weight,
            zero_n=zero,
            threshold_n=threshold,
            mass_kg=mass,
            peak_n=float(push[top]) - zero,
            onset=onset,
            lowest=lowest,
            turn=turn,
            takeoff=takeoff,
            landing=landing,
            rest=landing + rest,
            impulse=net_impulse(push, level, self._rate),
            time_s=(takeoff - onset) / self._rate,
            flight_s=(landing - takeoff) / self._rate,
            rises=rises,
            dip=float(before.min()) - level < -max(DIP * weight, band),
        )

    def drop_jump(self) -> Reading:
        """An empty plate, contact, flight, landing; the weight from standing still at the end."""
        before, start, end = self._rebound()
        zero, threshold = self._air(start, end)
        takeoff, landing = edges(self._force, start, end, threshold)
        touchdown = before - int(np.argmax(self._force[:before][::-1] < threshold))
        weight, mass = self._weight_after(landing, zero)
        contact = self._force[touchdown : takeoff + 1]
        return Reading(
            weight_n=weight,
            zero_n=zero,
            threshold_n=threshold,
            mass_kg=mass,
            peak_n=float(contact.max()) - zero,
            onset=touchdown,
            takeoff=takeoff,
            landing=landing,
            impulse=net_impulse(contact, zero + mass * self._g, self._rate),
            time_s=(takeoff - touchdown) / self._rate,
            flight_s=(landing - takeoff) / self._rate,
        )

    def isometric(self) -> Reading:
        """Quiet standing, then a pull or push against what does not move."""
        zero = self._settings.zero_n or 0.0
        top = int(np.argmax(self._force))
        first, last = self._standing(top, _STANDING_TO_PULL)
        quiet = self._force[first:last]
        level = float(quiet.mean())
        weight = level - zero
        mass = self._mass(weight)
        peak = float(self._force[top]) - zero
        if (self._force[last:] < zero + _LOW * weight).any():
            _refuse("the athlete leaves the plate: no isometric test")
        if peak < _PUSH * weight:
            _refuse("the force hardly leaves body weight: it holds no pull")
        band = max(DEVIATIONS * float(quiet.std()), _LEAST_BAND * weight)
        leaves = self._leaves(first, last, top, level, band)
        return Reading(
            weight_n=weight,
            zero_n=zero,
            threshold_n=level + band,
            mass_kg=mass,
            peak_n=peak,
            onset=leaves,
            rises=self._rises(leaves, len(self._force)),
        )

    # --- standing -------------------------------------------------------------------------

    def _samples(self, seconds: float) -> int:
        return round(seconds * self._rate)

    def _means(self, start: int, stop: int) -> Samples:
        """Means of short blocks, counted back from ``stop``: noise gone, movement kept."""
        count = max(stop - start, 0) // self._block
        blocks = self._force[stop - count * self._block : stop].reshape(count, self._block)
        means: Samples = blocks.mean(axis=1)
        return means

    def _quietest(
        self, start: int, stop: int, between: tuple[float, float] = _STANDING
    ) -> tuple[int, int, str] | None:
        """The quietest stretch of standing, and what is wrong with it, if anything.

        ``between`` are the shares of the usual force between which somebody stands still.
        """
        means = self._means(start, stop)
        width = max(round(self._settings.quiet_s * self._rate / self._block), 1)
        if len(means) < width:
            return None
        windows = np.lib.stride_tricks.sliding_window_view(means, width)
        spread = windows.max(axis=1) - windows.min(axis=1)
        least = max(between[0] * self._scale, _LIGHTEST_KG * self._g / 4)
        loaded = (windows.min(axis=1) > least) & (windows.max(axis=1) < between[1] * self._scale)
        if not loaded.any():
            return None
        best = int(np.argmin(np.where(loaded, spread, np.inf)))
        first = stop - (len(means) - best) * self._block
        last = first + width * self._block
        window, times = windows[best], np.arange(width) - (width - 1) / 2
        square = float(times @ times)
        slope = float(times @ window) / square if square else 0.0
        left = window - slope * times
        level = float(window.mean())
        noise = 6 * _noise(self._force[first:last]) / np.sqrt(self._block)
        if float(np.ptp(left)) > _UNQUIET * level + noise:
            told = f"{float(spread[best]):.0f} N within the quietest {self._settings.quiet_s:g} s"
            return first, last, f"there is no quiet standing: the force moves by {told}"
        wander = abs(slope) * width
        if wander > _DRIFT * level + noise:
            return first, last, f"it drifts by {wander:.0f} N within quiet standing"
        return first, last, ""

    def _standing(self, stop: int, between: tuple[float, float] = _STANDING) -> tuple[int, int]:
        found = self._quietest(0, stop, between)
        if found is None:
            seconds = self._settings.quiet_s
            _refuse(f"there is no quiet standing of {seconds:g} s before the push")
        first, last, why = found
        if why:
            _refuse(why)
        return first, last

    def _mass(self, weight: float) -> float:
        """The mass of a quiet stance, held against the scale's."""
        mass = weight / self._g
        if not _LIGHTEST_KG <= mass <= _HEAVIEST_KG:
            _refuse(f"quiet standing gives {mass:.3g} kg, which nobody weighs; check the unit")
        if abs(mass - self._body_mass) > MASS_APART * self._body_mass:
            _refuse(
                f"quiet standing gives {mass / self._body_mass:.2f} times what the athlete weighs: "
                "a plate counted twice or missing, or somebody else's trace"
            )
        return mass

    def _drift_after(self, landing: int, level: float) -> None:
        """Standing still after the landing must weigh what it weighed before."""
        start = landing + self._samples(0.3)
        if len(self._force) - start < self._samples(self._settings.quiet_s):
            return
        found = self._quietest(start, len(self._force))
        if found is None or "quiet" in found[2]:
            return
        after = float(self._force[found[0] : found[1]].mean())
        if _AFTER[0] < abs(after - level) / level < _AFTER[1]:
            _refuse(f"it drifts: standing still reads {level:.0f} N before and {after:.0f} N after")

    def _weight_after(self, landing: int, zero: float) -> tuple[float, float]:
        found = self._quietest(landing, len(self._force))
        if found is not None and not found[2]:
            weight = float(self._force[found[0] : found[1]].mean()) - zero
            return weight, self._mass(weight)
        if np.isnan(self._body_mass):
            _refuse("there is no quiet standing after the landing, and no body mass of the day")
        return 0.0, self._body_mass

    # --- the air --------------------------------------------------------------------------

    def _low(self) -> Iterator[tuple[int, int]]:
        for start, end in zip(*_runs(self._force < _LOW * self._scale), strict=True):
            yield int(start), int(end)

    def _is_flight(self, start: int, end: int) -> bool:
        """Level, as long as a jump, and ended by a landing."""
        seconds = (end - start) / self._rate
        if not SHORTEST_FLIGHT_S <= seconds <= LONGEST_FLIGHT_S or end == len(self._force):
            return False
        middle = self._force[start + (end - start) // 4 : end - (end - start) // 4]
        parts = [float(part.mean()) for part in np.array_split(middle, 4)]
        allowed = _FLAT * self._scale + 6 * _noise(middle) / np.sqrt(max(len(middle) / 4, 1))
        landed = float(self._force[end : end + self._samples(0.3)].max()) > _PUSH * self._scale
        return max(parts) - min(parts) <= allowed and landed

    def _flight(self) -> tuple[int, int]:
        """The first flight that a push went before; a step off has none."""
        low = list(self._low())
        for start, end in low:
            push = self._force[max(start - self._samples(0.5), 0) : start]
            if start and push.max() > _PUSH * self._scale and self._is_flight(start, end):
                return start, end
        if low and low[0][0] == 0:
            if low[0][1] / self._rate <= LONGEST_FLIGHT_S:
                _refuse("it starts in mid-air, so there is no take-off to measure")
            _refuse("it holds a landing alone: nobody stands on the plate before the flight")
        if low and low[-1][1] == len(self._force):
            _refuse("it holds no jump: whoever left the plate did not land on it")
        _refuse(
            f"it holds no jump: no flight of {SHORTEST_FLIGHT_S:g} to {LONGEST_FLIGHT_S:g} s "
            "between a push and a landing"
        )

    def _rebound(self) -> tuple[int, int, int]:
        """End of the fall, and the flight after the contact."""
        low = list(self._low())
        for (begun, before), (start, end) in itertools.pairwise(low):
            fell = (before - begun) / self._rate >= SHORTEST_FLIGHT_S
            if fell and start - before <= self._rate and self._is_flight(start, end):
                return before, start, end
        if not low or low[0][0] > 0:
            _refuse("it holds no drop jump: the plate is not empty before the first contact")
        _refuse("it holds no drop jump: no flight follows the contact, only a landing")

    def _air(self, start: int, end: int) -> tuple[float, float]:
        """The plate's zero and the contact threshold, both from the middle of the flight."""
        trim = (end - start) // 5
        flight = self._force[start + trim : end - trim]
        zero = self._settings.zero_n
        zero = float(flight.mean()) if zero is None else zero
        if abs(zero) > _ZERO * self._scale:
            _refuse(f"the plate reads {zero:.0f} N in flight: it was not zeroed, or it drifts")
        over = self._settings.threshold_n
        return zero, zero + (
            max(LEAST_CONTACT_N, DEVIATIONS * float(flight.std())) if over is None else over
        )

    # --- the push -------------------------------------------------------------------------

    def _leaves(self, first: int, last: int, stop: int, level: float, band: float) -> int:
        """Where the force leaves quiet standing for good: the end of its last rest."""
        inside = np.abs(self._force[first:stop] - level) <= band
        starts, ends = _runs(inside)
        rests = ends[ends - starts >= self._samples(min(_REST_S, self._settings.quiet_s))]
        return first + int(rests[-1]) if len(rests) else last

    def _speed(self, force: Samples, level: float, mass: float) -> Samples:
        """Speed in m/s from rest, by the trapezoid rule."""
        net = (force - level) / (mass * self._rate)
        return np.concatenate(([0.0], np.cumsum((net[1:] + net[:-1]) / 2)))

    @staticmethod
    def _countermovement(speed: Samples, onset: int) -> tuple[int, int]:
        """The sample of the greatest speed down and of the lowest point; onset for neither."""
        lowest = int(np.argmin(speed))
        if speed[lowest] > _COUNTER_MPS:
            return onset, onset
        return onset + lowest, onset + lowest + int(np.argmax(speed[lowest:] >= 0))

    def _rises(self, start: int, stop: int) -> tuple[tuple[str, float, float], ...]:
        ends = ((ms, start + self._samples(ms / 1000)) for ms in RATE_WINDOWS_MS)
        return tuple(
            (
                f"0-{ms} ms",
                float(self._force[end] - self._force[start]),
                (end - start) / self._rate,
            )
            for ms, end in ends
            if end < stop
        )
