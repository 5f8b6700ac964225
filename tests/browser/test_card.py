"""The card on a phone: a hand finds the boat that is due, reads the first line back, and prints the paper."""

from io import BytesIO

from pypdf import PdfReader

from berths.services import tieups
from tests.browser.harbour import PASSWORD, sign_in_with_password
from tests.cast import NOON, fix_clock, hours, make_berth, make_pier, make_stay, make_vessel, make_water


def test_a_hand_reads_the_card_on_a_phone_and_prints_it(cast, visit):
    fix_clock(NOON)
    sign_in_with_password(cast.hand)
    berth = make_berth(code="A2", kind="slip", pier=make_pier(name="Gull Pier"), water=make_water(name="sea"))
    stay = make_stay(
        berth=berth,
        vessel=make_vessel(name="Paper Comet", mark="white hull, silver star"),
        arrive=NOON + hours(3),
        depart=NOON + hours(40),
        state="booked",
    )
    tieups.work_out(stay)

    hand = visit()
    hand.sign_in(cast.hand, PASSWORD)
    page = hand.page
    page.get_by_role("link", name="Her card").first.click()  # beside her, among those who come today
    page.wait_for_url(f"**/stays/{stay.pk}/card/")
    hand.check()
    assert hand.small_targets() == []

    told = page.locator("article.card").inner_text()
    assert told.index("A2") < told.index("Paper Comet") < told.index("white hull")
    first = page.get_by_role("region", name="First line")
    assert first.bounding_box()["y"] < 844, "the first line is there without scrolling"
    assert "runs" in first.inner_text() and "stops her" in first.inner_text() and "“" in first.inner_text()
    assert len(page.locator("ol.then li").all()) >= 5
    for words in ("Look again", "Call", "from between her and", "harbour authority"):
        assert words.lower() in told.lower()
    assert "kN" not in told and "safe" not in told.lower()

    assert page.get_by_role("button", name="Print a card").is_visible()
    kind = page.evaluate(  # as the button does, without Chromium's own viewer in the way
        """async () => {
            const form = document.querySelector("form[action$='card.pdf']")
            const answer = await fetch(form.action, {method: "POST", body: new FormData(form)})
            return answer.headers.get("content-type")
        }"""
    )
    assert kind == "application/pdf"
    kept = hand.context.request.get(f"{hand.site}/stays/{stay.pk}/card.pdf").body()
    (paper,) = PdfReader(BytesIO(kept)).pages
    words = " ".join(paper.extract_text().split())
    assert "A2" in words and "Paper Comet" in words and "1st card for this stay" in words
