"""The door: nobody reaches a page that the table of doors does not open to their role."""

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.views.defaults import page_not_found

from marina.base.actor import acting
from marina.desk.roles import ANONYMOUS, door_of, may_open, role_of


class Door:
    """Anonymous: to sign-in, and back. Wrong role: 403 with a word on what to do."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with acting(request.user):  # whatever is written inside is put down to this person
            return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        role = role_of(request.user)
        if may_open(role, door_of(request.resolver_match)):
            return None
        if role is ANONYMOUS:
            return redirect_to_login(request.get_full_path())
        raise PermissionDenied(f"This page is not for a {request.user.get_role_display()}.")

    def process_exception(self, request, exception):
        """Not yours reads like not there, in development too, where Django would show its own page."""
        return page_not_found(request, exception) if isinstance(exception, Http404) else None
