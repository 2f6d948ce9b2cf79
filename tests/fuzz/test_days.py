"""Questions that follow from one another: what one answer names, the next question asks about, a dozen times on.

The links are found by Schemathesis in the API document: whatever answers with a let's id leads to whatever takes
one. Each day begins in the same world and is taken back at its end.

    FUZZ_DAYS=200 uv run pytest --on sqlite -m fuzz tests/fuzz/test_days.py
"""

import os

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings
from schemathesis import GenerationMode

from tests.fuzz.asking import JUDGED, aim, dice_of, document, sign, tame

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db]

DAYS = int(os.environ.get("FUZZ_DAYS", "30"))
STEPS = 15
MOSTLY_THE_OWNER = (40, 6, 3, 1, 1, 1)
FEWEST_FOLLOWED = 0.1
"""Of all questions, how many must have taken something from the answer before: else these are no days at all. A
quarter to a half of them do, as the dice fall."""


def test_whatever_follows_from_an_answer_is_answered_as_declared(world, asked):
    world, tokens = world
    followed, faults = [], []
    schema = document()
    schema.config.generation.update(modes=[GenerationMode.POSITIVE], allow_extra_parameters=False)

    class Day(schema.as_state_machine()):
        def setup(self):
            self.day = transaction.atomic()
            self.day.__enter__()

        def teardown(self):
            transaction.set_rollback(True)
            self.day.__exit__(None, None, None)

        def step(self, input):  # noqa: A002 - the library's word
            taken = {name for _where, name in input.applied_parameters}
            followed.append(bool(taken))
            asked["questions"] += 1
            dice = dice_of(input.case)
            if None not in taken:  # else the whole body is an answer's
                tame(input.case, dice)
                aim(input.case, world, dice, keep=taken, there=1)
            sign(input.case, tokens, dice, MOSTLY_THE_OWNER)
            return super().step(input)

        def call(self, case, **_):
            with transaction.atomic():
                return case.call()

        def validate_response(self, response, case, **_):
            try:
                case.validate_response(response, checks=JUDGED)
            except (AssertionError, ExceptionGroup) as fault:  # noted rather than raised: a day is never replayed
                faults.append(f"{case.operation.label}: {fault}")

    Day.run(
        settings=settings(
            max_examples=DAYS, stateful_step_count=STEPS, deadline=None, phases=[Phase.explicit, Phase.generate],
            derandomize=False, suppress_health_check=list(HealthCheck), database=None,
        )
    )  # fmt: skip
    assert faults == []
    assert sum(followed) > FEWEST_FOLLOWED * len(followed)
