"""What was reached and how sure it is, as plain data for the screen and the paper."""

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from beats.shared.phrases import say
from sessions.rotation import Goal, Problem, Step
from sessions.services.keeping_off import notes_on
from sessions.services.week import Week

BY_HAND = "turns pinned or barred by hand"
"""The engine's name for it in `bounds.py`."""

if TYPE_CHECKING:
    from sessions.rotation.answer import Answer


def certificate(week: Week, answer: "Answer") -> dict[str, Any]:
    """The whole certificate of a worked-out rota."""
    names = {rod.key: rod.name for rod in week.problem.rods}
    return {
        "status": "proven best" if answer.proven else "best found",
        "policy": week.problem.policy.value,
        "cut_short": answer.cut_short,
        "goals": [
            {
                "name": one.goal.value,
                "unit": unit(one.goal, week.problem),
                "value": shown(one.goal, one.value),
                "bound": shown(one.goal, one.bound),
                "gap": round(float(one.gap), 4),
                "proven": one.proven,
                "custom": shown(one.goal, answer.custom[one.goal]) if answer.custom else None,
            }
            for one in answer.reached
        ],
        "worth_by_rod": worth_lines(week, answer.steps),
        "second_visits": answer.repeats,
        "follows": [
            {"ahead": names[ahead], "behind": names[behind], "times": times}
            for (ahead, behind), times in sorted(answer.follows.items())
        ],
        "binding": [
            {"rule": _rule(rule, week), "worth_gained": round(float(gain), 3), "second_visits_saved": saved}
            for rule, gain, saved in answer.binding
        ],
        "closed_pools": closed_pools(week),
        "notes": [*week.notes, *notes_on(week, answer.steps)],
    }


def _rule(rule: str, week: Week) -> str:
    """A rule that costs the rota something. Turns that the conditions forbid were barred, by no hand."""
    if rule != BY_HAND or not week.forbidden:
        return rule
    by_hand = bool(week.problem.pinned or week.problem.barred)
    return f"{rule}, or forbidden by today's conditions" if by_hand else "turns forbidden by today's conditions"


def worth_lines(week: Week, steps: Iterable[Step]) -> list[dict[str, Any]]:
    """What each rod's turns are worth, per turn."""
    from sessions.rotation.scores import worth_by_rod  # noqa: PLC0415 - beside the engine, loaded only here

    worth = worth_by_rod(week.problem, steps)
    return [{"rod": rod.name, "worth_per_turn": round(float(worth[rod.key]), 3)} for rod in week.problem.rods]


def shown(goal: Goal, value: Fraction) -> float:
    """A goal's value as people read it: the worst-off rod's worth without its minus."""
    return round(float(-value if goal is Goal.WORST else value), 3)


UNITS = {
    Goal.CHANGES: say("turns"),
    Goal.REPEATS: say("visits"),
    Goal.WORST: say("worth a turn; more is better"),
    Goal.SPREAD: say("worth a turn"),
    Goal.FOLLOW: say("times more than once"),
    Goal.FIRST: say("share of a rod's turns"),
}


def unit(goal: Goal, problem: Problem) -> str:
    """What a goal's value is counted in; smaller is better unless it says so."""
    ways = say("tens of metres, all rods") if problem.measured else say("pools passed, all rods")
    return UNITS.get(goal, ways)


def closed_pools(week: Week) -> dict[str, list[str]]:
    closed: dict[str, set[str]] = {}
    for (*_, slug), reason in week.problem.closed.items():
        closed.setdefault(week.pools[slug].name, set()).add(reason)
    return {name: sorted(reasons) for name, reasons in sorted(closed.items())}


def moves(week: Week, before: list[Step], after: list[Step], *, why: str = "") -> list[dict[str, Any]]:
    """Who goes where instead, and why (for each its own reason, unless one is given): a line a turn."""
    was = {(step.rod, step.slot): step.pool for step in before}
    lines = []
    for step in after:
        former = was.get((step.rod, step.slot))
        if former not in (None, step.pool):
            lines.append(
                {
                    "day": step.day.isoformat(),
                    "part": step.part,
                    "rod": week.problem.rod[step.rod].name,
                    "from_pool": week.pools[former].name,
                    "to_pool": week.pools[step.pool].name,
                    "why": why or _why_moved(week, step, former),
                }
            )
    return lines


def _why_moved(week: Week, step: Step, former: str) -> str:
    problem = week.problem
    if reason := problem.closed.get((*step.slot, former)):
        return say("{pool} is closed: {reason}", pool=problem.place[former].name, reason=reason)
    if reason := week.forbidden.get(Step(*step.slot, step.rod, former)):
        return reason
    if Step(*step.slot, step.rod, former) in problem.barred:
        return say("kept off it by hand")
    if step in problem.pinned:
        return say("sent there by hand")
    return say("makes room for another rod, or keeps somebody from staying on one pool for two turns")
