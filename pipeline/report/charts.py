"""Drawings. Numbers come computed; seaborn and matplotlib only draw them."""

from __future__ import annotations

import io
import itertools
import math
import re
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl
import numpy as np
import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from pipeline.report.blocks import Chart

INK, MUTED, FAINT, ACCENT = "#1f2933", "#5f6b76", "#c9d0d6", "#0b5d7a"
"""Dark on white; shapes and words tell things apart, colour only helps."""

_MM_PER_INCH = 25.4
_DASHES = ((0, (5, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)), (0, (3, 3)))
WIDTH_MM = 170.0
_STYLE: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 8.5,
    "axes.edgecolor": MUTED,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": FAINT,
    "grid.linewidth": 0.5,
    "text.color": INK,
    "xtick.color": MUTED,
    "ytick.color": MUTED,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "path.simplify": False,
    "text.parse_math": False,
}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A mean speed over a stretch of the track; metres and m/s."""

    from_m: float
    to_m: float
    speed: float


@dataclass(frozen=True, slots=True)
class Series:
    """Speeds of one run, with the words of its legend entry."""

    label: str
    stretches: Sequence[Stretch]
    current: bool


def speed_by_distance(
    name: str,
    series: Sequence[Series],
    phases: Sequence[tuple[str, float, float]],
    zones: Sequence[tuple[float, float]],
    limits: tuple[float, float],
    words: dict[str, str],
) -> Chart:
    """Mean speed between gates along the run, earlier days behind, phase ends marked.

    Args:
        name: unique on the page; it keeps the drawing's inner ids apart from others'.
        series: earliest first, the current day last.
        phases: name, from, to in metres.
        zones: stretches to shade, from and to in metres.
        limits: of the speed axis in m/s, from the battery.
        words: ``x``, ``y``, ``caption``, ``alt``.
    """

    def draw(figure: Figure) -> None:
        axes = figure.add_axes((0.07, 0.16, 0.90, 0.81))
        end = max(s.to_m for one in series for s in one.stretches)
        for from_m, to_m in zones:
            axes.axvspan(from_m, to_m, color=FAINT, alpha=0.45, linewidth=0)
        for _, _, to_m in phases[:-1]:
            axes.axvline(to_m, color=MUTED, linewidth=0.8, linestyle=(0, (3, 3)))
        for phase, from_m, to_m in phases:
            axes.text(
                (from_m + to_m) / 2, limits[1], _wrapped(phase, to_m - from_m, end),
                ha="center", va="top", fontsize=7.5, color=MUTED,
            )  # fmt: skip
        earlier = itertools.cycle(_DASHES)
        for one in series:
            _steps(axes, one, "-" if one.current else next(earlier))
        axes.set(xlim=(0, end), ylim=limits, xlabel=words["x"], ylabel=words["y"])
        axes.set_xticks(sorted({0.0, *(s.to_m for s in series[-1].stretches)}))
        axes.grid(visible=False, axis="x")
        axes.legend(loc="lower right", frameon=True, framealpha=1, edgecolor="white", fontsize=8)

    return _chart(name, draw, words["caption"], words["alt"], height_mm=70)


def _wrapped(phase: str, length: float, whole: float) -> str:
    """A phase's name on as many lines as its stretch is narrow."""
    narrow = 0.22
    return phase.replace(" ", "\n") if length / whole < narrow else phase


def _steps(axes: Axes, one: Series, line: Any) -> None:
    """A run as level lines over each stretch, joined; the current day is bold with marks."""
    x = [v for s in one.stretches for v in (s.from_m, s.to_m)]
    y = [v for s in one.stretches for v in (s.speed, s.speed)]
    sns.lineplot(
        x=x, y=y, ax=axes, sort=False, estimator=None, errorbar=None, label=one.label,
        color=ACCENT if one.current else MUTED, linewidth=2.0 if one.current else 1.0,
        linestyle=line,
    )  # fmt: skip
    if one.current:
        middles = [(s.from_m + s.to_m) / 2 for s in one.stretches]
        sns.scatterplot(
            x=middles, y=[s.speed for s in one.stretches], ax=axes, color=ACCENT, s=22, legend=False
        )


def contact_and_impulse(
    name: str, zones: Sequence[tuple[str, float, float]], words: dict[str, str]
) -> Chart:
    """Ground contact and the impulse of a step, zone by zone, side by side.

    Args:
        name: unique on the page.
        zones: the zone's words, contact in s, impulse in N·s/kg.
        words: ``contact``, ``impulse`` (the axes), ``caption``, ``alt``.
    """
    labels = [zone for zone, _, _ in zones]

    def draw(figure: Figure) -> None:
        edges = {"left": 0.08, "right": 0.99, "top": 0.93, "bottom": 0.16, "wspace": 0.22}
        panes = figure.subplots(1, 2, gridspec_kw=edges)
        for axes, values, title in zip(
            panes,
            ([c for _, c, _ in zones], [i for _, _, i in zones]),
            (words["contact"], words["impulse"]),
            strict=True,
        ):
            sns.barplot(x=labels, y=values, ax=axes, color=ACCENT, errorbar=None, width=0.55)
            axes.set(xlabel="", ylabel=title, ylim=(0, max(values) * 1.18))
            for place, value in enumerate(values):
                axes.annotate(
                    f"{value:.3g}", (place, value), xytext=(0, 3), textcoords="offset points",
                    ha="center", fontsize=8,
                )  # fmt: skip
            axes.grid(visible=False, axis="x")

    return _chart(name, draw, words["caption"], words["alt"], height_mm=55)


@dataclass(frozen=True, slots=True)
class Cost:
    """What a phase costs at the finish in s, with its interval.

    ``label`` stands at the axis, ``shown`` is the word at the mark, ``marker`` matplotlib's name
    of its shape; a found one is filled and its word bold.
    """

    label: str
    cost: float
    low: float
    high: float
    shown: str
    marker: str
    found: bool


def cost_by_phase(name: str, costs: Sequence[Cost], words: dict[str, str]) -> Chart:
    """The cost of each phase at the finish, first phase on top; nought is what is usual.

    Args:
        name: unique on the page.
        costs: in the order of the run.
        words: ``x``, ``caption``, ``alt``.
    """

    def draw(figure: Figure) -> None:
        margin = 9 / (13 * len(costs) + 14)
        axes = figure.add_axes((0.2, margin + 0.05, 0.78, 0.93 - margin))
        places = range(len(costs))
        axes.axvline(0, color=INK, linewidth=1.0)
        axes.hlines(places, [c.low for c in costs], [c.high for c in costs], color=MUTED, lw=1.4)
        for place, one in zip(places, costs, strict=True):
            sns.scatterplot(
                x=[one.cost], y=[place], ax=axes, marker=one.marker, s=64, zorder=3, legend=False,
                color=ACCENT if one.found else "white", edgecolor=ACCENT, linewidth=1.3,
            )  # fmt: skip
            axes.annotate(
                one.shown, (one.high, place), xytext=(6, 0), textcoords="offset points",
                va="center", fontsize=8, fontweight="bold" if one.found else "normal",
            )  # fmt: skip
        low, high = min(0.0, *(c.low for c in costs)), max(0.0, *(c.high for c in costs))
        wide = high - low
        axes.set(xlabel=words["x"], ylabel="", xlim=(low - 0.05 * wide, high + 0.3 * wide))
        axes.set_yticks(list(places), [one.label for one in costs])
        axes.set_ylim(len(costs) - 0.5, -0.5)
        axes.grid(visible=False, axis="y")

    return _chart(name, draw, words["caption"], words["alt"], height_mm=13 * len(costs) + 14)


@dataclass(frozen=True, slots=True)
class DropMark:
    """Reactive strength from one drop height (cm), with the words written at its mark."""

    drop_cm: float
    strength: float
    shown: str


@dataclass(frozen=True, slots=True)
class DropCurve:
    """One day's marks, lowest box first."""

    label: str
    marks: Sequence[DropMark]
    current: bool


def strength_by_drop(name: str, curves: Sequence[DropCurve], words: dict[str, str]) -> Chart:
    """Reactive strength by drop height; the day's height and contact above its marks.

    Args:
        name: unique on the page.
        curves: the last comparable day first, the current one last.
        words: ``x``, ``y``, ``caption``, ``alt``.
    """

    def draw(figure: Figure) -> None:
        axes = figure.add_axes((0.08, 0.17, 0.90, 0.73))
        drops = sorted({m.drop_cm for one in curves for m in one.marks})
        for one in curves:
            sns.lineplot(
                x=[m.drop_cm for m in one.marks], y=[m.strength for m in one.marks], ax=axes,
                color=ACCENT if one.current else MUTED, linewidth=2.0 if one.current else 1.2,
                linestyle="-" if one.current else _DASHES[0], marker="o" if one.current else "s",
                markersize=7 if one.current else 5, estimator=None, errorbar=None, label=one.label,
            )  # fmt: skip
        for drop in drops:
            here = [(m, one) for one in curves for m in one.marks if m.drop_cm == drop]
            here.sort(key=lambda pair: pair[0].strength)
            for place, (mark, one) in enumerate(here):
                above = place == len(here) - 1
                axes.annotate(
                    mark.shown, (drop, mark.strength), xytext=(0, 6 if above else -6),
                    textcoords="offset points", ha="center", va="bottom" if above else "top",
                    fontsize=7.5, color=INK if one.current else MUTED,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
                )  # fmt: skip
        values = [m.strength for one in curves for m in one.marks]
        air = max((max(values) - min(values)) * 0.55, max(values) * 0.12)
        axes.set(ylim=(min(values) - air, max(values) + air), xlabel=words["x"], ylabel=words["y"])
        side = (drops[-1] - drops[0]) * 0.12 or 5.0
        axes.set_xlim(drops[0] - side, drops[-1] + side)
        axes.set_xticks(drops)
        axes.grid(visible=False, axis="x")
        axes.legend(
            loc="lower left", bbox_to_anchor=(0, 1), ncols=len(curves), frameon=False, fontsize=8
        )

    return _chart(name, draw, words["caption"], words["alt"], height_mm=70)


@dataclass(frozen=True, slots=True)
class Force:
    """A force trace: times in s, force in body weights, phases (word, from, to), marked times."""

    times: Sequence[float]
    force: Sequence[float]
    phases: Sequence[tuple[str, float, float]]
    marks: Sequence[float]


def force_by_time(name: str, trace: Force, words: dict[str, str]) -> Chart:
    """Vertical force over time, body weight as a level line, phases parted and named.

    Args:
        name: unique on the page.
        trace: what to draw.
        words: ``x``, ``y``, ``weight`` (the level line), ``caption``, ``alt``.
    """
    top = max(*trace.force, 1.0)
    room = 0.24 * top if trace.phases else 0.06 * top

    def draw(figure: Figure) -> None:
        axes = figure.add_axes((0.07, 0.16, 0.92, 0.81))
        axes.axhline(1, color=MUTED, linewidth=0.9, linestyle=_DASHES[0])
        for at in sorted({at for _, *ends in trace.phases for at in ends}):
            axes.axvline(at, color=MUTED, linewidth=0.8, linestyle=_DASHES[1])
        for place, (word, begin, end) in enumerate(trace.phases):
            axes.text(
                (begin + end) / 2, top + room * (0.94 if place % 2 else 0.52), word,
                ha="center", va="top", fontsize=7.5, color=INK,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
            )  # fmt: skip
        sns.lineplot(
            x=trace.times, y=trace.force, ax=axes, sort=False, estimator=None, errorbar=None,
            color=ACCENT, linewidth=1.4, legend=False,
        )  # fmt: skip
        level = np.interp(trace.marks, trace.times, trace.force)
        sns.scatterplot(x=trace.marks, y=level, ax=axes, color=INK, s=24, zorder=3, legend=False)
        axes.annotate(
            words["weight"], (trace.times[-1], 1), xytext=(-2, 3), textcoords="offset points",
            ha="right", fontsize=7.5, color=MUTED,
        )  # fmt: skip
        axes.set(
            xlim=(trace.times[0], trace.times[-1]), ylim=(min(0, *trace.force), top + room),
            xlabel=words["x"], ylabel=words["y"],
        )  # fmt: skip
        axes.grid(visible=False, axis="x")

    return _chart(name, draw, words["caption"], words["alt"], height_mm=62)


@dataclass(frozen=True, slots=True)
class Point:
    """One testing day on a trend: its date, the value, its words, its run of comparable days.

    ``reach`` is how far the value may lie from the athlete's level, ``fitted`` the trend's value
    on that day; NaN where there is none.
    """

    date: str
    value: float
    shown: str
    series: int
    reach: float = math.nan
    fitted: float = math.nan


@dataclass(frozen=True, slots=True)
class Panel:
    """One measure over the testing days, oldest first; ``note`` is the trend in words."""

    title: str
    points: Sequence[Point]
    note: str
    alt: str


def trends(name: str, panels: Sequence[Panel], caption: str, alt: str) -> Chart:
    """Measures over the testing days, a panel each; a line breaks where days differ in kind.

    Args:
        name: unique on the page.
        panels: drawn two in a row.
        caption: the words under the drawing.
        alt: the words instead of it.
    """
    columns = 2
    rows = -(-len(panels) // columns)

    def draw(figure: Figure) -> None:
        edges = {"left": 0.06, "right": 0.99, "wspace": 0.16, "hspace": 0.95}
        edges |= {"top": 1 - 0.25 / rows, "bottom": 0.29 / rows}
        grid = figure.subplots(rows, columns, squeeze=False, gridspec_kw=edges).ravel()
        for axes, panel in zip(grid, panels, strict=False):
            _trend(axes, panel)
        for axes in grid[len(panels) :]:
            axes.set_axis_off()

    return _chart(name, draw, caption, alt, height_mm=49 * rows)


def _trend(axes: Axes, panel: Panel) -> None:
    points = panel.points
    places = range(len(points))
    for number in sorted({p.series for p in points}):
        own = [i for i in places if points[i].series == number]
        sns.lineplot(
            x=own, y=[points[i].value for i in own], ax=axes, color=ACCENT, linewidth=1.6,
            estimator=None, errorbar=None, legend=False,
        )  # fmt: skip
    known = [i for i in places if math.isfinite(points[i].reach)]
    axes.errorbar(
        known, [points[i].value for i in known], yerr=[points[i].reach for i in known],
        fmt="none", ecolor=MUTED, elinewidth=0.9, capsize=2.5, zorder=1,
    )  # fmt: skip
    fitted = [i for i in places if math.isfinite(points[i].fitted)]
    axes.plot(
        fitted, [points[i].fitted for i in fitted], color=INK, linewidth=1.0, linestyle=(0, (4, 2))
    )
    sns.scatterplot(x=list(places), y=[p.value for p in points], ax=axes, color=ACCENT, s=30)
    for place, point in zip(places, points, strict=True):
        axes.annotate(
            point.shown, (place, point.value), xytext=(6, 4), textcoords="offset points",
            ha="left", fontsize=7.5,
        )  # fmt: skip
        if place and point.series != points[place - 1].series:
            axes.axvline(place - 0.5, color=MUTED, linewidth=0.8, linestyle=(0, (1, 2)))
    axes.set_title(panel.title, loc="left", fontsize=8.5, fontweight="bold")
    axes.set_xticks(list(places), [_two_lines(p.date) for p in points], fontsize=7)
    axes.set_xlim(-0.5, len(points) - 0.3)
    axes.set_ylim(_margin([v for p in points for v in _reached(p)]))
    axes.set(ylabel="")
    axes.set_xlabel(panel.note, fontsize=7, loc="left", color=INK)
    axes.tick_params(axis="y", labelsize=7)
    axes.grid(visible=False, axis="x")


def _reached(point: Point) -> tuple[float, float]:
    """The lowest and highest a point draws."""
    reach = point.reach if math.isfinite(point.reach) else 0.0
    return point.value - reach, point.value + reach


@dataclass(frozen=True, slots=True)
class Strip:
    """The same people on two days, in the unit of ``title``; pairs of then and now."""

    title: str
    pairs: Sequence[tuple[float, float]]


def then_and_now(name: str, strips: Sequence[Strip], words: dict[str, str]) -> Chart:
    """The same people then and now, a panel each: a line for each of them, a box for all.

    Args:
        name: unique on the page.
        strips: drawn three in a row.
        words: ``then``, ``now`` (below the two boxes), ``caption``, ``alt``.
    """
    columns = 3
    rows = -(-len(strips) // columns)

    def draw(figure: Figure) -> None:
        edges = {"left": 0.06, "right": 0.99, "wspace": 0.26, "hspace": 0.42}
        edges |= {"top": 1 - 0.17 / rows, "bottom": 0.11 / rows}
        grid = figure.subplots(rows, columns, squeeze=False, gridspec_kw=edges).ravel()
        for axes, strip in zip(grid, strips, strict=False):
            _strip(axes, strip, (words["then"], words["now"]))
        for axes in grid[len(strips) :]:
            axes.set_axis_off()

    return _chart(name, draw, words["caption"], words["alt"], height_mm=52 * rows)


_BOX: Any = {
    name: {"color": ACCENT, "linewidth": 1.2}
    for name in ("boxprops", "whiskerprops", "capprops", "medianprops")
}
_TITLE = 30
"""Letters of a line of a panel's title."""


def _strip(axes: Axes, strip: Strip, sides: tuple[str, str]) -> None:
    for pair in strip.pairs:
        axes.plot((0, 1), pair, color=MUTED, linewidth=0.7, marker="o", markersize=2.2, alpha=0.75)
    for place, at in enumerate((-0.28, 1.28)):  # beside the dots, which they would hide
        axes.boxplot(
            [pair[place] for pair in strip.pairs], positions=[at], widths=0.26, whis=(0, 100),
            manage_ticks=False, **_BOX,
        )  # fmt: skip
    title = "\n".join(textwrap.wrap(strip.title, _TITLE))
    axes.set_title(title, loc="left", fontsize=7.5, fontweight="bold")
    axes.set(xlabel="", ylabel="", xlim=(-0.6, 1.6))
    axes.set_xticks([-0.14, 1.14], sides, fontsize=7.5)
    axes.tick_params(axis="y", labelsize=7)
    axes.grid(visible=False, axis="x")


def _two_lines(date: str) -> str:
    """A date with its year below."""
    day, _, year = date.rpartition(" ")
    return f"{day}\n{year}"


def _margin(values: Sequence[float]) -> tuple[float, float]:
    """Limits that leave air around the values, also when all are equal."""
    low, high = min(values), max(values)
    air = max((high - low) * 0.35, abs(high) * 0.06) or 1.0
    return low - air, high + air


def _chart(
    name: str, draw: Callable[[Figure], None], caption: str, alt: str, *, height_mm: float
) -> Chart:
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(_STYLE)
        mpl.rcParams["svg.hashsalt"] = name
        size = (WIDTH_MM / _MM_PER_INCH, height_mm / _MM_PER_INCH)
        figure = Figure(figsize=size, dpi=100)  # no layout engine: it would draw everything twice
        FigureCanvasSVG(figure)
        draw(figure)
        outlined, lettered = (_svg(figure, name, fonttype) for fonttype in ("path", "none"))
    return Chart(caption, alt, outlined, lettered, WIDTH_MM)


def _svg(figure: Figure, name: str, fonttype: str) -> str:
    buffer = io.StringIO()
    with mpl.rc_context({"svg.fonttype": fonttype}):
        figure.savefig(
            buffer,
            format="svg",
            metadata={"Date": None, "Creator": None, "Format": None, "Type": None},
        )
    return _own_ids(buffer.getvalue()[buffer.getvalue().index("<svg") :], name)


def _own_ids(svg: str, name: str) -> str:
    """Prefix every inner id, so that two drawings in one page cannot clip each other."""
    prefix = re.sub(r"[^A-Za-z0-9]+", "-", name)
    svg = re.sub(r'\bid="([^"]+)"', rf'id="{prefix}-\1"', svg)
    svg = re.sub(r'href="#([^"]+)"', rf'href="#{prefix}-\1"', svg)
    return re.sub(r"url\(#([^)]+)\)", rf"url(#{prefix}-\1)", svg)
