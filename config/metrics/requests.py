"""Requests counted by the name of their route and the status of their answer; never by address or person."""

from prometheus_client import Counter

REQUESTS = Counter("rodtally_requests", "Answers given", ["route", "status"], registry=None)


class Counted:
    """Middleware. A path that is no route of ours counts as `unknown`, so that strangers cannot grow the list."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        match = request.resolver_match
        REQUESTS.labels((match and (match.view_name or match.route)) or "unknown", response.status_code).inc()
        return response
