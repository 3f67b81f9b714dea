"""Force traces with closed-form answers: pushes of half-sines between quiet stretches."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from pipeline.measures.spec import Array

G = 9.80665


@dataclass(frozen=True)
class Jump:
    """Quiet, a dip and a push (half-sines of given net impulse), flight, a landing, quiet.

    Net impulse of a half-sine of top A over T is 2 A T / pi; take-off speed is their sum over m.
    """

    mass: float = 70.0
    dip_s: float = 0.4
    dip_speed: float = -0.9
    push_s: float = 0.3
    speed: float = 2.5
    quiet_s: float = 1.5
    after_s: float = 1.6
    landing_s: float = 0.1

    @property
    def flight_s(self) -> float:
        return 2 * self.speed / G

    @property
    def impulse(self) -> float:
        return self.mass * self.speed

    def force(self, rate: float, delay: float = 0.0) -> Array:
        """Vertical force in N at ``rate`` Hz (samples,)."""
        ends = np.cumsum(
            [self.quiet_s + delay, self.dip_s, self.push_s, self.flight_s, self.landing_s]
        )
        t = np.arange(round((ends[-1] + self.after_s) * rate)) / rate
        force = np.full(len(t), self.mass * G)
        for start, end, gained in (
            (ends[0], ends[1], self.dip_speed),
            (ends[1], ends[2], self.speed - self.dip_speed),
            (ends[3], ends[4], self.speed),
        ):
            inside = (t > start) & (t < end)
            length = end - start
            top = self.mass * gained * pi / (2 * length)
            force[inside] += top * np.sin(pi * (t[inside] - start) / length)
        force[(t >= ends[2]) & (t <= ends[3])] = 0.0
        return force


def drop(mass: float, fall: float, contact: float, flight: float, rate: float) -> Array:
    """A drop jump: empty plate, half-sine contact with the exact impulse, flight, landing, quiet.

    ``fall`` is the height fallen in m; contact and flight in s.
    """
    speed = G * flight / 2
    gained = speed + np.sqrt(2 * G * fall)
    ends = np.cumsum([0.5, contact, flight, 0.12])
    t = np.arange(round((ends[-1] + 1.6) * rate)) / rate
    force = np.zeros(len(t))
    touching = (t > 0.5) & (t < ends[1])
    top = (mass * gained + mass * G * contact) * pi / (2 * contact)
    force[touching] = top * np.sin(pi * (t[touching] - 0.5) / contact)
    landing = (t > ends[2]) & (t < ends[3])
    force[landing] = mass * G + mass * speed * pi / (2 * 0.12) * np.sin(
        pi * (t[landing] - ends[2]) / 0.12
    )
    force[t >= ends[3]] = mass * G
    return force


def pull(mass: float, strength: float, rate: float, rise_s: float = 0.5) -> Array:
    """Quiet standing for 1.5 s, then a linear rise of ``strength`` N in ``rise_s``, held 1.5 s."""
    t = np.arange(round((3.0 + rise_s) * rate)) / rate
    return mass * G + strength * np.clip((t - 1.5) / rise_s, 0.0, 1.0)
