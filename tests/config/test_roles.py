"""Every address against every part: who may do what, and what is simply not there."""

import datetime as dt
import json
from contextlib import contextmanager

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import URLPattern, get_resolver
from django.utils import timezone
from rest_framework.test import APIClient

from beats.authentication import digest_of, issue_token
from sessions.models import Outing
from tests.config.world import build, move_rod_days_to_an_open_day
from tests.factories import (
    BoardKeyFactory,
    FisheryFactory,
    GaugeKeyFactory,
    UserFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.sessions.season_records import SIGNER

pytestmark = pytest.mark.django_db

PEOPLE = ("anonymous", "guest", "other", "ghillie", "owner", "stranger")
SOON = (timezone.now() + dt.timedelta(hours=3)).isoformat()
YESTERDAY = (timezone.now() - dt.timedelta(days=1)).isoformat()
LET = {"beat": "{beat}", "booker": "{guest}", "first_on": "2026-05-05", "last_on": "2026-05-06", "rods": 1}
CHECK_IN = {"guest": "{guest}", "beat": "{beat}", "alone": True, "due_back_at": SOON}
FISH = {"beat": "{beat}", "guest": "{guest}", "caught_at": YESTERDAY, "kind": "msw", "fate": "released"}
MANY_FISH = {"caught_at": YESTERDAY, "kind": "msw", "fate": "released"}
SIGN = {"content_hash": "0" * 64, **SIGNER}  # not what the book says
STATEMENT = {"month": 6, "record": "none_caught"}
ANSWER = {"code": "flagged", "month": None, "reason": "The bailiff knows."}  # not asked
EFFORT = {"month": 5, "rod_days": 20, "reason": "two rods, ten days"}
DUE = {"due_on": "2025-12-31"}
LATER = {"due_back_at": SOON}
PLAN = {"guest": "{guest}", "beat": "{beat}", "alone": True, "out_at": "{soon}", "due_back_at": "{later}"}
DUTY = {"fishery": "{slug}", "user": "{ghillie_user}", "from_at": "{soon}", "until_at": "{later}"}
RECALL = {"beat": "{quiet_beat}", "reason": "the river is rising"}
WARNING = {
    "fishery": "{slug}", "kind": "flood", "level": "alert", "text": "rain", "from_at": "{soon}",
    "until_at": "{later}",
}  # fmt: skip
PUSH_KEY = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
PUSH = {
    "endpoint": "https://push.example.org/p/new",
    "keys": {
        "p256dh": "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4",
        "auth": "BTBZMqHH6r4Tts7J_aSIgg",
    },
}
INCIDENT = {"fishery": "{slug}", "kind": "near_miss", "title": "slipped", "outing": "{outing}"}
CLOSURE = {"from_on": "2026-05-04", "to_on": "2026-05-05", "reason": "tree down"}
MANY = {"readings": [{"at": YESTERDAY, "level_m": 0.5}]}
FILE = "at,level_m\n2026-05-04 09:00,0.5\n"
TIDES = "at,height_m,kind\n2026-05-04T06:00Z,4.1,high\n2026-05-04T12:10Z,0.9,low\n"
BEAT_CLOSURE = {"from_on": "2026-07-06", "to_on": "2026-07-07", "reason": "the bridge is out"}
POLICY = {"hold_minutes": 60, "offer_minutes": 60, "refunds": []}
CHANGE = {"last_on": "2099-05-13"}
SPLIT = {"booker": "{other}", "rods": 1}
SEASON = {"year": 2027, "answer_by": str((timezone.now() + dt.timedelta(days=20)).date())}
LETS_FILE = "guest,beat,first day,rods\n"
PRICE = {"rod_day": "85.00", "currency": "GBP", "first_on": "2028-01-01"}
PAYMENT = {"guest": "{guest}", "kind": "payment", "amount": "20.00", "currency": "GBP"}
HOOK = {"label": "accounts", "url": "https://hooks.example.org/lets"}
OLD_BOOK = (
    b"Year\n2024\n",
    {
        "what": "months",
        "columns": {"season": "Year"},
        "fixed": {"month": "5", "kind": "msw", "fate": "released", "number": "4"},
    },
)
SPAN = "first_on=2026-05-04&last_on=2026-05-05"

# name of the address, method and path, body; then the status for each of PEOPLE. `guest` is the one
# whose rows they are, `other` a guest of the same fishery, `stranger` the owner of another.
ADDRESS = {"address": "+447700900123"}
TABLE = [
    ("me", "GET", "me/", None, 401, 200, 200, 200, 200, 200),
    ("me-sign-out", "POST", "me/sign-out-everywhere/", None, 401, 204, 204, 204, 204, 204),
    ("problems", "GET", "problems/", None, 200, 200, 200, 200, 200, 200),
    ("problem", "GET", "problems/not-found", None, 200, 200, 200, 200, 200, 200),
    ("schema", "GET", "schema/", None, 200, 200, 200, 200, 200, 200),
    ("docs", "GET", "docs/", None, 200, 200, 200, 200, 200, 200),
    ("fisheries", "GET", "fisheries/", None, 401, 200, 200, 200, 200, 200),
    ("fishery", "GET", "fisheries/{slug}/", None, 401, 200, 200, 200, 200, 404),
    ("season", "GET", f"fisheries/{{slug}}/season/?{SPAN}", None, 401, 200, 200, 200, 200, 404),
    ("beats", "GET", "beats/", None, 401, 200, 200, 200, 200, 200),
    ("beat", "GET", "beats/{beat}/", None, 401, 200, 200, 200, 200, 404),
    ("conditions", "GET", "beats/{beat}/conditions/", None, 401, 200, 200, 200, 200, 404),
    ("observations", "POST", "beats/{beat}/observations/", {"clarity": "clear"}, 401, 403, 403, 201, 201, 404),
    ("tides-import", "POST", "beats/{beat}/tides/import/", TIDES, 401, 403, 403, 200, 200, 404),
    ("pools", "GET", "pools/", None, 401, 200, 200, 200, 200, 200),
    ("pool", "GET", "pools/{pool}/", None, 401, 200, 200, 200, 200, 404),
    ("pool-section", "GET", "pools/{pool}/section/", None, 401, 200, 200, 200, 200, 404),
    ("pool-pace", "GET", "pools/{pool}/pace/", None, 401, 200, 200, 200, 200, 404),
    ("closures", "GET", "pools/{pool}/closures/", None, 401, 200, 200, 200, 200, 404),
    ("closures", "POST", "pools/{pool}/closures/", CLOSURE, 401, 403, 403, 201, 201, 404),
    ("closure", "DELETE", "closures/{closure}/", None, 401, 403, 403, 204, 204, 404),
    ("gauges", "GET", "gauges/", None, 401, 200, 200, 200, 200, 200),
    ("readings", "GET", "gauges/{gauge}/readings/", None, 401, 200, 200, 200, 200, 404),
    ("readings", "POST", "gauges/{gauge}/readings/", {"level_m": 0.5}, 401, 403, 403, 201, 201, 404),
    ("readings-many", "POST", "gauges/{gauge}/readings/many/", MANY, 401, 403, 403, 200, 200, 404),
    ("readings-import", "POST", "gauges/{gauge}/readings/import/", FILE, 401, 403, 403, 200, 200, 404),
    ("reading-correct", "POST", "readings/{reading}/correct/", {"level_m": 0.55}, 401, 403, 403, 200, 200, 404),
    ("reading-trust", "POST", "readings/{reading}/trust/", {"trusted": True}, 401, 403, 403, 200, 200, 404),
    ("gauge-keys", "GET", "gauges/{gauge}/keys/", None, 401, 403, 403, 403, 200, 404),
    ("gauge-keys", "POST", "gauges/{gauge}/keys/", {"label": "logger"}, 401, 403, 403, 403, 201, 404),
    ("gauge-key", "DELETE", "gauge-keys/{key}/", None, 401, 403, 403, 403, 204, 404),
    ("guests", "GET", "guests/", None, 401, 200, 200, 200, 200, 200),
    ("guests", "POST", "guests/", {"fishery": "{slug}", "name": "Una"}, 401, 403, 403, 201, 201, 404),
    ("guest", "GET", "guests/{guest}/", None, 401, 200, 404, 200, 200, 404),
    ("guest", "PATCH", "guests/{guest}/", {"name": "Una"}, 401, 403, 404, 200, 200, 404),
    ("guest", "PATCH", "guests/{guest}/", {"phone": "07700 900111"}, 401, 200, 404, 200, 200, 404),
    ("invitations", "GET", "invitations/", None, 401, 200, 200, 200, 200, 200),
    ("invitation-accept", "POST", "invitations/{guest}/accept/", None, 401, 200, 404, 404, 404, 404),
    ("invitation-decline", "POST", "invitations/{guest}/decline/", None, 401, 409, 404, 404, 404, 404),
    ("lets", "GET", "lets/", None, 401, 200, 200, 200, 200, 200),
    ("lets", "POST", "lets/", LET, 401, 403, 404, 403, 201, 404),
    ("let", "GET", "lets/{let}/", None, 401, 200, 404, 200, 200, 404),
    ("let", "PATCH", "lets/{hold}/", CHANGE, 401, 403, 404, 403, 200, 404),
    ("let-confirm", "POST", "lets/{hold}/confirm/", None, 401, 200, 404, 403, 200, 404),
    ("let-transfer", "POST", "lets/{hold}/transfer/", {"to": "{guest}"}, 401, 403, 404, 403, 200, 404),
    ("let-split", "POST", "lets/{hold}/split/", SPLIT, 401, 404, 404, 403, 400, 404),
    ("let-party", "GET", "lets/{let}/party/", None, 401, 200, 404, 200, 200, 404),
    ("let-party", "PUT", "lets/{let}/party/", {"places": "{places}"}, 401, 200, 404, 200, 200, 404),
    ("beat-closures", "GET", "beats/{beat}/closures/", None, 401, 200, 200, 200, 200, 404),
    ("beat-closures", "POST", "beats/{beat}/closures/", BEAT_CLOSURE, 401, 403, 403, 403, 201, 404),
    ("beat-closure", "DELETE", "beat-closures/{beat_closure}/", None, 401, 403, 403, 403, 204, 404),
    ("offers", "GET", "offers/", None, 401, 200, 200, 200, 200, 200),
    ("same-weeks", "GET", "same-weeks/", None, 401, 200, 200, 200, 200, 200),
    ("waiting", "GET", "waiting/", None, 401, 200, 200, 200, 200, 200),
    ("waiting", "POST", "waiting/", {"fishery": "{slug}", "guest": "{guest}"}, 401, 201, 404, 201, 201, 404),
    ("waiting-place", "DELETE", "waiting/{waiting}/", None, 401, 204, 404, 204, 204, 404),
    ("letting-policy", "GET", "fisheries/{slug}/letting-policy/", None, 401, 200, 200, 200, 200, 404),
    ("letting-policy", "PUT", "fisheries/{slug}/letting-policy/", POLICY, 401, 403, 403, 403, 200, 404),
    ("letting-seasons", "GET", "fisheries/{slug}/letting-seasons/", None, 401, 200, 200, 200, 200, 404),
    ("letting-seasons", "POST", "fisheries/{slug}/letting-seasons/", SEASON, 401, 403, 403, 403, 201, 404),
    ("availability", "GET", f"fisheries/{{slug}}/availability/?{SPAN}", None, 401, 200, 200, 200, 200, 404),
    ("openings", "GET", f"fisheries/{{slug}}/openings/?{SPAN}", None, 401, 200, 200, 200, 200, 404),
    ("month", "GET", "fisheries/{slug}/month/?month=2026-05", None, 401, 200, 200, 200, 200, 404),
    ("month", "GET", "fisheries/{slug}/month/?month=2026-05&format=html", None, 401, 200, 200, 200, 200, 404),
    ("lets-on-closed-days", "GET", "fisheries/{slug}/lets-on-closed-days/", None, 401, 403, 403, 403, 200, 404),
    ("lets-preview", "POST", "fisheries/{slug}/lets/preview/", LETS_FILE, 401, 403, 403, 403, 200, 404),
    ("lets-import", "POST", "fisheries/{slug}/lets/import/", LETS_FILE, 401, 403, 403, 403, 201, 404),
    ("let-cancel", "POST", "lets/{let}/cancel/", None, 401, 200, 404, 403, 200, 404),
    ("let-share", "POST", "lets/{let}/share/", {"rod": 1, "guest": "{other}"}, 401, 404, 404, 403, 200, 404),
    ("terms", "GET", "fisheries/{slug}/terms/", None, 401, 200, 200, 200, 200, 404),
    ("terms", "PATCH", "fisheries/{slug}/terms/", {"deposit_days": 7}, 401, 403, 403, 403, 200, 404),
    ("tariff", "GET", "fisheries/{slug}/tariff/", None, 401, 200, 200, 200, 200, 404),
    ("tariff", "POST", "fisheries/{slug}/tariff/", PRICE, 401, 403, 403, 403, 201, 404),
    ("price-end", "POST", "tariff/{price}/end/", {"last_on": "2027-01-31"}, 401, 403, 403, 403, 200, 404),
    ("let-money", "GET", "lets/{let}/money/", None, 401, 200, 404, 200, 200, 404),
    ("let-permit", "GET", "lets/{let}/permit/", None, 401, 200, 404, 200, 200, 404),
    ("let-permit", "GET", "lets/{let}/permit/?format=txt", None, 401, 200, 404, 200, 200, 404),
    ("let-letters", "GET", "lets/{let}/letters/", None, 401, 200, 404, 200, 200, 404),
    ("ledger", "GET", "ledger/", None, 401, 200, 200, 200, 200, 200),
    ("ledger", "POST", "ledger/", PAYMENT, 401, 403, 404, 403, 201, 404),
    ("guest-statement", "GET", "guests/{guest}/statement/", None, 401, 200, 404, 403, 200, 404),
    ("guest-statement", "GET", "guests/{guest}/statement/?format=pdf", None, 401, 200, 404, 403, 200, 404),
    ("guest-statement", "GET", "guests/{guest}/statement/?format=csv", None, 401, 200, 404, 403, 200, 404),
    ("guest-everything", "GET", "guests/{guest}/everything/", None, 401, 200, 404, 403, 200, 404),
    ("guest-erase", "POST", "guests/{guest}/erase/", None, 401, 409, 404, 403, 409, 404),
    ("takings", "GET", "fisheries/{slug}/takings/?year=2026", None, 401, 403, 403, 403, 200, 404),
    ("takings-picture", "GET", "fisheries/{slug}/takings/picture/?year=2026", None, 401, 403, 403, 403, 200, 404),
    ("payment-keys", "GET", "fisheries/{slug}/payment-keys/", None, 401, 403, 403, 403, 200, 404),
    ("payment-keys", "POST", "fisheries/{slug}/payment-keys/", {"label": "bank"}, 401, 403, 403, 403, 201, 404),
    ("payment-key", "DELETE", "payment-keys/{payment_key}/", None, 401, 403, 403, 403, 204, 404),
    ("payments-hook", "POST", "fisheries/{slug}/payments/hook/", {}, 401, 401, 401, 401, 401, 401),
    ("hooks", "GET", "fisheries/{slug}/hooks/", None, 401, 403, 403, 403, 200, 404),
    ("hooks", "POST", "fisheries/{slug}/hooks/", HOOK, 401, 403, 403, 403, 201, 404),
    ("hook", "DELETE", "hooks/{hook}/", None, 401, 403, 403, 403, 204, 404),
    ("hook-messages", "GET", "hooks/{hook}/messages/", None, 401, 403, 403, 403, 200, 404),
    ("feeds", "GET", "feeds/", None, 401, 200, 200, 200, 200, 200),
    ("feeds", "POST", "feeds/", {"label": "phone", "guest": "{guest}"}, 401, 201, 404, 403, 201, 404),
    ("feeds", "POST", "feeds/", {"label": "phone", "beat": "{beat}"}, 401, 403, 403, 201, 201, 404),
    ("feed", "DELETE", "feeds/{feed}/", None, 401, 204, 404, 404, 204, 404),
    ("feed-calendar", "GET", "feeds/feed-{slug}.ics", None, 200, 200, 200, 200, 200, 200),
    ("rod-days", "GET", "rod-days/", None, 401, 200, 200, 200, 200, 200),
    ("rotas", "GET", "rotas/", None, 401, 200, 200, 200, 200, 200),
    ("rotas", "POST", "rotas/", {"beat": "{beat}", "first_on": "{monday}"}, 401, 403, 403, 201, 201, 404),
    ("rota", "GET", "rotas/{rota}/", None, 401, 200, 404, 200, 200, 404),
    ("rota-publish", "POST", "rotas/{rota}/publish/", None, 401, 403, 404, 200, 200, 404),
    ("rota-replan", "POST", "rotas/{rota}/replan/", {}, 401, 403, 404, 201, 201, 404),
    (
        "rota-swap",
        "POST",
        "rotas/{rota}/swap/",
        {"turn": "{turn}", "other": "{turn}"},
        401,
        403,
        404,
        201,
        201,
        404,
    ),
    ("rota-jobs", "GET", "rota-jobs/", None, 401, 200, 200, 200, 200, 200),
    ("rota-job", "GET", "rota-jobs/{job}/", None, 401, 404, 404, 200, 200, 404),
    ("rota-job-call-off", "POST", "rota-jobs/{job}/call-off/", None, 401, 404, 404, 200, 200, 404),
    ("turn-why", "GET", "turns/{turn}/why/", None, 401, 403, 404, 200, 200, 404),
    ("rota-sheet", "GET", "rotas/{rota}/sheet/", None, 401, 200, 404, 200, 200, 404),
    ("rota-sheet", "GET", "rotas/{rota}/sheet/?format=pdf", None, 401, 200, 404, 200, 200, 404),
    ("rota-sheet", "GET", "rotas/{rota}/sheet/?format=csv", None, 401, 200, 404, 200, 200, 404),
    ("rota-calendar", "GET", "rotas/{rota}/calendar/?guest={guest}", None, 401, 200, 404, 200, 200, 404),
    ("rota-picture", "GET", "rotas/{rota}/picture/", None, 401, 403, 404, 200, 200, 404),
    ("turns", "GET", "turns/", None, 401, 200, 200, 200, 200, 200),
    ("outings", "GET", "outings/", None, 401, 200, 200, 200, 200, 200),
    ("outings", "POST", "outings/", CHECK_IN, 401, 201, 404, 201, 201, 404),
    ("outing", "GET", "outings/{outing}/", None, 401, 200, 404, 200, 200, 404),
    (
        "outing-time-back",
        "POST",
        "outings/{outing}/time-back/",
        {"due_back_at": SOON},
        401,
        200,
        404,
        200,
        200,
        404,
    ),
    ("outing-check-out", "POST", "outings/{outing}/check-out/", None, 401, 200, 404, 200, 200, 404),
    ("outing-undo-check-out", "POST", "outings/{outing}/undo-check-out/", None, 401, 200, 404, 200, 200, 404),
    ("tally", "GET", "fisheries/{slug}/tally/", None, 401, 403, 403, 200, 200, 404),
    ("catches", "GET", "catches/", None, 401, 200, 200, 200, 200, 200),
    ("catches", "POST", "catches/", FISH, 401, 201, 404, 201, 201, 404),
    ("catch", "GET", "catches/{catch}/", None, 401, 200, 404, 200, 200, 404),
    ("catch", "PATCH", "catches/{catch}/", {"sex": "hen", "reason": "seen again"}, 401, 200, 404, 200, 200, 404),
    ("catch-strike-out", "POST", "catches/{catch}/strike-out/", {"reason": "twice"}, 401, 200, 404, 200, 200, 404),
    ("catch-history", "GET", "catches/{catch}/history/", None, 401, 200, 404, 200, 200, 404),
    ("outing-fish", "GET", "outings/{outing}/fish/", None, 401, 200, 404, 200, 200, 404),
    ("outing-fish", "POST", "outings/{outing}/fish/", {"fish": [MANY_FISH]}, 401, 201, 404, 201, 201, 404),
    ("return", "GET", "fisheries/{slug}/returns/2026/", None, 401, 403, 403, 403, 200, 404),
    ("returns-signed", "GET", "fisheries/{slug}/returns/2025/signed/", None, 401, 403, 403, 403, 200, 404),
    ("returns-signed", "POST", "fisheries/{slug}/returns/2025/signed/", SIGN, 401, 403, 403, 403, 409, 404),
    ("return-signed", "GET", "fisheries/{slug}/returns/2025/signed/1/", None, 401, 403, 403, 403, 200, 404),
    ("months-stated", "GET", "fisheries/{slug}/returns/2025/months/", None, 401, 403, 403, 403, 200, 404),
    ("months-stated", "POST", "fisheries/{slug}/returns/2025/months/", STATEMENT, 401, 403, 403, 403, 201, 404),
    ("review-answers", "GET", "fisheries/{slug}/returns/2025/answers/", None, 401, 403, 403, 403, 200, 404),
    ("review-answers", "POST", "fisheries/{slug}/returns/2025/answers/", ANSWER, 401, 403, 403, 403, 409, 404),
    ("effort", "GET", "fisheries/{slug}/returns/2025/effort/", None, 401, 403, 403, 403, 200, 404),
    ("effort", "POST", "fisheries/{slug}/returns/2025/effort/", EFFORT, 401, 403, 403, 403, 201, 404),
    ("statistics", "GET", "fisheries/{slug}/statistics/2026/", None, 401, 403, 403, 200, 200, 404),
    ("statistics-picture", "GET", "fisheries/{slug}/statistics/2026/picture/", None, 401, 403, 403, 200, 200, 404),
    ("expected", "GET", "fisheries/{slug}/statistics/2026/expected/?week=19", None, 401, 200, 200, 200, 200, 404),
    ("return-due", "GET", "fisheries/{slug}/returns/2025/due/", None, 401, 403, 403, 403, 200, 404),
    ("return-due", "POST", "fisheries/{slug}/returns/2025/due/", DUE, 401, 403, 403, 403, 200, 404),
    ("angler-record", "GET", "guests/{guest}/record/2025/", None, 401, 200, 404, 200, 200, 404),
    ("angler-record", "GET", "guests/{guest}/record/2025/?format=csv", None, 401, 200, 404, 200, 200, 404),
    ("season-report", "GET", "fisheries/{slug}/season-report/2025/", None, 401, 403, 403, 403, 200, 404),
    ("old-books", "GET", "fisheries/{slug}/old-books/", None, 401, 403, 403, 403, 200, 404),
    ("old-books", "POST", "fisheries/{slug}/old-books/", OLD_BOOK, 401, 403, 403, 403, 201, 404),
    ("old-book-look", "POST", "fisheries/{slug}/old-books/look/", OLD_BOOK, 401, 403, 403, 403, 200, 404),
    ("old-book-take-out", "POST", "old-books/{old_book}/take-out/", {"reason": "x"}, 401, 403, 403, 403, 200, 404),
    ("board-keys", "GET", "fisheries/{slug}/board-keys/", None, 401, 403, 403, 403, 200, 404),
    ("board-keys", "POST", "fisheries/{slug}/board-keys/", {"label": "board"}, 401, 403, 403, 403, 201, 404),
    ("board-key", "DELETE", "board-keys/{board_key}/", None, 401, 403, 403, 403, 204, 404),
    ("catch-totals", "GET", "catches/totals/", None, 401, 200, 200, 200, 200, 200),
    ("fish-file", "GET", "fisheries/{slug}/fish/?format=csv", None, 401, 403, 403, 403, 200, 404),
    ("fish-file", "GET", "fisheries/{slug}/fish/?format=jsonl", None, 401, 403, 403, 403, 200, 404),
    ("fish-file", "GET", "fisheries/{slug}/fish/?format=parquet", None, 401, 403, 403, 403, 200, 404),
    ("fish-schema", "GET", "fisheries/{slug}/fish/schema/", None, 401, 200, 200, 200, 200, 404),
    ("occurrences", "GET", "fisheries/{slug}/occurrences/", None, 401, 403, 403, 403, 200, 404),
    ("alarms", "GET", "alarms/", None, 401, 200, 200, 200, 200, 200),
    ("alarm", "GET", "alarms/{alarm}/", None, 401, 404, 404, 200, 200, 404),
    ("alarm-answer", "POST", "alarms/{alarm}/answer/", {"minutes": 10}, 401, 404, 404, 200, 200, 404),
    ("alarm-close", "POST", "alarms/{alarm}/close/", {"note": "found"}, 401, 404, 404, 409, 409, 404),
    ("angler-messages", "GET", "angler-messages/", None, 401, 200, 200, 200, 200, 200),
    ("alarm-card", "GET", "alarms/{alarm}/card/", None, 401, 404, 404, 200, 200, 404),
    ("undelivered", "GET", "undelivered/", None, 401, 200, 200, 200, 200, 200),
    (
        "undelivered-acknowledge",
        "POST",
        "undelivered/{undelivered}/acknowledge/",
        None,
        401,
        404,
        404,
        200,
        200,
        404,
    ),
    ("undelivered-correct", "POST", "undelivered/{undelivered}/correct/", ADDRESS, 401, 404, 404, 200, 200, 404),
    ("outing-more-time", "POST", "outings/{outing}/more-time/", {}, 401, 200, 404, 200, 200, 404),
    (
        "outing-meeting",
        "POST",
        "outings/{outing}/meeting/",
        {"meeting_person": "Ruth"},
        401,
        200,
        404,
        200,
        200,
        404,
    ),
    ("outing-fine", "POST", "outings/{outing}/fine/", None, 401, 200, 404, 200, 200, 404),
    ("outing-help", "POST", "outings/{outing}/help/", None, 401, 200, 404, 200, 200, 404),
    ("plans", "GET", "plans/", None, 401, 200, 200, 200, 200, 200),
    ("plans", "POST", "plans/", PLAN, 401, 201, 404, 201, 201, 404),
    ("plan-call-off", "POST", "plans/{plan}/call-off/", None, 401, 200, 404, 200, 200, 404),
    ("board", "GET", "fisheries/{slug}/board/", None, 401, 403, 403, 200, 200, 404),
    ("watch-policy", "GET", "beats/{beat}/watch-policy/", None, 401, 200, 200, 200, 200, 404),
    ("watch-policy", "POST", "beats/{beat}/watch-policy/", {"policy": {}}, 401, 403, 403, 403, 200, 404),
    ("recalls", "GET", "recalls/", None, 401, 200, 200, 200, 200, 200),
    ("recalls", "POST", "recalls/", RECALL, 401, 403, 403, 201, 201, 404),
    ("recall", "GET", "recalls/{recall}/", None, 401, 200, 404, 200, 200, 404),
    ("recall-end", "POST", "recalls/{recall}/end/", None, 401, 403, 404, 200, 200, 404),
    ("recall-answer", "POST", "recalls/{recall}/answer/", {"outing": "{outing}"}, 401, 200, 404, 200, 200, 404),
    ("warnings", "GET", "warnings/", None, 401, 200, 200, 200, 200, 200),
    ("warnings", "POST", "warnings/", WARNING, 401, 403, 403, 201, 201, 404),
    ("warning-end", "POST", "warnings/{warning}/end/", None, 401, 403, 403, 200, 200, 404),
    ("duties", "GET", "duties/", None, 401, 200, 200, 200, 200, 200),
    ("duties", "POST", "duties/", DUTY, 401, 403, 403, 201, 201, 404),
    ("duty", "DELETE", "duties/{duty}/", None, 401, 404, 404, 204, 204, 404),
    ("drills", "GET", "drills/", None, 401, 200, 200, 200, 200, 200),
    ("drills", "POST", "drills/", {"fishery": "{slug}"}, 401, 403, 403, 201, 201, 404),
    ("drill-answer", "POST", "drills/{drill}/answer/", None, 401, 404, 404, 200, 200, 404),
    ("incidents", "GET", "incidents/", None, 401, 200, 200, 200, 200, 200),
    ("incidents", "POST", "incidents/", INCIDENT, 401, 403, 404, 201, 201, 404),
    ("incident", "GET", "incidents/{incident}/", None, 401, 404, 404, 200, 200, 404),
    ("incident-file", "GET", "incidents/{incident}/file/", None, 401, 404, 404, 200, 200, 404),
    ("push-addresses", "GET", "push-addresses/", None, 401, 200, 200, 200, 200, 200),
    ("push-addresses", "POST", "push-addresses/", PUSH, 401, 201, 201, 201, 201, 201),
    ("push-key", "GET", "push-addresses/key/", None, 401, 200, 200, 200, 200, 200),
    ("push-address", "DELETE", "push-addresses/{push_address}/", None, 401, 204, 404, 404, 404, 404),
    ("gateway-events", "POST", "gateway/events/", {}, 401, 401, 401, 401, 401, 401),
]
ROWS = [pytest.param(row, id=f"{row[1]} {row[2].partition('?')[0]}") for row in TABLE]


def filled(body, ids):
    """The body as JSON, with the world's ids where a name stands in braces; text is a CSV file, a pair a form."""
    if isinstance(body, str):
        return {"data": body, "content_type": "text/csv"}
    if isinstance(body, tuple):
        form = {"file": SimpleUploadedFile("old.csv", body[0]), "plan": json.dumps(body[1])}
        return {"data": encode_multipart(BOUNDARY, form), "content_type": MULTIPART_CONTENT}
    named = {f"{{{name}}}": value for name, value in ids.items()}
    named["{places}"] = [{"day": ids["monday"], "rod": 1, "guest": None}]
    facts = {
        name: named.get(value, value) if isinstance(value, str) else value for name, value in (body or {}).items()
    }
    return {"data": json.dumps(facts), "content_type": "application/json"}


@pytest.fixture(autouse=True)
def _pushing(settings):
    settings.WEB_PUSH_KEY = PUSH_KEY


@pytest.mark.parametrize("row", ROWS)
def test_each_part_gets_what_is_its_own(row):
    name, method, path, body, *statuses = row
    world = build()
    ids, found = world.ids(), {}
    wanted = dict(zip(PEOPLE, statuses, strict=True))
    if (name, method) == ("outings", "POST"):
        Outing.objects.update(checked_out_at=timezone.now())  # whoever is out cannot go out again
    if name == "let-share":
        move_rod_days_to_an_open_day()
    for who in PEOPLE:
        with taken_back():
            answer = client_of(world.people[who]).generic(
                method, f"/api/v1/{path.format(**ids)}", **filled(body, ids), headers={"If-Match": '"1"'}
            )
        found[who] = answer.status_code
        assert answer.status_code != 403 or answer.json()["type"] == "/api/v1/problems/not-your-part"
    assert found == wanted


@contextmanager
def taken_back():
    """What is done within is undone: the next finds the world as it was."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


KEYS = ("gauge-own", "gauge-far", "board-own", "board-far")
OPENED = {
    # A machine's key opens these and nothing else; everywhere else it is nobody's token.
    ("readings", "GET"): {"gauge-own": 403, "gauge-far": 403},
    ("readings", "POST"): {"gauge-own": 201, "gauge-far": 404},
    ("readings-many", "POST"): {"gauge-own": 200, "gauge-far": 404},
    ("returns-signed", "GET"): {"board-own": 200, "board-far": 404},
    ("returns-signed", "POST"): {"board-own": 403, "board-far": 403},
    ("return-signed", "GET"): {"board-own": 200, "board-far": 404},
}


def _give_keys(world):
    far = FisheryFactory()
    for name, make, where in (
        ("gauge-own", GaugeKeyFactory, {"gauge": world.rows["gauge"]}),
        ("gauge-far", GaugeKeyFactory, {"gauge__fishery": far}),
        ("board-own", BoardKeyFactory, {"fishery": world.rows["fishery"]}),
        ("board-far", BoardKeyFactory, {"fishery": far}),
    ):
        make(**where, digest=digest_of(name), expires_at=timezone.now() + dt.timedelta(days=1))


def _bearers(world):
    """Everybody else who may come with a token: a person's, a machine's, or one that has expired."""
    people = {
        "far ghillie": keeper(FisheryFactory(), "ghillie"),
        "far guest": guest_with_account(FisheryFactory()).user,
        "nobody's": UserFactory(),
    }
    tokens = {who: issue_token(user, label="test", now=timezone.now()) for who, user in people.items()}
    long_ago = timezone.now() - dt.timedelta(days=400)
    tokens["expired"] = issue_token(world.people["owner"], label="old", now=long_ago)
    _give_keys(world)
    return tokens | {key: key for key in KEYS}


@pytest.mark.parametrize("row", ROWS)
def test_nobody_from_elsewhere_no_machine_and_no_old_token_gets_more(row):
    name, method, path, body, anonymous, *_, stranger = row
    world = build()
    ids, tokens = world.ids(), _bearers(world)
    if (method, path) == ("POST", "outings/"):
        Outing.objects.update(checked_out_at=timezone.now())
    asked = filled(body, ids)
    found = {}
    for who, token in tokens.items():
        headers = {"If-Match": '"1"', "Authorization": f"Bearer {token}"}
        found[who] = (
            APIClient().generic(method, f"/api/v1/{path.format(**ids)}", **asked, headers=headers).status_code
        )
    opened = OPENED.get((name, method), {})
    wanted = dict.fromkeys(tokens, stranger) | dict.fromkeys(("expired", *KEYS), anonymous) | opened
    assert found == wanted


NOT_ASKED = {
    "id": 1, "pk": 1, "fishery_id": 1, "by": 1, "made_by": 1, "digest": "0" * 64, "version": 7, "is_staff": True,
    "is_superuser": True, "role": "owner", "created_at": SOON, "code": "4821", "state": "confirmed", "x": None,
}  # fmt: skip
WRITES = [row for row in TABLE if isinstance(row[3], dict) and row[8] < 300]  # the owner may


@pytest.mark.parametrize("row", WRITES, ids=lambda row: f"{row[1]} {row[2].partition('?')[0]}")
def test_what_was_not_asked_for_is_refused_and_never_written(row):
    _, method, path, body, *_ = row
    world = build()
    ids = world.ids()
    Outing.objects.update(checked_out_at=timezone.now())
    url, owner = f"/api/v1/{path.format(**ids)}", client_of(world.people["owner"])
    for name, value in NOT_ASKED.items():
        if name in body:
            continue
        response = owner.generic(method, url, **filled(body | {name: value}, ids), headers={"If-Match": '"1"'})
        assert (response.status_code, name in response.json().get("errors", {})) == (400, True), (
            name,
            response.json(),
        )


def test_the_table_names_every_address_of_the_service():
    (prefix,) = [entry for entry in get_resolver().url_patterns if str(entry.pattern) == "api/v1/"]
    names = set()
    waiting = list(prefix.url_patterns)
    while waiting:
        entry = waiting.pop()
        if isinstance(entry, URLPattern):
            names.add(entry.name)
        else:
            waiting += entry.url_patterns
    assert names == {row[0] for row in TABLE}
