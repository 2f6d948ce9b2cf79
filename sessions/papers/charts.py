"""A season in pictures, as SVG: weeks beside the five seasons before, catch by level, pools side by side."""

import io

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from sessions.seasons import Statistics
from sessions.statistics.groups import Group

INK, PALE, DOT = "#1f4e5f", "#c9d8dc", "#b5532a"
MOST = 15
STYLE = {"svg.hashsalt": "rodtally", "svg.fonttype": "none", "font.size": 9}
NO_PROMISE = "What the book shows. Never a promise of fish."


def picture(made: Statistics, of: str, *, water: str) -> bytes:
    """One of weeks, level, pools. The same bytes for the same figures; text stays text."""
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(8, 4.2), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        {"weeks": _weeks, "level": _levels, "pools": _pools}[of](axes, made)
        _title(axes, f"{water}, {made.season}: {made.species.replace('_', ' ')}")
        axes.spines[["top", "right"]].set_visible(False)
        axes.annotate(NO_PROMISE, (1, -0.16), xycoords="axes fraction", ha="right", fontsize=7, color="#555555")
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def _title(axes, text: str) -> None:
    axes.set_title(text, loc="left", parse_math=False)


def _weeks(axes, made: Statistics) -> None:
    known = [each for each in made.weeks if each.past.rate is not None]
    weeks = [each.week for each in known]
    axes.fill_between(
        weeks, [each.past.low for each in known], [each.past.high for each in known], color=PALE, step="mid",
        label="five seasons before, 95 % limits",
    )  # fmt: skip
    axes.step(weeks, [each.past.rate for each in known], where="mid", color=INK, label="five seasons before")
    here = [each for each in made.weeks if each.season.rate is not None]
    rates = [each.season.rate for each in here]
    below = [each.season.rate - each.season.low for each in here]
    above = [each.season.high - each.season.rate for each in here]
    axes.errorbar(
        [each.week for each in here], rates, yerr=[below, above], fmt="o", color=DOT, capsize=2,
        label=f"{made.season}, 95 % limits",
    )  # fmt: skip
    axes.set_xlabel("week of the year")
    axes.set_ylabel("fish per rod-day")
    axes.set_ylim(bottom=0)
    axes.legend(frameon=False, fontsize=8)


def _levels(axes, made: Statistics) -> None:
    bars = sorted((each for each in made.by_level if each.name[0] in "-0123456789"), key=_edge)
    _bars(axes, bars, "level on the gauge")


def _edge(group: Group) -> float:
    return float(group.name.split(" ")[0])


def _pools(axes, made: Statistics) -> None:
    _bars(axes, made.by_pool[:MOST], "pool")


def _bars(axes, bars: list[Group], what: str) -> None:
    fish = [each.fish for each in bars]
    error = [[each.fish - each.low for each in bars], [each.high - each.fish for each in bars]]
    axes.bar(range(len(bars)), fish, yerr=error, color=PALE, edgecolor=INK, capsize=3)
    axes.set_xticks(range(len(bars)), [each.name for each in bars], rotation=30, ha="right", parse_math=False)
    axes.set_xlabel(what)
    axes.set_ylabel("fish, with 95 % limits")
