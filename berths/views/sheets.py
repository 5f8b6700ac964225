"""Survey and register as spreadsheets: out, and in after a look at what would change.

Between the look and the taking-in the cells travel with the page, signed: nothing of an upload is kept here.
"""

from django import forms
from django.contrib import messages
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from berths.surveybook import SURVEY
from marina.base import bringin, workbook
from marina.base.look import look
from marina.base.workbook import Grid
from vessels.sheets import REGISTER

BOOKS = {book.name: book for book in (SURVEY, REGISTER)}
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_CARRIED = 2_000_000  # bytes of a form that the site takes
GONE = "The page was open too long or was changed on its way. Nothing was written; choose the file again."
MOVED = (
    "Somebody changed these records since you looked. Nothing was written; below is what would change now."
)


class ChooseFile(forms.Form):
    file = forms.FileField(
        label="The file", help_text="A workbook (.xlsx), or one sheet of it as CSV in UTF-8."
    )
    file.widget.attrs["accept"] = ".xlsx,.csv"

    def clean_file(self):
        given = self.cleaned_data["file"]
        try:
            data = given.read(workbook.MOST_BYTES + 1)
            self.grids = workbook.read(data, given.name)
        except workbook.Refused as fault:
            raise ValidationError(str(fault)) from fault
        return given


@require_http_methods(["GET", "HEAD", "POST"])
def sheets(request, book):
    """Choose a file; then what it would change; then one press takes all of it in."""
    book = _book(book)
    if "rows" in request.POST:
        return _take_in(request, book)
    form = ChooseFile(request.POST, request.FILES) if request.method == "POST" else ChooseFile()
    if form.is_valid():
        rows = _pack(book, form.grids)
        if len(rows) <= MOST_CARRIED:
            preview = look(book, form.grids)
            return _page(request, book, preview=preview, rows=rows, name=form.cleaned_data["file"].name)
        form.add_error("file", "That is too much for one go. Bring it in as parts, one pier at a time.")
    return _page(request, book, form=form)


def _take_in(request, book):
    rows = request.POST["rows"]
    try:
        grids = _unpack(book, rows)
        preview = bringin.take_in(book, grids, request.POST.get("digest", ""), by=request.user)
    except signing.BadSignature:
        return _page(request, book, wrong=GONE)
    except bringin.Moved as moved:
        return _page(request, book, preview=moved.preview, rows=rows, wrong=MOVED)
    except ValidationError as fault:
        return _page(request, book, preview=look(book, grids), rows=rows, wrong=" ".join(fault.messages))
    done = [
        f"{part.table.title}: {len(part.new)} new, {len(part.changed)} changed"
        for part in preview.parts
        if part.new or part.changed
    ]
    messages.success(
        request, f"Taken in. {'; '.join(done).capitalize()}. Tie-ups that rest on them are out of date."
    )
    return redirect("berths:sheets", book.name)


def _page(request, book, *, form=None, preview=None, wrong="", **more):
    form = form or ChooseFile()
    refused = wrong or form.errors or (preview and preview.faults)
    context = {"book": book, "form": form, "preview": preview, "wrong": wrong, "most": 200, **more}
    return render(request, "berths/sheets.html", context, status=422 if refused else 200)


def _book(name):
    if name not in BOOKS:
        raise Http404
    return BOOKS[name]


def _pack(book, grids):
    plain = [[grid.title, grid.header, grid.rows] for grid in grids]
    return signing.dumps(plain, salt=f"sheets of {book.name}", compress=True)


def _unpack(book, rows):
    plain = signing.loads(rows, salt=f"sheets of {book.name}")
    return [Grid(title, header, [(line, cells) for line, cells in lines]) for title, header, lines in plain]


# --- out ---


@require_safe
def out(request, book):
    """All records as one workbook: brought in again, it changes nothing."""
    book = _book(book)
    return _file(workbook.to_xlsx(bringin.workbook_out(book)), f"{book.name}.xlsx", XLSX)


@require_safe
def empty(request, book):
    book = _book(book)
    return _file(workbook.to_xlsx(bringin.template(book)), f"{book.name}-empty.xlsx", XLSX)


@require_safe
def csv(request, book, table):
    """One table as CSV."""
    for each in _book(book).tables:
        if each.title == table:
            return _file(workbook.to_csv(bringin.rows_out(each)), f"{table}.csv", "text/csv; charset=utf-8")
    raise Http404


def _file(data, name, kind):
    return HttpResponse(
        data, content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
