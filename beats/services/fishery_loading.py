"""A fishery file into the database, and back."""

import datetime as dt
from dataclasses import dataclass, field

from django.db import models, transaction
from django.db.models import ProtectedError

from beats.audit import record
from beats.fishery_faults import Fault, FaultyFishery
from beats.fishery_file import (
    BeatTable,
    FisheryFile,
    FisheryTable,
    GaugeTable,
    GradeTable,
    KeeperTable,
    PartTable,
    PoolTable,
    RuleTable,
    canonical,
)
from beats.fishery_watch import table_of
from beats.models import Fishery, FisheryRule, Membership, User
from beats.objections import WaterChange, objections, policy_faults
from beats.services.polling import UNPOLLED
from beats.shared.refusals import Refusal

OF_THE_WATCH = {"watch_policy", "contact_minutes", "warn_minutes", "grace_minutes", "lone_grace_minutes"}


class WouldOrphan(Refusal):
    """The new file takes away water that somebody has booked or fished."""

    code = "would-orphan"
    title = "Water in use"


@dataclass
class Loaded:
    """What loading did: a line for each thing added, changed or taken away."""

    fishery: Fishery
    changes: list[str] = field(default_factory=list)


@transaction.atomic
def load_fishery(file: FisheryFile, *, by: User | None, now: dt.datetime) -> Loaded:
    """Make the database say what the file says, matching by slug (keepers by e-mail).

    Loading the same file again changes nothing. Raises WouldOrphan, and changes nothing, when a
    booked or fished pool, beat, rod or part of the day would go; FaultyFishery for a ladder of alarms
    that would leave somebody untold.
    """
    _judge_watches(file)
    fishery, changes = _upsert(Fishery.objects, file.fishery, "slug", {})
    loaded = Loaded(fishery, changes)
    _ask_first(fishery, file, now)
    try:
        _fill(loaded, file)
    except ProtectedError as error:
        kept = ", ".join(sorted({str(row) for row in error.protected_objects}))[:300]
        raise WouldOrphan(f"Something still refers to the water this file takes away: {kept}.") from error
    if loaded.changes:
        record(
            "load fishery",
            fishery,
            by=by,
            now=now,
            fishery=fishery,
            after={"changes": "; ".join(loaded.changes)},
        )
    return loaded


def fishery_file(fishery: Fishery) -> FisheryFile:
    """The fishery as a file, in the order the file is always written."""
    keepers = fishery.memberships.filter(role__in=Membership.KEEPERS).select_related("user")
    return canonical(
        FisheryFile(
            fishery=_table(FisheryTable, fishery, phone=fishery.phone or None),
            grades=[_table(GradeTable, row) for row in fishery.grades.all()],
            rules=[_table(RuleTable, row) for row in fishery.rules.all()],
            parts=[_table(PartTable, row) for row in fishery.parts.all()],
            keepers=[_table(KeeperTable, member.user, role=member.role) for member in keepers],
            gauges=[_table(GaugeTable, row) for row in fishery.gauges.all()],
            beats=[
                _table(
                    BeatTable,
                    beat,
                    gauge=beat.gauge.slug if beat.gauge else None,
                    watch=table_of(beat.watch_policy),
                    pools=[_table(PoolTable, pool) for pool in beat.pools.all()],
                )
                for beat in fishery.beats.select_related("gauge").prefetch_related("pools")
            ],
        )
    )


def _fill(loaded: Loaded, file: FisheryFile) -> None:
    fishery, changes = loaded.fishery, loaded.changes
    changes += _sync(fishery.grades, file.grades, "from_on")
    changes += _replace_rules(fishery, file)
    changes += _sync(fishery.parts, file.parts, "slug")
    changes += _keepers(fishery, file)
    feeds = _feeds(fishery)
    changes += _sync(fishery.gauges, file.gauges, "slug", remove=False)
    anew = [slug for slug, feed in _feeds(fishery).items() if feeds.get(slug, feed) != feed]
    fishery.gauges.filter(slug__in=anew).update(**UNPOLLED)
    gauges = {gauge.slug: gauge for gauge in fishery.gauges.all()}
    for table in file.beats:
        gauge = gauges[table.gauge] if table.gauge else None
        watch = {"watch_policy": table.watch.policy()} if table.watch else {}
        beat, lines = _upsert(fishery.beats, table, "slug", {"gauge": gauge} | watch)
        changes += lines
        changes += _sync(beat.pools, table.pools, "slug", where=f" of {beat.slug}")
    changes += _remove(fishery.beats, {table.slug for table in file.beats}, "slug")
    changes += _remove(fishery.gauges, {table.slug for table in file.gauges}, "slug")


def _judge_watches(file: FisheryFile) -> None:
    faults = [
        Fault(("beats", n, "watch"), f"{table.name}: {text}")
        for n, table in enumerate(file.beats) if table.watch
        for text in policy_faults(table.watch.policy())
    ]  # fmt: skip
    if faults:
        raise FaultyFishery(faults)


def _feeds(fishery: Fishery) -> dict[str, list]:
    rows = fishery.gauges.values_list("slug", "feed_kind", "feed_url", "feed_zone", "feed_unit")
    return {slug: feed for slug, *feed in rows}


def _ask_first(fishery: Fishery, file: FisheryFile, now: dt.datetime) -> None:
    tables = {table.slug: table for table in file.beats}
    pools = {(table.slug, pool.slug) for table in file.beats for pool in table.pools}
    beats = list(fishery.beats.prefetch_related("pools"))
    kept_parts = {table.slug for table in file.parts}
    change = WaterChange(
        now=now,
        beats=tuple(beat for beat in beats if beat.slug not in tables),
        pools=tuple(pool for beat in beats for pool in beat.pools.all() if (beat.slug, pool.slug) not in pools),
        parts=tuple(part for part in fishery.parts.all() if part.slug not in kept_parts),
        fewer_rods={
            beat: tables[beat.slug].rods
            for beat in beats
            if beat.slug in tables and tables[beat.slug].rods < beat.rods
        },
    )
    if against := objections(change):
        raise WouldOrphan("Nothing was changed. " + " ".join(against))


def _replace_rules(fishery: Fishery, file: FisheryFile) -> list[str]:
    """Rules have no name to match by: when they differ at all they are written anew."""
    have = [_table(RuleTable, row) for row in fishery.rules.order_by("start", "end", "status", "reason")]
    if have == file.rules:
        return []
    fishery.rules.all().delete()
    FisheryRule.objects.bulk_create(FisheryRule(fishery=fishery, **table.model_dump()) for table in file.rules)
    return [f"rules: {len(file.rules)} in place of {len(have)}"]


def _keepers(fishery: Fishery, file: FisheryFile) -> list[str]:
    changes: list[str] = []
    for table in file.keepers:
        user = User.objects.filter(email=table.email).first()
        if user is None:
            user = User.objects.create_user(table.email, name=table.name, phone=table.phone)
            changes.append(f"added keeper {table.email}")
        elif (user.name, user.phone) == (table.name, table.phone):
            pass
        elif user.memberships.exclude(fishery=fishery).exists():  # another fishery relies on them too
            changes.append(f"kept name and phone of {table.email}, who has a part in another fishery: ask them")
        else:
            lines = _change(user, {"name": table.name, "phone": table.phone})
            changes.append(f"changed keeper {table.email}: {lines}")
        member, made = Membership.objects.get_or_create(user=user, fishery=fishery, defaults={"role": table.role})
        if not made and (lines := _change(member, {"role": table.role})):
            changes.append(f"changed part of {table.email}: {lines}")
    gone = fishery.memberships.filter(role__in=Membership.KEEPERS).exclude(
        user__email__in=[table.email for table in file.keepers]
    )
    changes += [f"removed keeper {member.user.email}" for member in gone.select_related("user")]
    gone.delete()
    return changes


def _sync(rows, tables, key: str, *, where: str = "", remove: bool = True) -> list[str]:
    """Make a related set say what the tables say."""
    changes = [line + where for table in tables for line in _upsert(rows, table, key, {})[1]]
    if remove:
        changes += [line + where for line in _remove(rows, {getattr(table, key) for table in tables}, key)]
    return changes


def _upsert(rows, table, key: str, extra: dict) -> tuple[models.Model, list[str]]:
    facts = table.model_dump(exclude={"pools", "watch"}) | extra
    if facts.get("phone", "") is None:
        facts["phone"] = ""
    value = facts[key]
    row = rows.filter(**{key: value}).first()
    name = f"{rows.model._meta.verbose_name} {value}"
    if row is None:
        return rows.create(**facts), [f"added {name}"]
    changed = _change(row, facts)
    return row, [f"changed {name}: {changed}"] if changed else []


def _change(row: models.Model, facts: dict) -> str:
    """Write only what differs; returns the changed field names, or ""."""
    differ = [name for name, value in facts.items() if getattr(row, name) != value]
    for name in differ:
        setattr(row, name, facts[name])
    also = []
    if OF_THE_WATCH & set(differ):  # whoever is changing a beat's watch by hand meanwhile is told
        row.watch_version, also = row.watch_version + 1, ["watch_version"]
    if differ:
        row.save(update_fields=differ + also)
    return ", ".join(differ)


def _remove(rows, keep: set, key: str) -> list[str]:
    gone = [row for row in rows.all() if getattr(row, key) not in keep]
    for row in gone:
        row.delete()
    return [f"removed {row._meta.verbose_name} {getattr(row, key)}" for row in gone]


def _table(kind, row: models.Model, **given):
    """A row as a table of the file; `given` replaces what the row does not hold as such."""
    names = [name for name in kind.model_fields if name not in given]
    return kind(**{name: getattr(row, name) for name in names}, **given)
