"""Query parameters of the API that an operation does not declare are refused, before its view is asked.

What is declared is read from the view's own description, the one the API document is made of, so that the two
cannot differ. What a parameter may hold is checked where it is read; here only what no view sees: an empty value,
one of two values, and a format that the view has no renderer for.
"""

from functools import lru_cache

from django.http import JsonResponse, QueryDict
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.plumbing import ComponentRegistry
from rest_framework.views import APIView

from config.problems import MEDIA_TYPE, body_of

METHODS = {"GET": "GET", "HEAD": "GET", "POST": "POST", "PUT": "PUT", "PATCH": "PATCH", "DELETE": "DELETE"}


class OnlyDeclared:
    """Middleware."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view_func, _args, _kwargs):
        """A problem document where a parameter is not declared or cannot be read; else None.

        Machines that sign what they send are let through: whoever runs them may not choose their address.
        """
        view_class, method = getattr(view_func, "cls", None), METHODS.get(request.method)
        if not request.META.get("QUERY_STRING") or method is None or not _is_checked(view_class, method):
            return None
        declared = _declared(view_func, method, request.resolver_match.route)
        faults = None if declared is None else faults_of(request.GET, declared)
        if not faults:
            return None
        sentence = "; ".join(f"{name}: {texts[0]}" for name, texts in list(faults.items())[:3])
        body = body_of(400, "invalid", "The request has a fault", sentence) | {"errors": faults}
        return JsonResponse(body, status=400, content_type=MEDIA_TYPE)


def faults_of(given: QueryDict, declared: dict[str, tuple[str, ...]]) -> dict[str, list[str]]:
    """By parameter, what is wrong with it. `declared` holds the formats there are for `format`, else nothing."""
    takes = f"This address takes: {', '.join(sorted(declared))}." if declared else "This address takes none."
    faults = {}
    for name, values in given.lists():
        if name not in declared:
            faults[name] = [f"Unknown query parameter. {takes}"]
        elif len(values) > 1:
            faults[name] = ["Given more than once. Give one value."]
        elif not values[0].strip():
            faults[name] = ["It is empty. Give a value, or leave the parameter out."]
        elif declared[name] and values[0] not in declared[name]:
            faults[name] = [f"Give one of: {', '.join(declared[name])}."]
    return faults


def _is_checked(view_class, method: str) -> bool:
    if view_class is None or not issubclass(view_class, APIView) or not hasattr(view_class, method.lower()):
        return False
    return method == "GET" or bool(view_class.authentication_classes and view_class.permission_classes)


@lru_cache(maxsize=1024)
def _declared(view_func, method: str, route: str) -> dict[str, tuple[str, ...]] | None:
    """The query parameters of an operation; None for one that is not in the document."""
    generator = SchemaGenerator()
    view = generator.create_view(view_func, method)
    operation = view.schema.get_operation(f"/{route}", f"/{route}", "", method, ComponentRegistry())
    if operation is None:
        return None
    names = [each["name"] for each in operation.get("parameters", ()) if each["in"] == "query"]
    formats = tuple(each.format for each in view.get_renderers())
    return {name: formats if name == "format" else () for name in names}
