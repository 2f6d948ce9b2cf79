"""What caches may keep of the API's answers: nothing (RFC 9111, 5.2.2.5).

An answer is for one person, and a shared telephone or a proxy must not show it to the next. Views that set their
own `Cache-Control`, and pages, which the telephone keeps for when there is no signal, are left as they are.
"""


class NoStore:
    """Middleware."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        if request.path.startswith("/api/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response
