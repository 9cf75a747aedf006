"""Compare the groups of a class or crew on the samples that they share."""

from app.records.record_book import RecordBook
from app.survey.class_view import ClassView, class_view
from app.survey.quality import result_of


def compare_groups(book: RecordBook) -> ClassView:
    """Compare whoever kept readings, code by code, on the samples that two or more measured."""
    found = (result_of(kept) for kept in book.each_reading())
    return class_view(book.survey(), [result for result in found if result is not None])
