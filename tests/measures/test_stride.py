"""Step frequency, force and stiffness against identities and a direct integration."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate

from pipeline.measures import stride
from pipeline.measures.spec import Array

G = 9.80665  # m/s², CGPM 1901 (second-hand)
CONTACTS = [(0.09, 0.13), (0.11, 0.12), (0.14, 0.09), (0.25, 0.0), (0.18, 0.05)]
MASS = 75.0
EACH = pytest.mark.parametrize(("contact", "flight"), CONTACTS)


def of(*values: float) -> Array:
    return np.array(values, dtype=float)


def peak(contact: float, flight: float) -> float:
    return float(stride.peak_vertical_force(of(contact), of(flight), of(MASS))[0])


def sunk(contact: float, flight: float) -> float:
    return float(stride.vertical_displacement(of(contact), of(flight))[0])


@EACH
def test_step_frequency_is_one_over_the_step(contact: float, flight: float) -> None:
    """Definition."""
    found = stride.step_frequency(of(contact), of(flight))[0]
    assert found * (contact + flight) == pytest.approx(1, rel=1e-15)


@EACH
def test_mean_force_times_contact_carries_the_weight_through_the_step(
    contact: float, flight: float
) -> None:
    """F̄ · tc = m g (tc + tf): exact from impulse (Morin et al. 2005, memory)."""
    mean = stride.mean_vertical_force(of(contact), of(flight))[0] * MASS * G
    assert mean * contact == pytest.approx(MASS * G * (contact + flight), rel=1e-14)
    per_kg = stride.vertical_impulse(of(contact), of(flight))[0]
    assert mean * contact / MASS == pytest.approx(per_kg, rel=1e-14)


@EACH
def test_the_half_sine_holds_the_whole_impulse(contact: float, flight: float) -> None:
    """∫ Fmax sin(π t / tc) dt over contact = m g (tc + tf), by scipy.integrate to 1e-9."""
    force = peak(contact, flight)
    area, _ = integrate.quad(
        lambda t: force * np.sin(np.pi * t / contact), 0, contact, epsabs=1e-12, epsrel=1e-12
    )
    assert area == pytest.approx(MASS * G * (contact + flight), rel=1e-9)


@EACH
def test_peak_force_is_pi_over_2_of_the_mean(contact: float, flight: float) -> None:
    """Mean of a half-sine is 2/π of its peak (calculus)."""
    mean = stride.mean_vertical_force(of(contact), of(flight))[0] * MASS * G
    assert peak(contact, flight) == pytest.approx(np.pi / 2 * mean, rel=1e-14)


@EACH
def test_the_displacement_is_that_of_a_direct_simulation(contact: float, flight: float) -> None:
    """z'' = F(t)/m − g from touch-down at −g tf/2, integrated twice; Δz within 1e-6 m."""
    force = peak(contact, flight)

    def motion(t: float, state: Array) -> list[float]:
        return [state[1], force / MASS * np.sin(np.pi * t / contact) - G]

    moments = np.linspace(0, contact, 2001)
    path = integrate.solve_ivp(
        motion, (0, contact), [0, -G * flight / 2], t_eval=moments, rtol=1e-11, atol=1e-13
    ).y
    assert -path[0].min() == pytest.approx(sunk(contact, flight), abs=1e-6)
    assert path[0, -1] == pytest.approx(0, abs=1e-9)  # leaves at the height it landed at
    assert path[1, -1] == pytest.approx(G * flight / 2, abs=1e-9)  # and at the speed, upwards


@EACH
def test_stiffness_is_peak_force_over_displacement_in_kn_per_m(
    contact: float, flight: float
) -> None:
    """Definition; 1 kN/m = 1000 N/m, so stiffness in N/m times Δz in m is the peak in N."""
    found = stride.vertical_stiffness(of(contact), of(flight), of(MASS))[0]
    assert found * 1000 * sunk(contact, flight) == pytest.approx(peak(contact, flight), rel=1e-13)


def test_stiffness_has_the_dimension_of_mass_over_time_squared() -> None:
    """Twice the times, a quarter of the stiffness; twice the mass, twice of it (dimensions)."""
    one = stride.vertical_stiffness(of(0.1), of(0.12), of(70))
    np.testing.assert_allclose(stride.vertical_stiffness(of(0.2), of(0.24), of(70)), one / 4)
    np.testing.assert_allclose(stride.vertical_stiffness(of(0.1), of(0.12), of(140)), one * 2)
    leg = stride.leg_stiffness(of(0.1), of(0.12), of(70), of(0.9), of(9))
    slow = stride.leg_stiffness(of(0.2), of(0.24), of(70), of(3.6), of(18))  # lengths go with t²
    np.testing.assert_allclose(slow, leg / 4)


def test_a_worked_sprint_step() -> None:
    """0.10 s and 0.12 s at 75 kg, 1.80 m, 9 m/s, by hand from the formulas (recomputed).

    Fmax = 75 · 9.80665 · π/2 · 2.2 = 2541.7 N; Δz = .03434 − .01226 = .02208 m; half the way .45 m
    under a leg of .954 m lowers it by .1128 m.
    """
    times = of(0.10), of(0.12), of(75)
    leg = stride.leg_length(of(1.80))
    assert leg[0] == pytest.approx(0.954)
    assert peak(0.10, 0.12) == pytest.approx(2541.7, abs=0.1)
    assert sunk(0.10, 0.12) == pytest.approx(0.02208, abs=5e-6)
    assert stride.vertical_stiffness(*times)[0] == pytest.approx(115.1, abs=0.1)
    assert stride.leg_stiffness(*times, leg, of(9))[0] == pytest.approx(18.84, abs=0.02)


def test_on_the_spot_the_leg_is_as_stiff_as_the_body() -> None:
    """v = 0: nothing is lowered by the leg's swing, kleg = kvert (limit of the formula)."""
    times = of(0.15), of(0.3), of(75)
    found = stride.leg_stiffness(*times, of(0.95), of(0))
    np.testing.assert_allclose(found, stride.vertical_stiffness(*times), rtol=1e-12)


def test_no_leg_reaches_over_more_than_its_length() -> None:
    """v tc / 2 above L has no triangle."""
    found = stride.leg_stiffness(of(0.2, 0.2), of(0.1, 0.1), of(75, 75), of(0.9, 0.9), of(9.1, 8.9))
    assert np.isnan(found).tolist() == [True, False]


FUNCTIONS: list[tuple[Callable[..., Array], tuple[float, ...]]] = [
    (stride.step_frequency, (0.1, 0.12)),
    (stride.mean_vertical_force, (0.1, 0.12)),
    (stride.vertical_impulse, (0.1, 0.12)),
    (stride.leg_length, (1.8,)),
    (stride.peak_vertical_force, (0.1, 0.12, 75)),
    (stride.vertical_displacement, (0.1, 0.12)),
    (stride.vertical_stiffness, (0.1, 0.12, 75)),
    (stride.leg_stiffness, (0.1, 0.12, 75, 0.95, 9)),
]
ALL = pytest.mark.parametrize(("function", "inputs"), FUNCTIONS)


@ALL
def test_nothing_in_gives_nothing_out(
    function: Callable[..., Array], inputs: tuple[float, ...]
) -> None:
    assert np.isfinite(function(*map(of, inputs))).all()
    for place in range(len(inputs)):
        missing = [*inputs[:place], np.nan, *inputs[place + 1 :]]
        assert np.isnan(function(*map(of, missing))).all()


@ALL
def test_what_cannot_be_gives_nothing(
    function: Callable[..., Array], inputs: tuple[float, ...]
) -> None:
    for place in range(len(inputs)):
        negative = [*inputs[:place], -inputs[place], *inputs[place + 1 :]]
        assert np.isnan(function(*map(of, negative))).all()
    assert np.isnan(function(*map(of, (0.0, *inputs[1:])))).all()


@ALL
def test_arrays_give_what_one_by_one_gives(
    function: Callable[..., Array], inputs: tuple[float, ...]
) -> None:
    chance = np.random.default_rng(3)
    table = np.array(inputs) * chance.uniform(0.8, 1.2, (30, len(inputs)))
    found = function(*table.T)
    assert found.shape == (30,)
    np.testing.assert_array_equal(found, [float(function(*map(of, row))[0]) for row in table])
