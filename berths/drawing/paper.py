"""What a drawing is put on: a card, whose size is fixed, or a page, which follows the reader's screen."""

from dataclasses import dataclass

from berths.drawing.measure import SYSTEM


@dataclass(frozen=True)
class Paper:
    """What is drawn on: the room, the size of type, and how much of the surroundings is shown.

    Lengths in units of the page: mm on a card; on a page 380 units are the width of the column.
    """

    width: float
    least_height: float
    most_height: float
    text: float
    card: bool = False

    @property
    def type_room(self):
        return 1.0 if self.card else SYSTEM


CARD = Paper(width=70, least_height=38, most_height=55, text=3.0, card=True)
PAGE = Paper(width=380, least_height=180, most_height=430, text=14)


@dataclass(frozen=True)
class Sheet:
    """A piece of paper with its scale chosen: the frame, and the size of type in metres of the drawing."""

    box: tuple
    per_metre: float
    paper: Paper

    @property
    def text(self):
        return self.paper.text / self.per_metre

    def room(self, width):
        """Room to keep for words that are `width` em wide. [m]"""
        return width * self.text * self.paper.type_room
