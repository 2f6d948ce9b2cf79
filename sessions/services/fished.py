"""What of a week has been fished and can no longer be planned."""

import datetime as dt
from dataclasses import dataclass

from beats.models import Beat
from beats.queries import zone_of
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from sessions.models import Rota
from sessions.rotation import Step
from sessions.services.week import Week


class NotThere(Refusal):
    """The hand-made change puts somebody where a rule does not let them be."""

    code = "not-there"
    title = say("Not on that pool")


@dataclass(frozen=True)
class Since:
    """From which part of which day turns may change; what is before has been fished."""

    day: dt.date
    part: str | None = None


def from_now(beat: Beat, week: Week, now: dt.datetime) -> Since:
    """The first part that has not ended. The one under way may change: the river may have come up in it."""
    local = now.astimezone(zone_of(beat.fishery))
    left = [slug for slug, part in week.parts.items() if part.ends > local.time()]
    return Since(local.date(), left[0]) if left else Since(local.date() + dt.timedelta(days=1))


def fished(week: Week, steps: list[Step], since: Since) -> frozenset[Step]:
    """The turns before that part. Raises NotThere for a part of the day that is not."""
    parts = list(week.problem.parts)
    if since.part is not None and since.part not in parts:
        raise NotThere(
            say(
                "There is no part of the day called {since_part}. There is: {what}.",
                since_part=since.part,
                what=", ".join(parts),
            )
        )
    start = (since.day, parts.index(since.part) if since.part else 0)
    return frozenset(step for step in steps if (step.day, parts.index(step.part)) < start)


def fished_so_far(beat: Beat, first_on: dt.date, week: Week, *, now: dt.datetime) -> frozenset[Step]:
    """What the week's published rota says has been fished by now."""
    published = Rota.objects.filter(beat=beat, first_on=first_on, status=Rota.Status.PUBLISHED).first()
    return fished(week, week.steps(published), from_now(beat, week, now)) if published else frozenset()
