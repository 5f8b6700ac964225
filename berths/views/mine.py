"""My boat: the first page of a berth holder."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.selectors.mine import boats_of


@require_safe
def mine(request):
    return render(request, "berths/mine.html", {"boats": boats_of(request.user)})
