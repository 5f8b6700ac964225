"""What is printed, and on what."""

from django import forms

from berths.cards.sheets import PAPERS
from berths.selectors import cards
from berths.services.cards import FORMS, SECONDS_A_CARD, How

AT_ONCE_MOST = 60  # cards in one press: they print well before a server gives up on the page
WHAT = [
    ("arrivals", "The arrivals of a day"),
    ("pier", "All boats of a pier"),
    ("harbour", "All boats of the harbour"),
]
FORM_WORDS = {
    "card": "Cards: what a hand needs on the dock",
    "office": "Office sheets: all lines, lengths to cut, water, every flag",
    "large": "Large type: the first line and the picture",
}
ONE = {
    "card a6": "Card, A6",
    "card 4x6": "Card, 4 x 6 in",
    "office a4": "Office sheet, A4",
    "office letter": "Office sheet, Letter",
    "large a4": "Large type, A4",
    "large letter": "Large type, Letter",
}


class CardForm(forms.Form):
    """One card of one stay."""

    on = forms.ChoiceField(label="On what", choices=list(ONE.items()))
    back = forms.BooleanField(label="Back side too (the printer turns the paper)", required=False)

    def how(self):
        form, paper = self.cleaned_data["on"].split()
        return How(form, paper, self.cleaned_data["back"])


def piece_of(what):
    """Which piece of the harbour is asked for, from 0: 'harbour' is the first, 'harbour 2' the next."""
    return int(what.partition(" ")[2] or 1) - 1


def _cards(count):
    """'31 cards, about 10 s'."""
    return f"{count} card{'' if count == 1 else 's'}, about {max(1, round(count * SECONDS_A_CARD))} s"


def _pieces(count):
    """The whole harbour in pieces that print while a reader waits: (key, words) of each."""
    whole = "All boats of the harbour"
    if count <= AT_ONCE_MOST:
        return [("harbour", f"{whole}: {_cards(count)}")]
    many = -(-count // AT_ONCE_MOST)
    sizes = [min(AT_ONCE_MOST, count - n * AT_ONCE_MOST) for n in range(many)]
    return [
        (f"harbour {n}" if n > 1 else "harbour", f"{whole}, part {n} of {many}: {_cards(size)}")
        for n, size in enumerate(sizes, start=1)
    ]


class BatchForm(forms.Form):
    """Many cards in one go."""

    what = forms.ChoiceField(label="Which boats", choices=WHAT, widget=forms.RadioSelect)
    day = forms.DateField(
        label="Day of the arrivals",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Write the day as 2027-10-15."},
    )
    pier = forms.ModelChoiceField(label="Pier", queryset=None, required=False, empty_label="choose a pier")
    form = forms.ChoiceField(
        label="What to print", choices=[(key, FORM_WORDS[key]) for key in FORMS], widget=forms.RadioSelect
    )
    paper = forms.ChoiceField(
        label="Paper",
        choices=[(paper.key, paper.words) for paper in PAPERS.values()],
        widget=forms.RadioSelect,
        help_text="Office sheets and large type take a whole A4 or Letter.",
    )
    back = forms.BooleanField(
        label="Back side of the cards too",
        required=False,
        help_text="Set the printer to turn over the long edge.",
    )

    def __init__(self, *args, piers=None, **kwargs):
        """`piers`: how many cards each pier has, by its number in the database."""
        super().__init__(*args, **kwargs)
        piers = piers or {}
        self.fields["pier"].queryset = cards.piers()
        self.fields["pier"].label_from_instance = lambda pier: f"{pier}: {_cards(piers.get(pier.pk, 0))}"
        self.fields["what"].choices = [*WHAT[:2], *_pieces(sum(piers.values()))]

    def clean(self):
        given = super().clean()
        if given.get("what") == "pier" and not given.get("pier") and "pier" not in self.errors:
            self.add_error("pier", "Choose the pier whose cards you want.")
        if given.get("what") == "arrivals" and not given.get("day") and "day" not in self.errors:
            self.add_error("day", "Say which day, as 2027-10-15.")
        return given

    def how(self):
        return How(*(self.cleaned_data[name] for name in ("form", "paper", "back")))
