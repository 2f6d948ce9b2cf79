"""What the demo prints: the rota as a table, today's line, who is out, the month, and calls to paste."""

import datetime as dt
from typing import Any

from beats.conditions import conditions
from beats.emergency import NOT_AN_EMERGENCY_SERVICE
from beats.queries import zone_of
from beats.shared import words
from config.demo.book import book_of, lines_of, where_to_look
from config.demo.scenario import Scene
from safety.models import Alarm
from sessions.models import Rota, Turn
from sessions.monthly import CLASSES, Month
from sessions.queries import tally
from sessions.returns import season_return


def summary(scene: Scene, *, now: dt.datetime) -> dict[str, Any]:
    """The scene as plain data."""
    beat = scene.outing.beat
    today = conditions(beat, day=None, now=now)
    month = _month(scene, now=now)
    return {
        "fishery": scene.fishery.slug,
        "week": scene.week.isoformat(),
        "rotas": [_rota(rota) for rota in scene.rotas],
        "today": {
            "law": today.law.status.value,
            "why": today.law.reasons[0].text,
            "sunrise": _clock(today.light.sunrise_at, scene),
            "sunset": _clock(today.light.sunset_at, scene),
            "gauge_age_minutes": today.level.age_minutes if today.level else None,
            "line": today.summary,
            "beat": beat.name,
            "wind": today.wind.words,
            "fish": today.fish.sentence,
            "pools": [
                {
                    "pool": pool.name,
                    "depth_m": pool.flow.depth_m,
                    "velocity_mps": pool.flow.velocity_mps,
                    "wading": pool.wading.grade.value,
                    "tip": next((each.text for each in pool.tackle if each.what == "tip"), None),
                }
                for pool in today.pools
            ],
            "cautions": [caution.sentence for caution in today.cautions],
        },
        "out_now": [
            {
                "guest": outing.guest.name,
                "beat": outing.beat.name,
                "alone": outing.alone,
                "due_back": _clock(outing.due_back_at, scene),
                "standing": outing.standing,
            }
            for outing in tally(scene.fishery, now=now)
        ],
        "return": {"season": scene.year, **(_month_row(month) if month else {})},
        "book": book_of(scene, now=now),
    }


def _pools(facts: dict[str, Any]) -> list[str]:
    """The pools of the lone angler's beat: depth, speed, hazard of wading, tip."""
    today = facts["today"]
    told = [f"{today['beat']} now, reckoned from the gauge: no figure here sees the bed."]
    for pool in today["pools"]:
        flow = (
            "depth not known"
            if pool["depth_m"] is None
            else f"{pool['depth_m']:.1f} m, {pool['velocity_mps']:.1f} m/s"
        )
        told.append(f"  {pool['pool']}: {flow}; wading: {pool['wading']}; {pool['tip'] or 'tackle not reckoned'}")
    return told


def alarm_summary(alarm: Alarm | None) -> dict[str, Any] | None:
    if alarm is None:
        return None
    deliveries = alarm.deliveries.order_by("channel", "recipient")
    return {
        "id": alarm.pk,
        "guest": alarm.outing.guest.name,
        "raised_at": alarm.raised_at.isoformat(),
        "deliveries": [{"to": one.recipient, "by": one.channel, "state": one.state} for one in deliveries],
    }


def text(scene: Scene, facts: dict[str, Any]) -> str:
    """The same for a person to read."""
    lines = [f"{scene.fishery.name}, river {scene.fishery.river} (invented)", ""]
    for rota in facts["rotas"]:
        lines += [
            f"{rota['beat']}, week of {words.day(scene.week)}: {rota['status']}",
            *_table(rota["slots"], rota["rows"]),
            "",
        ]
    lines += [
        f"Today: {facts['today']['line']}",
        f"       {facts['today']['why']}",
        "",
        *_pools(facts),
        "",
        "Out now:",
    ]
    lines += [
        f"  {out['guest']}, {out['beat']}, {'ALONE' if out['alone'] else 'in company'}, "
        f"due back {out['due_back']}: {out['standing']}"
        for out in facts["out_now"]
    ]
    month = facts["return"]
    lines += ["", f"Return, {month.get('month', 'no month yet')} {month['season']}:"]
    if "rod_days" in month:
        lines += [f"  {month['rod_days']} rod-days", *(f"  {line}" for line in month["fish"])]
    lines += ["", *lines_of(scene, facts["book"])]
    return "\n".join([*lines, "", f"{NOT_AN_EMERGENCY_SERVICE} In danger ring 999 or 112."])


def calls(scene: Scene, tokens: dict[str, str], base: str) -> str:
    """Ready-to-paste calls for each of the three."""
    lower = scene.fishery.beats.order_by("order").last()
    water = f"{base}/fisheries/{scene.fishery.slug}"
    outing = f"{base}/outings/{scene.outing.pk}"
    due = (scene.outing.due_back_at + dt.timedelta(hours=2)).isoformat(timespec="seconds")
    body = f"""-H "Content-Type: application/json" -d '{{"due_back_at": "{due}"}}' """
    asked = {
        "guest": [f"{base}/turns/", f"{body}{outing}/time-back/", f"-X POST {outing}/check-out/"],
        "ghillie": [f"{water}/tally/", f"{base}/alarms/", f"'{base}/beats/{lower.pk}/conditions/?alone=true'"],
        "owner": [f"{base}/lets/", f"'{water}/returns/{scene.year}/?format=csv'"],
    }
    lines = [
        f"Read and try the API: {base}/docs/",
        f"Is the watch alive?   {base.removesuffix('/api/v1')}/health/watch",
    ]
    for role, urls in asked.items():
        lines += ["", f"The {role}: TOKEN={tokens[role]}"]
        lines += [f'  curl -H "Authorization: Bearer $TOKEN" {url}' for url in urls]
    lines += ["", "The season's book, with the owner's TOKEN:", *where_to_look(scene, base)]
    return "\n".join(lines)


def _rota(rota: Rota) -> dict[str, Any]:
    turns = rota.turns.select_related("part", "pool", "guest").order_by("day", "part__starts", "rod")
    rows: dict[str, dict[str, str]] = {}
    slots: dict[str, None] = {}
    for turn in turns:
        slot = f"{turn.day:%a %d} {turn.part.name}"
        slots.setdefault(slot)
        rows.setdefault(_who(turn), {})[slot] = turn.pool.name
    return {
        "beat": rota.beat.name,
        "status": rota.certificate["status"],
        "worth_by_rod": rota.certificate["worth_by_rod"],
        "slots": list(slots),
        "rows": rows,
    }


def _who(turn: Turn) -> str:
    return turn.guest.name if turn.guest else f"Rod {turn.rod}"


def _table(slots: list[str], rows: dict[str, dict[str, str]]) -> list[str]:
    """Days and parts down the page, rods across: what a ghillie would pin up."""
    first = max(len(slot) for slot in slots)
    widths = [max(len(who), *(len(pool) for pool in row.values())) for who, row in rows.items()]
    lines = [[" " * first, *(who.ljust(width) for who, width in zip(rows, widths, strict=True))]]
    for slot in slots:
        cells = [row.get(slot, "-").ljust(width) for row, width in zip(rows.values(), widths, strict=True)]
        lines.append([slot.ljust(first), *cells])
    return ["  ".join(line).rstrip() for line in lines]


def _month(scene: Scene, *, now: dt.datetime) -> Month | None:
    fished = [month for month in season_return(scene.fishery, scene.year, now=now).months if month.rod_days]
    return fished[-1] if fished else None


def _month_row(month: Month) -> dict[str, Any]:
    fish = [
        f"{CLASSES[kind]}, {fate}: {cell.number}, {cell.weight_kg} kg"
        for fate, kinds in month.cells.items()
        for kind, cell in kinds.items()
        if cell.number
    ]
    return {"month": month.name, "rod_days": month.rod_days, "fish": fish}


def _clock(at: dt.datetime | None, scene: Scene) -> str | None:
    return f"{at.astimezone(zone_of(scene.fishery)):%H:%M:%S}" if at else None
