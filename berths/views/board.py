"""The day: the first page of harbourmaster and hands."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from berths.selectors.board import day


@require_safe
def board(request):
    return render(request, "berths/board.html", day(request.user))
